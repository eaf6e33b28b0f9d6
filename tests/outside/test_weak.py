#!/usr/bin/python3
"""Are the stated uncertainties true where a sheet shows little? Courses of a single sheet whose lines
run one way only, or stand between a darker and a lighter side, are printed and scanned in
simulation with ink spread, blur, noise, scale and skew drawn at random; each interval value +- U
must hold the truth, and must not be idle.

    test_weak.py [DRAWS [SEED [LAYOUT...]]]     (environment: PAVIOR)

DRAWS is for each course. With layouts, random sheets of these are drawn as well."""
import json
import math
import os
import subprocess
import sys
import tempfile

import numpy as np

import checks
import simulate
from checks import at_most, expect

PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
HELD_MIN = 0.95
IDLE_MAX = 12  # median U over the 95th percentile of errors
SKEW_MAX = 0.15  # mrad, of any sheet whose tags have cells of 1 mm

# What a course is, beside its lines; whether all its lines are darker than their sides, so that
# ink's spread g makes them 2 g wider along the pixels of the page; and the axis across its lines,
# where all run along the other one.
COURSES = {
    "level": ("100mm by 80mm", "", True, 1, "line one width 10mm from (20, 40)mm to (80, 40)mm"),
    "upright": ("100mm by 80mm", "", True, 0, "line one width 6mm from (50, 10)mm to (50, 70)mm"),
    "slanting": ("100mm by 80mm", "", False, None, "line one width 8mm from (20, 20)mm to (80, 60)mm"),
    "pair": ("100mm by 80mm", "", True, 1, "line one width 6mm from (10, 20)mm to (90, 20)mm\n"
             "line two width 6mm from (10, 60)mm to (90, 60)mm"),
    # A wall between sea and stone, and a kerb on the stone: ink moves the wall's centre.
    "wall": ("100mm by 80mm", "colour sea = rgb(16, 62, 112)\ncolour stone = rgb(245, 241, 231)\n"
             "colour steel = grey(150)\n", False, 1,
             "line wall width 10mm colour steel from (0, 40)mm to (100, 40)mm\n"
             "line kerb width 6mm from (0, 65)mm to (100, 65)mm\n"
             "fill at (50, 10)mm colour sea\nfill at (50, 55)mm colour stone"),
    "arc": ("100mm by 80mm", "", False, None,
            "arc one width 5mm centre (50, 40)mm radius 30mm from 20deg sweep 100deg"),
}


class Course:
    def __init__(self, folder, name, layout=None):
        self.name = name
        self.pdf = os.path.join(folder, name + ".pdf")
        path, self.dark, self.axis = layout, False, None
        if layout is None:
            size, colours, self.dark, self.axis, lines = COURSES[name]
            path = os.path.join(folder, name + ".course")
            with open(path, "w", encoding="utf-8") as file:
                file.write(f'course "{name}" edition "1"\n{colours}mat {size} ground white\n'
                           f"paint width 5mm, colour black, ends flat\n{lines}\n")
        subprocess.run([PAVIOR, "sheets", "--no-guide", path, "--paper", "A4" if layout else "A5", "-q", "-o",
                        self.pdf], check=True)
        self.plan = os.path.join(folder, name + ".plan.json")
        with open(self.plan, encoding="utf-8") as file:
            self.sheets = len(json.load(file)["sheets"])
        self.pages = {}

    def page(self, number, dpi, colour):
        key = number, dpi, colour
        if key not in self.pages:
            self.pages = {key: simulate.render(self.pdf, number, dpi, None if colour else False)}
        return self.pages[key]


class Record:
    def __init__(self, course, seed, what, value, U, truth, say):
        self.course, self.seed, self.what, self.say = course.name, seed, what, say
        self.error, self.U = value - truth, U


