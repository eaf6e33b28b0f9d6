#!/usr/bin/python3
"""Neighbouring sheets, rendered, cut by their own marks, laid by their own crosses, against the mat in
one piece: is there a seam to be seen? And round corners, where four sheets lie on each other in the
order of taping: does anything show that should be beneath or cut away?

Nothing is masked. Crosses stay in the finished mat by design, half of each on either side of the seam;
the mat in one piece has none. The mean difference to that counts them in full. The 5 mm windows, which
one cross would fill, are compared to it with crosses painted by this test where the plan has them: a
cross whose halves don't meet is a difference there.

    PAVIOR=build/pavior test_laid.py [--long] [--pictures FOLDER]"""
import argparse
import multiprocessing
import os
import subprocess
import sys
import tempfile

import cv2
import numpy as np

import checks
import laying
import overlay
from checks import above, at_most
from plan import Plan

HERE = os.path.dirname(os.path.abspath(__file__))
LAYOUTS = os.path.join(HERE, "..", "..", "layouts")
COURSES = {  # and the paper that takes each in one piece
    "check36": (os.path.join(HERE, "check36.course"), "1000x1000mm"),
    "quayside": (os.path.join(LAYOUTS, "quayside.course"), "1300x1000mm"),
    "breakwater": (os.path.join(LAYOUTS, "breakwater.course"), "3500x1650mm"),
    "pierhead": (os.path.join(LAYOUTS, "pierhead.course"), "350x300mm"),
}
# Course, paper, joint, renderer.
QUICK = [("check36", "A4", "lap", "pdftocairo"), ("quayside", "letter", "lap", "pdftocairo"),
         ("quayside", "A3", "butt", "pdftocairo"), ("breakwater", "A3", "lap", "pdftocairo"),
         ("pierhead", "A6", "lap", "pdftocairo")]
LONG = [(course, paper, joint, "pdftocairo") for course, papers in
        (("check36", ("A4", "letter", "A3")), ("quayside", ("A4", "letter", "A3")),
         ("breakwater", ("A4", "A3")), ("pierhead", ("A6", "A5")))
        for paper in papers for joint in ("lap", "butt")]
LONG += [(course, paper, joint, "ghostscript") for course, paper, joint in
         (("check36", "A4", "lap"), ("quayside", "A3", "butt"), ("breakwater", "A3", "lap"),
          ("pierhead", "A5", "butt"))]
MANY = 4  # seams of each direction, and corners, of a case in the long run; one in the quick one
# dpi of the renders; they are compared at half of that. Seams above a bar at the first are looked at
# again at the next: renderers place letters on whole pixels, so that those of two pages lie up to
# half a pixel apart, which is less with smaller pixels. A fault of the sheets is not. The last is for
# short seams, whose pictures are not too large.
RESOLUTIONS = 600, 1200, 2400
BAND = 10.0  # mm to both sides of a seam
NEAR = 0.5  # mm to both sides: a gap or a ridge of colour shows here
WINDOW = 5.0  # mm along the seam
CORNER = 20.0  # mm about a corner of four sheets: more than any lap and service strip
TABLE = 128.0  # what one sees through a gap
AMISS = 0.3  # mm, the error that must be noticed
TRUE = 0.01  # mm: crosses on each other, and a cut through them
BAR = 1.0  # code
BAR_NEAR = 3.0  # codes, a gap of 0.024 mm in white: the edges of crosses, resampled, take most of it
SHORT = 120.0  # mm: on shorter seams two crosses alone are a mean of one code

# ---- laying ----

def cut_sides(data, sheet):
    """Sides that are cut: outer ones, those where it lies over, in a butt joint all."""
    sides = {laying.LEFT, laying.BOTTOM, laying.RIGHT, laying.TOP}
    for seam in data["seams"]:
        if data["joint"] == "butt" or seam["under"] != sheet.name:
            continue
        low, high = (laying.LEFT, laying.RIGHT) if seam["vertical"] else (laying.BOTTOM, laying.TOP)
        sides.discard(low if float(sheet.cell[low]) == seam["at"] else high)
    return sorted(sides)


