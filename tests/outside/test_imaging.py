#!/usr/bin/python3
"""Are the tools that measure rendered pages true? Lines and an arc at known places on a page
written by hand, measured in what four renderers make of it.

poppler's cairo output has exact coverage. The others paint whole pixels: pdftoppm and mutool move
each edge by less than a pixel to one side, ghostscript paints every pixel that a shape touches (PDF
Reference 1.7, 6.5.4), which moves both edges of a line outwards by less than a pixel each."""
import math
import os
import sys
import tempfile

import numpy as np

import checks
import imaging
import overlay
import rawpdf
from checks import at_most, expect

WIDTH, HEIGHT = 210, 297
UPRIGHT = [(20.0 + 17.3217 * i, 4.0 + 0.771 * i) for i in range(8)]  # x, width
LEVEL = [(150.0 + 19.113 * i, 3.0 + 1.037 * i) for i in range(7)]  # y, width
ARC = ((30.123, 25.456), 95.25, 6.35)  # centre, radius, width; a quarter

def drawing():
    d = rawpdf.Drawing(WIDTH, HEIGHT)
    d.colour((240, 230, 120))
    d.box(0, 0, WIDTH, HEIGHT)
    d.colour((20, 60, 160))
    for x, w in UPRIGHT:
        d.box(x - w / 2, 140, w, 150)
    for y, w in LEVEL:
        d.box(8, y - w / 2, 190, w)
    d.ring(*ARC, 0, 90)
    return d


def rays_across(raster, centre, radius, angles):
    found = [(a, imaging.line(raster, (centre[0] + radius * math.cos(a),
                                       centre[1] + radius * math.sin(a)), a, ARC[2], 0.3, 0.6))
             for a in angles]
    return [(a, f) for a, f in found if f is not None]


def measure(path, renderer, dpi, limit):
    raster = imaging.render(path, 1, HEIGHT, dpi, renderer)
    between = (LEVEL[0][0] + LEVEL[1][0]) / 2, (UPRIGHT[2][0] + UPRIGHT[3][0]) / 2
    crossed = [imaging.line(raster, (x, between[0]), 0, w, 2.0, 0.6) + (w,) for x, w in UPRIGHT]
    crossed += [imaging.line(raster, (between[1], y), math.pi / 2, w, 2.0, 0.6) + (w,)
                for y, w in LEVEL]
    edges = [abs(at + sign * (got - w) / 2) for at, got, w in crossed for sign in (-1, 1)]
    at_most(f"{renderer} {dpi} dpi, edges of lines", max(edges), limit)
    at_most(f"{renderer} {dpi} dpi, widths of lines", max(abs(got - w) for _, got, w in crossed),
          limit if renderer != "ghostscript" else 2 * limit)
    centre, radius, w = ARC
    rays = rays_across(raster, centre, radius, np.radians(np.arange(3, 87, 0.5)))
    assert len(rays) > 100
    at_most(f"{renderer} {dpi} dpi, arc's centre line", max(abs(f[0]) for _, f in rays), limit)
    if renderer == "pdftocairo":
        points = [(centre[0] + (radius + f[0]) * math.cos(a),
                   centre[1] + (radius + f[0]) * math.sin(a)) for a, f in rays]
        c, r = imaging.circle(points)
        at_most(f"{renderer} {dpi} dpi, arc's radius", abs(r - radius), limit)
        at_most(f"{renderer} {dpi} dpi, arc's centre", math.hypot(*(c - centre)), limit)
    at_most(f"{renderer} {dpi} dpi, arc's mean width", abs(np.mean([f[1] for _, f in rays]) - w),
          limit if renderer == "pdftocairo" else 2 * limit)


CROSSES = [(120.0, 30.0), (120.0, 80.0), (120.0, 150.0)]  # mat mm


def neighbour(origin, error=(0.0, 0.0)):
    """A sheet of a mat with slanted bars; its art, but not its crosses, is off by `error`."""
    d = rawpdf.Drawing(150, 200)
    d.colour((240, 240, 200))
    d.box(0, 0, 150, 200)

    def at(x, y, dx=error[0], dy=error[1]):
        return x - origin[0] + dx, y - origin[1] + dy
    d.colour((0, 0, 0))
    d.bar(at(50, 50), at(200, 90), 6)
    d.bar(at(50, 110), at(200, 110), 4)
    d.colour((150, 20, 20))
    d.bar(at(100, 20), at(140, 190), 5)
    d.colour((0, 0, 0))
    for x, y in CROSSES:
        x, y = at(x, y, 0, 0)
        d.bar((x - 2.5, y), (x + 2.5, y), 0.25)
        d.bar((x, y - 2.5), (x, y + 2.5), 0.25)
    return d


def test_overlay(folder):
    path = os.path.join(folder, "neighbours.pdf")
    origins = (7.123, 3.0), (93.456, 11.2)
    for error, expected in (((0, 0), 0.0), ((0, -0.05), 0.05), ((0.04, 0), 0.04)):
        rawpdf.write(path, [neighbour(origins[0]), neighbour(origins[1], error)])
        sheets = [imaging.render(path, page, 200, 600) for page in (1, 2)]
        found = [overlay.find_crosses(sheet, (120 - o[0] - 6, 5), (120 - o[0] + 6, 195))
                 for sheet, o in zip(sheets, origins)]
        expect("all crosses are found", [len(f) for f in found] == [3, 3])
        places = [abs(np.array(f) + o - c) for fs, o in zip(found, origins)
                  for f, c in zip(fs, CROSSES)]
        at_most("crosses found", float(np.max(places)), 0.002)
        move, left = overlay.rigid(*found)
        at_most("crosses laid on each other", left, 0.002)
        x = 120 - origins[0][0]
        shift, plain, compared = overlay.disagreement(*sheets, move, (x - 4, 10), (x + 3, 190),
                                                      found[0])
        expect("the lap is compared", plain <= 2 and compared >= 20, f"({plain}, {compared})")
        at_most(f"art that is off by {expected} mm in the lap", abs(shift - expected), 0.004)


def main():
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "page.pdf")
        rawpdf.write(path, [drawing()])
        measure(path, "pdftocairo", 600, 0.003)
        for renderer in ("pdftoppm", "mutool", "ghostscript"):
            measure(path, renderer, 1200, 25.4 / 1200)
        test_overlay(folder)
        boxes = imaging.page_boxes(path)
        at_most("page size", abs(boxes[0]["MediaBox"][2] * 25.4 / 72 - WIDTH), 0.002)
    return checks.finish("measuring tools")


sys.exit(main())
