"""Simulated prints drawn at random over all that printers, scanners and phones do to a sheet, each
inspected and held against its truth. test_campaign.py runs it and judges.

A draw's seed decides everything: reference, kit, page, renderer, printer, device. Consecutive seeds
take the references of CASES by turns, so that each is proven by itself. devices.py says what is drawn
and on what grounds."""
import json
import math
import os
import subprocess
import tempfile
import time
from collections import namedtuple

import cv2
import numpy as np

import card_sim
import devices
import expose
import photo_sim
import print_sim
import scan_sim
import simulate
import truth

HERE = os.path.dirname(os.path.abspath(__file__))
PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
LAYOUTS = os.path.join(HERE, "..", "..", "layouts")

KITS = {name: (course, paper) for name, course, paper in (
    ("quayside A4", os.path.join(LAYOUTS, "quayside.course"), "A4"),
    ("quayside letter", os.path.join(LAYOUTS, "quayside.course"), "letter"),
    ("check36 A4", os.path.join(HERE, "check36.course"), "A4"),
    ("check36 letter", os.path.join(HERE, "check36.course"), "letter"),
    ("breakwater A4", os.path.join(LAYOUTS, "breakwater.course"), "A4"),
    ("pierhead A4", os.path.join(LAYOUTS, "pierhead.course"), "A4"),
    ("proof A4", None, "A4"))}

# A reference and the device that shows the sheet: "scan" by a flatbed or a feeder, "photograph".
Case = namedtuple("Case", "reference device")
CASES = [Case("scanner flatbed", "flatbed"), Case("scanner feeder", "feeder"),
         Case("scanner unknown", "either"), Case("card beside", "photograph"),
         Case("card beside", "flatbed"), Case("card on", "photograph"), Case("card on", "flatbed"),
         Case("ruler", "photograph"), Case("ruler", "either"), Case("paper", "photograph or scan")]

# One reported value beside its truth. error etc. in the value's unit; error is None where nothing was
# reported, verdict where nothing is judged (what one of several references says by itself).
Record = namedtuple("Record", "seed kind name device reference error U held tolerance good verdict")


# ---- kits ----

class Kit:
    def __init__(self, name, folder):
        course, paper = KITS[name]
        self.name = name
        self.pdf = os.path.join(folder, name.replace(" ", "-") + ".pdf")
        command = [PAVIOR, "sheets", "--no-guide", *(["--proof"] if course is None else [course]), "--paper", paper,
                   "-q", "-o", self.pdf]
        subprocess.run(command, check=True)
        self.plan_path = self.pdf[:-4] + ".plan.json"
        self.plan = truth.Plan(self.plan_path)

    def pages(self):
        """Indices of sheets that show 60 mm of lines or more in their own cell."""
        good = []
        for i, sheet in enumerate(self.plan.sheets):
            left, bottom, right, top = sheet["cell"]
            seen = 0
            for line in self.plan.data["art"]["lines"]:
                x, y = truth.places(line["pieces"])[0].T
                seen += ((x > left + 4) & (x < right - 4) & (y > bottom + 4) & (y < top - 4)).sum()
            if seen * truth.STEP >= 60:
                good.append(i)
        return good


def make_kits(folder, names=None):
    return {name: Kit(name, folder) for name in (names or KITS)}


# ---- pages by independent renderers ----

def rendered(pdf, page, dpi, renderer, colour=None):
    """simulate.Page of a page, of its luminance alone where colour is False; by poppler (exact
    coverage), mupdf (8 bits of it) or ghostscript."""
    if renderer == "poppler":
        return simulate.render(pdf, page, dpi, colour)
    width, height = simulate.page_size(pdf, page)
    with tempfile.TemporaryDirectory() as folder:
        name = os.path.join(folder, "page.ppm")
        if renderer == "mupdf":
            command = ["mutool", "draw", "-q", "-r", str(dpi), "-A", "8", "-c", "rgb", "-o", name, pdf,
                       str(page)]
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            code = cv2.imread(name, cv2.IMREAD_UNCHANGED)
        else:
            code = by_ghostscript(pdf, page, dpi, name)
    if code.ndim == 2:
        return simulate.Page(simulate.coverage_to_light(code), dpi, width, height)
    channels = cv2.split(code)[2::-1]  # any alpha aside
    if all(np.array_equal(channels[0], other) for other in channels[1:]):
        return simulate.Page(simulate.coverage_to_light(channels[0]), dpi, width, height)
    light = [simulate.coverage_to_light(c) for c in channels]
    light = simulate.luminance(light) if colour is False else cv2.merge(light)
    return simulate.Page(light, dpi, width, height)


