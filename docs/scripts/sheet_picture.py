#!/usr/bin/env python3
"""Draws docs/pictures/sheet-anatomy.png: sheet B3 of layouts/quayside.course on A4, as pdftoppm
renders it, with the numbers that docs/how/sheet-anatomy.md explains. Where things stand comes from the
plan and from the page's own text.
Usage: sheet_picture.py PAVIOR"""
import json
import os
import re
import subprocess
import sys
import tempfile

import numpy as np
from PIL import Image, ImageDraw, ImageFont

DPI = 110
BORDER = 15.0  # mm around the page
MM = DPI / 25.4
INK = (176, 42, 32)


def words(pdf):
    """Every text on the page in mm, y up: (word, left, bottom, right, top)."""
    text = subprocess.run(["pdftotext", "-bbox", pdf, "-"], check=True, capture_output=True,
                          text=True).stdout
    height = float(re.search(r'height="([\d.]+)"', text).group(1))
    k = 25.4 / 72
    rows = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)<', text)
    return [(w, float(a) * k, (height - float(d)) * k, float(c) * k, (height - float(b)) * k)
            for a, b, c, d, w in rows]


def main():
    pavior = sys.argv[1]
    docs = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    with tempfile.TemporaryDirectory() as tmp:
        pdf = os.path.join(tmp, "q.pdf")
        subprocess.run([pavior, "sheets", "--no-guide", os.path.join(docs, "../layouts/quayside.course"),
                        "--paper", "A4", "--range", "B3", "--quiet", "-o", pdf], check=True)
        plan = json.load(open(os.path.join(tmp, "q.plan.json"), encoding="utf-8"))
        found = words(pdf)
        subprocess.run(["pdftoppm", "-r", str(DPI), "-png", "-singlefile", pdf,
                        os.path.join(tmp, "q")], check=True)
        page = Image.open(os.path.join(tmp, "q.png")).convert("RGB")
    sheet = next(s for s in plan["sheets"] if s["name"] == "B3")
    ox, oy = sheet["origin"]
    x0, y0, x1, y1 = (v - o for v, o in zip(sheet["cell"], (ox, oy, ox, oy)))
    width, height = plan["page"]
    bleed, lap = plan["bleed"], plan["lap_art"]

    def at(word, edge, nth=0):
        """The middle of a word's edge, a little off it."""
        _, left, bottom, right, top = [f for f in found if f[0] == word][nth]
        return {"left": (left - 1, (bottom + top) / 2), "right": (right + 1, (bottom + top) / 2),
                "top": ((left + right) / 2, top + 1), "bottom": ((left + right) / 2, bottom - 1)}[edge]

    def map_bottom():
        """The lower edge of the map: the lowest long black line under the art."""
        rows = np.asarray(page.convert("L"))[round((height - y0 + lap) * MM):] < 128
        best = (0, 0)
        for row in range(rows.shape[0]):
            dark = np.flatnonzero(np.diff(np.concatenate(([0], rows[row].astype(int), [0]))))
            runs = dark.reshape(-1, 2)
            longest = max(runs, key=lambda r: r[1] - r[0], default=(0, 0))
            if longest[1] - longest[0] > 10 * MM:
                best = (row, (longest[0] + longest[1]) / 2)
        return best[1] / MM, y0 - lap - best[0] / MM - 1

    crosses = [(c["at"][0] - ox, c["at"][1] - oy) for s in plan["seams"]
               for c in s["crosses"]]
    on_right = [c for c in crosses if abs(c[0] - x1) < 1e-6 and y0 < c[1] < y1]
    tag = sheet["tags"][2]["centre"]
    name = max((f for f in found if f[0] == "B3"), key=lambda f: f[4] - f[2])
    marks = {  # number: (what it points at, on which edge its number stands)
        1: (((name[1] + name[3]) / 2, name[2]), "bottom"),
        2: (at("scaling", "bottom"), "bottom"),
        3: ((tag[0] - 6, tag[1]), "left"),
        4: ((x0 - lap - 0.85 * plan["service"], y0 + 70), "left"),
        5: (sorted(on_right)[0], "right"),
        6: ((x1 + bleed / 2, y0 + 12), "right"),
        7: ((x1, y1 + bleed + 6), "top"),
        8: ((x0 - lap / 2, y0 + 0.9 * (y1 - y0)), "left"),
        9: ((x0 - lap - plan["service"] / 2, y0 + 0.78 * (y1 - y0)), "left"),
        10: (at("B3|B4", "right"), "right"),
        11: (at("B2|B3", "left"), "left"),
        12: (max((at("travel", "right", n) for n in range(2))), "right"),
        13: (min((at("beneath", "bottom", n) for n in range(2)), key=lambda p: p[1]), "bottom"),
        14: (at("up", "top"), "top"),
        15: (at("blade:", "top"), "top"),
        16: (map_bottom(), "bottom"),
        17: (sheet["gauge"][0], "bottom"),
    }
    canvas = Image.new("RGB", (round((width + 2 * BORDER) * MM), round((height + 2 * BORDER) * MM)),
                       (224, 224, 220))
    canvas.paste(page, (round(BORDER * MM), round(BORDER * MM)))
    draw = ImageDraw.Draw(canvas)
    font = ImageFont.truetype("DejaVuSans-Bold.ttf", round(3.6 * MM))

    def px(p):
        return (p[0] + BORDER) * MM, (height - p[1] + BORDER) * MM

    for number, (p, edge) in marks.items():
        stand = {"left": (-BORDER / 2, p[1]), "right": (width + BORDER / 2, p[1]),
                 "top": (p[0], height + BORDER / 2), "bottom": (p[0], -BORDER / 2)}[edge]
        draw.line([px(stand), px(p)], fill=INK, width=2)
        cx, cy = px(p)
        draw.ellipse([cx - 4, cy - 4, cx + 4, cy + 4], fill=INK)
        cx, cy = px(stand)
        r = 3.4 * MM
        draw.ellipse([cx - r, cy - r, cx + r, cy + r], fill=INK)
        draw.text((cx, cy), str(number), fill="white", font=font, anchor="mm")
    canvas = canvas.quantize(64)
    canvas.save(os.path.join(docs, "pictures/sheet-anatomy.png"), optimize=True)


main()
