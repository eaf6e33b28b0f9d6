"""Pictures of a printed sheet with a bank card, traced ray by ray: a second maker beside card_sim.py and
photo_sim.py, which shares neither code nor assumptions with them, so that what holds here holds for
another reason than that both were written alike.

    truth = trace(seed, kind, pdf, page, "x.jpg")

A card is a slab with round corners: a face (plain, with a stripe, a chip, numbers), and a rim of its
core, mostly white. Light is a sky, which the slab keeps from the paper at its foot, and a lamp of some
breadth, which casts a shadow. kind is "beside" or "on": a photograph with the card there; "scan": the
card lies on the glass, and the sheet on the card; "thick" and "other": photographs of a card that is
no ID-1 card.

Frame: mm of the paper, x right, y up, z up from it; the paper's lower left corner is at 0, 0."""
import functools
import math
import os
import subprocess
import tempfile

import cv2
import numpy as np
from PIL import Image

KINDS = ("beside", "on", "scan", "thick", "other")
PHONE = (3264, 2448)
FILM = 43.27  # diagonal of 35 mm film, mm
TEXTURE = 11.811  # px to a mm of a rendered page: 300 dpi

# Linear light of faces: dark blue, white, black, gold, red, pale green; one is drawn.
FACES = {"blue": (0.02, 0.05, 0.25), "white": (0.8, 0.8, 0.78), "black": (0.015, 0.015, 0.017),
         "gold": (0.55, 0.40, 0.12), "red": (0.45, 0.03, 0.04), "green": (0.45, 0.65, 0.48)}


def linear(code):
    c = np.asarray(code, np.float32) / np.float32(255)
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4).astype(np.float32)


def coded(light):
    c = np.clip(light, 0, 1)
    c = np.where(c <= 0.0031308, 12.92 * c, 1.055 * c ** (1 / 2.4) - 0.055)
    return np.rint(255 * c).astype(np.uint8)


@functools.lru_cache(maxsize=2)
def page_light(pdf, page):
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "p")
        subprocess.run(["pdftoppm", "-r", "300", "-f", str(page), "-l", str(page),
                        "-singlefile", pdf, out], check=True)
        return linear(np.arange(256))[cv2.imread(out + ".ppm", cv2.IMREAD_COLOR)[:, :, ::-1]]


class Sheet:
    """Paper with its print: scale, skew and a shift of it; ink and paper no ideal black and white."""

    def __init__(self, rng, pdf, page):
        self.art, self.soft = page_light(pdf, page), {}
        self.size = self.art.shape[1] / TEXTURE, self.art.shape[0] / TEXTURE
        shrunk = rng.choice([1, 1, 1, 0.97, 0.95])
        self.scale = shrunk * (1 + rng.uniform(-0.006, 0.006, 2))
        self.skew = rng.uniform(-0.002, 0.002)
        self.shift = rng.uniform(-1, 1, 2)
        self.paper = rng.uniform(0.78, 0.9) * np.array([1, 1, rng.uniform(0.95, 1.05)])
        self.ink = rng.uniform(0.02, 0.05)

    def nominal(self, x, y):
        """Where on the page a place of the paper was meant to be."""
        cx, cy = self.size[0] / 2, self.size[1] / 2
        v = (y - cy - self.shift[1]) / (self.scale[1] * math.cos(self.skew))
        u = (x - cx - self.shift[0] - self.scale[1] * math.sin(self.skew) * v) / self.scale[0]
        return u + cx, v + cy

    def printed(self, x, y):
        """The paper's place of a nominal one."""
        cx, cy = self.size[0] / 2, self.size[1] / 2
        u, v = x - cx, y - cy
        return (cx + self.shift[0] + self.scale[0] * u + self.scale[1] * math.sin(self.skew) * v,
                cy + self.shift[1] + self.scale[1] * math.cos(self.skew) * v)

    def light(self, x, y, blurred=0.0):
        u, v = self.nominal(x, y)
        if blurred and blurred not in self.soft:
            self.soft[blurred] = cv2.GaussianBlur(self.art, (0, 0), blurred * TEXTURE)
        seen = cv2.remap(self.soft[blurred] if blurred else self.art, np.float32(u * TEXTURE - 0.5),
                         np.float32((self.size[1] - v) * TEXTURE - 0.5), cv2.INTER_LINEAR,
                         borderMode=cv2.BORDER_CONSTANT, borderValue=(1, 1, 1))
        return (self.ink + (1 - self.ink) * seen) * np.float32(self.paper)

    def holds(self, x, y):
        return (x >= 0) & (x <= self.size[0]) & (y >= 0) & (y <= self.size[1])


