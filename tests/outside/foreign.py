"""Pictures of printed sheets made in another way than by the project's simulators, and sharing neither
code nor assumptions with them, so that a mistake of theirs has a witness. A page is rasterised by
mupdf without smoothing; Pillow scales and turns it; paper that curls, lifts and is photographed is a
mesh that OpenCV projects through its rational or its fisheye lens; the sensor has a Bayer mosaic;
what scanners' drivers, phones and messengers do to a finished picture is done by Pillow's and
OpenCV's own filters.

    truth = photograph(sheet, rng, "photo.jpg", ...), scan(sheet, rng, "scan.jpg", ...)

Truth by construction: sx, sy printed mm per nominal mm, skew in mrad. Frames: sheet mm from the upper
left corner, y down, z towards the eye."""
import io
import math
import os
import subprocess
import tempfile

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageOps

Image.MAX_IMAGE_PIXELS = None
RASTER = 500  # dpi
MM = RASTER / 25.4


LIGHT_OF = (np.arange(256, dtype=np.float32) / 255) ** np.float32(2.2)


def decoded(codes):
    """8-bit codes to light: a pure power, near enough to sRGB's curve and not that."""
    return cv2.LUT(np.ascontiguousarray(codes), LIGHT_OF)


def coded(light):
    return np.uint8(255 * np.clip(light, 0, 1) ** (1 / 2.2) + 0.5)


