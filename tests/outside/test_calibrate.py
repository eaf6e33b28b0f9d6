#!/usr/bin/python3
"""The loop: a proof is printed by a simulated printer, scanned, inspected, and the printer calibrated;
sheets corrected for it are printed by the same printer, scanned by a true scanner, and inspected.

    test_calibrate.py [--long] [--seed N]     (environment: PAVIOR)"""
import argparse
import json
import os
import sys
import tempfile
from multiprocessing import Pool

import numpy as np

import card_sim
import checks
import print_sim
from checks import expect
from desk import (CHECK, PAIRS, QUAYSIDE, Kit, inspect, pavior,
                  photographed, reading, scanned)

# What the loop must show.
PRINTER = dict(scale=(0.989, 0.996), skew_mrad=2.0, gain=0.06)
SCALE_MAX = 0.0003
WIDTH_MAX = 0.03  # mm
SKEW_MAX = 0.1  # mrad: no bar is given for it
RULER_U = 0.15  # mm


class Loop:
    """One printer and how its proof is measured. reference: "scanner" (a true one), "ruler" (a scan
    that states nothing, and readings of both longest bars), "card" (a photograph with a card in its
    outline)."""

    def __init__(self, folder, name, seed, printer, reference="scanner", dpi=300):
        self.folder, self.name, self.seed = folder, name, seed
        self.printer, self.reference, self.dpi = printer, reference, dpi
        self.rng = np.random.default_rng((5, seed))
        self.proof = Kit(folder, f"{name}-proof", "--proof")
        self.file = os.path.join(folder, f"{name}.json")
        self.rounds = []

    def at(self, name):
        return os.path.join(self.folder, f"{self.name}-{name}")

    def printed(self, kit, page, colour=False):
        return print_sim.Print(kit.page(page, colour), self.seed, **self.printer)

    def measured_proof(self):
        print_ = self.printed(self.proof, 1)
        if self.reference == "card":
            x0, y0, x1, y1 = self.proof.plan["sheets"][0]["card"]
            middle = print_.to_plane([(x0 + x1) / 2, (y0 + y1) / 2])[0] + self.rng.normal(0, 0.4, 2)
            card = card_sim.Card(self.rng, middle, self.rng.normal(0, 0.5))
            image, more = photographed(self.at("proof.jpg"), print_, self.rng, card), []
        elif self.reference == "ruler":
            image = scanned(self.at("proof.png"), print_, self.rng, self.dpi, state=False)
            more = [w for v in PAIRS
                    for w in reading(self.proof, 0, print_, v, self.rng, RULER_U)]
        else:
            image = scanned(self.at("proof.png"), print_, self.rng, self.dpi)
            more = ["--scanner-uncertainty", "0.01"]
        return inspect(self.proof, image, *more)[1]

    def calibrate(self, *results):
        """The printer file, from inspections."""
        report = self.at("report.json")
        with open(report, "w", encoding="utf-8") as file:
            json.dump(results, file)
        done = pavior("calibrate", report, "-o", self.file, "--name", self.name)
        if done.returncode != 0:
            raise RuntimeError(f"{self.name}: {done.stderr}")
        with open(self.file, encoding="utf-8") as file:
            self.rounds.append(json.load(file))
        return self.rounds[-1]

    def corrected(self, course, rank, colour=False, dpi=300):
        """A corrected sheet, of those that show most lines, as a true scanner sees it."""
        kit = Kit(self.folder, f"{self.name}-{os.path.basename(course)}", course, "--printer", self.file)
        page = kit.busy(rank + 1)[rank]
        image = scanned(self.at(f"sheet{page}.png"), self.printed(kit, page, colour), self.rng, dpi,
                        kind="colour" if colour else "gray")
        return inspect(kit, image, "--scanner-uncertainty", "0.01")[1]


