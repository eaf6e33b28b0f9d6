#!/usr/bin/python3
"""References through the whole chain: what a scanner that is off, a ruler and the paper's own edges make
of a print whose size is known; what is said where they disagree, and where there is none; pictures
that lie any way round, by themselves or by EXIF; black and white; and sheets that aren't flat.

    test_reference.py [--long] [--seed N]     (environment: PAVIOR)"""
import argparse
import os
import sys
import tempfile
from multiprocessing import Pool

import numpy as np
from PIL import Image

import checks
import print_sim
from checks import expect
from desk import (PAIRS, QUAYSIDE, Kit, inspect, photographed,
                  reading, scanned)

RULER_U = 0.3  # mm
UNEVEN = "unevenly"

KITS = {}  # in each process
PAGES = {}


def kit_of(folder):
    if folder not in KITS:
        name = f"quayside-{os.getpid()}"
        KITS[folder] = Kit(folder, name, QUAYSIDE)
    return KITS[folder]


def printed(kit, page, seed, **how):
    if page not in PAGES:
        PAGES.clear()
        PAGES[page] = kit.page(page)
    return print_sim.Print(PAGES[page], seed, **how)


class Case:
    """What one picture says. checks: (what, good, detail)."""

    def __init__(self, name):
        self.name, self.checks = name, []

    def add(self, what, good, detail=""):
        self.checks.append((f"{self.name}: {what}", bool(good), detail))


def told(result):
    return "scale" in result and all(result["scale"][a]["value"] is not None for a in "xy")


def scale_off(result, true):
    """Both scales' errors, in U; and the larger U."""
    if not told(result):
        return None, None
    values = [result["scale"][a] for a in "xy"]
    return (max(abs(v["value"] - t) / v["U"] for v, t in zip(values, true)),
            max(v["U"] for v in values))


def held(case, result, true):
    worst, U = scale_off(result, true)
    if worst is None:
        case.add("scale told", False, result.get("error", str(result.get("notes"))))
        return
    case.add("scale held by its U", worst <= 1.05, f"off by {worst:.2f} U, U {100 * U:.3f} %")


def words(result):
    return " | ".join(result.get("notes", [])) + str(result.get("error", ""))


def of_kind(result, kind):
    return [r for r in result.get("references", []) if r["kind"] == kind]


# ---- scanners and rulers ----

# What scanners of each kind are taken to show (docs/how/references.md), any value as likely.
FLATBED, FEED = 0.002, 0.010


def fed(rng):
    """A feeder's own faults: its scale across and along, slip that varies along the feed, a sheet that
    went in askew, axes that aren't square."""
    return dict(off=(1 + rng.uniform(-FLATBED, FLATBED), 1 + rng.uniform(-FEED, FEED)),
                square_mrad=rng.uniform(-3, 3), turn=rng.uniform(-1.5, 1.5),
                wave=(rng.uniform(0.01, 0.05), rng.uniform(38, 120), rng.uniform(0, 6.28)))


def scanners(folder, seed):
    """Each kind's U holds the truth of prints by scanners of that kind; a feeder's picture may have been
    turned upright after it was fed by its long edge."""
    kit, rng = kit_of(folder), np.random.default_rng((1, seed))
    page = kit.busy(4)[seed % 4]
    true = tuple(rng.uniform(0.985, 1.005, 2))
    print_ = printed(kit, page, seed, scale=true, gain=0.02)
    path = os.path.join(folder, f"scanner-{seed}.png")
    case = Case(f"scanner, seed {seed}")
    scanned(path, print_, rng, 200, tuple(1 + rng.uniform(-FLATBED, FLATBED, 2)))
    result = inspect(kit, path)[1]
    held(case, result, true)
    case.add("its basis is said", result["reference"]["basis"] == "taking the flatbed to be true to 0.2 %")
    how = fed(rng)
    scanned(path, print_, rng, 200, how.pop("off"), how.pop("turn"), device=how)
    for kind in ("feeder-short", "feeder"):
        held(case, inspect(kit, path, "--scanner", kind)[1], true)
    how = fed(rng)
    how["turn"] += 90  # the sheet lies on its side in the feeder, and the picture is turned upright
    scanned(path, print_, rng, 200, how.pop("off"), how.pop("turn"), device=how, quarters=1)
    result = inspect(kit, path, "--scanner", "feeder-long")[1]
    held(case, result, true)
    if told(result):
        long_way = "xy"[result["page_mm"][1] > result["page_mm"][0]]
        U = {a: result["scale"][a]["U"] for a in "xy"}
        across, along = U[long_way], U["x" if long_way == "y" else "y"]
        case.add("surer across the feed", 3 * across < along, f"{across:.4f}, {along:.4f}")
    unknown = inspect(kit, path, "--scanner", "./nowhere")[1]
    case.add("a file that isn't there is said", "error" in unknown)
    return case


