"""What real printers, scanners, rules, cards and sheets of paper are known to do, drawn at random for
the campaign. The ranges are taken from what is published or common knowledge of devices, never from
the constants with which pavior judges them; docs/how/limits.md lists what devices do beyond that.

Scanners. Five flatbeds against a grid plate left 0.04 to 0.29 mm RMS an axis over A4 at 300 dpi
("Suitability assessment of A4 format desktop publishing scanners", ACRS 1997); a copier's glass and
feeder may be 1 mm off over a sheet by its maker's service standard (0.35 % of A4); wide sheet-fed
scanners offer -1 to +1 % to correct the feed by. Hence a flatbed: carriage up to 0.2 % off, sensor up
to 0.15 %, its middle up to 0.06 mm out of the middle, and a carriage that runs unevenly and out of
square. A feeder: its rollers' diameter and slip up to 0.6 % off along the feed, with a wave of
their turns (12 to 25 mm in diameter) and a sheet that wanders; the sensor up to 0.2 %. All evenly
within these limits: nothing is known of how they are distributed.

Rules. A steel rule of class II of 2014/32/EU, annex X (from memory: 0.3 mm + 0.2 mm for each metre
begun) is better than that by experience: 0.02 %. People read tenths to about 0.12 mm (standard
deviation, both ends together), or round to half millimetres and say so.

Paper. ISO 216: within 1.5 to 2 mm; cut reams lie within 1 mm. The print sits up to 2 mm off on it and
turned by some mrad.

Cards. ISO/IEC 7810 (card_sim.py); most have a white core, so their rim is lighter than their face."""
import math

import numpy as np

SCANNERS = {  # limits: off along the picture's x (sensor) and y (carriage or feed)
    "flatbed": dict(sensor=0.0015, along=0.002, square=1.0, bow=0.06, wave=(0.0, 0.02, 20, 200),
                    wander=0.02),
    "feeder": dict(sensor=0.002, along=0.006, square=2.0, bow=0.06, wave=(0.01, 0.05, 38, 80),
                   wander=0.1)}
RULE_OFF = 0.0002


def printer(rng):
    """Half of all prints are true, a quarter off by what a tolerance of 0.3 % should catch, a quarter
    shrunk to fit."""
    sort = rng.choice(["true", "off", "shrunk"], p=[0.5, 0.25, 0.25])
    if sort == "true":
        scale = rng.normal(1, 0.0006, 2)
    elif sort == "off":
        scale = 1 + rng.choice([-1, 1], 2) * rng.uniform(0.001, 0.012, 2)
    else:
        scale = rng.choice([0.94, 0.955, 0.962, 0.97]) * (1 + rng.normal(0, 0.001, 2))
    return dict(scale=tuple(float(s) for s in scale),
                skew_mrad=float(rng.normal(0, 0.8) if rng.random() < 0.7 else rng.uniform(-6, 6)),
                bow=tuple(rng.uniform(-0.15, 0.15, 2)) if rng.random() < 0.3 else (0.0, 0.0),
                feed=(float(rng.uniform(0, 0.02)), float(rng.uniform(3, 40)), float(rng.uniform(0, 6)))
                if rng.random() < 0.3 else (0.0, 5.0, 0.0),
                gain=float(rng.choice([0, 1]) * rng.uniform(-0.03, 0.08)),
                ragged=(float(rng.uniform(0.005, 0.03)), float(rng.uniform(0.1, 0.5)))
                if rng.random() < 0.6 else (0.0, 0.3),
                bands=(float(rng.uniform(0.02, 0.12)), float(rng.uniform(5, 40)))
                if rng.random() < 0.25 else (0.0, 20.0),
                speckle=float(rng.uniform(0.5, 6)) if rng.random() < 0.25 else 0.0,
                gray=bool(rng.random() < 0.15),
                toner=float(rng.uniform(0.02, 0.06) if rng.random() < 0.8 else rng.uniform(0.1, 0.3)),
                paper=tuple(float(v) for v in rng.uniform(0.78, 0.92) * np.array([1, 1.01, 0.99])),
                screen=[None, ("clustered", 106), ("clustered", 150), ("dispersed", 600)]
                [rng.choice(4, p=[0.55, 0.15, 0.15, 0.15])])


