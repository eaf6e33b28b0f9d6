#!/usr/bin/python3
"""`pavior inspect --certificate` and `pavior collect --verify`, from outside: other programs read the page
back (poppler, qpdf); the same picture makes the same code wherever and whenever it is measured, and
anything that has changed makes the code wrong, for the reason that is so.

    test_certificate.py, with PAVIOR set to the command"""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

import cv2
import numpy as np
from PIL import Image

import checks
import simulate
from checks import above, expect

PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
DPI = 150
CODE = re.compile(r"\b[0-9A-HJKMNP-TV-Z]{4}(?:-[0-9A-HJKMNP-TV-Z]{4}){3}\b")
COURSE = """course "Little harbour" edition "%s"
mat 180mm by 250mm ground white
tolerance scale 0.5 %%, width 0.5mm, spacing 0.8mm, straightness 0.8mm, skew 5mrad
paint width 20mm, colour black, ends flat
line west width 20mm from (30, 10)mm to (30, 240)mm
line middle width 12mm from (90, 60)mm to (90, 240)mm
line east width 20mm from (150, 10)mm to (150, 240)mm
"""
VERDICTS = {"conforms": "This sheet conforms", "does not conform": "This sheet does not conform",
            "undecided": "This sheet is undecided"}


def run(*words, **kept):
    return subprocess.run([PAVIOR, *words], capture_output=True, text=True, **kept)


def words_of(pdf):
    return subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout


def code_of(pdf):
    return CODE.search(words_of(pdf)).group(0)


def make_inputs():
    for edition in ("1", "2"):
        with open(f"{edition}.course", "w", encoding="utf-8") as file:
            file.write(COURSE % edition)
        done = run("kit", f"{edition}.course", "-o", f"kit{edition}", "-p", "A4,letter", "-q")
        expect(f"the kit of edition {edition} is made", done.returncode == 0, done.stderr)
    run("sheets", "1.course", "--paper", "A4", "--no-guide", "-q", "-o", "sheets.pdf")
    page = simulate.render("sheets.pdf", 1, 300, "gray")
    for name, scale, dpi in (("true.png", 1.0002, DPI), ("shrunk.png", 0.97, DPI), ("unsure.png", 1, None)):
        image, _ = simulate.scan(page, dpi=DPI, turn=0.8, scale=(scale, scale), seed=3)
        simulate.save(image, name, dpi=dpi)
    return page


def check_page(name, verdict, options, page):
    """What the page says is what JSON says; gives its code."""
    pdf = name + ".pdf"
    done = run("inspect", "--plan", "kit1/a4/mat-a4.plan.json", name, "--certificate", pdf, "--json", *options)
    sheet = json.loads(done.stdout)[0]
    expect(f"{name}: {verdict}", sheet["verdict"] == verdict, sheet["answer"])
    text = words_of(pdf)
    flat = " ".join(text.split())
    expect("the page says so", VERDICTS[verdict] in flat and sheet["answer"] in flat, VERDICTS[verdict])
    number = lambda value, digits: f"{value:.{digits}f}".replace("-", "\N{MINUS SIGN}")
    rows = [(sheet["scale"][axis], 100, 3) for axis in "xy"] + [(sheet["skew_mrad"], 1, 2)]
    for row, factor, digits in rows:
        if row["value"] is not None:
            value, U = number(factor * row["value"], digits), f"±{number(factor * row['U'], digits)}"
            expect("a value with its U", re.search(re.escape(value) + r" \S+\s+" + re.escape(U), text) is not None,
                   f"{value} {U}")
    off = {line["id"]: abs(line["width_mm"] - line["nominal_mm"]) for line in sheet["lines"]}
    width = {line["id"]: line["width_mm"] for line in sheet["lines"]}
    line, value = re.search(r"Largest error, width: (\S+)\s+([\d.]+) mm", text).groups()
    expect("the worst line", abs(float(value) - width[line]) < 0.0006 and off[line] > max(off.values()) - 0.0002,
           f"{line} {value}")
    expect("the picture's sum", subprocess.run(["sha256sum", name], capture_output=True, text=True, check=True)
           .stdout[:16] in flat.replace(" ", ""))
    expect("who and what", all(w in flat for w in ("Little harbour", "Edition 1", sheet["kit"][-8:], "A4", name)))
    done = subprocess.run(["qpdf", "--check", pdf], capture_output=True, text=True, check=False)
    expect("qpdf finds nothing", done.returncode == 0, done.stderr[-200:])
    subprocess.run(["pdfimages", "-j", pdf, "picture"], check=True)
    if page is not None:
        compare_picture("picture-000.jpg", page)
    return code_of(pdf)