def disagreeing(folder, seed):
    """A flatbed that is off by 0.7 %: a ruler contradicts it. Then neither decides, and the report says
    which two disagree. A third reference that agrees with the ruler settles it."""
    kit, rng = kit_of(folder), np.random.default_rng((8, seed))
    page = kit.busy(4)[seed % 4]
    true = tuple(rng.uniform(0.985, 1.005, 2))
    print_ = printed(kit, page, seed, scale=true, gain=0.02)
    path = os.path.join(folder, f"disagree-{seed}.png")
    case = Case(f"disagreeing, seed {seed}")
    for wrong in (1.007, 0.993):
        scanned(path, print_, rng, 200, (wrong, wrong))
        readings = [w for v in PAIRS for w in reading(kit, page - 1, print_, v, rng, 0.1)]
        both = inspect(kit, path, *readings)[1]
        case.add(f"off by {100 * (wrong - 1):+.1f} %: undecided, and both are named",
                 both["verdict"] == "undecided" and not told(both)
                 and all(r["disagrees"] for r in both["references"])
                 and "the scanner and the ruler disagree by" in words(both)
                 and both["reference"]["basis"] == "nothing", words(both)[:120])
        kind = inspect(kit, path, "--scanner", "feeder", *readings)[1]
        held(case, kind, true)
        case.add("of a feeder nothing disagrees", not any(r["disagrees"] for r in kind["references"]))
    return case


def contradicted(folder, seed):
    """What contradicts a flatbed: a scan longer than any glass, and the paper's edges all round."""
    kit, rng = kit_of(folder), np.random.default_rng((10, seed))
    print_ = printed(kit, kit.busy(4)[seed % 4], seed)
    path = os.path.join(folder, f"contradicted-{seed}.png")
    case = Case(f"contradicted, seed {seed}")
    for margin, lid, hint, basis in ((80.0, 0.75, "mm long, and no office flatbed", "sheet feeder"),
                                     (3.0, 0.02, "all four edges", "flatbed"),
                                     (-6.0, 0.75, None, "flatbed")):
        result = inspect(kit, scanned(path, print_, rng, 150, lid=lid, margin=margin))[1]
        said = [n for n in result["notes"] if "feeder" in n]
        case.add(f"{margin:g} mm around the sheet: {hint}",
                 (any(hint in n for n in said) if hint else not said)
                 and basis in result["reference"]["basis"], f"{said} {result['reference']['basis']}"[:150])
    return case


