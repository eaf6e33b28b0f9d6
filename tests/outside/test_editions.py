#!/usr/bin/python3
"""Editions: courses changed at random and laid with the older plan's seams. A sheet is named to be printed
again if and only if its picture has changed: both sets are rendered by poppler, and the cells compared
pixel by pixel; what may be less than a pixel is looked at again in finer ones. Sheets that need not be printed
again keep their tags.

    PAVIOR=build/pavior test_editions.py [--edits N] [--seed S] [--keep FOLDER]

Edits: a number in mm or degrees, a colour, an order, a statement left out, a line, a mark or a text added, the
edition alone."""
import argparse
import json
import os
import random
import re
import subprocess
import sys
import tempfile

import cv2
import numpy as np

from checks import expect, finish

PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
LAYOUTS = os.path.join(os.path.dirname(__file__), "..", "..", "layouts")
DPI, FINE = 72, 1200
PAPERS = ("A4", "A3", "letter", "tabloid")


# ---- edits ----

def numbers(text):
    return [m for m in re.finditer(r"(?<![\w.])(\d+(?:\.\d+)?)(mm|deg)\b", text)
            if not text[text.rfind("\n", 0, m.start()) + 1:m.start()].lstrip().startswith(("#", "tolerance", "mat"))
            and "#" not in text[text.rfind("\n", 0, m.start()) + 1:m.start()]]


def change_number(rng, text):
    m = rng.choice(numbers(text))
    value = float(m.group(1)) + rng.choice([-1, 1]) * rng.choice([0.5, 1, 2, 5, 12, 30])
    return text[:m.start(1)] + f"{abs(value):g}" + text[m.end(1):]


def change_colour(rng, text):
    m = rng.choice(list(re.finditer(r"^colour \w+ = (rgb\([^)]*\)|grey\([^)]*\))", text, re.M)))
    new = "rgb(%d, %d, %d)" % tuple(rng.randrange(256) for _ in range(3))
    return text[:m.start(1)] + new + text[m.end(1):]


def statements(text):
    """Spans of statements that print something, with the lines that continue them."""
    return [m.span() for m in re.finditer(r"^(?:line|fill|text|mark|arrow)\b[^\n]*\n(?:[ \t]+[^\n]*\n)*", text, re.M)]


def leave_out(rng, text):
    a, b = rng.choice(statements(text))
    return text[:a] + text[b:]


def swap(rng, text):
    spans = statements(text)
    k = rng.randrange(len(spans) - 1)
    (a, b), (c, d) = spans[k:k + 2]
    return text[:a] + text[c:d] + text[b:c] + text[a:b] + text[d:]


def add(rng, text, mat):
    x, y = rng.uniform(0.1, 0.8) * mat[0], rng.uniform(0.1, 0.8) * mat[1]
    n = rng.randrange(10**6)
    kind = rng.randrange(2)
    if kind == 0:
        more = f"line added_{n} width {rng.uniform(2, 15):.1f}mm colour black from ({x:.1f}, {y:.1f})mm, " \
               f"to ({x + rng.uniform(10, 100):.1f}, {y + rng.uniform(-60, 60):.1f})mm\n"
    else:
        more = f'text "N{n % 100}" at ({x:.1f}, {y:.1f})mm height {rng.uniform(5, 25):.1f}mm colour black\n'
    return text + "\n" + more


def edition(rng, text):
    return text + f"\n# {rng.random()}\n"


def edited(rng, text, mat):
    """The text with one or two changes, and a new edition."""
    kinds = [change_number] * 4 + [change_colour, leave_out, leave_out, swap, edition, add, add]
    for _ in range(rng.choice([1, 1, 2])):
        kind = rng.choice(kinds)
        text = add(rng, text, mat) if kind is add else kind(rng, text)
    return re.sub(r'edition "[^"]*"', f'edition "{rng.randrange(2, 10**6)}"', text)


# ---- sets ----

