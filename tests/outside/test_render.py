#!/usr/bin/python3
"""The sheets of the 36 in check course, rendered by four renderers and measured: is every line, arc
and colour where it belongs, do the cells cover the mat, do neighbours agree?

    PAVIOR=build/pavior test_render.py [--long]    (--long: every page by every renderer)"""
import multiprocessing
import os
import random
import subprocess
import sys
import tempfile
from fractions import Fraction

import checks
import imaging
import measure_render as course
import overlay
import structure
from checks import at_most, expect
from plan import Plan

HERE = os.path.dirname(os.path.abspath(__file__))
PAPERS = ["letter", "A4", "A3", "tabloid"]
PIXEL = 25.4 / 1200
SLANTED = PIXEL * 2 ** 0.5
# pdftocairo computes exact coverage, the others paint whole pixels; ghostscript paints each pixel
# that a shape touches (PDF Reference 1.7, 6.5.4), so that both edges of a line move outwards.
# Across a slanted edge a pixel is as wide as its diagonal.
EXACT = 0.005
LIMITS = {
    "pdftocairo": {"line edge": EXACT, "line place": EXACT, "line width": EXACT, "arc edge": EXACT,
                   "arc radius": EXACT, "arc centre": EXACT},
    "pdftoppm": {"line edge": PIXEL, "line place": PIXEL, "line width": PIXEL, "arc edge": SLANTED},
    "mutool": {"line edge": PIXEL, "line place": PIXEL, "line width": PIXEL, "arc edge": SLANTED},
    "ghostscript": {"line edge": PIXEL, "line place": PIXEL, "line width": 2 * PIXEL,
                    "arc edge": SLANTED},
}
LAP = 0.03  # mm, neighbours' art over each other
UNIT = 0.02  # PDF units, a page's box against the paper

def check_cells(paper, plan):
    """Exactly: the cells' areas add up to the mat's, none overlap, all lie in it; so every point of
    the mat lies in some cell."""
    mat = Fraction(course.MAT).limit_denominator(10)
    area, overlapping, outside = Fraction(0), 0, 0
    for i, a in enumerate(plan.sheets):
        left, bottom, right, top = a.cell
        area += (right - left) * (top - bottom)
        outside += not (0 <= left < right <= mat and 0 <= bottom < top <= mat)
        for b in plan.sheets[:i]:
            wide = min(right, b.cell[2]) - max(left, b.cell[0])
            high = min(top, b.cell[3]) - max(bottom, b.cell[1])
            overlapping += wide > 0 and high > 0
    expect(f"{paper}: cells cover the mat exactly",
           area == mat * mat and not overlapping and not outside,
           f"({float(area)} mm2, {overlapping} overlaps)")
    pairs = list(plan.neighbours())
    rows = len({s.row for s in plan.sheets})
    columns = len({s.column for s in plan.sheets})
    expect(f"{paper}: {len(plan.sheets)} sheets in {rows} rows of {columns}, "
           f"{len(pairs)} seams without a gap",
           rows * columns == len(plan.sheets)
           and len(pairs) == rows * (columns - 1) + columns * (rows - 1))
    page = plan.page
    fits = all(s.cell[0] >= s.origin[0] and s.cell[1] >= s.origin[1]
               and s.cell[2] <= s.origin[0] + page[0] and s.cell[3] <= s.origin[1] + page[1]
               for s in plan.sheets)
    expect(f"{paper}: every cell lies on its page", fits)


def check_structure(paper, pdf, plan):
    complaint = structure.sound(pdf)
    expect(f"{paper}: qpdf --check", complaint is None, complaint or "")
    expect(f"{paper}: PrintScaling None", structure.print_scaling(pdf) == "/None")
    labels = structure.page_labels(pdf, len(plan.sheets))
    expect(f"{paper}: page labels", labels == [s.name for s in plan.sheets],
           f"({labels[0]} to {labels[-1]})")
    poppler, mutool = structure.boxes_by_poppler(pdf), structure.boxes_by_mutool(pdf)
    expect(f"{paper}: pages", len(poppler) == len(mutool) == len(plan.sheets), f"({len(poppler)})")
    worst = 0.0
    for sheet, *boxes in zip(plan.sheets, poppler, mutool):
        media = [0, 0, *(float(v) * 72 / 25.4 for v in plan.page)]
        x, y = sheet.origin
        trim = [float(v) * 72 / 25.4 for v in (sheet.cell[0] - x, sheet.cell[1] - y,
                                               sheet.cell[2] - x, sheet.cell[3] - y)]
        for got_media, got_trim in boxes:
            worst = max(worst, *(abs(a - b) for a, b in zip(got_media + got_trim, media + trim)))
    at_most(f"{paper}: MediaBox and TrimBox by poppler and mutool", worst, UNIT, "pt")
    sheet = plan.sheets[-1]
    cell = sheet.cell[2] - sheet.cell[0], sheet.cell[3] - sheet.cell[1]
    sizes = structure.sizes_by_ghostscript(pdf, sheet.page)
    worst = max(abs(got - float(mm) * 72 / 25.4) for size, want in zip(sizes, (plan.page, cell))
                for got, mm in zip(size, want))
    at_most(f"{paper}: page and TrimBox size by ghostscript, one pixel at 600 dpi", worst,
          72 / 600 + UNIT, "pt")