def resized(folder, seed):
    """Pictures that a program resized, or whose --dpi is a slip: said, and no scale is proven."""
    kit, rng = kit_of(folder), np.random.default_rng((9, seed))
    page = kit.busy(4)[seed % 4]
    print_ = printed(kit, page, seed)
    path, other = (os.path.join(folder, f"resized-{seed}-{i}.png") for i in (0, 1))
    scanned(path, print_, rng, 300)
    case = Case(f"resized, seed {seed}")
    picture = Image.open(path)

    def resize(factor, dpi):
        size = tuple(round(side * factor) for side in picture.size)
        picture.resize(size, Image.Resampling.LANCZOS).save(other, dpi=(dpi, dpi))
        return inspect(kit, other)[1]
    for factor, dpi, says in ((0.96, 288, "288 dpi"), (0.5, 300, "twice"), (1.5, 300, "two thirds"),
                              (0.5, 72, "72 or 96 dpi"), (0.7, 211, "211 dpi"), (0.88, 300, "resized"),
                              (0.96, 300, None)):
        result = resize(factor, dpi)
        if says is None:  # nothing shows it but the report's own words
            case.add("resized by a little with its old statement: rests on the scanner, and says so",
                     "flatbed" in result["reference"]["basis"])
            continue
        case.add(f"resized by {factor}, stating {dpi} dpi: {says}",
                 not told(result) and result["verdict"] == "undecided" and says in words(result),
                 words(result)[:100])
    resize(0.96, 288)
    readings = [w for v in PAIRS for w in reading(kit, page - 1, print_, v, rng, 0.15)]
    result = inspect(kit, other, *readings)[1]
    held(case, result, (1.0, 1.0))
    case.add("288 dpi and a ruler: the ruler counts, and the doubt is said",
             result["reference"]["basis"] == "by your ruler readings" and "288 dpi" in words(result),
             result["reference"]["basis"])
    for dpi, says in ((600, "twice"), (150, "half")):
        result = inspect(kit, path, "--dpi", str(dpi))[1]
        case.add(f"--dpi {dpi}: {says}", not told(result) and says in words(result), words(result)[:100])
    return case


def ruler_alone(folder, seed):
    """A scan that states no resolution, by rulers."""
    kit, rng = kit_of(folder), np.random.default_rng((2, seed))
    page = kit.busy(4)[seed % 4]
    true = tuple(rng.uniform(0.96, 1.01, 2))
    print_ = printed(kit, page, seed, scale=true)
    path = scanned(os.path.join(folder, f"ruler-{seed}.png"), print_, rng, 200, state=False,
                   margin=-6.0)
    case = Case(f"ruler, seed {seed}")
    none = inspect(kit, path)[1]
    case.add("without any reference: scale undecided, the rest measured",
             not told(none) and none["verdict"] == "undecided" and len(none["lines"]) > 3
             and all(l["verdict"] == "undecided" for l in none["lines"])
             and none["reference"]["kind"] == "none", f"{len(none['lines'])} lines")
    ratio = np.median([l["width_mm"] / l["nominal_mm"] for l in none["lines"]])
    case.add("widths relative to the sheet's own size", abs(ratio - 1) < 0.01, f"{ratio:.4f}")
    readings = [reading(kit, page - 1, print_, v, rng, RULER_U) for v in PAIRS]
    held(case, inspect(kit, path, *sum(readings, []))[1], true)
    one = inspect(kit, path, *readings[0])[1]  # square pixels tell the other direction
    held(case, one, true)
    return case


# ---- the paper's own edges ----

def paper_edges(folder, seed):
    """Edges on a black and a white lid, and on a table. The paper is cut as ISO 216 allows."""
    kit, rng = kit_of(folder), np.random.default_rng((3, seed))
    page = kit.busy(4)[seed % 4]
    true = (0.96, 0.96) if seed % 2 else tuple(rng.uniform(0.99, 1.005, 2))
    cut = (210 + rng.uniform(-1, 1), 297 + rng.uniform(-1, 1))
    print_ = printed(kit, page, seed, scale=true,
                     sheet=(cut, tuple(rng.uniform(-1, 1, 2)), rng.uniform(-0.2, 0.2)))
    case = Case(f"paper, seed {seed}, printed at {100 * true[0]:.1f} %")
    for lid in (0.02, 0.97):
        path = scanned(os.path.join(folder, f"paper-{seed}.png"), print_, rng, 200, state=False,
                       margin=6.0, lid=lid)
        result = inspect(kit, path)[1]
        if lid > 0.9 and not of_kind(result, "paper"):
            case.add("white lid: no edge seen, no scale told", not told(result))
            continue
        case.add(f"lid {lid}: paper's edges seen", of_kind(result, "paper"))
        held(case, result, true)
    path = photographed(os.path.join(folder, f"paper-{seed}.jpg"), print_, rng, tilt=15)
    result = inspect(kit, path)[1]
    case.add("photograph: paper's edges seen", of_kind(result, "paper"))
    held(case, result, true)
    if true[0] < 0.97:
        case.add("a page shrunk to fit does not conform", result["verdict"] == "does not conform")
    return case


