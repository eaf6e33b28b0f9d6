"""Printing, scanning and inspecting in simulation: kits, random draws with recorded seeds, and the
table of what `pavior inspect` made of them. test_loop.py runs it."""
import json
import math
import os
import re
import subprocess
import time
from collections import Counter

import numpy as np

import measure_render as check36
import simulate
from checks import expect
from plan import Plan

HERE = os.path.dirname(os.path.abspath(__file__))
PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
LAYOUT = os.path.join(HERE, "..", "..", "layouts", "quayside.course")

SCALE_MAX = 0.02  # %
WIDTH_MAX = 0.02  # mm, of a line's mean width, at 300 dpi and more
WIDTH_BITS = 25.4 / 300 / 2  # mm, the same of 1 bit: half a pixel, to which an edge is known
HELD_MIN = 0.95  # share of values whose interval holds the truth

# ---- kits ----

def layout_colours():
    """Names and definitions of the colours of the published layout, with white and black."""
    with open(LAYOUT, encoding="utf-8") as file:
        found = re.findall(r"^colour (\w+) = ([^#\n]+)", file.read(), re.M)
    return [("white", None), ("black", None)] + [(n, d.strip()) for n, d in found
                                                 if not re.search(r"rgb\(0, *0, *0\)", d)]


SHEET = 8  # page of the check course on A4 that has lines, an arc and a crossing: B2

PAIR_CELL = 38.0  # mm, a patch's side; a line of 8 mm runs upright through its middle
PAIR_WIDTH = 8.0


def colour_pairs():
    names = [name for name, _ in layout_colours()]
    return [(a, b) for a in names for b in names if a != b]


def pairs_course():
    """Every ordered pair of the layout's colours: a line of the one on a patch of the other."""
    colours, pairs = layout_colours(), colour_pairs()
    across = 4  # one sheet wide, so that no seam runs along a line
    rows = -(-len(pairs) // across)
    text = ['course "Colour pairs" edition "1"',
            f"mat {across * PAIR_CELL + 12}mm by {rows * PAIR_CELL + 12}mm ground white"]
    text += [f"colour {name} = {definition}" for name, definition in colours if definition]
    for i, (line, ground) in enumerate(pairs):
        x, y = 6 + i % across * PAIR_CELL + 2, 6 + i // across * PAIR_CELL + 2
        side = PAIR_CELL - 4
        middle = x + side / 2
        text.append(f"box edge_{line}_{ground} from ({x}, {y})mm by ({side}, {side})mm width 1mm "
                    f"colour {ground}")
        text.append(f"line {line}_on_{ground} width {PAIR_WIDTH}mm colour {line} "
                    f"from ({middle}, {y})mm to ({middle}, {y + side})mm")
        for at in (x + side / 4, x + side * 3 / 4):
            text.append(f"fill at ({at}, {y + side / 2})mm colour {ground}")
    return "\n".join(text) + "\n"


class Kit:
    def __init__(self, name, folder, course, paper):
        self.name = name
        self.pdf = os.path.join(folder, name + ".pdf")
        self.plan_path = os.path.join(folder, name + ".plan.json")
        subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", paper, "-q", "-o", self.pdf],
                       check=True)
        self.plan = Plan(self.plan_path)


def make_kits(folder):
    def written(name, text):
        path = os.path.join(folder, name)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        return path
    check = os.path.join(HERE, "check36.course")
    with open(check, encoding="utf-8") as file:
        second = file.read().replace('edition "1"', 'edition "2"')
    return {"check36": Kit("check36", folder, check, "A4"),
            "edition2": Kit("edition2", folder, written("second.course", second), "A4"),
            "pairs": Kit("pairs", folder, written("pairs.course", pairs_course()), "A4"),
            "quayside": Kit("quayside", folder, LAYOUT, "A4")}


# ---- one draw ----

