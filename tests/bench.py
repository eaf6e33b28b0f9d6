#!/usr/bin/python3
"""Times and peak memory of pavior's commands, as ratios to baselines measured in the same run:
poppler rasterising the same sheets, Pillow decoding the same picture. Nothing here passes or fails;
absolute times say little across machines, ratios do.

Usage: bench.py PAVIOR [COURSE]"""
import json
import os
import subprocess
import sys
import tempfile
import time

SIMULATE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "outside", "simulate.py")
RUNS = 5
PAGE = 17  # of the default course on A4: C3, with many lines; a smaller course's last
DECODE = ("import sys; from PIL import Image; Image.MAX_IMAGE_PIXELS = None; "
          "Image.open(sys.argv[1]).load()")


def measure(command):
    """Shortest wall time in s of RUNS runs, and largest resident memory in MB. A child is counted
    from the moment that it is a copy of this process, so nothing below this one's size shows."""
    best, peak = float("inf"), 0
    for _ in range(RUNS):
        start = time.perf_counter()
        child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(child.pid, 0)
        best = min(best, time.perf_counter() - start)
        peak = max(peak, usage.ru_maxrss / 1024)
        code = os.waitstatus_to_exitcode(status)
        if code not in (0, 1, 2):  # verdicts are fine
            raise SystemExit(f"status {code}: {' '.join(command)}")
    return best, peak


def row(what, mine, base, base_name):
    print(f"{what:34} {mine[0]:7.3f} s {mine[1]:7.0f} MB   {mine[0] / base[0]:6.2f} x   "
          f"{mine[1] / base[1]:6.2f} x   {base_name} ({base[0]:.3f} s, {base[1]:.0f} MB)")


def main(argv):
    pavior = argv[0]
    course = argv[1] if len(argv) > 1 else "layouts/quayside.course"
    with tempfile.TemporaryDirectory() as folder:
        def inside(name):
            return os.path.join(folder, name)
        pdf, plan = inside("sheets.pdf"), inside("sheets.plan.json")
        sheets = [pavior, "sheets", course, "--paper", "A4", "-o", pdf]
        made = measure(sheets)
        with open(plan, encoding="utf-8") as file:
            page = min(PAGE, len(json.load(file)["sheets"]))
        raster = measure(["pdftoppm", "-r", "150", "-gray", pdf, inside("page")])
        print(f"best of {RUNS} runs, largest memory; {os.cpu_count()} processors\n")
        print(f"{'':34} {'time':>9} {'memory':>10}   {'time':>8}   {'memory':>8}   baseline")
        by_poppler = "pdftoppm, all sheets, 150 dpi"
        row("review", measure([pavior, "review", course]), raster, by_poppler)
        row("sheets, A4", made, raster, by_poppler)
        for dpi in (150, 300, 600):
            for kind in ("gray", "colour"):
                name = inside(f"scan-{dpi}-{kind}.png")
                subprocess.run([sys.executable, SIMULATE, pdf, "-o", name, "--page", str(page),
                                "--dpi", str(dpi), "--kind", kind, "--turn", "0.8"], check=True,
                               stdout=subprocess.DEVNULL)
                base = measure([sys.executable, "-c", DECODE, name])
                mine = measure([pavior, "inspect", "--plan", plan, name])
                row(f"inspect, {dpi} dpi {kind}", mine, base, "Pillow decoding it")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
