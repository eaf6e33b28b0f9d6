#!/usr/bin/python3
"""Questions that pavior once answered wrongly, with confidence, each made again by simulation: a false
answer is the worst that a checker can give. Most are answered rightly by not being sure.

    PAVIOR=build/pavior test_answers.py [NAME...]"""
import glob
import json
import math
import os
import re
import subprocess
import sys
import tempfile

import cv2
import numpy as np

import card_sim
import checks
import expose
import photo_sim
import print_sim
import scan_sim
import simulate
from checks import expect

PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
HERE = os.path.dirname(os.path.abspath(__file__))
QUAYSIDE = os.path.join(HERE, "..", "..", "layouts", "quayside.course")
BAR, PLAIN = (19, 150), 60  # mm; the least plain ground, of luminance, that counts as white below

SMALL = """course "Answers" edition "{edition}"
mat {size} ground white
paint width 20mm, colour black, ends flat
line west width 20mm from (30, 10)mm to (30, 170)mm
line east width 20mm from ({right}, 10)mm to ({right}, 170)mm
line level width 15mm from (50, 40)mm to (110, 40)mm
"""


class Kit:
    """Sheets with their plan; course: a file, the course itself, or "--proof"."""

    def __init__(self, folder, name, course, *options):
        if course.startswith("course"):
            with open(os.path.join(folder, name + ".course"), "w", encoding="utf-8") as file:
                file.write(course)
            course = file.name
        self.pdf = os.path.join(folder, name + ".pdf")
        self.plan = self.pdf[:-4] + ".plan.json"
        words = list(options) or ["--paper", "A4"]
        subprocess.run([PAVIOR, "sheets", "--no-guide", course, *words, "-q", "-o", self.pdf], check=True)
        with open(self.plan, encoding="utf-8") as file:
            self.data = json.load(file)
        self.pages = {}

    def page(self, number=1):
        if number not in self.pages:
            self.pages[number] = simulate.render(self.pdf, number, 600)
        return self.pages[number]


def small(folder, name="answers", edition="1", size="150mm by 180mm", right="110", *options):
    return Kit(folder, name, SMALL.format(edition=edition, size=size, right=right), *options)


def inspect(plans, images, *more, text=False):
    """Status, results (or the text), what was said on standard error."""
    words = [w for plan in ([plans] if isinstance(plans, str) else plans) for w in ("--plan", plan)]
    images = [images] if isinstance(images, str) else images
    done = subprocess.run([PAVIOR, "inspect", *words, *([] if text else ["--json"]), *more, *images],
                          capture_output=True, text=True, timeout=300)
    if text:
        return done.returncode, done.stdout, done.stderr
    try:
        return done.returncode, json.loads(done.stdout), done.stderr
    except ValueError:
        return done.returncode, [], done.stderr


def scanned(kit, path, number=1, paint=None, stated=300, off=(1.0, 1.0), **more):
    """A scan at 300 dpi by a device that is off so: true mm per stated mm along the picture's x and y.
    paint: changes the page's light, a 600 dpi raster of 16 bits."""
    page = kit.page(number)
    if paint:
        light = page.light.copy()
        paint(light)
        page = simulate.Page(light, page.dpi, page.width, page.height)
    print_ = print_sim.Print(page, 3)
    device = scan_sim.Scanner(print_, 300, 0.4, off)
    scan_sim.save(device.scan(print_, np.random.default_rng(4), "gray", **more), path, stated)
    return path


def at(page, x, y):
    """Raster px of a place in sheet mm."""
    return int(x * page.px_per_mm), int((page.height - y) * page.px_per_mm)


def notes(result):
    return " ".join(result.get("notes", [])) + " ".join(m["meaning"] for m in result.get("marks", []))


# ---- 1: ink where none belongs ----

