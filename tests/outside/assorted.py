"""Forty pictures of every kind and fault: what test_web.py --long inspects with the command and in the browser. All are
made of a few pages, one at a time: together they take minutes, and 1 GB of memory."""
import os
import subprocess

import numpy as np
from PIL import Image

import simulate

# Scans of a kit's sheets: what each is called, what simulate.scan is told, and what is stated, dots to an inch.
SCANS = [
    ("plain.png", {"dpi": 300, "turn": 0.3}, 300), ("aside.png", {"quarters": 1}, 300), ("round.png", {"quarters": 2}, 300),
    ("turned.png", {"dpi": 200, "turn": 8.0}, 200), ("coarse.png", {"dpi": 100, "turn": -0.4}, 100),
    ("middling.jpg", {"dpi": 150, "turn": 0.6}, 150), ("small.png", {"dpi": 200, "scale": (0.97, 0.97)}, 200),
    ("long.jpg", {"dpi": 200, "scale": (1.0, 1.006)}, 200), ("skew.png", {"dpi": 200, "skew_mrad": 4.0}, 200),
    ("fat.png", {"dpi": 300, "gain": 0.15}, 300), ("thin.png", {"dpi": 300, "gain": -0.08}, 300),
    ("soft.png", {"dpi": 200, "blur": 0.25}, 200), ("noisy.png", {"dpi": 200, "noise": 0.06}, 200),
    ("pale.png", {"dpi": 200, "paper": 0.6, "ink": 0.25}, 200), ("toned.png", {"dpi": 200, "tone": 1.3}, 200),
    ("unstated.png", {"dpi": 200}, None), ("misstated.jpg", {"dpi": 200}, 180), ("lid.png", {"dpi": 200, "lid": 0.3}, 200),
    ("fax.png", {"dpi": 300, "kind": "bilevel"}, 300), ("colour.jpg", {"dpi": 200, "kind": "colour"}, 200),
]
# Photographs: what each is called, and what simulate.photograph is told.
PHOTOS = [("large.jpg", {"size": (4000, 3000), "tilt": (9, -5), "turn": 4}), ("steep.jpg", {"size": (3200, 2400), "tilt": (28, 12)}),
          ("tiny.jpg", {"size": (1200, 900), "tilt": (5, 3)}), ("shaken.jpg", {"size": (2400, 1800), "blur": 0.7}),
          ("upright.jpg", {"size": (2400, 1800), "tilt": (-8, 6), "quarters": 1})]


def scans(path, pdf, last):
    """Of the last eight pages. Those in colour are of a page in colour."""
    for i, (name, told, dpi) in enumerate(SCANS):
        page = simulate.render(pdf, last - i % 8, 600, None if told.get("kind") == "colour" else False)
        image, _ = simulate.scan(page, seed=i, **told)
        simulate.save(image, path(name), dpi=dpi)


def photographs(path, pdf, last):
    for i, (name, told) in enumerate(PHOTOS):
        image, _ = simulate.photograph(simulate.render(pdf, last - i, 400), seed=i, **told)
        simulate.save(image, path(name))


def formats(path):
    """The scan that states no resolution and the fax as other programs save them."""
    gray, fax = Image.open(path("unstated.png")), Image.open(path("fax.png"))
    at = {"dpi": (200, 200)}
    gray.save(path("lzw.tif"), compression="tiff_lzw", **at)
    fax.save(path("g4.tif"), compression="group4", dpi=(300, 300))
    gray.convert("RGB").save(path("lossy.webp"), quality=80)
    gray.convert("RGB").save(path("lossless.webp"), lossless=True)
    gray.convert("P").save(path("palette.png"), **at)
    gray.save(path("rough.jpg"), quality=20, **at)
    Image.fromarray(np.asarray(gray).astype(np.uint16) * 257).save(path("deep.png"))
    gray.save(path("one.pdf"), resolution=200)
    fax.save(path("two.pdf"), save_all=True, resolution=300, append_images=[fax.rotate(180)])


def faults(path, other):
    """What is cut off, hidden, broken, another plan's, or no picture of a sheet at all."""
    scan = np.asarray(Image.open(path("small.png"))).copy()
    simulate.save(scan[:len(scan) // 2], path("half.png"), dpi=200)
    scan[:, :scan.shape[1] // 3] = 230
    simulate.save(scan, path("covered.png"), dpi=200)
    with open(path("plain.png"), "rb") as file, open(path("broken.png"), "wb") as out:
        out.write(file.read()[:200000])
    subprocess.run(["pdftocairo", "-png", "-r", "100", "-f", "1", "-l", "1", "-singlefile", other, path("other")], check=True)
    simulate.save(np.full((800, 600), 200, np.uint8), path("blank.png"))
    with open(path("letter.jpg"), "w", encoding="utf-8") as file:
        file.write("Dear organiser, here is our sheet.\n")


def forty(folder, pdf, last, other):
    """Their files, in the order of their names. last: the PDF's last page; its sheets stand last. other: a PDF of another course's sheets."""
    os.makedirs(folder)
    for make, *what in ((scans, pdf, last), (photographs, pdf, last), (formats,), (faults, other)):
        make(lambda name: os.path.join(folder, name), *what)
    return sorted(os.path.join(folder, name) for name in os.listdir(folder))
