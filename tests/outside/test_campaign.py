#!/usr/bin/python3
"""Prints drawn at random over everything that printers, scanners and phones do, inspected, and held
against the truth: do stated intervals hold it, are they no wider than they must be, are verdicts
right, is anything left undecided that need not be?

    PAVIOR=build/pavior test_campaign.py [--draws N] [--seed N] [--keep FOLDER] [--json F]
    test_campaign.py --judge F...

Every draw has a seed of its own, the first one's plus its number; --draws 400 is what the documents
tell of, in parts where need be (--only scan, --only photograph, each into its --json; --judge takes
the parts together). One draw again, with its picture: --seed S --draws 1 --keep FOLDER."""
import argparse
import json
import math
import multiprocessing
import sys
import tempfile
from collections import defaultdict

import numpy as np

import campaign
import checks
from checks import expect

HELD_MIN = 0.95  # of values of each kind
IDLE_MAX = 2.5  # U over the errors' own 95 % half-width
WRONG_MAX = 0.005
UNDECIDED_MAX = 0.15  # with a ruler or a card
KINDS = (("scale", "%", 100), ("width", "mm", 1), ("spacing", "mm", 1), ("skew", "mrad", 1))

def job(words):
    seed, kits, folder, keep, only = words
    try:
        draw = campaign.Draw(seed, kits)
        if only and only not in draw.device:
            return seed, None, None, 0.0, ""
        return campaign.run(draw, folder, keep)
    except Exception as error:  # a draw that can't be made is told with its seed
        return seed, f"simulation: {error!r}", None, 0.0, ""


def table(rows, what):
    print(f"\n  {what:34} {'n':>6} {'held':>7} {'U / P95':>8} {'median U':>9} {'P95 error':>9} {'worst':>9}")
    groups = defaultdict(list)
    for r in rows:
        if r.error is not None:
            groups[(r.kind, r.device, r.reference)].append(r)
            groups[(r.kind, "all", "")].append(r)
    for kind, unit, factor in KINDS:
        for key in sorted(k for k in groups if k[0] == kind):
            rs = groups[key]
            e = np.abs([r.error for r in rs]) * factor
            u = np.array([r.U for r in rs]) * factor
            print(f"  {kind + ' ' + unit:11} {key[1]:12} {key[2]:9} {len(rs):6} "
                  f"{100 * np.mean([r.held for r in rs]):6.1f}% {1 / max(np.percentile(e / u, 95), 1e-9):8.2f} "
                  f"{np.median(u):9.4f} {np.percentile(e, 95):9.4f} {e.max():9.4f}")


def allowed(share, n, sigmas=3):
    """A true share can show itself so far off in n draws."""
    return sigmas * math.sqrt(share * (1 - share) / max(n, 1))


def judge(rows, sheets):
    for kind, unit, factor in KINDS:
        rs = [r for r in rows if r.kind == kind and r.error is not None]
        if not rs:
            expect(f"{kind} was measured", False, "")
            continue
        held = np.mean([r.held for r in rs])
        draws = len({r.seed for r in rs})
        off = [f"{r.seed} {r.name} {r.error * factor:+.4f} U {r.U * factor:.4f}" for r in rs if not r.held]
        expect(f"{kind}: the stated interval holds the truth",
               held >= HELD_MIN - allowed(HELD_MIN, draws),
               f"({100 * held:.1f} % of {len(rs)} in {draws} draws; misses: {'; '.join(off[:8])})")
        wide = 1 / np.percentile([abs(r.error) / r.U for r in rs], 95)
        expect(f"{kind}: U is not idle", wide <= IDLE_MAX or draws < 100,
               f"(U is {wide:.2f} of the errors' own 95 % half-width, {IDLE_MAX} allowed)")
    wrong = [r for r in rows if (r.verdict == "conforms" and not r.good)
             or (r.verdict == "does not conform" and r.good)]
    share = len(wrong) / max(len(rows), 1)
    expect("wrong verdicts", share <= WRONG_MAX + allowed(WRONG_MAX, len(rows), 2),
           f"({100 * share:.2f} % of {len(rows)} values: "
           f"{'; '.join(f'{r.seed} {r.kind} {r.name} {r.verdict}' for r in wrong[:8])})")
    whole = [s for s in sheets if s[1] == "conforms" and not s[2]
             or s[1] == "does not conform" and s[2]]
    expect("wrong verdicts of whole sheets",
           len(whole) <= len(sheets) * (WRONG_MAX + allowed(WRONG_MAX, len(sheets), 2)),
           f"({len(whole)} of {len(sheets)}: {whole[:8]})")
    for reference in ("ruler", "card"):
        rs = [r for r in rows if r.reference == reference]
        part = np.mean([r.verdict == "undecided" for r in rs]) if rs else 0
        draws = len({r.seed for r in rs})
        expect(f"undecided with a {reference}", part <= UNDECIDED_MAX + allowed(UNDECIDED_MAX, draws),
               f"({100 * part:.1f} % of {len(rs)} values)")