# ---- what runs beside each other ----

def sheet_task(job):
    pdf, plan_path, index, renderer = job
    plan = Plan(plan_path)
    sheet = plan.sheets[index]
    dpi = 600 if renderer == "pdftocairo" else 1200
    raster = imaging.render(pdf, sheet.page, float(plan.page[1]), dpi, renderer)
    worst, points, unclear = course.measure_sheet(raster, sheet)
    seen, wrong = set(), []
    if renderer == "pdftocairo":
        seen, wrong = course.check_colours(raster, sheet, 1)
    return worst, points, unclear, seen, wrong


def pair_task(job):
    pdf, plan_path, one, two, upright = job
    plan = Plan(plan_path)
    a, b = plan.sheets[one], plan.sheets[two]
    rasters = [imaging.render(pdf, s.page, float(plan.page[1]), 600) for s in (a, b)]
    seam = a.cell[2] if upright else a.cell[3]
    found, strips = [], []
    for sheet, raster in zip((a, b), rasters):
        low = (seam, sheet.cell[1]) if upright else (sheet.cell[0], seam)
        high = (seam, sheet.cell[3]) if upright else (sheet.cell[2], seam)
        low, high = sheet.on_sheet(*low), sheet.on_sheet(*high)
        across = (1.5, 0.0) if upright else (0.0, 1.5)
        places = overlay.find_crosses(raster, (low[0] - across[0], low[1] - across[1]),
                                      (high[0] + across[0], high[1] + across[1]))
        # Across the seam they differ by noise alone.
        found.append(sorted(places, key=lambda p: p[1 if upright else 0]))
        strips.append((low, high))
    if len(found[0]) != len(found[1]) or len(found[0]) < 2:
        return a.name, b.name, len(found[0]), len(found[1]), None
    move, left = overlay.rigid(*found)
    along = 1 if upright else 0
    ends = [strips[0][0][along]] + sorted(p[along] for p in found[0]) + [strips[0][1][along]]
    pitch = max(q - p for p, q in zip(ends[1:-1], ends[2:-1]))
    # Both print art from the over sheet's bleed (3 mm) on one side to the under sheet's lap (4 mm)
    # on the other; stay inside of the smaller of them.
    (x0, y0), (x1, y1) = strips[0]
    low = (x0 - 2.8, y0 + 0.5) if upright else (x0 + 0.5, y0 - 2.8)
    high = (x1 + 2.8, y1 - 0.5) if upright else (x1 - 0.5, y1 + 2.8)
    return (a.name, b.name, len(found[0]), len(found[1]),
            (left, pitch) + overlay.disagreement(*rasters, move, low, high, found[0]))


def ends_task(job):
    """Where lines end at the mat's edge; in parts at 4800 dpi, for where a fill and its clip end in
    one place their coverages multiply, which moves the edge by up to a quarter of a pixel."""
    pdf, plan_path, index = job
    plan = Plan(plan_path)
    sheet = plan.sheets[index]
    errors = []
    for name, at, angle in course.line_ends(sheet):
        place = sheet.on_sheet(*at)
        part = imaging.render_part(pdf, sheet.page, float(plan.page[1]), 4800, place, 1.6)
        offsets, codes = imaging.profile(part, place, angle, 2 * course.REACH, 1.5)
        found = imaging.edge(offsets, codes, 0, course.REACH)
        errors.append((plan_path, name, float("inf") if found is None else abs(found)))
    return errors


def check_ends(made, pool):
    jobs = [(pdf, path, i) for pdf, path, plan in made.values() for i in range(len(plan.sheets))]
    errors = sum(pool.map(ends_task, jobs, chunksize=1), [])
    ends = {(path, name) for path, name, _ in errors}
    expect("all ends of lines were measured", len(ends) == 12 * len(made), f"({len(ends)})")
    at_most("lines end at the mat's edge", max(e[2] for e in errors), EXACT)


