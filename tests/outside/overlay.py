"""Laying two rendered sheets over each other by their alignment crosses, as somebody who tapes them
would, and seeing how well what both of them print agrees.

Crosses are searched for along the seam by opencv's template matching; nothing but the seam's place
on each sheet is taken from the plan."""
import cv2
import numpy as np

ARM, WEIGHT = 2.5, 0.25  # mm: a cross's arm from its centre, and its stroke
LIKENESS = 0.75  # normalised correlation from which on a spot is a cross


def template(k):
    """A cross on plain ground with its centre in the middle of the picture, coverage exact."""
    half = int(np.ceil((ARM + 0.5) * k))
    at = (np.arange(2 * half + 1) - half) / k

    def cover(limit):
        return np.clip((limit - np.abs(at)) * k + 0.5, 0, 1)
    level = np.outer(cover(WEIGHT / 2), cover(ARM))
    return np.maximum(level, level.T).astype(np.float32), half


def stroke_centre(values):
    """Place of a thin stroke in a row of values, px, by the centroid of what stands out from its
    ends; edge coordinates."""
    n = len(values)
    ground = np.interp(np.arange(n), [1, n - 2], [values[:3].mean(), values[-3:].mean()])
    weight = np.abs(values - ground)
    weight[weight < 0.05 * weight.max()] = 0
    return float((weight * (np.arange(n) + 0.5)).sum() / weight.sum())


def refine(gray, u, v, k):
    """Centre of a cross near pixel (u, v), from its four arms, in edge coordinates."""
    near, far, side = int(0.6 * k), int(2.2 * k), int(0.7 * k)
    across = np.vstack([gray[v - far:v - near, u - side:u + side + 1],
                        gray[v + near:v + far, u - side:u + side + 1]]).mean(axis=0)
    down = np.hstack([gray[v - side:v + side + 1, u - far:u - near],
                      gray[v - side:v + side + 1, u + near:u + far]]).mean(axis=1)
    return u - side + stroke_centre(across), v - side + stroke_centre(down)


def find_crosses(raster, low, high):
    """Centres (sheet mm) of all crosses whose centre lies in the box from low to high (mm)."""
    k = raster.k
    mark, half = template(k)
    u0, v0 = (int(c) for c in raster.px(low[0], high[1]))
    u1, v1 = (int(np.ceil(c)) for c in raster.px(high[0], low[1]))
    u0, v0 = max(u0 - half, 0), max(v0 - half, 0)
    u1, v1 = min(u1 + half, raster.code.shape[1]), min(v1 + half, raster.code.shape[0])
    gray = raster.code[v0:v1, u0:u1].astype(np.float32) @ np.float32([0.299, 0.587, 0.114])
    like = np.abs(cv2.matchTemplate(gray, mark, cv2.TM_CCOEFF_NORMED))
    like[~np.isfinite(like)] = 0
    found = []
    while True:
        v, u = np.unravel_index(np.argmax(like), like.shape)
        if like[v, u] < LIKENESS:
            return sorted(found)
        x, y = refine(gray, u + half, v + half, k)
        found.append(((u0 + x - raster.left) / k, (raster.bottom - v0 - y) / k))
        like[max(v - half, 0):v + half + 1, max(u - half, 0):u + half + 1] = 0


def rigid(a, b):
    """Turn and shift that bring points b onto a, least squares (Kabsch), as 2 x 3, and the largest
    distance that is left."""
    a, b = np.asarray(a), np.asarray(b)
    ca, cb = a.mean(axis=0), b.mean(axis=0)
    u, _, vt = np.linalg.svd((b - cb).T @ (a - ca))
    turn = (u @ np.diag([1, np.sign(np.linalg.det(u @ vt))]) @ vt).T
    shift = ca - turn @ cb
    left = np.hypot(*(a - (b @ turn.T + shift)).T).max()
    return np.column_stack([turn, shift]), left


