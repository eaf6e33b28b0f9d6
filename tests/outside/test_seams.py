"""Where the seams lie, measured from the plan's JSON alone: metres of seam within 5 mm of a parallel
edge of a line, metres along a line in all (on its paint, or that close to its edge), and seams
through marks; for evenly spaced seams and for the planner's. Nothing is shared with the program:
lines are sampled as points with a direction, and a millimetre of seam counts where such a point is
close to it.

  test_seams.py          the table (docs/how/seams.md shows it), and what must hold
  test_seams.py --mixed  what sheets of both orientations in one mat would save
"""
import itertools
import math
import os
import pathlib
import subprocess
import sys
import tempfile

import numpy

from plan import Plan

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
COURSES = ["tests/outside/check36.course", "layouts/quayside.course", "layouts/breakwater.course",
           "layouts/pierhead.course"]
PAPERS = ["letter", "A4", "legal", "tabloid", "A3", "A2", "A1", "A0"]
MARGINS = ["3mm", "5mm", "10mm", "15mm"]
SHOWN = "5mm"
LABEL = 4.0  # mm, the strip for a seam's label on an over side
ROOM = 20.0  # mm of slack in a direction: its seams can move
NEAR = 5.0  # mm
ALONG = math.radians(10)
STEP = 0.25  # mm between samples of an edge


def offsets(piece, width, sides):
    """Points along a piece, beside it by shares of its width: x, y, direction, as arrays."""
    ax, ay, bx, by = (float(v) for v in piece[:4])
    if len(piece) == 4:
        length = math.hypot(bx - ax, by - ay)
        if length == 0:
            return
        n = max(2, int(length / STEP))
        share = (numpy.arange(n) + 0.5) / n
        direction = math.atan2(by - ay, bx - ax)
        for side in sides:
            yield (ax + share * (bx - ax) - side * width * math.sin(direction),
                   ay + share * (by - ay) + side * width * math.cos(direction),
                   numpy.full(n, direction))
        return
    cx, cy, r, start, sweep = (float(v) for v in piece[4:])
    for side in sides:
        radius = max(r + side * width, 0)
        n = max(2, int(radius * abs(sweep) / STEP))
        angle = start + sweep * (numpy.arange(n) + 0.5) / n
        yield cx + radius * numpy.cos(angle), cy + radius * numpy.sin(angle), angle + math.pi / 2


def samples_of(art, lines):
    """Columns x, y, direction, reach: of the edges of all lines, or of the lines' own paint."""
    parts = [numpy.zeros((4, 0))]
    for line in art["lines"]:
        width = float(line["width"])
        for piece in line["pieces"]:
            for points in offsets(piece, width, (0,) if lines else (-0.5, 0.5)):
                reach = numpy.full(len(points[0]), width / 2 if lines else NEAR)
                parts.append(numpy.stack((*points, reach)))
    return numpy.concatenate(parts, axis=1)


def along(samples, vertical, at, length):
    """Where one seam is close to something that runs along it: a set of millimetres."""
    x, y, direction, reach = samples
    off, place = (x, y) if vertical else (y, x)
    turn = direction - (math.pi / 2 if vertical else 0)
    turn = numpy.abs((turn + math.pi / 2) % math.pi - math.pi / 2)
    close = (numpy.abs(off - at) < reach) & (turn <= ALONG) & (place >= 0) & (place < length)
    return set(numpy.floor(place[close]))


def through(art, vertical, at):
    """Marks whose box a seam goes through."""
    n = 0
    for mark in art["marks"]:
        values = [float(v) for ring in mark["rings"] for v in ring[0 if vertical else 1::2]]
        n += min(values) < at < max(values)
    return n


def seams_of(plan, even):
    width, height = (float(v) for v in plan.data["art"]["size"])
    columns, rows = int(plan.data["columns"]), int(plan.data["rows"])
    if even:
        return ([(True, width * k / columns) for k in range(1, columns)] +
                [(False, height * k / rows) for k in range(1, rows)])
    return ([(True, float(s.cell[2])) for s in plan.sheets[:columns - 1]] +
            [(False, float(s.cell[3])) for s in plan.sheets[columns::columns]])


def slack(plan, vertical):
    """mm that all cells of the direction together could be larger."""
    side = 0 if vertical else 1
    margin = [float(v) for v in plan.data["margin"]]
    around = sum(float(plan.data[key]) for key in ("bleed", "lap_art", "service")) + LABEL
    most = float(plan.page[side]) - margin[side] - margin[side + 2] - around
    return most * int(plan.data["columns" if vertical else "rows"]) - \
        float(plan.data["art"]["size"][side])


