#!/usr/bin/env python3
"""Pages as strangers' tools see them: html-validate for the markup, axe in headless Chromium for those who read
with a keyboard or a screen reader, at three widths, light and dark. Also a command, for looking at pages:

    browse.py PAGE.html... [--shots FOLDER]     says what is found; pictures and a PDF of each page"""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

import npm
from checks import expect

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
PACKAGES = ["axe-core@4.14.1", "html-validate@10.17.0", "puppeteer-core@24.43.1"]
WIDTHS, SCHEMES = [360, 800, 1400], ["light", "dark"]
# html-validate's own recommendation, less its rules of style and of delivery: pages are opened from a folder.
RULES = {
    "extends": ["html-validate:recommended"],
    "root": True,
    "elements": ["html5"],
    "rules": {"no-trailing-whitespace": "off", "no-inline-style": "off", "doctype-style": "off", "void-style": "off",
              "long-title": "off", "require-sri": "off", "attr-quotes": "off", "no-raw-characters": "error"},
}


def validate(place, files):
    """What html-validate says of each file, a list a file."""
    with tempfile.TemporaryDirectory() as folder:
        config = os.path.join(folder, "rules.json")
        with open(config, "w", encoding="utf-8") as file:
            json.dump(RULES, file)
        # Into a file: on its way into a pipe it is cut off.
        out = os.path.join(folder, "said.json")
        got = subprocess.run([os.path.join(place, "node_modules/.bin/html-validate"), "--config", config, "-f",
                              f"json={out}", *files], capture_output=True, text=True, check=False)
        if not os.path.exists(out):
            return [[got.stderr[:500] or "html-validate says nothing"]] * len(files)
        with open(out, encoding="utf-8") as file:
            results = json.load(file)
    said = {os.path.realpath(r["filePath"]): [f"{m['line']}:{m['column']}: {m['message']} ({m['ruleId']})"
                                              for m in r["messages"]] for r in results}
    return [said.get(os.path.realpath(f), []) for f in files]


def browse(place, files, shots=None, widths=None, schemes=None):
    """What a browser finds in each file; None, said, where there is no Chromium."""
    browser = shutil.which("chromium")
    if browser is None:
        print("    skipped: there is no chromium here")
        return None
    with tempfile.TemporaryDirectory() as folder:
        task = {"browser": browser, "profile": folder, "widths": widths or WIDTHS, "schemes": schemes or SCHEMES,
                "pages": [{"file": os.path.realpath(f),
                           "shots": shots and os.path.join(os.path.abspath(shots), os.path.basename(f)[:-5])}
                          for f in files]}
        got = subprocess.run(["node", os.path.join(HERE, "browse.js")], input=json.dumps(task), text=True,
                             env={**os.environ, "NODE_PATH": os.path.join(place, "node_modules")},
                             stdout=subprocess.PIPE, check=True, timeout=300 + 10 * len(files))
    return json.loads(got.stdout)


def worked(program, place, url, downloads=None, **task):
    """What one of this folder's scripts for node answers that works a page as a person does (chromium.js). What the page
    saves is in `downloads` then."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("profile", "downloads"):
            os.makedirs(os.path.join(folder, name))
        task = {"browser": shutil.which("chromium"), "profile": os.path.join(folder, "profile"),
                "downloads": downloads or os.path.join(folder, "downloads"), "url": url, **task}
        got = subprocess.run(["node", os.path.join(HERE, program)], input=json.dumps(task), text=True,
                             env={**os.environ, "NODE_PATH": os.path.join(place, "node_modules")},
                             capture_output=True, check=False, timeout=3600)
    if got.returncode != 0:
        raise RuntimeError(got.stderr[-2000:])
    return json.loads(got.stdout)


def quiet(name, got):
    """Nothing but the page's own files was asked for, and nothing went wrong unseen."""
    foreign = [r[:80] for r in got["requests"] if not re.match(r"(file|data|blob):|about:srcdoc|http://127\.0\.0\.1[:/]", r)]
    expect(f"{name}: nothing is asked of the network, and no error is on the console",
           not foreign and not got["errors"], f"{foreign[:3]} {got['errors'][:3]}")


def check_types(pages, *worker):
    """What TypeScript's compiler says of the types that the scripts' comments state."""
    place = npm.install("typescript@5.9.3")
    if place is None:
        return
    wrong = []
    for paths, lib in ((pages, "es2022,dom,dom.iterable"), (worker, "es2022,webworker")):
        done = subprocess.run([os.path.join(place, "node_modules/.bin/tsc"), "--allowJs", "--checkJs", "--strict", "--noEmit",
                               "--target", "es2022", "--lib", lib, *(os.path.join(ROOT, p) for p in paths)],
                              capture_output=True, text=True, check=False)
        wrong += done.stdout.strip().split("\n") if done.returncode != 0 else []
    expect("tsc finds nothing in the scripts", not wrong, "\n    ".join(wrong[:8]))


def faults(files, shots=None, widths=None, schemes=None):
    """All that both find, as lines that begin with the file's name; None where a tool is missing."""
    place = npm.install(*PACKAGES)
    if place is None:
        return None
    marked = validate(place, files)
    seen = browse(place, files, shots, widths, schemes)
    if seen is None:
        return None
    return [f"{os.path.basename(f)}: {fault}" for f, a, b in zip(files, marked, seen) for fault in a + b]


def main():
    args, shots = sys.argv[1:], None
    if "--shots" in args:
        i = args.index("--shots")
        shots = args[i + 1]
        os.makedirs(shots, exist_ok=True)
        del args[i:i + 2]
    found = faults(args, shots)
    print("\n".join(found or []))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
