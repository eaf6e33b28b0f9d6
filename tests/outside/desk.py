"""Sheets printed, scanned, photographed and inspected in simulation: what test_calibrate.py and
test_reference.py share."""
import json
import math
import os
import subprocess

import cv2
import numpy as np

import card_sim
import expose
import photo_sim
import simulate
from simulate import CODE_OF_LIGHT, FULL, MM_PER_INCH

HERE = os.path.dirname(os.path.abspath(__file__))
PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
QUAYSIDE = os.path.join(HERE, "..", "..", "layouts", "quayside.course")
CHECK = os.path.join(HERE, "check36.course")

def pavior(*words):
    return subprocess.run([PAVIOR, *words], capture_output=True, text=True, timeout=300)


def sampled(pieces):
    """Places 5 mm apart on a line's centre, N x 2, mat mm."""
    points = []
    for p in pieces:
        if len(p) == 4:
            a, b = np.array(p[:2]), np.array(p[2:])
            t = np.arange(0, 1, 5 / max(np.linalg.norm(b - a), 5))[:, None]
            points.append(a + t * (b - a))
        else:
            angle = p[7] + p[8] * np.arange(0, 1, 5 / max(abs(p[6] * p[8]), 5))
            points.append(np.array(p[4:6]) + p[6] * np.column_stack([np.cos(angle), np.sin(angle)]))
    return np.vstack(points)


class Kit:
    """A PDF and its plan. more: further words for pavior sheets."""

    def __init__(self, folder, name, course, *more):
        self.pdf = os.path.join(folder, name + ".pdf")
        self.path = os.path.join(folder, name + ".plan.json")
        done = pavior("sheets", course, "--paper", "A4", "-q", "-o", self.pdf, *more)
        if done.returncode != 0:
            raise RuntimeError(done.stderr)
        with open(self.path, encoding="utf-8") as file:
            self.plan = json.load(file)

    def busy(self, n):
        """The pages of the n sheets that show most lines over 60 mm and more."""
        lines = [sampled(line["pieces"]) for line in self.plan["art"]["lines"]]

        def shown(sheet):
            x0, y0, x1, y1 = sheet["cell"]
            return sum(((p > [x0 + 10, y0 + 10]) & (p < [x1 - 10, y1 - 10])).all(axis=1).sum() >= 12
                       for p in lines)
        count = [shown(sheet) for sheet in self.plan["sheets"]]
        return [int(i) + 1 for i in np.argsort(-np.array(count), kind="stable")[:n]]

    def page(self, number, colour=False):
        return simulate.render(self.pdf, number, 600, None if colour else False)


class Flatbed:
    """A flatbed scanner: an exact map from plane mm to pixels. off: true mm per mm that the stated
    resolution claims, along the picture's x and y. turn: degrees counter-clockwise. margin: mm of lid
    around the sheet, below 0 cutting its edges off."""

    def __init__(self, print_, dpi, off=(1.0, 1.0), turn=0.0, margin=3.0, card=None):
        k, a = dpi / MM_PER_INCH, math.radians(turn)
        turning = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
        self.linear = np.diag([k / off[0], -k / off[1]]) @ turning
        self.inverse = np.linalg.inv(self.linear)
        points = print_.corners()
        if card is not None:
            points = np.vstack([points, card.outline(0)[:, :2]])
        p = points @ self.linear.T
        low, high = p.min(axis=0) - margin * k, p.max(axis=0) + margin * k
        self.shift = np.array([0.3, 0.6]) - low
        self.size = tuple(int(v) for v in np.ceil(high - low) + 1)
        self.px_per_mm, self.card = k, card

    def to_px(self, points):
        return np.atleast_2d(points) @ self.linear.T + self.shift

    def to_plane(self, u, v):
        u, v = u - self.shift[0], v - self.shift[1]
        m = self.inverse
        return m[0, 0] * u + m[0, 1] * v, m[1, 0] * u + m[1, 1] * v

    def scan(self, print_, rng, colour=False, lid=0.75, blur=0.06, noise=0.006, bilevel=False):
        """8-bit codes; black and white as 0 and 255."""
        w, h = self.size
        picture = np.full((h, w, 3 if colour else 1), lid, np.float32)
        sigma = blur * self.px_per_mm
        first = min(sigma, 0.5)
        for top, left, light, cover in expose.sheet_layers(print_, self, 2, first, colour):
            at = (slice(top, top + light.shape[0]), slice(left, left + light.shape[1]))
            picture[at] = picture[at] * (1 - cover) + light
        if not colour:
            picture = picture[:, :, 0]
        if self.card is not None:
            card_sim.lay(picture, self.card, self, first)
        rest = math.sqrt(sigma * sigma - first * first)
        if rest > 0.1:
            picture = cv2.GaussianBlur(picture, (0, 0), rest, borderType=cv2.BORDER_REPLICATE)
        picture += np.float32(noise) * rng.standard_normal(picture.shape, np.float32)
        if bilevel:
            return np.where(picture > 0.45, 255, 0).astype(np.uint8)
        index = np.rint(np.clip(picture, 0, 1) * FULL).astype(np.uint16)
        return np.rint(CODE_OF_LIGHT).astype(np.uint8)[index]


