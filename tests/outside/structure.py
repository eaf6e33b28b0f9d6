"""What other programs say of a PDF's structure: sizes and boxes, page labels, print scaling."""
import json
import os
import re
import subprocess
import tempfile

import cv2

import imaging


def run(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True,
                          errors="replace").stdout


def sound(pdf):
    """None, or qpdf's complaint."""
    done = subprocess.run(["qpdf", "--check", pdf], capture_output=True, text=True)
    return None if done.returncode == 0 else (done.stdout + done.stderr)[-500:]


def boxes_by_poppler(pdf):
    return [(b["MediaBox"], b["TrimBox"]) for b in imaging.page_boxes(pdf)]


def boxes_by_mutool(pdf):
    pages = []
    for page in re.split(r"<page ", run("mutool", "pages", pdf))[1:]:
        found = {}
        for box in ("MediaBox", "TrimBox"):
            match = re.search(rf'<{box} l="([^"]+)" b="([^"]+)" r="([^"]+)" t="([^"]+)"', page)
            found[box] = [float(v) for v in match.groups()] if match else None
        pages.append((found["MediaBox"], found["TrimBox"]))
    return pages


def sizes_by_ghostscript(pdf, page, dpi=600):
    """Size in PDF units of one page's media and trim box, to half a pixel."""
    sizes = []
    for options in ([], ["-dUseTrimBox"]):
        with tempfile.TemporaryDirectory() as folder:
            out = os.path.join(folder, "page.pgm")
            run("gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pgmraw", f"-r{dpi}",
                *options, f"-dFirstPage={page}", f"-dLastPage={page}", f"-sOutputFile={out}", pdf)
            height, width = cv2.imread(out, cv2.IMREAD_GRAYSCALE).shape
        sizes.append((width * 72 / dpi, height * 72 / dpi))
    return sizes


def page_labels(pdf, pages):
    """Each page's label: a prefix and, in ranges of decimal style, a running number (ISO 32000-1,
    12.4.2)."""
    document = json.loads(run("qpdf", "--json=1", "--json-key=pagelabels", pdf))
    ranges = {entry["index"]: entry["label"] for entry in document["pagelabels"]}
    labels, start = [], 0
    for page in range(pages):
        start = page if page in ranges else start
        label = ranges.get(start, {})
        number = label.get("/St", 1) + page - start
        labels.append(label.get("/P", "") + (str(number) if label.get("/S") == "/D" else ""))
    return labels


def print_scaling(pdf):
    """The catalogue's ViewerPreferences /PrintScaling, or None."""
    objects = json.loads(run("qpdf", "--json=1", "--json-key=objects", pdf))["objects"]

    def value(v):
        return objects.get(v, v) if isinstance(v, str) else v
    catalogue = value(objects["trailer"]["/Root"])
    return value(catalogue.get("/ViewerPreferences", {})).get("/PrintScaling")
