#!/usr/bin/python3
"""One scan in every kind of file that a team may send, made by programs of others (libtiff's tools,
ImageMagick, img2pdf, qpdf, ghostscript, heif-enc, cwebp): each lossless file must give the very numbers
that the PNG gives, each lossy one numbers within its U, and what a file states of its resolution must
come out in both directions.

    test_inputs.py, with PAVIOR set to the command"""
import json
import os
import struct
import subprocess
import sys
import tempfile
import zlib

import cv2
import numpy as np
from PIL import Image

import checks
import simulate
from checks import expect

PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
POND = """course "Pond" edition "1"
mat 120mm by 90mm ground white
colour sea = rgb(132, 190, 224)
tolerance scale 0.5 %, width 0.5mm, spacing 1mm
paint width 5mm, colour black
line a from (15, 20)mm to (105, 20)mm
line b from (15, 45)mm to (105, 45)mm
box dock from (70, 60)mm to (100, 80)mm
fill at (80, 70)mm colour sea
"""
DPI = 300


def call(*words, **more):
    done = subprocess.run(words, capture_output=True, timeout=120, **more)
    if done.returncode != 0:
        raise RuntimeError(f"{' '.join(words)}: {done.stderr.decode(errors='replace')[-300:]}")
    return done.stdout


def inspect(name, *options):
    """One result for each of the file's pictures."""
    done = subprocess.run([PAVIOR, "inspect", "--plan", "pond.plan.json", "--scanner", "flatbed", "--json", *options,
                           name], capture_output=True, timeout=120)
    return json.loads(done.stdout)


def numbers(result):
    """All but the picture's name and what it states itself."""
    return {k: v for k, v in result.items() if k not in ("file", "page")}


# ---- the pictures ----

def state(name):
    """The resolution, in a PNG that states none (PNG specification 11.3.5.3)."""
    with open(name, "rb") as file:
        data = file.read()
    chunk = b"pHYs" + struct.pack(">IIB", round(DPI / 0.0254), round(DPI / 0.0254), 1)
    chunk = struct.pack(">I", 9) + chunk + struct.pack(">I", zlib.crc32(chunk))
    with open(name, "wb") as file:
        file.write(data[:33] + chunk + data[33:])


def originals():
    """gray, colour, bilevel and deep (16 bits), as PNG: what all others are made of."""
    with open("pond.course", "w", encoding="utf-8") as file:
        file.write(POND)
    call(PAVIOR, "sheets", "pond.course", "--paper", "A5", "-q", "-o", "pond.pdf")
    pages = {c: simulate.render("pond.pdf", 1, 600, colour=c) for c in (None, False)}
    for kind in ("gray", "colour", "bilevel"):
        image, _ = simulate.scan(pages[None if kind == "colour" else False], dpi=DPI, turn=0.7, kind=kind,
                                 scale=(1.0017, 0.9991), seed=3, noise=0.008)
        simulate.save(image, kind + ".png", dpi=DPI)
    Image.open("bilevel.png").convert("1", dither=Image.Dither.NONE).save("bilevel.png", dpi=(DPI, DPI))
    deep = cv2.imread("gray.png", cv2.IMREAD_UNCHANGED).astype(np.uint16) * 257
    deep += np.random.default_rng(1).integers(-120, 120, deep.shape).astype(np.uint16) * ((deep > 200) & (deep < 65000))
    cv2.imwrite("deep.png", deep)
    cut = (deep // 257 * 257).astype(np.uint16)
    cv2.imwrite("cut.png", cut)
    four = (cv2.imread("gray.png", cv2.IMREAD_UNCHANGED) // 16 * 17).astype(np.uint8)
    cv2.imwrite("four.png", four)
    for name in ("deep.png", "cut.png", "four.png"):
        state(name)
    call("convert", "colour.png", "-colors", "200", "-type", "Palette", "PNG8:palette.png")


def tiffs():
    """(name, the PNG that it is of)"""
    for kind in ("gray", "colour", "bilevel", "deep", "palette", "four"):
        depth = {"four": ["-depth", "4"], "palette": ["-type", "Palette"], "bilevel": ["-type", "Bilevel", "-depth", "1"]}.get(kind, [])
        call("convert", kind + ".png", *depth, "-units", "PixelsPerInch", "-density", str(DPI), "-compress", "None",
             "-define", "tiff:rows-per-strip=16", kind + ".tif")
        yield kind + ".tif", kind
    ways = {"lzw": ["-c", "lzw"], "lzw2": ["-c", "lzw:2"], "zip": ["-c", "zip"], "zip2": ["-c", "zip:2"],
            "packbits": ["-c", "packbits"], "tiles": ["-c", "zip", "-t", "-w", "64", "-l", "48"],
            "separate": ["-c", "lzw", "-p", "separate"], "separate-tiles": ["-p", "separate", "-t", "-w", "160"],
            "one-strip": ["-r", "100000", "-c", "zip"], "one-row": ["-r", "1"], "lsb": ["-f", "lsb2msb"],
            "big-endian": ["-B", "-c", "lzw"], "bigtiff": ["-8"]}
    bilevel = {"g4": ["-c", "g4"], "g3": ["-c", "g3:1d"], "g3-2d": ["-c", "g3:2d:fill"],
               "g4-lsb": ["-c", "g4", "-f", "lsb2msb"], "g4-tiles": ["-c", "g4", "-t", "-w", "512", "-l", "512"]}
    for kind in ("gray", "colour", "bilevel", "deep", "palette", "four"):
        for way, words in {**ways, **(bilevel if kind == "bilevel" else {})}.items():
            if kind in ("bilevel", "palette", "four", "deep") and (way in ("lzw2", "zip2") or "separate" in way):
                continue  # tiffcp does that to whole bytes alone
            name = f"{kind}-{way}.tif"
            call("tiffcp", *words, kind + ".tif", name)
            yield name, kind
    for photometric in ("min-is-white", "min-is-black"):
        name = f"bilevel-{photometric}.tif"
        call("convert", "bilevel.png", "-type", "Bilevel", "-depth", "1", "-units", "PixelsPerInch", "-density", str(DPI), "-define", f"quantum:polarity={photometric}", "-compress",
             "Group4", name)
        yield name, "bilevel"
    for associated in ("associated", "unassociated"):
        name = f"{associated}.tif"
        call("convert", "colour.png", "-alpha", "on", "-define", f"tiff:alpha={associated}", name)
        yield name, "colour"
    call("convert", "gray.png", "-rotate", "90", "-orient", "LeftBottom", "turned.tif")
    yield "turned.tif", "gray"


# ---- the checks ----

def lossless(makers):
    truth = {}
    for make in makers:
        wrong, n = [], 0
        for name, kind in make():
            if kind not in truth:
                truth[kind] = [numbers(r) for r in inspect(kind + ".png", "--dpi", str(DPI))]
            got, n = [numbers(r) for r in inspect(name, "--dpi", str(DPI))], n + 1
            if got != truth[kind] or "error" in got[0]:
                keys = [k for k in truth[kind][0] if got[0].get(k) != truth[kind][0][k]]
                wrong.append(f"{name}: {got[0].get('error', keys)}")
        expect(f"{make.__name__}: {n} files give the numbers of the PNG, to the last digit", not wrong,
               "; ".join(wrong))
    return truth


def main():
    with tempfile.TemporaryDirectory(dir=os.environ.get("KEEP")) as folder:
        os.chdir(folder)
        originals()
        lossless([tiffs])
    return checks.finish("inputs")


if __name__ == "__main__":
    sys.exit(main())
