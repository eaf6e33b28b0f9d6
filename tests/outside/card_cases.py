"""Random pictures of a printed sheet with an ID-1 card, by a phone or on a scanner's glass, with the
truth of the print's scale and of the card.

    case = draw(7, "photo", kits)   # of a seed
    truth = make(case, "x.jpg")

What is drawn: page, the printer's scale and skew, where the card lies, its face, where the camera
stands, its lens, light, shadow, the table's tone, blur, noise, JPEG's quality, what EXIF says. A
scan: resolution, turn, lid, blur, noise."""
import functools
import math

import cv2
import numpy as np

import card_sim
import expose
import photo_sim
import print_sim
import simulate

PLACES = {"photo": ("beside", "beside", "across", "on", "outline"),
          "scan": ("beside", "across", "on", "outline"),
          "other": ("beside", "on", "nothing", "outline")}

# What else may lie about, mm: visiting cards, which have sharp corners, a playing card, which has
# round ones, a small leaflet (a quarter of A5), a card of ID-2's size.
OTHERS = (("a visiting card", (85, 55), 0.02), ("a visiting card", (90, 50), 0.02),
          ("a visiting card", (88.9, 50.8), 0.02), ("a playing card", (88.9, 63.5), 3.5),
          ("a leaflet", (105, 74), 0.02), ("an ID-2 card", (105, 74), 3.2),
          ("a bridge card", (88.9, 57.2), 3.5))


class Kit:
    """A PDF and its plan (read, as a dict), and where its proof's card outline is, or None."""

    def __init__(self, pdf, plan, sheets, outline=None):
        self.pdf, self.plan, self.sheets, self.outline = pdf, plan, sheets, outline


class Case:
    def __init__(self, seed, kind, place, kit, page):
        self.seed, self.kind, self.place, self.kit, self.page = seed, kind, place, kit, page

    def name(self):
        return f"{self.kind} {self.seed} {self.place} page {self.page}"


def draw(seed, kind, kits):
    """kits: (of a course, of a proof)."""
    rng = np.random.default_rng((seed, 11))
    places = PLACES[kind]  # "other": photographs of something that is no ID-1 card
    place = places[seed % len(places)]
    kit = kits[1 if place == "outline" else 0]
    return Case(seed, kind, place, kit, int(rng.integers(kit.sheets)) + 1)


@functools.lru_cache(maxsize=2)
def rendered(pdf, page, dpi):
    return simulate.render(pdf, page, dpi)


def printed(case, rng, dpi):
    page = rendered(case.kit.pdf, case.page, dpi)
    shrunk = rng.choice([1, 1, 1, 0.97, 0.945])
    scale = tuple(shrunk * (1 + rng.uniform(-0.006, 0.006, 2)))
    return print_sim.Print(page, case.seed, scale=scale, skew_mrad=rng.uniform(-2, 2))


def lay_out(case, p, rng):
    """The card's centre and turn, plane mm and degrees."""
    c = p.corners()
    box = c.min(axis=0), c.max(axis=0)
    quarter = 90.0 * rng.integers(4)
    if case.place == "outline":
        x0, y0, x1, y1 = case.kit.outline
        at = p.to_plane([[(x0 + x1) / 2, (y0 + y1) / 2]])[0] + rng.uniform(-0.5, 0.5, 2)
        return at, (180.0 * rng.integers(2) + (90 if y1 - y0 > x1 - x0 else 0)
                    + rng.uniform(-0.4, 0.4))
    if case.place == "on":
        turn = quarter + rng.uniform(-20, 20)
        return rng.uniform(box[0] + 52, box[1] - 52), turn
    turn = quarter + rng.uniform(-25, 25)
    # By the card's reach towards the sheet it stands `gap` off its edge, or over it.
    w, h = card_sim.SIZE[0][0] / 2, card_sim.SIZE[1][0] / 2
    a = math.radians(turn)
    reach = (abs(w * math.cos(a)) + abs(h * math.sin(a)), abs(w * math.sin(a)) + abs(h * math.cos(a)))
    axis, end = rng.integers(2), rng.integers(2)
    # At the longer sides, mostly, where the frame has room.
    axis = 0 if rng.random() < 0.7 else axis
    gap = rng.uniform(3, 20) if case.place == "beside" else -rng.uniform(0.2, 0.8) * 2 * reach[axis]
    at = rng.uniform(box[0] + 45, box[1] - 45)
    at[axis] = box[end][axis] + (1 if end else -1) * (reach[axis] + gap)
    return at, turn


def make(case, path):
    rng = np.random.default_rng((case.seed, 12))
    return (scan if case.kind == "scan" else photograph)(case, rng, path)


def thing(case, rng, at, turn):
    """What lies there, and what it is called; None for nothing."""
    if case.kind != "other":
        return card_sim.Card(rng, at, turn), "a card"
    if case.place in ("nothing", "outline"):
        return None, "nothing"
    what, size, radius = OTHERS[rng.integers(len(OTHERS))]
    card = card_sim.Card(rng, at, turn, size)
    card.radius, card.thickness = radius, 0.35
    return card, what


# ---- photographs ----

def a_camera(rng, points, corners):
    for attempt in range(40):
        camera = photo_sim.looking(
            points, (4000, 3000), rng.uniform(0.7, 0.9), rng.uniform(0, 45), rng.uniform(0, 360),
            90.0 * rng.integers(4) + rng.uniform(-15, 15), rng.uniform(0.33, 0.6),
            k1=rng.uniform(-0.1, 0.1), off=rng.uniform(-1, 1, 2), rng=rng, corners=corners)
        quad = cv2.contourArea(cv2.convexHull(np.float32(camera.to_px(corners))))
        if quad >= (0.33 if attempt < 25 else 0.28) * 12e6:
            break
    return camera, quad / 12e6


