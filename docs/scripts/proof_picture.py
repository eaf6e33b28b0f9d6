#!/usr/bin/env python3
"""Draws docs/pictures/proof.png: the proof page on A4, as pdftoppm renders it, with a frame.
Usage: proof_picture.py PAVIOR"""
import os
import subprocess
import sys
import tempfile

from PIL import Image, ImageOps

DPI = 84


def main():
    pavior = os.path.abspath(sys.argv[1])
    docs = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    with tempfile.TemporaryDirectory() as tmp:
        subprocess.run([pavior, "sheets", "--proof", "--paper", "A4", "--quiet", "-o", "proof.pdf"],
                       check=True, cwd=tmp)
        subprocess.run(["pdftoppm", "-png", "-r", str(DPI), "-singlefile", "proof.pdf", "proof"],
                       check=True, cwd=tmp)
        page = Image.open(os.path.join(tmp, "proof.png")).convert("RGB")
    page = ImageOps.expand(page, 1, (150, 150, 146))
    page.quantize(48).save(os.path.join(docs, "pictures/proof.png"), optimize=True)


main()
