"""A flatbed scan of a printed sheet, simulated with every truth known: the scanner's own scale
errors, colour fringes, a lid that is white or black, dust, a tone curve that is not quite sRGB's,
noise; gray, colour or 1 bit.

    s = Scanner(print_, 300, turn=0.7, off=(1.0003, 0.9998), card=card)
    image = s.scan(print_, rng, kind="colour")

Frames as in print_sim: plane mm with y up; pixels have (0, 0) at the outer corner of the first one,
y down."""
import math

import cv2
import numpy as np

import card_sim
import expose
import simulate
from simulate import CODE_OF_LIGHT, FULL, MM_PER_INCH

LUMA = np.float32([0.2126, 0.7152, 0.0722])


class Scanner:
    """The map from plane to pixels. off: true mm per mm that the stated resolution claims, along the
    picture's x and y; square_mrad: by how much its axes' angle falls short of 90 degrees. turn: degrees
    counter-clockwise by which the sheet lies turned. margin: mm of lid around the sheet (and the card,
    where there is one). bow: mm by which the middle of the sensor's line lies out of the middle. wave
    and wander: amplitude, period (mm) and phase of what carriage or feed do along the picture's y and
    across it."""

    def __init__(self, print_, dpi, turn=0.0, off=(1.0, 1.0), square_mrad=0.0, margin=3.0, card=None,
                 shift=(0.3, 0.6), bow=0.0, wave=(0.0, 100.0, 0.0), wander=(0.0, 100.0, 0.0)):
        k = dpi / MM_PER_INCH
        a = math.radians(turn)
        turning = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
        lean = np.array([[1, math.tan(square_mrad / 1000)], [0, 1]])
        self.linear = np.diag([k / off[0], -k / off[1]]) @ lean @ turning
        self.inverse = np.linalg.inv(self.linear)
        points = print_.corners()
        if card is not None:
            points = np.vstack([points, card.outline(0)[:, :2]])
        p = points @ self.linear.T
        low, high = p.min(axis=0) - margin * k, p.max(axis=0) + margin * k
        self.shift = np.asarray(shift) - low
        self.size = tuple(int(v) for v in np.ceil(high - low) + 1)
        self.px_per_mm, self.card = k, card
        self.faults = (bow, wave, wander)

    def strayed(self, u, v):
        """By how many px the device misplaces what lies at the picture's u, v."""
        bow, wave, wander = self.faults
        k = self.px_per_mm

        def ripple(size, period, phase):
            return size * k * np.sin(2 * math.pi / (period * k) * v + phase)
        across = 2 * u / self.size[0] - 1
        return bow * k * (1 - across * across) + ripple(*wander), ripple(*wave)

    def to_px(self, points):
        p = np.atleast_2d(points) @ self.linear.T + self.shift
        seen = p
        for _ in range(6):
            seen = p + np.column_stack(self.strayed(*seen.T))
        return seen

    def to_plane(self, u, v):
        du, dv = self.strayed(u, v)
        u, v = u - du - self.shift[0], v - dv - self.shift[1]
        m = self.inverse
        return m[0, 0] * u + m[0, 1] * v, m[1, 0] * u + m[1, 1] * v

    def scan(self, print_, rng, kind="gray", blur=0.06, noise=0.006, lid=0.75, fringes=0.0, dust=0,
             tone=1.0, white=1.0, threshold=None, fine=2):
        """8-bit codes, rows x columns (x 3 for colour); 1 bit as 0 and 255. blur: standard deviation
        in mm; fringes: px by which red and blue lie off green along the picture's height; dust:
        specks and fibres; tone: exponent on the sRGB curve's light; white: light of code 255;
        threshold: light, of 1-bit scans."""
        colour = kind == "colour"
        w, h = self.size
        picture = np.full((h, w, 3 if colour else 1), lid, np.float32)
        # Fine pixels carry the part of the blur that they can show; the rest follows.
        sigma = blur * self.px_per_mm
        first = min(sigma, 0.5)
        shifts = [(0.0, fringes), (0.0, 0.0), (0.0, -fringes)] if colour and fringes else None
        seen = print_ if colour or len(print_.channels) == 1 else Grayed(print_)
        for top, left, light, cover in expose.sheet_layers(seen, self, fine, first, colour, shifts):
            at = (slice(top, top + light.shape[0]), slice(left, left + light.shape[1]))
            picture[at] = picture[at] * (1 - cover) + light
        if not colour:
            picture = picture[:, :, 0]
        if self.card is not None:
            card_sim.lay(picture, self.card, self, first)
        rest = math.sqrt(max(sigma * sigma - first * first, 0))
        if rest > 0.1:
            picture = cv2.GaussianBlur(picture, (0, 0), rest, borderType=cv2.BORDER_REPLICATE)
        dusty(picture, dust, self.px_per_mm, rng)
        picture += np.float32(noise) * rng.standard_normal(picture.shape, np.float32)
        if kind == "bilevel":
            return np.where(picture > (threshold or 0.45), 255, 0).astype(np.uint8)
        curve = np.rint(np.interp((np.arange(FULL + 1) / FULL) ** tone, np.arange(FULL + 1) / FULL,
                                  CODE_OF_LIGHT)).astype(np.uint8)
        return curve[np.rint(np.clip(picture / np.float32(white), 0, 1) * FULL).astype(np.uint16)]


class Grayed:
    """A coloured print as a gray sensor sees it: luminance (IEC 61966-2-1) of paper and inks."""

    def __init__(self, print_):
        self.print_ = print_
        share = print_.paper * LUMA
        self.gray = float(share.sum())
        mix = sum(c.astype(np.float32) * (s / self.gray) for c, s in zip(print_.channels, share))
        self.channels = [np.rint(mix).astype(np.uint16)]

    def light(self, _):
        toner = self.print_.toner
        return self.gray * (1 - toner), self.gray * toner

    def __getattr__(self, name):
        return getattr(self.print_, name)


def dusty(picture, n, px_per_mm, rng):
    """Specks and fibres on the glass: dark ones on paper, light ones on ink."""
    h, w = picture.shape[:2]
    for _ in range(n):
        x, y = rng.uniform(0, w), rng.uniform(0, h)
        value = float(rng.choice([0.25, 0.6, 0.8]))
        tone = value if picture.ndim == 2 else (value,) * 3
        if rng.random() < 0.7:
            r = max(int(rng.uniform(0.03, 0.15) * px_per_mm * 16), 8)
            cv2.circle(picture, (int(x * 16), int(y * 16)), r, tone, -1, cv2.LINE_AA, 4)
            continue
        turn, bend = rng.uniform(0, 2 * math.pi), rng.uniform(-1, 1)
        t = np.linspace(0, rng.uniform(0.5, 3) * px_per_mm, 12)
        way = turn + bend * t / t[-1]
        points = np.column_stack([x + np.cumsum(np.cos(way)) * t[1], y + np.cumsum(np.sin(way)) * t[1]])
        cv2.polylines(picture, [np.int32(points * 16)], False, tone, max(1, int(0.06 * px_per_mm)),
                      cv2.LINE_AA, 4)


def save(image, path, dpi, quality=90, subsampling=2):
    """As simulate.save; colour JPEG by 4:2:0 where subsampling is 2, 4:4:4 where it is 0."""
    if path.endswith(".png") or image.ndim == 2:
        simulate.save(image, path, dpi=dpi, quality=quality)
        return
    options = {} if dpi is None else {"dpi": (dpi, dpi)}
    simulate.Image.fromarray(image).save(path, quality=quality, subsampling=subsampling, **options)
