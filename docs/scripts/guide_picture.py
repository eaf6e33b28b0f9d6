#!/usr/bin/env python3
"""Draws docs/pictures/taping-guide.png: two pages of the taping guide of layouts/quayside.course on A4, as
pdftoppm renders them.
Usage: guide_picture.py PAVIOR"""
import os
import subprocess
import sys
import tempfile

from PIL import Image, ImageOps

DPI = 64
PAGES = 1, 7  # the whole mat; steps 17 to 20


def main():
    pavior = os.path.abspath(sys.argv[1])
    docs = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    pages = []
    with tempfile.TemporaryDirectory() as tmp:
        subprocess.run([pavior, "sheets", os.path.join(docs, "../layouts/quayside.course"), "--paper", "A4",
                        "--quiet", "-o", "q.pdf"], check=True, cwd=tmp)
        for number in PAGES:
            subprocess.run(["pdftoppm", "-png", "-r", str(DPI), "-f", str(number), "-l", str(number),
                            "-singlefile", "q.pdf", "page"], check=True, cwd=tmp)
            page = Image.open(os.path.join(tmp, "page.png")).convert("RGB")
            pages.append(ImageOps.expand(page, 1, (150, 150, 146)))
    width, height = pages[0].size
    both = Image.new("RGB", (2 * width + 16, height), (255, 255, 255))
    for i, page in enumerate(pages):
        both.paste(page, (i * (width + 16), 0))
    both = both.quantize(64, Image.Quantize.MAXCOVERAGE)
    both.save(os.path.join(docs, "pictures/taping-guide.png"), optimize=True)


main()