# ---- which way round ----

ORIENTED = {2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180,
            4: Image.Transpose.FLIP_TOP_BOTTOM, 5: Image.Transpose.TRANSPOSE,
            6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE,
            8: Image.Transpose.ROTATE_270}  # of the upright picture, to what is stored


def ways_round(folder, seed):
    """EXIF 1 to 8 and quarter turns: the same values, and nothing is taken for mirrored."""
    kit, rng = kit_of(folder), np.random.default_rng((4, seed))
    page = kit.busy(4)[seed % 4]
    print_ = printed(kit, page, seed, scale=(0.992, 0.9985), skew_mrad=1.5)
    base = os.path.join(folder, f"way-{seed}")
    scanned(base + ".png", print_, rng, 200)
    upright, found = Image.open(base + ".png"), {}
    case = Case("ways round")
    for orientation in range(1, 9):
        exif = Image.Exif()
        exif[274] = orientation
        stored = upright.transpose(ORIENTED[orientation]) if orientation > 1 else upright
        stored.save(base + ".jpg", quality=95, exif=exif, dpi=(200, 200))
        found[f"EXIF {orientation}"] = inspect(kit, base + ".jpg")[1]
    for quarters in range(1, 4):
        stored = Image.fromarray(np.ascontiguousarray(np.rot90(np.asarray(upright), quarters)))
        stored.save(base + ".jpg", quality=95, dpi=(200, 200))
        found[f"turned by {90 * quarters}"] = inspect(kit, base + ".jpg")[1]
    apart = {"scale": 0.0, "skew": 0.0, "width": 0.0}
    first = found["EXIF 1"]
    for what, result in found.items():
        if not told(result):
            case.add(what, False, words(result))
            continue
        for axis, true in (("x", 0.992), ("y", 0.9985)):
            apart["scale"] = max(apart["scale"], abs(result["scale"][axis]["value"] - true))
        apart["skew"] = max(apart["skew"], abs(result["skew_mrad"]["value"] - 1.5))
        mine = {l["id"]: l["width_mm"] for l in result["lines"]}
        apart["width"] = max(apart["width"], max(abs(mine[l["id"]] - l["width_mm"])
                                                 for l in first["lines"] if l["id"] in mine))
    case.add("eleven pictures alike: scale to 0.02 %, skew to 0.1 mrad, widths to 0.01 mm",
             apart["scale"] < 2e-4 and apart["skew"] < 0.1 and apart["width"] < 0.01,
             f"{100 * apart['scale']:.4f} %, {apart['skew']:.3f} mrad, {apart['width']:.4f} mm")
    return case


def black_and_white(folder, seed):
    """1 bit: the scale is as good, widths say how uncertain they are."""
    kit, rng = kit_of(folder), np.random.default_rng((5, seed))
    page = kit.busy(4)[seed % 4]
    true = tuple(rng.uniform(0.99, 1.003, 2))
    print_ = printed(kit, page, seed, scale=true)
    path = scanned(os.path.join(folder, f"bits-{seed}.png"), print_, rng, 300, kind="bilevel")
    case = Case(f"1 bit, seed {seed}")
    with Image.open(path) as image:
        case.add("is one", image.mode == "1")
    result = inspect(kit, path, "--scanner-uncertainty", "0.01")[1]
    worst, U = scale_off(result, true)
    case.add("scale to 0.02 %", worst is not None and worst <= 1.05
             and max(abs(result["scale"][a]["value"] - t) for a, t in zip("xy", true)) < 2e-4,
             f"{worst:.2f} U" if worst is not None else words(result))
    return case