def ink_where_none_belongs(folder):
    kit = small(folder)
    page = kit.page()
    origin = kit.data["sheets"][0]["origin"]

    def bar(light):  # upright, in the white between the lines
        (left, top), (right, bottom) = (at(page, x - origin[0], y - origin[1]) for x, y in ((61, 169), (80, 19)))
        light[top:bottom, left:right] = simulate.FULL // 20

    def word(light):
        left, top = at(page, 58 - origin[0], 110 - origin[1])
        cv2.putText(light, "oil me", (left, top), cv2.FONT_HERSHEY_SCRIPT_SIMPLEX, 8, simulate.FULL // 8, 24,
                    cv2.LINE_AA)

    for name, paint, place in (("a bar of 19 x 150 mm", bar, (70, 94)), ("a word by hand", word, (75, 112)),
                               ("nothing", None, None)):
        path = scanned(kit, os.path.join(folder, "mark.png"), paint=paint)
        status, found, _ = inspect(kit.plan, path, "--scanner", "flatbed")
        r = found[0]
        marks = r.get("marks", [])
        if paint is None:
            expect("a clean sheet conforms, without a mark", r["verdict"] == "conforms" and not marks and status == 0,
                   f"({r['verdict']}, {len(marks)} marks)")
            continue
        near = [m for m in marks if abs(m["x_mm"] - place[0]) < 25 and abs(m["y_mm"] - place[1]) < 25]
        expect(f"{name} is seen", r["verdict"] != "conforms" and near,
               f"({r['verdict']}, {[(m['kind'], m['x_mm'], m['y_mm'], m['verdict']) for m in marks[:3]]})")
        if paint is bar:
            expect(f"{name} does not conform", r["verdict"] == "does not conform", f"({r['verdict']})")


# ---- 2: a card on the print ----

def card_on_print(folder):
    """Cards of five colours with light rims on the print of a true sheet, by phones held askew."""
    kit = Kit(folder, "quay", QUAYSIDE)
    number = next(i for i, s in enumerate(kit.data["sheets"], 1) if s["name"] == "C4")
    print_ = print_sim.Print(kit.page(number), 3, scale=(1.0005, 0.9995))
    found = wrong = silent = 0
    said = []
    for seed, tone in enumerate(((0.05, 0.1, 0.4), (0.4, 0.05, 0.05), (0.04, 0.3, 0.1), (0.6, 0.5, 0.1),
                                 (0.03, 0.03, 0.03))):
        rng = np.random.default_rng((seed, 21))
        card = card_sim.Card(rng, rng.uniform((70, 90), (140, 200)), float(rng.uniform(0, 180)))
        card.face = np.full_like(card.face, 1) * np.float32(tone)
        card.wall = float(rng.uniform(0.6, 0.85))
        camera = photo_sim.looking(expose.outline(print_), (4000, 3000), 0.8, rng.uniform(8, 18),
                                   rng.uniform(0, 360), 90, 0.5, k1=rng.uniform(-0.05, 0.05), rng=rng,
                                   corners=print_.corners())
        path = os.path.join(folder, "card.jpg")
        photo_sim.save(photo_sim.photograph(print_, camera, rng, card), path, photo_sim.exif_of(camera))
        _, results, _ = inspect(kit.plan, path)
        r = results[0]
        by_card = [x for x in r["references"] if x["kind"] == "card"]
        silent += not by_card and "card" not in notes(r)
        for x in by_card:
            for axis, true in zip("xy", print_.affine()):
                found += 1
                off = x[axis]["value"] - true
                wrong += abs(off) > x[axis]["U"]
                said.append(f"{off * 100:+.2f} U {x[axis]['U'] * 100:.2f} %")
        expect(f"card {seed + 1} on print: no false verdict", r["verdict"] != "does not conform", f"({r['verdict']})")
    expect("scales by cards on print hold", wrong == 0, f"({wrong} of {found} outside: {said})")
    expect("a card that is there is used, or said not to be", silent <= 1, f"({silent} of 5 without a word)")


def card_shaped(folder):
    """What has a card's outline, and is none, is not waved through: nobody knows what lies beneath."""
    kit = Kit(folder, "quay", QUAYSIDE)
    number = next(i for i, s in enumerate(kit.data["sheets"], 1) if s["name"] == "D7")

    def sticker(light):
        k, r = 600 / 25.4, round(3 * 600 / 25.4)
        left, top, right, bottom = (round(mm * k) for mm in (82, 64, 160, 115))
        tone = simulate.FULL // 3
        light[top:bottom - r, left:right] = tone
        light[bottom - r:bottom, left + r:right - r] = tone
        for x in (left + r, right - r):
            cv2.circle(light, (x, bottom - r), r, tone, -1)

    for what, paint in (("a sticker like a card is", sticker), ("a clean sheet is not", None)):
        path = scanned(kit, os.path.join(folder, "sticker.png"), number, paint=paint)
        _, found, _ = inspect(kit.plan, path, "--scanner", "flatbed")
        expect(f"{what} undecided", found[0]["verdict"] == ("conforms" if paint is None else "undecided"),
               f"({found[0]['verdict']}, {[m['may_be'] for m in found[0].get('marks', [])]}, {notes(found[0])[:90]})")


