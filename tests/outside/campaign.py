"""Simulated prints drawn at random over all that printers, scanners and phones do to a sheet, each
inspected and held against its truth. test_campaign.py runs it and judges.

A draw's seed decides everything: kit, page, renderer, printer, device, reference."""
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

SCANNER_U = 0.001  # relative, k = 2: what a scanner's stated resolution is taken to be good for
SCANNER_SQUARE = 1.0  # mrad, k = 2, by which its two axes are off a right angle (an estimate)
RULER_U = 0.3  # mm, k = 2, of a reading with a steel rule

# One reported value beside its truth. where: device and reference. error etc. in the value's unit.
Record = namedtuple("Record", "seed kind name device reference error U held tolerance good verdict")


# ---- kits ----

class Kit:
    def __init__(self, name, folder):
        course, paper = KITS[name]
        self.name = name
        self.pdf = os.path.join(folder, name.replace(" ", "-") + ".pdf")
        command = [PAVIOR, "sheets", *(["--proof"] if course is None else [course]), "--paper", paper,
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
    channels = [np.ascontiguousarray(code[:, :, i]) for i in (2, 1, 0)]
    if all(np.array_equal(channels[0], other) for other in channels[1:]):
        return simulate.Page(simulate.coverage_to_light(channels[0]), dpi, width, height)
    light = [simulate.coverage_to_light(c) for c in channels]
    light = simulate.luminance(light) if colour is False else np.stack(light, axis=2)
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


# ---- what is drawn at random ----

def draw_printer(rng):
    """Half of all prints are true, a quarter off by what a tolerance of 0.3 % should catch, a quarter
    shrunk to fit."""
    sort = rng.choice(["true", "off", "shrunk"], p=[0.5, 0.25, 0.25])
    if sort == "true":
        scale = rng.normal(1, 0.0006, 2)
    elif sort == "off":
        scale = 1 + rng.choice([-1, 1], 2) * rng.uniform(0.001, 0.012, 2)
    else:
        scale = rng.choice([0.94, 0.955, 0.962, 0.97]) * (1 + rng.normal(0, 0.001, 2))
    return dict(scale=tuple(float(s) for s in scale),
                skew_mrad=float(rng.normal(0, 0.8) if rng.random() < 0.7 else rng.uniform(-6, 6)),
                bow=tuple(rng.uniform(-0.15, 0.15, 2)) if rng.random() < 0.3 else (0.0, 0.0),
                feed=(float(rng.uniform(0, 0.02)), float(rng.uniform(3, 40)), float(rng.uniform(0, 6)))
                if rng.random() < 0.3 else (0.0, 5.0, 0.0),
                gain=float(rng.choice([0, 1]) * rng.uniform(-0.03, 0.08)),
                ragged=(float(rng.uniform(0.005, 0.03)), float(rng.uniform(0.1, 0.5)))
                if rng.random() < 0.6 else (0.0, 0.3),
                bands=(float(rng.uniform(0.02, 0.12)), float(rng.uniform(5, 40)))
                if rng.random() < 0.25 else (0.0, 20.0),
                speckle=float(rng.uniform(0.5, 6)) if rng.random() < 0.25 else 0.0,
                gray=bool(rng.random() < 0.15),
                toner=float(rng.uniform(0.02, 0.06) if rng.random() < 0.8 else rng.uniform(0.1, 0.3)),
                paper=tuple(float(v) for v in rng.uniform(0.78, 0.92) * np.array([1, 1.01, 0.99])),
                screen=[None, ("clustered", 106), ("clustered", 150), ("dispersed", 600)]
                [rng.choice(4, p=[0.55, 0.15, 0.15, 0.15])])


def draw_scan(rng):
    dpi = int(rng.choice([150, 200, 300, 400, 600], p=[0.1, 0.15, 0.61, 0.07, 0.07]))
    kind = str(rng.choice(["gray", "colour", "bilevel"], p=[0.45, 0.42, 0.13]))
    if kind == "bilevel":
        dpi = max(dpi, 300)
    if kind == "colour" and dpi > 300:
        kind = "gray"
    ending = "png" if kind == "bilevel" else str(rng.choice(["png", "jpg"]))
    shown = dict(kind=kind, blur=float(rng.uniform(0.03, 0.09)), noise=float(rng.uniform(0.002, 0.012)),
                 lid=float(rng.choice([0.02, 0.75, 0.9])), tone=float(rng.normal(1, 0.04)),
                 white=float(rng.uniform(0.9, 1.05)), dust=int(rng.choice([0, 0, 15, 60])),
                 fringes=float(rng.uniform(-0.5, 0.5)) if kind == "colour" and rng.random() < 0.5 else 0.0)
    if kind == "bilevel":
        shown["threshold"] = float(rng.uniform(0.3, 0.55))
    return dict(dpi=dpi, ending=ending, quarters=int(rng.integers(4)), turn=float(rng.normal(0, 1)),
                quality=int(rng.integers(75, 96)), subsampling=int(rng.choice([0, 2])), shown=shown,
                margin=float(rng.choice([0.5, 3, 12])))


def draw_photo(rng):
    return dict(tilt=float(rng.uniform(0, 45)), azimuth=float(rng.uniform(0, 360)),
                roll=float(rng.choice([0, 90, 180, 270]) + rng.normal(0, 6)),
                focal=float(rng.uniform(0.7, 0.9)), area=float(rng.uniform(0.34, 0.6)),
                k1=float(rng.uniform(-0.1, 0.1)),
                blur=float(rng.uniform(0.5, 1.3)), noise=float(rng.uniform(0.003, 0.01)),
                shadow=float(rng.choice([0, 0, rng.uniform(0.1, 0.5)])),
                tone=tuple(float(v) for v in rng.uniform(0.02, 0.6) * rng.uniform(0.6, 1.3, 3)),
                orientation=int(rng.choice([1, 3, 6, 8])), focal_stated=bool(rng.random() < 0.7),
                quality=int(rng.integers(80, 97)))


class Draw:
    """Everything of one draw. reference: "scanner", "ruler", "card", "none" (nothing but the paper's
    edges and what squares tell)."""

    def __init__(self, seed, kits):
        rng = np.random.default_rng((seed, 77))
        self.seed = seed
        self.kit = kits[list(kits)[rng.choice(len(kits))]]
        self.page = int(rng.choice(self.kit.pages()))
        self.renderer = str(rng.choice(["poppler", "mupdf", "ghostscript"], p=[0.5, 0.3, 0.2]))
        self.printer = draw_printer(rng)
        self.photo = draw_photo(rng) if rng.random() < 0.45 else None
        self.scan = None if self.photo else draw_scan(rng)
        choice = ["card", "ruler", "none"] if self.photo else ["scanner", "ruler", "card"]
        self.reference = str(rng.choice(choice, p=[0.6, 0.25, 0.15] if self.photo else [0.6, 0.25, 0.15]))
        self.square = float(rng.normal(0, SCANNER_SQUARE / 2))
        self.off = tuple(1 + rng.normal(0, SCANNER_U / 2) * 0.7 + rng.normal(0, SCANNER_U / 2, 2) * 0.7)
        self.rng = np.random.default_rng((seed, 78))

    @property
    def device(self):
        if self.photo:
            return "photograph"
        return f"{self.scan['shown']['kind']} scan"

    def words(self):
        p = self.photo or self.scan
        return f"{self.kit.name} {self.kit.plan.sheets[self.page]['name']} {self.renderer} " \
               f"{self.device} {self.reference} {self.printer} {p}"


# ---- from a draw to a picture ----

def card_for(draw, print_):
    """Beside the sheet, to its left or right, any way round."""
    rng = draw.rng
    w, h = print_.width, print_.height
    turn = float(rng.choice([0, 90]) + rng.normal(0, 8))
    reach = 45 if abs(math.sin(math.radians(turn))) < 0.7 else 29
    side = -reach - rng.uniform(3, 15) if rng.random() < 0.5 else w + reach + rng.uniform(3, 15)
    return card_sim.Card(rng, (side, rng.uniform(50, h - 50)), turn)


def make_print(draw):
    fine = bool(draw.scan) and draw.scan["dpi"] > 300
    page = rendered(draw.kit.pdf, draw.page + 1, 1200 if fine else 600, draw.renderer,
                    False if fine else None)
    return print_sim.Print(page, draw.seed, **draw.printer)


def take_scan(draw, print_, path):
    s, rng = draw.scan, draw.rng
    card = card_for(draw, print_) if draw.reference == "card" else None
    device = scan_sim.Scanner(print_, s["dpi"], s["turn"], draw.off, draw.square, s["margin"],
                              card, rng.uniform(0, 1, 2))
    image = device.scan(print_, rng, **s["shown"])
    image = np.ascontiguousarray(np.rot90(image, s["quarters"]))
    scan_sim.save(image, path, s["dpi"], s["quality"], s["subsampling"])


def take_photo(draw, print_, path):
    p, rng = draw.photo, draw.rng
    card = card_for(draw, print_) if draw.reference == "card" else None
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
    photo_sim.save(np.ascontiguousarray(np.rot90(image, quarters)), path, exif, p["quality"])


def readings(draw, print_):
    """--measured for a bar along x and one along y, read with a ruler."""
    words = []
    for vertical in (False, True):
        read = truth.bar(draw.kit.plan.sheets[draw.page], print_, draw.rng, vertical, RULER_U)
        if read:
            words += ["--measured", f"{'y' if vertical else 'x'}:{read[0]}mm={read[1]}mm+-{RULER_U}mm"]
    return words


def inspected(draw, path, more=()):
    done = subprocess.run([PAVIOR, "inspect", "--plan", draw.kit.plan_path, "--json", *more, path],
                          capture_output=True, text=True, timeout=300)
    try:
        return json.loads(done.stdout)[0], done.stderr
    except (ValueError, IndexError):
        return None, done.stderr


# ---- records ----

def record(draw, kind, name, value, U, true, nominal, tolerance, verdict):
    good = abs(true - nominal) <= tolerance
    return Record(draw.seed, kind, name, draw.device, draw.reference,
                  None if value is None else value - true, U,
                  None if value is None else abs(value - true) <= U, tolerance, good, verdict)


def records(draw, print_, result):
    plan, sheet = draw.kit.plan, draw.kit.plan.sheets[draw.page]
    sx, sy, skew = print_.affine()
    out = []
    for axis, true in (("x", sx), ("y", sy)):
        v = (result["scale"] or {}).get(axis)
        if v:
            out.append(record(draw, "scale", axis, v["value"], v["U"], true, 1, v["tolerance"],
                              v["verdict"]))
        else:
            out.append(record(draw, "scale", axis, None, None, true, 1, plan.tolerances["scale"],
                              "undecided"))
    v = result["skew_mrad"]
    if v["value"] is not None:
        out.append(record(draw, "skew", "", v["value"], v["U"], skew, 0, v["tolerance"], v["verdict"]))
    lengths = result["reference"]["kind"] != "none"
    true_widths = truth.widths(plan, sheet, print_)
    for line in result["lines"]:
        true = true_widths.get(line["id"])
        if true and lengths:
            out.append(record(draw, "width", line["id"], line["width_mm"], line["U_mm"], true[0],
                              line["nominal_mm"], line["tolerance_mm"], line["verdict"]))
    for s in result["spacings"]:
        true = truth.spacing(plan, sheet, print_, s["from"], s["to"], s["nominal_mm"])
        if true and lengths:
            out.append(record(draw, "spacing", f"{s['from']}-{s['to']}", s["value_mm"], s["U_mm"], true,
                              s["nominal_mm"], s["tolerance_mm"], s["verdict"]))
    return out


def run(draw, folder, keep=False):
    """(seed, records, whole result, seconds of inspect, words), or a text for the records where it
    failed."""
    ending = draw.scan["ending"] if draw.scan else "jpg"
    path = os.path.join(folder, f"draw-{draw.seed}.{ending}")
    print_ = make_print(draw)
    (take_scan if draw.scan else take_photo)(draw, print_, path)
    more = readings(draw, print_) if draw.reference == "ruler" else []
    start = time.perf_counter()
    result, said = inspected(draw, path, more)
    seconds = time.perf_counter() - start
    if not keep:
        os.remove(path)
    if result is None or "error" in result:
        return draw.seed, f"{result} {said}", result, seconds, draw.words()
    if result["sheet"] != draw.kit.plan.sheets[draw.page]["name"]:
        return draw.seed, f"taken for sheet {result['sheet']}", result, seconds, draw.words()
    return draw.seed, records(draw, print_, result), result, seconds, draw.words()
