#!/usr/bin/python3
"""Prints drawn at random over everything that printers, scanners and phones do, inspected, and held
against the truth, for each reference by itself: do stated intervals hold it, are verdicts right, is
anything left undecided that need not be, are intervals no wider than they must be?

    PAVIOR=build/pavior test_campaign.py [--draws N] [--seed N] [--jobs N] [--json F] [--keep FOLDER]
    test_campaign.py --judge F...

Every draw has a seed of its own, the first one's plus its number. --json keeps each draw as a line of
F; started again with the same F, it makes only the draws that F lacks. From 300 draws on, shares are
judged as they are, each reference by itself; with fewer all references together, and a share may be off
by chance. --judge takes such files together. One draw again, with its picture: --seed S --draws 1 --keep
FOLDER."""
import argparse
import json
import math
import multiprocessing
import os
import sys
import tempfile
from collections import defaultdict

import numpy as np

import campaign
import checks
from checks import expect

HELD_MIN = 0.95  # of values of each kind, with each reference
IDLE_MAX = 2.5  # U over the errors' own 95 % half-width
WRONG_MAX = 0.005
UNDECIDED_MAX = 0.15  # with a ruler or a card
MANY = 300  # draws from which on chance is no excuse
KINDS = (("scale", "%", 100), ("skew", "mrad", 1), ("width", "mm", 1), ("spacing", "mm", 1),
         ("straightness", "mm", 1), ("ink", "mm", 1))
REFERENCES = list(dict.fromkeys(case.reference for case in campaign.CASES))


def job(words):
    seed, kits, folder, keep = words
    return campaign.run(seed, kits, folder, keep)


class Draws:
    """All draws as campaign.run gives them, and their rows as campaign.Record."""

    def __init__(self, path=None):
        self.draws, self.path = {}, path

    def add(self, draw, store=True):
        draw["rows"] = [campaign.Record(*r) for r in draw["rows"]]
        self.draws[draw["seed"]] = draw
        if self.path and store:
            with open(self.path, "a", encoding="utf-8") as file:
                file.write(json.dumps(draw, default=lambda v: v.item()) + "\n")

    def load(self, path):
        with open(path, encoding="utf-8") as file:
            for line in file:
                if line.endswith("}\n"):  # a draw that was cut off is made again
                    self.add(json.loads(line), store=False)

    def rows(self, reference=None):
        return [r for d in self.draws.values() if reference in (None, d["reference"]) for r in d["rows"]]

    def of(self, reference=None):
        return [d for d in self.draws.values() if reference in (None, d["reference"])]


# ---- what is told ----

def table(draws):
    print(f"\n  {'reference':16} {'device':10} {'kind':24} {'n':>5} {'held':>7} {'U/P95':>6} "
          f"{'median U':>9} {'P95 error':>9} {'worst':>8} {'undec.':>7} {'wrong':>5}")
    factors = {kind: (unit, factor) for kind, unit, factor in KINDS}
    groups = defaultdict(list)
    for r in draws.rows():
        groups[(r.reference, r.device, r.kind)].append(r)
    for key in sorted(groups):
        rs = groups[key]
        unit, factor = factors[key[2].split(" by the ")[0]]
        known = [r for r in rs if r.error is not None]
        judged = [r for r in rs if r.verdict is not None]
        undecided = f"{100 * np.mean([r.verdict == 'undecided' for r in judged]):6.1f}%" if judged else ""
        said = ""
        if known:
            e = np.abs([r.error for r in known]) * factor
            u = np.array([r.U for r in known]) * factor
            said = f"{100 * np.mean([r.held for r in known]):6.1f}% {idleness(known):6.2f} " \
                   f"{np.median(u):9.4f} {np.percentile(e, 95):9.4f} {e.max():8.4f}"
        print(f"  {key[0]:16} {key[1]:10} {key[2] + ' ' + unit:24} {len(known):5} {said:43} {undecided:>7} "
              f"{sum(map(wrong, rs)) or '':>5}")


