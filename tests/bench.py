#!/usr/bin/python3
"""Times and peak memory of pavior's commands, as ratios to baselines measured in the same run:
poppler rasterising the same sheets, Pillow decoding the same pictures. Nothing here passes or fails;
absolute times say little across machines, ratios do.

Usage: bench.py PAVIOR [COURSE]"""
import json
import os
import subprocess
import sys
import tempfile
import time

import numpy as np
import PIL

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "outside"))
# pylint: disable=wrong-import-position
import card_sim  # noqa: E402
import expose  # noqa: E402
import photo_sim  # noqa: E402
import print_sim  # noqa: E402
import simulate  # noqa: E402

RUNS = 3
LONG = 4.0  # s
PAGE = 17  # of the default course on A4: C3, with many lines; a smaller course's last
CARD = (-45.0, 120.0, 90.0)  # mm on the table, and degrees: to the left of the sheet
BATCH = 10
# Without what Python looks for at its start, which would take longer than small pictures.
DECODE = (f"import sys; sys.path.append({os.path.dirname(os.path.dirname(PIL.__file__))!r})\n"
          "from PIL import Image; Image.MAX_IMAGE_PIXELS = None\n"
          "for name in sys.argv[1:]: Image.open(name).load()")
BY_PILLOW = "Pillow decoding it"
BY_POPPLER = "pdftoppm, 150 dpi"


def measure(command):
    """Shortest wall time in s of RUNS runs (or as many as fit into LONG), and largest resident
    memory in MB. A child counts from the moment that it is a copy of its parent, so a small process
    stands between."""
    best, peak, spent = float("inf"), 0, 0.0
    for _ in range(RUNS):
        if spent > LONG:
            break
        code = ("import os, resource, subprocess, sys, time\n"
                "start = time.perf_counter()\n"
                "done = subprocess.run(sys.argv[1:], stdout=-3, stderr=-3)\n"
                "print(time.perf_counter() - start, done.returncode,\n"
                "      resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)")
        said = subprocess.run([sys.executable, "-S", "-c", code, *command], check=True,
                              capture_output=True, text=True).stdout.split()
        best, peak = min(best, float(said[0])), max(peak, int(said[2]) / 1024)
        spent += float(said[0])
        if int(said[1]) not in (0, 1, 2):  # verdicts are fine
            raise SystemExit(f"status {said[1]}: {' '.join(command)}")
    return best, peak


def row(what, mine, base, base_name):
    print(f"{what:37}{mine[0]:8.3f} s{mine[1]:6.0f} MB{mine[0] / base[0]:8.2f} x{mine[1] / base[1]:7.2f} x"
          f"   {base_name} ({base[0]:.3f} s, {base[1]:.0f} MB)", flush=True)


