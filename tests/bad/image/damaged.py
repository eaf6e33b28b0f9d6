#!/usr/bin/python3
"""Writes the damaged pictures of this folder, and pictures that are none, byte by byte. Each must
be refused, or called a picture without tags, in words that name what is wrong.

Usage: damaged.py [FOLDER]    (default: beside this file)"""
import io
import os
import struct
import sys
import zlib

import numpy as np
from PIL import Image

SIGNATURE = b"\x89PNG\r\n\x1a\n"  # ISO/IEC 15948, 5.2


def chunk(kind, body):
    return (struct.pack(">I", len(body)) + kind + body
            + struct.pack(">I", zlib.crc32(kind + body)))


def header(width, height, depth=8, colour=0, interlace=0):
    return chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, interlace))


def pixels(width=90, height=60):
    x, y = np.meshgrid(np.arange(width), np.arange(height))
    return ((x * 37 + y * 91 + x * y) % 256).astype(np.uint8)


def rows(samples):
    return b"".join(b"\0" + row.tobytes() for row in samples)


GRAY = pixels()
DATA = chunk(b"IDAT", zlib.compress(rows(GRAY), 9))
END = chunk(b"IEND", b"")
GOOD = SIGNATURE + header(90, 60) + DATA + END


def pngs():
    yield "empty", b""
    yield "text", b"Scan of sheet B2, see the attachment.\n"
    yield "portable-document", b"%PDF-1.7\n% not a picture\n"
    yield "tiff", b"II*\0\x08\0\0\0\0\0\0\0\0\0"
    yield "line-ends-converted", GOOD.replace(b"\r\n", b"\n")
    yield "cut-off", GOOD[:len(GOOD) * 2 // 3]
    yield "cut-off-in-header", GOOD[:20]
    yield "checksum-wrong", GOOD[:-13] + bytes([GOOD[-13] ^ 1]) + END
    yield "zero-width", SIGNATURE + header(0, 60) + DATA + END
    yield "two-thousand-million-wide", SIGNATURE + header(2**31 - 1, 60) + DATA + END
    yield "huge-but-short", SIGNATURE + header(50000, 4000, 8, 2) + DATA + END
    yield "declared-too-large", SIGNATURE + header(59999, 59999) + DATA + END
    yield "no-pixels", SIGNATURE + header(90, 60) + END
    yield "no-end", SIGNATURE + header(90, 60) + DATA
    yield "pixels-end-early", (SIGNATURE + header(90, 60)
                               + chunk(b"IDAT", zlib.compress(rows(GRAY[:30]))) + END)
    garbled = bytearray(zlib.compress(rows(GRAY), 9))
    garbled[200:204] = b"\xff\xff\xff\xff"
    yield "garbled-pixels", SIGNATURE + header(90, 60) + chunk(b"IDAT", bytes(garbled)) + END
    yield "no-palette", SIGNATURE + header(90, 60, 8, 3) + DATA + END
    yield "depth-3", SIGNATURE + header(90, 60, 3) + DATA + END
    yield "unknown-interlace", SIGNATURE + header(90, 60, interlace=9) + DATA + END
    yield "one-dot", SIGNATURE + header(1, 1) + chunk(b"IDAT", zlib.compress(b"\0\x80")) + END
    # An animation's first picture is a plain PNG, and is taken.
    control = chunk(b"acTL", struct.pack(">II", 2, 0))
    frame = struct.pack(">IIIIHHBB", 90, 60, 0, 0, 1, 10, 0, 0)
    yield "animated", (SIGNATURE + header(90, 60) + control
                       + chunk(b"fcTL", struct.pack(">I", 0) + frame) + DATA
                       + chunk(b"fcTL", struct.pack(">I", 1) + frame)
                       + chunk(b"fdAT", struct.pack(">I", 2) + zlib.compress(rows(GRAY))) + END)


def jpeg(mode="RGB", **options):
    out = io.BytesIO()
    Image.fromarray(GRAY).convert(mode).save(out, "JPEG", quality=60, **options)
    return out.getvalue()


def jpegs():
    plain = jpeg(dpi=(300, 300))
    start = plain.index(b"\xff\xda")
    yield "cut-off", plain[:len(plain) * 2 // 3]
    yield "cut-off-in-header", plain[:start]
    yield "no-image", b"\xff\xd8\xff\xd9"
    yield "cmyk", jpeg("CMYK")
    size = plain.index(b"\xff\xc0") + 4
    yield "zero-height", plain[:size + 1] + b"\0\0" + plain[size + 3:]
    yield "twelve-bits", plain[:size] + b"\x0c" + plain[size + 1:]
    yield "too-wide", plain[:size + 3] + b"\xff\xff" + plain[size + 5:]
    tables = plain.index(b"\xff\xdb")
    exif = b"Exif\0\0II*\0\x08\0\0\0\x03\0" + b"\x1a\x01\x05\0\x01\0\0\0\xff\xff\xff\x7f"
    yield "exif-points-outside", (plain[:tables] + b"\xff\xe1"
                                  + struct.pack(">H", len(exif) + 2) + exif + plain[tables:])
    garbled = bytearray(plain)
    garbled[start + 200:start + 260] = bytes(60)
    yield "garbled", bytes(garbled)
    out = io.BytesIO()
    Image.fromarray(GRAY[:8, :8]).save(out, "JPEG", quality=60, progressive=True)
    many = out.getvalue()
    last = many.rindex(b"\xff\xda")
    yield "many-scans", many[:last] + many[last:-2] * 150 + many[-2:]


def box(kind, *parts):
    body = b"".join(parts)
    return struct.pack(">I", len(body) + 8) + kind + body


def heif(kinds, references):
    """A file whose first picture is the one to show. kinds: of each, numbered from 1; all of 64 x 64. A grid's part is
    one row of its references ("dimg")."""
    n, full, dimg = len(kinds), bytes(4), {from_: to for kind, from_, to in references if kind == b"dimg"}
    numbers = range(1, n + 1)
    about = [struct.pack(">BBBBHH", 0, 0, 0, max(len(dimg.get(k, [])) - 1, 0), 64, 64) for k in numbers]
    places = b"".join(struct.pack(">HHHHII", k, 1, 0, 1, 8 * (k - 1), 8) for k in numbers)
    entries = (box(b"infe", b"\2" + bytes(3), struct.pack(">HH", k, 0), kind, b"\0") for k, kind in zip(numbers, kinds))
    linked = (box(kind, struct.pack(">HH", from_, len(to)), *(struct.pack(">H", t) for t in to)) for kind, from_, to in references)
    properties = box(b"ipco", box(b"ispe", full, struct.pack(">II", 64, 64)),
                     box(b"auxC", full, b"urn:mpeg:mpegB:cicp:systems:auxiliary:alpha\0"),
                     box(b"hvcC", b"\1", bytes(22)))
    has = b"".join(struct.pack(">HB", k, 3) + b"\1\2\3" for k in numbers)
    return (box(b"ftyp", b"heic", full, b"mif1heic")
            + box(b"meta", full, box(b"hdlr", bytes(8), b"pict", bytes(13)), box(b"pitm", full, b"\0\1"),
                  box(b"iinf", full, struct.pack(">H", n), *entries), box(b"iref", full, *linked),
                  box(b"iprp", properties, box(b"ipma", full, struct.pack(">I", n), has)),
                  box(b"iloc", b"\1" + bytes(3), b"\x44\0", struct.pack(">H", n), places), box(b"idat", *about)))


def heics():
    yield "grid-of-itself", heif([b"grid"], [(b"dimg", 1, [1])])
    # Boxes whose sizes lead past the reference, which libheif reads all the same.
    other = [(b"dimg", 1, [2]), (b"dimg", 2, [1])]
    each = heif([b"grid", b"grid"], other)
    yield "reference-too-short", each.replace(b"\0\0\0\x0edimg", b"\0\0\0\x08dimg")
    yield "reference-too-small", each.replace(b"\0\0\0\x0edimg", b"\0\0\0\x02dimg")
    hidden = heif([b"grid", b"grid"], [(b"base", 1, []), *other])
    yield "reference-hidden", hidden.replace(b"\0\0\0\x0cbase", b"\0\0\0\0base")
    yield "grids-of-each-other", each
    yield "grids-of-grids", heif([b"grid", b"grid", b"hvc1"], [(b"dimg", 1, [2] * 65), (b"dimg", 2, [3] * 65)])
    yield "grids-deep", heif([b"grid"] * 9 + [b"hvc1"], [(b"dimg", k, [k + 1]) for k in range(1, 10)])
    yield "alpha-of-itself", heif([b"grid", b"grid", b"hvc1"], [(b"dimg", 1, [3]), (b"dimg", 2, [1]), (b"auxl", 2, [1])])


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))
    for kind, files in (("png", pngs()), ("jpg", jpegs()), ("heic", heics())):
        for name, data in files:
            with open(os.path.join(folder, f"{name}.{kind}"), "wb") as file:
                file.write(data)


main()
