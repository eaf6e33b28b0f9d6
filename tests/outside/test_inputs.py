#!/usr/bin/python3
"""One scan in every kind of file that a team may send, made by programs of others (libtiff's tools,
ImageMagick, img2pdf, qpdf, ghostscript, heif-enc, cwebp): each lossless file must give the very numbers
that the PNG gives, each lossy one numbers within its U, and what a file states of its resolution must
come out in both directions.

    test_inputs.py [--long], with PAVIOR set to the command; --long takes every kind of picture through
    every kind of file"""
import base64
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
DPI = 200
LONG = "--long" in sys.argv


def call(*words, **more):
    done = subprocess.run(words, capture_output=True, timeout=600, **more)
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
            if not LONG and kind != "gray" and way not in ("g4", "g3", "g3-2d", "g4-lsb", "tiles",
                                                               "separate"):
                continue
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


# ---- PDF ----

def pdf(name, pages):
    """pages: (content, images, more of the page); images: (dictionary, data)."""
    objects, kids = [b"<< /Type /Catalog /Pages 2 0 R >>", b""], []
    def add(body):
        objects.append(body)
        return len(objects)
    def stream(words, data):
        return add(f"<< {words} /Length {len(data)} >>\nstream\n".encode() + data + b"\nendstream")
    for content, images, more in pages:
        names = " ".join(f"/I{i} {stream('/Type /XObject /Subtype ' + words, data)} 0 R"
                         for i, (words, data) in enumerate(images))
        at = stream("", content.encode())
        kids.append(add(f"<< /Type /Page /Parent 2 0 R /Contents {at} 0 R /Resources << /XObject << {names} >> >> "
                        f"{more} >>".encode()))
    objects[1] = f"<< /Type /Pages /Count {len(kids)} /Kids [{' '.join(f'{k} 0 R' for k in kids)}] >>".encode()
    out, places = bytearray(b"%PDF-1.7\n"), []
    for i, body in enumerate(objects):
        places.append(len(out))
        out += f"{i + 1} 0 obj\n".encode() + body + b"\nendobj\n"
    start = len(out)
    out += f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n".encode()
    out += b"".join(f"{place:010} 00000 n \n".encode() for place in places)
    out += f"trailer << /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{start}\n%%EOF\n".encode()
    with open(name, "wb") as file:
        file.write(out)


def pixels(name):
    array = cv2.imread(name, cv2.IMREAD_UNCHANGED)
    return array[..., ::-1] if array.ndim == 3 else array


def image(array, filters="", data=None, more=""):
    """A picture's dictionary and data; as they are where no others are given."""
    space = "/DeviceRGB" if array.ndim == 3 else "/DeviceGray"
    words = (f"/Image /Width {array.shape[1]} /Height {array.shape[0]} /ColorSpace {space} "
             f"/BitsPerComponent {8 * array.dtype.itemsize} {filters} {more}")
    return words, array.astype(array.dtype.newbyteorder(">")).tobytes() if data is None else data


def placed(array, matrix="1 0 0 1 0 0", dpi=(DPI, DPI)):
    width, height = (n * 72 / d for n, d in zip(array.shape[1::-1], dpi))
    return f"q {matrix} cm {width:.6f} 0 0 {height:.6f} 0 0 cm /I0 Do Q", f"/MediaBox [0 0 {width:.4f} {height:.4f}]"


def runs(data):
    """ISO 32000-1, 7.4.5: literal runs, and repeats where there are any."""
    out, i = bytearray(), 0
    while i < len(data):
        n = 1
        while n < 128 and i + n < len(data) and data[i + n] == data[i]:
            n += 1
        out += bytes([257 - n, data[i]]) if n > 1 else bytes([0, data[i]])
        i += n
    return bytes(out) + b"\x80"


def strip_of(name):
    """The data of a TIFF's only strip, as libtiff wrote it."""
    with Image.open(name) as tiff:
        at, n = tiff.tag_v2[273][0], tiff.tag_v2[279][0]
    with open(name, "rb") as file:
        return file.read()[at:at + n]


