#!/usr/bin/env python3
"""Draws docs/pictures/report.svg: what `pavior inspect` says of sheet C3 of layouts/quayside.course,
rendered by poppler at 600 dpi in place of printer and scanner.
Usage: report_picture.py PAVIOR"""
import os
import subprocess
import sys
import tempfile
from xml.sax.saxutils import escape

SIZE, LEAD, EDGE = 14, 20, 24  # px
GOOD, INK, PAPER, RULE = "#1d6b3a", "#1c1c1c", "#fbfaf6", "#d8d4c8"


def report(pavior, course):
    with tempfile.TemporaryDirectory() as tmp:
        subprocess.run([pavior, "sheets", course, "--paper", "A4", "--range", "C3", "--quiet", "-o",
                        "quayside.pdf"], check=True, cwd=tmp)
        subprocess.run(["pdftocairo", "-png", "-r", "600", "-singlefile", "quayside.pdf", "C3"],
                       check=True, cwd=tmp)
        done = subprocess.run([pavior, "inspect", "--scanner", "flatbed", "--plan", "quayside.plan.json", "C3.png"], cwd=tmp,
                              capture_output=True, text=True, encoding="utf-8")
    if done.returncode != 0:
        sys.exit(done.stdout + done.stderr)
    return done.stdout.rstrip("\n").split("\n")


def main():
    pavior = os.path.abspath(sys.argv[1])
    docs = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    lines = report(pavior, os.path.join(docs, "../layouts/quayside.course"))
    lines.insert(0, "$ pavior inspect --scanner flatbed --plan quayside.plan.json C3.png")
    width = 2 * EDGE + round(0.602 * SIZE * max(82, max(map(len, lines))))
    height = 2 * EDGE + LEAD * len(lines)
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">',
           f'<rect x="0.5" y="0.5" width="{width - 1}" height="{height - 1}" rx="8" fill="{PAPER}" '
           f'stroke="{RULE}"/>',
           f'<g font-family="DejaVu Sans Mono, Liberation Mono, monospace" '
           f'font-size="{SIZE}" fill="{INK}">']
    for i, line in enumerate(lines):
        y = EDGE + LEAD * i + SIZE
        colour = f' fill="{GOOD}" font-weight="bold"' if line.startswith("C3  True") else ""
        out.append(f'<text x="{EDGE}" y="{y}" xml:space="preserve"{colour}>{escape(line)}</text>')
    out.append("</g>\n</svg>\n")
    with open(os.path.join(docs, "pictures/report.svg"), "w", encoding="utf-8") as f:
        f.write("\n".join(out))


main()