class Sheet:
    """A page's light (rows x columns x 3), 1 for bare paper. sx, sy, skew: the printer's; the paper
    stays as it is, so the print is cut off or leaves a border."""

    def __init__(self, pdf, page, sx=1.0, sy=1.0, skew=0.0, rng=None, spread=0.0):
        with tempfile.TemporaryDirectory() as folder:
            name = os.path.join(folder, "page.ppm")
            subprocess.run(["mutool", "draw", "-q", "-A", "0", "-r", str(2 * RASTER), "-c", "rgb", "-o", name,
                            pdf, str(page)], check=True, capture_output=True)
            code = cv2.imread(name)[:, :, ::-1]
        rows, columns = (n // 2 for n in code.shape[:2])
        self.light = np.empty((rows, columns, 3), np.float32)
        for top in range(0, rows, 256):  # strips, for memory
            part = code[2 * top:2 * min(top + 256, rows), :2 * columns]
            self.light[top:top + 256] = cv2.resize(decoded(part), (columns, part.shape[0] // 2),
                                                   interpolation=cv2.INTER_AREA)
        self.sx, self.sy, self.skew = sx, sy, skew
        h, w = self.light.shape[:2]
        self.size = w / MM, h / MM
        lean = math.sin(skew / 1000)
        print_ = np.float64([[sx, -sy * lean, 0], [0, sy * math.cos(skew / 1000), 0]])
        # The lower left corner stays where it is: nominal y runs upwards from there.
        print_[:, 2] = [-print_[0, 1] * h, h - print_[1, 1] * h]
        if (sx, sy, skew) != (1, 1, 0):
            shift = print_.copy()  # of pixels' centres
            shift[:, 2] += print_[:, :2] @ [0.5, 0.5] - 0.5
            self.light = cv2.warpAffine(self.light, shift, (w, h), flags=cv2.INTER_CUBIC, borderMode=1)
        if spread:  # toner that spreads: blurred, and the middle level pushed
            soft = cv2.GaussianBlur(self.light, (0, 0), 0.06 * MM)
            self.light = np.clip((soft - 0.5 - spread) * 3 + 0.5, 0, 1)
        if rng is not None:
            self.light = fibres(np.clip(self.light, 0, 1), rng)

    def truth(self):
        return {"sx": self.sx, "sy": self.sy, "skew": self.skew}


def fibres(light, rng):
    """Paper's own grain, and ink that takes it up unevenly."""
    h, w = light.shape[:2]
    grain = np.zeros((h, w), np.float32)
    for step, share in ((3, 0.012), (11, 0.01), (70, 0.008)):
        small = rng.normal(0, share, (h // step + 2, w // step + 2)).astype(np.float32)
        grain += cv2.resize(small, (w, h), interpolation=cv2.INTER_CUBIC)
    paper = np.float32(rng.uniform(0.8, 0.93)) * np.float32([1, 1.0, rng.uniform(0.93, 1.03)])
    ink = np.float32(rng.uniform(0.02, 0.06))
    return (ink + (1 - ink) * light) * paper * (1 + grain)[:, :, None]


# ---- scans ----

def scan(sheet, rng, path, dpi=300, off=(1.0, 1.0), turn=0.0, mode="plain", gray=False, quality=85,
         stated=True, paint=None):
    """off: true mm per stated mm across and along. mode: "plain", "levels" (automatic contrast),
    "document" (background removed, sharpened), "sharp", "despeckle". paint: draws on the sheet's
    8-bit picture at RASTER dpi first."""
    code = Image.fromarray(coded(sheet.light))
    if paint:
        paint(ImageDraw.Draw(code))
    k = dpi / 25.4
    border = rng.uniform(1, 6)
    w, h = (int((n + 2 * border) * k) for n in sheet.size)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    fold = 2
    # Picture to raster, as Pillow wants it: about both middles.
    fx, fy = MM / k * off[0] / fold, MM / k * off[1] / fold
    a = np.array([[c * fx, s * fy], [-s * fx, c * fy]])
    middle = np.array([code.width, code.height]) / 2 + rng.uniform(-1, 1, 2) * MM
    b = middle - a @ (np.array([w, h]) * fold / 2)
    lid = int(rng.choice([20, 235, 250]))
    big = code.transform((w * fold, h * fold), Image.AFFINE, (a[0, 0], a[0, 1], b[0], a[1, 0], a[1, 1], b[1]),
                         Image.BICUBIC, fillcolor=(lid,) * 3)
    light = cv2.resize(decoded(np.asarray(big)), (w, h), interpolation=cv2.INTER_AREA)
    light = cv2.blur(light, (2, 1)) if rng.random() < 0.3 else cv2.GaussianBlur(light, (0, 0), 0.55)
    columns = 1 + rng.normal(0, 0.004, w) + 0.03 * np.cos(np.linspace(-1, 1, w) * rng.uniform(0.5, 1.5))
    light *= np.float32(columns)[None, :, None]
    light += rng.normal(0, 0.004, light.shape).astype(np.float32)
    picture = finished_scan(Image.fromarray(coded(light)), mode)
    if gray:
        picture = picture.convert("L")
    density = {"dpi": (dpi, dpi)} if stated else {}
    picture.save(path, **density, **({} if path.endswith("png") else {"quality": quality, "subsampling": 2}))
    return sheet.truth()


def finished_scan(picture, mode):
    if mode == "levels":
        return ImageOps.autocontrast(picture, cutoff=(2, 20))
    if mode == "sharp":
        return picture.filter(ImageFilter.UnsharpMask(1.5, 150, 2))
    if mode == "despeckle":
        return picture.filter(ImageFilter.MedianFilter(3))
    if mode == "document":
        codes = np.float32(np.asarray(picture))
        small = cv2.resize(codes, None, fx=0.05, fy=0.05, interpolation=cv2.INTER_AREA)
        ground = cv2.resize(cv2.GaussianBlur(cv2.dilate(small, np.ones((7, 7))), (0, 0), 5), picture.size)
        flat = np.clip(codes / np.maximum(ground, 30) * 262 - 6, 0, 255)
        return Image.fromarray(np.uint8(flat)).filter(ImageFilter.UnsharpMask(1, 80, 3))
    return picture


# ---- photographs ----

class Eye:
    """A camera over the sheet: project(points N x 3) to px. lens: "rational", "fisheye" (with little
    of it), or "none"."""

    def __init__(self, size, reach, rng, tilt, turn, lens, fill=0.8):
        self.size, self.lens = size, lens
        f = max(size) * rng.uniform(0.68, 0.95)
        self.matrix = np.array([[f, 0, size[0] / 2 + rng.uniform(-40, 40)],
                                [0, f, size[1] / 2 + rng.uniform(-40, 40)], [0, 0, 1]])
        self.terms = np.zeros(8)
        if lens == "rational":
            self.terms[:] = [rng.uniform(-0.1, 0.1), rng.uniform(-0.05, 0.05), rng.uniform(-4e-4, 4e-4),
                             rng.uniform(-4e-4, 4e-4), rng.uniform(-0.02, 0.02), rng.uniform(-0.05, 0.05), 0, 0]
        elif lens == "fisheye":
            # Whose own mapping is r = f theta: undone but for a rest, as phones do.
            self.terms[:4] = [1 / 3 + rng.uniform(-0.03, 0.03), 0.13, 0, 0]
        away = rng.uniform(0, 2 * math.pi)
        axis = np.array([math.cos(away), math.sin(away), 0]) * math.radians(tilt)
        spin = cv2.Rodrigues(np.array([0, 0, math.radians(turn)]))[0]
        self.rotation = cv2.Rodrigues(axis)[0] @ spin @ np.diag([1.0, 1, 1])
        low, high = np.array(reach[0]), np.array(reach[1])
        middle = np.append((low + high) / 2, 0)
        corners = np.array([[x, y, 0] for x in (low[0], high[0]) for y in (low[1], high[1])])
        distance = 2.0 * max(high - low)
        for _ in range(40):
            self.t = -self.rotation @ middle + [0, 0, distance]
            p = self.project(corners)
            most = max(np.abs((p - np.array(size) / 2) / (np.array(size) / 2)).max(axis=1))
            distance *= (most / fill) ** 0.7

    def project(self, points):
        p = np.ascontiguousarray(points, np.float64).reshape(-1, 1, 3)
        r = cv2.Rodrigues(self.rotation)[0]
        if self.lens == "fisheye":
            return cv2.fisheye.projectPoints(p, r, self.t.reshape(3, 1), self.matrix, self.terms[:4])[0][:, 0]
        return cv2.projectPoints(p, r, self.t, self.matrix, self.terms)[0][:, 0]


def surface(kind, size, rng):
    """Where the sheet's places (N x 2, mm along the paper) lie in space, z negative towards the eye: flat,
    curl, waves (both bend one way, and keep lengths along the paper), lifted (one corner; stretched by less
    than 0.5 % there)."""
    w, h = size
    angle, height = 0.0, None
    if kind == "curl":
        angle, rise = rng.uniform(0, math.pi), rng.uniform(1, 6)
        height = lambda p: -rise * (p / (h / 2)) ** 2  # noqa: E731
    elif kind == "waves":
        angle, rise, period, phase = math.pi / 2, rng.uniform(0.2, 0.8), rng.uniform(80, 160), rng.uniform(0, 6)
        height = lambda p: -rise * (1 + np.sin(2 * np.pi * p / period + phase))  # noqa: E731
    elif kind == "lifted":
        corner = np.array([rng.choice([0, w]), rng.choice([0, h])])
        rise, reach = rng.uniform(1, 4), rng.uniform(30, 50)
        return lambda p: np.column_stack([p, -rise * np.exp(-((p - corner) ** 2).sum(axis=1) / (2 * reach ** 2))])
    if height is None:
        return lambda p: np.column_stack([p, np.zeros(len(p))])
    ground = np.linspace(-600, 600, 24001)  # from the middle, on the table
    step = np.hypot(np.diff(ground), np.diff(height(ground)))
    along = np.concatenate([[0], np.cumsum(step)])
    along -= np.interp(0, ground, along)
    way, middle = np.array([math.cos(angle), math.sin(angle)]), np.array([w, h]) / 2

    def bent(p):
        s = (p - middle) @ way
        g = np.interp(s, along, ground)
        return np.column_stack([p + np.outer(g - s, way), height(g)])
    return bent


def seen_by(eye, bent, guess):
    """For each picture pixel of a coarse grid the sheet place that it shows, by Newton's method from a
    homography; spread to all pixels."""
    w, h = eye.size
    step = 10
    u, v = np.meshgrid(np.arange(-1, w // step + 2) * step + step / 2, np.arange(-1, h // step + 2) * step + step / 2)
    target = np.column_stack([u.ravel(), v.ravel()])
    x = cv2.perspectiveTransform(target[None], guess)[0]

    def at(p):
        return eye.project(bent(p))
    for _ in range(8):
        e = 0.05
        p0 = at(x)
        dx, dy = (at(x + [e, 0]) - p0) / e, (at(x + [0, e]) - p0) / e
        det = dx[:, 0] * dy[:, 1] - dx[:, 1] * dy[:, 0]
        r = target - p0
        move = np.column_stack([(r[:, 0] * dy[:, 1] - r[:, 1] * dy[:, 0]) / det,
                                (dx[:, 0] * r[:, 1] - dx[:, 1] * r[:, 0]) / det])
        x = x + np.clip(np.nan_to_num(move), -30, 30)
    grid = x.reshape(*u.shape, 2).astype(np.float32)
    big = cv2.resize(grid, (u.shape[1] * step, u.shape[0] * step), interpolation=cv2.INTER_LINEAR)
    return big[step:step + h, step:step + w]


def things(rng, cards):
    """What lies about, as (picture in code values, its mask, size in mm, place of its middle, turn, height):
    cards of several kinds, a sticky note, a phone, a pen."""
    out = []
    sizes = {"id1": (85.6, 53.98, 3.18), "visiting": (85.0, 55.0, 0), "visiting-us": (88.9, 50.8, 0),
             "playing": (88.0, 63.0, 3.0), "loyalty": (86.0, 54.0, 3.0), "note": (76.0, 76.0, 0), "pen": (140.0, 9.0, 4),
             "phone": (147.0, 71.5, 8.0), "photo": (90.0, 54.7, 0)}
    for name, at, turn in cards:
        w, h, r = sizes[name]
        k = 10
        tone = tuple(int(t) for t in rng.integers(20, 240, 3))
        picture = Image.new("RGB", (int(w * k), int(h * k)), tone)
        d = ImageDraw.Draw(picture)
        if name not in ("note", "pen", "phone"):
            d.rectangle([50, 120, 150, 200], fill=tuple(int(t) for t in rng.integers(20, 240, 3)))
            for i in range(3):
                d.text((60, 260 + 70 * i), "0123 4567 8901 2345"[: 8 + 4 * i], fill=(250, 250, 250))
            if rng.random() < 0.4:
                d.rectangle([0, int(h * 6), int(w * k), int(h * 7.5)], fill=(20, 20, 20))
        mask = Image.new("L", picture.size, 0)
        ImageDraw.Draw(mask).rounded_rectangle([0, 0, picture.width - 1, picture.height - 1], int(r * k), fill=255)
        out.append((picture, mask, (w, h), at, turn, {"id1": 0.76, "phone": 8, "pen": 8}.get(name, 0.3)))
    return out


def lay_thing(light, eye, thing):
    """Pastes a flat thing by the homography of its upper side, with a core-coloured wall beneath it."""
    picture, mask, (w, h), at, turn, thick = thing
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    corner = np.array([[-w, -h], [w, -h], [w, h], [-w, h]]) / 2 @ np.array([[c, s], [-s, c]]) + at
    src = np.float32([[0, 0], [picture.width, 0], [picture.width, picture.height], [0, picture.height]])
    fold = 2
    p = eye.project(np.column_stack([corner, np.full(4, -thick)]))
    low, high = np.floor(p.min(axis=0)) - 40, np.ceil(p.max(axis=0)) + 40
    low, high = np.maximum(low, 0).astype(int), np.minimum(high, eye.size).astype(int)
    if (high <= low).any():
        return
    area = tuple((high - low) * fold)
    cut = (slice(low[1], high[1]), slice(low[0], high[0]))
    shade = None
    for part in np.linspace(0, 1, 5):
        q = (eye.project(np.column_stack([corner, np.full(4, -thick * part)])) - low) * fold
        m = cv2.getPerspectiveTransform(src, np.float32(q))
        cover = cv2.warpPerspective(np.asarray(mask), m, area, flags=cv2.INTER_AREA)
        cover = cv2.resize(np.float32(cover) / 255, tuple(high - low), interpolation=cv2.INTER_AREA)[:, :, None]
        if shade is None:  # contact shadow
            soft = cv2.GaussianBlur(cover[:, :, 0], (0, 0), max(thick, 0.4) * 0.8 * np.linalg.norm(q[1] - q[0]) / fold / w)
            light[cut] *= (1 - 0.35 * np.roll(soft, (3, 3), (0, 1)))[:, :, None]
        if part < 1:
            wall = np.float32([0.75, 0.74, 0.7])
            light[cut] = light[cut] * (1 - cover) + wall * 0.8 * cover
            continue
        top = cv2.warpPerspective(decoded(np.asarray(picture)), m, area, flags=cv2.INTER_AREA, borderMode=1)
        top = cv2.resize(top, tuple(high - low), interpolation=cv2.INTER_AREA)
        light[cut] = light[cut] * (1 - cover) + top * cover


def board(size, rng):
    """A table of planks with grain, or a plain or chequered cloth."""
    w, h = size
    kind = rng.choice(["planks", "plain", "cloth"])
    tone = np.float32(rng.uniform(0.08, 0.5)) * np.float32([1.2, 1.0, 0.8])
    base = np.ones((h, w), np.float32)
    if kind == "planks":
        base += cv2.resize(rng.normal(0, 0.25, (h // 3, w // 90)).astype(np.float32), (w, h))
        for x in range(int(rng.integers(0, 400)), w, int(rng.integers(500, 900))):
            base[:, x:x + 6] *= 0.35
    elif kind == "cloth":
        yy, xx = np.mgrid[0:h, 0:w].astype(np.float32)
        base += 0.3 * np.sign(np.sin(xx / 37) * np.sin(yy / 37))
    return np.clip(base, 0.2, 2)[:, :, None] * tone


def lamps(size, rng, kind):
    """"even", "two" lamps with a fall-off each, "hand": the shadow of one, "glare": a soft highlight."""
    w, h = size
    x, y = np.meshgrid(np.linspace(0, 1, w // 8), np.linspace(0, h / w, h // 8))
    light = np.full(x.shape, 0.9)
    extra = np.zeros(x.shape)
    if kind == "two":
        light[:] = 0.25
        for _ in range(2):
            cx, cy = rng.uniform(-0.2, 1.2), rng.uniform(-0.2, 1)
            light += 0.6 / (1 + ((x - cx) ** 2 + (y - cy) ** 2) / 0.5)
    if kind == "hand":
        mask = np.zeros(x.shape, np.float32)
        cx, cy = int(rng.uniform(0.1, 0.9) * x.shape[1]), x.shape[0]
        cv2.ellipse(mask, (cx, cy), (x.shape[1] // 7, int(x.shape[0] * rng.uniform(0.3, 0.8))), 10, 0, 360, 1, -1)
        for i in range(4):
            cv2.line(mask, (cx - 20 + 14 * i, cy - 100), (cx - 40 + 28 * i, cy - 260), 1, 14)
        light *= 1 - rng.uniform(0.25, 0.6) * cv2.GaussianBlur(mask, (0, 0), float(rng.uniform(1.5, 12)))
    if kind == "glare":
        cx, cy = rng.uniform(0.2, 0.8), rng.uniform(0.2, 0.6)
        extra = 0.25 * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / 0.01)
    up = lambda a: cv2.resize(np.float32(a), size, interpolation=cv2.INTER_CUBIC)  # noqa: E731
    return up(light), up(extra)


def sensor(light, rng, noise):
    """A Bayer mosaic with photon and read-out noise, and OpenCV's edge-aware demosaicing."""
    gains = np.float32([rng.uniform(0.45, 0.7), 1.0, rng.uniform(0.5, 0.75)])
    raw = np.empty(light.shape[:2], np.float32)
    for row, column, channel in ((0, 0, 2), (0, 1, 1), (1, 0, 1), (1, 1, 0)):
        raw[row::2, column::2] = light[row::2, column::2, channel] * gains[channel]
    full = rng.uniform(1500, 6000) / noise
    raw = rng.poisson(np.clip(raw, 0, 1.2) * full).astype(np.float32) / np.float32(full)
    raw += rng.normal(0, 0.0015 * noise, raw.shape).astype(np.float32)
    code = np.uint16(np.clip(raw, 0, 1) * 65535)
    rgb = cv2.cvtColor(code, cv2.COLOR_BayerRG2RGB).astype(np.float32) / 65535
    first = rgb[1::2, 1::2].reshape(-1, 3).mean(axis=0) / light[1::2, 1::2].reshape(-1, 3).mean(axis=0)
    return rgb / np.maximum(first, 0.05)


def finished_photo(code, how, rng):
    """"phone": denoised, sharpened; "hdr": local contrast; "messenger": 1600 px, sharpened, quality 72;
    "plain"."""
    if how == "plain":
        return Image.fromarray(code)
    if how == "hdr":
        lab = cv2.cvtColor(code, cv2.COLOR_RGB2LAB)
        lab[:, :, 0] = cv2.createCLAHE(1.6, (6, 6)).apply(lab[:, :, 0])
        code = cv2.cvtColor(lab, cv2.COLOR_LAB2RGB)
    code = cv2.bilateralFilter(code, 5, 14, 1.6)
    picture = Image.fromarray(code).filter(ImageFilter.UnsharpMask(1.6, int(rng.uniform(50, 130)), 2))
    if how == "messenger":
        picture.thumbnail((1600, 1600), Image.LANCZOS)
        buffer = io.BytesIO()
        picture.save(buffer, "JPEG", quality=72)
        picture = Image.open(buffer).convert("RGB")
    return picture


def photograph(sheet, rng, path, tilt=10.0, lens="rational", shape="flat", light="even", how="phone", cards=(),
               size=(4032, 3024), exif=True, noise=1.0, quality=88, paint=None):
    """cards: (name, place of its middle in sheet mm, turn in degrees)."""
    w, h = sheet.size
    picture = sheet.light
    if paint:
        code = Image.fromarray(coded(picture))
        paint(ImageDraw.Draw(code))
        picture = decoded(np.asarray(code))
    low, high = np.array([0.0, 0.0]), np.array([w, h])
    for _, at, _ in cards:
        low, high = np.minimum(low, np.array(at) - 50), np.maximum(high, np.array(at) + 50)
    eye = Eye(size, (low, high), rng, tilt, float(rng.choice([0, 90, 180, 270]) + rng.normal(0, 5)), lens)
    plane = np.float64([[0, 0], [w, 0], [w, h], [0, h]])
    guess = cv2.getPerspectiveTransform(np.float32(eye.project(np.column_stack([plane, np.zeros(4)]))),
                                        np.float32(plane))
    places = seen_by(eye, surface(shape, sheet.size, rng), guess.astype(np.float64))
    fold = 2
    fine = cv2.resize(places, (size[0] * fold, size[1] * fold), interpolation=cv2.INTER_LINEAR)
    view = board(size, rng)
    for top in range(0, size[1], 256):  # strips, for memory
        part = fine[top * fold:(top + 256) * fold]
        mx, my = part[:, :, 0] * MM - 0.5, part[:, :, 1] * MM - 0.5
        seen = cv2.remap(picture, mx, my, cv2.INTER_LINEAR, borderMode=1)
        inside = np.float32((part[:, :, 0] > 0) & (part[:, :, 0] < w) & (part[:, :, 1] > 0) & (part[:, :, 1] < h))
        rows = part.shape[0] // fold
        seen = cv2.resize(seen * inside[:, :, None], (size[0], rows), interpolation=cv2.INTER_AREA)
        cover = cv2.resize(inside, (size[0], rows), interpolation=cv2.INTER_AREA)[:, :, None]
        view[top:top + rows] = view[top:top + rows] * (1 - cover) + seen
    for thing in things(rng, cards):
        lay_thing(view, eye, thing)
    bright, glare = lamps(size, rng, light)
    view = view * bright[:, :, None] + glare[:, :, None]
    view = cv2.GaussianBlur(view, (0, 0), float(rng.uniform(0.5, 1.1)))
    code = coded(sensor(view * np.float32(rng.uniform(0.85, 1.05)), rng, noise))
    done = finished_photo(code, how, rng)
    options = {"quality": quality, "subsampling": 2}
    if exif and how != "messenger":
        tags = Image.Exif()
        tags[271], tags[272], tags[274] = "Other", "Eye", 1
        tags[0x8769] = {41989: round(eye.matrix[0, 0] / math.hypot(*size) * 43.27)}
        options["exif"] = tags
    done.save(path, **options)
    return sheet.truth()