# ---- sheets that aren't flat ----

def bent(folder, seed):
    """A cylinder: of 900 mm radius A4's long edges rise by 6 mm. Said, where it is no gentler than that;
    never "conforms" where the print is out of tolerance. The scale's U holds, and of a gentler bend
    the widths' U, too; of a strong one single widths may be farther off (it is said, and undecided)."""
    kit, rng = kit_of(folder), np.random.default_rng((6, seed))
    page = kit.busy(4)[seed % 4]
    print_ = printed(kit, page, seed, scale=(1.0, 0.992) if seed % 2 else (1.0, 1.0))
    radius = float(rng.choice([300, 500, 900] if seed % 4 < 2 else [2000, 4000, 8000]))
    degrees = float(rng.choice([0, 90, 40]))
    path = photographed(os.path.join(folder, f"bent-{seed}.jpg"), print_, rng, tilt=20,
                        bend=(degrees, rng.choice([-1, 1]) / radius, 105.0 if degrees == 0 else 148.0),
                        size=(3000, 2250))
    readings = [w for v in PAIRS for w in reading(kit, page - 1, print_, v, rng, 0.2)]
    result = inspect(kit, path, *readings)[1]
    case = Case(f"bent to {radius:.0f} mm about {degrees:.0f} degrees, seed {seed}")
    said = words(result)
    if radius < 1000:
        case.add("recognised and said", UNEVEN in said or "error" in result, said[:70])
    out = seed % 2
    case.add("not waved through", not (out and result.get("verdict") == "conforms"),
             str(result.get("verdict", "no pose")))
    worst, U = scale_off(result, print_.scale)
    if worst is not None:
        case.add("scale held by its U", worst <= 1.05, f"off by {worst:.2f} U, U {100 * U:.3f} %")
    if not out and result.get("lines"):
        ratios = [abs(l["width_mm"] - l["nominal_mm"]) / l["U_mm"] for l in result["lines"]]
        case.add("widths held by their U" if radius > 1000 else "widths",
                 np.mean(np.array(ratios) <= 1) >= 0.9 or radius < 1000,
                 f"worst of {len(ratios)} off by {max(ratios):.2f} U")
    return case


def flat(folder, seed):
    """Nothing of that is said of a flat sheet."""
    kit, rng = kit_of(folder), np.random.default_rng((7, seed))
    print_ = printed(kit, kit.busy(4)[seed % 4], seed)
    path = photographed(os.path.join(folder, f"flat-{seed}.jpg"), print_, rng, tilt=25, k1=0.06,
                        size=(3000, 2250))
    result = inspect(kit, path)[1]
    case = Case(f"flat, seed {seed}")
    case.add("no word of it", UNEVEN not in words(result) and "error" not in result,
             f"uneven {result.get('uneven_mm')} mm")
    return case


def run(job):
    which, folder, seed = job
    try:
        return which(folder, seed).checks
    except (RuntimeError, KeyError, TypeError, ValueError, IndexError) as error:
        return [(f"{which.__name__}, seed {seed}", False, f"{type(error).__name__}: {error}")]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--long", action="store_true")
    parser.add_argument("--seed", type=int, default=0)
    a = parser.parse_args()
    counts = ((scanners, 1, 12), (disagreeing, 1, 6), (resized, 1, 4), (contradicted, 1, 2),
              (ruler_alone, 1, 12), (paper_edges, 2, 16), (ways_round, 1, 4),
              (black_and_white, 1, 8), (bent, 3, 24), (flat, 1, 8))
    with tempfile.TemporaryDirectory() as folder:
        jobs = [(which, folder, a.seed + i) for which, quick, long in counts
                for i in range(long if a.long else quick)]
        with Pool(2) as pool:
            for found in pool.map(run, jobs, 1):
                for each in found:
                    expect(*each)
    return checks.finish("references")


if __name__ == "__main__":
    sys.exit(main())