class Results:
    """Records of all values, (seed, verdict, all values true?) of all sheets, (seed, found?) of all
    cards, (device, seconds) of all inspections."""

    def __init__(self):
        self.rows, self.sheets, self.cards, self.times = [], [], [], []

    def add(self, found, result, seconds):
        self.rows += found
        self.sheets.append(sheet_verdict(found, result))
        self.times.append((found[0].device, seconds))
        if found[0].reference == "card":
            kinds = [r["kind"] for r in result["references"]]
            self.cards.append((found[0].seed, "card" in kinds))

    def store(self, path):
        with open(path, "w", encoding="utf-8") as file:
            json.dump({"rows": [list(r) for r in self.rows], "sheets": self.sheets,
                       "cards": self.cards, "times": self.times}, file,
                      default=lambda v: v.item())

    def load(self, path):
        with open(path, encoding="utf-8") as file:
            data = json.load(file)
        self.rows += [campaign.Record(*r) for r in data["rows"]]
        self.sheets += data["sheets"]
        self.cards += data["cards"]
        self.times += data["times"]

    def tell(self):
        table(self.rows, "kind, device, reference")
        print()
        for device in sorted({d for d, _ in self.times}):
            t = [s for d, s in self.times if d == device]
            print(f"  {device:14} {len(t):4} draws, inspected in {np.median(t):.1f} s (median), {max(t):.1f} s")
        missed = [seed for seed, there in self.cards if not there]
        print(f"  cards found: {len(self.cards) - len(missed)} of {len(self.cards)}; not: {missed[:30]}")
        judge(self.rows, self.sheets)


def sheet_verdict(found, result):
    """(seed, verdict, is everything that was measured within tolerance?)"""
    return found[0].seed, result["verdict"], all(r.good for r in found)


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--draws", type=int, default=8)
    p.add_argument("--seed", type=int, default=1000, help="of the first draw")
    p.add_argument("--only", default="", help="draws whose device's name holds this")
    p.add_argument("--keep", help="folder in which pictures are left")
    p.add_argument("--json", help="all results into this file")
    p.add_argument("--judge", nargs="+", help="no draws, but such files together")
    p.add_argument("--processes", type=int, default=2)
    a = p.parse_args()
    results = Results()
    for path in a.judge or []:
        results.load(path)
    if not a.judge:
        draw_all(a, results)
    results.tell()
    return checks.finish("the campaign")


def draw_all(a, results):
    with tempfile.TemporaryDirectory() as temporary:
        folder = a.keep or temporary
        kits = campaign.make_kits(folder)
        jobs = [(a.seed + i, kits, folder, bool(a.keep), a.only) for i in range(a.draws)]
        with multiprocessing.Pool(a.processes, maxtasksperchild=8) as pool:
            for seed, found, result, seconds, words in pool.imap_unordered(job, jobs):
                if found is None:
                    continue
                if isinstance(found, str):
                    expect(f"draw {seed}", False, f"{found[:300]}\n      {words}")
                    continue
                results.add(found, result, seconds)
                if a.keep:
                    print(f"  {seed}: {words}")
                if len(results.sheets) % 20 == 0:
                    print(f"  ... {len(results.sheets)} draws", flush=True)
                    if a.json:
                        results.store(a.json)
    if a.json:
        results.store(a.json)


if __name__ == "__main__":
    sys.exit(main())