def lay(course, pdf, *more):
    """What pavior says, or None where it can't lay the course."""
    done = subprocess.run([PAVIOR, "sheets", course, "-o", pdf, "--json", "--no-guide", *more], capture_output=True, text=True,
                          check=False)
    if done.returncode != 0:
        return None
    with open(pdf[:-4] + ".plan.json", encoding="utf-8") as file:
        return json.loads(done.stdout), json.load(file)


def rendered(pdf, folder, dpi=DPI, page=None):
    """A picture of each page, or of one."""
    stem = os.path.join(folder, "page")
    only = [] if page is None else ["-f", str(page), "-l", str(page)]
    subprocess.run(["pdftoppm", "-r", str(dpi), *only, pdf, stem], check=True)
    names = sorted(n for n in os.listdir(folder) if n.startswith("page"))
    out = []
    for name in names:
        path = os.path.join(folder, name)
        with open(path, "rb") as file:
            head = [file.readline() for _ in range(3)]
            w, h = map(int, head[1].split())
            out.append(np.frombuffer(file.read(), np.uint8).reshape(h, w, 3))
        os.remove(path)
    return out


def cell(plan, sheet, image, dpi=DPI):
    """Its pixels that lie wholly in the cell."""
    (x0, y0, x1, y1), (ox, oy) = sheet["cell"], sheet["origin"]
    k, high = dpi / 25.4, plan["page"][1]
    a, b = (int(np.ceil(v * k - 1e-6)) for v in (x0 - ox, high - (y1 - oy)))
    c, d = (int(np.floor(v * k + 1e-6)) for v in (x1 - ox, high - (y0 - oy)))
    return image[b:d, a:c]


class Set:
    def __init__(self, made, pdf, folder):
        self.said, self.plan = made
        self.pdf, self.folder = pdf, folder
        images = rendered(pdf, folder)
        self.before = len(images) - len(self.plan["sheets"])  # pages of the guide
        self.images = images[self.before:]

    def cells(self):
        return {tuple(s["cell"]): (s, cell(self.plan, s, i)) for s, i in zip(self.plan["sheets"], self.images)}


    def finer(self, sheet):
        page = self.before + 1 + [s["name"] for s in self.plan["sheets"]].index(sheet["name"])
        return cell(self.plan, sheet, rendered(self.pdf, self.folder, FINE, page)[0], FINE)


def apart(a, b):
    """Whether something lies more than a fine pixel (0.02 mm) elsewhere. An arc that ends elsewhere is drawn by
    other Bezier curves all along, some micrometres apart, which may tip what poppler counts of a pixel."""
    square = np.ones((3, 3), np.uint8)
    return any(((one > cv2.dilate(other, square)) | (one < cv2.erode(other, square))).any()
               for one, other in ((a, b), (b, a)))


def judge(old, new, what):
    """Sheets that are named for no reason, and those that should be."""
    before, wrong, kept = old.cells(), [], 0
    again = {a["sheet"]: a for a in new.said["again"]}
    for key, (sheet, image) in new.cells().items():
        was = before.get(key)
        changed = was is None or was[1].shape != image.shape or bool((was[1] != image).any())
        one = again[sheet["name"]]
        if changed and one["print"] == "no" and was is not None and was[1].shape == image.shape:
            changed = apart(old.finer(was[0]), new.finer(sheet))
        if one["print"] != "no" and not changed:
            changed = bool((old.finer(was[0]) != new.finer(sheet)).any())
        if (one["print"] != "no") != changed:
            wrong.append((sheet["name"], one["print"], "changed" if changed else "not changed"))
        same_tags = was is not None and [t["id"] for t in was[0]["tags"]] == [t["id"] for t in sheet["tags"]]
        if same_tags != (one["print"] == "no"):
            wrong.append((sheet["name"], one["print"], "tags stay" if same_tags else "other tags"))
        kept += one["print"] == "no"
    for one in wrong:
        print(f"    {what}: {one}")
    return len(wrong), kept, len(new.plan["sheets"])


