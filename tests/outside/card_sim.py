"""An ID-1 card (ISO/IEC 7810) laid on a plane, and how a camera or a scanner sees it.

Its size is drawn within the standard's tolerance. A camera sees its upper face nearer than the plane
it lies on, and its side wall; a scanner sees the face that lies on the glass."""
import math

import cv2
import numpy as np

from expose import STRIDE, coarse, spread

# ISO/IEC 7810: nominal size, and limits (from memory) as 3 standard deviations about their middle.
SIZE = ((85.47, 85.72), (53.92, 54.03))
RADIUS = (2.88, 3.48)
THICKNESS = (0.68, 0.84)
TEXTURE = 12  # px to a mm of the face's pattern


class Card:
    """centre: plane mm; turn: degrees counter-clockwise of its longer side from x. size: mm, drawn
    where None."""

    def __init__(self, rng, centre, turn=0.0, size=None):
        self.centre, self.turn = np.asarray(centre, float), turn
        self.size = size or tuple(float(np.clip(rng.normal((a + b) / 2, (b - a) / 6), a, b))
                                  for a, b in SIZE)
        self.radius, self.thickness = rng.uniform(*RADIUS), rng.uniform(*THICKNESS)
        self.face = face(rng)
        self.wall = float(rng.uniform(0.15, 0.9))
        self.shade = float(rng.uniform(0.1, 0.5))
        self.light = rng.uniform(0, 2 * math.pi)

    def truth(self):
        return {"size": list(self.size), "centre": list(self.centre), "turn": self.turn,
                "thickness": self.thickness, "radius": self.radius,
                "corners": self.outline(0)[:, :2].tolist()}

    def outline(self, z):
        """The four corners of its (unrounded) outline, counter-clockwise, with their height."""
        w, h = self.size
        c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        p = np.array([[-w, -h], [w, -h], [w, h], [-w, h]]) / 2 @ np.array([[c, s], [-s, c]])
        return np.column_stack([p + self.centre, np.full(4, z)])

    def own(self, x, y):
        """Plane to the card's own mm from its centre."""
        c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        x, y = x - self.centre[0], y - self.centre[1]
        return x * c + y * s, y * c - x * s

    def outside(self, x, y):
        """Signed distance to its outline in mm, negative inside, of plane places."""
        u, v = self.own(x, y)
        dx = np.abs(u) - self.size[0] / 2 + self.radius
        dy = np.abs(v) - self.size[1] / 2 + self.radius
        return (np.hypot(np.maximum(dx, 0), np.maximum(dy, 0)) + np.minimum(np.maximum(dx, dy), 0)
                - self.radius)


def face(rng):
    """Any pattern: a ground of one tone or a gradient, patches, stripes, lines as of print."""
    w, h = 90 * TEXTURE, 58 * TEXTURE
    ground = rng.uniform(0.03, 0.95, 3) if rng.random() < 0.6 else np.full(3, rng.uniform(0.03, 0.95))
    x, y = np.meshgrid(np.linspace(-1, 1, w, dtype=np.float32),
                       np.linspace(-1, 1, h, dtype=np.float32))
    a = rng.uniform(0, 2 * math.pi)
    shade = 1 + rng.choice([0, 0.25]) * (x * math.cos(a) + y * math.sin(a))
    image = cv2.merge([np.float32(g) * shade for g in ground])
    for _ in range(rng.integers(0, 5)):
        tone = [float(t) for t in rng.uniform(0.02, 0.95, 3)]
        p, q = rng.integers(0, w, 2), rng.integers(0, h, 2)
        kind = rng.integers(3)
        if kind == 0:
            cv2.rectangle(image, (int(p[0]), int(q[0])), (int(p[1]), int(q[1])), tone, -1)
        elif kind == 1:
            cv2.circle(image, (int(p[0]), int(q[0])), int(rng.integers(40, 300)), tone, -1,
                       cv2.LINE_AA)
        else:
            cv2.line(image, (0, int(q[0])), (w, int(q[1])), tone, int(rng.integers(4, 120)),
                     cv2.LINE_AA)
    tone = [float(t) for t in rng.uniform(0.02, 0.95, 3)]
    for row in range(rng.integers(0, 4)):
        cv2.putText(image, "".join(rng.choice(list("0123456789 "), 16)),
                    (6 * TEXTURE, int((20 + 9 * row) * TEXTURE)), cv2.FONT_HERSHEY_SIMPLEX,
                    rng.uniform(1.5, 4), tone, int(rng.integers(2, 9)), cv2.LINE_AA)
    return np.clip(image, 0, 1).astype(np.float32)


