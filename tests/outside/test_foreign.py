#!/usr/bin/python3
"""Pictures by foreign.py, which shares nothing with the simulators: does pavior ever state with
confidence what is wrong? Not being able to tell is no mistake here.

    PAVIOR=build/pavior test_foreign.py [--draws N] [--seed N] [--only scan|photo] [--keep FOLDER] [--jobs N]"""
import argparse
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile

import numpy as np

import campaign
import checks
import foreign
from checks import expect

TOLERANCE_SCALE, TOLERANCE_SKEW = 0.003, 3.0
PHOTOS = ("card beside", "card on", "two cards", "no card", "visiting card", "no card")
KITS = ("quayside A4", "check36 A4", "proof A4", "breakwater A4")


def setting(seed):
    """Everything of a draw but the sheet."""
    rng = np.random.default_rng((seed, 5))
    scale = float(rng.choice([1.0, 1.0, 0.97, 1.006, 0.994]))
    sx, sy = scale, scale
    if rng.random() < 0.4:
        sy = scale * float(rng.choice([0.995, 1.005, 1.002]))
    skew = float(rng.choice([0, 0, 0, 2, -5]))
    if seed % 2:
        how = dict(kind="scan", scanner=str(rng.choice(["flatbed", "feeder"], p=[0.7, 0.3])),
                   turn=float(rng.normal(0, 1.5)), mode=str(rng.choice(["plain", "levels", "document", "sharp",
                                                                      "despeckle"])),
                   gray=bool(rng.random() < 0.3), dpi=int(rng.choice([150, 200, 300, 300, 300])),
                   quality=int(rng.choice([70, 85, 92])), said=bool(rng.random() < 0.7))
    else:
        how = dict(kind="photo", cards=PHOTOS[seed // 2 % len(PHOTOS)], tilt=float(rng.uniform(0, 30)),
                   lens=str(rng.choice(["rational", "fisheye", "none"])),
                   shape=str(rng.choice(["flat", "flat", "curl", "lifted", "waves"])),
                   light=str(rng.choice(["even", "two", "hand", "glare"])),
                   how=str(rng.choice(["plain", "phone", "hdr", "messenger"])), exif=bool(rng.random() < 0.7),
                   quality=int(rng.choice([75, 88, 95])))
    return rng, dict(sx=sx, sy=sy, skew=skew), how


def cards_of(word, size, rng):
    w, h = size
    side = [-rng.uniform(45, 60), rng.uniform(70, h - 70)] if rng.random() < 0.5 else \
        [w + rng.uniform(45, 60), rng.uniform(70, h - 70)]
    on = [rng.uniform(70, w - 70), rng.uniform(80, h - 80)]
    turn = float(rng.uniform(0, 180))
    return {"card beside": [("id1", side, turn)], "card on": [("id1", on, turn)],
            "two cards": [("id1", side, turn), (str(rng.choice(["visiting", "playing", "note"])), on, 20.0)],
            "visiting card": [(str(rng.choice(["visiting", "visiting-us", "playing", "photo", "phone"])), side,
                               turn)],
            "no card": [("pen", side, turn)] if rng.random() < 0.5 else []}[word]


def job(words):
    seed, kits, folder, keep = words
    rng, print_, how = setting(seed)
    kit = kits[KITS[rng.integers(len(KITS))]]
    page = int(rng.choice(kit.pages()))
    sheet = foreign.Sheet(kit.pdf, page + 1, rng=rng, spread=float(rng.choice([0, 0, 0.15, -0.1])), **print_)
    path = os.path.join(folder, f"foreign-{seed}.jpg")
    more = []
    if how["kind"] == "scan":
        limit = {"flatbed": (0.0015, 0.002), "feeder": (0.002, 0.006)}[how["scanner"]]
        off = tuple(1 + rng.uniform(-1, 1) * a for a in limit)
        how["off"] = off
        foreign.scan(sheet, rng, path, how["dpi"], off, how["turn"], how["mode"], how["gray"], how["quality"])
        if how["said"]:
            more = ["--scanner", how["scanner"]]
    else:
        cards = cards_of(how["cards"], sheet.size, rng)
        foreign.photograph(sheet, rng, path, how["tilt"], how["lens"], how["shape"], how["light"], how["how"],
                           cards, exif=how["exif"], quality=how["quality"])
    done = subprocess.run([campaign.PAVIOR, "inspect", "--plan", kit.plan_path, "--json", *more, path],
                          capture_output=True, text=True, timeout=300)
    if not keep:
        os.remove(path)
    words = f"{kit.name} {kit.plan.sheets[page]['name']} {print_} {how}"
    try:
        result = json.loads(done.stdout)[0]
    except (ValueError, IndexError):
        return seed, words, [f"crashed: {done.stderr[:200]}"], "?", None
    if "error" in result:
        return seed, words, [], "unusable: " + result["error"][:90], None
    return (seed, words, mistakes(result, print_, kit.plan.sheets[page]["name"]), result["verdict"],
            [r["kind"] for r in result["references"]])


def mistakes(result, print_, name):
    """What is stated and wrong."""
    found = []
    if result["sheet"] != name:
        found.append(f"taken for {result['sheet']}")

    def check(what, v, true, nominal, tolerance, key="value", U="U", verdict="verdict"):
        if not v or v.get(key) is None:
            return
        good = abs(true - nominal) <= tolerance
        said = v[verdict]
        if said == "conforms" and not good or said == "does not conform" and good:
            found.append(f"VERDICT {what} {said}: {v[key]:.5f} U {v[U]:.5f}, true {true:.5f}")
        elif abs(v[key] - true) > v[U]:
            found.append(f"{what} {v[key]:.5f} U {v[U]:.5f}, true {true:.5f} ({abs(v[key] - true) / v[U]:.1f} U)")

    for axis in "xy":
        check("scale " + axis, (result["scale"] or {}).get(axis), print_["s" + axis], 1, TOLERANCE_SCALE)
    check("skew", result["skew_mrad"], print_["skew"], 0, TOLERANCE_SKEW)
    if print_["sx"] == print_["sy"] and print_["skew"] == 0 and result["reference"]["kind"] != "none":
        for s in result["spacings"]:
            check(f"spacing {s['from']}-{s['to']}", s, s["nominal_mm"] * print_["sx"], s["nominal_mm"],
                  s["tolerance_mm"], "value_mm", "U_mm")
    return found


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--draws", type=int, default=3)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--only", default="")
    p.add_argument("--keep", help="folder in which pictures are left")
    p.add_argument("--jobs", type=int, default=2)
    a = p.parse_args()
    values = wrong = 0
    with tempfile.TemporaryDirectory() as temporary:
        folder = a.keep or temporary
        kits = campaign.make_kits(folder, KITS)
        with multiprocessing.Pool(a.jobs, maxtasksperchild=4) as pool:
            jobs = [(a.seed + i, kits, folder, bool(a.keep)) for i in range(a.draws)
                    if setting(a.seed + i)[2]["kind"].startswith(a.only)]
            for seed, words, found, verdict, references in pool.imap(job, jobs):
                values += 1
                wrong += any("VERDICT" in f or "taken" in f or "crashed" in f for f in found)
                print(f"  {seed}: {verdict}; {references}; {words}")
                for f in found[:6]:
                    print(f"      {f}")
                sys.stdout.flush()
    expect("no confident wrong answer", wrong == 0, f"({wrong} of {values} pictures)")
    return checks.finish("pictures made another way")


if __name__ == "__main__":
    sys.exit(main())