class Slab:
    """size: mm; None: an ID-1 card within its limits, of 0.76 mm or so."""

    def __init__(self, rng, centre, turn, size=None, thick=None, radius=None):
        self.centre, self.turn = centre, math.radians(turn)
        self.size = size or (rng.triangular(85.47, 85.6, 85.72), rng.triangular(53.92, 53.98, 54.03))
        self.thick = thick or rng.triangular(0.70, 0.76, 0.82)
        self.radius = radius or rng.uniform(2.95, 3.4)
        self.colour = rng.choice(list(FACES))
        self.face = draw_face(rng, FACES[self.colour])
        # The core: mostly white, now and then as dark as the face or a colour of its own.
        self.rim = np.full(3, rng.uniform(0.75, 0.92))
        self.rim_kind = rng.choice(["light", "light", "light", "face", "dark"])
        if self.rim_kind == "face":
            self.rim = np.array(FACES[self.colour]) * rng.uniform(0.8, 1.2)
        elif self.rim_kind == "dark":
            self.rim = np.full(3, rng.uniform(0.03, 0.2))

    def own(self, x, y):
        c, s = math.cos(self.turn), math.sin(self.turn)
        x, y = x - self.centre[0], y - self.centre[1]
        return c * x + s * y, c * y - s * x

    def off(self, x, y):
        """mm from the outline, negative within."""
        u, v = self.own(x, y)
        u, v = np.abs(u) - (self.size[0] / 2 - self.radius), np.abs(v) - (self.size[1] / 2 - self.radius)
        return (np.sqrt(np.maximum(u, 0) ** 2 + np.maximum(v, 0) ** 2)
                + np.minimum(np.maximum(u, v), 0) - self.radius)

    def corners(self):
        w, h = self.size[0] / 2, self.size[1] / 2
        c, s = math.cos(self.turn), math.sin(self.turn)
        return [(self.centre[0] + c * a - s * b, self.centre[1] + s * a + c * b)
                for a, b in ((-w, -h), (w, -h), (w, h), (-w, h))]

    def albedo(self, x, y):
        u, v = self.own(x, y)
        return cv2.remap(self.face, np.float32((u + 44) * 16 - 0.5), np.float32((28 - v) * 16 - 0.5),
                         cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)


def draw_face(rng, tone):
    """16 px to a mm, 88 x 56 mm, linear light."""
    image = np.empty((56 * 16, 88 * 16, 3), np.float32)
    image[:] = tone
    other = tuple(float(t) for t in rng.uniform(0.02, 0.8, 3))
    if rng.random() < 0.3:  # a sweep of tone
        ramp = np.linspace(0.7, 1.3, image.shape[1], dtype=np.float32)[None, :, None]
        image *= ramp
    kind = rng.integers(4)
    if kind == 0:  # the back: a magnetic stripe from end to end, a field to sign
        cv2.rectangle(image, (0, 6 * 16), (88 * 16, 17 * 16), (0.01, 0.01, 0.01), -1)
        cv2.rectangle(image, (8 * 16, 22 * 16), (60 * 16, 30 * 16), (0.8, 0.8, 0.78), -1)
    if kind in (1, 2):  # the front: chip, numbers, rings
        cv2.rectangle(image, (10 * 16, 19 * 16), (22 * 16, 28 * 16), (0.6, 0.5, 0.25), -1)
        cv2.circle(image, (72 * 16, 44 * 16), 7 * 16, other, -1, cv2.LINE_AA)
        for k in range(4):
            cv2.putText(image, f"{rng.integers(1000, 9999)}", ((9 + 18 * k) * 16, 38 * 16),
                        cv2.FONT_HERSHEY_SIMPLEX, 2.2, (0.7, 0.7, 0.7), 6, cv2.LINE_AA)
    if kind == 2:  # a wave that runs off the face
        x = np.arange(-20, 88 * 16 + 20, 8)
        y = 20 * 16 + 8 * 16 * np.sin(x / 300 + rng.uniform(0, 6))
        cv2.polylines(image, [np.int32(np.column_stack([x, y]))], False, other, 90, cv2.LINE_AA)
    return np.clip(image, 0.005, 0.95)


# ---- the light ----