def lay(prints, data, seams):
    """Prints (by name) laid in the order of taping: the first, and any that touches none of those that
    lie, by its crosses' places in the plan, each other by the crosses that it shares with those that
    lie. Returns what is laid, in that order, and the largest distance of two crosses."""
    laid, worst = {}, 0.0
    for name in (n for n in data["taping"] if n in prints):
        by_plan, by_laid = ([], []), ([], [])
        for seam in seams:
            if name not in (seam["over"], seam["under"]):
                continue
            found = prints[name].crosses(seam)
            planned = sorted(c["at"] for c in seam["crosses"])
            if len(found) != len(planned):
                raise ValueError(f"{name}: {len(found)} crosses found, not {len(planned)}")
            other = seam["over"] if seam["under"] == name else seam["under"]
            by_plan[0].extend(planned)
            by_plan[1].extend(found)
            if other in laid:
                by_laid[0].extend(laying.moved(laid[other].move, prints[other].crosses(seam)))
                by_laid[1].extend(found)
        move, left = overlay.rigid(*(by_laid if by_laid[0] else by_plan))
        worst = max(worst, left)
        laid[name] = laying.Laid(prints[name], move, cut_sides(data, prints[name].sheet))
    return list(laid.values()), worst


def see(laid, low, high):
    fine = laid[0].print.dpi / 25.4
    picture = laying.composed(laid, low, high, fine, TABLE)
    return cv2.resize(picture, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)


def with_crosses(picture, seams, low, high, k, renderer):
    """Paints the seams' crosses where the plan has them, coverage exact. Ghostscript paints whatever
    of its 4 x 4 places a pixel a shape touches (test_render.py), half of one more on every side."""
    picture = picture.copy()
    more = 1 / (8 * 2 * k) if renderer == "ghostscript" else 0.0  # renders are twice as fine
    weight, arm = overlay.WEIGHT / 2 + more, overlay.ARM + more
    m, n = picture.shape[:2]
    x = low[0] + (np.arange(n) + 0.5) / k
    y = high[1] - (np.arange(m) + 0.5) / k

    def cover(at, middle, half):
        return np.clip((half - abs(at - middle)) * k + 0.5, 0, 1).clip(max=2 * half * k)
    for seam in seams:
        for cross in seam["crosses"]:
            cx, cy = cross["at"]
            if not (low[0] - 3 < cx < high[0] + 3 and low[1] - 3 < cy < high[1] + 3):
                continue
            share = np.maximum(
                np.outer(cover(y, cy, weight), cover(x, cx, arm)),
                np.outer(cover(y, cy, arm), cover(x, cx, weight)))[:, :, None]
            picture += share * ((255.0 if cross["light"] else 0.0) - picture)
    return picture


# ---- measuring ----

def unlike(one, two):
    """Absolute difference of codes, of the channel where it is largest."""
    return np.abs(np.clip(one, 0, 255) - np.clip(two, 0, 255)).max(axis=2)


def figures(seen, whole, crossed, upright, k):
    """Of a band along a seam, in codes: the mean difference to the mat in one piece; to that with
    crosses painted; of the latter the largest mean of 5 mm along the seam, in the band and near."""
    bare, off = unlike(seen, whole), unlike(seen, crossed)
    if not upright:
        bare, off = bare.T, off.T  # now the seam runs down the picture
    middle, near = off.shape[1] // 2, int(round(NEAR * k))

    def worst(part):
        rows = part.mean(axis=1)
        length = int(round(WINDOW * k))
        sums = np.concatenate([[0], np.cumsum(rows)])
        return float((sums[length:] - sums[:-length]).max() / length)
    return {"mean": float(bare.mean()), "drawn": float(off.mean()), "window": worst(off),
            "near": worst(off[:, middle - near:middle + near])}