def written(kind):
    """PDFs that no program at hand writes, one for each coding, and turned every way. The pictures come from
    a function: coding takes long, and not every way is asked for."""
    array = pixels(kind + ".png")
    content, box = placed(array)
    plain, size = image(array), array.shape[1]
    raw = plain[1]
    def flate():
        return zlib.compress(raw, 1)
    up = b"".join(b"\0" + row.tobytes() for row in array.astype(array.dtype.newbyteorder(">")))

    def lzw():
        call("tiffcp", "-c", "lzw", "-r", "100000", kind + ".tif", "one.tif")
        return [image(array, "/Filter /LZWDecode", strip_of("one.tif"))]
    yield "lzw", content, lzw if kind != "deep" else lambda: [plain], box
    yield "plain", content, lambda: [plain], box
    yield "flate", content, lambda: [image(array, "/Filter /FlateDecode", flate())], box
    yield "runs", content, lambda: [image(array, "/Filter [/RunLengthDecode]", runs(raw)) if kind == "gray" else plain], box
    yield "85", content, lambda: [image(array, "/Filter [/ASCII85Decode /FlateDecode]", base64.a85encode(flate()) + b"~>")], box
    yield "hex", content, lambda: [image(array, "/Filter [/ASCIIHexDecode /FlateDecode]", flate().hex().encode() + b">")], box
    colours = 3 if array.ndim == 3 else 1
    predicted = (f"/Filter /FlateDecode /DecodeParms << /Predictor 15 /Columns {size} /Colors {colours} "
                 f"/BitsPerComponent {8 * array.dtype.itemsize} >>")
    yield "png-rows", content, lambda: [image(array, predicted, zlib.compress(up, 1))], box
    half, points = array.shape[0] // 2 // 8 * 8, 72 / DPI
    strips = [array[at:at + 8] for at in range(0, array.shape[0], 8)]
    joined, at = "", array.shape[0]
    for i, strip in enumerate(strips):
        at -= strip.shape[0]
        joined += f"q {size * points:.2f} 0 0 {strip.shape[0] * points:.2f} 0 {at * points:.2f} cm /I{i} Do Q\n"
    yield "strips", joined, lambda: [image(s) for s in strips], box
    tiles = [array[:half, :500], array[:half, 500:], array[half:, :500], array[half:, 500:]]
    joined = ""
    for i, tile in enumerate(tiles):
        left, low = (500 if i % 2 else 0), (array.shape[0] - half if i < 2 else 0)
        joined += (f"q {tile.shape[1] * points:.4f} 0 0 {tile.shape[0] * points:.4f} {left * points:.4f} "
                   f"{low * points:.4f} cm /I{i} Do Q\n")
    yield "tiles", joined, lambda: [image(t) for t in tiles], box
    width, height = array.shape[1] * points, array.shape[0] * points
    for turn in range(4):
        turned = np.rot90(array, turn)  # counter-clockwise; the page turns it back
        inner, inner_box = placed(turned)
        yield f"rotate-{turn}", inner, lambda: [image(np.ascontiguousarray(turned))], f"{inner_box} /Rotate {90 * turn}"
        # A quarter turn counter-clockwise is undone by a matrix that turns clockwise.
        matrix = {0: "1 0 0 1 0 0", 1: f"0 -1 1 0 0 {height}", 2: f"-1 0 0 -1 {width} {height}",
                  3: f"0 1 -1 0 {width} 0"}[turn]
        inner, _ = placed(turned, matrix)
        yield f"matrix-{turn}", inner, lambda: [image(np.ascontiguousarray(turned))], box
    inner, _ = placed(array, f"-1 0 0 1 {width} 0")
    yield "mirrored", inner, lambda: [image(np.ascontiguousarray(array[:, ::-1]))], box
    yield "inverted", content, lambda: [image(~array, more="/Decode [" + "1 0 " * colours + "]")], box
    small, _ = placed(array, dpi=(2 * DPI, 2 * DPI))
    yield "user-unit", small, lambda: [plain], f"/MediaBox [0 0 {width / 2:.4f} {height / 2:.4f}] /UserUnit 2"
    letters = "\nBT /F0 9 Tf 3 Tr (what was read off it) Tj ET"
    yield "searchable", content + letters, lambda: [plain], box


