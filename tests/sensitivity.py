#!/usr/bin/env python3
"""What moves when an assumption is wrong by half: changes one constant of docs/how/assumptions.md at a time in a
scratch copy of the sources, builds it, inspects five simulated images, and prints what differs from the
unchanged build. Takes about half an hour; nothing is held, nothing is kept.

Usage: sensitivity.py [NAME...]    only these constants"""
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
OUTSIDE = os.path.join(ROOT, "tests", "outside")
CHANGED = {  # a constant and what it is multiplied by
    "PV_TONE_EXPONENT_MIN": 0.95, "PV_U_GRID": 1.5, "PV_SCREEN_REACH": 1.5, "PV_SCREEN_TEXTURE": 0.5,
    "PV_BOW_U": 1.5, "PV_BOW_SKEW": 1.5, "PV_UNEVEN_MIN": 0.5, "PV_UNEVEN_AREA": 1.5, "PV_CARD_LONG_OFF": 1.5,
    "PV_CARD_RIM_U": 1.5, "PV_CARD_LEVEL_U": 1.5, "PV_CARD_SQUARE_U": 1.5, "PV_CARD_THICKNESS": 1.5,
    "PV_CAMERA_FOCAL35": 1.5, "PV_CAMERA_FOCAL_U": 1.5, "PV_CAMERA_PRINT_U": 0.5, "PV_OUTLINE_ALIKE": 1.5,
    "PV_RIM_LIGHT_U": 0.5, "PV_RIM_SHADE_U": 0.5, "PV_RIM_MISFIT": 1.5, "PV_RIM_ALIKE": 1.5, "PV_RIM_MODEL": 1.5,
    "PV_RIM_STEP": 1.5, "PV_CARD_BLUR_U": 1.5, "PV_PAPER_EDGE_U": 1.5, "PV_FLATBED_OFF": 1.5,
    "PV_PLATEAU_NEAR_BLURS": 0.67, "PV_PLATEAU_NEAR": 0.5, "PV_U_SPREAD": 1.5, "SIGMA": 1.5, "PRIOR": 1.5,
    "HUE_PX": 1.5, "PLACE_SHADING": 1.5, "PV_FLATBED_ASKEW": 1.5,
    "shade_mm": 1.5, "floors": 1.5, "PV_LENS_PRIORS": 0.5}
PRINT = ["--scale", "0.9985,0.9992", "--gain", "0.05"]
SCAN = ["simulate.py", *PRINT, "--noise", "0.006"]
PHOTO = ["photo_sim.py", *PRINT, "--card", "--area", "0.5"]
IMAGES = {  # name: plan, simulator and its options
    "grey.png": ("quayside", [*SCAN, "--page", "17", "--dpi", "300", "--kind", "gray", "--turn", "0.8"]),
    "colour.png": ("quayside", [*SCAN, "--page", "17", "--dpi", "300", "--kind", "colour", "--turn", "0.3"]),
    "proof.png": ("proof", [*SCAN, "--dpi", "150", "--kind", "gray", "--turn", "0.8"]),
    "photo.jpg": ("quayside", [*PHOTO, "--page", "17", "--tilt", "18", "--from", "60", "--k1", "0.03"]),
    "proof.jpg": ("proof", [*PHOTO, "--page", "1", "--tilt", "12", "--from", "200", "--k1", "-0.02"])}


def prepare(folder):
    for name in ("src", "include", "tests", "docs", "layouts", ".ci"):
        shutil.copytree(os.path.join(ROOT, name), os.path.join(folder, name))
    for name in glob.glob(ROOT + "/Makefile"):
        shutil.copy(name, folder)


def build(folder):
    subprocess.run(["make", "-j2", "build/pavior"], cwd=folder, check=True, capture_output=True)


def draw_images(folder):
    def pavior(*arguments):
        subprocess.run([folder + "/build/pavior", *arguments, "--paper", "A4", "--quiet"], cwd=folder, check=True)

    pavior("sheets", "--no-guide", "layouts/quayside.course")
    pavior("sheets", "--proof")
    for image, (kit, (program, *options)) in IMAGES.items():
        subprocess.run(["/usr/bin/python3", os.path.join(OUTSIDE, program), kit + ".pdf", "-o", image, *options],
                       cwd=folder, check=True, stdout=subprocess.DEVNULL)


def median(values):
    return sorted(values)[len(values) // 2] if values else None


def inspect(folder):
    """What is compared, for each image: name of the figure to (value, decimals)."""
    out = {}
    for image, (kit, _) in IMAGES.items():
        done = subprocess.run([folder + "/build/pavior", "inspect", "--scanner", "flatbed", "--plan", kit + ".plan.json", "--json", image],
                              cwd=folder, capture_output=True, text=True)
        got = json.loads(done.stdout)[0]
        figures = {"verdict": got.get("verdict", got.get("error"))}
        if "scale" in got:
            for name, value in (("x", got["scale"]["x"]), ("y", got["scale"]["y"]), ("skew", got["skew_mrad"])):
                figures[name], figures["U " + name] = value["value"], value["U"]
            figures["width off"] = median([v["width_mm"] - v["nominal_mm"] for v in got["lines"]])
            figures["U width"] = median([v["U_mm"] for v in got["lines"]])
            figures["spacing off"] = median([v["value_mm"] - v["nominal_mm"] for v in got["spacings"]])
            figures["U spacing"] = median([v["U_mm"] for v in got["spacings"]])
        out[image] = figures
    return out


def differences(base, now):
    for image, figures in now.items():
        said = []
        for name, value in figures.items():
            was = base[image].get(name)
            if isinstance(value, float) and isinstance(was, float):
                if abs(value - was) > 1e-5:
                    said.append(f"{name} {was:.5f} -> {value:.5f}")
            elif value != was:
                said.append(f"{name} {was} -> {value}")
        if said:
            print(f"  {image:12s} " + ", ".join(said))


def change(folder, name, factor):
    """Changes its definition, every number of a list; the file and its former text, or None where there is
    no such constant."""
    number = r"\d+\.?\d*(?:e-?\d+)?"
    defined = re.compile(rf"^(#define {name}(?:\([^)]*\))?[\s\\{{(]+)({number}(?:, {number})*)|"
                         rf"(\b{name}(?:\[\w*\])? = )(\{{.*?\}});", re.M | re.S)
    for path in glob.glob(folder + "/src/*/*.[ch]") + glob.glob(folder + "/include/pavior/*.h"):
        text = open(path, encoding="utf-8").read()
        if defined.search(text):
            scaled = lambda m: re.sub(number, lambda n: repr(float(n[0]) * factor), m)  # noqa: E731
            with open(path, "w", encoding="utf-8") as out:
                out.write(defined.sub(lambda m: m[1] + scaled(m[2]) if m[1] else m[3] + scaled(m[4]) + ";", text))
            return path, text
    return None


def main():
    names = sys.argv[1:] or CHANGED
    with tempfile.TemporaryDirectory() as folder:
        prepare(folder)
        build(folder)
        draw_images(folder)
        base = inspect(folder)
        for name in names:
            undo = change(folder, name, CHANGED.get(name, 1.5))
            if undo is None:
                sys.exit(f"no constant {name}")
            print(f"{name} x {CHANGED.get(name, 1.5)}", flush=True)
            build(folder)
            differences(base, inspect(folder))
            with open(undo[0], "w", encoding="utf-8") as out:
                out.write(undo[1])


main()