def draw(course, seed, folder, dpis):
    rng = np.random.default_rng(seed)
    dpi = int(rng.choice(dpis))
    kind = "colour" if rng.random() < 0.4 else "gray"
    ending = "jpg" if rng.random() < 0.5 else "png"
    sx = sy = rng.uniform(0.985, 1.01)
    skew, gain = 0.0, 0.0
    if course.axis is not None or rng.random() < 0.5:
        sy, skew = sx * rng.uniform(0.997, 1.003), rng.uniform(-2, 2)
    if rng.random() < 0.7:
        gain = rng.uniform(-0.05, 0.1)
    turn = rng.choice([0, rng.uniform(-0.1, 0.1), rng.uniform(-3, 3)])
    faults = dict(scale=(sx, sy), skew_mrad=skew, turn=turn, quarters=int(rng.integers(4)),
                  blur=rng.uniform(0.03, 0.12), gain=gain, noise=rng.uniform(0.002, 0.012))
    # Scanners code light with an exponent of 2.0 to 2.4 where sRGB's is about 2.2.
    faults["tone"] = 2.2 / rng.uniform(2.0, 2.4)
    number = int(rng.integers(course.sheets)) + 1
    page = course.page(number, 1200 if dpi > 300 else 600, kind == "colour")
    image, _ = simulate.scan(page, dpi=dpi, kind=kind, seed=seed, **faults)
    path = os.path.join(folder, "scan." + ending)
    simulate.save(image, path, dpi=dpi)
    true_dpi = round(dpi / 0.0254) * 0.0254 if ending == "png" else dpi
    done = subprocess.run([PAVIOR, "inspect", "--plan", course.plan, "--json",
                           "--scanner-uncertainty", "0.004", path], capture_output=True, text=True)
    result = json.loads(done.stdout)[0]
    say = f"page {number} {dpi} {kind} {ending} gain {gain:.3f} blur {faults['blur']:.3f}"
    if "error" in result:
        return None, f"{course.name} seed {seed} {say}: {result['error']}"
    return records(course, seed, result, faults, say, dpi / true_dpi), ""


def records(course, seed, result, faults, say, stated):
    found = []
    sx, sy = (s * stated for s in faults["scale"])
    skew, gain = faults["skew_mrad"], faults["gain"]

    def add(what, value, U, truth, name=""):
        if value is not None:
            found.append(Record(course, seed, what, value, U, truth, f"{say} {name}"))
    add("scale", result["scale"]["x"]["value"], result["scale"]["x"]["U"], sx)
    add("scale", result["scale"]["y"]["value"], result["scale"]["y"]["U"], sy)
    add("skew", result["skew_mrad"]["value"], result["skew_mrad"]["U"], skew)
    square = sx == sy and skew == 0
    across = None
    if course.axis is not None:  # lines along the other axis, which the skew turns
        across = (sx, sy)[course.axis] * math.cos(skew / 1000)
    elif square:
        across = sx
    for line in result["lines"]:
        if across is not None and (gain == 0 or course.dark):
            add("width", line["width_mm"], line["U_mm"],
                line["nominal_mm"] * across + 2 * gain * stated, line["id"])
    for spacing in result["spacings"]:
        if across is not None:
            leans = "wall" in spacing["from"] + spacing["to"]
            add("spacing, leaning" if leans else "spacing", spacing["value_mm"], spacing["U_mm"], spacing["nominal_mm"] * across,
                f"{spacing['from']} to {spacing['to']}")
    return found


def judge(rows):
    for what in ("scale", "skew", "width", "spacing", "spacing, leaning"):
        some = [r for r in rows if r.what == what]
        errors, stated = np.abs([r.error for r in some]), np.array([r.U for r in some])
        held = np.mean(errors <= stated)
        draws = len({(r.course, r.seed) for r in some})
        # Values of one draw share its errors: the share is known as well as the draws allow.
        least = HELD_MIN - 2 * math.sqrt(HELD_MIN * (1 - HELD_MIN) / draws)
        idle = np.median(stated) / np.percentile(errors, 95)
        # A spacing's U allows for a device that runs unevenly; this exact one does not.
        useful = idle <= IDLE_MAX or what.startswith("spacing")
        expect(f"{what}: U holds the truth", held >= least and useful,
               f"({100 * held:.1f} % of {len(some)} values in {draws} draws; errors: 95th percentile "
               f"{np.percentile(errors, 95):.3g}, worst {errors.max():.3g}; median U "
               f"{np.median(stated):.3g}, {idle:.1f} times as much)")
        for r in [r for r in some if abs(r.error) > r.U][:8]:
            print(f"    not held: {r.course} seed {r.seed} {r.say}: {r.error:.4g}, U {r.U:.4g}")


def main():
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    dpis = [150, 200, 300] if len(sys.argv) <= 2 else [150, 200, 300, 300, 600]
    rows, weak = [], []
    with tempfile.TemporaryDirectory() as folder:
        courses = [Course(folder, name) for name in COURSES]
        for path in sys.argv[3:]:
            courses.append(Course(folder, os.path.basename(path)[:-7], path))
        for course in courses:
            for i in range(draws):
                found, said = draw(course, seed + i, folder, dpis)
                if found is None:
                    expect("a weak sheet is inspected", False, said)
                    continue
                rows += found
                weak += found if course.name in COURSES else []
    judge(rows)
    skew = max((r for r in weak if r.what == "skew"), key=lambda r: abs(r.error))
    at_most(f"weak sheets, skew: {skew.course} seed {skew.seed}", abs(skew.error), SKEW_MAX, "mrad")
    return checks.finish("weak sheets")


sys.exit(main())
