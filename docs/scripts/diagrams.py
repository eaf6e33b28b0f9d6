#!/usr/bin/env python3
"""Draws the diagrams of the documents: docs/pictures/{verdicts,seam,frames,rooms,steps,capture}.svg.
With --check it only says which of them differ from what is committed.
Usage: diagrams.py [--check]"""
import os
import sys
from xml.sax.saxutils import escape

PICTURES = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "pictures")
FONT = "DejaVu Sans, Verdana, Helvetica, Arial, sans-serif"
INK, SOFT, RULE, PAPER, GROUND = "#1c2126", "#5b6670", "#c6ccd2", "#ffffff", "#f3f4f2"
GOOD, BAD, OPEN, BLUE = "#1d6b3a", "#a8251d", "#8a6100", "#1f5f8b"
WASTE, STONE = "#e9ecef", "#f5f1e7"


class Svg:
    """Shapes on a white card; y runs down, lengths are px."""

    def __init__(self, width, height, title):
        self.out = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
                    f'viewBox="0 0 {width} {height}" font-family="{FONT}" font-size="14" fill="{INK}">',
                    f"<title>{escape(title)}</title>"]
        self.tips = set()
        self.rect(0.5, 0.5, width - 1, height - 1, PAPER, RULE, radius=8)

    def tip(self, where, colour):
        """An arrow's tip at the start or the end of a line of that colour."""
        if colour not in self.tips:
            self.tips.add(colour)
            self.out.append(f'<marker id="tip{colour[1:]}" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" '
                            'markerHeight="7" orient="auto-start-reverse">'
                            f'<path d="M0,0.6 L8,4 L0,7.4 z" fill="{colour}"/></marker>')
        return f' marker-{where}="url(#tip{colour[1:]})"'

    def rect(self, x, y, w, h, fill="none", stroke="none", width=1, radius=0, dash=None):
        self.out.append(f'<rect x="{x:g}" y="{y:g}" width="{w:g}" height="{h:g}" fill="{fill}" stroke="{stroke}" '
                        f'stroke-width="{width:g}"' + (f' rx="{radius:g}"' if radius else "") +
                        (f' stroke-dasharray="{dash}"' if dash else "") + "/>")

    def line(self, x0, y0, x1, y1, stroke=INK, width=1.0, dash=None, start=False, end=False):
        tips = (self.tip("start", stroke) if start else "") + (self.tip("end", stroke) if end else "")
        self.out.append(f'<line x1="{x0:g}" y1="{y0:g}" x2="{x1:g}" y2="{y1:g}" stroke="{stroke}" '
                        f'stroke-width="{width:g}"' + (f' stroke-dasharray="{dash}"' if dash else "") + tips + "/>")

    def path(self, d, fill="none", stroke="none", width=1.0, end=False, dash=None):
        tip = self.tip("end", stroke) if end else ""
        self.out.append(f'<path d="{d}" fill="{fill}" stroke="{stroke}" stroke-width="{width:g}"' +
                        (f' stroke-dasharray="{dash}"' if dash else "") + tip + "/>")

    def dot(self, x, y, r=3.5, fill=INK):
        self.out.append(f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" fill="{fill}"/>')

    def text(self, x, y, words, size=14, fill=INK, anchor="start", bold=False, turn=0, italic=False):
        self.out.append(f'<text x="{x:g}" y="{y:g}" font-size="{size:g}" fill="{fill}" text-anchor="{anchor}"' +
                        (' font-weight="bold"' if bold else "") + (' font-style="italic"' if italic else "") +
                        (f' transform="rotate({turn:g} {x:g} {y:g})"' if turn else "") +
                        f">{escape(words)}</text>")

    def lines(self, x, y, rows, lead=18, **how):
        for i, row in enumerate(rows):
            self.text(x, y + lead * i, row, **how)

    def done(self):
        return "\n".join(self.out + ["</svg>", ""])


# ---- U against the tolerance ----

def badge(svg, x, y, verdict):
    """The shapes of the HTML report: a round tick, a square cross, a diamond."""
    if verdict == "conforms":
        svg.dot(x, y, 10, GOOD)
        svg.path(f"M{x - 5:g},{y:g} l3.5,4 l6.5,-8", stroke=PAPER, width=2.4)
    elif verdict == "undecided":
        svg.path(f"M{x:g},{y - 12:g} l12,12 l-12,12 l-12,-12 z", fill=OPEN)
        svg.text(x, y + 5, "?", size=14, fill=PAPER, anchor="middle", bold=True)
    else:
        svg.rect(x - 10, y - 10, 20, 20, BAD)
        svg.path(f"M{x - 5:g},{y - 5:g} l10,10 m0,-10 l-10,10", stroke=PAPER, width=2.4)


def verdicts():
    svg = Svg(960, 372, "U against the tolerance: the three verdicts")
    middle, unit = 300.0, 440.0  # px of the planned value, and to 1 %
    colours = {"conforms": GOOD, "undecided": OPEN, "does not conform": BAD}
    low, high, top, bottom = middle - 0.3 * unit, middle + 0.3 * unit, 62, 322
    svg.rect(low, top, high - low, bottom - top, "#e6f0e9")
    for x, words in ((low, "99.7 %"), (middle, "100 %"), (high, "100.3 %")):
        svg.line(x, top, x, bottom, GOOD if x != middle else RULE, 1.4, "5 4" if x != middle else None)
        svg.text(x, 342, words, anchor="middle", fill=SOFT, size=13)
    svg.text(middle, 38, "tolerance: scale 0.3 %", anchor="middle", bold=True)
    svg.line(middle - 4, 52, low, 52, SOFT, end=True)
    svg.line(middle + 4, 52, high, 52, SOFT, end=True)
    rows = ((0.12, 0.10, "conforms", "all of ±U lies within the tolerance"),
            (-0.25, 0.10, "undecided", "±U reaches over the limit: a smaller U decides"),
            (-0.36, 0.10, "undecided", "also undecided: part of ±U lies within"),
            (0.48, 0.10, "does not conform", "all of ±U lies outside the tolerance"),
            (0.05, 0.38, "undecided", "a poor reference: U is larger than the tolerance"))
    for i, (value, u, verdict, why) in enumerate(rows):
        y, colour = top + 28 + 51 * i, colours[verdict]
        x = middle + value * unit
        svg.rect(x - u * unit, y - 5, 2 * u * unit, 10, colour + "55")
        for end in (-1, 1):
            svg.line(x + end * u * unit, y - 9, x + end * u * unit, y + 9, colour, 2)
        svg.line(x, y - 13, x, y + 13, colour, 4)
        if i == 0:
            svg.text(x, y - 17, "value", size=12, anchor="middle", fill=colour)
            svg.line(x + 3, y + 15, x + u * unit, y + 15, colour, 1.2, start=True, end=True)
            svg.text(x + u * unit + 6, y + 20, "U", size=13, fill=colour, italic=True)
        badge(svg, 612, y, verdict)
        svg.text(634, y - 2, verdict, bold=True, fill=colour)
        svg.text(634, y + 16, why, size=12, fill=SOFT)
    return svg.done()


# ---- a seam ----

MM = 9.0  # px
BLEED, LABEL, LAP, SERVICE = 3 * MM, 4 * MM, 4 * MM, 12 * MM


def cross(svg, x, y, half=None):
    """An alignment cross, or the half of it on one side of the seam."""
    arm, weight = 2.5 * MM, 2.2
    left, right = (x if half == "right" else x - arm), (x if half == "left" else x + arm)
    svg.line(left, y, right, y, INK, weight)
    svg.line(x, y - arm, x, y + arm, INK, weight if half is None else weight / 2)


def measure(svg, x0, x1, y, words, below=None):
    svg.line(x0, y, x1, y, BLUE, 1.2, start=True, end=True)
    svg.text((x0 + x1) / 2, y - 7, words, size=12, fill=BLUE, anchor="middle")
    if below:
        svg.text((x0 + x1) / 2, y + 16, below, size=12, fill=BLUE, anchor="middle")


def band(svg, x0, x1, y):
    """A line of the course that crosses the seam."""
    svg.rect(x0, y, x1 - x0, 3.2 * MM, INK)


def over_sheet(svg, x, y, h):
    """The right side of B3, whose trim line is at x."""
    left, cut = x - 190, x + BLEED
    svg.rect(left, y, x + BLEED + LABEL - left, h, PAPER, RULE)
    svg.rect(left, y + 26, cut - left, h - 52, STONE)
    band(svg, left, cut, y + 130)
    svg.line(x, y - 8, x, y + h + 8, BAD, 1.6, "7 4")
    for end in (y + 4, y + h - 18):
        svg.line(x, end, x, end + 14, INK, 1.2)
    cross(svg, x, y + 80)
    cross(svg, x, y + 215)
    svg.text(cut + LABEL / 2 + 4, y + h / 2 + 62, "seam B3|B4 · B3 on top", size=11, turn=-90, bold=True)
    svg.text(left + 16, y + 62, "cell of B3", size=15, bold=True)
    svg.text(left, y - 14, "B3, the sheet that lies over", size=15, bold=True)
    svg.text(x, y + h + 26, "trim line: cut here", size=12, fill=BAD, anchor="middle")
    measure(svg, x, cut, y + h + 52, "3 mm", "bleed")
    measure(svg, cut, cut + LABEL, y + h + 84, "4 mm", "label")


def under_sheet(svg, x, y, h):
    """The left side of B4, whose cell begins at x."""
    right, page = x + 190, x - LAP - SERVICE
    svg.rect(page, y, right - page, h, PAPER, RULE)
    svg.rect(x - LAP, y + 26, right - x + LAP, h - 52, STONE)
    band(svg, x - LAP, right, y + 130)
    svg.line(x, y - 8, x, y + h + 8, BAD, 1.6, "7 4")
    cross(svg, x, y + 80)
    cross(svg, x, y + 215)
    svg.rect(page + 26, y + 34, 46, 46, INK)
    svg.rect(page + 34, y + 42, 30, 30, PAPER)
    svg.rect(page + 42, y + 50, 14, 14, INK)
    for i in range(9):
        svg.line(page + 30, y + 104 + 12 * i, page + (52 if i % 4 == 0 else 42), y + 104 + 12 * i, INK, 1)
    svg.text(page + 86, y + h / 2 + 62, "seam B3|B4 · B3 on top", size=11, turn=-90, bold=True)
    svg.text(x + 40, y + 62, "cell of B4", size=15, bold=True)
    svg.text(page, y - 14, "B4, the sheet that lies under", size=15, bold=True)
    svg.text(x, y + h + 26, "seam: do not cut", size=12, fill=BAD, anchor="middle")
    measure(svg, page, x - LAP, y + h + 52, "12 mm", "service strip")
    measure(svg, x - LAP, x, y + h + 52, "4 mm", "lap")


def seam():
    svg = Svg(960, 668, "A seam: bleed, lap, trim line and alignment crosses, before and after taping")
    svg.text(24, 34, "Before: both sheets print the same crosses, at the same place of the mat", size=15, fill=SOFT)
    over_sheet(svg, 250, 82, 260)
    under_sheet(svg, 690, 82, 260)
    svg.line(24, 466, 936, 466, RULE)
    svg.text(24, 494, "After: trimmed, laid over, the halves of all crosses meet", size=15, fill=SOFT)
    x, y = 250, 512
    svg.rect(60, y, 380, 120, STONE)
    band(svg, 60, 440, y + 68)
    cross(svg, x, y + 34)
    svg.line(x, y - 6, x, y + 126, BAD, 1.2, "7 4")
    svg.text(74, y + 24, "B3", bold=True)
    svg.text(404, y + 24, "B4", bold=True)
    svg.text(x, y + 144, "from above", size=12, fill=SOFT, anchor="middle")
    x, y = 690, 590  # the cut across it, its height exaggerated
    svg.rect(480, y - 22, x - 480, 12, "#d9cfb4", INK)
    svg.rect(x - LAP - SERVICE, y - 8, 936 - 14 - x + LAP + SERVICE, 12, "#efe7d2", INK)
    svg.path(f"M480,{y + 14} H922", stroke=SOFT, width=3)
    svg.path(f"M{x - 70},{y - 24} H{x + 1} C{x + 6},{y - 24} {x + 4},{y - 10} {x + 14},{y - 10} H{x + 76}", stroke=BLUE, width=3)
    svg.text(x + 40, y - 17, "tape", size=12, fill=BLUE)
    svg.text(490, y - 29, "B3 over", size=12)
    svg.text(862, y - 15, "B4 under", size=12)
    svg.line(x, y - 70, x, y + 20, BAD, 1.2, "7 4")
    svg.out.append(f'<circle cx="{x - 62}" cy="{y - 39}" r="13" fill="none" stroke="{INK}" stroke-width="2.4"/>')
    svg.dot(x - 62, y - 39, 2.5)
    svg.line(x - 44, y - 46, x + 34, y - 46, INK, 1.6, end=True)
    svg.text(x + 42, y - 42, "the robot steps down", size=12)
    measure(svg, x - LAP - SERVICE, x, y + 36, "overlap 16 mm")
    svg.text(x, 656, "cut across the seam, height exaggerated", size=12, fill=SOFT, anchor="middle")
    return svg.done()


# ---- the frames ----

def axes(svg, x, y, length, up=-1, colour=BLUE, labels=("x", "y")):
    svg.line(x, y, x + length, y, colour, 2, end=True)
    svg.line(x, y, x, y + up * length, colour, 2, end=True)
    svg.dot(x, y, 4, colour)
    svg.text(x + length + 6, y + 5, labels[0], fill=colour, italic=True, bold=True)
    svg.text(x - 4, y + up * (length + 8) + (12 if up > 0 else 0), labels[1], fill=colour, italic=True, bold=True,
             anchor="end")


def tag(svg, x, y, side=12):
    svg.rect(x, y, side, side, INK)
    svg.rect(x + side / 4, y + side / 4, side / 2, side / 2, PAPER)


def page_art(svg, x, y, w, h):
    """A page with its cell and one line of the course in it."""
    svg.rect(x, y, w, h, PAPER, SOFT)
    svg.rect(x + 22, y + 14, w - 36, h - 50, STONE, RULE, dash="4 3")
    svg.path(f"M{x + 73:g},{y + h - 36:g} v-56 a50,50 0 0 1 50,-50 h{w - 137:g}", stroke=INK, width=11)
    for tx, ty in ((x + 5, y + 14), (x + 5, y + h - 26), (x + w - 24, y + h - 26)):
        tag(svg, tx, ty)


def frames():
    svg = Svg(960, 700, "The four frames: mat, page, printer, image")
    head = {"size": 16, "bold": True}
    # The mat.
    svg.text(28, 38, "1  Mat frame", **head)
    svg.lines(28, 60, ["mm, origin at the mat's lower left corner, y up"], fill=SOFT, size=13)
    x, y, w, h = 60, 84, 360, 190
    svg.rect(x, y, w, h, STONE, SOFT)
    for i in range(1, 4):
        svg.line(x + 90 * i, y, x + 90 * i, y + h, RULE, dash="4 3")
    svg.line(x, y + 95, x + w, y + 95, RULE, dash="4 3")
    svg.path(f"M{x + 130:g},{y + h:g} v-120 a40,40 0 0 1 40,-40 h80 a40,40 0 0 1 40,40 v120", stroke=INK, width=9)
    svg.rect(x + 90, y, 90, 95, "none", BLUE, 2.5)
    svg.text(x + 98, y + 88, "A2", fill=BLUE, bold=True)
    axes(svg, x, y + h, 56)
    svg.lines(28, 318, ["course, plan, scenes, flaws in a report"], fill=SOFT, size=13)
    # The page.
    svg.text(520, 38, "2  Page frame", **head)
    svg.lines(520, 60, ["mm, origin at the lower left corner of the page, y up"], fill=SOFT, size=13)
    page_art(svg, 580, 84, 150, 190)
    axes(svg, 580, 274, 56)
    svg.text(745, 110, "one for every sheet:", size=13, fill=SOFT)
    svg.text(745, 130, "page = mat − origin", size=13, italic=True)
    svg.lines(745, 158, ["tags, scale bars, labels;", "“nominal mm” in inspection"], fill=SOFT, size=13)
    svg.path("M428,150 C470,130 500,130 560,150", stroke=BLUE, width=2, end=True)
    svg.text(492, 124, "shift", size=13, fill=BLUE, anchor="middle")
    # The printer.
    svg.text(520, 380, "3  Printer's frame", **head)
    svg.lines(520, 402, ["mm, origin in the middle of the upright page, y up"], fill=SOFT, size=13)
    x, y = 590, 424
    svg.rect(x, y, 140, 190, PAPER, RULE, dash="5 4")
    svg.path(f"M{x - 1:g},{y + 182:g} l132,3 l7,-177 l-132,-3 z", PAPER, SOFT, 1.5)
    axes(svg, x + 70, y + 95, 42)
    svg.lines(760, 450, ["what the printer does:", "scale in x and y, skew,", "ink spread"], fill=SOFT, size=13)
    svg.lines(760, 520, ["in printer.json; x across,", "y up, whichever way the", "page is sent"], fill=SOFT, size=13)
    svg.line(705, 286, 705, 366, BLUE, 2, end=True)
    svg.text(714, 330, "printing", size=13, fill=BLUE)
    # The image.
    svg.text(28, 380, "4  Image frame", **head)
    svg.lines(28, 402, ["px, origin at the image's upper left corner, y down"], fill=SOFT, size=13)
    x, y, w, h = 60, 424, 360, 220
    svg.rect(x, y, w, h, "#cfc4b2", SOFT)
    svg.path(f"M{x + 120:g},{y + 190:g} L{x + 268:g},{y + 200:g} L{x + 256:g},{y + 30:g} L{x + 134:g},{y + 22:g} z",
             PAPER, SOFT)
    svg.path(f"M{x + 138:g},{y + 170:g} L{x + 252:g},{y + 176:g} L{x + 244:g},{y + 40:g} L{x + 148:g},{y + 34:g} z",
             STONE, RULE, dash="4 3")
    svg.path(f"M{x + 186:g},{y + 172:g} L{x + 188:g},{y + 122:g} q2,-38 34,-40 l24.5,-1", stroke=INK, width=9)
    svg.rect(x + 292, y + 60, 44, 70, "#3c6e9e", INK, radius=5)
    svg.text(x + 314, y + 100, "card", size=12, fill=PAPER, anchor="middle")
    axes(svg, x, y, 56, up=1)
    svg.path("M572,540 C520,560 480,560 430,540", stroke=BLUE, width=2, end=True)
    svg.text(502, 580, "scan or photo", size=13, fill=BLUE, anchor="middle")
    svg.path("M560,250 C490,290 440,350 420,416", stroke=GOOD, width=2, end=True, dash="6 4")
    svg.lines(340, 340, ["the pose:", "page to image,", "and back"], size=13, fill=GOOD)
    svg.lines(28, 672, ["What a millimetre is comes from the reference, never from the print."], fill=SOFT, size=13)
    return svg.done()


# ---- the rooms ----

def room(svg, x, y, name, what, w=128, fill=GROUND, stroke=SOFT):
    svg.rect(x, y, w, 58, fill, stroke, 1.4, radius=6)
    svg.text(x + w / 2, y + 24, name, anchor="middle", bold=True, size=15)
    svg.text(x + w / 2, y + 44, what, anchor="middle", size=11.5, fill=SOFT)


def flow(svg, d, words=None, at=None, dash=None):
    svg.path(d, stroke=INK, width=1.6, end=True, dash=dash)
    if words:
        svg.text(*at, words, size=11.5, fill=SOFT, anchor="middle")


def file_of(svg, x, y, name, w=112):
    svg.path(f"M{x:g},{y:g} h{w - 12:g} l12,12 v22 h{-w:g} z", "#fff8e3", "#b39a4b", 1.2)
    svg.text(x + w / 2, y + 22, name, anchor="middle", size=12)


def rooms():
    svg = Svg(960, 520, "How data flows through the rooms")
    svg.text(28, 36, "From a course to sheets", bold=True, size=15)
    file_of(svg, 28, 72, "F.course")
    room(svg, 180, 60, "course/", "text to model, review")
    room(svg, 354, 60, "plan/", "seams, order, tags")
    room(svg, 528, 60, "page/, scene/", "what a page shows", fill="#e4eef6", stroke=BLUE)
    room(svg, 702, 60, "draw/", "a page's paths", w=112)
    file_of(svg, 854, 46, "F.pdf", 82)
    file_of(svg, 854, 98, "F.svg", 82)
    for x in (140, 308, 482, 656):
        flow(svg, f"M{x},89 h{38 if x == 140 else 44}")
    flow(svg, "M814,82 L851,66")
    flow(svg, "M814,96 L851,112")
    file_of(svg, 362, 150, "F.plan.json")
    flow(svg, "M418,118 v30")
    svg.text(28, 252, "From an image to a verdict", bold=True, size=15)
    file_of(svg, 28, 288, "scan.png")
    names = (("image/", "linear light, edges"), ("pose/", "page to image"), ("reference/", "what is a mm"),
             ("measure/", "table of values"), ("judge/", "verdict, remedy"))
    for i, (name, what) in enumerate(names):
        room(svg, 180 + 156 * i, 276, name, what)
    flow(svg, "M140,305 h38")
    for i in range(4):
        flow(svg, f"M{308 + 156 * i},305 h26")
    # The scene feeds those who must know what was printed.
    svg.path("M592,118 V226 M400,226 H712", stroke=BLUE, width=1.8)
    for x in (400, 556, 712):
        svg.line(x, 226, x, 273, BLUE, 1.8, end=True)
    svg.text(604, 196, "what is where on this page", size=12, fill=BLUE)
    flow(svg, "M474,168 C510,168 560,150 572,120", dash="5 4")
    room(svg, 804, 394, "report/", "text, JSON, HTML")
    flow(svg, "M868,334 v58")
    room(svg, 630, 394, "calibrate", "in report/")
    flow(svg, "M804,423 h-44")
    file_of(svg, 474, 404, "printer.json", 116)
    flow(svg, "M630,423 h-38")
    flow(svg, "M474,423 H14 V204 H330 V140 L364,120", "corrects the sheets", (240, 414), dash="5 4")
    svg.line(28, 470, 932, 470, RULE)
    svg.text(28, 496, "Beneath all: base/   json/   type/   tag/   paper/", size=13, fill=SOFT)
    svg.text(932, 496, "On top: cli/, which sees include/pavior/ only", size=13, fill=SOFT, anchor="end")
    return svg.done()


# ---- the first print ----

def step(svg, x, number, name, rows):
    svg.rect(x, 56, 140, 96, GROUND, SOFT, 1.2, radius=6)
    svg.dot(x + 20, 76, 12, BLUE)
    svg.text(x + 20, 81, str(number), fill=PAPER, anchor="middle", bold=True)
    svg.text(x + 40, 81, name, bold=True, size=15)
    svg.lines(x + 14, 110, rows, size=12, fill=SOFT)


def steps():
    svg = Svg(960, 310, "From a course to a mat, step by step")
    svg.text(28, 34, "From a course to a mat", bold=True, size=15)
    what = (("sheets", ("pavior sheets", "PDF and plan")), ("print", ("one page,", "at 100 %")),
            ("ruler", ("is the bar", "100 mm long?")), ("scan", ("or photograph", "with a card")),
            ("inspect", ("pavior inspect", "with the plan")))
    for i, (name, rows) in enumerate(what):
        step(svg, 28 + 191 * i, i + 1, name, rows)
        if i:
            svg.line(28 + 191 * i - 51, 104, 28 + 191 * i - 3, 104, INK, 1.6, end=True)
    svg.path("M480,154 C480,184 290,184 290,156", stroke=BAD, width=1.8, end=True)
    svg.text(385, 196, "96 mm: the dialog shrank the page", size=12, fill=BAD, anchor="middle")
    svg.line(862, 154, 862, 196, INK, 1.6)
    svg.line(400, 214, 862, 214, INK, 1.6)
    svg.line(862, 196, 862, 214, INK, 1.6)
    rows = (("conforms", GOOD, "print the rest, then cut and tape"),
            ("undecided", OPEN, "a better reference or image, as the report says"),
            ("does not conform", BAD, "fix the cause; or calibrate the printer"))
    for i, (verdict, colour, then) in enumerate(rows):
        x = (108, 400, 730)[i]
        svg.line(max(x, 108), 214, x, 236, INK, 1.6, end=True)
        badge(svg, x, 252, verdict)
        svg.text(x + 20, 257, verdict, bold=True, fill=colour)
        svg.text(x - 12, 286, then, size=12, fill=SOFT)
    svg.line(108, 214, 400, 214, INK, 1.6)
    return svg.done()


# ---- scanning and photographing ----

def good_or_bad(svg, x, y, good, words):
    badge(svg, x, y, "conforms" if good else "does not conform")
    svg.text(x + 18, y + 5, words, size=13)


def small_sheet(svg, x, y, w=76, h=108):
    svg.rect(x, y, w, h, PAPER, SOFT)
    svg.rect(x + 12, y + 7, w - 19, h - 24, STONE)
    svg.path(f"M{x + 28:g},{y + h - 17:g} v-30 a24,24 0 0 1 24,-24 h{w - 59:g}", stroke=INK, width=5)
    for tx, ty in ((x + 2, y + 8), (x + 2, y + h - 14), (x + w - 12, y + h - 14)):
        tag(svg, tx, ty, 9)


def capture():
    svg = Svg(960, 392, "How to scan a sheet, and how to photograph it")
    svg.text(28, 36, "On a flatbed scanner", bold=True, size=15)
    svg.rect(60, 60, 190, 150, "#dfe6ec", SOFT, 2, radius=6)
    small_sheet(svg, 114, 80)
    svg.text(155, 228, "whole, untrimmed, flat on the glass", size=12, fill=SOFT, anchor="middle")
    good = ("300 dpi or more, grey or colour", "keep the resolution in the file", "PNG, or JPEG of high quality")
    bad = ("sharpening, contrast, automatic crop", "a photo app or a fax in between")
    for i, words in enumerate((*good, *bad)):
        good_or_bad(svg, 44, 262 + 25 * i, i < len(good), words)
    svg.line(372, 24, 372, 368, RULE)
    svg.text(400, 36, "With a phone and a bank card", bold=True, size=15)
    svg.rect(410, 60, 230, 150, "#8d7f6d", SOFT, radius=4)
    small_sheet(svg, 446, 80)
    svg.rect(552, 116, 21, 33, "#3c6e9e", INK, radius=2.5)
    svg.rect(556, 121, 6, 5, "#e0c168")
    svg.text(525, 228, "card close to the sheet", size=12, fill=SOFT, anchor="middle")
    # Seen from the side.
    svg.rect(690, 196, 230, 10, "#8d7f6d", SOFT)
    svg.line(730, 194, 830, 194, PAPER, 3)
    svg.line(730, 192.4, 830, 192.4, SOFT, 0.8)
    svg.rect(848, 190, 36, 5, "#3c6e9e", INK)
    svg.rect(772, 66, 70, 12, INK, radius=3)
    svg.dot(807, 79, 4, BLUE)
    svg.line(807, 84, 722, 192, BLUE, 1, "4 4")
    svg.line(807, 84, 892, 192, BLUE, 1, "4 4")
    svg.line(807, 88, 807, 186, SOFT, 1, "2 4")
    svg.text(807, 228, "from straight above", size=12, fill=SOFT, anchor="middle")
    good = ("sheet and card fill the picture, all of both in it", "flat, in even light, on a table of another colour",
            "a card of bank card size: it is the reference")
    bad = ("zoom, or an app that straightens or crops", "fingers, shadows or folds over tags and card")
    for i, words in enumerate((*good, *bad)):
        good_or_bad(svg, 416, 262 + 25 * i, i < len(good), words)
    return svg.done()


def main():
    wrong = []
    for name, draw in (("verdicts", verdicts), ("seam", seam), ("frames", frames), ("rooms", rooms),
                       ("steps", steps), ("capture", capture)):
        path, svg = os.path.join(PICTURES, name + ".svg"), draw()
        if "--check" not in sys.argv:
            with open(path, "w", encoding="utf-8") as out:
                out.write(svg)
        elif not os.path.exists(path) or open(path, encoding="utf-8").read() != svg:
            wrong.append(name)
    for name in wrong:
        print(f"FAIL diagram {name}: it differs; look at it after make pictures")
    return 1 if wrong else 0


sys.exit(main())
