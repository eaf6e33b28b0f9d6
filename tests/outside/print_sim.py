"""A printer, simulated: a page as it should look goes in, the printed sheet comes out, with the
truth of where everything lies on it.

    p = Print(simulate.render("sheets.pdf", 1), seed=7, scale=(0.998, 1.001), gain=0.04)

Frames. Nominal: mm on the page as designed. Plane: mm on the paper as printed, the page's nominal
lower left corner at its origin. The printer takes nominal n to plane A q, where

    A  lengths along x and y times scale[0], scale[1]; the right angle smaller by the skew,
    q  where n = q + D(q) + R(q + D(q)): D is bow and feed error, R the ragged edges.

Both are stated backwards, from q to n, because that is what exact resampling needs; to_plane()
solves it. Ink faults are made on the page's raster, in the nominal frame, in this order: gain,
ragged edges, halftone, density bands, speckle.

Light is linear, 1 for bare paper. Ink gain moves every edge of red, green and blue each by itself,
from its darker into its lighter side, as ink does that absorbs that one colour alone.

Truth of an edge between two colours whose channels move differently: its place is where the light
across it, projected onto the difference of the two colours, puts it: channel i counts by its
difference d_i squared and moves by sign(d_i) gain; all together by gain sum d|d| / sum d^2."""
import functools
import math

import cv2
import numpy as np

from simulate import FULL, luminance, planes, print_matrix

# Screen angles in degrees, cyan, magenta, yellow, black: a set common in the trade, no source.
SCREEN_ANGLES = (15.0, 75.0, 0.0, 45.0)


# ---- edges moved by ink ----

def _element(*points):
    e = np.zeros((5, 5), np.uint8)
    for x, y in points:
        for a, b in ((x, y), (-x, y), (x, -y), (-x, -y)):
            e[2 + b, 2 + a] = 1
    return e


# A disc of 1 px as a Minkowski sum of polygons with their corners on pixels: cross, square and the
# two long rhombi. Their supports max(|c|, |s|), |c| + |s|, max(|c|, 2 |s|) and max(2 |c|, |s|), with
# these shares (least squares over all directions), are 0.98 to 1.01 px everywhere.
DISC = ((_element((0, 0), (1, 0), (0, 1)), 0.1906), (_element((0, 0), (1, 0), (0, 1), (1, 1)), 0.2442),
        (_element((0, 0), (1, 0), (0, 1), (0, 2)), 0.1817),
        (_element((0, 0), (1, 0), (2, 0), (0, 1)), 0.1817))


def moved_edges(light, px):
    """One channel with every edge moved by px into its lighter side (px < 0: into its darker one):
    a grey-scale erosion by a disc. Straight edges move on the mean by px, to 2 % of it."""
    if px < 0:
        return FULL - moved_edges(FULL - light, -px)
    steps = math.ceil(px)
    for _ in range(steps):
        part, moved = px / steps, light.copy()
        for at, around, inner in uneven(light, 2):
            here = light[around]
            mix = here.astype(np.float32) * np.float32(1 - part * sum(share for _, share in DISC))
            for element, share in DISC:
                mix += np.float32(part * share) * cv2.erode(here, element)
            moved[at] = np.rint(np.clip(mix, 0, FULL)).astype(np.uint16)[inner]
        light = moved
    return light


def tiles(shape, side=256):
    """A raster in parts, as pairs of slices."""
    for top in range(0, shape[0], side):
        for left in range(0, shape[1], side):
            yield slice(top, min(top + side, shape[0])), slice(left, min(left + side, shape[1]))


def uneven(light, reach):
    """The parts of a raster that are not of one tone: where each lies, the same with `reach` px around
    it, and where it lies in that."""
    for at in tiles(light.shape):
        around = tuple(slice(max(s.start - reach, 0), s.stop + reach) for s in at)
        if light[around].min() < light[around].max():
            yield at, around, tuple(slice(s.start - a.start, s.stop - a.start) for s, a in zip(at, around))


# ---- ragged edges ----

