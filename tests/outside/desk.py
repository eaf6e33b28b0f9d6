"""Sheets printed, scanned, photographed and inspected in simulation: what test_calibrate.py and
test_reference.py share."""
import json
import os
import subprocess

import numpy as np

import expose
import photo_sim
import scan_sim
import simulate

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
        done = pavior("sheets", "--no-guide", course, "--paper", "A4", "-q", "--replace", "-o", self.pdf, *more)
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


def stated(dpi, off):
    """A scanner's off and what PNG rounds, in one: whole pixels a metre (ISO/IEC 15948, 11.3.5.3)."""
    exact = round(dpi / 0.0254) * 0.0254 / dpi
    return tuple(o * exact for o in off)


def scanned(path, print_, rng, dpi=300, off=(1.0, 1.0), turn=0.4, state=True, margin=3.0, card=None,
            quarters=0, device=None, **options):
    """A PNG whose stated resolution is off by `off` exactly, whatever PNG rounds."""
    scanner = scan_sim.Scanner(print_, dpi, turn, stated(dpi, off) if state else off, margin=margin,
                               card=card, **(device or {}))
    image = scanner.scan(print_, rng, **options)
    simulate.save(simulate.turned(image, quarters), path, dpi=dpi if state else None)
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
    photo_sim.save(simulate.turned(image, quarters), path, exif)
    return path


def inspect(kit, *words):
    """Status and the first image's object; a scan is a flatbed's, unless the words say otherwise."""
    kind = () if "--scanner" in words else ("--scanner", "flatbed")
    done = pavior("inspect", "--plan", kit.path, "--json", *kind, *words)
    try:
        return done.returncode, json.loads(done.stdout)[0]
    except (ValueError, IndexError):
        return done.returncode, {"error": done.stderr, "file": ""}


PAIRS = ("PQ", "PS", "PR", "QS")


def reading(kit, sheet, print_, pair, rng, U, factor=1.0):
    """--measured for two gauge marks, read with a ruler to U (k = 2). factor: what the ruler reads
    for 1 mm."""
    marks = np.array(kit.plan["sheets"][sheet]["gauge"])
    a, b = print_.to_plane(marks[["PQRS".index(name) for name in pair]], ragged=False)
    read = np.linalg.norm(b - a) * factor + rng.normal(0, U / 2)
    return ["--measured", f"{pair[0]}-{pair[1]}={read:.3f}mm+-{U}mm"]