class Group:
    """Draws of one sort. The scales in x and y differ only where the truth of each line's width
    follows from its name."""

    def __init__(self, kit, dpi, kind, ending, quick, long):
        self.kit, self.dpi, self.kind, self.ending = kit, dpi, kind, ending
        self.quick, self.long = quick, long

    @property
    def name(self):
        return f"{self.kit} {self.dpi} dpi {self.kind} {self.ending}"


GROUPS = [Group(*words) for words in (
    # kit, dpi, kind, file, draws in the quick run, draws in the long run
    ("check36", 150, "gray", "png", 1, 80),
    ("check36", 200, "gray", "jpg", 1, 60),
    ("check36", 300, "gray", "png", 1, 150),
    ("check36", 300, "colour", "jpg", 1, 40),
    ("check36", 300, "bilevel", "png", 2, 80),
    ("check36", 600, "gray", "jpg", 1, 40),
    ("check36", 600, "bilevel", "png", 1, 30),
    ("pairs", 300, "colour", "png", 4, 60),
    ("pairs", 300, "colour", "jpg", 2, 40),
    ("pairs", 600, "colour", "png", 0, 20),
    ("quayside", 150, "colour", "jpg", 1, 60),
    ("quayside", 200, "gray", "png", 1, 60),
    ("quayside", 300, "colour", "jpg", 2, 100),
    ("quayside", 300, "gray", "png", 1, 80))]

PAGES = {}  # the last rendered page, one in each process


def rendered(pdf, page, dpi, kind):
    key = pdf, page, dpi, kind == "colour"
    if key not in PAGES:
        PAGES.clear()
        PAGES[key] = simulate.render(pdf, page, dpi, None if kind == "colour" else False)
    return PAGES[key]


def inspect(plan, *images, options=()):
    kind = () if "--scanner" in options else ("--scanner", "flatbed")
    done = subprocess.run([PAVIOR, "inspect", "--plan", plan, "--json", *kind, *options, *images],
                          capture_output=True, text=True, timeout=300)
    try:
        return done.returncode, json.loads(done.stdout), done.stderr
    except ValueError:
        return done.returncode, None, done.stderr


def true_width(kit, line, scale):
    """A line's mean width in print; None where it hangs on the line's direction, which isn't known
    here, and the two scales differ."""
    if scale[0] == scale[1]:
        return line["nominal_mm"] * scale[0]
    straight = re.fullmatch("(north|east)-[123]", line["id"]) if kit == "check36" else None
    return check36.WIDTH * scale[straight.group(1) == "east"] if straight else None


def draw_faults(group, rng):
    """Half of the draws of the check course differ in x and y and are skewed."""
    sx = sy = rng.uniform(0.985, 1.015)
    skew = 0.0
    if group.kit == "check36" and rng.random() < 0.5:
        sy, skew = sx + rng.uniform(-0.004, 0.004), rng.uniform(-3, 3)
    return dict(scale=(sx, sy), skew_mrad=skew, turn=rng.uniform(-3, 3),
                quarters=int(rng.integers(4)), blur=rng.uniform(0.04, 0.12),
                noise=rng.uniform(0.002, 0.012))


def stated_dpi(dpi, ending):
    """What a file can say: PNG whole pixels a metre (ISO/IEC 15948, 11.3.5.3), JFIF whole dpi."""
    return round(dpi / 0.0254) * 0.0254 if ending == "png" else float(dpi)


FLATBED_OFF = 0.002  # by how much a flatbed may be off, any value within as likely


def scanner_file(path, factor):
    """A scanner that is known exactly: its true mm per mm that it states, alike both ways."""
    same = {"value": factor, "U": 0}
    with open(path, "w", encoding="utf-8") as file:
        json.dump({"format": "pavior scanner", "version": 1, "skew_mrad": {"value": 0, "U": 0},
                   "true_mm_per_stated_mm": {"x": same, "y": same}}, file)
    return path


class Record:
    """One figure that was reported, beside the truth."""

    def __init__(self, seed, what, name, value, U, truth):
        self.seed, self.what, self.name = seed, what, name
        self.error, self.U, self.held = value - truth, U, abs(value - truth) <= U


