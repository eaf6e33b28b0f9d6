"""Rendering pages by several renderers and measuring edges in what comes out.

Lengths are sheet mm, origin in the page's lower left corner, y up. Codes stay codes here: a
rasteriser mixes the two colours at an edge in proportion to coverage, so the sum of codes across an
edge tells its place exactly where the renderer computes exact coverage."""
import math
import os
import subprocess
import tempfile

import cv2
import numpy as np

MM_PER_INCH = 25.4

# What writes a picture of one page (in colour with exact coverage, or in gray with every pixel
# painted wholly or not), and which edge of the page it lays on the pixel grid: the rest of a pixel
# is at the other end.
RENDERERS = {
    "pdftocairo": (["pdftocairo", "-tiff", "-tiffcompression", "packbits", "-r", "{dpi}",
                    "-f", "{page}", "-l", "{page}", "-singlefile", "{pdf}", "{out}"],
                   ".tif", "top"),
    "pdftoppm": (["pdftoppm", "-gray", "-aa", "no", "-aaVector", "no", "-r", "{dpi}",
                  "-f", "{page}", "-l", "{page}", "-singlefile", "{pdf}", "{out}"], ".pgm", "top"),
    "mutool": (["mutool", "draw", "-q", "-A", "0", "-r", "{dpi}", "-c", "gray", "-F", "pgm", "-o",
                "{out}.pgm", "{pdf}", "{page}"], ".pgm", "top"),
    "ghostscript": (["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pgmraw", "-r{dpi}",
                     "-dFirstPage={page}", "-dLastPage={page}", "-sOutputFile={out}.pgm", "{pdf}"],
                    ".pgm", "bottom"),
}


class Raster:
    """Codes (height x width x 3, or 1 for gray), and where they lie on the sheet."""

    def __init__(self, code, dpi, page_height, anchor, corner=(0, 0)):
        self.code, self.dpi = code, dpi
        self.k = dpi / MM_PER_INCH
        self.left = -corner[0]
        self.bottom = (page_height * self.k if anchor == "top" else code.shape[0]) - corner[1]

    def px(self, x, y):
        """Edge coordinates: (0, 0) is the outer corner of the first pixel, y down."""
        return self.left + x * self.k, self.bottom - y * self.k

    def at(self, x, y):
        u, v = self.px(x, y)
        return self.code[int(v), int(u)].astype(int)


def page_boxes(pdf):
    """For each page a dict of its boxes in PDF units, by poppler."""
    text = subprocess.run(["pdfinfo", "-f", "1", "-l", "100000", "-box", pdf], check=True,
                          capture_output=True, text=True).stdout
    pages = {}
    for line in text.splitlines():
        words = line.replace(":", " ").split()
        if len(words) == 7 and words[0] == "Page" and words[2].endswith("Box"):
            pages.setdefault(int(words[1]), {})[words[2]] = [float(w) for w in words[3:]]
    return [pages[n] for n in sorted(pages)]


def render(pdf, page, page_height, dpi, renderer="pdftocairo"):
    command, ending, anchor = RENDERERS[renderer]
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "page")
        subprocess.run([w.format(dpi=dpi, page=page, pdf=pdf, out=out) for w in command],
                       check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        code = cv2.imread(out + ending, cv2.IMREAD_UNCHANGED)
    if code is None:
        raise ValueError(f"{renderer} gave no picture of page {page} of {pdf}")
    code = code[:, :, None] if code.ndim == 2 else code[:, :, ::-1]
    return Raster(code, dpi, page_height, anchor)


def render_box(pdf, page, page_height, dpi, low, high, renderer="pdftocairo"):
    """A box of the sheet, from low to high (mm), in colour, at any resolution: by pdftocairo with exact
    coverage, or by ghostscript with that of a grid of 4 x 4 places a pixel."""
    k = dpi / MM_PER_INCH
    wide, tall = math.ceil((high[0] - low[0]) * k), math.ceil((high[1] - low[1]) * k)
    u = math.floor(low[0] * k)
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "part.tif")
        if renderer == "pdftocairo":
            v = math.floor((page_height - high[1]) * k)
            command = ["pdftocairo", "-tiff", "-r", str(dpi), "-f", str(page), "-l", str(page), "-x",
                       str(u), "-y", str(v), "-W", str(wide), "-H", str(tall), "-singlefile", pdf,
                       out.removesuffix(".tif")]
        else:
            v = math.floor(low[1] * k)  # from the page's lower edge
            shift = f"<</Install {{{-u * 72 / dpi} {-v * 72 / dpi} translate}}>> setpagedevice"
            command = ["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=tiff24nc",
                       f"-r{dpi}", f"-g{wide}x{tall}", "-dFIXEDMEDIA", "-dGraphicsAlphaBits=4",
                       "-dTextAlphaBits=4", f"-dFirstPage={page}", f"-dLastPage={page}",
                       f"-sOutputFile={out}", "-c", shift, "-f", pdf]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        code = cv2.imread(out, cv2.IMREAD_COLOR)
    code = code[:, :, ::-1]
    if renderer == "pdftocairo":
        return Raster(code, dpi, page_height, "top", (u, v))
    return Raster(code, dpi, page_height, "bottom", (u, -v))