def paper(rng, page, scale):
    """print_sim's `sheet` for a page of this width and height in mm: how large the paper really is,
    and how the print lies on it. A page that was shrunk lies in its middle, or at a corner."""
    size = np.array(page) + rng.uniform(-1, 1, 2)
    at = -rng.uniform(-2, 2, 2)
    if min(scale) < 0.98 and rng.random() < 0.7:
        at = at - (1 - np.array(scale)) * np.array(page) / 2
    return tuple(float(v) for v in size), tuple(float(v) for v in at), float(rng.normal(0, 0.15))


def scanner(rng, kind):
    """scan_sim.Scanner's faults of one device: off, square_mrad, bow, wave, wander."""
    k = SCANNERS[kind]
    low, high, shortest, longest = k["wave"]
    return dict(off=(1 + float(rng.uniform(-1, 1)) * k["sensor"], 1 + float(rng.uniform(-1, 1)) * k["along"]),
                square_mrad=float(rng.uniform(-1, 1)) * k["square"],
                bow=float(rng.uniform(-1, 1)) * k["bow"],
                wave=(float(rng.uniform(low, high)), float(rng.uniform(shortest, longest)),
                      float(rng.uniform(0, 2 * math.pi))),
                wander=(float(rng.uniform(-1, 1)) * k["wander"], float(rng.uniform(150, 600)),
                        float(rng.uniform(0, 2 * math.pi))))


def scan(rng, kind):
    """The settings and the picture: scan_sim's. A feeder's driver sometimes turns the picture upright."""
    dpi = int(rng.choice([150, 200, 300, 400, 600], p=[0.08, 0.12, 0.72, 0.04, 0.04]))
    colours = str(rng.choice(["gray", "colour", "bilevel"], p=[0.42, 0.46, 0.12]))
    if colours == "bilevel":
        dpi = max(dpi, 300)
    if colours == "colour" and dpi > 300:
        colours = "gray"
    ending = "png" if colours == "bilevel" else str(rng.choice(["png", "jpg"]))
    shown = dict(kind=colours, blur=float(rng.uniform(0.03, 0.09)), noise=float(rng.uniform(0.002, 0.012)),
                 lid=float(rng.choice([0.02, 0.75, 0.9])), tone=float(rng.normal(1, 0.04)),
                 white=float(rng.uniform(0.9, 1.05)), dust=int(rng.choice([0, 0, 15, 60])),
                 fringes=float(rng.uniform(-0.5, 0.5)) if colours == "colour" and rng.random() < 0.5 else 0.0)
    if colours == "bilevel":
        shown["threshold"] = float(rng.uniform(0.3, 0.55))
    quarters = int(rng.integers(4)) if kind == "flatbed" or rng.random() < 0.3 else 2 * int(rng.integers(2))
    return dict(dpi=dpi, ending=ending, quarters=quarters, turn=float(rng.normal(0, 0.8)),
                quality=int(rng.integers(75, 96)), subsampling=int(rng.choice([0, 2])), shown=shown,
                margin=float(rng.choice([0.5, 3, 12])))


def photo(rng):
    return dict(tilt=float(rng.uniform(0, 45)), azimuth=float(rng.uniform(0, 360)),
                roll=float(rng.choice([0, 90, 180, 270]) + rng.normal(0, 6)),
                focal=float(rng.uniform(0.7, 0.9)), area=float(rng.uniform(0.34, 0.6)),
                k1=float(rng.uniform(-0.1, 0.1)),
                blur=float(rng.uniform(0.5, 1.3)), noise=float(rng.uniform(0.003, 0.01)),
                shadow=float(rng.choice([0, 0, rng.uniform(0.1, 0.5)])),
                tone=tuple(float(v) for v in rng.uniform(0.02, 0.6) * rng.uniform(0.6, 1.3, 3)),
                orientation=int(rng.choice([1, 3, 6, 8])), focal_stated=bool(rng.random() < 0.7),
                quality=int(rng.integers(80, 97)))


def rim(rng, card):
    """Six in ten cards show the white core at their rim; the others keep any tone."""
    if rng.random() < 0.6:
        card.wall = float(rng.uniform(0.6, 0.9))
    return card


class Rule:
    """A steel rule and who reads it. read() gives what is read of a true length, and the uncertainty
    that the reader states (None: nothing)."""

    def __init__(self, rng):
        self.rng, self.off = rng, float(rng.uniform(-1, 1)) * RULE_OFF
        self.coarse = bool(rng.random() < 0.3)

    def read(self, length):
        seen = length * (1 + self.off) + self.rng.normal(0, 0.12)
        if self.coarse:
            return round(2 * float(seen)) / 2, 0.5
        return round(float(seen), 1), None