def pdfs():
    for kind in ("gray", "colour", "deep"):
        for way, content, images, page in written(kind):
            if not LONG and kind != "gray" and way not in ("plain", "png-rows", "strips", "inverted"):
                continue
            name = f"{kind}-{way}.pdf"
            pdf(name, [(content, images(), page)])
            yield name, kind
    for kind in ("gray", "colour", "bilevel", "palette"):
        name = f"{kind}-img2pdf.pdf"
        call("img2pdf", kind + ".png", "-o", name)
        yield name, kind
        for way, words in {"uncompressed": ["--stream-data=uncompress"], "linear": ["--linearize"],
                           "objects": ["--object-streams=generate"], "flate": ["--recompress-flate"],
                           "locked": ["--encrypt", "", "owner", "256", "--"]}.items():
            if not LONG and kind in ("colour", "bilevel"):
                continue
            call("qpdf", *words, name, f"{kind}-{way}.pdf")
            yield f"{kind}-{way}.pdf", kind
        call("tiff2pdf", "-z", "-o", f"{kind}-tiff2pdf.pdf", kind + ".tif")
        yield f"{kind}-tiff2pdf.pdf", kind
    array = pixels("bilevel.png")
    height, width = array.shape
    stencil = (f"/Image /Width {width} /Height {height} /ImageMask true /BitsPerComponent 1",
               np.packbits(array > 0, axis=1).tobytes())
    content, box = placed(array)
    pdf("bilevel-stencil.pdf", [(f"1 g 0 0 {width} {height} re f 0 g {content}", [stencil], box)])
    yield "bilevel-stencil.pdf", "bilevel"
    # Black as the first colour of a space, by its number, and past a blend that is none.
    black = f"/DeviceRGB cs 1 1 1 scn 0 0 {width} {height} re f /DeviceGray cs 0 sc {content}"
    pdf("bilevel-spaces.pdf", [(black, [stencil], box)])
    yield "bilevel-spaces.pdf", "bilevel"
    turned = (f"/Image /Width {width} /Height {height} /BitsPerComponent 1 /Decode [1 0] "
              "/ColorSpace [/Indexed /DeviceGray 1 <ff00>]", np.packbits(array > 0, axis=1).tobytes())
    pdf("bilevel-turned.pdf", [(content, [turned], box)])
    yield "bilevel-turned.pdf", "bilevel"
    for way in ("g4", "g3", "g3-2d", "g4-lsb"):
        call("tiff2pdf", "-o", f"bilevel-{way}.pdf", f"bilevel-{way}.tif")
        yield f"bilevel-{way}.pdf", "bilevel"
    call("tiff2pdf", "-z", "-o", "gray-tiled.pdf", "gray-tiles.tif")
    yield "gray-tiled.pdf", "gray"
    call("gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pdfwrite", "-dAutoFilterGrayImages=false",
         "-dGrayImageFilter=/FlateEncode", "-dDownsampleGrayImages=false", "-sOutputFile=gray-gs.pdf",
         "gray-plain.pdf")
    yield "gray-gs.pdf", "gray"


def phones():
    for kind in ("gray", "colour"):
        call("convert", kind + ".png", "-strip", kind + "-bare.png")
        call("cwebp", "-quiet", "-lossless", "-exact", kind + ".png", "-o", kind + ".webp")
        yield kind + ".webp", kind + "-bare"
        if kind == "gray" and not LONG:
            continue
        call("avifenc", "-l", "-s", "10", kind + ".png", kind + ".avif")
        yield kind + ".avif", kind + "-bare"
    for name in ("gray-heif.heic", "gray-heif.avif")[:2 if LONG else 1]:
        call("heif-enc", "-L", "gray.png", "-o", name)
        yield name, "gray-bare"


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


def within_U(base, got):
    """Scale and widths of a lossy file, against the PNG's: no further off than the two U allow."""
    pairs = [(base["scale"][k], got["scale"][k]) for k in "xy"]
    pairs += [({"value": a["width_mm"], "U": a["U_mm"]}, {"value": b["width_mm"], "U": b["U_mm"]})
              for a, b in zip(sorted(base["lines"], key=lambda l: l["id"]), sorted(got["lines"], key=lambda l: l["id"]))]
    return max(abs(a["value"] - b["value"]) / np.hypot(a["U"], b["U"]) for a, b in pairs)


def lossy(truth):
    files = {"jpeg.jpg": ("convert", "colour.png", "-quality", "90"), "lossy.webp": ("cwebp", "-quiet", "-q", "85"),
             "lossy.heic": ("heif-enc", "-q", "80"), "lossy.avif": ("avifenc", "-s", "10", "--min", "10", "--max", "20"),
             "jpeg.tif": ("tiffcp", "-c", "jpeg:r:90"), "ycbcr.tif": ("tiffcp", "-c", "jpeg:90", "-t")}
    for name, (tool, *words) in files.items():
        if tool == "cwebp":
            words += ["colour.png", "-o", name]
        elif tool == "heif-enc":
            words += ["colour.png", "-o", name]
        elif tool == "avifenc":
            words += ["colour.png", name]
        else:
            words += (["colour.tif"] if tool == "tiffcp" else []) + [name]
        call(tool, *words)
    call("img2pdf", "jpeg.jpg", "-o", "jpeg.pdf")
    worst = {}
    for name in [*files, "jpeg.pdf"]:
        got = inspect(name, "--dpi", str(DPI))[0]
        worst[name] = 99 if "error" in got else within_U(truth["colour"][0], got)
    checks.at_most(f"{len(worst)} lossy files, off the PNG's numbers, as a share of U", max(worst.values()), 0.5,
                   f"of U; {max(worst, key=worst.get)}")


