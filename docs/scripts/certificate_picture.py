#!/usr/bin/env python3
"""Draws docs/pictures/certificate.png: `pavior inspect --certificate` for a simulated scan of sheet
C3 of layouts/quayside.course.
Usage: certificate_picture.py PAVIOR"""
import os
import subprocess
import sys
import tempfile

from PIL import Image, ImageOps

import sample


def main():
    pavior = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as tmp:
        def inside(name):
            return os.path.join(tmp, name)
        sample.scan(pavior, tmp)
        subprocess.run([pavior, "inspect", "--scanner", "flatbed", "--plan", "quayside.plan.json",
                        "-q", "--certificate", "C3.pdf", "C3.png"], check=True, cwd=tmp)
        subprocess.run(["pdftoppm", "-r", "100", "-png", "-singlefile", inside("C3.pdf"),
                        inside("page")], check=True)
        page = ImageOps.expand(Image.open(inside("page.png")).convert("RGB"), 1, (190, 196, 202))
    page.quantize(96).save(os.path.join(sample.DOCS, "pictures/certificate.png"), optimize=True)


main()
