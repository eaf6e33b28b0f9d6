#!/usr/bin/env python3
"""Draws docs/pictures/certificate.png: `pavior inspect --certificate` for a simulated scan of sheet
C3 of layouts/quayside.course.
Usage: certificate_picture.py PAVIOR"""
import os
import subprocess
import sys
import tempfile

from PIL import Image, ImageOps


def main():
    pavior = os.path.abspath(sys.argv[1])
    docs = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    with tempfile.TemporaryDirectory() as tmp:
        def inside(name):
            return os.path.join(tmp, name)
        subprocess.run([pavior, "sheets", "--no-guide", os.path.join(docs, "../layouts/quayside.course"),
                        "--paper", "A4", "--quiet", "-o", inside("quayside.pdf")], check=True)
        subprocess.run([sys.executable, os.path.join(docs, "../tests/outside/simulate.py"),
                        inside("quayside.pdf"), "-o", inside("C3.png"), "--page", "17", "--dpi",
                        "300", "--kind", "colour", "--turn", "0.8", "--gain", "0.05"], check=True,
                       stdout=subprocess.DEVNULL)
        subprocess.run([pavior, "inspect", "--scanner", "flatbed", "--plan", "quayside.plan.json",
                        "-q", "--certificate", "C3.pdf", "C3.png"], check=True, cwd=tmp)
        subprocess.run(["pdftoppm", "-r", "100", "-png", "-singlefile", inside("C3.pdf"),
                        inside("page")], check=True)
        page = ImageOps.expand(Image.open(inside("page.png")).convert("RGB"), 1, (190, 196, 202))
    page.quantize(96).save(os.path.join(docs, "pictures/certificate.png"), optimize=True)


main()