def run_draw(job):
    """One scan by a flatbed that is off as one may be, inspected twice. First with the scanner's own
    factor in a file: errors and uncertainties are then those of the measuring alone. Then with
    inspect told no more than that it is a flatbed. Returns the group's index,
    two lists of records, and the seconds of one inspection; or what went wrong as text."""
    index, seed, page, kit, folder = job
    group = GROUPS[index]
    rng = np.random.default_rng(seed)
    faults = draw_faults(group, rng)
    off = float(rng.uniform(-FLATBED_OFF, FLATBED_OFF))
    raster = rendered(kit.pdf, page, 1200 if group.dpi > 300 else 600, group.kind)
    dpi = stated_dpi(group.dpi, group.ending)
    path = os.path.join(folder, f"draw-{index}-{seed}.{group.ending}")
    image, _ = simulate.scan(raster, dpi=dpi * (1 + off), kind=group.kind, seed=seed, **faults)
    simulate.save(image, path, dpi=group.dpi)
    sheet = kit.plan.sheets[page - 1]
    start = time.perf_counter()
    known = scanner_file(path + ".scanner.json", 1 / (1 + off))
    _, exact, said = inspect(kit.plan_path, path, options=("--scanner", known))
    seconds = time.perf_counter() - start
    _, blurred, more = inspect(kit.plan_path, path, options=("--scanner", "flatbed"))
    os.remove(path)
    os.remove(known)
    lists = []
    for results in (exact, blurred):
        if not results or "error" in results[0]:
            return index, f"seed {seed}, page {page}: {results} {said}{more}", None, seconds
        if results[0]["sheet"] != sheet.name:
            return index, f"seed {seed}: {results[0]['sheet']}, not {sheet.name}", None, seconds
        lists.append(records(group, seed, results[0], faults))
    return index, lists[0], lists[1], seconds


def records(group, seed, result, faults):
    found = []
    scale = faults["scale"]

    def add(what, name, value, U, truth):
        if value is not None and truth is not None:
            found.append(Record(seed, what, name, value, U, truth))
    for axis, true in zip("xy", scale):
        add("scale", axis, result["scale"][axis]["value"], result["scale"][axis]["U"], true)
    add("skew", "", result["skew_mrad"]["value"], result["skew_mrad"]["U"], faults["skew_mrad"])
    for line in result["lines"]:
        add("width", line["id"], line["width_mm"], line["U_mm"],
            true_width(group.kit, line, scale))
    for spacing in result["spacings"]:
        along = scale[0 if spacing["from"].startswith("north-") else 1]
        if scale[0] == scale[1] or group.kit == "check36":
            add("spacing", spacing["from"], spacing["value_mm"], spacing["U_mm"],
                spacing["nominal_mm"] * along)
    return found


# ---- all draws ----

WHATS = (("scale", "%", 100), ("width", "mm", 1), ("spacing", "mm", 1), ("skew", "mrad", 1))