class Light:
    """A sky and a lamp, together 1 on the open paper."""

    def __init__(self, rng):
        self.sky = rng.uniform(0.35, 0.95)
        high, round_ = math.radians(rng.uniform(25, 75)), rng.uniform(0, 2 * math.pi)
        broad = math.radians(rng.choice([0.5, 3, 8]))
        self.to = []
        for _ in range(8):
            h, r = high + broad * rng.uniform(-1, 1), round_ + broad * rng.uniform(-1, 1)
            self.to.append((math.cos(h) * math.cos(r), math.cos(h) * math.sin(r), math.sin(h)))
        self.slope = rng.uniform(-0.0006, 0.0006, 2)  # of all the light, by mm

    def lamp_on(self, normal):
        """What the lamp gives a steep face, by what it gives the paper."""
        return np.mean([np.maximum(0, normal[0] * x + normal[1] * y) / z for x, y, z in self.to], axis=0)

    def on_ground(self, slab, x, y):
        """On the paper about a slab, by that on open paper."""
        d = np.maximum(slab.off(x, y), 0)
        cosine = d / np.sqrt(d * d + slab.thick ** 2)
        lit = np.zeros_like(d)
        for lx, ly, lz in self.to:
            low = np.full(d.shape, 9.0, np.float32)
            for part in (0.15, 0.4, 0.7, 1.0):
                reach = slab.thick * part / lz
                low = np.minimum(low, slab.off(x + lx * reach, y + ly * reach))
            lit += np.clip(0.5 + low / 0.03, 0, 1) / len(self.to)
        bounced = (1 - cosine) / 2 * float(np.mean(slab.rim)) * 0.6
        return self.sky * (1 + cosine) / 2 + (1 - self.sky) * lit + bounced


# ---- the camera ----

class Camera:
    """A pinhole with its lens: what lies at radius r of half the diagonal was bent there from
    r (1 + bend r^2). Looks at `target` from `far` mm, `tilt` and `azimuth` degrees off upright."""

    def __init__(self, size, focal35, bend, target, far, tilt, azimuth, roll):
        self.size, self.bend = size, bend
        self.half = math.hypot(*size) / 2
        self.focal = focal35 * 2 * self.half / FILM
        t, a, r = math.radians(tilt), math.radians(azimuth), math.radians(roll)
        back = np.array([math.sin(t) * math.cos(a), math.sin(t) * math.sin(a), math.cos(t)])
        right = np.cross([-math.sin(r), math.cos(r), 0], back)
        self.right = right / np.linalg.norm(right)
        self.up, self.back = np.cross(back, self.right), back
        self.eye = np.array([target[0], target[1], 0.0]) + far * back

    def rays(self, i, j):
        """Directions through places of the picture, px from its upper left corner."""
        x, y = (i - self.size[0] / 2) / self.half, (self.size[1] / 2 - j) / self.half
        bent = (1 + self.bend * (x * x + y * y)) * self.half / self.focal
        x, y = x * bent, y * bent
        return [x * self.right[k] + y * self.up[k] - self.back[k] for k in range(3)]

    def meet(self, ray, z):
        """Where rays meet a height."""
        s = (z - self.eye[2]) / ray[2]
        return self.eye[0] + s * ray[0], self.eye[1] + s * ray[1]

    def sees(self, x, y, z=0.0):
        """px of places; the lens by turns."""
        d = np.stack([np.asarray(x) - self.eye[0], np.asarray(y) - self.eye[1],
                      np.full(np.shape(x), z - self.eye[2])])
        depth = -np.tensordot(self.back, d, 1)
        u = np.tensordot(self.right, d, 1) / depth * self.focal / self.half
        v = np.tensordot(self.up, d, 1) / depth * self.focal / self.half
        a, b = u, v
        for _ in range(20):
            bent = 1 + self.bend * (a * a + b * b)
            a, b = u / bent, v / bent
        return self.size[0] / 2 + a * self.half, self.size[1] / 2 - b * self.half


def aim(rng, size, points, tilt):
    """A camera that has all points in its picture, as near as it can."""
    points = np.array(points)
    target = (points.min(axis=0) + points.max(axis=0)) / 2
    wide = np.ptp(points[:, 0]) > np.ptp(points[:, 1])
    roll = (0 if wide else 90) + 180 * rng.integers(2) + rng.uniform(-12, 12)
    known = dict(focal35=rng.uniform(23, 29), bend=rng.uniform(-0.06, 0.06), tilt=tilt,
                 azimuth=rng.uniform(0, 360), roll=roll)
    low, high = 150.0, 1500.0
    fill = rng.uniform(0.86, 0.97)
    for _ in range(30):
        far = (low + high) / 2
        camera = Camera(size, target=target, far=far, **known)
        i, j = camera.sees(points[:, 0], points[:, 1])
        inside = np.max(np.abs([i / size[0] - 0.5, j / size[1] - 0.5])) <= fill / 2
        low, high = (low, far) if inside else (far, high)
    return Camera(size, target=target, far=high, **known), known, high