def off(result):
    """By how much a sheet is out: scales, skew, widths and spacings."""
    if "error" in result:
        raise RuntimeError(f"{result['file']}: {result['error']}")
    widths = sorted(((l["width_mm"] - l["nominal_mm"], l["id"]) for l in result["lines"]),
                    key=lambda w: -abs(w[0]))
    scales = {a: result["scale"][a]["value"] - 1 for a in "xy"}
    return {"scale": max(abs(v) for v in scales.values()), "scales": scales,
            "skew": abs(result["skew_mrad"]["value"]), "width": widths[0], "lines": len(widths),
            "spacing": max((abs(s["value_mm"] / s["nominal_mm"] - 1) for s in result["spacings"]),
                           default=0),
            "verdict": result["verdict"], "sheet": result["sheet"]}


def file_holds(loop, printer):
    """For each property of a printer's file by how much it is off the truth, in U, and U; those left
    out that were not measured."""
    file, out = loop.rounds[-1], {}
    for key, v, true in (("x", file["scale"]["x"], printer["scale"][0]),
                         ("y", file["scale"]["y"], printer["scale"][1]),
                         ("skew", file["skew_mrad"], printer["skew_mrad"]),
                         ("ink", file["ink_mm"], printer["gain"])):
        if v["U"] is not None and v["U"] > 0:
            out[key] = round((v["value"] - true) / v["U"], 3), v["U"]
    return out


def the_loop(folder, seed, long):
    """The printer of the bar: several sheets, and a second round from one of them."""
    loop = Loop(folder, "bar", seed, PRINTER)
    loop.calibrate(loop.measured_proof())
    said = [("file", file_holds(loop, PRINTER))]
    pages = [(QUAYSIDE, 0, True), (CHECK, 0, False), (QUAYSIDE, 1, False)]
    if long:
        pages += [(CHECK, 2, True), (QUAYSIDE, 2, True), (QUAYSIDE, 3, True), (QUAYSIDE, 4, False)]
    results = [loop.corrected(*p) for p in pages]
    said += [("sheet", off(r)) for r in results]
    loop.calibrate(*results)
    said.append(("file again", file_holds(loop, PRINTER)))
    said.append(("sheet again", off(loop.corrected(CHECK, 1))))
    return said


def at_600(folder, seed, long):
    loop = Loop(folder, "fine", seed, PRINTER, dpi=600)
    loop.calibrate(loop.measured_proof())
    said = [("file", file_holds(loop, PRINTER)), ("sheet", off(loop.corrected(CHECK, 0, dpi=600)))]
    if long:
        said.append(("sheet", off(loop.corrected(QUAYSIDE, 0, dpi=600))))
    return said


def any_printer(folder, seed, long):
    rng = np.random.default_rng((6, seed))
    printer = dict(scale=tuple(rng.uniform(0.965, 1.01) * (1 + rng.normal(0, 0.003, 2))),
                   skew_mrad=rng.uniform(-4, 4), gain=rng.uniform(-0.03, 0.1))
    reference = ["card", "ruler", "scanner"][seed % 3]
    loop = Loop(folder, f"{reference}{seed}", seed, printer, reference)
    loop.calibrate(loop.measured_proof())
    said = [("file", file_holds(loop, printer))]
    kind = "sheet" if reference == "scanner" else f"sheet by {reference}"
    corrected = {a: v["corrected"] for a, v in loop.rounds[-1]["scale"].items()}
    allowed = {a: loop.rounds[-1]["scale"][a]["U"] + SCALE_MAX for a in "xy" if corrected[a]}
    sheets = [loop.corrected(QUAYSIDE, 0)] + ([loop.corrected(CHECK, 0, True)] if long else [])
    return said + [(kind, {**off(sheet), "allowed": allowed}) for sheet in sheets]


def run(job):
    which, folder, seed, long = job
    try:
        return which.__name__, seed, which(folder, seed, long), ""
    except (RuntimeError, KeyError, TypeError, ValueError) as error:
        return which.__name__, seed, [], f"{type(error).__name__}: {error}"