def edges_across(whole, upright):
    """Does an edge of strong contrast cross the seam?"""
    gray = np.clip(whole, 0, 255).mean(axis=2)
    line = gray[:, gray.shape[1] // 2] if upright else gray[gray.shape[0] // 2]
    return bool(np.abs(line[6:] - line[:-6]).max() > 100)


# ---- jobs ----

def opened(made, dpi):
    plan, whole_plan = Plan(made["plan"]), Plan(made["whole_plan"])
    whole = laying.Print(made["whole"], whole_plan, whole_plan.sheets[0], dpi, made["renderer"])
    if dpi == RESOLUTIONS[0]:
        whole.cut_lines = made["whole_cuts"]
    return plan, plain(plan.data), whole


def plain(value):
    """Fractions as floats."""
    if isinstance(value, dict):
        return {k: plain(v) for k, v in value.items()}
    if isinstance(value, list):
        return [plain(v) for v in value]
    return float(value) if hasattr(value, "numerator") and not isinstance(value, bool) else value


def one_piece(whole, low, high):
    move, left = laying.on_mat_of_one_piece(whole)
    return see([laying.Laid(whole, move, range(4))], low, high), left


def save(folder, name, pictures):
    if folder is None:
        return
    tall = pictures[0].shape[0] > pictures[0].shape[1]
    rule = np.full_like(pictures[0][:, :8] if tall else pictures[0][:8], 255)
    rule[..., 1:] = 0
    parts = [pictures[0]] + [p for q in pictures[1:] for p in (rule, q)]
    joined = np.concatenate(parts, axis=1 if tall else 0)
    cv2.imwrite(os.path.join(folder, name + ".png"), np.clip(joined, 0, 255)[:, :, ::-1])


def seam_task(job):
    for dpi in RESOLUTIONS:
        result = seam_seen(*job, dpi)
        fine = result["window"] <= BAR and result["near"] <= BAR_NEAR
        if fine or (dpi == RESOLUTIONS[1] and result["length"] > SHORT):
            break
    return result


def seam_seen(made, index, folder, dpi):
    plan, data, whole = opened(made, dpi)
    seam, k = data["seams"][index], dpi / 25.4 / 2
    upright = seam["vertical"]
    prints = {s.name: laying.Print(made["pdf"], plan, s, dpi, made["renderer"]) for s in plan.sheets
              if s.name in (seam["over"], seam["under"])}
    inset = 0.1  # off the mat's edge, where the last pixel is half table
    low, high = (seam["at"] - BAND, seam["from"] + inset), (seam["at"] + BAND, seam["to"] - inset)
    if not upright:
        low, high = low[::-1], high[::-1]
    bare, missed = one_piece(whole, low, high)
    crossed = with_crosses(bare, data["seams"], low, high, k, made["renderer"])
    laid, left = lay(prints, data, [seam])
    seen = see(laid, low, high)
    label = f"{made['label']} {seam['over']}-{seam['under']}"
    save(folder, label.replace(" ", "-"), [seen, bare, 4 * np.abs(seen - crossed)])

    def amiss(*shift):
        shift = np.array(shift if upright else shift[::-1])
        off = see([laid[0], laid[1].off_by(shift)], low, high)
        return figures(off, bare, crossed, upright, k)
    return {"label": label, "dpi": dpi, "length": seam["to"] - seam["from"], "left": left,
            "missed": missed, "cut": max(off_crosses(p, seam, upright) for p in laid),
            **figures(seen, bare, crossed, upright, k), "across": amiss(AMISS, 0),
            "along": amiss(0, AMISS) if edges_across(bare, upright) else None}


def off_crosses(laid, seam, upright):
    """How far a sheet's cut runs beside the crosses' centres on it, mm; 0 where it isn't cut there."""
    worst = 0.0
    for a, inward in laid.cuts:
        if abs(inward[0 if upright else 1]) < 0.7 or abs(a[0 if upright else 1] - seam["at"]) > 2:
            continue
        for cross in laying.moved(laid.move, laid.print.crosses(seam)):
            worst = max(worst, abs((cross - a) @ inward))
    return worst


def corner_task(job):
    for dpi in RESOLUTIONS:
        result = corner_seen(*job, dpi)
        if result["window"] <= BAR:
            break
    return result


def corner_seen(made, corner, folder, dpi):
    plan, data, whole = opened(made, dpi)
    k = dpi / 25.4 / 2
    prints = {s.name: laying.Print(made["pdf"], plan, s, dpi, made["renderer"]) for s in plan.sheets
              if corner[0] in (float(s.cell[0]), float(s.cell[2]))
              and corner[1] in (float(s.cell[1]), float(s.cell[3]))}
    seams = [s for s in data["seams"] if s["over"] in prints and s["under"] in prints]
    low, high = [c - CORNER for c in corner], [c + CORNER for c in corner]
    bare, _ = one_piece(whole, low, high)
    crossed = with_crosses(bare, data["seams"], low, high, k, made["renderer"])
    laid, _ = lay(prints, data, seams)
    seen = see(laid, low, high)
    label = f"{made['label']} corner {'-'.join(sorted(prints))}"
    save(folder, label.replace(" ", "-"), [seen, bare, 4 * np.abs(seen - crossed)])
    size = int(round(WINDOW * k))

    def worst(picture):
        return float(cv2.blur(unlike(picture, crossed), (size, size)).max())
    backwards = None if data["joint"] == "butt" else worst(see(laid[::-1], low, high))
    return {"label": label, "dpi": dpi, "mean": float(unlike(seen, bare).mean()),
            "window": worst(seen), "backwards": backwards}


# ---- cases ----

def make(folder, course, paper, joint, renderer):
    path, large = COURSES[course]
    label = f"{course} {paper} {joint}" + (" gs" if renderer == "ghostscript" else "")
    out = os.path.join(folder, label.replace(" ", "-"))
    whole = os.path.join(folder, course + "-whole")
    for target, options in ((out, ["--paper", paper, "--joint", joint]),
                            (whole, ["--paper", large])):
        if not os.path.exists(target + ".pdf"):
            subprocess.run([os.environ["PAVIOR"], "sheets", "--no-guide", path, "-q", "-o", target + ".pdf"]
                           + options, check=True)
    plan = Plan(whole + ".plan.json")
    piece = laying.Print(whole + ".pdf", plan, plan.sheets[0], RESOLUTIONS[0], renderer)
    return {"label": label, "renderer": renderer, "pdf": out + ".pdf", "plan": out + ".plan.json",
            "whole": whole + ".pdf", "whole_plan": whole + ".plan.json",
            "whole_cuts": {side: piece.cut_line(side) for side in range(4)}}


def spread(items, count):
    """So many of them, from all over."""
    if len(items) <= count:
        return list(items)
    return [items[int((i + 0.5) * len(items) / count)] for i in range(count)]


def jobs_of(folder, everything, pictures):
    seams, corners = [], []
    count = MANY if everything else 1
    for case in LONG if everything else QUICK:
        made = make(folder, *case)
        data = plain(Plan(made["plan"]).data)
        for upright in (True, False):
            some = [i for i, s in enumerate(data["seams"]) if s["vertical"] == upright]
            seams += [(made, i, pictures) for i in spread(some, count)]
        columns = sorted({s["cell"][0] for s in data["sheets"]} - {0.0})
        rows = sorted({s["cell"][1] for s in data["sheets"]} - {0.0})
        corners += [(made, c, pictures)
                    for c in spread([(x, y) for x in columns for y in rows], count)]
    return seams, corners


def judge_seams(results):
    print(f"  {'seam':32}  crosses    cut |  mean   drawn  window   near | 0.3 mm off: along across")
    for r in results:
        along = f"{r['along']['window']:.2f}" if r["along"] else "-"
        print(f"  {r['label']:32}  {r['left']:.4f} {r['cut']:.4f} | {r['mean']:.3f}  {r['drawn']:.3f}"
              f"  {r['window']:6.3f} {r['near']:6.3f} | {along:>17} {r['across']['near']:6.2f}")
    at_most("crosses of two sheets on each other", max(r["left"] for r in results), TRUE, " mm")
    at_most("corners of the mat in one piece", max(r["missed"] for r in results), TRUE, " mm")
    at_most("cut beside the crosses", max(r["cut"] for r in results), TRUE, " mm")
    at_most("mean difference to the mat in one piece, crosses counted",
          max(r["mean"] for r in results if r["length"] >= SHORT), BAR, " levels")
    at_most("the same with crosses painted on that", max(r["drawn"] for r in results), BAR, " levels")
    at_most("the same, worst 5 mm of any seam", max(r["window"] for r in results), BAR, " levels")
    at_most("worst 5 mm within 0.5 mm of a seam", max(r["near"] for r in results), BAR_NEAR, " levels")
    along = [r["along"]["window"] for r in results if r["along"]]
    above(f"{len(along)} seams with edges across, 0.3 mm off along the seam: least of the worst 5 mm",
         min(along, default=0), BAR)
    above("all seams, 0.3 mm off across: least of the worst 5 mm within 0.5 mm",
         min(r["across"]["near"] for r in results), BAR_NEAR)


def judge_corners(results):
    print(f"  {'corner':48}  mean   square of 5 mm | laid backwards")
    for r in results:
        backwards = "-" if r["backwards"] is None else f"{r['backwards']:.2f}"
        print(f"  {r['label']:48}  {r['mean']:.3f} {r['window']:6.3f} {backwards:>24}")
    at_most("worst 5 mm square about a corner", max(r["window"] for r in results), BAR, " levels")
    above("corners whose sheets are laid in the wrong order: least of the worst 5 mm squares",
           min(r["backwards"] for r in results if r["backwards"] is not None), BAR)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--long", action="store_true")
    options.add_argument("--pictures")
    options = options.parse_args()
    with tempfile.TemporaryDirectory() as folder, multiprocessing.Pool(2) as pool:
        seams, corners = jobs_of(folder, options.long, options.pictures)
        judge_seams(pool.map(seam_task, seams, chunksize=1))
        judge_corners(pool.map(corner_task, corners, chunksize=1))
    return checks.finish("laid sheets")


if __name__ == "__main__":
    sys.exit(main())
