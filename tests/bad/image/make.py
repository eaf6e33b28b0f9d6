#!/usr/bin/python3
"""Writes the odd but valid pictures of this folder and their cases, chunk by chunk where no library
would write such pictures. None shows a sheet, so each must be decoded and then said to show none;
those past a documented limit must be refused with that limit.

Usage: make.py    (run from anywhere; writes beside itself)"""
import io
import os
import struct
import zlib

import numpy as np
from PIL import Image

SIGNATURE = b"\x89PNG\r\n\x1a\n"  # ISO/IEC 15948, 5.2


def chunk(kind, body):
    return (struct.pack(">I", len(body)) + kind + body
            + struct.pack(">I", zlib.crc32(kind + body)))


def png(width, height, depth, colour, rows, interlace=0, before=()):
    """rows: bytes of all scan lines with their filter bytes."""
    header = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, interlace)
    return (SIGNATURE + chunk(b"IHDR", header) + b"".join(before)
            + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b""))


def filtered(samples):
    """Unfiltered scan lines of an array of bytes, one row each."""
    return b"".join(b"\0" + row.tobytes() for row in samples)


def ramp(width, height):
    x, y = np.meshgrid(np.arange(width), np.arange(height))
    return ((x * 5 + y * 3) % 256).astype(np.uint8)


def adam7(samples):
    """The seven passes (ISO/IEC 15948, 8.2), each with its own scan lines."""
    passes = [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2),
              (0, 1, 1, 2)]
    out = b""
    for x, y, dx, dy in passes:
        part = samples[y::dy, x::dx]
        if part.size:
            out += filtered(part)
    return out


def phys(x, y, unit):
    return chunk(b"pHYs", struct.pack(">IIB", x, y, unit))


def packed(samples, depth):
    """Gray samples 0 to 255 with so many bits each."""
    bits = np.unpackbits((samples >> (8 - depth))[..., None], axis=2)[:, :, 8 - depth:]
    return np.packbits(bits.reshape(samples.shape[0], -1), axis=1)


def pngs():
    gray = ramp(90, 60)
    colour = np.stack([gray, gray[::-1], 255 - gray], axis=2)
    yield "one-pixel.png", png(1, 1, 8, 0, b"\0\x80")
    yield "one-row.png", png(40000, 1, 8, 0, filtered(ramp(40000, 1)))
    yield "one-column.png", png(1, 40000, 8, 0, filtered(ramp(1, 40000)))
    for depth in (1, 2, 4):
        yield f"gray-{depth}-bit.png", png(90, 60, depth, 0, filtered(packed(gray, depth)))
    yield "gray-16-bit.png", png(90, 60, 16, 0, filtered(np.repeat(gray, 2, axis=1)))
    yield "colour-16-bit.png", png(90, 60, 16, 2, filtered(np.repeat(
        colour.reshape(60, -1), 2, axis=1)))
    yield "gray-alpha.png", png(90, 60, 8, 4, filtered(np.stack(
        [gray, 255 - gray], axis=2).reshape(60, -1)))
    yield "colour-alpha.png", png(90, 60, 8, 6, filtered(np.dstack(
        [colour, gray]).reshape(60, -1)))
    yield "interlaced.png", png(90, 60, 8, 0, adam7(gray), interlace=1)
    yield "interlaced-3x3.png", png(3, 3, 8, 0, adam7(ramp(3, 3)), interlace=1)
    palette = chunk(b"PLTE", bytes(range(48)))
    yield "palette.png", png(90, 60, 4, 3, filtered(packed(gray, 4)), before=[palette])
    yield "palette-alpha.png", png(90, 60, 4, 3, filtered(packed(gray, 4)), before=[
        palette, chunk(b"tRNS", bytes(range(0, 256, 16)))])
    yield "gray-one-clear.png", png(90, 60, 8, 0, filtered(gray),
                                    before=[chunk(b"tRNS", b"\0\x80")])
    # Resolutions that are allowed and mean nothing.
    yield "resolution-zero.png", png(90, 60, 8, 0, filtered(gray), before=[phys(0, 0, 1)])
    yield "resolution-huge.png", png(90, 60, 8, 0, filtered(gray),
                                     before=[phys(2**31 - 1, 1, 1)])
    yield "resolution-ratio.png", png(90, 60, 8, 0, filtered(gray), before=[phys(300, 200, 0)])
    # Past the limit on pixels, though the file is small.
    side = 17000
    rows = (b"\0" + b"\xff" * ((side + 7) // 8)) * side
    yield "too-many-pixels.png", png(side, side, 1, 0, rows)
    yield "too-wide.png", png(70000, 2, 1, 0, (b"\0" + b"\xff" * 8750) * 2)


def jpeg(array, mode=None, **options):
    picture = Image.fromarray(array)
    out = io.BytesIO()
    (picture.convert(mode) if mode else picture).save(out, "JPEG", quality=70, **options)
    return out.getvalue()


def jpegs():
    gray = ramp(90, 60)
    colour = np.stack([gray, gray[::-1], 255 - gray], axis=2)
    yield "one-pixel.jpg", jpeg(gray[:1, :1])
    yield "gray.jpg", jpeg(gray)
    yield "progressive.jpg", jpeg(colour, progressive=True)
    yield "four-inks.jpg", jpeg(colour, "CMYK")
    # JFIF 1.02: density units 0 state a ratio only; density 0 is not allowed but met.
    plain = bytearray(jpeg(colour, dpi=(300, 300)))
    at = plain.index(b"JFIF\0") + 7
    for name, fields in (("density-ratio.jpg", (0, 1, 1)), ("density-zero.jpg", (1, 0, 0)),
                         ("density-unit-unknown.jpg", (9, 300, 300))):
        plain[at:at + 5] = struct.pack(">BHH", *fields)
        yield name, bytes(plain)


EXPECTED = {"too-many-pixels.png": "the limit is 250000000 pixels",
            "too-wide.png": "the limit is 60000 along a side",
            "four-inks.jpg": "the JPEG image is in CMYK"}


def main():
    folder = os.path.dirname(os.path.abspath(__file__))
    for name, data in list(pngs()) + list(jpegs()):
        with open(os.path.join(folder, name), "wb") as file:
            file.write(data)
        with open(os.path.join(folder, name.replace(".", "-") + ".case"), "w") as file:
            file.write("args: inspect --plan tests/bad/inspect/tiny.plan.json -q "
                       f"tests/bad/image/{name}\nstatus: 65\n"
                       f"expect: {EXPECTED.get(name, 'no sheet found')}\n")


main()