def covered(distance, rows, columns):
    """How much of each fine pixel lies inside, from signed distances on the coarse grid."""
    gy, gx = np.gradient(distance, STRIDE)
    return np.clip(0.5 - spread(distance / np.maximum(np.hypot(gx, gy), 1e-9), rows, columns), 0, 1)


def lay(picture, card, device, blur=0.35, fine=3):
    """Lays the card into a picture of linear light (changed in place)."""
    top = card.thickness if hasattr(device, "at_height") else 0.0
    space = np.vstack([card.outline(0), card.outline(top)])
    p = device.project(space) if hasattr(device, "project") else device.to_px(space[:, :2])
    margin = 60 if top else 6
    size = picture.shape[1], picture.shape[0]
    left, upper = np.maximum(np.floor(p.min(axis=0)).astype(int) - margin, 0)
    right, lower = np.minimum(np.ceil(p.max(axis=0)).astype(int) + margin, size)
    if right <= left or lower <= upper:
        return
    columns, rows = int(right - left) * fine, int(lower - upper) * fine
    u, v = np.meshgrid((coarse(left * fine, columns) + 0.5) / fine,
                       (coarse(upper * fine, rows) + 0.5) / fine)
    upright = device.at_height(u, v, top) if top else device.to_plane(u, v)
    base = device.at_height(u, v, 0.0) if top else upright
    shrink = (int(right - left), int(lower - upper))

    def pixels(a, blur=blur):
        if blur > 0:
            a = cv2.GaussianBlur(a, (0, 0), blur * fine, borderType=cv2.BORDER_REPLICATE)
        return cv2.resize(a, shrink, interpolation=cv2.INTER_AREA)
    under = picture[upper:lower, left:right]
    gray = under.ndim == 2
    if top:
        under = under * pixels(shadow(card, base, rows, columns), 0)[:, :, None]
    on_top = covered(card.outside(*upright), rows, columns)
    hull = on_top
    if top:  # every height that a ray passes on its way from face to foot
        heights = [[part * a + (1 - part) * b for a, b in zip(upright, base)]
                   for part in (0, 0.25, 0.5, 0.75)]
        hull = np.maximum(on_top, covered(np.min([card.outside(*h) for h in heights], axis=0), rows, columns))
    x, y = (spread(a, rows, columns) for a in card.own(*upright))
    seen = cv2.remap(card.face, np.float32((x + 45) * TEXTURE - 0.5),
                     np.float32((29 - y) * TEXTURE - 0.5), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    if gray:
        seen = seen @ np.float32([0.2126, 0.7152, 0.0722])
        light = pixels(seen * on_top + np.float32(card.wall) * (hull - on_top))
        picture[upper:lower, left:right] = under * (1 - pixels(hull)) + light
        return
    light = pixels(seen * on_top[:, :, None] + np.float32(card.wall) * (hull - on_top)[:, :, None])
    picture[upper:lower, left:right] = under * (1 - pixels(hull))[:, :, None] + light


def shadow(card, base, rows, columns):
    """What the card takes from the light beside it: a soft border that leans away from the light."""
    lean = 1.2 * card.thickness
    d = card.outside(base[0] - lean * math.cos(card.light), base[1] - lean * math.sin(card.light))
    return spread(1 - card.shade / (1 + np.exp(np.clip(d / 0.4, -30, 30))), rows, columns)
