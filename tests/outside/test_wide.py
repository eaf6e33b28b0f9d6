#!/usr/bin/python3
"""Wide format and many sheets, by other people's programs: page and trim sizes in poppler, mupdf,
ghostscript and pdf.js, also past 14,400 pt; where the ink of such a page lands; that a mat in one
piece can be inspected; and that more pages than one PDF holds are several sound files, or none."""
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

import cv2
import numpy as np

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import hall  # noqa: E402
import structure  # noqa: E402

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
PT = 72 / 25.4
PDFJS = "pdfjs-dist@4"  # needs node 18 or later
QUAYSIDE = "layouts/quayside.course"
LONG = """course "Long" edition "1"
colour fog = grey(200)
mat 6000mm by 500mm ground fog
paint width 20mm, colour black
repeat at_x from 500mm to 5500mm step 1000mm
    line from (at_x, 100mm) to (at_x, 400mm)
end
"""
PDFJS_SIZES = """import { getDocument } from "pdfjs-dist/legacy/build/pdf.mjs";
import { readFileSync } from "fs";
for (const name of process.argv.slice(2)) {
  const data = new Uint8Array(readFileSync(name));
  const pdf = await getDocument({ data, verbosity: 0 }).promise;
  for (let i = 1; i <= pdf.numPages; i++) {
    const page = await pdf.getPage(i);
    console.log(JSON.stringify({ name, view: page.view, unit: page.userUnit }));
  }
}
"""
# A course, what it is laid on, and what comes of it: pages, page in mm, whether mats stand between
# margins alone.
CASES = [
    ("quay-24in", QUAYSIDE, ["--roll", "24in"], 2, (1259, 609.6)),
    ("quay-36in", QUAYSIDE, ["--roll", "36in"], 1, (1374, 914.4)),
    ("quay-42in", QUAYSIDE, ["--roll", "42in", "--border", "30mm"], 1, (1319, 1066.8)),
    ("quay-up", QUAYSIDE, ["--roll", "1118mm", "--portrait"], 2, (1118, 959)),
    ("quay-cut", QUAYSIDE, ["--roll", "610mm", "--panel-length", "800mm"], 4, (659, 610)),
    ("long", LONG, ["--roll", "610mm"], 1, (6059, 610)),
    ("long-cut", LONG, ["--roll", "610mm", "--panel-length", "5080mm"], 2, (3059, 610)),
    ("hall", hall.hall(1), ["--roll", "1067mm"], 4, (30059, 1067)),
]


def sheets(name, course, options, folder):
    """The PDF and its plan."""
    if "\n" in course:
        text = os.path.join(folder, name + ".course")
        with open(text, "w", encoding="utf-8") as file:
            file.write(course)
        course = text
    pdf = os.path.join(folder, name + ".pdf")
    subprocess.run([PAVIOR, "sheets", "--no-guide", course, *options, "-q", "-o", pdf], check=True)
    with open(os.path.join(folder, name + ".plan.json"), encoding="utf-8") as file:
        return pdf, json.load(file)


def trim_of(plan, sheet):
    """The cell with its border on the mat's own edges, in the sheet's mm."""
    width, height = plan["art"]["size"]
    left, bottom, right, top = sheet["cell"]
    border = plan.get("border", 0)
    x, y = sheet["origin"]
    return [left - (border if left == 0 else 0) - x, bottom - (border if bottom == 0 else 0) - y,
            right + (border if right == width else 0) - x, top + (border if top == height else 0) - y]


def off(boxes, unit, wanted):
    """Largest deviation in mm of a box in page units from one in mm."""
    return max(abs(b * unit / PT - w) for b, w in zip(boxes, wanted))


def boxes_by_ghostscript(pdf):
    done = subprocess.run(["gs", "-q", "-dSAFER", f"--permit-file-read={pdf}", "-dNODISPLAY",
                           "-dBATCH", "-dNOPAUSE", "-dPDFINFO", pdf], check=True,
                          capture_output=True, text=True)
    said = done.stdout + done.stderr
    return [([float(v) for v in media.split()], [float(v) for v in trim.split()])
            for media, trim in re.findall(r"MediaBox: \[([^\]]+)\].*?TrimBox: \[([^\]]+)\]", said)]