def by_ghostscript(pdf, page, dpi, name):
    """It looks at 4 x 4 places a pixel, and paints each that the ink touches: edges lie an eighth of
    a pixel farther out on the mean, and up to an eighth off that. So it gets two pixels for one up to
    600 to an inch, which leaves 0.003 mm."""
    fold = 2 if dpi <= 600 else 1
    subprocess.run(["gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=ppmraw",
                    f"-r{fold * dpi}", "-dGraphicsAlphaBits=4", "-dTextAlphaBits=4",
                    f"-dFirstPage={page}", f"-dLastPage={page}", f"-sOutputFile={name}", pdf],
                   check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    code = cv2.imread(name, cv2.IMREAD_UNCHANGED)
    if fold == 1:
        return code
    even = [n - n % 2 for n in code.shape[:2]]
    return cv2.resize(code[:even[0], :even[1]], (even[1] // 2, even[0] // 2),
                      interpolation=cv2.INTER_AREA)


# ---- a draw ----

class Draw:
    """Everything of one draw. attempt: how often this seed could not be simulated."""

    def __init__(self, seed, kits, attempt=0):
        rng = np.random.default_rng((seed, 77, attempt))
        case = CASES[seed % len(CASES)]
        self.seed, self.reference = seed, case.reference
        self.kit = kits[list(kits)[rng.choice(len(kits))]]
        self.page = int(rng.choice(self.kit.pages()))
        self.renderer = str(rng.choice(["poppler", "mupdf", "ghostscript"], p=[0.5, 0.3, 0.2]))
        self.printer = devices.printer(rng)
        self.printer["sheet"] = devices.paper(rng, self.kit.plan.data["page"], self.printer["scale"])
        kind = case.device
        if kind == "photograph or scan":
            kind = str(rng.choice(["photograph", "flatbed", "feeder"], p=[0.6, 0.3, 0.1]))
        elif kind == "either":
            kind = str(rng.choice(["flatbed", "feeder"], p=[0.6, 0.4]))
        self.kind = kind
        self.photo = devices.photo(rng) if kind == "photograph" else None
        self.scan = None if self.photo else devices.scan(rng, kind)
        self.faults = None if self.photo else devices.scanner(rng, kind)
        # What the user states: nothing, the kind, or also which edge of the paper went in first.
        self.said = None
        if self.reference in ("scanner flatbed", "scanner feeder") or self.scan and rng.random() < 0.5:
            self.said = kind
            if kind == "feeder" and rng.random() < 0.5:
                width, height = self.kit.plan.data["page"]
                self.said = "feeder-short" if width < height else "feeder-long"
        if self.reference == "scanner unknown":
            self.said = None
        self.rng = np.random.default_rng((seed, 78, attempt))
        self.card = None  # as soon as the picture is taken

    @property
    def device(self):
        return self.kind

    def words(self):
        return f"{self.kit.name} {self.kit.plan.sheets[self.page]['name']} {self.renderer} {self.kind} " \
               f"{self.reference} {self.printer} {self.photo or self.scan} {self.faults}"


# ---- from a draw to a picture ----

def card_for(draw, print_):
    if draw.reference.startswith("card"):
        place = card_beside if draw.reference == "card beside" else card_on
        draw.card = devices.rim(draw.rng, place(draw, print_))
    return draw.card


def card_beside(draw, print_):
    """To the sheet's left or right, any way round."""
    rng = draw.rng
    low, high = print_.corners().min(axis=0), print_.corners().max(axis=0)
    turn = float(rng.choice([0, 90]) + rng.normal(0, 8))
    reach = 45 if abs(math.sin(math.radians(turn))) < 0.7 else 29
    gap = reach + 2 + rng.uniform(3, 15)
    x = low[0] - gap if rng.random() < 0.5 else high[0] + gap
    return card_sim.Card(rng, (x, rng.uniform(low[1] + 50, high[1] - 50)), turn)


def card_on(draw, print_):
    """Anywhere on the sheet and any way round, as people lay it, but so that it leaves all tags but one
    free: what hides more is asked for again."""
    rng, sheet = draw.rng, draw.kit.plan.sheets[draw.page]
    tags = print_.to_plane(np.array([t["centre"] for t in sheet["tags"]]), ragged=False)
    sizes = [9 * t["cell"] / 2 * math.sqrt(2) for t in sheet["tags"]]
    low, high = print_.corners().min(axis=0), print_.corners().max(axis=0)
    for _ in range(200):
        turn = float(rng.choice([0, 90]) + rng.normal(0, 10))
        wide = 52 if abs(math.sin(math.radians(turn))) < 0.7 else 38
        at = rng.uniform(low + [wide, 90 - wide], high - [wide, 90 - wide])
        card = card_sim.Card(rng, at, turn)
        hidden = sum(float(card.outside(*tag)) < size for tag, size in zip(tags, sizes))
        if hidden <= 1 and len(tags) - hidden >= 3:
            return card
    raise ValueError("no place for a card")


def make_print(draw):
    fine = bool(draw.scan) and draw.scan["dpi"] > 300
    page = rendered(draw.kit.pdf, draw.page + 1, 1200 if fine else 600, draw.renderer,
                    False if fine else None)
    return print_sim.Print(page, draw.seed, **draw.printer)


def take_scan(draw, print_, path):
    s, rng = draw.scan, draw.rng
    device = scan_sim.Scanner(print_, s["dpi"], s["turn"], margin=s["margin"], card=card_for(draw, print_),
                              shift=rng.uniform(0, 1, 2), **draw.faults)
    image = device.scan(print_, rng, **s["shown"])
    image = simulate.turned(image, s["quarters"])
    stated = None if draw.reference == "paper" else s["dpi"]
    scan_sim.save(image, path, stated, s["quality"], s["subsampling"])


def take_photo(draw, print_, path):
    p, rng = draw.photo, draw.rng
    card = card_for(draw, print_)
    points = expose.outline(print_)
    if card is not None:
        points = np.vstack([points, card.outline(0)[:, :2]])
    camera = photo_sim.looking(points, (4000, 3000), p["focal"], p["tilt"], p["azimuth"], p["roll"],
                               p["area"], k1=p["k1"], rng=rng, corners=print_.corners())
    image = photo_sim.photograph(print_, camera, rng, card, p["blur"], p["noise"], p["tone"],
                                 shadow=p["shadow"])
    # As phones do: the picture is stored some way round, and EXIF tells how.
    quarters = {1: 0, 3: 2, 6: 1, 8: 3}[p["orientation"]]
    exif = photo_sim.exif_of(camera, p["orientation"], p["focal_stated"])
    photo_sim.save(simulate.turned(image, quarters), path, exif, p["quality"])


def options(draw, print_):
    """What the user states on the command line."""
    words = ["--scanner", draw.said] if draw.said else []
    if draw.reference == "ruler":
        words += readings(draw, print_)
    return words


def readings(draw, print_):
    """--measured for two sides and both diagonals of the gauge marks."""
    words, rule = [], devices.Rule(draw.rng)
    for pair in ("PQ", "PS", "PR", "QS"):
        read, U = rule.read(truth.gauge(draw.kit.plan.sheets[draw.page], print_, pair))
        words += ["--measured", f"{pair[0]}-{pair[1]}={read}mm" + (f"+-{U}mm" if U else "")]
    return words


def inspected(draw, path, more=()):
    done = subprocess.run([PAVIOR, "inspect", "--plan", draw.kit.plan_path, "--json", *more, path],
                          capture_output=True, text=True, timeout=300)
    try:
        return json.loads(done.stdout)[0], done.stderr
    except (ValueError, IndexError):
        return None, done.stderr


# ---- records ----

def records(draw, print_, result):
    plan, sheet = draw.kit.plan, draw.kit.plan.sheets[draw.page]
    sx, sy, skew = print_.affine()
    out = []

    def add(kind, name, value, U, true, nominal, tolerance, verdict):
        known = value is not None
        out.append(Record(draw.seed, kind, name, draw.device, draw.reference,
                          value - true if known else None, U if known else None,
                          bool(abs(value - true) <= U) if known else None, tolerance,
                          bool(abs(true - nominal) <= tolerance) if tolerance is not None else None,
                          verdict))

    for axis, true in (("x", sx), ("y", sy)):
        v = (result["scale"] or {}).get(axis) or {}
        add("scale", axis, v.get("value"), v.get("U"), true, 1, plan.tolerances["scale"],
            v.get("verdict") or "undecided")
    v = result["skew_mrad"] or {}
    add("skew", "", v.get("value"), v.get("U"), skew, 0, v.get("tolerance") or math.inf,
        v.get("verdict") or "undecided")
    for reference in result["references"]:
        for key, true in (("x", sx), ("y", sy), ("skew_mrad", skew)):
            v = reference.get(key) or {}
            kind = ("skew" if key == "skew_mrad" else "scale") + " by the " + reference["kind"]
            if v.get("value") is not None:
                add(kind, key, v["value"], v["U"], true, 0, None, None)
    v = result.get("ink_mm") or {}
    if v.get("value") is not None:
        add("ink", "", v["value"], v["U"], print_.gain, 0, None, None)
    add_lines(add, plan, sheet, print_, result)
    return out


def add_lines(add, plan, sheet, print_, result):
    if result["reference"]["kind"] == "none":
        return
    widths = truth.widths(plan, sheet, print_)
    for line in result["lines"]:
        true = widths.get(line["id"])
        if true:
            add("width", line["id"], line["width_mm"], line["U_mm"], true[0], line["nominal_mm"],
                line["tolerance_mm"], line["verdict"])
        bow = truth.bow(plan, sheet, print_, line["id"])
        if bow is not None and line.get("bow_mm") is not None:
            add("straightness", line["id"], line["bow_mm"], line["bow_U_mm"], bow, 0,
                line["bow_tolerance_mm"], line["bow_verdict"])
    for s in result["spacings"]:
        true = truth.spacing(plan, sheet, print_, s["from"], s["to"], s["nominal_mm"])
        if true:
            add("spacing", f"{s['from']}-{s['to']}", s["value_mm"], s["U_mm"], true, s["nominal_mm"],
                s["tolerance_mm"], s["verdict"])


def run(seed, kits, folder, keep=False):
    """One draw as a dict that JSON takes: seed, reference, device, words, again (why it was drawn
    again), error (why there is no result), verdict, found (kinds of reference), cpu (seconds of
    simulation and inspection together), seconds (of the inspection), rows."""
    again, began = [], os.times()
    while True:
        draw = Draw(seed, kits, len(again))
        path = os.path.join(folder, f"draw-{seed}." + (draw.scan["ending"] if draw.scan else "jpg"))
        try:
            print_ = make_print(draw)
            (take_scan if draw.scan else take_photo)(draw, print_, path)
            more = options(draw, print_)
            break
        except Exception as error:  # the simulator's own failure, told and drawn anew
            again.append(repr(error))
            if len(again) > 3:
                raise
    start = time.perf_counter()
    result, said = inspected(draw, path, more)
    seconds = time.perf_counter() - start
    if not keep:
        os.remove(path)
    done = dict(seed=seed, reference=draw.reference, device=draw.device, again=again, error=None,
                verdict=None, found=[], rows=[], seconds=seconds, words=draw.words(), options=more)
    if result is None or "error" in result:
        done["error"] = f"unusable: {(result or {}).get('error') or said}"
    elif result["sheet"] != draw.kit.plan.sheets[draw.page]["name"]:
        done["error"] = f"taken for sheet {result['sheet']}"
    else:
        done.update(verdict=result["verdict"], rows=[list(r) for r in records(draw, print_, result)],
                    found=[r["kind"] for r in result["references"]], notes=result["notes"])
    end = os.times()
    done["cpu"] = sum(end[:4]) - sum(began[:4])
    return done