# ---- 3: sheets of another plan ----

def other_plans(folder):
    one = small(folder, "one")
    two = small(folder, "two", "2", right="120")
    path = scanned(two, os.path.join(folder, "two.png"))
    status, found, said = inspect(one.plan, path)
    expect("another edition's sheet is not measured on this plan", status == 65 and "error" in (found or [{}])[0],
           f"({status} {found[0].get('verdict') if found else ''} {said.strip()[:160]})")
    mine = scanned(one, os.path.join(folder, "one.png"))
    status, found, said = inspect([one.plan, two.plan], [path, mine])
    kits = [r.get("kit", r.get("error")) for r in found]
    expect("each picture finds its own plan", len(found) == 2 and "edition 2" in kits[0] and "edition 1" in kits[1],
           f"({kits} {said.strip()[:100]})")
    # A lying tag: another course's marks under this plan's identity.
    lie = json.load(open(two.plan, encoding="utf-8"))
    own = json.load(open(one.plan, encoding="utf-8"))
    for key in ("art", "tolerances"):
        own[key] = lie[key]
    forged = os.path.join(folder, "forged.plan.json")
    with open(forged, "w", encoding="utf-8") as file:
        json.dump(own, file)
    status, found, said = inspect(forged, mine, "--scanner", "flatbed")
    verdict = found[0].get("verdict") if found else None
    expect("marks that can't be this plan's are not this plan's", verdict != "conforms",
           f"({status} {verdict} {said.strip()[:120]})")


def identities(folder):
    """All kits of one course have identities of their own."""
    seen = {}
    for paper in ("A4", "A3", "letter", "legal", "A5"):
        for margin in ("5mm", "7mm", "10mm"):
            for joint in ("lap", "butt"):
                for edition in "12":
                    name = f"id-{paper}-{margin}-{joint}-{edition}"
                    kit = small(folder, name, edition, "150mm by 180mm", "110", "--paper", paper, "--margin", margin,
                                "--joint", joint)
                    text = json.dumps([kit.data["kit"], [s["tags"] for s in kit.data["sheets"]][0][:3]])
                    ids = tuple(t["id"] for t in kit.data["sheets"][0]["tags"])
                    seen.setdefault(json.dumps(kit.data["kit"].get("fingerprint", ids)), []).append((name, text))
    twice = [[n for n, _ in same] for same in seen.values() if len(same) > 1]
    expect("60 plans of one course have 60 identities", len(seen) == 60, f"({len(seen)}; alike: {twice[:3]})")


# ---- 4: scanners ----

def scanners(folder):
    kit = Kit(folder, "proof", "--proof")
    path = os.path.join(folder, "feeder.png")
    scanned(kit, path, off=(1.0, 0.9965))
    for kind in (["--scanner", "feeder"], ["--scanner", "feeder-short"], []):
        _, found, said = inspect(kit.plan, path, *kind)
        v = found[0]["scale"]["y"] if found else {"value": 9, "U": 0, "verdict": said}
        expect(f"a feeder that is 0.35 % off, {' '.join(kind) or 'unstated'}",
               abs(v["value"] - 1) <= v["U"] and v["verdict"] != "does not conform",
               f"({v['value']:.4f} U {v['U']:.4f} {v['verdict']})")
    report = os.path.join(folder, "feeder.json")
    inspect(kit.plan, path, "-o", report)
    printer = os.path.join(folder, "printer.json")
    done = subprocess.run([PAVIOR, "calibrate", report, "-o", printer], capture_output=True, text=True)
    built = json.load(open(printer, encoding="utf-8")) if os.path.exists(printer) else {}
    scale = built.get("scale", {})
    given = scale.get("y", {}).get("value", 1) if isinstance(scale, dict) else scale
    expect("calibrate builds no feeder's error into a printer", given in (1, None) or abs(given - 1) < 1e-4,
           f"({done.returncode} {given} {done.stderr.strip()[:160]})")
    path = scanned(kit, os.path.join(folder, "flatbed.png"), off=(1.0012, 0.9988))
    for kind in (["--scanner", "flatbed"], []):
        _, found, said = inspect(kit.plan, path, *kind)
        off = [abs(found[0]["scale"][a]["value"] - 1) / found[0]["scale"][a]["U"] for a in "xy"] if found else [9]
        expect(f"a flatbed that is 0.12 % off, {' '.join(kind) or 'unstated'}", max(off) <= 1, f"({max(off):.2f} U)")
    path = scanned(kit, os.path.join(folder, "odd.png"), stated=288)
    _, found, _ = inspect(kit.plan, path, "--scanner", "flatbed")
    expect("288 dpi is doubted", found[0]["verdict"] != "does not conform" and "288" in notes(found[0]),
           f"({found[0]['verdict']}: {notes(found[0])[:160]})")
    _, text, _ = inspect(kit.plan, scanned(kit, path), "--scanner", "flatbed", text=True)
    expect("the first lines say on what the scale rests", re.search(r"flatbed.*0\.2", text[:500], re.S),
           f"({text[:200]!r})")


