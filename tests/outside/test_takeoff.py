#!/usr/bin/env python3
"""What a mat takes, against the sheets as others render them: areas of colours by counted pixels, ink
by ghostscript's own count. Sheets in gray and with little ink are inspected by their own plans, and
the file asks for one side."""
import json
import os
import re
import subprocess
import sys
import tempfile

import cv2
import numpy as np

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
DPI = 120


def run(*args, **more):
    return subprocess.run(args, capture_output=True, check=True, **more)


def without_text(source, to):
    lines = open(source, encoding="utf-8").read().splitlines()
    with open(to, "w", encoding="utf-8") as f:
        f.write("\n".join(s for s in lines if not s.lstrip().startswith("text ")) + "\n")


def sheets(course, pdf, *more):
    said = run(PAVIOR, "sheets", "--no-guide", course, "--paper", "A3", "--json", "--replace", "-o", pdf, *more)
    return json.loads(said.stdout), json.load(open(pdf.replace(".pdf", ".plan.json")))


def counted(pdf, plan, folder):
    """mm2 of each colour in all cells together."""
    run("pdftocairo", "-tiff", "-tiffcompression", "packbits", "-antialias", "none", "-r", str(DPI), pdf, f"{folder}/page")
    names = sorted(n for n in os.listdir(folder) if re.match(r"page-\d+\.tif", n))
    mm = DPI / 25.4
    total = {}
    for name, sheet in zip(names, plan["sheets"]):
        page = cv2.imread(f"{folder}/{name}", cv2.IMREAD_COLOR)[:, :, ::-1]
        os.remove(f"{folder}/{name}")
        left, bottom, right, top = sheet["cell"]
        ox, oy = sheet["origin"]
        rows = [int(round(page.shape[0] - (v - oy) * mm)) for v in (top, bottom)]
        cols = [int(round((v - ox) * mm)) for v in (left, right)]
        part = page[rows[0]:rows[1], cols[0]:cols[1]].reshape(-1, 3)
        codes, n = np.unique(part @ np.array([1 << 16, 1 << 8, 1]), return_counts=True)
        share = (right - left) * (top - bottom) / len(part)
        for code, k in zip(codes, n):
            rgb = tuple(int(code) >> shift & 255 for shift in (16, 8, 0))
            total[rgb] = total.get(rgb, 0) + k * share
    return total


def areas(folder):
    course, pdf = f"{folder}/bare.course", f"{folder}/bare.pdf"
    without_text("layouts/quayside.course", course)
    said, plan = sheets(course, pdf)
    own = {}
    for colour in said["takes"]["colours"]:
        key = tuple(colour["rgb"])
        own[key] = own.get(key, 0) + colour["area_mm2"]
    mat = plan["art"]["size"][0] * plan["art"]["size"][1]
    assert abs(sum(own.values()) / mat - 1) < 1e-9
    seen = counted(pdf, plan, folder)
    # half of each cross stands on a cell: 25 mm of a quarter millimetre, twice (both sheets)
    crosses = sum(len(s["crosses"]) for s in plan["seams"]) * 10 * 0.25
    worst = max(abs(seen.get(k, 0) - v) / mat for k, v in own.items())
    print(f"  areas of {len(own)} colours: within {100 * worst:.3f} % of the mat of what is counted")
    assert worst < 0.001 + crosses / mat, (own, seen)
    return pdf, said, seen


