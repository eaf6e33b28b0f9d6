"""The 36 in check course, written down here a second time, and measured in rendered sheets.

36 in square, three lines each way 2 cm wide and 9 in apart, sixteen squares, quarter arcs of 9 in
from a crossing's centre to the arc's centre line: dimensions that are common practice in the trade,
with no published source."""
import math
import os
import re

import numpy as np

import imaging

INCH = 25.4
MAT = 36 * INCH
WIDTH = 20.0
LINES_AT = [9 * INCH, 18 * INCH, 27 * INCH]
RADIUS = 9 * INCH
# Quarter arcs: centre (mm) and the angle at which they begin (degrees, counter-clockwise).
ARCS = {"south_west": ((9 * INCH, 9 * INCH), 0), "south_east": ((27 * INCH, 9 * INCH), 90),
        "north_east": ((27 * INCH, 27 * INCH), 180), "north_west": ((9 * INCH, 27 * INCH), 270)}
WHITE = (255, 255, 255)
# What stands in squares beside lines: two texts and the start mark, as boxes.
CLUTTER = [(240, 740, 450, 830), (60, 20, 170, 60), (80, 80, 160, 150)]

REACH = 0.6  # mm on both sides of an edge over which coverage is summed
BAND = 1.5  # mm of a line that one station averages
# How far, in mm, an edge must lie inside a cell, along the line and across it: crosses reach 2.5 mm
# into the cell, but none lies where a line's edge is nearer than that.
ALONG, ACROSS = 4.0, 1.0


def colour_codes():
    """What the course's colours are called and what they are: its statements, read by their look
    alone."""
    path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "check36.course")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    codes = {name: tuple(int(c) for c in rgb.split(","))
             for name, rgb in re.findall(r"^colour (\w+) = rgb\(([\d, ]+)\)", text, re.M)}
    codes.update((name, (int(gray),) * 3)
                 for name, gray in re.findall(r"^colour (\w+) = grey\((\d+)\)", text, re.M))
    return codes