def jobs_of(kits, folder, long, first_seed, only):
    jobs = []
    for index, group in enumerate(GROUPS):
        if only and only not in group.name:
            continue
        kit = kits[group.kit]
        rng = np.random.default_rng((first_seed, index))
        pages = rng.permutation(len(kit.plan.sheets)) + 1
        batch = 4 if long else 2  # draws of one rendered page
        for n in range(group.long if long else group.quick):
            page = int(pages[n // batch % len(pages)])
            jobs.append((index, first_seed + 1000 * index + n, page, kit, folder))

    # A rendered page serves the draws that follow each other.
    def raster(job):
        group = GROUPS[job[0]]
        return group.kit, group.dpi > 300, group.kind == "colour", job[2]
    return sorted(jobs, key=lambda job: (raster(job), job[1]))


def summary(jobs, results):
    """Prints the table, a row as soon as all draws of its group are done, and what failed outright.
    Returns the groups' records, of the exact and of the doubtful scanner."""
    exact, doubtful, times = {}, {}, {}
    left = Counter(job[0] for job in jobs)
    print(f"  worst errors, scanner's resolution as stated{'':9} {'':>9} {'':>9} {'':>9}   share "
          "within U, scanner\n"
          f"  {'kit, resolution, kind':30} {'draws':>5} {'scale %':>9} {'width mm':>9} "
          f"{'spacing':>9} {'skew mrad':>9}   {'exact':>7} {'doubtful':>8} {'s':>5}", flush=True)
    for index, first, second, seconds in results:
        left[index] -= 1
        if second is None:
            expect(GROUPS[index].name, False, first)
        else:
            exact.setdefault(index, []).extend(first)
            doubtful.setdefault(index, []).extend(second)
            times.setdefault(index, []).append(seconds)
        if left[index] == 0 and index in times:
            print_row(index, exact[index], doubtful[index], times[index])
    return exact, doubtful


def print_row(index, exact, doubtful, times):
    cells = []
    for what, _, factor in WHATS:
        errors = [abs(r.error) for r in exact if r.what == what]
        cells.append(f"{max(errors) * factor:9.4f}" if errors else f"{'-':>9}")
    shares = [f"{100 * np.mean([r.held for r in found]):5.1f} %" for found in (exact, doubtful)]
    print(f"  {GROUPS[index].name:30} {len(times):5} {' '.join(cells)}   "
          f"{shares[0]:>7} {shares[1]:>8} {np.median(times):5.1f}", flush=True)


def judge_errors(exact):
    for what, limit, unit, factor, least, bits in (("scale", SCALE_MAX, "%", 100, 150, (True, False)),
                                                   ("width", WIDTH_MAX, "mm", 1, 300, (False,)),
                                                   ("width", WIDTH_BITS, "mm", 1, 300, (True,))):
        rows = [(abs(r.error) * factor, r, GROUPS[i].name) for i, rs in exact.items() for r in rs
                if r.what == what and GROUPS[i].dpi >= least and (GROUPS[i].kind == "bilevel") in bits]
        if not rows:
            expect(f"{what} was measured", False)
            continue
        worst, r, group = max(rows, key=lambda row: row[0])
        expect(f"{what}{', 1 bit' if bits == (True,) else ''} within {limit:.3g} {unit} from {least} dpi on", worst <= limit,
               f"(worst {worst:.4f} of {len(rows)}, mean {np.mean([x[0] for x in rows]):.5f}; "
               f"{group}, seed {r.seed}, {r.name})")


def judge_pairs(exact):
    """Every ordered pair of colours was measured on the sheets that were drawn."""
    seen = {r.name for i, rs in exact.items() for r in rs
            if r.what == "width" and GROUPS[i].kit == "pairs"}
    missing = [f"{a} on {b}" for a, b in colour_pairs() if f"{a}_on_{b}" not in seen]
    expect(f"all {len(colour_pairs())} ordered pairs of colours were measured", not missing,
           ", ".join(missing))


def judge_intervals(name, table):
    """The stated intervals must hold the truth in 95 % of cases. Values of one draw share its
    errors, so the share is known no better than the number of draws allows: what lies more than
    three standard deviations below 95 % fails."""
    for what, unit, factor in WHATS:
        rows = [r for rs in table.values() for r in rs if r.what == what]
        if not rows:
            continue
        draws = len({r.seed for r in rows})
        held = np.mean([r.held for r in rows])
        least = HELD_MIN - 3 * math.sqrt(HELD_MIN * (1 - HELD_MIN) / draws)
        off = [f"{r.seed} {r.name}" for r in rows if not r.held]
        wide = np.median([r.U for r in rows]) / max(np.percentile([abs(r.error) for r in rows], 95),
                                                    1e-12)
        expect(f"{name}: {what} +- U holds the truth", held >= least,
               f"({100 * held:.1f} % of {len(rows)} in {draws} draws, {100 * least:.1f} % needed; "
               f"median U {np.median([r.U for r in rows]) * factor:.4f} {unit}, {wide:.1f} times "
               f"the 95th percentile of errors)"
               + (f" not held: {', '.join(off[:6])}" if held < HELD_MIN else ""))