def check_kit(folder):
    """pavior kit --compare: its page and its PDFs name the sheets that sheets --keep does."""
    course, kits = os.path.join(folder, "next.course"), [os.path.join(folder, n) for n in ("first", "second")]
    with open(os.path.join(LAYOUTS, "quayside.course"), encoding="utf-8") as file:
        text = file.read().replace("M.F. TERN", "M.F. GULL").replace('edition "1"', 'edition "2"')
    with open(course, "w", encoding="utf-8") as file:
        file.write(text)
    for kit, more in zip(kits, ([os.path.join(LAYOUTS, "quayside.course")], [course, "--compare", kits[0]])):
        subprocess.run([PAVIOR, "kit", *more, "--paper", "A4", "-o", kit, "-q"], check=True)
    said, _ = lay(course, os.path.join(folder, "next.pdf"), "--paper", "A4", "--keep",
                  os.path.join(kits[0], "a4", "mat-a4.plan.json"))
    names = [n for n in said["taping"] if {a["sheet"]: a["print"] for a in said["again"]}[n] != "no"]
    pages = subprocess.run(["pdftotext", "-layout", os.path.join(kits[1], "a4", "again-a4.pdf"), "-"], check=True,
                           capture_output=True, text=True).stdout.split("\f")[:-1]
    with open(os.path.join(kits[1], "changes.html"), encoding="utf-8") as file:
        page = file.read()
    links = [l for l in re.findall(r'href="([^"#]+)"', page) if not l.startswith(("http", "data:"))]
    expect("a kit's PDF has the sheets that must be printed again, as they are taped",
           0 < len(names) < 28 and len(pages) == len(names) and
           all(re.search(rf"\b{n}\b", p) for n, p in zip(names, pages)), names)
    expect("its page names them, and what changed", ", ".join(names) in page and "M.F. GULL" in page)
    expect("and its links lead somewhere", all(os.path.exists(os.path.join(kits[1], l)) for l in links), len(links))
    with open(os.path.join(kits[1], "kit.json"), encoding="utf-8") as file:
        expect("kit.json counts them", json.load(file)["papers"][0]["again"] == len(names))


def main(argv):
    p = argparse.ArgumentParser(description=__doc__.split("\n\n", maxsplit=1)[0])
    p.add_argument("--edits", type=int, default=6)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--keep", metavar="FOLDER")
    a = p.parse_args(argv)
    names, olds, wrong, kept, sheets, done, same = ("quayside", "breakwater", "pierhead"), {}, 0, 0, 0, 0, 0
    with tempfile.TemporaryDirectory() as scratch:
        seed = a.seed
        while done < a.edits:
            rng = random.Random(seed)
            name, paper = names[seed % 3], rng.choice(PAPERS)
            with open(os.path.join(LAYOUTS, name + ".course"), encoding="utf-8") as file:
                text = file.read()
            old_pdf = os.path.join(scratch, f"{name}-{paper}.pdf")
            if (name, paper) not in olds:
                made = lay(os.path.join(LAYOUTS, name + ".course"), old_pdf, "--paper", paper)
                olds[name, paper] = Set(made, old_pdf, scratch)
            old = olds[name, paper]
            course, pdf = (os.path.join(a.keep or scratch, f"edit-{seed}.{e}") for e in ("course", "pdf"))
            with open(course, "w", encoding="utf-8") as file:
                file.write(edited(rng, text, old.plan["art"]["size"]))
            made = lay(course, pdf, "--paper", paper, "--keep", old_pdf[:-4] + ".plan.json", "--replace")
            if made is not None:
                w, k, n = judge(old, Set(made, pdf, scratch), f"edit {seed} of {name} on {paper}")
                wrong, kept, sheets, done, same = wrong + w, kept + k, sheets + n, done + 1, same + (k == n)
            seed += 1
        check_kit(scratch)
    expect("a sheet is named if and only if its picture changed, and else keeps its tags", wrong == 0,
           f"({wrong} wrong of {sheets} sheets in {done} edits, {seed - a.seed - done} more that were no course; "
           f"{kept} stay, all of them in {same} edits)")
    expect("edits change some sheets and leave some", 0 < kept < sheets)
    return finish("editions")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
