#!/usr/bin/env python3
"""The dimension drawing, read back by poppler: its numbers are the course's, each once, they stand where its
scale says, and no text meets another or a line, on every layout and paper. What a course has, the plan's file
says."""
import json
import math
import os
import re
import subprocess
import sys
import tempfile

import numpy as np
from PIL import Image

from checks import expect, finish

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
COURSES = ["layouts/quayside.course", "layouts/pierhead.course", "layouts/breakwater.course",
           "tests/outside/check36.course", "tests/outside/limani.course"]
PAPERS = {"A3": (420, 297), "A4": (297, 210), "letter": (279.4, 215.9), "tabloid": (431.8, 279.4)}
PT = 25.4 / 72


def run(*args):
    return subprocess.run(args, capture_output=True, check=True, text=True).stdout


def draw(course, pdf, *more):
    subprocess.run([PAVIOR, "review", course, "--quiet", "--replace", "--dimensions", pdf, *more],
                   check=False, capture_output=True)
    return words(pdf)


def words(pdf):
    """Words with their boxes: text, left, top, right, bottom in mm of the page."""
    page = run("pdftotext", "-bbox", pdf, "-")
    found = re.findall(r'<word xMin="([^"]+)" yMin="([^"]+)" xMax="([^"]+)" yMax="([^"]+)">(.*?)</word>', page)
    return [(text.replace("&amp;", "&"), *(float(v) * PT for v in box)) for *box, text in found]


def cores(said):
    """Where words have ink. A word's box is that of its typeface, taller than its capitals: a quarter of the
    height is left out on each side."""
    for text, left, top, right, bottom in said:
        less = 0.27 * min(right - left, bottom - top)
        yield text, left + less, top + less, right - less, bottom - less


def overlaps(said):
    """Pairs of words whose ink meets."""
    core = list(cores(said))
    return [(a[0], b[0]) for i, a in enumerate(core) for b in core[:i]
            if a[1] < b[3] and b[1] < a[3] and a[2] < b[4] and b[2] < a[4]]


def struck(pdf, said, folder):
    """Words that a line passes through: what is dark where they stand, once all text is taken from the page. The
    drawing's lines are black or grey 110; the mat's own art is too pale to count."""
    bare, page, dpi = f"{folder}/bare.pdf", f"{folder}/bare", 300
    run("qpdf", "--qdf", "--object-streams=disable", pdf, bare)
    with open(bare, "rb") as file:
        content, n = re.subn(rb"(?<=\n)BT\n.*?\nET(?=\n)", b"", file.read(), flags=re.S)
    with open(bare, "wb") as file:
        file.write(subprocess.run(["fix-qdf"], input=content, stdout=subprocess.PIPE, check=True).stdout)
    run("pdftoppm", "-r", str(dpi), "-gray", "-singlefile", bare, page)
    grey = np.asarray(Image.open(page + ".pgm"))
    expect(f"{os.path.basename(pdf)}: {n} texts are taken away", n > 20 and not words(bare))
    px = dpi / 25.4
    return [text for text, left, top, right, bottom in cores(said)
            if (grey[round(top * px):round(bottom * px), round(left * px):round(right * px)] < 140).any()]


def mm(value):
    return f"{value:.2f}".rstrip("0").rstrip(".")


def holds(course, folder):
    """Widths, radii and diameters of the course, by the plan's file."""
    plan = f"{folder}/of.pdf"
    run(PAVIOR, "sheets", course, "--replace", "--quiet", "-o", plan)
    with open(f"{folder}/of.plan.json", encoding="utf-8") as file:
        art = json.load(file)["art"]
    wide, radii, across = set(), set(), set()
    for line in art["lines"]:
        wide.add(mm(line["width"]))
        for piece in line["pieces"]:
            if len(piece) > 4:  # an arc: both ends, centre, radius, from, sweep
                radius, sweep = piece[6], piece[8]
                whole = abs(sweep) > 2 * math.pi - 1e-6
                (across if whole else radii).add(mm(radius * (2 if whole else 1)))
    return art, wide, radii, across