def stated(dpi, off):
    """A scanner's off and what PNG rounds, in one: whole pixels a metre (ISO/IEC 15948, 11.3.5.3)."""
    exact = round(dpi / 0.0254) * 0.0254 / dpi
    return tuple(o * exact for o in off)


def scanned(path, print_, rng, dpi=300, off=(1.0, 1.0), turn=0.4, state=True, margin=3.0, card=None,
            quarters=0, **options):
    """A PNG whose stated resolution is off by `off` exactly, whatever PNG rounds."""
    device = Flatbed(print_, dpi, stated(dpi, off) if state else off, turn, margin, card)
    image = device.scan(print_, rng, **options)
    simulate.save(np.ascontiguousarray(np.rot90(image, quarters)), path, dpi=dpi if state else None)
    return path


def photographed(path, print_, rng, card=None, tilt=10.0, bend=None, orientation=1, size=(4000, 3000),
                 area=0.45, k1=0.02, **options):
    points = expose.outline(print_)
    if card is not None:
        points = np.vstack([points, card.outline(0)[:, :2]])
    camera = photo_sim.looking(points, size, 0.8, tilt, rng.uniform(0, 360), 90, area, k1=k1, rng=rng,
                               corners=print_.corners())
    camera.bend = bend
    image = photo_sim.photograph(print_, camera, rng, card, **options)
    quarters = {1: 0, 3: 2, 6: 1, 8: 3}.get(orientation, 0)
    exif = photo_sim.exif_of(camera, orientation)
    photo_sim.save(np.ascontiguousarray(np.rot90(image, quarters)), path, exif)
    return path


def inspect(kit, *words):
    """Status and the first image's object."""
    done = pavior("inspect", "--plan", kit.path, "--json", *words)
    try:
        return done.returncode, json.loads(done.stdout)[0]
    except (ValueError, IndexError):
        return done.returncode, {"error": done.stderr, "file": ""}


def reading(kit, sheet, print_, vertical, rng, U, factor=1.0):
    """--measured for the sheet's longest bar along an axis, read with a ruler to U (k = 2). factor:
    what the ruler reads for 1 mm."""
    bar = max((b for b in kit.plan["sheets"][sheet]["bars"]
               if b["vertical"] == vertical and not b["inch"]), key=lambda b: b["count"] * b["step"])
    length = bar["count"] * bar["step"]
    end = np.array(bar["at"]) + ([0, length] if vertical else [length, 0])
    a, b = print_.to_plane(np.array([bar["at"], end]), ragged=False)
    read = np.linalg.norm(b - a) * factor + rng.normal(0, U / 2)
    return ["--measured", f"{'y' if vertical else 'x'}:{length:g}mm={read:.3f}mm+-{U}mm"]
