#!/usr/bin/python3
"""The taping guide followed as a new user would: what it says is read from the printed guide's own pages,
step by step, and sheets are cut and laid by that alone. Which sides are cut, over or against which sheets
a sheet is laid, how many crosses must meet: all that comes from the guide's sentences. Cut marks and
crosses are found in the rendered sheets. What lies in the end must be the course's drawing, pixel by pixel.

The plan serves to know roughly where on a page a mark is looked for, and where the first sheet lies.
The crosses, which stay in the finished mat by design, are painted onto the drawing where they were found.
Faults on purpose must be noticed: an edge not cut, two sheets in each other's order.

    PAVIOR=build/pavior test_guide.py [--long] [--only NAME] [--pictures FOLDER]"""
import argparse
import json
import multiprocessing
import os
import re
import subprocess
import sys
import tempfile

import cv2
import numpy as np

import checks
import imaging
import laying
import overlay
import test_laid
from checks import above, at_most, expect
from plan import Plan

SIDES = {"left": laying.LEFT, "bottom": laying.BOTTOM, "right": laying.RIGHT, "top": laying.TOP}
FINE, SHARE = 300, 3  # dpi of renders; so many of their pixels make one, each way, of the mat's picture
K = FINE / SHARE / 25.4  # pixels a mm of that
TABLE = 128
WINDOW = 5.0  # mm, the side of the squares that are compared
# Codes. The renderer places letters on whole pixels, so that those of two pages lie up to a pixel of
# 0.085 mm apart; at 300 dpi that alone makes up to 25 in a square that letters fill (test_laid.py, which
# looks at single seams, goes to 1200 dpi for that). Faults make 250.
BAR = 35.0
BAR_MEAN = 0.8
FAULT = 100.0
TRUE = 0.02  # mm: two crosses on each other, as found at 300 dpi
QUICK = [("quayside", "A3", "butt"), ("pierhead", "A6", "lap")]
WORDS = [("quayside", "A4", "lap"), ("breakwater", "A3", "lap")]  # read, but not laid, in the quick run
LONG = [(course, paper, joint) for course in ("quayside", "breakwater") for paper in ("A4", "letter", "A3")
        for joint in ("lap", "butt")]
LONG += [("pierhead", paper, joint) for paper in ("A4", "letter", "A3", "A5", "A6") for joint in ("lap", "butt")]


def run(*words):
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


# ---- what the guide says ----

def page_labels(pdf):
    labels = [""] * int(re.search(r"Pages: +(\d+)", run("pdfinfo", pdf))[1])
    for entry in json.loads(run("qpdf", "--json", "--json-key=pagelabels", pdf))["pagelabels"]:
        label = entry["label"]
        labels[entry["index"]] = label["/P"].removeprefix("u:") + str(label["/St"])
    return labels


def listed(pattern, text):
    found = re.search(pattern + r": ([^.]*)\.", text)
    return [item.strip() for item in found[1].split(", ")] if found else []


def side(words):
    return SIDES[words.split(" (")[0]]


def read_steps(pdf, pages):
    """The steps as a reader has them, by the sentences on the guide's pages. In the order of drawing a
    step is its title, its pictures' words, its lines."""
    text = re.sub(r"\s+", " ", run("pdftotext", "-raw", "-f", "1", "-l", str(pages), pdf, "-"))
    parts = re.split(r"Step (\d+): sheet ([A-Z]+\d+)", text)[1:]
    steps = []
    for number, name, said in zip(parts[0::3], parts[1::3], parts[2::3]):
        on_top = listed("Lay it on top of", said)
        beside = listed("Lay it edge to edge with", said)
        joins = [re.fullmatch(r"([A-Z]+\d+) at the (\w+) \((\d+) cross(?:es)?\)", item)
                 for item in on_top + beside]
        steps.append({
            "number": int(number), "sheet": name,
            "cut": {side(item) for item in listed("Cut along the marks", said)},
            "keep": {side(item) for item in listed("Do not cut", said)},
            "joins": {SIDES[m[2]]: (m[1], int(m[3])) for m in joins},
            "above": {SIDES[item] for item in listed("from above", said)},
            "beneath": {SIDES[item] for item in listed("from beneath", said)},
            "butt": bool(beside)})
    return steps


