#!/usr/bin/env python3
"""Random templates and data, filled by pavior and by mustache.js, an independent engine of the same language:
the same bytes. What pavior refuses and mustache.js takes (names that aren't there, other delimiters, indented
partials) is left out; html/html.h says why.
Usage: test_pages.py [--draws N]; FILL_OF is the program that fills a template"""
import json
import os
import random
import subprocess
import sys
import tempfile

import npm
from checks import expect, finish

# Both engines get the words of {{#_}} untranslated. mustache.js escapes three characters more than HTML needs.
SCRIPT = r"""
const m = require('mustache'), fs = require('fs');
const plain = m.escape;
m.escape = t => plain(t).replace(/&#x2F;/g, '/').replace(/&#x60;/g, '`').replace(/&#x3D;/g, '=');
const words = () => (text, render) => render(text.trim().replace(/[ \t\r\n]+/g, ' '));
const out = JSON.parse(fs.readFileSync(0)).map(c => {
  m.clearCache();
  return m.render(c.templates.page, {...c.data, _: words}, c.templates);
});
console.log(JSON.stringify(out));
"""
WORDS = ["", "mat", "A1", "<b>", "a & b", "\"q\"", "it's", "1/2", "x=`y`", "Ωμέγα", "über", "{{x}}", "line\nbreak", "}}",
         "𝄞", "\t"]


def value(rng, depth):
    kind = rng.random()
    if depth > 0 and kind < 0.25:
        # mustache.js falls over a null in a list.
        return [v for v in (value(rng, depth - 1) for _ in range(rng.randrange(4))) if v is not None]
    if depth > 0 and kind < 0.5:
        return scope(rng, depth - 1)
    return rng.choice([True, False, None, 0, 1, 42, -7, 0.5, 12.25, *WORDS])


def scope(rng, depth):
    return {name: value(rng, depth) for name in rng.sample(["a", "b", "c", "d"], rng.randrange(1, 5))}


def scalar(v):
    return not isinstance(v, (list, dict))


def visible(stack):
    seen = {}
    for level in stack:
        if isinstance(level, dict):
            seen.update(level)
    return seen


def blank(rng):
    return rng.choice(["", "", " ", "\n", "\n  ", "  \n", "\r\n", " <p>", "</p>\n", " { ", " }", "text"])


def body(rng, stack, depth, partials):
    """A template that suits what is on the stack: every value it asks for is there and is a scalar."""
    out = []
    for _ in range(rng.randrange(1, 6)):
        out.append(blank(rng))
        names = visible(stack)
        scalars = [n for n, v in names.items() if scalar(v)]
        space = rng.choice(["", " "])
        kind = rng.random()
        if kind < 0.35 and scalars:
            out.append("{{" + space + rng.choice(scalars) + space + "}}")
        elif kind < 0.4 and scalar(stack[-1]):
            out.append("{{.}}")
        elif kind < 0.45:
            out.append("{{! " + rng.choice(["remark", "two\nlines", "{ }"]) + " }}")
        elif kind < 0.55:
            out.append("{{#_}}" + rng.choice(["", " ", "\n "]) + "Words  with" + blank(rng)
                       + ("{{" + rng.choice(scalars) + "}}" if scalars else "") + rng.choice(["", "\n"]) + "{{/_}}")
        elif kind < 0.62 and partials:
            out.append("\n{{> " + rng.choice(partials) + "}}\n" if rng.random() < 0.5 else "|{{> flat}}|")
        elif depth > 0 and names:
            name = rng.choice([*names, "nowhere"])
            v = names.get(name)
            line = rng.choice(["", "\n"])
            if rng.random() < 0.3 or name == "nowhere":
                out.append("{{^" + name + "}}" + line + body(rng, stack, depth - 1, partials) + "{{/" + name + "}}" + line)
            elif isinstance(v, list) and v:
                # One body must suit all items.
                inner = [{}] if any(scalar(i) is False for i in v) else [0]
                out.append("{{#" + name + "}}" + line + body(rng, stack + inner, depth - 1, []) + line + "{{/" + name + "}}")
            else:
                inner = [] if scalar(v) and (v is True or not v) else [v]
                out.append("{{#" + name + "}}" + line + body(rng, stack + inner, depth - 1, []) + "{{/" + name + "}}" + line)
    out.append(blank(rng))
    return "".join(out)


def hides(data, names):
    """Whether an item of a list gives a name of an outer level another kind: the template can't suit both."""
    if isinstance(data, list):
        return any(hides(i, names) for i in data)
    if not isinstance(data, dict):
        return False
    return any(n in names and not scalar(v) for n, v in data.items()) or any(hides(v, names) for v in data.values())


def draw(seed):
    rng = random.Random(seed)
    while True:
        data = {**{n: value(rng, 3) for n in ("k", "l", "m")}, **{n: rng.choice(WORDS) for n in ("s", "t")}, "n": seed}
        if not hides([v for v in data.values() if not scalar(v)], {"a", "b", "c", "d"}):
            break
    data["drawing_svg"] = "<svg><path d='M0 0'/></svg>"
    templates = {"part": "part {{s}}{{#l}}.{{/l}}\n", "flat": "[{{t}}|{{{drawing_svg}}}]"}
    templates["page"] = body(rng, [data], 4, ["part", "flat"])
    return {"data": data, "templates": templates}


def ours(case, folder):
    files = []
    for name in ("page", "part", "flat"):
        path = os.path.join(folder, name)
        with open(path, "w", encoding="utf-8", newline="") as file:
            file.write(case["templates"][name])
        files.append(f"{name}.html={path}")
    data = os.path.join(folder, "data.json")
    with open(data, "w", encoding="utf-8") as file:
        json.dump(case["data"], file)
    got = subprocess.run([os.environ["FILL_OF"], data, *files], capture_output=True, check=False)
    return got.stdout.decode() if got.returncode == 0 else "REFUSED " + got.stderr.decode()


def main():
    draws = int(sys.argv[sys.argv.index("--draws") + 1]) if "--draws" in sys.argv else 600
    place = npm.install("mustache@4.2.0")
    if place is None:
        return 0
    cases = [draw(seed) for seed in range(draws)]
    said = subprocess.run(["node", "-e", SCRIPT], input=json.dumps(cases), cwd=place, stdout=subprocess.PIPE, text=True,
                          check=True)
    theirs = json.loads(said.stdout)
    same = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed, (case, their) in enumerate(zip(cases, theirs)):
            our = ours(case, folder)
            same += our == their
            if our != their and seed - same < 3:
                print(f"    draw {seed}: {case}\n      ours   {our!r}\n      theirs {their!r}")
    pages = len(set(theirs))
    expect("the same page by mustache.js", same == draws, f"({same} of {draws})")
    expect("pages that differ", pages > 0.8 * draws, f"({pages}, {sum(map(len, theirs))} characters)")
    return finish("pages")


sys.exit(main())