def idleness(rows):
    return 1 / max(np.percentile([abs(r.error) / r.U for r in rows], 95), 1e-9)


def wrong(r):
    return r.verdict == "conforms" and not r.good or r.verdict == "does not conform" and r.good


def sheet_good(draw):
    """Is everything within tolerance that was measured and judged?"""
    return all(r.good for r in draw["rows"] if r.verdict is not None)


def sheet_wrong(draw):
    return draw["verdict"] == "conforms" and not sheet_good(draw) \
        or draw["verdict"] == "does not conform" and sheet_good(draw)


def sheets(draws):
    print(f"\n  {'reference':16} {'draws':>5} {'unusable':>8} {'other sheet':>11} {'conforms':>8} "
          f"{'does not':>8} {'undecided':>9} {'wrong':>5} {'found':>6} {'cpu s':>6}")
    for reference in REFERENCES:
        ds = draws.of(reference)
        if not ds:
            continue
        verdicts = [d["verdict"] for d in ds]
        bad = [d["error"] or "" for d in ds]
        word = reference.split()[0]
        found = sum(word in d["found"] for d in ds)
        print(f"  {reference:16} {len(ds):5} {sum(b.startswith('unusable') for b in bad):8} "
              f"{sum(b.startswith('taken') for b in bad):11} {verdicts.count('conforms'):8} "
              f"{verdicts.count('does not conform'):8} {verdicts.count('undecided'):9} "
              f"{sum(map(sheet_wrong, ds)):5} {found:6} {np.mean([d['cpu'] for d in ds]):6.1f}")
    again = [f"{d['seed']}: {why}" for d in draws.of() for why in d["again"]]
    print(f"  drawn again, since it could not be simulated: {again or 'none'}")
    for d in draws.of():
        if d["error"]:
            print(f"  {d['seed']} {d['reference']}: {d['error'][:200]}")


def markdown(draws):
    """The table of docs/how/uncertainty.md, section 10."""
    kinds = [kind for kind, _, _ in KINDS]
    print(f"\n| reference | draws | {' | '.join(kinds)} | undecided values | wrong verdicts |")
    print("|" + "---|" * (len(kinds) + 4))
    for reference in REFERENCES:
        rows, cells = draws.rows(reference), []
        for kind in kinds:
            rs = [r for r in rows if r.kind == kind and r.error is not None]
            cells.append(f"{100 * np.mean([r.held for r in rs]):.1f} % of {len(rs)}" if rs else "")
        judged = [r for r in rows if r.verdict is not None]
        undecided = 100 * np.mean([r.verdict == "undecided" for r in judged]) if judged else 0
        bad = sum(map(wrong, judged)) + sum(map(sheet_wrong, draws.of(reference)))
        print(f"| {reference} | {len(draws.of(reference))} | {' | '.join(cells)} | {undecided:.1f} % | {bad} |")


# ---- what is judged ----

def allowed(share, n, sigmas=3):
    """By how much a true share can be off in n draws; nothing where there are many."""
    return sigmas * math.sqrt(share * (1 - share) / max(n, 1))


def judge(draws):
    chance = 1 if len(draws.draws) < MANY else 0
    for reference in [None] if chance else REFERENCES:
        judge_intervals(reference or "all references", draws.rows(reference), chance)
    rows, all_sheets = [r for r in draws.rows() if r.verdict is not None], draws.of()
    bad = [r for r in rows if wrong(r)]
    expect("wrong verdicts of values", len(bad) <= len(rows) * (WRONG_MAX + chance * allowed(WRONG_MAX, len(rows))),
           f"({len(bad)} of {len(rows)}: {'; '.join(f'{r.seed} {r.kind} {r.name} {r.verdict}' for r in bad[:8])})")
    bad = [d for d in all_sheets if sheet_wrong(d)]
    expect("wrong verdicts of sheets",
           len(bad) <= len(all_sheets) * (WRONG_MAX + chance * allowed(WRONG_MAX, len(all_sheets))),
           f"({len(bad)} of {len(all_sheets)}: {[(d['seed'], d['verdict']) for d in bad[:8]]})")
    taken = [d["seed"] for d in all_sheets if (d["error"] or "").startswith("taken")]
    expect("no sheet is taken for another", not taken, f"({taken})")
    for reference in REFERENCES:
        if reference.startswith(("card", "ruler")):
            rs = [r for r in draws.rows(reference) if r.verdict is not None]
            ds = draws.of(reference)
            part = np.mean([r.verdict == "undecided" for r in rs]) if rs else 0
            sheet = sum(d["verdict"] in ("undecided", None) for d in ds)
            expect(f"{reference}: undecided values",
                   part <= UNDECIDED_MAX + chance * allowed(UNDECIDED_MAX, len(ds)),
                   f"({100 * part:.1f} % of {len(rs)}; {sheet} of {len(ds)} sheets undecided or unusable)")