def check_words(label, plan, pdf, labels, steps):
    """Does the guide hang together, and do the sheets' numbers fit it?"""
    names = [s.name for s in plan.sheets]
    expect(f"{label}: one step a sheet, numbered", sorted(s["sheet"] for s in steps) == sorted(names)
           and [s["number"] for s in steps] == list(range(1, len(names) + 1)))
    expect(f"{label}: each side is either cut or stays", all(
        s["cut"] | s["keep"] == set(range(4)) and not s["cut"] & s["keep"] for s in steps))
    lying, alone = set(), 0
    for s in steps:
        alone += not s["joins"] or not {name for name, _ in s["joins"].values()} <= lying
        lying.add(s["sheet"])
    expect(f"{label}: all but the first lie beside sheets that lie", alone == 1)
    butt = plan.data["joint"] == "butt"
    expect(f"{label}: tape along all seams of a step", all(
        s["beneath" if butt else "above"] == set(s["joins"]) and not s["above" if butt else "beneath"]
        for s in steps))
    wrong = 0
    for s in steps:
        page = str(labels.index(s["sheet"]) + 1)
        wrong += f"step {s['number']} of {len(names)}" not in re.sub(
            r"\s+", " ", run("pdftotext", "-f", page, "-l", page, pdf, "-"))
    expect(f"{label}: each sheet bears its step's number", wrong == 0)


# ---- cutting and laying ----

class Page(laying.Print):
    """A sheet's print that is rendered whole, when it is looked at first."""

    def __init__(self, pdf, plan, sheet, number):
        super().__init__(pdf, plan, sheet, FINE)
        self.number, self.seen = number, None

    def whole(self):
        if self.seen is None:
            self.seen = imaging.render(self.pdf, self.number, self.page[1], FINE)
        return self.seen

    def picture(self, low, high):
        w = self.whole()
        u0, v1 = (int(np.floor(c)) for c in w.px(*low))
        u1, v0 = (int(np.ceil(c)) for c in w.px(*high))
        u0, v0 = max(u0, 0), max(v0, 0)
        v1, u1 = min(v1, w.code.shape[0]), min(u1, w.code.shape[1])
        return imaging.Raster(w.code[v0:v1, u0:u1], FINE, self.page[1], "top", (u0, v0))


def lay(steps, pages, seams, drawing):
    """Sheets in their places, in the order of the guide; the largest distance of two crosses that
    should meet; what one sees of the mat."""
    canvas = empty(drawing)
    laid, worst = {}, 0.0
    for step in steps:
        page = pages[step["sheet"]]
        here, there = [], []
        for at_side, (neighbour, count) in step["joins"].items():
            seam = next(s for s in seams if {s["over"], s["under"]} == {step["sheet"], neighbour})
            own, other = page.crosses(seam), pages[neighbour].crosses(seam)
            if not len(own) == len(other) == count:
                raise ValueError(f"{step['sheet']}: {len(own)} and {len(other)} crosses, not {count}")
            here += own
            there += list(laying.moved(laid[neighbour].move, other))
        if here:
            move, left = overlay.rigid(there, here)
            worst = max(worst, left)
        else:
            move = np.column_stack([np.eye(2), [float(v) for v in page.sheet.origin]])
        piece = laid[step["sheet"]] = laying.Laid(page, move, sorted(step["cut"]))
        for seam in seams:
            if step["sheet"] in (seam["over"], seam["under"]):
                page.crosses(seam)
        put(canvas, piece, drawing.corner)
        page.seen = None
    return list(laid.values()), worst, canvas