def compare_picture(name, page):
    """The picture in the page against the sheet as it was printed."""
    seen = np.asarray(Image.open(name).convert("L"), np.float64)
    drawn = cv2.resize(simulate.linear_to_srgb(page.light / simulate.FULL), seen.shape[::-1],
                       interpolation=cv2.INTER_AREA)
    above("the picture shows the sheet: correlation", np.corrcoef(seen.ravel(), drawn.ravel())[0, 1], 0.97)


def verify(what, words, status, says):
    done = run("collect", *words)
    expect(what, done.returncode == status and says in done.stdout + done.stderr,
           f"{done.returncode}: {(done.stdout + done.stderr)[:150]!r}")
    return done.stdout


def check_codes(codes):
    flatbed = ("--scanner", "flatbed")
    code = codes["true.png"]
    said = verify("the code is right", ["kit1", "true.png", "--verify", code, *flatbed], 0, "Right: true.png")
    expect("what it then says is on the page", all(n in words_of("true.png.pdf") for n in
                                                   re.findall(r"\d+\.\d{3}", said)), said[:60])
    verify("lower case, blanks", ["kit1", "true.png", "--verify", code.lower().replace("-", " "), *flatbed], 0, "Right")
    os.makedirs("in/team", exist_ok=True)
    for name in ("true.png", "shrunk.png", "1.course"):
        shutil.copy(name, "in/team")
    verify("found in a folder", ["kit1", "in", "--verify", code, *flatbed], 0, "Right: in/team/true.png")
    os.makedirs("in/other", exist_ok=True)
    shutil.copy("true.png", "in/other/copy.png")
    verify("all that have the code, a row each", ["kit1", "in", "--verify", code, *flatbed], 0,
           "Right: 2 pictures have this code:\nin/other/copy.png\nin/team/true.png\nThe certificate must")
    verify("without options", ["kit1", "in", "unsure.png", "--verify", codes["unsure.png"]], 0, "Right: unsure.png")
    steps = json.loads(run("inspect", "--plan", "kit1/a4/mat-a4.plan.json", "unsure.png", "--json").stdout)[0]["measure"]
    readings = [word for step in steps[:2] for word in
                ("--measured", f"{step['from']}-{step['to']}={step['nominal_mm'] + 0.1:.2f}mm+-0.25mm")]
    run("inspect", "--plan", "kit1/a4/mat-a4.plan.json", "unsure.png", "--certificate", "ruler.pdf", "--dpi", "149.5",
        "--scanner-uncertainty", "0.35", *readings)
    flat = " ".join(words_of("ruler.pdf").split())
    command = re.search(r"pavior collect KIT PICTURE (--verify .*?) What this page proves", flat).group(1).split()
    expect("options stand on the page", len(command) == 2 + 4 + len(readings), " ".join(command))
    verify("with the words of the page", ["kit1", "unsure.png", *command], 0, "Right: unsure.png")
    verify("with another reading", ["kit1", "unsure.png", *command[:-1], command[-1].replace("0.25", "0.26")], 1, "other options")
    verify("of a print that fails", ["kit1", "in", "--verify", codes["shrunk.png"], *flatbed], 0,
           "does not conform")
    verify("another picture", ["kit1", "shrunk.png", "--verify", code, *flatbed], 1, "Wrong: the code is of none of 1")
    image = Image.open("true.png")
    image.putpixel((5, 5), image.getpixel((5, 5)) ^ 1)
    image.save("edited.png", dpi=(DPI, DPI))
    verify("one pixel by one level", ["kit1", "edited.png", "--verify", code, *flatbed], 1, "Wrong: the code is of none")
    verify("other options", ["kit1", "true.png", "--verify", code, "--scanner", "feeder"], 1, "other options")
    verify("another edition", ["kit2", "true.png", "--verify", code, *flatbed], 1, "cannot be judged with this kit")
    with open("kit1/a4/mat-a4.plan.json", encoding="utf-8") as file:
        text = file.read()
    plan = json.loads(text)
    plan["tolerances"]["scale"] = 0.01
    with open("wide.plan.json", "w", encoding="utf-8") as file:
        json.dump(plan, file)
    verify("other tolerances", ["wide.plan.json", "true.png", "--verify", code, *flatbed], 1, "the answer is another")
    wrong = code[:-1] + ("0" if code[-1] != "0" else "1")
    verify("a slip", ["kit1", "true.png", "--verify", wrong, *flatbed], 64, "type it again")
    verify("no such picture", ["kit1", "gone.png", "--verify", code, *flatbed], 66, "gone.png")