def photograph(case, rng, path):
    p = printed(case, rng, 300)
    at, turn = lay_out(case, p, rng)
    card, what = thing(case, rng, at, turn)
    points = expose.outline(p)
    if card is not None:
        points = np.vstack([points, card.outline(0)[:, :2]])
    camera, area = a_camera(rng, points, p.corners())
    tone = rng.uniform(0.02, 0.75) * rng.uniform(0.4, 1, 3)
    image = photo_sim.photograph(
        p, camera, rng, card, blur=rng.uniform(0.5, 1.4), noise=rng.uniform(0.002, 0.012), tone=tone,
        fall=rng.uniform(0, 0.2), slope=rng.uniform(0, 0.2), shadow=rng.choice([0, rng.uniform(0, 0.5)]),
        exposure=rng.uniform(0.7, 0.97))
    exif = rng.integers(3)
    photo_sim.save(image, path, photo_sim.exif_of(camera, 1, exif == 2) if exif else None,
                   int(rng.integers(80, 97)), int(rng.choice([0, 2])))
    out = truth_of(p, card, image, camera)
    out.update(what=what, other=case.kind == "other", area=area, exif=["none", "without focal length", "whole"][exif])
    return out


def truth_of(p, card, image, device):
    sx, sy, skew = p.affine()
    return {"scale": [sx, sy], "skew_mrad": skew, "other": False,
            "card": card.truth() if card else None,
            "shown": shown(image, card, device) if card else [0]}


def shown(image, card, device):
    """How well each side shows: the share of its length along which the codes 0.8 mm inside and
    outside differ by more than 20 codes (of red, green and blue together). A person sees a side of
    which most does."""
    top = card.thickness if hasattr(device, "at_height") else 0
    corner = card.outline(top)
    project = device.project if hasattr(device, "project") else lambda q: device.to_px(q[:, :2])
    soft = cv2.blur(image, (3, 3)).astype(float)
    out = []
    for k in range(4):
        a, b = corner[k, :2], corner[(k + 1) % 4, :2]
        along = (b - a) / np.linalg.norm(b - a)
        outwards = np.array([along[1], -along[0]])
        t = np.linspace(0.08, 0.92, 60)[:, None]
        line = a + t * (b - a)
        codes = []
        for d in (-0.8, 0.8):
            px = np.rint(project(np.column_stack([line + d * outwards, np.full(60, top)])) - 0.5)
            px = np.clip(px.astype(int), 0, np.array(image.shape[1::-1]) - 1)
            codes.append(soft[px[:, 1], px[:, 0]])
        far = np.linalg.norm(np.atleast_2d((codes[1] - codes[0]).reshape(60, -1)), axis=1)
        out.append(float((far > 20).mean()))
    return out


# ---- scans ----

class Glass:
    """A scanner: px_per_mm along the picture's axes alike, the plane turned by degrees."""

    def __init__(self, points, dpi, degrees, margin=3.0):
        self.k = dpi / simulate.MM_PER_INCH
        a = math.radians(degrees)
        # y of the picture runs down.
        self.turn = np.array([[math.cos(a), -math.sin(a)], [-math.sin(a), -math.cos(a)]])
        q = points @ self.turn.T
        self.low = q.min(axis=0) - margin
        self.size = tuple(int(math.ceil(v)) for v in (np.ptp(q, axis=0) + 2 * margin) * self.k)

    def to_px(self, plane):
        return (np.atleast_2d(plane) @ self.turn.T - self.low) * self.k

    def to_plane(self, u, v):
        x, y = u / self.k + self.low[0], v / self.k + self.low[1]
        back = self.turn.T
        return back[0, 0] * x + back[0, 1] * y, back[1, 0] * x + back[1, 1] * y


def scan(case, rng, path):
    dpi = int(rng.choice([150, 200, 300, 300, 400, 600]))
    p = printed(case, rng, max(300, dpi))
    at, turn = lay_out(case, p, rng)
    card, what = thing(case, rng, at, turn)
    points = np.vstack([p.corners(), card.outline(0)[:, :2]])
    glass = Glass(points, dpi, 90.0 * rng.integers(4) + rng.uniform(-4, 4))
    colour = rng.random() < 0.6
    lid = np.float32(rng.choice([0.03, 0.8, 0.9]) * rng.uniform(0.95, 1.05))
    picture = np.full((glass.size[1], glass.size[0], 3 if colour else 1), lid, np.float32)
    for top, left, light, cover in expose.sheet_layers(p, glass, 2 if dpi <= 300 else 1, 0.35, colour):
        at = (slice(top, top + light.shape[0]), slice(left, left + light.shape[1]))
        picture[at] = picture[at] * (1 - cover) + light
    if not colour:
        picture = picture[:, :, 0]
    card_sim.lay(picture, card, glass, 0.35)
    rest = rng.uniform(0.1, 0.8)
    picture = cv2.GaussianBlur(picture, (0, 0), rest, borderType=cv2.BORDER_REPLICATE)
    picture *= np.float32(rng.uniform(0.9, 1.0) / p.paper.max())
    image = photo_sim.developed(picture, rng.uniform(0.002, 0.01), rng)
    simulate.save(image, path, dpi=dpi, quality=int(rng.integers(80, 97)))
    out = truth_of(p, card, image, glass)
    out.update(what=what, dpi=dpi, colour=colour, lid=float(lid))
    return out