# ---- 5: a ruler decides ----

def ruler_decides(folder):
    """What the report asks for is measured, to 0.1 mm, and then the sheet is decided."""
    kit = Kit(folder, "quay", QUAYSIDE)
    number = next(i for i, s in enumerate(kit.data["sheets"], 1) if s["name"] == "C4")
    marks = np.array(kit.data["sheets"][number - 1]["gauge"])
    for stated in (None, 300):
        path = scanned(kit, os.path.join(folder, "ruler.png"), number, stated=stated)
        words = []
        for _ in range(2):
            _, found, said = inspect(kit.plan, path, *words)
            if not found or found[0]["verdict"] != "undecided" or not found[0]["measure"]:
                break
            words = []
            for step in found[0]["measure"]:
                a, b = (marks["PQRS".index(step[end])] for end in ("from", "to"))
                words += ["--measured", f"{step['from']}-{step['to']}={np.linalg.norm(b - a):.1f}mm"]
        r = found[0] if found else {}
        expect(f"readings that the report asks for decide, with {stated or 'no'} dpi stated",
               r.get("verdict") == "conforms" and words,
               f"({r.get('verdict')} by {words[1::2]} {said.strip()[:120]})")


# ---- 6: a scanner that whitens ----

def whitened_ground(folder):
    text = 'course "Pale" edition "1"\ncolour sand = rgb(240, 236, 226)\nmat 150mm by 180mm ground sand\n' \
           "paint width 20mm, colour black, ends flat\nline west width 20mm from (30, 10)mm to (30, 170)mm\n" \
           "line east width 20mm from (110, 10)mm to (110, 170)mm\n"
    kit = Kit(folder, "pale", text)
    path = scanned(kit, os.path.join(folder, "pale.png"), white=0.68)
    _, found, _ = inspect(kit.plan, path, "--scanner", "flatbed")
    r = found[0]
    said = " ".join([notes(r), r.get("answer", ""), r.get("advice", "")]).lower()
    expect("a ground that the scanner whitened isn't blamed on the print",
           r["verdict"] != "does not conform"
           and not re.search(r"(?<!ink and )(?<!missing there, )(?<!if it is not, )print (it|the sheet|this sheet) again", said),
           f"({r['verdict']}: {said})")
    expect("and the scanner is named", "scan" in said, f"({said[:120]})")


# ---- 7: damaged pictures ----

def damaged_pictures(folder):
    kit = small(folder, "damaged")
    path = scanned(kit, os.path.join(folder, "whole.jpg"))
    whole = open(path, "rb").read()
    rng = np.random.default_rng(9)
    paths = []
    for i in range(24):
        data = bytearray(whole)
        for _ in range(int(rng.choice([1, 2, 5]))):
            place = int(rng.integers(700, len(data) - 2))
            data[place] ^= 1 << int(rng.integers(8))
        paths.append(os.path.join(folder, f"damaged-{i}.jpg"))
        with open(paths[-1], "wb") as file:
            file.write(data)
    corrupt = [p for p, said in zip(paths, by_opencv(paths)) if said]
    wrong = []
    for p in corrupt:
        status, found, _ = inspect(kit.plan, p, "--scanner", "flatbed")
        if found and "error" not in found[0] or status not in (65,):
            wrong.append((status, found[0].get("verdict") if found else None))
    expect("a picture that its decoder calls damaged gives no verdict", len(corrupt) >= 8 and not wrong,
           f"({len(wrong)} of {len(corrupt)} did: {wrong[:4]})")


def by_opencv(paths):
    """What OpenCV's own JPEG decoder complains of, for each file."""
    script = "import cv2,sys\nfor p in sys.argv[1:]:\n sys.stderr.write('\\n@@'); sys.stderr.flush(); a=cv2.imread(p)\n" \
             " if a is None: sys.stderr.write('none')\n sys.stderr.flush()\n"
    said = subprocess.run([sys.executable, "-c", script, *paths], capture_output=True, text=True).stderr
    return [part.strip() for part in said.split("@@")[1:]]


