"""Pictures of a sheet with a bank card on it or beside it, with every truth known: scans, and
photographs by a pinhole camera with a lens.

Independent of pavior and of the map that it fits: every picture element is followed back along its
ray to the card's upper face, its side walls or the paper and table beneath, in true millimetres.

Frames: "paper", true mm on the paper with its origin in the lower left corner, y up. The print lies
on it as paper = printed @ nominal. Pixels have (0,0) at the outer corner of the first one, y down.
"""
import math

import cv2
import numpy as np

import simulate

SUB = 2  # samples to a pixel's side


def smooth(x):
    x = np.clip(x, 0, 1)
    return x * x * (3 - 2 * x)


class Card:
    """An ID-1 card lying with its middle at `at` (paper mm), its long side turned by `turn`
    degrees. face: light (red, green, blue); style: "plain", "stripes", "split", "picture"."""

    def __init__(self, at, turn=0.0, size=(85.60, 53.98), thickness=0.76, radius=3.18,
                 face=(0.7, 0.7, 0.7), other=(0.2, 0.2, 0.3), style="plain", wall=None, seed=0):
        self.at, self.turn, self.size = np.array(at, float), math.radians(turn), size
        self.thickness, self.radius = thickness, radius
        self.face, self.other = np.array(face, np.float32), np.array(other, np.float32)
        self.style = style
        self.wall = np.array(self.face * 0.7 if wall is None else wall, np.float32)
        rng = np.random.default_rng(seed)
        self.picture = cv2.resize(rng.uniform(0, 1, (7, 11)).astype(np.float32), (856, 540),
                                  interpolation=cv2.INTER_CUBIC)

    def own(self, x, y):
        """Paper mm to the card's own frame."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        dx, dy = x - self.at[0], y - self.at[1]
        return c * dx + s * dy, c * dy - s * dx

    def distance(self, x, y):
        """Signed distance from the outline, negative inside."""
        u, v = self.own(x, y)
        a = np.abs(u) - (self.size[0] / 2 - self.radius)
        b = np.abs(v) - (self.size[1] / 2 - self.radius)
        outer = np.hypot(np.maximum(a, 0), np.maximum(b, 0))
        return outer + np.minimum(np.maximum(a, b), 0) - self.radius

    def light(self, x, y):
        u, v = self.own(x, y)
        share = np.zeros(u.shape, np.float32)
        if self.style == "stripes":
            share = ((v > 12) & (v < 24)).astype(np.float32)
            share = np.maximum(share, ((np.abs(v + 8) < 2) & (np.abs(u) < 35)))
        elif self.style == "split":
            share = (u > 5).astype(np.float32)
        elif self.style == "picture":
            share = np.clip(cv2.remap(self.picture, ((u + 42.8) * 10).astype(np.float32),
                                      ((v + 27) * 10).astype(np.float32), cv2.INTER_LINEAR,
                                      borderMode=cv2.BORDER_REPLICATE), 0, 1)
        share = share[..., None]
        return self.face * (1 - share) + self.other * share


class Shadow:
    """Of a broad lamp: falls `far` mm towards `way` (degrees), fades over `soft` mm."""

    def __init__(self, depth=0.35, far=0.6, way=200.0, soft=2.0):
        self.depth, self.soft = depth, soft
        self.by = far * np.array([math.cos(math.radians(way)), math.sin(math.radians(way))])


class Scene:
    """page: simulate.Page; printed: 3 x 3, nominal mm to paper mm; paper: its true size in mm."""

    def __init__(self, page, printed, paper, card=None, shadow=None, white=0.8, black=0.03,
                 table=(0.22, 0.12, 0.06), grain=0.1, seed=0):
        self.page, self.paper, self.card, self.shadow = page, paper, card, shadow
        self.to_raster = simulate.sheet_to_source(page) @ np.linalg.inv(printed)
        self.white, self.black = white, black
        self.table = np.array(table, np.float32)
        rng = np.random.default_rng(seed)
        grains = 1 + grain * cv2.resize(rng.standard_normal((300, 40)).astype(np.float32),
                                        (800, 1200), interpolation=cv2.INTER_CUBIC)
        self.grains = np.clip(grains, 0.4, 1.8)

    def ground(self, x, y, fine):
        """Light of paper and table; fine: mm of a sample."""
        m = self.to_raster
        u = (m[0, 0] * x + m[0, 1] * y + m[0, 2] - 0.5).astype(np.float32)
        v = (m[1, 0] * x + m[1, 1] * y + m[1, 2] - 0.5).astype(np.float32)
        light = self.page.light
        ink = cv2.remap(light, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT,
                        borderValue=(simulate.FULL,) * 4).astype(np.float32) / simulate.FULL
        if ink.ndim == 2:
            ink = np.repeat(ink[..., None], 3, axis=2)
        out = self.black + (self.white - self.black) * ink
        inside = np.minimum(np.minimum(x, self.paper[0] - x), np.minimum(y, self.paper[1] - y))
        cover = np.clip(0.5 + inside / fine, 0, 1)[..., None]
        grain = cv2.remap(self.grains, ((x + 150) * 1.5 % 800).astype(np.float32),
                          ((y + 150) * 1.5 % 1200).astype(np.float32), cv2.INTER_LINEAR,
                          borderMode=cv2.BORDER_REPLICATE)[..., None]
        out = out * cover + self.table * grain * (1 - cover)
        if self.card is not None and self.shadow is not None:
            far = self.card.distance(x - self.shadow.by[0], y - self.shadow.by[1])
            out *= (1 - self.shadow.depth * smooth(1 - far / self.shadow.soft))[..., None]
        return out

    def seen(self, low, high, fine):
        """low, high: x, y where the rays meet the paper's plane, and the card's upper one."""
        out = self.ground(*low, fine)
        if self.card is None:
            return out
        foot = np.clip(0.5 - self.card.distance(*low) / fine, 0, 1)[..., None]
        top = np.clip(0.5 - self.card.distance(*high) / fine, 0, 1)[..., None]
        out = out * (1 - foot) + self.card.wall * foot
        return out * (1 - top) + self.card.light(*high) * top


def strips(size):
    width, height = size
    for first in range(0, height, 128):
        rows = min(128, height - first)
        x = (np.arange(width * SUB) + 0.5) / SUB
        y = first + (np.arange(rows * SUB) + 0.5) / SUB
        yield first, rows, np.meshgrid(x, y)


def finish(light, blur, noise, rng, kind="colour"):
    light = cv2.GaussianBlur(light, (0, 0), blur) if blur > 0 else light
    if kind == "gray":
        light = light @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    light = light + np.float32(noise) * rng.standard_normal(light.shape, np.float32)
    index = np.rint(np.clip(light, 0, 1) * simulate.FULL).astype(np.uint16)
    return np.rint(simulate.CODE_OF_LIGHT).astype(np.uint8)[index]


def photograph(scene, size=(4000, 3000), tilt=(0.0, 0.0), turn=0.0, focal35=26.0, fill=0.8, k1=0.0,
               look=None, blur=0.7, noise=0.005, shade=0.2, seed=0):
    """tilt: degrees about the paper's x and y; fill: share of the picture's tighter fit that the
    paper takes; k1: radial distortion, r in focal lengths. The picture."""
    rng = np.random.default_rng(seed)
    a, tx, ty = (math.radians(t) for t in (turn, *tilt))
    about_z = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]])
    about_x = np.array([[1, 0, 0], [0, math.cos(tx), -math.sin(tx)],
                        [0, math.sin(tx), math.cos(tx)]])
    about_y = np.array([[math.cos(ty), 0, math.sin(ty)], [0, 1, 0],
                        [-math.sin(ty), 0, math.cos(ty)]])
    turning = about_x @ about_y @ about_z
    f = focal35 * math.hypot(*size) / 43.27
    span = [abs(scene.paper[0] * math.cos(a)) + abs(scene.paper[1] * math.sin(a)),
            abs(scene.paper[0] * math.sin(a)) + abs(scene.paper[1] * math.cos(a))]
    far = f * max(span[0] / size[0], span[1] / size[1]) / fill
    look = np.array(look if look is not None else (scene.paper[0] / 2, scene.paper[1] / 2), float)
    look = look + rng.uniform(-3, 3, 2)
    camera = np.array([[f, 0, -size[0] / 2], [0, -f, -size[1] / 2], [0, 0, -1]])

    def plane(z):
        """Paper mm at height z to px, without the lens."""
        shift = turning @ np.array([-look[0], -look[1], z]) + np.array([0, 0, -far])
        return camera @ np.column_stack([turning[:, 0], turning[:, 1], shift])

    lift = scene.card.thickness if scene.card is not None else 0
    back = [np.linalg.inv(plane(0)), np.linalg.inv(plane(lift))]
    fine = far / f / SUB
    light = np.empty((size[1], size[0], 3), np.float32)
    for first, rows, (x, y) in strips(size):
        u, v = (x - size[0] / 2) / f, (y - size[1] / 2) / f
        p, q = u, v
        for _ in range(12 if k1 else 0):
            r2 = p * p + q * q
            p, q = u / (1 + k1 * r2), v / (1 + k1 * r2)
        x, y = p * f + size[0] / 2, q * f + size[1] / 2
        at = []
        for b in back:
            w = b[2, 0] * x + b[2, 1] * y + b[2, 2]
            at.append(((b[0, 0] * x + b[0, 1] * y + b[0, 2]) / w,
                       (b[1, 0] * x + b[1, 1] * y + b[1, 2]) / w))
        part = scene.seen(at[0], at[1], fine).astype(np.float32)
        light[first:first + rows] = cv2.resize(part, (size[0], rows),
                                               interpolation=cv2.INTER_AREA)
    gx, gy = np.meshgrid(np.linspace(-1, 1, size[0]), np.linspace(-1, 1, size[1]))
    way = rng.uniform(0, 2 * math.pi)
    fade = 1 - shade * 0.5 * (1 + math.cos(way) * gx + math.sin(way) * gy) / 2
    fade *= 1 - 0.06 * (gx * gx + gy * gy)
    return finish(light * fade.astype(np.float32)[..., None], blur, noise, rng)


def scan(scene, dpi=300, turn=0.0, area=None, blur=0.6, noise=0.005, seed=0, kind="gray",
         scanner=(1.0, 1.0)):
    """A flatbed scan, the card on the glass. area: x0, y0, x1, y1 of the paper's frame; scanner:
    true mm per stated mm along the picture's x and y."""
    rng = np.random.default_rng(seed)
    x0, y0, x1, y1 = area or (-3, -3, scene.paper[0] + 3, scene.paper[1] + 3)
    k = dpi / simulate.MM_PER_INCH
    a = math.radians(turn)
    turning = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    linear = np.diag([k / scanner[0], -k / scanner[1]]) @ turning
    corners = linear @ np.array([[x0, x1, x1, x0], [y0, y0, y1, y1]])
    low, high = corners.min(axis=1), corners.max(axis=1)
    shift = -low + rng.uniform(0, 1, 2)
    size = tuple(int(v) for v in np.ceil(high - low) + 1)
    inverse = np.linalg.inv(linear)
    light = np.empty((size[1], size[0], 3), np.float32)
    for first, rows, (x, y) in strips(size):
        x, y = x - shift[0], y - shift[1]
        at = (inverse[0, 0] * x + inverse[0, 1] * y, inverse[1, 0] * x + inverse[1, 1] * y)
        part = scene.seen(at, at, 1 / k / SUB).astype(np.float32)
        light[first:first + rows] = cv2.resize(part, (size[0], rows),
                                               interpolation=cv2.INTER_AREA)
    return finish(light, blur, noise, rng, kind)