def resolutions():
    """What is stated, both ways; and what is measured by it, where they differ."""
    array = pixels("gray.png")
    half = cv2.resize(array, (array.shape[1], array.shape[0] // 2), interpolation=cv2.INTER_AREA)
    cv2.imwrite("half.png", half)
    call("convert", "half.png", "-units", "PixelsPerInch", "-density", f"{DPI}x{DPI // 2}", "half.tif")
    call("convert", "half.png", "-units", "PixelsPerCentimeter", "-density", f"{DPI / 2.54}x{DPI / 5.08}", "half-cm.tif")
    content, box = placed(half, dpi=(DPI, DPI / 2))
    pdf("half.pdf", [(content, [image(half)], box)])
    pdf("half-turned.pdf", [(content, [image(half)], box + " /Rotate 90")])
    for name in ("half.tif", "half-cm.tif", "half.pdf", "half-turned.pdf"):
        got = inspect(name)[0]
        stated = got.get("stated_px_per_mm", [0, 0])
        want = [DPI / 25.4, DPI / 50.8] if "turned" not in name else [DPI / 50.8, DPI / 25.4]
        checks.at_most(f"{name}: stated resolution", max(abs(s / w - 1) for s, w in zip(stated, want)), 1e-5)
        off = [abs(got["scale"][k]["value"] - v) / got["scale"][k]["U"] for k, v in (("x", 1.0017), ("y", 0.9991))]
        checks.at_most(f"{name}: scale where the resolutions differ", max(off), 0.5, "of U")
    # A fax (ITU-T T.4): 8.04 pixels and 7.7 lines to the mm, which a TIFF calls 204 x 196.
    page = simulate.render("pond.pdf", 1, 600, colour=False)
    fine, _ = simulate.scan(page, dpi=600, kind="gray", seed=5)
    size = (round(fine.shape[1] * 8.04 * 25.4 / 600), round(fine.shape[0] * 7.7 * 25.4 / 600))
    fax = cv2.resize(fine, size, interpolation=cv2.INTER_AREA)
    Image.fromarray(fax).point(lambda v: 255 * (v > 127)).convert("1").save(
        "fax.tif", compression="group3", dpi=(204, 196))
    got = inspect("fax.tif")[0]
    off = [99] if "error" in got else [abs(got["scale"][k]["value"] - 1) / got["scale"][k]["U"] for k in "xy"]
    checks.at_most("a fax's scale, in both directions", max(off), 1.0, "of U")


def curves(plain):
    """An AVIF's codes of light by another curve than that of sRGB (ITU-T H.273): read by it, or with a note."""
    wrong = []
    for curve, noted in ((4, False), (5, False), (1, True)):
        call("avifenc", "-l", "-s", "10", "--cicp", f"1/{curve}/0", "gray.png", "curve.avif")
        got = inspect("curve.avif", "--dpi", str(DPI))[0]
        note = any("values are read as sRGB" in n for n in got["notes"])
        if note != noted or (got["lines"] == plain["lines"]) != noted:
            wrong.append(curve)
    expect("curves of AVIF are not taken for that of sRGB without a note", not wrong, str(wrong))


def pages():
    """Several pages, in order, by their names; one that can't be used stops none."""
    call("tiffcp", "-c", "zip", "gray.tif", "colour.tif", "bilevel-g4.tif", "several.tif")
    content, box = placed(pixels("gray.png"))
    pdf("several.pdf", [(content, [image(pixels("gray.png"))], box), ("0 0 9 9 re f", [], box),
                        (content, [image(pixels("colour.png"))], box)])
    tiff, several = inspect("several.tif", "--dpi", str(DPI)), inspect("several.pdf", "--dpi", str(DPI))
    alone = [numbers(inspect(n, "--dpi", str(DPI))[0]) for n in ("gray.tif", "colour.tif", "bilevel-g4.tif")]
    expect("a TIFF's pages are results of their own", [numbers(r) for r in tiff] == alone)
    expect("and are named", [(r["file"], r["page"]) for r in tiff] == [("several.tif", n) for n in (1, 2, 3)])
    expect("a PDF's pages, with one that is no scan between them",
           len(several) == 3 and "no scan" in several[1].get("error", "") and
           [numbers(several[0]), numbers(several[2])] == alone[:2] and [r["page"] for r in several] == [1, 2, 3])
    drawn = inspect("pond.pdf")[0]
    expect("pavior's own sheets are named as no scan", "no scan" in drawn.get("error", ""), drawn.get("error", ""))


def main():
    with tempfile.TemporaryDirectory(dir=os.environ.get("KEEP")) as folder:
        os.chdir(folder)
        originals()
        truth = lossless([tiffs, pdfs, phones])
        lossy(truth)
        resolutions()
        curves(truth["gray-bare"][0])
        pages()
        expect("16 bits are not cut to 8", numbers(inspect("cut.png", "--dpi", str(DPI))[0]) != truth["deep"][0])
    return checks.finish("inputs")


if __name__ == "__main__":
    sys.exit(main())
