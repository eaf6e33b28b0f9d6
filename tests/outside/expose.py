"""From a printed sheet to light on a sensor: exact maps, resampled strip by strip.

A device has `size` (px), to_px(points) from the plane's mm and to_plane(u, v) back (arrays; px in
edge coordinates: (0, 0) is the outer corner of the first pixel, y down)."""
import cv2
import numpy as np

from simulate import FULL

STRIDE = 4  # of fine pixels between places where maps are worked out; linear between them
ROWS = 256  # of the picture, at a time


def coarse(first, n):
    """Fine pixels' indices of the grid that spans n of them from `first`, with one more cell at
    both ends, as cv2.resize wants them: centres of cells of STRIDE."""
    return first + (np.arange(-1, n // STRIDE + 1) + 0.5) * STRIDE - 0.5


def spread(grid, rows, columns):
    """A coarse grid's values at every fine pixel."""
    big = cv2.resize(np.asarray(grid, np.float32), (grid.shape[1] * STRIDE, grid.shape[0] * STRIDE),
                     interpolation=cv2.INTER_LINEAR)
    return big[STRIDE:STRIDE + rows, STRIDE:STRIDE + columns]


def bounds(device, points, margin):
    """Pixel box about plane points: left, top, right, bottom, within the picture."""
    p = device.to_px(points)
    w, h = device.size
    left, top = np.floor(p.min(axis=0) - margin).astype(int)
    right, bottom = np.ceil(p.max(axis=0) + margin).astype(int)
    return max(left, 0), max(top, 0), min(right, w), min(bottom, h)


def outline(print_, n=40):
    c = print_.corners()
    t = np.linspace(0, 1, n, endpoint=False)[:, None]
    return np.vstack([c[i] + t * (c[(i + 1) % 4] - c[i]) for i in range(4)])


def sheet_layers(print_, device, fine, blur=0.0, colour=True, fringes=None):
    """The sheet as the device sees it, before what it lies on is known. Yields for each strip
    (top, left, light, cover): light is rows x columns x channels of reflectance times cover
    (float32), cover how much of each pixel is paper. blur: standard deviation in px. fringes: for
    each channel a shift in px by which it is displaced in the picture."""
    halo = int(np.ceil(4 * blur)) + 1
    left, top, right, bottom = bounds(device, outline(print_), halo + 3)
    channels = 3 if colour else 1
    inks = print_.channels if len(print_.channels) == 3 or not colour else print_.channels * 3
    for start in range(top, bottom, ROWS):
        end = min(start + ROWS, bottom)
        box = left - halo, start - halo, right + halo, end + halo
        lights, covers = [], []
        for i in range(channels):
            shift = (0.0, 0.0) if fringes is None else fringes[i]
            if i == 0 or fringes is not None:
                maps, cover = strip_maps(print_, device, fine, box, shift)
                shown = shrunk(cover, fine, blur)
            alike = i > 0 and inks[i] is inks[0] and fringes is None
            plain = lights[0][1] if alike else strip(inks[i], maps, fine, blur, cover)
            factor, offset = print_.light(i)
            lights.append((factor * plain + offset * shown, plain))
            covers.append(shown)
        cut = (slice(halo, halo + end - start), slice(halo, halo + right - left))
        light = np.dstack([a[0][cut] for a in lights])
        yield start, left, light, np.dstack([c[cut] for c in covers])


def strip_maps(print_, device, fine, box, shift):
    """Where each fine pixel of a box looks in the print's raster, and how much of it is paper."""
    left, top, right, bottom = box
    columns, rows = (right - left) * fine, (bottom - top) * fine
    u = (coarse(left * fine, columns) + 0.5) / fine - shift[0]
    v = (coarse(top * fine, rows) + 0.5) / fine - shift[1]
    x, y = device.to_plane(*np.meshgrid(u, v))
    distance = print_.outside(x, y)
    gy, gx = np.gradient(distance, STRIDE)
    slope = np.maximum(np.hypot(gx, gy), 1e-9)
    nx, ny = print_.to_nominal(x, y)
    k = print_.px_per_mm
    mx = spread(nx * k - 0.5, rows, columns)
    my = spread((print_.height - ny) * k - 0.5, rows, columns)
    cover = np.clip(0.5 - spread(distance / slope, rows, columns), 0, 1)
    return (mx, my), cover


def shrunk(fine_image, fine, blur):
    if blur > 0:
        fine_image = cv2.GaussianBlur(fine_image, (0, 0), blur * fine,
                                      borderType=cv2.BORDER_REPLICATE)
    size = fine_image.shape[1] // fine, fine_image.shape[0] // fine
    return cv2.resize(fine_image, size, interpolation=cv2.INTER_AREA)


def strip(raster, maps, fine, blur, cover):
    """A channel of the raster seen through the maps, times cover, blurred and integrated over
    square pixels; 0 to 1. Beside the page, paper is bare."""
    seen = cv2.remap(raster, *maps, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT,
                     borderValue=FULL)
    return shrunk(seen.astype(np.float32) * (cover / np.float32(FULL)), fine, blur)