class Ragged:
    """A random displacement, both components alike: rms mm, correlated as exp(-d^2 / 4 s^2) with
    s = length. On a grid, linear between its points."""

    def __init__(self, rng, width, height, rms, length):
        self.step = length / 3
        size = int(height / self.step) + 4, int(width / self.step) + 4
        self.field = []
        for _ in range(2):
            noise = rng.standard_normal(size, np.float32)
            smooth = cv2.GaussianBlur(noise, (0, 0), length / self.step)
            self.field.append(smooth * np.float32(rms / smooth.std()))

    def at(self, points):
        """Displacements at plane or nominal places, N x 2, bilinear."""
        g = np.asarray(points) / self.step + 1
        i = np.clip(np.floor(g).astype(int), 0, [s - 2 for s in self.field[0].shape[::-1]])
        f = np.clip(g - i, 0, 1)
        (x, y), (fx, fy) = i.T, f.T
        return np.column_stack([(1 - fy) * ((1 - fx) * a[y, x] + fx * a[y, x + 1])
                                + fy * ((1 - fx) * a[y + 1, x] + fx * a[y + 1, x + 1])
                                for a in self.field])

    def warped(self, channels, px_per_mm):
        """The raster (y down, its last row at y = 0) with n = q + R(q)."""
        rows, columns = channels[0].shape
        out = [np.empty_like(c) for c in channels]
        x = ((np.arange(columns) + 0.5) / px_per_mm / self.step + 1).astype(np.float32)
        for top in range(0, rows, 512):
            bottom = min(top + 512, rows)
            y = ((rows - np.arange(top, bottom) - 0.5) / px_per_mm / self.step + 1)
            gx, gy = np.meshgrid(x, y.astype(np.float32))
            dx, dy = (cv2.remap(f, gx, gy, cv2.INTER_LINEAR) for f in self.field)
            sx = dx * np.float32(px_per_mm) + np.arange(columns, dtype=np.float32)
            sy = np.arange(top, bottom, dtype=np.float32)[:, None] - dy * np.float32(px_per_mm)
            for c, o in zip(channels, out):
                o[top:bottom] = cv2.remap(c, sx, sy, cv2.INTER_LINEAR,
                                          borderMode=cv2.BORDER_REPLICATE)
        return out


# ---- halftones ----

def inks(channels):
    """Shares of paper left bare by cyan, magenta, yellow and black, 0 to FULL; black takes what the
    three have in common. Their products are the channels again. One channel: black alone."""
    if len(channels) == 1:
        return [None, None, None, channels[0]]
    bare = np.maximum(np.maximum(channels[0], channels[1]), channels[2])
    rest = np.maximum(bare, 1).astype(np.float32)
    return [np.rint(c / rest * FULL).astype(np.uint16) for c in channels] + [bare]


def clustered(bare, dpi, lpi, degrees, toned):
    """Dots that grow in cells, lpi of them to an inch along the screen's own direction. The
    threshold is the rank of a cosine pair, evened out so that any tone covers its share. Worked out
    where there is something toned; elsewhere `bare` stays."""
    cell = dpi / lpi
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    level = np.sort(spot(*np.meshgrid(np.linspace(0, 1, 256, False), np.linspace(0, 1, 256, False)))
                    .ravel())
    # spot() of turned axes, by the addition theorem: one product a pixel, no cosine.
    y, x = (np.arange(n) * (2 * np.pi / cell) for n in bare.shape)
    terms = (np.cos(y * s), np.cos(x * c)), (-np.sin(y * s), np.sin(x * c)), \
        (np.cos(y * c), np.cos(x * s)), (np.sin(y * c), np.sin(x * s))
    down, across = (np.array(t, np.float32) for t in zip(*terms))
    table = np.rint(np.searchsorted(level, np.linspace(-2, 2, 4097)) / level.size * FULL)
    table = np.clip(table, 1, FULL - 1).astype(np.uint16)
    dots = bare.copy()
    for at in tiles(bare.shape):
        if not toned[at].any():
            continue
        value = down[:, at[0]].T @ across[:, at[1]]
        threshold = table[np.rint((value + 2) * 1024).astype(np.int16)]
        dots[at] = np.where(bare[at] > threshold, np.uint16(FULL), np.uint16(0))
    return dots


def spot(x, y):
    return np.cos(2 * np.pi * x) + np.cos(2 * np.pi * y)


@functools.lru_cache(maxsize=1)
def thresholds(side=256):
    """A square of ranks 0 to FULL without low frequencies: noise, taken off its own blur and ranked
    again, until little changes. Each share of it is spread evenly, in no pattern."""
    ranks = np.random.default_rng(140).random((side, side)).astype(np.float32)
    for _ in range(12):
        rough = ranks - cv2.GaussianBlur(np.tile(ranks, (3, 3)), (0, 0), 1.5)[side:-side, side:-side]
        order = np.argsort(rough, axis=None)
        ranks = np.empty(side * side, np.float32)
        ranks[order] = (np.arange(side * side) + 0.5) / (side * side)
        ranks = ranks.reshape(side, side)
    return np.rint(ranks * FULL).astype(np.uint16)


