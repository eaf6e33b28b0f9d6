#!/usr/bin/python3
"""Marks that the course doesn't have. Sheets are printed, scanned and photographed as in campaign.py,
with all that printers, scanners and phones do to them; half of them get one mark: a bar, a blot, some
writing, a sticker or a missing patch, of 1 to 40 mm and a contrast of 0.1 to 1. Is each found that a
robot may meet, and placed right, and is nothing found where nothing is?

    PAVIOR=build/pavior test_marks.py [--draws N] [--seed S] [--jobs N] [--keep FOLDER] [--json F]

--draws N: so many sheets with a mark, and as many without. Draw k of a seed is always the same.

Truth: the page's raster before and after painting, within the sheet's cell, where no card lies on it; of
luminance alone where the scan, or the print, is gray: there hue isn't seen.
Across several colours of the course a mark changes one of them more, another hardly. The box of all
that inspect says about there must therefore hold what must be found (a contrast of 0.3 as wide as a
sensor's spot) and lie within all that has changed, each of its sides to within a millimetre. How far its
middle is from that of what has changed by half the contrast, or by what a course tolerates, is told
besides.

A card that lies on a clean sheet and is not recognised is told as a mark that may be a card: that is
counted by itself, as said and not used, if all that is told of the sheet lies beneath the true card
and its shadow. Wherever else, or told as anything else, it is a false alarm."""
import argparse
import json
import math
import multiprocessing
import os
import resource
import sys
import tempfile
from collections import Counter

import cv2
import numpy as np

import campaign
import checks
import print_sim
import scan_sim
import simulate
from checks import expect
from simulate import FULL

SIDE, CONTRAST = 5.0, 0.3  # mm, of paper's light: from here on every mark must be found,
PLACED = 1.0  # mm, so near to its place
TOLERATED = 0.25  # contrast: the default of a course's tolerance
THREAD = 0.5  # mm: wider than a cross's arm
SPOT = 3.0  # mm: the default of a course's spot
CHANGED = 0.02  # of paper's light
ALARMS = 0.01  # of clean sheets, at most
SAID = 0.15  # of clean sheets on which a card lies, at most
BESIDE_CARD = 1.5  # mm: a card's rim, and its shadow
KINDS = ("bar", "blot", "writing", "sticker", "missing")


# ---- marks ----

def colour_of(rng, contrast, kind):
    """Light that is left, red, green, blue, such that plain paper changes by `contrast` (root of the
    mean square); grey, or of some hue."""
    if kind != "sticker" and rng.random() < 0.75:
        return np.full(3, 1 - contrast)
    off = rng.uniform(0.1, 1, 3)
    off *= contrast / math.sqrt((off ** 2).mean())
    return np.clip(1 - off, 0, 1)


def mask_of(rng, kind, size, k):
    """A mark's shape as a raster of 0 to 1 with k px per mm; size: mm, its longer side."""
    n = int(math.ceil(size * k)) + 4
    mask = np.zeros((2 * n, 2 * n), np.uint8)
    middle, turn = (float(n), float(n)), float(rng.uniform(0, 180))
    if kind == "writing":
        word = "".join(rng.choice(list("ABCEHKMRSTXZ23578"), int(rng.integers(1, 5))))
        (w, h), _ = cv2.getTextSize(word, cv2.FONT_HERSHEY_SIMPLEX, 1, 1)
        scale = size * k / max(w, h)
        pen = max(1, int(rng.uniform(0.4, 1.2) * k))
        cv2.putText(mask, word, (int(n - w * scale / 2), int(n + h * scale / 2)),
                    cv2.FONT_HERSHEY_SIMPLEX, scale, 255, pen, cv2.LINE_AA)
        return cv2.warpAffine(mask, cv2.getRotationMatrix2D(middle, turn, 1), mask.shape[::-1]) / 255
    if kind == "blot":
        angle = np.linspace(0, 2 * math.pi, 120, endpoint=False)
        r = size * k / 2 * (1 - 0.15 * sum(rng.uniform(0, 1) * (1 + np.cos(m * angle + rng.uniform(0, 6)))
                                          for m in (2, 3, 5)) / 3)
        points = np.column_stack([n + r * np.cos(angle), n + r * np.sin(angle)])
    else:
        other = size * (rng.uniform(0.05, 0.5) if kind == "bar" else rng.uniform(0.4, 1))
        points = cv2.boxPoints((middle, (size * k, max(other, 0.7) * k), turn))
    cv2.fillPoly(mask, [np.int32(np.rint(points * 16))], 255, cv2.LINE_AA, 4)
    return mask / 255