class Bench:
    def __init__(self, pavior, course, folder):
        self.pavior, self.course, self.folder = pavior, course, folder
        self.pdf, self.plan = self.inside("sheets.pdf"), self.inside("sheets.plan.json")

    def inside(self, name):
        return os.path.join(self.folder, name)

    def sheets(self):
        """Commands that take no picture; the sheets of all the rest."""
        proof = self.inside("proof.pdf")
        make = [self.pavior, "sheets", "--no-guide", self.course, "--paper", "A4", "-o", self.pdf]
        made = measure(make)
        prove = measure([self.pavior, "sheets", "--proof", "--paper", "A4", "-o", proof])
        pages = measure(["pdftoppm", "-r", "150", "-gray", self.pdf, self.inside("page")])
        page = measure(["pdftoppm", "-r", "150", "-gray", proof, self.inside("proof")])
        row("review", measure([self.pavior, "review", self.course]), pages, BY_POPPLER)
        row("sheets, A4", made, pages, BY_POPPLER)
        row("sheets --proof, A4", prove, page, BY_POPPLER)
        self.kits(pages)

    def kits(self, pages):
        """Of each layout, for all the usual papers."""
        layouts = os.path.join(HERE, "..", "layouts")
        for name in sorted(os.listdir(layouts)):
            make = [self.pavior, "kit", os.path.join(layouts, name), "--replace", "-o", self.inside(name + "-kit")]
            row(f"kit, {name.removesuffix('.course')}", measure(make), pages, BY_POPPLER)

    def inspect(self, what, names, *options):
        base = measure([sys.executable, "-S", "-c", DECODE, *names])
        mine = measure([self.pavior, "inspect", "--plan", self.plan, *options, *names])
        row("inspect, " + what, mine, base, BY_PILLOW)

    def scans(self, page):
        kept = {}
        for dpi, kind, end in ((150, "gray", "png"), (150, "colour", "png"), (300, "bilevel", "png"),
                               (300, "gray", "png"), (300, "colour", "png"), (300, "gray", "jpg"),
                               (300, "colour", "jpg"), (600, "bilevel", "png"),
                               (600, "gray", "png"), (600, "colour", "png")):
            name = self.inside(f"scan-{dpi}-{kind}.{end}")
            image, _ = simulate.scan(page, dpi=dpi, kind=kind, turn=0.8, seed=dpi)
            simulate.save(image, name, dpi=dpi, level=1)
            self.inspect(f"{dpi} dpi {'1-bit' if kind == 'bilevel' else kind} {end.upper()}", [name])
            kept[dpi, kind, end] = name
            if dpi == 600:
                os.remove(name)
        name = kept[300, "colour", "png"]
        self.inspect("300 dpi colour PNG, --report", [name], "--report", self.inside("r.html"))
        self.inspect(f"{BATCH} of 300 dpi gray PNG", BATCH * [kept[300, "gray", "png"]])
        self.inspect(f"{BATCH} of 300 dpi gray, --report", BATCH * [kept[300, "gray", "png"]],
                     "--report", self.inside("r.html"))

        self.collect(kept[300, "gray", "png"])

    def collect(self, name):
        """Of as many pictures; each is another, since a byte follows it that no decoder reads."""
        folder, out = self.inside("pictures"), self.inside("results")
        os.makedirs(os.path.join(folder, "team"))
        with open(name, "rb") as file:
            picture = file.read()
        names = [os.path.join(folder, "team", f"{i}.png") for i in range(BATCH)]
        for i, one in enumerate(names):
            with open(one, "wb") as file:
                file.write(picture + bytes([i]))
        base = measure([sys.executable, "-S", "-c", DECODE, *names])
        for what, words in (("-j 1", ["-j", "1"]), ("-j 2", ["-j", "2"]), ("-j 2, no reports", ["-j", "2", "--no-reports"])):
            mine = measure(["sh", "-c", 'rm -rf "$1"; shift; exec "$@"', "sh", out, self.pavior, "collect", self.plan,
                            folder, "-q", "-o", out, *words])
            row(f"collect, {BATCH} of them, {what}", mine, base, BY_PILLOW)

    def photographs(self, page):
        print_ = print_sim.Print(page, 5, gain=0.02)
        for what, with_card, tilt, k1 in (("photo, straight", False, 2, 0.0),
                                          ("photo, card", True, 25, 0.0),
                                          ("photo, card, lens", True, 25, 0.08),
                                          ("photo, tilted, lens", False, 40, -0.08)):
            rng = np.random.default_rng(7)
            points, card = expose.outline(print_), None
            if with_card:
                card = card_sim.Card(rng, CARD[:2], CARD[2])
                points = np.vstack([points, card.outline(0)[:, :2]])
            camera = photo_sim.looking(points, tilt=tilt, azimuth=130, roll=90, k1=k1, rng=rng,
                                       corners=print_.corners())
            name = self.inside("photo.jpg")
            image = photo_sim.photograph(print_, camera, rng, card, shadow=0.2)
            photo_sim.save(image, name, photo_sim.exif_of(camera))
            self.inspect("12 MP " + what, [name])


def main(argv):
    course = argv[1] if len(argv) > 1 else os.path.join(HERE, "..", "layouts", "quayside.course")
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(os.path.abspath(argv[0]), course, folder)
        print(f"best of up to {RUNS} runs, largest memory; {os.cpu_count()} processors\n")
        print(f"{'':37}{'time':>8}  {'memory':>7}{'time':>10}{'memory':>9}   baseline")
        bench.sheets()
        with open(bench.plan, encoding="utf-8") as file:
            number = min(PAGE, len(json.load(file)["sheets"]))
        page = simulate.render(bench.pdf, number, 600, "colour")
        bench.scans(page)
        bench.photographs(page)
    print(f"\nall this took {time.perf_counter() - start:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
