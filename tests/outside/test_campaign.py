#!/usr/bin/python3
"""Prints drawn at random over everything that printers, scanners and phones do, inspected, and held
against the truth: do stated intervals hold it, are they no wider than they must be, are verdicts
right, is anything left undecided that need not be?

    PAVIOR=build/pavior test_campaign.py [--draws N] [--seed N] [--keep FOLDER] [--json F]

Every draw has a seed of its own, the first one's plus its number; --draws 400 is what the documents
tell of. One draw again, with its picture: --seed S --draws 1 --keep FOLDER."""
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

HELD_MIN = 0.95  # of values of each kind
IDLE_MAX = 2.5  # U over the errors' own 95 % half-width
WRONG_MAX = 0.005
UNDECIDED_MAX = 0.15  # with a ruler or a card
KINDS = (("scale", "%", 100), ("width", "mm", 1), ("spacing", "mm", 1), ("skew", "mrad", 1))

failures = []


def expect(what, good, detail):
    print(f"  {what}: {'yes' if good else 'FAILED'} {detail}")
    if not good:
        failures.append(what)


def job(words):
    seed, kits, folder, keep = words
    try:
        return campaign.run(campaign.Draw(seed, kits), folder, keep)
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
    print(f"  sheets: {len(sheets)}, wrong verdicts {len(whole)} {whole[:8]}")
    for reference in ("ruler", "card"):
        rs = [r for r in rows if r.reference == reference]
        part = np.mean([r.verdict == "undecided" for r in rs]) if rs else 0
        draws = len({r.seed for r in rs})
        expect(f"undecided with a {reference}", part <= UNDECIDED_MAX + allowed(UNDECIDED_MAX, draws),
               f"({100 * part:.1f} % of {len(rs)} values)")


def store(rows, path):
    with open(path, "w", encoding="utf-8") as file:
        json.dump([r._asdict() for r in rows], file, default=lambda v: v.item())


def sheet_verdict(found, result):
    """(seed, verdict, is everything that was measured within tolerance?)"""
    return found[0].seed, result["verdict"], all(r.good for r in found)


# Large arrays come and go: the C library is told to keep their memory, or half of the time goes into
# handing it back.
HEAP = {"MALLOC_MMAP_MAX_": "0", "MALLOC_TRIM_THRESHOLD_": "100000000000",
        "MALLOC_TOP_PAD_": "268435456"}


def main():
    if any(name not in os.environ for name in HEAP):
        os.execve(sys.executable, [sys.executable] + sys.argv, {**os.environ, **HEAP})
    p = argparse.ArgumentParser()
    p.add_argument("--draws", type=int, default=16)
    p.add_argument("--seed", type=int, default=1000, help="of the first draw")
    p.add_argument("--keep", help="folder in which pictures are left")
    p.add_argument("--json", help="every record into this file")
    p.add_argument("--processes", type=int, default=2)
    a = p.parse_args()
    rows, sheets, times, found_card = [], [], defaultdict(list), []
    with tempfile.TemporaryDirectory() as temporary:
        folder = a.keep or temporary
        kits = campaign.make_kits(folder)
        jobs = [(a.seed + i, kits, folder, bool(a.keep)) for i in range(a.draws)]
        with multiprocessing.Pool(a.processes, maxtasksperchild=8) as pool:
            for seed, found, result, seconds, words in pool.imap_unordered(job, jobs):
                if isinstance(found, str):
                    expect(f"draw {seed}", False, f"{found[:300]}\n      {words}")
                    continue
                rows += found
                sheets.append(sheet_verdict(found, result))
                if found[0].reference == "card":
                    kinds = [r["kind"] for r in result["references"]]
                    found_card.append((seed, "card" in kinds))
                times[found[0].device].append(seconds)
                if a.keep:
                    print(f"  {seed}: {words}")
                if a.json and len(sheets) % 25 == 0:
                    store(rows, a.json)
                if len(sheets) % 25 == 0:
                    print(f"  ... {len(sheets)} draws", flush=True)
    table(rows, "kind, device, reference")
    print()
    for device, t in sorted(times.items()):
        print(f"  {device:14} {len(t):4} draws, inspected in {np.median(t):.1f} s (median), {max(t):.1f} s")
    missed = [seed for seed, there in found_card if not there]
    print(f"  cards found: {len(found_card) - len(missed)} of {len(found_card)}; not: {missed[:30]}")
    if a.json:
        store(rows, a.json)
    judge(rows, sheets)
    if failures:
        print("the campaign: FAILED: " + ", ".join(failures))
        return 1
    print("the campaign: all true")
    return 0


if __name__ == "__main__":
    sys.exit(main())
