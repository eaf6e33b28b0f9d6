#!/usr/bin/env python3
"""Draws docs/pictures/report-page.png: the beginning of `pavior inspect --report` for a simulated
scan of sheet C3 of layouts/quayside.course, as chromium shows it. Where there is no chromium the
picture stays as it is.
Usage: report_page_picture.py PAVIOR"""
import os
import shutil
import subprocess
import sys
import tempfile

from PIL import Image, ImageOps

import sample

WIDTH, HEIGHT = 1080, 1290  # px
BROWSER = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
           "--disable-background-networking", "--hide-scrollbars"]


def main():
    pavior = os.path.abspath(sys.argv[1])
    browser = shutil.which("chromium")
    if browser is None:
        print("no chromium: docs/pictures/report-page.png stays as it is")
        return
    with tempfile.TemporaryDirectory() as tmp:
        def inside(name):
            return os.path.join(tmp, name)
        sample.scan(pavior, tmp, "--scale", "0.9911,0.9988")
        subprocess.run([pavior, "inspect", "--scanner", "flatbed", "--plan", "quayside.plan.json", "-q", "--report",
                        "report.html", "C3.png"], check=False, cwd=tmp)
        subprocess.run([browser, *BROWSER, f"--user-data-dir={inside('profile')}",
                        f"--screenshot={inside('page.png')}", f"--window-size={WIDTH},{HEIGHT}",
                        f"file://{inside('report.html')}"], check=True, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL, timeout=120)
        page = Image.open(inside("page.png")).convert("RGB").crop((0, 0, WIDTH, HEIGHT))
    page = ImageOps.expand(page, 1, (190, 196, 202))
    page = page.quantize(96, Image.Quantize.MAXCOVERAGE)
    page.save(os.path.join(sample.DOCS, "pictures/report-page.png"), optimize=True)


main()