def render_part(pdf, page, page_height, dpi, centre, half):
    """A square of 2 half mm about a place on the sheet."""
    return render_box(pdf, page, page_height, dpi, (centre[0] - half, centre[1] - half),
                      (centre[0] + half, centre[1] + half))


def profile(raster, centre, angle, half, band):
    """Codes on a path through `centre` (mm) at `angle` (radians, y up) from -half to +half mm, each
    the mean over a band of `band` mm across the path. Returns offsets (mm) and codes (n x
    channels). Paths along the axes take whole pixels, so nothing is interpolated; others
    bilinear."""
    k = raster.k
    u, v = raster.px(*centre)
    c, s = math.cos(angle), math.sin(angle)
    if abs(s) < 1e-12 or abs(c) < 1e-12:
        along_x = abs(s) < 1e-12
        du, dv = (half * k, band * k / 2) if along_x else (band * k / 2, half * k)
        u0, u1 = math.floor(u - du), math.ceil(u + du)
        v0, v1 = math.floor(v - dv), math.ceil(v + dv)
        if u0 < 0 or v0 < 0 or v1 > raster.code.shape[0] or u1 > raster.code.shape[1]:
            raise ValueError("profile leaves the picture")
        window = raster.code[v0:v1, u0:u1].astype(np.float64)
        if along_x:
            codes, offsets = window.mean(axis=0), (np.arange(u0, u1) + 0.5 - u) / k
            step_sign = c
        else:
            codes, offsets = window.mean(axis=1), -(np.arange(v0, v1) + 0.5 - v) / k
            step_sign = s
        if step_sign < 0:
            offsets = -offsets
        order = np.argsort(offsets)
        return offsets[order], codes[order]
    fine = 4
    n, m = int(2 * half * k * fine), max(1, int(band * k * fine))
    t = ((np.arange(n) + 0.5) / n - 0.5) * 2 * half
    w = ((np.arange(m) + 0.5) / m - 0.5) * band
    map_u = (u + k * (t[None, :] * c - w[:, None] * s) - 0.5).astype(np.float32)
    map_v = (v - k * (t[None, :] * s + w[:, None] * c) - 0.5).astype(np.float32)
    # remap reads coordinates to 1/32 px only, so a crop keeps float32 exact; four samples a pixel
    # and a band average that to nothing.
    u0, v0 = int(map_u.min()) - 2, int(map_v.min()) - 2
    u1, v1 = int(map_u.max()) + 3, int(map_v.max()) + 3
    if u0 < 0 or v0 < 0 or v1 > raster.code.shape[0] or u1 > raster.code.shape[1]:
        raise ValueError("profile leaves the picture")
    crop = np.ascontiguousarray(raster.code[v0:v1, u0:u1]).astype(np.float32)
    codes = cv2.remap(crop, map_u - u0, map_v - v0, cv2.INTER_LINEAR)
    return t, codes.reshape(m, n, -1).astype(np.float64).mean(axis=0)


def edge(offsets, codes, guess, reach):
    """Where two plain colours meet near `guess`: by the sum of coverage over guess +- reach. The
    channel of most contrast counts. None where the two sides are alike or not plain."""
    step = offsets[1] - offsets[0]
    inside = np.flatnonzero(np.abs(offsets - guess) < reach)
    part = codes[inside]
    a, b = part[:2].mean(axis=0), part[-2:].mean(axis=0)
    channel = int(np.argmax(np.abs(b - a)))
    if abs(b[channel] - a[channel]) < 10:
        return None
    cover = (b[channel] - part[:, channel]) / (b[channel] - a[channel])
    if cover[1] < 0.999 or cover[-2] > 0.001:
        return None
    return offsets[inside[0]] - step / 2 + cover.sum() * step


def line(raster, centre, angle, width, band, reach):
    """Offset of the centre line from `centre` and width of a painted line that is crossed at
    `angle`; None where one of its edges isn't plain."""
    offsets, codes = profile(raster, centre, angle, width / 2 + 2 * reach, band)
    low = edge(offsets, codes, -width / 2, reach)
    high = edge(offsets, codes, width / 2, reach)
    if low is None or high is None:
        return None
    return (low + high) / 2, high - low


def circle(points):
    """Centre and radius of the circle through points, least squares of distances."""
    points = np.asarray(points)
    x, y = points[:, 0], points[:, 1]
    a, b, c = np.linalg.lstsq(np.column_stack([x, y, np.ones_like(x)]), x * x + y * y,
                              rcond=None)[0]
    centre = np.array([a / 2, b / 2])
    radius = math.sqrt(c + centre @ centre)
    for _ in range(20):  # Gauss-Newton from the algebraic fit
        d = points - centre
        r = np.hypot(d[:, 0], d[:, 1])
        jacobian = np.column_stack([-d / r[:, None], -np.ones_like(r)])
        change = np.linalg.lstsq(jacobian, radius - r, rcond=None)[0]
        centre, radius = centre + change[:2], radius + change[2]
    return centre, radius
