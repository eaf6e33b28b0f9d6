#!/usr/bin/env python3
"""Names in any language: other people's tools find each face embedded, give the words back, see them
where the plan's boxes say, and draw the same picture."""
import json
import os
import re
import subprocess
import sys
import tempfile

import cv2
import numpy as np

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
# Words of one script each; the last column is whether pdftotext gives the very string back. It
# orders runs of several directions by rules of its own, so of Hebrew one word is asked for.
WORDS = [("Quayside AVAST", 14), ("Пристань 7", 12), ("Αποβάθρα", 12), ("Größe Ærø Łódź", 12),
         ("Bến tàu số 3", 12), ("רציף", 12)]
OPTIONAL = [("घाट क्षेत्र", 12, 0x918), ("ท่าเรือ", 12, 0xE17), ("الرصيف", 12, 0x631)]
HEAD = '''course "Пристань Größe" edition "β"
mat 260mm by 230mm
tolerance scale 0.3 %, width 0.5mm, spacing 1mm, straightness 1mm, skew 3mrad
line a width 6mm from (20,6)mm to (240,6)mm
'''


def run(*args, **more):
    return subprocess.run(args, capture_output=True, check=True, **more)


def installed(code):
    """An installed TrueType face has the character."""
    said = run("fc-list", f":charset={code:x}:fontformat=TrueType:variable=false", "file").stdout
    return bool(said.strip())


def course(words):
    lines = [HEAD]
    for i, (text, height) in enumerate(words):
        lines.append(f'text "{text}" at (20, {206 - 23 * i})mm height {height}mm')
    return "\n".join(lines) + "\n"


def embedded(pdf):
    rows = run("pdffonts", pdf).stdout.decode().splitlines()[2:]
    assert rows, "no font at all"
    for row in rows:
        assert re.search(r"CID TrueType\s+Identity-H\s+yes yes yes", row), row
    return len(rows)


def given_back(pdf, words):
    done = run("pdftotext", "-layout", pdf, "-")
    assert not done.stderr, done.stderr
    text = re.sub("[\u200e\u200f\u202a-\u202e]", "", done.stdout.decode())
    for word in words:
        assert word in text, f"pdftotext lost {word!r}"


def pictures(pdf, folder):
    """The first page, gray, by three renderers, 150 dpi."""
    run("pdftoppm", "-r", "150", "-gray", "-png", "-singlefile", pdf, f"{folder}/p")
    run("mutool", "draw", "-q", "-r", "150", "-c", "gray", "-o", f"{folder}/m.png", pdf, "1")
    run("gs", "-q", "-sDEVICE=pnggray", "-r150", "-dTextAlphaBits=4", "-dGraphicsAlphaBits=4",
        "-dFirstPage=1", "-dLastPage=1", f"-sOutputFile={folder}/g.png", pdf)
    read = [cv2.imread(f"{folder}/{n}.png", cv2.IMREAD_GRAYSCALE).astype(float) for n in "pmg"]
    # 12 x 15 in are whole pixels, so all renderers have one grid
    h, w = (min(p.shape[k] for p in read) for k in (0, 1))
    return [p[:h, :w] for p in read]


def lost_ink(one, other):
    """Share of one's black pixels that have nothing dark within two pixels in the other: renderers
    round glyphs to places of their own within a pixel."""
    near = cv2.erode(other, np.ones((5, 5)))
    black = one < 64
    return (near[black] > 160).mean()


def boxes_hold(plan, picture):
    """Each text's ink all but fills its box, and none of it lies beyond."""
    mm = 150 / 25.4
    worst = 0.0
    sheet = plan["sheets"][0]
    for text in plan["art"]["lettering"]:
        left, bottom, right, top = text["box"]
        x, y = (text["at"][k] - sheet["origin"][k] for k in (0, 1))
        pad = 1.5
        rows = [int(round(picture.shape[0] - (y + v) * mm)) for v in (top + pad, bottom - pad)]
        cols = [int(round((x + u) * mm)) for u in (left - pad, right + pad)]
        part = picture[rows[0]:rows[1], cols[0]:cols[1]] < 128
        ys, xs = np.nonzero(part)
        assert len(xs) > 100, f"no ink for {text['text']}"
        off = [xs.min() / mm - pad, (part.shape[1] - 1 - xs.max()) / mm - pad,
               ys.min() / mm - pad, (part.shape[0] - 1 - ys.max()) / mm - pad]
        # a box holds the line of capitals, too, and advance without ink: so much may be bare
        assert min(off) > -0.35, f"{text['text']}: ink {-min(off):.2f} mm beyond its box"
        assert max(off) < 0.16 * text["height"] + 0.5, (text, off)
        worst = max(worst, -min(off))
    print(f"  ink beyond the plan's boxes: at most {worst:.2f} mm (a pixel is {1 / mm:.2f})")


def main():
    words = [(t, h) for t, h in WORDS] + [(t, h) for t, h, code in OPTIONAL if installed(code)]
    print(f"  {len(words)} scripts or languages; those that no face is installed for are left out")
    with tempfile.TemporaryDirectory() as folder:
        for name in ("one", "two"):
            with open(f"{folder}/{name}.course", "w", encoding="utf-8") as f:
                f.write(course(words))
            run(PAVIOR, "sheets", "--no-guide", f"{folder}/{name}.course", "--paper", "12x15in", "-q", "-o",
                f"{folder}/{name}.pdf", env=dict(os.environ, LANG="C", LC_ALL=""))
        pdf = f"{folder}/one.pdf"
        assert open(pdf, "rb").read() == open(f"{folder}/two.pdf", "rb").read(), "not the same bytes"
        run(PAVIOR, "sheets", "--no-guide", f"{folder}/one.course", "--paper", "12x15in", "-q", "-o",
            f"{folder}/ja.pdf", env=dict(os.environ, LC_ALL="C.UTF-8", LANG="ja_JP.UTF-8"))
        assert open(pdf, "rb").read() == open(f"{folder}/ja.pdf", "rb").read(), "by the locale"
        run("qpdf", "--check", pdf)
        print(f"  {embedded(pdf)} faces embedded, {os.path.getsize(pdf) / 1000:.1f} kB in all")
        given_back(pdf, [t for t, _ in words] + ["Пристань Größe, edition β"])
        info = run("pdfinfo", pdf).stdout.decode()
        assert "Пристань Größe, edition β" in info, "the title"
        plan = json.load(open(f"{folder}/one.plan.json", encoding="utf-8"))
        shown = pictures(pdf, folder)
        boxes_hold(plan, shown[0])
        for name, other in zip(("mutool", "gs"), shown[1:]):
            lost = max(lost_ink(shown[0], other), lost_ink(other, shown[0]))
            print(f"  pdftoppm and {name}: {lost:.1e} of the dark pixels have no match")
            assert lost < 1e-3
        # what Quayside takes, with and without its faces
        run(PAVIOR, "sheets", "--no-guide", "layouts/quayside.course", "--paper", "A4", "-q", "-o",
            f"{folder}/q.pdf")
        data = open(f"{folder}/q.pdf", "rb").read()
        fonts = sum(int(m) for m in re.findall(rb"/Length1 (\d+)", data))
        print(f"  Quayside on A4: {len(data) / 1000:.0f} kB, its faces {fonts / 1000:.1f} kB unpacked")
        assert fonts < 40000
    print("type: all well")


if __name__ == "__main__":
    sys.exit(main())