# ---- 8: lost plans ----

def lost_plans(folder):
    course = os.path.join(folder, "lost.course")
    with open(course, "w", encoding="utf-8") as file:
        file.write(SMALL.format(edition="1", size="450mm by 380mm", right="110"))
    pdf, plan = os.path.join(folder, "x.pdf"), os.path.join(folder, "x.plan.json")

    def sheets(*words):
        return subprocess.run([PAVIOR, "sheets", "--no-guide", course, *words, "-q", "-o", pdf], capture_output=True, text=True,
                              cwd=folder)

    sheets("--paper", "letter")
    before = open(plan, "rb").read()
    done = sheets("--paper", "A4")
    expect("a print's plan is not replaced, even with -o", done.returncode != 0 and open(plan, "rb").read() == before
           and "--replace" in done.stderr, f"({done.returncode} {done.stderr.strip()[:140]})")
    done = sheets("--paper", "A4", "--replace")
    expect("unless --replace says so", done.returncode == 0 and open(plan, "rb").read() != before,
           f"({done.returncode})")
    for name, content in (("foreign", b'{"my": "plan"}'), ("unreadable", b"\xff\xfe nonsense")):
        if os.path.exists(pdf):
            os.remove(pdf)
        with open(plan, "wb") as file:
            file.write(content)
        done = sheets("--paper", "A4")
        expect(f"a {name} file is not overwritten", done.returncode != 0 and open(plan, "rb").read() == content,
               f"({done.returncode} {done.stderr.strip()[:120]})")
    os.remove(plan)
    with open(pdf, "wb") as file:
        file.write(b"%PDF-1.4 somebody's own")
    done = sheets("--paper", "A4")
    expect("nor is a foreign PDF", done.returncode != 0 and open(pdf, "rb").read().endswith(b"own"),
           f"({done.returncode} {done.stderr.strip()[:120]})")
    os.remove(pdf)
    both = [subprocess.Popen([PAVIOR, "sheets", "--no-guide", course, "--paper", paper, "-q", "-o", pdf], stderr=subprocess.DEVNULL)
            for paper in ("A4", "letter")]
    status = [p.wait() for p in both]
    with open(plan, encoding="utf-8") as file:
        paper = json.load(file)["paper"].lower()
    winners = [name for name, s in zip(("a4", "letter"), status) if s == 0]
    expect("of two writers at once one is told", winners and paper.startswith(winners[-1]) and len(winners) == 1
           or len(winners) == 0, f"({status}, the plan is {paper}'s)")
    left = glob.glob(os.path.join(folder, "x*"))
    expect("and nothing half-written stays", len(left) <= 2, f"({[os.path.basename(f) for f in left]})")


# ---- 9: the worst line ----

def worst_line(folder):
    kit = small(folder, "worst")
    path = scanned(kit, os.path.join(folder, "worst.png"))
    _, found, _ = inspect(kit.plan, path, "--scanner", "flatbed")
    _, text, _ = inspect(kit.plan, path, "--scanner", "flatbed", text=True)
    row = re.search(r"worst line[^\n]*(?:\n[^\n]+)?", text)
    if not row:
        expect("no worst line is named by a measure that isn't stated", True)
        return
    figures = [float(n) for n in re.findall(r"(?<![\w.])[-+±]?(\d+\.\d{2,3})\b", row.group())]
    shown = {round(abs(v), d) for line in found[0]["lines"] for d in (2, 3)
             for v in (line["width_mm"], line["width_mm"] - line["nominal_mm"], line["U_mm"], line["bow_mm"] or 0,
                       line["nominal_mm"], line["tolerance_mm"], line["bow_U_mm"] or 0, line["bow_tolerance_mm"] or 0)}
    expect("what the worst line is off by stands in the tables", all(f in shown for f in figures),
           f"({row.group()!r} of {sorted(shown)})")


CASES = (ink_where_none_belongs, card_on_print, card_shaped, other_plans, identities, scanners, ruler_decides,
         whitened_ground, damaged_pictures, lost_plans, worst_line)


def main(names):
    for case in CASES:
        if not names or any(n in case.__name__ for n in names):
            with tempfile.TemporaryDirectory() as folder:
                try:
                    case(folder)
                except (KeyError, IndexError, TypeError, AttributeError, FileNotFoundError,
                        subprocess.SubprocessError) as error:
                    expect(case.__name__.replace("_", " "), False, f"({error!r})")
    return checks.finish("questions once answered wrongly")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