def check_boxes(name, pdf, plan, pages, page):
    assert len(plan["sheets"]) == pages and np.allclose(plan["page"], page), (name, plan["page"])
    complaint = structure.sound(pdf)
    assert complaint is None, complaint
    unit = max(1, int(np.ceil(max(page) * PT / 14400 - 1e-9)))
    raw = structure.run("mutool", "pages", pdf)
    units = [float(u) for u in re.findall(r'<UserUnit v="([^"]+)"', raw)]
    assert units == ([unit] * pages if unit > 1 else []), (name, units)
    worst = 0
    for boxes in (structure.boxes_by_poppler(pdf), structure.boxes_by_mutool(pdf),
                  boxes_by_ghostscript(pdf)):
        assert len(boxes) == pages, (name, boxes)
        for sheet, (media, trim) in zip(plan["sheets"], boxes):
            worst = max(worst, off(media, unit, [0, 0, *page]),
                        off(trim, unit, trim_of(plan, sheet)))
    # Poppler says boxes to a hundredth of a unit.
    assert worst < 0.0051 * unit / PT, (name, worst)
    return unit, worst


def check_rendered_sizes(name, pdf, page, folder):
    """Ghostscript and mupdf honour the unit in what they draw: to a pixel."""
    dpi = 5
    out = os.path.join(folder, "size.pgm")
    for command in (["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pgmraw", f"-r{dpi}",
                     "-dLastPage=1", f"-sOutputFile={out}", pdf],
                    ["mutool", "draw", "-q", "-r", str(dpi), "-c", "gray", "-o", out, pdf, "1"]):
        subprocess.run(command, check=True, capture_output=True)
        height, width = cv2.imread(out, cv2.IMREAD_GRAYSCALE).shape
        k = dpi / 25.4
        assert abs(width - page[0] * k) <= 1 and abs(height - page[1] * k) <= 1, \
            (name, command[0], width, height)


def check_pdfjs(made, folder):
    """Page sizes in pdf.js, which npm brings into a folder of the test's own."""
    if shutil.which("npm") is None or shutil.which("node") is None:
        print("    pdf.js: skipped, there is no npm here")
        return
    place = os.path.join(folder, "npm")
    os.mkdir(place)
    try:
        got = subprocess.run(["npm", "install", "--omit=optional", "--no-audit", "--no-fund",
                              "--loglevel=error", PDFJS], cwd=place, capture_output=True,
                             text=True, timeout=40)
    except subprocess.TimeoutExpired:
        got = None
    if got is None or got.returncode != 0:
        print("    pdf.js: skipped, npm can't be reached")
        return
    script = os.path.join(place, "sizes.mjs")
    with open(script, "w", encoding="utf-8") as file:
        file.write(PDFJS_SIZES)
    said = structure.run("node", script, *[pdf for pdf, _, _, _ in made])
    pages = [json.loads(line) for line in said.splitlines() if line.startswith("{")]
    worst = 0
    for pdf, plan, unit, _ in made:
        mine = [p for p in pages if p["name"] == pdf]
        assert len(mine) == len(plan["sheets"]), pdf
        for p in mine:
            assert p["unit"] == unit, (pdf, p)
            worst = max(worst, off(p["view"], unit, [0, 0, *plan["page"]]))
    # The format's numbers have five decimals of what floats give.
    assert worst < 0.001, worst
    print(f"    pdf.js: {len(pages)} pages, sizes within {worst:.1e} mm")


def middles(row, k):
    """Middles of the dark stretches of a row of pixels, in mm."""
    dark = row < 100
    edges = np.flatnonzero(np.diff(dark.astype(int)))
    starts, ends = edges[::2] + 1, edges[1::2] + 1
    return [(s + e) / 2 / k for s, e in zip(starts, ends)]


def check_ink(pdf, plan, folder):
    """On a page of 6 m the lines are where the plan has them: to a pixel of 30 dpi."""
    dpi, worst = 30, 0
    k = dpi / 25.4
    out = os.path.join(folder, "ink.pgm")
    sheet = plan["sheets"][0]
    wanted = [500 + 1000 * i - sheet["origin"][0] for i in range(6)]
    for command in (["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pgmraw", f"-r{dpi}",
                     f"-sOutputFile={out}", pdf],
                    ["mutool", "draw", "-q", "-r", str(dpi), "-c", "gray", "-o", out, pdf, "1"]):
        subprocess.run(command, check=True, capture_output=True)
        picture = cv2.imread(out, cv2.IMREAD_GRAYSCALE)
        row = picture[int(picture.shape[0] - (250 - sheet["origin"][1]) * k)]
        found = middles(row, k)
        assert len(found) == 6, (command[0], found)
        worst = max(worst, max(abs(a - b) for a, b in zip(found, wanted)))
    assert worst < 1 / k, worst
    print(f"    a page of 6 m: lines within {worst:.2f} mm in ghostscript and mupdf (one pixel is "
          f"{1 / k:.2f})")