def table_light(rng, tone):
    """A table's light by place: tone, grain, boards."""
    grain, turn = rng.choice([0, 0.06, 0.2]), rng.uniform(0, math.pi)
    noise = cv2.GaussianBlur(rng.standard_normal((512, 512)).astype(np.float32), (0, 0), 12, sigmaY=1.2)
    noise /= noise.std()

    def at(x, y):
        c, s = math.cos(turn), math.sin(turn)
        u, v = (c * x + s * y) * 2 % 512, (c * y - s * x) * 2 % 512
        n = cv2.remap(noise, np.float32(u), np.float32(v), cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
        return np.float32(tone) * np.clip(1 + grain * n, 0.2, 3)[..., None]
    return at


def ground_light(scene, x, y):
    sheet, table, light, slab, shadow = scene
    out = np.where(sheet.holds(x, y)[..., None], sheet.light(x, y), table(x, y))
    open_ = 1 + light.slope[0] * (x - 105) + light.slope[1] * (y - 148)
    return out * (open_ * shadow(x, y))[..., None]


def shadow_map(slab, light):
    """on_ground, worked out once at 14 places to a mm."""
    reach, fine = 62.0, 14
    n = int(2 * reach * fine)
    g = ((np.arange(n) + 0.5) / fine - reach).astype(np.float32)
    x, y = np.meshgrid(slab.centre[0] + g, slab.centre[1] + g)
    near = np.abs(slab.off(x, y)) < 8
    shade = np.ones(x.shape, np.float32)
    shade[near] = light.on_ground(slab, x[near], y[near])

    def at(x, y):
        return cv2.remap(shade, np.float32((x - slab.centre[0] + reach) * fine - 0.5),
                         np.float32((y - slab.centre[1] + reach) * fine - 0.5), cv2.INTER_LINEAR,
                         borderMode=cv2.BORDER_CONSTANT, borderValue=1)
    return at


def card_light(scene, camera, i, j):
    """What rays through px see, where the slab may be met."""
    _, _, light, slab, _ = scene
    ray = camera.rays(i, j)
    top, foot = camera.meet(ray, slab.thick), camera.meet(ray, 0.0)
    out = ground_light(scene, *foot)
    on_face = slab.off(*top) <= 0
    parts = [slab.off(*camera.meet(ray, slab.thick * k)) for k in (0, 0.33, 0.67)]
    on_rim = ~on_face & (np.min(parts, axis=0) <= 0)
    gleam = 1 + light.slope[0] * (top[0] - 105) + light.slope[1] * (top[1] - 148)
    out[on_face] = (slab.albedo(*top) * gleam[..., None])[on_face]
    u, v = slab.own(*top)
    # The rim's normal: by the greater overhang of the straight sides.
    du, dv = np.abs(u) - slab.size[0] / 2, np.abs(v) - slab.size[1] / 2
    nu, nv = np.where(du > dv, np.sign(u), 0), np.where(du > dv, 0, np.sign(v))
    c, s = math.cos(slab.turn), math.sin(slab.turn)
    normal = c * nu[on_rim] - s * nv[on_rim], s * nu[on_rim] + c * nv[on_rim]
    given = 0.5 * light.sky + (1 - light.sky) * np.minimum(light.lamp_on(normal), 1.5) + 0.3
    out[on_rim] = np.float32(slab.rim) * (given * gleam[on_rim])[:, None]
    return out


def photograph(rng, kind, sheet, path):
    place = kind if kind in ("beside", "on") else rng.choice(["beside", "on"])
    slab = lay(rng, sheet, place, kind)
    light = Light(rng)
    tone = rng.uniform(0.03, 0.6) * rng.uniform(0.6, 1, 3)
    tilt = rng.uniform(8, 18) if rng.random() < 0.65 else rng.uniform(0, 35)
    edges = [(0, 0), (sheet.size[0], 0), sheet.size, (0, sheet.size[1])] + slab.corners()
    camera, known, far = aim(rng, PHONE, edges, tilt)
    scene = [sheet, table_light(rng, tone), light, slab, shadow_map(slab, light)]
    w, h = PHONE
    picture = np.empty((h, w, 3), np.float32)
    for row in range(0, h, 306):  # some rows at a time
        i, j = np.meshgrid(np.arange(w, dtype=np.float32) + 0.5, np.arange(row, row + 306, dtype=np.float32) + 0.5)
        picture[row:row + 306] = ground_light(scene, *camera.meet(camera.rays(i, j), 0.0))
    fine = 4
    i, j = camera.sees(*np.array(slab.corners()).T, slab.thick)
    x0, x1 = max(0, int(i.min()) - 60), min(w, int(i.max()) + 60)
    y0, y1 = max(0, int(j.min()) - 60), min(h, int(j.max()) + 60)
    for row in range(y0, y1, 64):
        rows = min(64, y1 - row)
        i, j = np.meshgrid(x0 + (np.arange((x1 - x0) * fine) + 0.5) / fine,
                           row + (np.arange(rows * fine) + 0.5) / fine)
        seen = card_light(scene, camera, i.astype(np.float32), j.astype(np.float32))
        picture[row:row + rows, x0:x1] = cv2.resize(seen.astype(np.float32), (x1 - x0, rows),
                                                    interpolation=cv2.INTER_AREA)
    exposure = rng.uniform(0.8, 1.0) / max(0.5, float(np.percentile(picture[::8, ::8], 99)))
    develop(rng, picture * np.float32(exposure), path)
    return slab, {"place": place, "tilt": tilt, "far": far, "table": tone.tolist(),
                  "lens": known["bend"], "sky": light.sky}


def develop(rng, picture, path):
    """Blur, noise, now and then sharpening, JPEG."""
    picture = cv2.GaussianBlur(picture, (0, 0), rng.uniform(0.5, 1.1))
    noise = rng.standard_normal(picture.shape, dtype=np.float32)
    picture += noise * np.sqrt(np.maximum(picture, 0.001)) * np.float32(rng.uniform(0.003, 0.015))
    code = coded(picture)
    if rng.random() < 0.4:
        code = cv2.addWeighted(code, 1.5, cv2.GaussianBlur(code, (0, 0), 1.2), -0.5, 0)
    save(code, path, int(rng.integers(82, 97)), int(rng.choice([0, 2, 2])))


def save(code, path, quality, subsampling, **known):
    Image.fromarray(code).save(path, "JPEG", quality=quality, subsampling=subsampling, **known)


def lay(rng, sheet, place, kind):
    turn = 90.0 * rng.integers(4) + rng.uniform(-15, 15)
    upright = abs(math.sin(math.radians(turn))) > 0.7
    reach = (27, 43) if upright else (43, 27)
    reach = np.array(reach) + 12
    if place == "on":
        centre = rng.uniform(reach, np.array(sheet.size) - reach)
    else:
        side = rng.integers(4)
        centre = rng.uniform(reach - 12, np.array(sheet.size) - reach + 12)
        gap = rng.uniform(0, 12)
        if side < 2:
            centre[0] = -reach[0] - gap if side else sheet.size[0] + reach[0] + gap
        else:
            centre[1] = -reach[1] - gap if side == 2 else sheet.size[1] + reach[1] + gap
    known = {}
    if kind == "thick":
        known = {"thick": rng.uniform(1.0, 1.3)}
    elif kind == "other":
        off = rng.choice([-1, 1], 2) * rng.uniform(0.15, 0.8, 2)
        known = {"size": (85.6 + off[0], 53.98 + off[1]), "radius": rng.uniform(2.5, 4.5),
                 "thick": rng.uniform(0.3, 0.8)}
    return Slab(rng, centre, turn, **known)


# ---- the scanner ----

def scan(rng, sheet, path):
    """The card on the glass, the sheet on the card: lifted about it, out of focus there, in the lamp's
    shadow. A scanner with mirrors looks at the glass from a place over the middle of each line, so
    that it sees what lies higher nearer to the middle; one with a bar of lenses looks straight."""
    slab = lay(rng, sheet, "on", "scan")
    dpi = int(rng.choice([200, 300, 300, 400]))
    k = dpi / 25.4
    bar = rng.random() < 0.6
    lens = math.inf if bar else rng.uniform(220, 350)
    turn = math.radians(rng.uniform(-1.2, 1.2))
    ramp = rng.uniform(8, 25)
    lamps = [rng.choice([-1, 1])] if rng.random() < 0.6 else [-1, 1]
    steep = math.tan(math.radians(rng.uniform(30, 50)))
    ambient = rng.uniform(0.1, 0.35)
    w, h = int(216 * k), int(297 * k)
    out = np.empty((h, w, 3), np.float32)
    blur = 0.22 if bar else 0.05

    def lifted(x, y):
        s = np.clip(slab.off(x, y) / ramp, 0, 1)
        return slab.thick * (1 - s * s * (3 - 2 * s))

    def seen(i, j):
        gx, gy = i / k, 297 - j / k  # on the glass, its left lower corner at 0, 0
        reach = (gx - 108) / lens

        def at(z):
            x, y = gx + reach * z - 108, gy - 148.5
            c, s = math.cos(turn), math.sin(turn)
            return (c * x + s * y + sheet.size[0] / 2).astype(np.float32), (c * y - s * x + sheet.size[1] / 2).astype(np.float32)
        glass = at(0)
        z = lifted(*glass)
        for _ in range(2):
            z = lifted(*at(z))
        x, y = at(z)
        part = np.clip(z / slab.thick, 0, 1)[..., None]
        light = np.where(sheet.holds(x, y)[..., None],
                         (1 - part) * sheet.light(x, y) + part * sheet.light(x, y, blur), np.float32(0.75))
        shade = np.zeros(x.shape, np.float32)
        for lamp in lamps:
            low = np.full(x.shape, 9.0, np.float32)
            for q in (0.2, 0.5, 0.8):
                d = lamp * steep * z * q
                low = np.minimum(low, slab.off(x - math.sin(turn) * d, y + math.cos(turn) * d) +
                                 np.where(z * (1 - q) > slab.thick, 9, 0))
            shade += np.clip(0.5 + low / (0.06 + 0.2 * z), 0, 1) / len(lamps)
        shade = (ambient + (1 - ambient) * shade) * (1 - 0.12 * z)
        light = light * shade[..., None]
        face = slab.off(*glass) <= 0
        light[face] = slab.albedo(*glass)[face]
        if not bar:
            rim = ~face & (np.minimum(slab.off(*at(slab.thick * 0.5)), slab.off(*at(slab.thick))) <= 0)
            light[rim] = np.float32(slab.rim) * np.float32(0.5)
        return light.astype(np.float32)
    for row in range(0, h, 256):
        rows = min(256, h - row)
        i, j = np.meshgrid(np.arange(w) + 0.5, np.arange(row, row + rows) + 0.5)
        out[row:row + rows] = seen(i, j)
    fine = 3
    c, s = math.cos(-turn), math.sin(-turn)
    p = np.array(slab.corners()) - np.array(sheet.size) / 2
    gx, gy = c * p[:, 0] + s * p[:, 1] + 108, c * p[:, 1] - s * p[:, 0] + 148.5
    x0, x1 = max(0, int((gx.min() - 3) * k)), min(w, int((gx.max() + 3) * k))
    y0, y1 = max(0, int((297 - gy.max() - 3) * k)), min(h, int((297 - gy.min() + 3) * k))
    for row in range(y0, y1, 64):
        rows = min(64, y1 - row)
        i, j = np.meshgrid(x0 + (np.arange((x1 - x0) * fine) + 0.5) / fine,
                           row + (np.arange(rows * fine) + 0.5) / fine)
        out[row:row + rows, x0:x1] = cv2.resize(seen(i, j), (x1 - x0, rows), interpolation=cv2.INTER_AREA)
    out = cv2.GaussianBlur(out, (0, 0), rng.uniform(0.4, 0.8))
    out += rng.standard_normal(out.shape, dtype=np.float32) * np.float32(rng.uniform(0.001, 0.005))
    save(coded(out), path, 93, 0, dpi=(dpi, dpi))
    return slab, {"place": "scan", "dpi": dpi, "bar": bar, "lamps": len(lamps)}


def trace(seed, kind, pdf, page, path):
    """Makes the picture, and gives the truth: the print's scale and skew, the slab, the conditions."""
    rng = np.random.default_rng((seed, KINDS.index(kind), 99))
    sheet = Sheet(rng, pdf, page)
    slab, conditions = scan(rng, sheet, path) if kind == "scan" else photograph(rng, kind, sheet, path)
    nominal = [sheet.nominal(*c) for c in slab.corners()]
    return {"scale": sheet.scale.tolist(), "skew_mrad": 1000 * sheet.skew, "colour": str(slab.colour),
            "rim": str(slab.rim_kind), "size": list(slab.size), "thick": slab.thick,
            "corners": [[float(a) for a in c] for c in nominal], **conditions}