def measure(plan, edges, lines, even, least=-1):
    """Metres along edges, metres along lines in all, seams through marks; of the seams in directions
    that have so much slack at least."""
    art = plan.data["art"]
    width, height = (float(v) for v in art["size"])
    found = numpy.zeros(3)
    for vertical, at in seams_of(plan, even):
        if slack(plan, vertical) < least:
            continue
        length = height if vertical else width
        close = along(edges, vertical, at, length)
        found += (len(close) / 1000, len(close | along(lines, vertical, at, length)) / 1000,
                  through(art, vertical, at))
    return found


def row(name, paper, sheets, even, planned):
    cells = [f"{e:.2f} | {p:.2f}" for e, p in zip(even[:2], planned[:2])]
    print(f"| {name} | {paper} | {sheets} | {' | '.join(cells)} | {even[2]:.0f} | {planned[2]:.0f} |")


def table():
    print("| course | paper | sheets | m along edges: even | planned | m along lines: even | planned |"
          " through marks: even | planned |")
    print("|---|---|---|---|---|---|---|---|---|")
    total, roomy = ([numpy.zeros(3), numpy.zeros(3)] for _ in range(2))
    plans = sheets = 0
    samples = {}  # of each course, on whatever paper
    with tempfile.TemporaryDirectory() as folder:
        pdf = os.path.join(folder, "x.pdf")
        for course, paper, margin in itertools.product(COURSES, PAPERS, MARGINS):
            # A reprint (--range) must fit the plan that lies there.
            for made in ("x.plan.json", "x.pdf"):
                pathlib.Path(folder, made).unlink(missing_ok=True)
            subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", paper, "--margin", margin,
                            "-o", pdf, "--range", "A1", "--quiet"], check=True, stderr=subprocess.DEVNULL)
            plan = Plan(os.path.join(folder, "x.plan.json"))
            if len(plan.sheets) == 1:
                continue
            if course not in samples:
                samples[course] = [samples_of(plan.data["art"], which) for which in (False, True)]
            edges, lines = samples[course]
            both = [measure(plan, edges, lines, even) for even in (True, False)]
            for i in range(2):
                total[i] += both[i]
                roomy[i] += measure(plan, edges, lines, i == 0, ROOM)
            plans += 1
            sheets += len(plan.sheets)
            if margin == SHOWN:
                name = os.path.splitext(os.path.basename(course))[0]
                row(name, paper, len(plan.sheets), *both)
    row(f"all {plans} plans", "margins of 3, 5, 10, 15 mm", sheets, *total)
    row("those seams that have 20 mm of slack", "", "", *roomy)
    return total, roomy


# ---- both orientations in one mat ----

def fewest(width, height, a, b):
    """Sheets that show a by b or, turned, b by a: with one orientation, and by rows of either."""
    columns = {False: math.ceil(width / a - 1e-9), True: math.ceil(width / b - 1e-9)}
    upright = columns[False] * math.ceil(height / b - 1e-9)
    turned = columns[True] * math.ceil(height / a - 1e-9)
    best = min(upright, turned)
    for n in range(math.ceil(height / b - 1e-9) + 1):
        rest = max(math.ceil((height - n * b) / a - 1e-9), 0)
        best = min(best, n * columns[False] + rest * columns[True])
    return min(upright, turned), best


def mixed():
    papers = {"A4": (177, 264), "letter": (182.9, 246.4), "A3": (264, 387), "tabloid": (246.4, 398.8)}
    dice = numpy.random.default_rng(1)
    print("| paper | mats where rows of both kinds save sheets | sheets saved over all |")
    print("|---|---|---|")
    for name, (a, b) in papers.items():
        saves = one = both = 0
        for width, height in dice.uniform(600, 3000, (5000, 2)):
            plain, mix = fewest(width, height, a, b)
            plain_up, mix_up = fewest(height, width, a, b)
            saves += min(mix, mix_up) < min(plain, plain_up)
            one += min(plain, plain_up)
            both += min(mix, mix_up)
        print(f"| {name} | {saves / 50:.0f} % | {100 * (1 - both / one):.1f} % |")
    for name, (a, b) in papers.items():
        print(f"check course on {name}:", "%d sheets, %d with both" % fewest(914.4, 914.4, a, b))


def main():
    if sys.argv[1:] == ["--mixed"]:
        mixed()
        return 0
    total, roomy = table()
    for name, (even, planned) in (("all seams", total), ("seams with slack", roomy)):
        for what, before, after in zip(("m along edges", "m along lines", "through marks"), even,
                                       planned):
            print(f"{name}, {what}: {before:.2f} to {after:.2f}, "
                  f"{before / max(after, 1e-9):.1f} times less")
    even, planned = total
    good = even[1] >= 10 * planned[1] and planned[0] <= even[0] and planned[2] <= even[2]
    print("seams: at least ten times less along lines" if good else "seams: FAILED")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
