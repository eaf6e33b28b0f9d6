#!/usr/bin/env python3
"""The sheets' QR codes on rendered pages, read by zbar: each leads to its own sheet's page, stands in what is cut away
or ends up beneath (the finished surface is the same without it, pixel by pixel), and changes neither the kit's
identity nor what an inspection says.
Usage: test_codes.py [--long], every page of every layout"""
import json
import os
import re
import subprocess
import sys
import tempfile

import cv2
import numpy as np

import simulate
from checks import expect, finish

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
LAYOUTS = ["layouts/quayside.course", "layouts/breakwater.course", "layouts/pierhead.course",
           "tests/outside/check36.course"]
DPI = 200
URL = "https://example.org/mat/"


def sheets(course, pdf, *more):
    """What it said, and its plan."""
    done = subprocess.run([PAVIOR, "sheets", course, "--replace", "--no-guide", "-o", pdf, *more],
                          capture_output=True, text=True, check=True)
    with open(pdf.replace(".pdf", ".plan.json"), encoding="utf-8") as file:
        return done.stdout + done.stderr, json.load(file)


def zbar(path):
    done = subprocess.run(["zbarimg", "-q", "--raw", "-Sdisable", "-Sqrcode.enable", path], capture_output=True,
                          text=True, check=False)
    return done.stdout.split()


def rendered(pdf, number, folder):
    path = f"{folder}/page"
    subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "-singlefile", "-f", str(number), "-l", str(number),
                    pdf, path], check=True)
    return path + ".pgm", cv2.imread(path + ".pgm", cv2.IMREAD_GRAYSCALE)


def read_page(pdf, bare, number, sheet, folder):
    """What zbar reads of a page, and whether its finished surface is as it is without the code."""
    _, without = rendered(bare, number, folder)
    path, image = rendered(pdf, number, folder)
    left, bottom, right, top = (round((edge - sheet["origin"][i % 2]) * DPI / 25.4)
                                for i, edge in enumerate(sheet["cell"]))
    finished = slice(len(image) - top, len(image) - bottom), slice(left, right)
    return zbar(path), np.array_equal(image[finished], without[finished])


def pages(folder, whole):
    for course in LAYOUTS:
        name = os.path.basename(course).split(".")[0]
        for paper, joint in (("A4", "lap"), ("letter", "butt")) if not whole else (
                ("A4", "lap"), ("letter", "lap"), ("A3", "butt"), ("tabloid", "lap")):
            pdf, bare = f"{folder}/{name}.pdf", f"{folder}/{name}-bare.pdf"
            laid = ("--paper", paper, "--joint", joint)
            sheets(course, bare, *laid)
            said, plan = sheets(course, pdf, *laid, "--url", URL + paper.lower())
            known = re.search(r"(\d+) of \d+ sheets have no room for their QR code", said)
            every = range(len(plan["sheets"]))
            some = every if whole else every[:: 1 + len(every) // 6]
            none = 0
            for i in some:
                sheet = plan["sheets"][i]
                right = f"{URL}{paper.lower()}/{sheet['name'].lower()}.html"
                read, same = read_page(pdf, bare, i + 1, sheet, folder)
                none += not read
                if read not in ([], [right]) or not same:
                    expect(f"{name} {paper} {sheet['name']}", False, f"{read} {same}")
            expect(f"{name} on {paper}, {joint}: {len(some) - none} codes of {len(some)} sheets read back",
                   none <= (int(known.group(1)) if known else 0), f"(without: {none}, said: {known and known.group(1)})")
            if len(some) == len(every):
                expect(f"{name} on {paper}: the warning counts those without", none == (int(known.group(1)) if known else 0))


def identity(folder):
    """The address is recorded, and changes nothing else; an inspection is the same with and without."""
    bare, coded = f"{folder}/bare.pdf", f"{folder}/coded.pdf"
    _, without = sheets("layouts/pierhead.course", bare)
    _, plan = sheets("layouts/pierhead.course", coded, "--url", URL + "a4")
    expect("the plan records the address", plan.pop("url", None) == URL + "a4")
    expect("and is the same otherwise", plan == without)
    found = []
    for pdf in (bare, coded):
        image, _ = simulate.scan(simulate.render(pdf, 1, 300), 300)
        path = pdf.replace(".pdf", ".png")
        simulate.save(image, path, dpi=300)
        done = subprocess.run([PAVIOR, "inspect", "--plan", bare.replace(".pdf", ".plan.json"), "--json", path],
                              capture_output=True, text=True, check=False)
        found.append(json.loads(done.stdout))
    first, second = (f[0] for f in found)
    expect("inspection: the same verdict with the code", first["verdict"] == second["verdict"],
           f"({first['verdict']}, {second['verdict']})")
    wide = [{line["id"]: line["width_mm"] for line in f["lines"]} for f in (first, second)]
    expect("inspection: the same lines, as wide to 0.01 mm", wide[0].keys() == wide[1].keys() and
           all(abs(w - wide[1][i]) < 0.01 for i, w in wide[0].items()), f"{wide}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        pages(folder, "--long" in sys.argv)
        identity(folder)
    return finish("codes")


sys.exit(main())
