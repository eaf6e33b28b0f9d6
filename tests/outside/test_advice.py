"""Does the advice for an undecided sheet decide it? Sheets that nothing tells the size of are inspected,
the distances that the report asks for are read off the simulated print with the noise that it allows,
and the sheet is inspected again: every scale and the skew must be decided, and rightly."""
import argparse
import json
import os
import sys
import tempfile

import numpy as np

import checks
import print_sim
from checks import expect
from desk import QUAYSIDE, Kit, pavior, photographed, reading, scanned

KINDS = ("photograph", "scan without resolution", "scan of unknown kind")
# Printed mm per nominal mm across and up, and mrad. Tolerances are 0.3 % and 3 mrad.
PRINTS = (((1.0004, 0.9995), 0.3, True), ((0.992, 0.9925), 0.2, False), ((1.0, 1.0003), 8.0, False))


def inspect(kit, *words):
    return json.loads(pavior("inspect", "--plan", kit.path, "--json", *words).stdout)[0]


def picture(kind, path, print_, rng):
    if kind == "photograph":
        return photographed(path + ".jpg", print_, rng, tilt=6, size=(4000, 3000))
    return scanned(path + ".png", print_, rng, 300, state=kind != "scan without resolution")


def follow(kit, kind, page, folder, seed, setup):
    scale, skew, true = setup
    rng = np.random.default_rng((11, seed))
    print_ = print_sim.Print(kit.page(page), seed, scale=scale, skew_mrad=skew)
    path = picture(kind, os.path.join(folder, "sheet"), print_, rng)
    name = f"{kind}, {'true' if true else 'not true'}, seed {seed}"
    first = inspect(kit, path)
    expect(f"{name}: undecided, and it says what to measure",
           first["verdict"] == "undecided" and len(first["measure"]) >= 2, first.get("advice", ""))
    readings = [w for step in first["measure"]
                for w in reading(kit, page - 1, print_, step["from"] + step["to"], rng, step["U_mm"])]
    again = inspect(kit, path, *readings)
    verdicts = [again["scale"]["x"]["verdict"], again["scale"]["y"]["verdict"],
                again["skew_mrad"]["verdict"]]
    right = "conforms" if true else "does not conform"
    expect(f"{name}: the readings decide it", again["verdict"] == right,
           f"{again['verdict']}: {verdicts}; {again.get('answer', '')} {again.get('advice', '')}")
    for axis, truth in zip("xy", scale):
        v = again["scale"][axis]
        expect(f"{name}: scale {axis} within 1.5 U", abs(v["value"] - truth) <= 1.5 * v["U"],
               f"{v['value']} for {truth}, U {v['U']}")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--long", action="store_true")
    parser.add_argument("--seed", type=int, default=0)
    a = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        kit = Kit(folder, "quayside", QUAYSIDE)
        for i in range(12 if a.long else 1):
            page = kit.busy(4)[(a.seed + i) % 4]
            for k, kind in enumerate(KINDS):
                for s, setup in enumerate(PRINTS):
                    if a.long or s == 0 or s == 1 + (k + i) % 2 and k > 0:
                        follow(kit, kind, page, folder, a.seed + i, setup)
    return checks.finish("advice")


if __name__ == "__main__":
    sys.exit(main())