def dispersed(bare, ink):
    """Single dots in no pattern, every ink's by another shift of the thresholds. Unlike error
    diffusion, which loses at edges what it can't hand on, they cover on the mean what was asked."""
    mask = np.roll(thresholds(), (71 * ink, 113 * ink), (0, 1))
    rows, columns = bare.shape
    mask = np.tile(mask, (-(-rows // mask.shape[0]), -(-columns // mask.shape[1])))[:rows, :columns]
    return np.where(bare > np.clip(mask, 1, FULL - 1), np.uint16(FULL), np.uint16(0))


def flat(bare):
    """Where a pixel's neighbours are of its tone."""
    square = np.ones((3, 3), np.uint8)
    return cv2.dilate(bare, square) - cv2.erode(bare, square) <= FULL // 50


def halftoned(channels, dpi, screen):
    """screen: ("clustered", lpi) or ("dispersed", dpi of the printer, dividing the raster's). Edges
    stay as they are, which printers call edge smoothing: else a screen moves each by up to half of
    its pixels, and the truth would be another."""
    rows, columns = channels[0].shape
    dots = []
    for ink, (bare, degrees) in enumerate(zip(inks(channels), SCREEN_ANGLES)):
        if bare is None:
            continue
        smooth = flat(bare)
        if screen[0] == "clustered":
            toned = smooth & (bare > 0) & (bare < FULL)  # bare paper and solid ink have no dots
            dots.append(np.where(smooth, clustered(bare, dpi, screen[1], degrees, toned), bare))
            continue
        step = max(1, round(dpi / screen[1]))
        small = cv2.resize(bare, (-(-columns // step), -(-rows // step)),
                           interpolation=cv2.INTER_AREA) if step > 1 else bare
        one = np.repeat(np.repeat(dispersed(small, ink), step, 0), step, 1)[:rows, :columns]
        dots.append(np.where(smooth, one, bare))
    black = dots.pop()
    return [cv2.multiply(d, black, scale=1 / FULL) for d in dots] if dots else [black]


# ---- the printed sheet ----

class Print:
    """See the head of this file. All lengths mm.

    bow: sagitta of what should be straight: [0] of upright lines, along x; [1] of level ones.
    feed: amplitude, period, phase of a periodic error along y. gain: of each edge. ragged: rms and
    length. screen: None or a halftone. bands: amplitude, period along y of the ink's density.
    speckle: dots a cm2, ink on paper and holes in ink alike. gray: colours print as luminance.
    toner: what solid ink reflects, of the paper's light. paper: what bare paper reflects, red,
    green, blue. sheet: width and height of the paper, place of its lower left corner in the plane
    and turn in degrees; None: the page itself."""

    def __init__(self, page, seed=0, scale=(1.0, 1.0), skew_mrad=0.0, bow=(0.0, 0.0),
                 feed=(0.0, 5.0, 0.0), gain=0.0, ragged=(0.0, 0.3), screen=None, bands=(0.0, 20.0),
                 speckle=0.0, gray=False, toner=0.035, paper=(0.86, 0.87, 0.85), sheet=None):
        self.width, self.height, self.dpi = page.width, page.height, page.dpi
        self.scale, self.skew_mrad, self.bow, self.feed, self.gain = scale, skew_mrad, bow, feed, gain
        self.gray, self.toner, self.paper = gray, toner, np.float32(paper)
        self.matrix = print_matrix(scale, skew_mrad)
        self.ideal = page
        self.px_per_mm = page.px_per_mm
        rng = np.random.default_rng((seed, 1))
        self.ragged = Ragged(rng, self.width, self.height, *ragged) if ragged[0] > 0 else None
        self.sheet = sheet or ((self.width, self.height), (0.0, 0.0), 0.0)
        channels = planes(page.light)
        if gray and len(channels) == 3:
            channels = [luminance(channels)]
        if gain != 0:
            channels = [moved_edges(c, gain * self.px_per_mm) for c in channels]
        if self.ragged:
            channels = self.ragged.warped(channels, self.px_per_mm)
        if screen is not None:
            channels = halftoned(channels, page.dpi, screen)
        if bands[0] > 0:
            channels = [self._banded(c, *bands, rng.uniform(0, 2 * math.pi)) for c in channels]
        if speckle > 0:
            channels = self._speckled([c.copy() for c in channels], speckle, rng)
        self.channels = channels

    @functools.cached_property
    def drawn(self):
        """The page that was printed, in one channel where colours print as luminance."""
        light = self.ideal.light
        return luminance(planes(light)) if self.gray and light.ndim == 3 else light

    def _banded(self, light, amplitude, period, phase):
        y = self.height - (np.arange(light.shape[0]) + 0.5) / self.px_per_mm
        density = 1 - amplitude * (0.5 + 0.5 * np.sin(2 * np.pi * y / period + phase))
        ink = (FULL - light) * density[:, None].astype(np.float32)
        return np.rint(FULL - ink).astype(np.uint16)

    def _speckled(self, channels, per_cm2, rng):
        for _ in range(rng.poisson(per_cm2 * self.width * self.height / 100)):
            at = rng.uniform(0, 1, 2) * [self.width, self.height] * self.px_per_mm
            r = rng.uniform(0.02, 0.08) * self.px_per_mm
            x, y = (int(v * 16) for v in at)
            row, column = (min(int(v), s - 1) for v, s in zip(at[::-1], channels[0].shape))
            for c in channels:
                value = 0 if c[row, column] > FULL // 2 else FULL
                cv2.circle(c, (x, y), max(int(r * 16), 8), value, -1, cv2.LINE_8, 4)
        return channels

    # ---- where things lie ----

    def back(self, x, y):
        """q to n but for raggedness; arrays of any one shape."""
        u, v = 2 * x / self.width - 1, 2 * y / self.height - 1
        dx = self.bow[0] * (1 - v * v) if self.bow[0] else 0
        dy = self.bow[1] * (1 - u * u) if self.bow[1] else 0
        if self.feed[0]:
            dy = dy + self.feed[0] * np.sin(2 * np.pi * y / self.feed[1] + self.feed[2])
        return x + dx, y + dy

    def to_nominal(self, x, y):
        """Plane to nominal but for raggedness (which the raster already has)."""
        inverse = np.linalg.inv(self.matrix)
        return self.back(inverse[0, 0] * x + inverse[0, 1] * y, inverse[1, 0] * x + inverse[1, 1] * y)

    def to_plane(self, points, ragged=True):
        """Nominal places, N x 2, to the plane, as printed."""
        n = np.atleast_2d(np.asarray(points, float))
        if ragged and self.ragged:
            q = n.copy()
            for _ in range(12):
                q = n - self.ragged.at(q)
            n = q
        q = n.copy()
        for _ in range(12):
            q = q + n - np.column_stack(self.back(*q.T))
        return q @ self.matrix.T

    def corners(self):
        """Of the paper, in the plane, counter-clockwise from the lower left."""
        (w, h), at, degrees = self.sheet
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return np.array([[0, 0], [w, 0], [w, h], [0, h]]) @ np.array([[c, s], [-s, c]]) + at

    def outside(self, x, y):
        """Signed distance in mm to the paper's edge, negative inside."""
        (w, h), at, degrees = self.sheet
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        u, v = (x - at[0]) * c + (y - at[1]) * s, (y - at[1]) * c - (x - at[0]) * s
        dx, dy = np.abs(u - w / 2) - w / 2, np.abs(v - h / 2) - h / 2
        return np.hypot(np.maximum(dx, 0), np.maximum(dy, 0)) + np.minimum(np.maximum(dx, dy), 0)

    def affine(self, margin=5.0, steps=60):
        """What the whole sheet's scale is, where it isn't alike all over it: least squares of an
        affine map over a grid of the page less its margins. Scale x, y and skew (mrad)."""
        xs = np.linspace(margin, self.width - margin, steps)
        ys = np.linspace(margin, self.height - margin, steps * 2)
        n = np.column_stack([g.ravel() for g in np.meshgrid(xs, ys)])
        ones = np.column_stack([n - n.mean(axis=0), np.ones(len(n))])
        m = np.linalg.lstsq(ones, self.to_plane(n, ragged=False), rcond=None)[0][:2].T
        sx, sy = np.hypot(*m[:, 0]), np.hypot(*m[:, 1])
        between = math.acos(m[:, 0] @ m[:, 1] / (sx * sy))
        return sx, sy, 1000 * (math.pi / 2 - between)

    def light(self, channel):
        """Reflectance of a channel of the picture where the raster says how much paper is bare: a
        pair (factor, offset) for raster values of 0 to 1."""
        return self.paper[channel] * (1 - self.toner), self.paper[channel] * self.toner