def check_same_bytes():
    with tempfile.TemporaryDirectory() as locales:
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", f"{locales}/de_DE.UTF-8"], check=False)
        env = dict(os.environ, LOCPATH=locales, LC_ALL="de_DE.UTF-8", LANG="de_DE.UTF-8", TZ="Asia/Tokyo")
        expect("there is a locale with a comma", subprocess.run(
            ["locale", "decimal_point"], env=env, capture_output=True, text=True, check=False).stdout == ",\n")
        run("inspect", "--plan", "kit1/a4/mat-a4.plan.json", "true.png", "--certificate", "again.pdf", "--scanner",
            "flatbed", "-q", env=env)
    with open("true.png.pdf", "rb") as one, open("again.pdf", "rb") as two:
        expect("another locale, another time zone: the same bytes", one.read() == two.read())


def check_files():
    words = ["inspect", "--plan", "kit1/a4/mat-a4.plan.json", "--scanner", "flatbed", "-q"]
    done = run(*words, "true.png", "--certificate", "true.png.pdf")
    expect("the same again is no conflict", done.returncode == 0, done.stderr)
    done = run(*[w for w in words if w != "-q"], os.path.abspath("true.png"), "--certificate", "path.pdf")
    expect("it is said to be written", "certificate: path.pdf" in done.stderr, done.stderr)
    expect("and names the file alone", "true.png" in words_of("path.pdf") and os.path.basename(os.getcwd()) not in
           words_of("path.pdf"))
    expect("quietly, nothing is said", run(*words, "true.png", "--certificate", "path.pdf", "--replace", "-q").stderr == "")
    done = run(*words, "shrunk.png", "--certificate", "true.png.pdf")
    expect("another is not overwritten", done.returncode == 64 and "holds something else" in done.stderr, done.stderr)
    done = run(*words, "shrunk.png", "--certificate", "true.png.pdf", "--replace")
    expect("but with --replace", done.returncode == 1 and VERDICTS["does not conform"] in words_of("true.png.pdf"))
    done = run(*words, "1.course", "--certificate", "none.pdf")
    expect("what can't be used gets none", done.returncode == 65 and not os.path.exists("none.pdf")
           and "no certificate" in done.stderr, done.stderr)
    Image.open("true.png").save("both.tiff", save_all=True, append_images=[Image.open("shrunk.png")],
                                dpi=(DPI, DPI), compression="tiff_lzw")
    done = run(*words, "both.tiff", "1.course", "--certificate", "both.pdf", "--language", "de")
    pages = words_of("both.pdf").split("\f")[:-1]
    expect("a page for each page of a file", len(pages) == 2 and "Dieses Blatt ist konform" in pages[0]
           and "Dieses Blatt ist nicht konform" in pages[1], f"({len(pages)})")
    for number, page in enumerate(pages, 1):
        verify(f"the code of page {number}", ["kit1", "both.tiff", "--verify", CODE.search(page).group(0), "--scanner",
                                              "flatbed"], 0, f"page {number}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        page = make_inputs()
        codes = {"true.png": check_page("true.png", "conforms", ("--scanner", "flatbed"), page),
                 "shrunk.png": check_page("shrunk.png", "does not conform", ("--scanner", "flatbed"), None),
                 "unsure.png": check_page("unsure.png", "undecided", (), None)}
        expect("each has its own code", len(set(codes.values())) == 3, str(codes))
        check_codes(codes)
        check_same_bytes()
        check_files()
        os.chdir("/")
    return checks.finish("certificates")


if __name__ == "__main__":
    sys.exit(main())
