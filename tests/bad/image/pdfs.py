#!/usr/bin/python3
"""Writes the PDFs of this folder and their cases, object by object. Each shows something else than its
picture's samples are, or asks for far more than it holds, and must be refused in words that name why.

Usage: pdfs.py    (run from anywhere; writes beside itself)"""
import io
import os
import zlib

import numpy as np
from PIL import Image

W, H = 20, 16
X, Y = np.meshgrid(np.arange(W), np.arange(H))
GRAY = ((X * 37 + Y * 91 + X * Y) % 256).astype(np.uint8)
COLOUR = np.stack([GRAY, np.roll(GRAY, 3, 1), 255 - GRAY], -1)
SIZE = f"/Type /XObject /Subtype /Image /Width {W} /Height {H} "
FLATE = SIZE + "/BitsPerComponent 8 /Filter /FlateDecode /ColorSpace "
JPEG = SIZE + "/BitsPerComponent 8 /Filter /DCTDecode /ColorSpace "
FORM = "/Type /XObject /Subtype /Form /BBox [0 0 9 9] "
SHOW = f"q {W} 0 0 {H} 0 0 cm /O0 Do Q"
LAYERS = "has transparent parts, or is made up of layers"


def jpeg(array):
    out = io.BytesIO()
    Image.fromarray(array).save(out, "JPEG", quality=90)
    return out.getvalue()


def pdf(content, objects, resources=""):
    """objects: (dictionary, data), drawn as /O0, /O1 ..., the first of them object 5."""
    names = " ".join(f"/O{i} {5 + i} 0 R" for i in range(len(objects)))
    bodies = [b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
              (f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {W} {H}] /Contents 4 0 R "
               f"/Resources << /XObject << {names} >> {resources} >> >>").encode()]
    packed = ("/Filter /FlateDecode", zlib.compress(content.encode()))
    for words, data in [packed, *objects]:
        bodies.append(f"<< {words} /Length {len(data)} >>\nstream\n".encode() + data + b"\nendstream")
    out, places = b"%PDF-1.7\n", []
    for number, body in enumerate(bodies, 1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    return (out + b"xref\n0 %d\n0000000000 65535 f \n" % (len(bodies) + 1) + table
            + b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(bodies) + 1, len(out)))


def cases():
    """(name, file, what must be said)"""
    gray = [(FLATE + "/DeviceGray", zlib.compress(GRAY.tobytes()))]
    bits = np.packbits(GRAY > 127, axis=1).tobytes()
    stencil = [(SIZE + "/ImageMask true /BitsPerComponent 1", bits)]
    for key, value in (("ca", "0.5"), ("BM", "/Multiply"), ("SMask", "<< /S /Luminosity >>"), ("TR", "[1]")):
        yield f"state-{key}", pdf("/A gs " + SHOW, gray, f"/ExtGState << /A << /{key} {value} >> >>"), LAYERS
    yield "state-BM-list", pdf("/A gs " + SHOW, gray, "/ExtGState << /A << /BM [/Multiply /Normal] >> >>"), LAYERS
    for name, ink in (("scn", "/DeviceRGB cs 0 0 0.2 scn "), ("pattern", "/DeviceGray cs /Pattern cs /P0 scn "),
                      ("short", "/DeviceRGB cs 0 scn ")):
        yield f"stencil-by-{name}", pdf(ink + SHOW, stencil), "draws its picture in a colour"
    yield "palette-turned", pdf(SHOW, [(FLATE + "[/Indexed /DeviceGray 1 <00ff>] /Decode [255 0]", gray[0][1])]), \
        "colours shifted"
    yield "stencil-on-red", pdf(f"1 0 0 rg 0 0 {W} {H} re f 0 g " + SHOW, stencil), LAYERS
    form = [(FORM + "/Resources << /XObject << /O0 5 0 R >> >>", SHOW.encode())]
    yield "stencil-in-red-form", pdf("1 0 0 rg /O1 Do", stencil + form), "draws its picture in a colour"
    yield "map-short", pdf(f"q {W // 2} 0 0 {H // 2} 0 0 cm 2 1e-9 0 2 0 0 cm /O0 Do Q", gray), "the PDF is damaged"
    yield "inline-too", pdf("BI /W 1 /H 1 /CS /G /BPC 8 ID x EI " + SHOW, gray), "within its content"
    odd = "packed in a way that pavior does not read"
    palette = " ".join(f"{i:02x}{255 - i:02x}{i * 7 % 256:02x}" for i in range(256))
    yield "jpeg-palette", pdf(SHOW, [(JPEG + f"[/Indexed /DeviceRGB 255 <{palette}>]", jpeg(GRAY))]), odd
    yield "jpeg-stencil", pdf(SHOW, [(JPEG + "/DeviceGray /ImageMask true", jpeg(GRAY))]), odd
    yield "jpeg-untransformed", pdf(SHOW, [(JPEG + "/DeviceRGB /DecodeParms << /ColorTransform 0 >>",
                                            jpeg(COLOUR))]), odd
    yield "jpeg-other-colours", pdf(SHOW, [(JPEG + "/DeviceGray", jpeg(COLOUR))]), "other colours than it says"
    yield "twelve-bits", pdf(SHOW, [(FLATE.replace("8", "12") + "/DeviceGray", gray[0][1])]), odd
    linear = "[/CalGray << /WhitePoint [0.95 1 1.09] >>]"
    yield "linear-gray", pdf(SHOW, [(FLATE + linear, gray[0][1])]), "in a colour space"
    blank = zlib.compress(b" " * (60 << 20), 9)
    large = "too large, or nested too deep"
    yield "form-again", pdf("/O0 Do " * 500, [(FORM + "/Filter /FlateDecode", blank)]), large
    yield "forms-many", pdf("/O0 Do " * 30000, [(FORM, b" ")]), large
    # On the way to nothing: blanks are no digits.
    yield "form-of-blanks", pdf("/O0 Do " * 500, [(FORM + "/Filter [/FlateDecode /ASCIIHexDecode]", blank)]), large


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    for name, data, words in cases():
        with open(os.path.join(here, name + ".pdf"), "wb") as file:
            file.write(data)
        with open(os.path.join(here, name + "-pdf.case"), "w", encoding="utf-8") as file:
            file.write(f"args: inspect --json --plan tests/bad/image/plan.json tests/bad/image/{name}.pdf\n"
                       f"status: 65\nexpect-out: {words}\n")


if __name__ == "__main__":
    main()