def colour_at(x, y, codes):
    """What a point off lines, texts and marks is painted; mat mm."""
    square = int(x // (9 * INCH)), int(y // (9 * INCH))
    if square == (1, 1) and math.hypot(x - 9 * INCH, y - 9 * INCH) < RADIUS:
        return codes["buoy"]
    name = {(0, 1): "harbour", (2, 3): "slate", (3, 3): "slate"}.get(square)
    return codes[name] if name else WHITE


def off_lines(x, y, distance):
    """Is a point so far from every straight line's and arc's paint?"""
    far = distance + WIDTH / 2
    return (all(abs(x - at) > far and abs(y - at) > far for at in LINES_AT)
            and off_arcs(x, y, distance))


def off_arcs(x, y, distance):
    return all(abs(math.hypot(x - cx, y - cy) - RADIUS) > distance + WIDTH / 2
               for (cx, cy), _ in ARCS.values())


class Worst:
    """Largest errors and how many there were, by what they are errors of."""

    def __init__(self):
        self.values, self.counts = {}, {}

    def add(self, what, error, count=1):
        self.values[what] = max(self.values.get(what, 0.0), abs(float(error)))
        self.counts[what] = self.counts.get(what, 0) + count

    def merge(self, other):
        for what, value in other.values.items():
            self.add(what, value, other.counts[what])


def line_stations(sheet):
    """Places where a straight line is crossed: name, point, angle of crossing, and for its lower
    and its upper edge whether this sheet's cell shows it."""
    for i, at in enumerate(LINES_AT, 1):
        for s in np.arange(6.0, MAT, 12.0):
            if any(abs(s - other) < WIDTH / 2 + 4 for other in LINES_AT):
                continue
            for name, x, y, upright in ((f"north-{i}", at, s, True), (f"east-{i}", s, at, False)):
                if not off_arcs(x, y, WIDTH / 2):
                    continue
                half = WIDTH / 2
                shown = [sheet.holds(x + side * half, y, ACROSS, ALONG) if upright else
                         sheet.holds(x, y + side * half, ALONG, ACROSS) for side in (-1, 1)]
                if any(shown):
                    yield name, (x, y), 0.0 if upright else math.pi / 2, shown


def arc_stations(sheet):
    """The same for arcs, along rays from their centres."""
    for name, ((cx, cy), start) in ARCS.items():
        for a in np.radians(start + np.arange(1, 90, 0.5)):
            x, y = cx + RADIUS * math.cos(a), cy + RADIUS * math.sin(a)
            if any(min(abs(x - at), abs(y - at)) < WIDTH + 3 for at in LINES_AT):
                continue
            shown = []
            for side in (-1, 1):
                r = RADIUS + side * WIDTH / 2
                shown.append(sheet.holds(cx + r * math.cos(a), cy + r * math.sin(a), ALONG))
            if any(shown):
                yield name, (x, y), a, shown


def crossed(raster, sheet, at, angle, shown, band):
    """Errors of a line's lower and upper edge (mm, None where not shown); None where one that is
    shown isn't plain."""
    offsets, codes = imaging.profile(raster, sheet.on_sheet(*at), angle, WIDTH / 2 + 2 * REACH,
                                     band)
    errors = []
    for side, wanted in zip((-1, 1), shown):
        place = imaging.edge(offsets, codes, side * WIDTH / 2, REACH) if wanted else None
        if wanted and place is None:
            return None
        errors.append(place - side * WIDTH / 2 if wanted else None)
    return errors


def measure_sheet(raster, sheet):
    """All edges of lines and arcs on a sheet's cell. Returns the worst errors (mm), for each arc
    the points of its centre line that its edges give (mat mm), and the stations that aren't
    plain."""
    worst, points, rough = Worst(), {}, []
    for name, at, angle, shown in line_stations(sheet):
        errors = crossed(raster, sheet, at, angle, shown, BAND)
        if errors is None:
            rough.append(f"{sheet.name} {name} ({at[0]:.0f}, {at[1]:.0f})")
            continue
        for error in errors:
            if error is not None:
                worst.add("line edge", error)
                worst.add(f"edges {name}", error)
        if all(shown):
            worst.add("line place", (errors[0] + errors[1]) / 2)
            worst.add("line width", errors[1] - errors[0])
    for name, at, angle, shown in arc_stations(sheet):
        errors = crossed(raster, sheet, at, angle, shown, 0.4)
        if errors is None:
            rough.append(f"{sheet.name} {name} ({at[0]:.0f}, {at[1]:.0f})")
            continue
        for error in errors:
            if error is not None:
                worst.add("arc edge", error)
                x, y = at[0] + error * math.cos(angle), at[1] + error * math.sin(angle)
                points.setdefault(name, []).append((x, y))
    return worst, points, rough


def line_ends(sheet):
    """Where lines end at the mat's edge: name, point, and the angle in which they end. The point
    lies to one side of the line's middle, where a seam may run."""
    for i, at in enumerate(LINES_AT, 1):
        for beside in (at - 5, at + 5):
            for name, x, y, angle in (("south", beside, 0.0, -math.pi / 2),
                                      ("north", beside, MAT, math.pi / 2),
                                      ("west", 0.0, beside, math.pi), ("east", MAT, beside, 0.0)):
                on_edge = -1e-6  # the mat's edge is the cell's
                insets = (2, on_edge) if name in ("south", "north") else (on_edge, 2)
                if sheet.holds(x, y, *insets):
                    yield f"{name} {i}", (x, y), angle


def check_colours(raster, sheet, tolerance):
    """Spots in all squares: the squares seen, and descriptions of those of a wrong colour."""
    seen, wrong, codes = set(), [], colour_codes()
    for x in np.arange(10, MAT, 16.7):
        for y in np.arange(10, MAT, 16.7):
            if (not sheet.holds(x, y, ALONG) or not off_lines(x, y, 2)
                    or any(a <= x <= c and b <= y <= d for a, b, c, d in CLUTTER)):
                continue
            got, want = raster.at(*sheet.on_sheet(x, y)), colour_at(x, y, codes)
            seen.add((int(x // (9 * INCH)), int(y // (9 * INCH))))
            if max(abs(got - want)) > tolerance:
                wrong.append(f"{sheet.name} at ({x:.1f}, {y:.1f}): {tuple(got)}, not {want}")
    return seen, wrong