def ink(pdf, said, seen):
    """The four inks from counted pixels, by the published conversion; and the three colours by
    ghostscript, which leaves what they share in them (and prints gray in black alone)."""
    mat = sum(c["area_mm2"] for c in said["takes"]["colours"])
    names = ("cyan", "magenta", "yellow")
    share = dict.fromkeys(names + ("black",), 0.0)
    for rgb, area in seen.items():
        cmy = [1 - v / 255 for v in rgb]
        black = min(cmy)
        share["black"] += black * area / mat
        for name, value in zip(names, cmy):
            share[name] += (value - black) * area / mat
    worst = max(abs(share[n] - said["takes"]["ink"][n]) for n in share)
    print(f"  four inks: within {100 * worst:.3f} % of the mat of what is counted")
    assert worst < 0.001
    rows = run("gs", "-q", "-o", "-", "-sDEVICE=ink_cov", "-dUseFastColor=true", pdf).stdout
    pages = np.array([[float(v) for v in row.split()[:4]] for row in rows.decode().splitlines()])
    assert len(pages) == said["sheets"]
    shown = pages.sum(axis=0) / 100 * said["page_mm"][0] * said["page_mm"][1] / mat
    for i, name in enumerate(names):
        own = sum((1 - c["rgb"][i] / 255) * c["area_mm2"] for c in said["takes"]["colours"]
                  if len(set(c["rgb"])) > 1) / mat * said["takes"]["printed_per_mat"]
        print(f"  {name} printed: {100 * own:.2f} % of the mat, ghostscript counts {100 * shown[i]:.2f} %")
        assert abs(own - shown[i]) < 0.05 * own


def inspected(folder, option):
    pdf = f"{folder}/p.pdf"
    said, plan = sheets("layouts/quayside.course", pdf, option)
    normal, _ = sheets("layouts/quayside.course", f"{folder}/n.pdf")
    assert said["kit"] != normal["kit"]
    number = 2
    run("pdftocairo", "-png", "-singlefile", "-r", "300", "-f", str(number), pdf, f"{folder}/scan")
    done = subprocess.run([PAVIOR, "inspect", "--scanner", "flatbed", "--plan", f"{folder}/p.plan.json", "--dpi", "300", "--json",
                           f"{folder}/scan.png"], capture_output=True)
    report = json.loads(done.stdout)[0]
    lines = [line["verdict"] for line in report["lines"]]
    print(f"  {option}: sheet {report.get('sheet')} {report.get('verdict')}, lines {lines}; "
          f"ink {sum(said['takes']['ink'].values()):.3f} of {sum(normal['takes']['ink'].values()):.3f}")
    assert report["sheet"] == plan["sheets"][number - 1]["name"]
    assert lines and all(v == "conforms" for v in lines), report
    if option == "--gray":
        page = cv2.imread(f"{folder}/scan.png", cv2.IMREAD_COLOR).astype(int)
        assert np.abs(page - page[:, :, :1]).max() == 0, "colour in a gray print"
    else:
        assert sum(said["takes"]["ink"].values()) < 0.8 * sum(normal["takes"]["ink"].values())


def one_side(pdf):
    run("qpdf", "--check", pdf)
    text = run("qpdf", "--qdf", "--object-streams=disable", pdf, "-").stdout
    assert b"/Duplex /Simplex" in text and b"/PrintScaling /None" in text
    assert b"/PickTrayByPDFSize true" in text


def reprint(folder):
    course, pdf = "layouts/quayside.course", f"{folder}/again.pdf"
    run(PAVIOR, "sheets", "--no-guide", course, "--paper", "A3", "-q", "-o", pdf)
    plan = open(f"{folder}/again.plan.json", "rb").read()
    run(PAVIOR, "sheets", "--no-guide", course, "--paper", "A3", "-q", "-o", f"{folder}/A2.pdf", "--plan",
        f"{folder}/again.plan.json", "--range", "A2")
    before = open(pdf, "rb").read()
    for change in (["--overlap", "20mm"], ["--gray"], ["--margin", "6mm"], ["--landscape"]):
        done = subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", "A3", "-q", "-o", f"{folder}/A2.pdf",
                               "--plan", f"{folder}/again.plan.json", "--range", "A2"] + change, capture_output=True)
        assert done.returncode == 64 and b"would not fit those printed before" in done.stderr, done
    assert open(pdf, "rb").read() == before, "a refused reprint wrote"
    assert open(f"{folder}/again.plan.json", "rb").read() == plan


def main():
    with tempfile.TemporaryDirectory() as folder:
        pdf, said, seen = areas(folder)
        ink(pdf, said, seen)
        one_side(pdf)
        inspected(folder, "--gray")
        inspected(folder, "--ink-saver")
        reprint(folder)
    print("takeoff: all well")


if __name__ == "__main__":
    sys.exit(main())