def disagreement(first, second, move, low, high, crosses):
    """How far, in mm, edges of the second sheet's art lie from those of the first in the box from
    low to high (mm on the first), when the second is laid on it by `move` (2 x 3, mm); `crosses`,
    on the first, are left out, since they were fitted. Also the largest difference of codes where
    the first has no edge, and the mm of edge that were compared."""
    k = first.k
    u0, v0 = (int(np.ceil(c)) for c in first.px(low[0], high[1]))
    u1, v1 = (int(c) for c in first.px(high[0], low[1]))
    one = first.code[v0:v1, u0:u1].astype(np.float32)
    # Pixel index in the window -> mm on the first -> mm on the second -> pixel index there.
    to_mm = np.array([[1 / k, 0, (u0 + 0.5) / k], [0, -1 / k, (first.bottom - v0 - 0.5) / k],
                      [0, 0, 1]])
    back = np.linalg.inv(np.vstack([move, [0, 0, 1]]))
    to_px = np.array([[k, 0, -0.5], [0, -k, second.bottom - 0.5], [0, 0, 1]])
    other = cv2.warpAffine(second.code.astype(np.float32) if second.code.size < 4e7 else
                           second.code, (to_px @ back @ to_mm)[:2], (u1 - u0, v1 - v0),
                           flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP).astype(np.float32)
    reach = int(0.3 * k)  # narrower than any line
    square = np.ones((2 * reach + 1,) * 2, np.uint8)
    counts = np.ones(one.shape[:2], bool)
    box = int((ARM + 0.5) * k)
    for x, y in crosses:
        u, v = (int(c) for c in first.px(x, y))
        counts[max(v - v0 - box, 0):max(v - v0 + box, 0),
               max(u - u0 - box, 0):max(u - u0 + box, 0)] = False
    worst, compared = 0.0, 0.0
    for channel in range(3):
        a, b = one[:, :, channel], other[:, :, channel]
        for along_x in (True, False):
            shifts = shifts_across(a, b, reach, along_x, counts)
            worst = max(worst, float(np.abs(shifts).max(initial=0)) / k)
            compared = max(compared, len(shifts) / (reach // 2) / k)
    ground = (cv2.dilate(one, square) - cv2.erode(one, square)).max(axis=2) < 3
    plain = float(np.abs(one - other)[ground].max(initial=0))
    return worst, plain, compared


def shifts_across(a, b, reach, along_x, counts):
    """Shifts, px, of b's edges against a's, along x (or y), at edges that run more across that
    direction than along it, where it `counts` and nothing else runs into the window. The sum of
    the differences across an edge is its shift times its contrast; interpolation blurs an edge but
    doesn't move it, so long as all of it is summed."""
    def lying(length):
        return (length, 1) if along_x else (1, length)

    def contrast(length):
        kernel = np.ones(lying(length)[::-1], np.uint8)
        return cv2.dilate(a, kernel) - cv2.erode(a, kernel)
    total = cv2.boxFilter(a - b, -1, lying(2 * reach + 1), normalize=False)
    step, inner = contrast(2 * reach + 1), contrast(reach | 1)
    gx, gy = cv2.Sobel(a, cv2.CV_32F, 1, 0), cv2.Sobel(a, cv2.CV_32F, 0, 1)
    across = np.abs(gx) >= np.abs(gy) if along_x else np.abs(gy) >= np.abs(gx)
    edge = counts & (step > 40) & (inner > 0.995 * step) & across & (np.abs(gx) + np.abs(gy) > 0)
    ends = np.ones((reach | 1,) * 2, np.uint8)
    plain = cv2.dilate(a, ends) - cv2.erode(a, ends) < 3
    axis = 1 if along_x else 0
    edge &= np.roll(plain, reach, axis) & np.roll(plain, -reach, axis)
    edge[:reach], edge[-reach:], edge[:, :reach], edge[:, -reach:] = False, False, False, False
    return total[edge] / step[edge]