def all_said(name, pdf, art, wide, radii, across):
    text = run("pdftotext", "-raw", pdf, "-")
    expect(f"{name}: widths", set(re.findall(r"line ([\d.]+) wide", text)) == wide)
    expect(f"{name}: radii", set(re.findall(r"\bR([\d.]+)", text)) == radii)
    expect(f"{name}: diameters", set(re.findall(r"Ø([\d.]+)", text)) == across)
    for value in art["size"]:
        expect(f"{name}: side {mm(value)}", mm(value) in text.split() and f"[{value / 25.4:.2f}]" in text)


def check_course(folder):
    """36 in, 9 in, 2 cm, radius 9 in; the texts of dimensions stand half way, at 1:5."""
    pdf = f"{folder}/check.pdf"
    said = draw("tests/outside/check36.course", pdf)
    texts = [w[0] for w in said]
    text = run("pdftotext", "-raw", pdf, "-")
    for over, under in (("914.4", "[36.00]"), ("228.6", "[9.00]"), ("457.2", "[18.00]"), ("685.8", "[27.00]")):
        expect(f"check course: {over} {under}, along both sides",
               texts.count(over) == 2 and texts.count(under) >= 2, f"({texts.count(over)})")
    expect("check course: line 20 mm, 0.79 in", "10× line 20 wide" in text and "[0.79]" in texts)
    expect("check course: radius 9 in", "4× R228.6" in text and "[9.00]" in texts)
    expect("check course: scale 1:5", "1:5" in texts)
    middle = {t: [(w[1] + w[3]) / 2 for w in said if w[0] == t and w[3] - w[1] > w[4] - w[2]]
              for t in ("228.6", "457.2", "685.8", "914.4")}
    for a, b in (("228.6", "457.2"), ("457.2", "685.8"), ("685.8", "914.4")):
        apart = middle[b][0] - middle[a][0]
        expect(f"check course: {a} and {b} stand {apart:.2f} mm apart", abs(apart - 228.6 / 2 / 5) < 0.1)


def every_paper(folder):
    for course in COURSES:
        name = os.path.basename(course).split(".")[0]
        art, *sets = holds(course, folder)
        for paper, size in PAPERS.items():
            pdf = f"{folder}/{name}.pdf"
            said = draw(course, pdf, "--paper", paper)
            expect(f"{name} on {paper}: no text meets another", not overlaps(said), f"{overlaps(said)[:3]}")
            met = struck(pdf, said, folder)
            expect(f"{name} on {paper}: no line meets a text", not met, f"{met[:5]}")
            out = [w[0] for w in said if w[1] < 20 or w[2] < 10 or w[3] > size[0] - 10 or w[4] > size[1] - 10]
            expect(f"{name} on {paper}: all within the frame", not out, f"{out[:3]}")
            run("qpdf", "--check", pdf)
            all_said(f"{name} on {paper}", pdf, art, *sets)


def hostile(folder):
    """A large course ends in time, and says how many positions it leaves out."""
    course = f"{folder}/many.course"
    with open(course, "w", encoding="utf-8") as f:
        f.write('course "Many" edition "1"\nmat 90m by 60m ground white\npaint width 5mm, colour black\n'
                'repeat k from 1 to 3000\n line l from (k * 29mm, 0mm) by (0mm, k * 19mm)\nend\n'
                'repeat k from 1 to 500\n circle c centre (k * 170mm, 50m) radius k * 1mm\nend\n')
    began = os.times().children_user
    said = draw(course, f"{folder}/many.pdf")
    spent = os.times().children_user - began
    expect("many lines: drawn in time", spent < 20, f"({spent:.1f} s)")
    expect("many lines: says what it leaves out", any("positions" == w[0] for w in said))
    expect("many lines: no text meets another", not overlaps(said), f"{overlaps(said)[:3]}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        check_course(folder)
        every_paper(folder)
        hostile(folder)
    return finish("dimension drawing")


sys.exit(main())