def render_jobs(made, everything, rng):
    for paper, (pdf, path, plan) in made.items():
        n = len(plan.sheets)
        for renderer in LIMITS:
            exact = renderer == "pdftocairo"
            chosen = range(n) if everything or (exact and paper == "A4") else sorted(
                rng.sample(range(n), min(n, 4 if exact else 1)))
            for index in chosen:
                yield paper, renderer, (pdf, path, index, renderer)


def check_renders(made, everything, pool, rng):
    jobs = list(render_jobs(made, everything, rng))
    results = pool.map(sheet_task, [job for _, _, job in jobs], chunksize=1)
    for renderer, limits in LIMITS.items():
        worst, squares, wrong, rough, pages = course.Worst(), set(), [], [], 0
        arcs = {}
        for (paper, by, _), (w, points, unclear, seen, off) in zip(jobs, results):
            if by != renderer:
                continue
            pages += 1
            worst.merge(w)
            squares |= seen
            wrong += off
            rough += unclear
            for name, found in points.items():
                arcs.setdefault((paper, name), []).extend(found)
        if renderer == "pdftocairo":
            fit_arcs(arcs, worst)
            expect("colours of the sixteen squares", len(squares) == 16 and not wrong,
                   f"({len(squares)} squares) " + "; ".join(wrong[:3]))
            unseen = [f"{way}-{i}" for way in ("north", "east") for i in (1, 2, 3)
                      if not worst.counts.get(f"edges {way}-{i}")]
            expect("every line was measured", not unseen, " ".join(unseen))
        expect(f"{renderer}: all edges plain", not rough,
               f"({pages} pages, {worst.counts.get('line edge', 0)} edges of lines, "
               f"{worst.counts.get('arc edge', 0)} of arcs) {' '.join(rough[:4])}")
        for what, limit in limits.items():
            if what not in worst.values:
                expect(f"{renderer}: {what} was measured", False)
            else:
                at_most(f"{renderer}: {what}", worst.values[what], limit)


def fit_arcs(arcs, worst):
    """Radius and centre of arcs of which more than 60 degrees were seen on a paper's sheets."""
    for (_, name), points in arcs.items():
        if len(points) < 120:
            continue
        centre, radius = imaging.circle(points)
        worst.add("arc radius", radius - course.RADIUS)
        worst.add("arc centre", max(abs(centre - course.ARCS[name][0])))


def check_laps(made, everything, pool, rng):
    jobs = []
    for paper, (pdf, path, plan) in made.items():
        pairs = list(plan.neighbours())
        for upright in (True, False):
            some = [p for p in pairs if p[2] == upright]
            some = some if everything else rng.sample(some, min(len(some), 2))
            jobs += [(pdf, path, a.page - 1, b.page - 1, up) for a, b, up in some]
    left, pitch, shift, plain, compared, fewest = 0.0, 0.0, 0.0, 0.0, 0.0, 99
    for one, two, n, m, result in pool.map(pair_task, jobs, chunksize=1):
        if result is None:
            expect(f"crosses of {one} and {two}", False, f"({n} and {m} found)")
            continue
        fewest = min(fewest, n)
        left, pitch, shift = max(left, result[0]), max(pitch, result[1]), max(shift, result[2])
        plain, compared = max(plain, result[3]), compared + result[4]
    print(f"  {len(jobs)} seams with {fewest} crosses or more, {compared:.0f} mm of edges compared")
    expect("laps hold edges to compare", compared > 30)
    at_most("crosses of two sheets on each other", left, 0.01)
    at_most("crosses of a seam, farthest apart", pitch, 80.0)
    at_most("neighbours' art in the lap", shift, LAP)
    at_most("neighbours' colours in the lap", plain, 2, "codes")


def main():
    everything = "--long" in sys.argv[1:]
    rng = random.Random(36)
    with tempfile.TemporaryDirectory() as folder, multiprocessing.Pool(2) as pool:
        made = {}
        for paper in PAPERS:
            pdf = os.path.join(folder, paper + ".pdf")
            subprocess.run([os.environ["PAVIOR"], "sheets", "--no-guide", os.path.join(HERE, "check36.course"),
                            "--paper", paper, "-q", "-o", pdf], check=True)
            path = os.path.join(folder, paper + ".plan.json")
            made[paper] = pdf, path, Plan(path)
            check_cells(paper, made[paper][2])
            check_structure(paper, pdf, made[paper][2])
        check_renders(made, everything, pool, rng)
        check_ends(made, pool)
        check_laps(made, everything, pool, rng)
    return checks.finish("rendered sheets")


if __name__ == "__main__":
    sys.exit(main())