def judge_intervals(reference, rows, chance):
    for kind in sorted({r.kind for r in rows}):
        rs = [r for r in rows if r.kind == kind and r.error is not None]
        if not rs:
            continue
        held, n = np.mean([r.held for r in rs]), len({r.seed for r in rs})
        off = [f"{r.seed} {r.name} {r.error:+.4g} U {r.U:.4g}" for r in rs if not r.held]
        expect(f"{reference}, {kind}: the stated interval holds the truth",
               held >= HELD_MIN - chance * allowed(HELD_MIN, n),
               f"({100 * held:.1f} % of {len(rs)} in {n} draws; misses: {'; '.join(off[:6])})")


def judge_width(draws):
    """U of what the picture itself tells must not be idle. That of scanner and paper is a limit of
    their kind, and wide of need."""
    for kind in ("width", "spacing", "scale by the card"):
        rs = [r for r in draws.rows() if r.kind == kind and r.error is not None
              and not (kind == "spacing" and not r.reference.startswith("card"))]
        if len({r.seed for r in rs}) >= 100:
            expect(f"{kind}: U is not idle", idleness(rs) <= IDLE_MAX,
                   f"(U is {idleness(rs):.2f} of the errors' own 95 % half-width, {IDLE_MAX} allowed)")


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--draws", type=int, default=len(campaign.CASES))
    p.add_argument("--seed", type=int, default=1000, help="of the first draw")
    p.add_argument("--only", default="", help="draws whose reference's name begins so")
    p.add_argument("--keep", help="folder in which pictures are left")
    p.add_argument("--json", help="each draw as a line of this file, those there are kept")
    p.add_argument("--judge", nargs="+", help="no draws, but such files together")
    p.add_argument("--markdown", action="store_true", help="also the table of the documents")
    p.add_argument("--jobs", type=int, default=2)
    a = p.parse_args()
    draws = Draws(a.json)
    for path in a.judge or [a.json]:
        if path and os.path.exists(path):
            draws.load(path)
    if not a.judge:
        draw_all(a, draws)
    table(draws)
    sheets(draws)
    if a.markdown:
        markdown(draws)
    judge(draws)
    judge_width(draws)
    return checks.finish("the campaign")


def draw_all(a, draws):
    with tempfile.TemporaryDirectory() as temporary:
        folder = a.keep or temporary
        kits = campaign.make_kits(folder)
        seeds = [s for s in range(a.seed, a.seed + a.draws) if s not in draws.draws
                 and campaign.CASES[s % len(campaign.CASES)].reference.startswith(a.only)]
        jobs = [(seed, kits, folder, bool(a.keep)) for seed in seeds]
        with multiprocessing.Pool(a.jobs, maxtasksperchild=8) as pool:
            for draw in pool.imap_unordered(job, jobs):
                draws.add(draw)
                if a.keep:
                    print(f"  {draw['seed']}: {draw['words']} {draw['options']}")
                if len(draws.draws) % 20 == 0:
                    print(f"  ... {len(draws.draws)} draws", flush=True)


if __name__ == "__main__":
    sys.exit(main())
