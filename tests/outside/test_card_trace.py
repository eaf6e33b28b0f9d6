"""Cards in traced pictures (card_trace.py): right, or silent. Of each condition by itself: beside the print,
on it, between sheet and glass, and cards that are no ID-1 card.

    test_card_trace.py               # some
    test_card_trace.py --draws 100   # so many of each condition
    test_card_trace.py --keep DIR    # pictures stay, and are used again

A card is found and right where the truth lies within U; or said to be there and not used; or not found."""
import argparse
import json
import math
import multiprocessing
import os
import subprocess
import sys
import tempfile

import cv2
import numpy as np

import card_trace
import checks
from checks import expect

PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
LAYOUT = os.path.join(os.path.dirname(__file__), "..", "..", "layouts", "quayside.course")
TOLERANCE = 0.3  # % of scale, as courses have it
SHEETS = 28


def make(job):
    """One picture and its truth."""
    kind, seed, pdf, folder = job
    cv2.setNumThreads(1)
    path = os.path.join(folder, f"{kind}-{seed}.jpg")
    known = path[:-4] + ".truth.json"
    if not os.path.exists(known):
        truth = card_trace.trace(seed, kind, pdf, 1 + (7 * seed) % SHEETS, path)
        with open(known, "w", encoding="utf-8") as file:
            json.dump(truth, file)
    with open(known, encoding="utf-8") as file:
        return path, json.load(file)


def run(job):
    kind, seed, pdf, folder, keep = job
    path, truth = make((kind, seed, pdf, folder))
    ran = subprocess.run([PAVIOR, "inspect", "--json", "--plan", pdf[:-4] + ".plan.json", path],
                         capture_output=True, text=True, check=False)
    result = json.loads(ran.stdout)[0]
    if not keep:
        os.remove(path)
    return {"kind": kind, "seed": seed, "truth": truth, **judged(truth, result)}


def judged(truth, result):
    """What was said of the card: (error, U) in % of each axis, where it was used."""
    if "error" in result:
        return {"said": "unread", "why": result["error"], "axes": []}
    cards = [r for r in result["references"] if r["kind"] == "card"]
    notes = [n for n in result["notes"] if "card" in n and "not used" in n]
    if not cards:
        return {"said": "unused" if notes else "silent", "axes": [], "why": "".join(notes)}
    if not cards[0].get("used", True):
        return {"said": "unused", "axes": [], "why": "".join(notes)}
    axes = [[100 * (cards[0][axis]["value"] / truth["scale"][i] - 1), 100 * cards[0][axis]["U"]]
            for i, axis in enumerate("xy")]
    return {"said": "used", "axes": axes, "why": "".join(notes),
            "wrong": [i for i in range(2) if abs(axes[i][0]) > axes[i][1]]}


def tell(kind, found, far_most):
    """Prints a condition's results, and holds them against their bars."""
    n = len(found)
    said = {w: sum(f["said"] == w for f in found) for w in ("used", "unused", "silent", "unread")}
    axes = np.array([a for f in found for a in f["axes"]]).reshape(-1, 2)
    print(f"{kind}: {n} pictures; card used in {said['used']}, said and not used in {said['unused']}, "
          f"no word of it in {said['silent']}, picture not usable {said['unread']}")
    for f in found:
        for i in f.get("wrong", []):
            e, U = f["axes"][i]
            t = f["truth"]
            print(f"    outside U: {kind} {f['seed']} {'xy'[i]} {e:+.3f} %, U {U:.3f} "
                  f"({t['colour']} card, rim {t['rim']}, {t['place']})")
    if not len(axes):
        return
    error, U = axes.T
    inside = np.mean(np.abs(error) <= U)
    print(f"  error: mean {error.mean():+.3f}, median size {np.median(np.abs(error)):.3f}, worst "
          f"{np.abs(error).max():.3f} %; U: median {np.median(U):.3f}, 90 % {np.percentile(U, 90):.3f} %; "
          f"U below {TOLERANCE} % of {100 * np.mean(U < TOLERANCE):.0f} %")
    # So few values may be off by chance; those of one picture share their errors.
    least = 0.95 - (0 if n >= 40 else 2 * math.sqrt(0.95 * 0.05 / n))
    expect(f"{kind}: truth within U", inside >= least,
           f"{100 * inside:.1f} % of {len(axes)} (at least {100 * least:.0f} %)")
    far = np.mean(np.abs(error) > 1.5 * U)
    expect(f"{kind}: none far outside", far <= far_most,
           f"{100 * far:.1f} % beyond 1.5 U (at most {100 * far_most:.0f} %)")


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    p.add_argument("--draws", type=int, default=1, help="of each condition")
    p.add_argument("--seed", type=int, default=0, help="the first")
    p.add_argument("--kind", choices=card_trace.KINDS, action="append")
    p.add_argument("--json", metavar="FILE")
    p.add_argument("--jobs", type=int, default=2)
    p.add_argument("--keep", metavar="DIR")
    a = p.parse_args()
    kinds = a.kind or ["beside", "on", "scan"]
    far_most = 0.01 if a.draws >= 40 else 0.0
    every = []
    with tempfile.TemporaryDirectory() as made, multiprocessing.Pool(a.jobs) as pool:
        folder = a.keep or made
        pdf = os.path.join(folder, "q.pdf")
        if not os.path.exists(pdf):
            subprocess.run([PAVIOR, "sheets", "--no-guide", LAYOUT, "--paper", "A4", "-o", pdf, "--quiet"], check=True)
        for kind in kinds:
            jobs = [(kind, a.seed + i, pdf, folder, bool(a.keep)) for i in range(a.draws)]
            found = pool.map(run, jobs, chunksize=1)
            tell(kind, found, far_most)
            every += found
    if a.json:
        with open(a.json, "w", encoding="utf-8") as file:
            json.dump(every, file)
    return checks.finish("traced cards")


if __name__ == "__main__":
    sys.exit(main())