def put(canvas, piece, corner):
    """Paints a piece over what lies already. `corner`: mat mm of the canvas's upper left corner."""
    ends = laying.moved(piece.move, [(0, 0), piece.print.page, (0, piece.print.page[1]), (piece.print.page[0], 0)])
    u0, v0 = (int(np.floor(c)) - 1 for c in ((ends[:, 0].min() - corner[0]) * K, (corner[1] - ends[:, 1].max()) * K))
    u1, v1 = (int(np.ceil(c)) + 1 for c in ((ends[:, 0].max() - corner[0]) * K, (corner[1] - ends[:, 1].min()) * K))
    u0, v0 = max(u0, 0), max(v0, 0)
    u1, v1 = min(u1, canvas.shape[1]), min(v1, canvas.shape[0])
    k, (m, n) = K * SHARE, ((v1 - v0) * SHARE, (u1 - u0) * SHARE)
    left, top = corner[0] + u0 / K, corner[1] - v0 / K
    back, raster = laying.inverse(piece.move), piece.print.whole()
    to_mat = np.array([[1 / k, 0, left + 0.5 / k], [0, -1 / k, top - 0.5 / k], [0, 0, 1]])
    to_px = np.array([[raster.k, 0, raster.left - 0.5], [0, -raster.k, raster.bottom - 0.5], [0, 0, 1]])
    move = (to_px @ np.vstack([back, [0, 0, 1]]) @ to_mat)[:2]
    codes = cv2.warpAffine(np.ascontiguousarray(raster.code), move, (n, m),
                           flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP, borderValue=(255, 255, 255))
    x = (left + (np.arange(n, dtype=np.float32) + 0.5) / k)[None, :]
    y = (top - (np.arange(m, dtype=np.float32) + 0.5) / k)[:, None]
    share = np.clip(piece.depth(x, y) * k + 0.5, 0, 1).astype(np.float32)
    size = (u1 - u0, v1 - v0)
    share = cv2.resize(share, size, interpolation=cv2.INTER_AREA)[:, :, None]
    codes = cv2.resize(codes, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    under = canvas[v0:v1, u0:u1]
    canvas[v0:v1, u0:u1] = np.rint(under + share * (codes - under)).astype(np.uint8)


def empty(drawing):
    return np.full((drawing.size[1], drawing.size[0], 3), TABLE, np.uint8)


class Drawing:
    """The course in one piece, as the same renderer shows it, without crosses."""

    def __init__(self, course, paper, folder):
        self.pdf = os.path.join(folder, os.path.basename(course) + "-whole.pdf")
        if not os.path.exists(self.pdf):
            run(os.environ["PAVIOR"], "sheets", course, "--paper", paper, "-q", "-o", self.pdf)
        plan = Plan(self.pdf.replace(".pdf", ".plan.json"))
        self.page, self.mat = [float(v) for v in plan.page], [float(v) for v in plan.sheets[0].cell]
        origin = [float(v) for v in plan.sheets[0].origin]
        self.corner = origin[0], origin[1] + self.page[1]  # mat mm of the page's upper left corner
        self.size = [int(np.ceil(v * K)) for v in self.page]

    def strip(self, top, bottom):
        """Rows of the picture from `top` to before `bottom`."""
        high = self.page[1] - top / K
        return np.ascontiguousarray(cv2.resize(
            imaging.render_box(self.pdf, 1, self.page[1], FINE, (0.0, high - (bottom - top) / K + 1e-6),
                               (self.size[0] / K - 1e-6, high)).code[:(bottom - top) * SHARE, :self.size[0] * SHARE],
            (self.size[0], bottom - top), interpolation=cv2.INTER_AREA))


def compare(canvas, drawing, seams, folder=None, name=""):
    """Mean difference over the mat, and the largest of a square, in codes."""
    inset = 0.2  # mm off the mat's edge, where the last pixel is half table
    left, low, right, high = drawing.mat
    u0, u1 = (int(round((x - drawing.corner[0]) * K)) for x in (left + inset, right - inset))
    v0, v1 = (int(round((drawing.corner[1] - y) * K)) for y in (high - inset, low + inset))
    box, sums, worst = int(round(WINDOW * K)), [0.0, 0], 0.0
    for top in range(v0, v1, 800):
        bottom = min(top + 800 + box, v1)
        shown = drawing.strip(top, bottom).astype(np.float32)
        at_low = drawing.corner[0], drawing.corner[1] - bottom / K
        at_high = drawing.corner[0] + drawing.size[0] / K, drawing.corner[1] - top / K
        crossed = test_laid.with_crosses(shown, seams, at_low, at_high, K, "pdftocairo")[:, u0:u1]
        off = test_laid.unlike(canvas[top:bottom, u0:u1].astype(np.float32), crossed)
        worst = max(worst, float(cv2.blur(off, (box, box)).max()))
        part = off[:min(800, v1 - top)]
        sums[0] += float(part.sum())
        sums[1] += part.size
    if folder is not None:
        cv2.imwrite(os.path.join(folder, name + ".png"), canvas[v0:v1, u0:u1, ::-1])
    return sums[0] / sums[1], worst


# ---- cases ----

def fault_cut(steps):
    """One side that joins, somewhere in the middle, is not cut."""
    steps = [dict(s, cut=set(s["cut"])) for s in steps]
    step = [s for s in steps if s["joins"]][len(steps) // 2 - 1]
    step["cut"].discard(next(iter(step["joins"])))
    return steps


def follow(job):
    course, paper, joint, folder, pictures, faults, laid_too = job
    path, large = test_laid.COURSES[course]
    label = f"{course} {paper} {joint}"
    pdf = os.path.join(folder, label.replace(" ", "-") + ".pdf")
    run(os.environ["PAVIOR"], "sheets", path, "--paper", paper, "--joint", joint, "-q", "-o", pdf)
    plan = Plan(pdf.replace(".pdf", ".plan.json"))
    labels = page_labels(pdf)
    guide = sum(text.startswith("guide ") for text in labels)
    assert labels[guide:] == [s.name for s in plan.sheets], label
    if len(plan.sheets) == 1:
        return {"label": label, "sheets": 1, "guide": guide}
    steps = read_steps(pdf, guide)
    result = {"label": label, "sheets": len(steps), "guide": guide, "steps": steps, "pdf": pdf, "labels": labels}
    if not laid_too:
        return result
    seams = test_laid.plain(plan.data)["seams"]
    pages = {s.name: Page(pdf, plan, s, guide + i + 1) for i, s in enumerate(plan.sheets)}
    drawing = Drawing(path, large, folder)
    laid, left, canvas = lay(steps, pages, seams, drawing)
    mean, worst = compare(canvas, drawing, seams, pictures, label.replace(" ", "-"))
    result.update(left=left, mean=mean, worst=worst)
    if faults:
        result["uncut"] = compare(lay(fault_cut(steps), pages, seams, drawing)[2], drawing, seams)[1]
        if joint == "lap":
            canvas = empty(drawing)
            for piece in laid[::-1]:
                put(canvas, piece, drawing.corner)
            result["backwards"] = compare(canvas, drawing, seams)[1]
    return result


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--long", action="store_true")
    options.add_argument("--only", default="", help="cases of the long run whose name has this in it: 'A3 butt'")
    options.add_argument("--pictures")
    options = options.parse_args()
    long = options.long or options.only
    cases = [case for case in LONG if options.only in " ".join(case)] if long else QUICK + WORDS
    with tempfile.TemporaryDirectory() as folder, multiprocessing.Pool(1 if long else 2) as pool:
        jobs = [(*case, folder, options.pictures, case[0] == "pierhead" or options.long and i < 2,
                 long or case not in WORDS) for i, case in enumerate(cases)]
        for r in pool.imap(follow, jobs, chunksize=1):
            label = r["label"]
            if r["sheets"] == 1:
                expect(f"{label}: one sheet needs no guide", r["guide"] == 0)
                continue
            check_words(label, Plan(r["pdf"].replace(".pdf", ".plan.json")), r["pdf"], r["labels"], r["steps"])
            if "left" not in r:
                continue
            at_most(f"{label}: crosses of {r['sheets']} sheets on each other", r["left"], TRUE, "mm")
            at_most(f"{label}: mean difference to the drawing", r["mean"], BAR_MEAN, "codes")
            at_most(f"{label}: worst square of {WINDOW:g} mm", r["worst"], BAR, "codes")
            if "uncut" in r:
                above(f"{label}: a side that was not cut", r["uncut"], FAULT, "codes")
            if "backwards" in r:
                above(f"{label}: laid backwards", r["backwards"], FAULT, "codes")
    return checks.finish("the guide followed")


if __name__ == "__main__":
    sys.exit(main())