def painted(light, at, mask, mark):
    """The raster (rows x columns x 3, 0 to FULL) with a mark, its middle at px `at`."""
    h, w = light.shape[:2]
    x0, y0 = (int(round(v)) - mask.shape[0] // 2 for v in at)
    cut = (slice(max(y0, 0), min(y0 + mask.shape[0], h)), slice(max(x0, 0), min(x0 + mask.shape[1], w)))
    m = mask[cut[0].start - y0:cut[0].stop - y0, cut[1].start - x0:cut[1].stop - x0, None]
    part = light[cut].astype(np.float32)
    new = np.float32(mark["light"]) * FULL
    if mark["kind"] not in ("sticker", "missing"):
        new = part * np.float32(mark["light"])  # ink on ink
    out = light.copy()
    out[cut] = np.rint(part * (1 - m) + new * m).astype(np.uint16)
    return out


def draw_mark(rng):
    kind = str(rng.choice(KINDS))
    contrast = 1.0 if kind == "missing" else float(rng.uniform(0.1, 1))
    return {"kind": kind, "size": float(rng.uniform(1, 40)), "contrast": contrast,
            "light": [1.0] * 3 if kind == "missing" else colour_of(rng, contrast, kind).tolist(),
            "after": bool(rng.random() < 0.3)}


def place_of(rng, mark, page, cell):
    """px in the page's raster: within the cell; of missing paint, where there is some."""
    k = page.px_per_mm
    best = None
    for _ in range(60):
        at = np.array([rng.uniform(cell[0] + 1, cell[2] - 1), rng.uniform(cell[1] + 1, cell[3] - 1)])
        best = at[0] * k, (page.height - at[1]) * k
        if mark["kind"] != "missing":
            break
        if page.light[int(best[1]), int(best[0])].astype(float).mean() < 0.8 * FULL:
            break
    return best


def covered(y, x, page, print_, card):
    """Whether the card, its rim or its shadow lies on these pixels of the page's raster."""
    places = np.column_stack([(x + 0.5) / page.px_per_mm, page.height - (y + 0.5) / page.px_per_mm])
    return card.outside(*print_.to_plane(places, ragged=False).T) < BESIDE_CARD


def truth_of(before, after, page, print_, cell, card, missing, gray):
    """What is seen of a mark in the cell, sheet mm: its box, its contrast, and whether a square of
    SIDE fits in. gray: the picture, or the print, shows luminance alone."""
    k = page.px_per_mm
    off = (after.astype(np.float32) - before) / FULL * np.float32(1 - print_.toner)
    off = np.abs(off @ np.float32(scan_sim.LUMA)) if gray else np.sqrt((off ** 2).mean(axis=2))
    rows = off.shape[0]
    inside = np.zeros(off.shape, bool)
    inside[max(int(rows - cell[3] * k), 0):int(rows - cell[1] * k), int(cell[0] * k):int(cell[2] * k)] = 1
    off[~inside] = 0
    if card is not None:
        y, x = np.nonzero(off)
        hidden = covered(y, x, page, print_, card)
        off[y[hidden], x[hidden]] = 0
    if off.max() < CHANGED:
        return None
    full = np.percentile(off[off > 0.5 * off.max()], 50)
    # Over two colours, a mark's box holds all that differs by what the course tolerates, not the dark part alone.
    seen = off > min(0.5 * full, TOLERATED)
    if missing:  # an alignment cross is no paint of the course
        seen = cv2.morphologyEx(seen.astype(np.uint8), cv2.MORPH_OPEN, np.ones((round(THREAD * k),) * 2)) > 0
    if not seen.any():
        return None
    def box(mask):
        y, x = np.nonzero(mask)
        return [x.min() / k, (rows - y.max() - 1) / k, (x.max() + 1) / k, (rows - y.min()) / k] if len(y) else None

    side, spot = (np.ones((int(round(v * k)),) * 2, np.uint8) for v in (SIDE, SPOT))
    strong = (off >= min(CONTRAST, 0.98 * full)).astype(np.uint8)
    solid = cv2.erode(strong, side)
    return {"box": box(seen), "least": box(cv2.morphologyEx(strong, cv2.MORPH_OPEN, spot)), "most": box(off >= CHANGED),
            "contrast": float(full), "must": bool(full >= CONTRAST and solid.any()),
            "off": [float(v) for v in ((after.astype(np.float32) - before)[seen] / FULL).mean(axis=0)]}


def card_box(card, print_, origin):
    """The box of a card, its rim and its shadow, mat mm."""
    square = np.array([[0, 0], [100, 0], [0, 100.0]])
    plane = print_.to_plane(square, ragged=False)
    to_plane = np.column_stack([plane[1] - plane[0], plane[2] - plane[0]]) / 100
    corners = (card.outline(0)[:, :2] - plane[0]) @ np.linalg.inv(to_plane).T + origin
    return [*(corners.min(axis=0) - BESIDE_CARD), *(corners.max(axis=0) + BESIDE_CARD)]


# ---- one draw ----

def cell_of(draw):
    """Sheet mm."""
    sheet = draw.kit.plan.sheets[draw.page]
    return np.array(sheet["cell"]) - np.tile(sheet["origin"], 2)


def make_print(draw, mark):
    """The page, its print, and the page's raster before and after painting the mark."""
    # Screens on coarse rasters have few tones, which change where the two fall out of step.
    fine = bool(draw.scan) and draw.scan["dpi"] > 300 or draw.printer["screen"] is not None
    page = campaign.rendered(draw.kit.pdf, draw.page + 1, 600 if fine else 300, draw.renderer)
    if mark is None:
        return page, print_sim.Print(page, draw.seed, **draw.printer), None, None
    if page.light.ndim == 2:
        page.light = np.dstack([page.light] * 3)
    before = page.light
    rng = np.random.default_rng((draw.seed, 80))
    at, mask = place_of(rng, mark, page, cell_of(draw)), mask_of(rng, mark["kind"], mark["size"], page.px_per_mm)
    after = painted(before, at, mask, mark)
    if mark["after"]:  # laid on the printed sheet, which is not printed
        print_ = print_sim.Print(page, draw.seed, **draw.printer)
        stack = np.dstack(print_.channels if len(print_.channels) == 3 else print_.channels * 3)
        print_.channels = simulate.planes(painted(stack, at, mask, mark))
    else:
        print_ = print_sim.Print(simulate.Page(after, page.dpi, page.width, page.height), draw.seed,
                                 **draw.printer)
    return page, print_, before, after


def near(mark, box, far):
    b = mark["box_mm"]
    return b[0] < box[2] + far and b[2] > box[0] - far and b[1] < box[3] + far and b[3] > box[1] - far


def aside(found, least, most):
    """How far a side of a box lies within `least` or beyond `most`, at most."""
    return max(0.0, *(max(most[i] - found[i], found[i] - least[i], found[i + 2] - most[i + 2], least[i + 2] - found[i + 2])
                      for i in (0, 1)))


def apart(p, q):
    return math.dist(*[[(b[i] + b[i + 2]) / 2 for i in (0, 1)] for b in (p, q)])


def run(words):
    seed, marked, kits, folder, keep = words
    draw = campaign.Draw(seed, kits)
    mark = draw_mark(np.random.default_rng((seed, 79))) if marked else None
    out = {"seed": seed, "marked": marked, "device": draw.device, "mark": mark,
           "bilevel": bool(draw.scan) and draw.scan["shown"]["kind"] == "bilevel", "words": draw.words()}
    path = os.path.join(folder, f"{'mark' if marked else 'clean'}-{seed}."
                        + (draw.scan["ending"] if draw.scan else "jpg"))
    try:
        page, print_, before, after = make_print(draw, mark)
        (campaign.take_scan if draw.scan else campaign.take_photo)(draw, print_, path)
        gray = bool(draw.scan) and draw.scan["shown"]["kind"] != "colour" or bool(mark) and draw.printer["gray"] and not mark["after"]
        truth = after is not None and truth_of(before, after, page, print_, cell_of(draw), draw.card,
                                                mark["kind"] == "missing", gray) or None
        if truth:
            for name in ("box", "least", "most"):
                truth[name] = truth[name] and (np.array(truth[name]) + np.tile(draw.kit.plan.sheets[draw.page]["origin"], 2)).tolist()
        result, said = campaign.inspected(draw, path)
    except Exception as error:  # a draw that can't be made is told with its seed
        return dict(out, error=f"simulation: {error!r}")
    if not keep:
        os.remove(path)
    if result is None or "error" in result:
        return dict(out, error=f"{result and result['error']} {said}".strip())
    out.update(truth=truth, verdict=result["verdict"], marks=result["marks"], file=path)
    if draw.reference == "card on":
        out["card"] = card_box(draw.card, print_, draw.kit.plan.sheets[draw.page]["origin"])
    if truth is None:
        return out
    hits = [m for m in result["marks"] if near(m, truth["box"], 1.0)]
    out["others"] = [m for m in result["marks"] if m not in hits and m["verdict"] != "conforms"]
    if hits:
        boxes = np.array([m["box_mm"] for m in hits])
        found = [*boxes[:, :2].min(axis=0), *boxes[:, 2:].max(axis=0)]
        out["hits"] = hits
        out["apart"] = apart(found, truth["box"])
        out["placed"] = aside(found, truth["least"] or truth["box"], truth["most"])
    return out


# ---- judging ----

def telling(r):
    """In black and white alone nothing is seen that is lighter than the cut."""
    return not r["bilevel"]


def is_card(r, mark):
    """What is said there is what lies there."""
    b, c = mark["box_mm"], r.get("card")
    return c is not None and mark["verdict"] == "undecided" and "card" in mark["may_be"] and \
        c[0] <= b[0] and c[1] <= b[1] and b[2] <= c[2] and b[3] <= c[3]


def judge_clean(clean):
    alarms = [(r, [m for m in r["marks"] if m["verdict"] != "conforms"]) for r in clean]
    alarms = [(r, ms) for r, ms in alarms if ms]
    said = [r for r, ms in alarms if r["verdict"] != "conforms" and all(is_card(r, m) for m in ms)]
    for r, ms in alarms:
        for m in ms[:4]:
            print(f"    {'said' if r in said else 'alarm'}: draw {r['seed']} {r['device']}: {m['kind']} "
                  f"{m['box_mm']} contrast {m['contrast']} off {m['off']} {m['may_be']} on {m['colour']} {m['line']}")
    told, wrong, cards = sum(len(r["marks"]) > 0 for r in clean), len(alarms) - len(said), \
        sum("card" in r for r in clean)
    expect("clean sheets raise no alarm", wrong <= ALARMS * max(len(clean), 1),
           f"({wrong} of {len(clean)}; {told} tell of something below the tolerance)")
    expect("cards on clean sheets are recognised, else said to be what may be one", len(said) <= SAID * cards,
           f"({len(said)} of {cards} said and not used)")


def words_of(r):
    m, t = r["mark"], r["truth"]
    return f"draw {r['seed']} {r['device']}: {m['kind']} {m['size']:.1f} mm, contrast " \
           f"{t['contrast']:.2f}, box {[round(v, 1) for v in t['box']]}"


def judge(results):
    for r in results:
        if "error" in r:
            print(f"    draw {r['seed']} ({r['device']}): {r['error']}")
    seen = [r for r in results if "error" not in r]
    must = [r for r in seen if r["marked"] and r["truth"] and r["truth"]["must"] and telling(r)]
    lost = [r for r in must if "hits" not in r]
    off = [r for r in must if "hits" in r and r["placed"] > PLACED]
    for r in lost:
        print(f"    lost: {words_of(r)}")
    for r in off:
        print(f"    {r['placed']:.2f} mm off: {words_of(r)}: {[m['box_mm'] for m in r['hits']]}")
    expect(f"marks of {SIDE:g} mm x {SIDE:g} mm and contrast {CONTRAST} are found", not lost,
           f"({len(must) - len(lost)} of {len(must)})")
    expect("they are placed", not off, f"(within {PLACED:g} mm; worst "
           f"{max([r['placed'] for r in must if 'hits' in r], default=0):.2f}; middles, by half the contrast: "
           f"{sum('hits' in r and r['apart'] <= PLACED for r in must)} of {len(must)})")
    verdicts = Counter(m["verdict"] for r in must if "hits" in r for m in r["hits"][:1])
    print(f"    their verdicts: {dict(verdicts)}")
    there = [r for r in seen if r["marked"] and r["truth"] and r["truth"]["must"]]
    wrong = [r for r in there if r["verdict"] == "conforms"]
    for r in wrong:
        print(f"    conforms: {words_of(r)}")
    expect("no sheet with such a mark conforms", not wrong, f"({len(wrong)} of {len(there)}, with those in black and white)")
    for kind in KINDS:
        rs = [r for r in seen if r["marked"] and r["truth"] and r["mark"]["kind"] == kind]
        print(f"    {kind}: {sum('hits' in r for r in rs)} of {len(rs)} of any size and contrast found")
    blind = [r for r in seen if r["marked"] and r["truth"] and r["truth"]["must"] and not telling(r)]
    print(f"    in black and white alone: {sum('hits' in r for r in blind)} of {len(blind)} found")
    judge_clean([r for r in seen if not r["marked"]])
    return seen


def main(argv):
    p = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    p.add_argument("--draws", type=int, default=3)
    p.add_argument("--seed", type=int, default=9000)
    p.add_argument("--jobs", type=int, default=2)
    p.add_argument("--only", choices=("marked", "clean"))
    p.add_argument("--keep", metavar="FOLDER")
    p.add_argument("--json", metavar="F")
    a = p.parse_args(argv)
    with tempfile.TemporaryDirectory() as folder:
        kits = campaign.make_kits(folder)
        jobs = [(a.seed + k, marked, kits, a.keep or folder, bool(a.keep))
                for k in range(a.draws) for marked in (True, False)
                if a.only != ("clean" if marked else "marked")]
        with multiprocessing.Pool(a.jobs) as pool:
            results = pool.map(run, jobs, chunksize=1)
    if a.json:
        with open(a.json, "w", encoding="utf-8") as file:
            json.dump(results, file)
    seen = judge(results)
    expect("nearly all pictures can be used", len(seen) >= 0.9 * len(results),
           f"({len(seen)} of {len(results)})")
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(f"    {(used.ru_utime + used.ru_stime) / len(results):.1f} s of CPU a draw")
    return checks.finish("marks")


if __name__ == "__main__":
    cv2.setNumThreads(1)
    sys.exit(main(sys.argv[1:]))