def check_inspection(pdf, folder):
    """A mat in one piece, its tags before and after it, conforms as it is and not when shrunk."""
    plan, picture = pdf[:-4] + ".plan.json", os.path.join(folder, "scan")
    subprocess.run(["pdftoppm", "-r", "120", "-gray", "-singlefile", "-png", pdf, picture], check=True)
    full = cv2.imread(picture + ".png", cv2.IMREAD_GRAYSCALE)
    small = cv2.resize(full, None, fx=0.97, fy=0.97, interpolation=cv2.INTER_AREA)
    for factor, image, status in ((1, full, 0), (0.97, small, 1)):
        cv2.imwrite(picture + ".png", image)
        done = subprocess.run([PAVIOR, "inspect", "--scanner-uncertainty", "0.1", "--plan", plan, "--dpi", "120", "--json",
                               picture + ".png"], capture_output=True, text=True)
        assert done.returncode == status, (factor, done.returncode, done.stderr)
        result = json.loads(done.stdout)[0]
        for axis in "xy":
            assert abs(result["scale"][axis]["value"] / factor - 1) < 5e-4, result["scale"]
    print("    a mat in one piece on 36 in: inspected at 100 % and, refused, at 97 %")


def check_many(folder):
    """More sheets than a file takes: several files, all sound, all there; or none."""
    place = os.path.join(folder, "many")
    os.mkdir(place)
    course, pdf = os.path.join(place, "hall.course"), os.path.join(place, "hall.pdf")
    with open(course, "w", encoding="utf-8") as file:
        file.write(hall.hall(1))
    command = [PAVIOR, "sheets", "--no-guide", course, "--paper", "A4", "-o", pdf]
    blocked = os.path.join(place, "hall-2.pdf")
    os.mkdir(blocked)
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 74 and "hall-2.pdf" in done.stderr, done
    assert sorted(os.listdir(place)) == ["hall-2.pdf", "hall.course"], os.listdir(place)
    os.rmdir(blocked)
    done = subprocess.run(command + ["--json", "--progress"], capture_output=True, text=True,
                          check=True)
    said = json.loads(done.stdout)
    names = [f["pdf"] for f in said["files"]]
    assert names == [f"{pdf[:-4]}-{i + 1}.pdf" for i in range(len(names))] and len(names) > 1
    assert sorted(glob.glob(os.path.join(place, "*"))) == \
        sorted(names + [course, pdf[:-4] + ".plan.json"])
    assert sum(f["pages"] for f in said["files"]) == said["sheets"] == said["pages"]
    for entry in said["files"]:
        boxes = structure.boxes_by_mutool(entry["pdf"])
        labels = structure.page_labels(entry["pdf"], entry["pages"])
        assert len(boxes) == entry["pages"] <= 1000
        assert (labels[0], labels[-1]) == (entry["first"], entry["last"]), labels[:2]
        assert structure.sound(entry["pdf"]) is None
    quiet = subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", "A4", "-q", "--progress", "-o",
                            pdf], capture_output=True, text=True, check=True)
    assert quiet.stderr == "" and quiet.stdout == "", quiet.stderr
    stream = subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", "A4", "-o", "-", "--plan",
                             os.path.join(place, "no.json")], capture_output=True)
    assert stream.returncode == 64 and stream.stdout == b"" and b"--range" in stream.stderr
    assert not os.path.exists(os.path.join(place, "no.json"))
    shown = len(re.findall(r"^\d+ of \d+ sheets$", done.stderr, re.M))
    print(f"    {said['sheets']} sheets on A4: {len(names)} files, {shown} lines of progress")


def main():
    with tempfile.TemporaryDirectory() as folder:
        made = []
        for name, course, options, pages, page in CASES:
            pdf, plan = sheets(name, course, options, folder)
            unit, worst = check_boxes(name, pdf, plan, pages, page)
            check_rendered_sizes(name, pdf, page, folder)
            made.append((pdf, plan, unit, page))
            print(f"    {name}: {pages} x {page[0]:g} x {page[1]:g} mm, unit {unit}, boxes within "
                  f"{worst:.4f} mm")
        check_pdfjs(made, folder)
        check_ink(made[5][0], made[5][1], folder)
        check_inspection(made[1][0], folder)
        check_many(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