# ---- what must be refused ----

def refusals(folder):
    loop = Loop(folder, "refused", 1, PRINTER)
    print_ = loop.printed(loop.proof, 1)
    nothing = scanned(loop.at("nothing.png"), print_, loop.rng, 200, state=False)
    photo = photographed(loop.at("photo.jpg"), print_, loop.rng, size=(3000, 2250))
    true = print_sim.Print(loop.proof.page(1), 1)
    good = scanned(loop.at("true.png"), true, loop.rng, 200)
    fitted = print_sim.Print(loop.proof.page(1), 1, scale=(0.88, 0.88))
    shrunk = scanned(loop.at("shrunk.png"), fitted, loop.rng, 200)
    for what, image, word in (("a scan that states no resolution", nothing, "no length reference"),
                              ("a printer that is true", good, "support no correction"),
                              ("a page shrunk to 88 %", shrunk, "no length reference"),
                              ("a photograph without a card", photo, None)):
        report, out = loop.at("refuse.json"), loop.at("refused-printer.json")
        with open(report, "w", encoding="utf-8") as file:
            json.dump([inspect(loop.proof, image)[1]], file)
        done = pavior("calibrate", report, "-o", out)
        if word is not None:
            refused = done.returncode == 65 and word in done.stderr and not os.path.exists(out)
            expect(f"{what} gives no printer's file", refused, f"status {done.returncode}")
            continue
        # The paper's edges tell the scale to a per cent: enough for the ink, not for the scale.
        with open(out, encoding="utf-8") as file:
            scale = json.load(file)["scale"]
        expect(f"{what} corrects no scale", not scale["x"]["corrected"] and not scale["y"]["corrected"],
               f"U {scale['x']['U']} and {scale['y']['U']}")


# ---- figures ----

def judge(results):
    worst = {}
    for which, seed, said, error in results:
        expect(f"{which} {seed} goes through", not error, error)
        for kind, found in said:
            print(f"    {kind}: {found}")
            worst.setdefault(kind, []).append(found)
    for kind, found in worst.items():
        if kind.startswith("file"):
            ratios = [abs(v[0]) for f in found for v in f.values()]
            held = np.mean(np.array(ratios) <= 1)
            expect(f"{kind}: {len(ratios)} values, held by their U", held >= 0.9,
                   f"{100 * held:.0f} %, worst {max(ratios):.2f} U")
            continue
        scale, skew = max(f["scale"] for f in found), max(f["skew"] for f in found)
        width = max((f["width"] for f in found), key=lambda w: abs(w[0]))
        words = f"{100 * scale:.4f} %, {skew:.3f} mrad, {width[0]:+.4f} mm ({width[1]})"
        if "by" in kind:
            within = [abs(f["scales"][a]) / most for f in found for a, most in f["allowed"].items()]
            expect(f"{kind}, {len(found)}: {len(within)} scales as good as the printer's file says",
                   np.mean(np.array(within or [0]) <= 1) >= 0.9, words)
            # Where the scale is off, widths are, too.
            continue
        expect(f"{kind}, {len(found)}: scale within {100 * SCALE_MAX:.2f} %, widths within {WIDTH_MAX} mm",
               scale <= SCALE_MAX and abs(width[0]) <= WIDTH_MAX and skew <= SKEW_MAX, "worst " + words)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--long", action="store_true")
    parser.add_argument("--seed", type=int, default=0)
    a = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        jobs = [(the_loop, folder, a.seed, a.long), (at_600, folder, a.seed, a.long)]
        jobs += [(any_printer, folder, a.seed + i, a.long) for i in range(24 if a.long else 3)]
        with Pool(2) as pool:
            judge(pool.map(run, jobs, 1))
        refusals(folder)
    return checks.finish("calibrating")


if __name__ == "__main__":
    sys.exit(main())
