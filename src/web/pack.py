#!/usr/bin/env python3
"""Makes one script of emscripten's program, its module and our worker, that any page can load, also from a folder
on disk, where browsers let no page fetch a file or start a worker from one: it sets the global NAME, with the worker's
program as text, the module in base64, as gzip by zopfli, which makes it smallest and writes no date, and files' texts. ROUNDS: how long zopfli searches.
Usage: pack.py NAME ROUNDS OUT.js FACE.js FACE.wasm WORKER.js... [--text FILE...]"""
import base64
import json
import os
import re
import subprocess
import sys

name, rounds, out, face, module, *more = sys.argv[1:]
at = more.index("--text") if "--text" in more else len(more)
workers, texts = more[:at], more[at + 1:]


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


# What stands in lines of its own for readers is not sent to browsers.
program = read(face) + "".join("\n" + re.sub(r"(?m)^ *(//.*|/\*\*(.|\n)*?\*/)\n", "", read(w)) for w in workers)
program = re.sub(r"(?m)^ +", "", program)
packed = subprocess.run(["zopfli", f"--i{rounds}", "-c", module], check=True, stdout=subprocess.PIPE).stdout
what = {"worker": program, "module": base64.b64encode(packed).decode()}
if texts:
    what["texts"] = {os.path.basename(path): read(path) for path in texts}
with open(out + ".new", "w", encoding="utf-8") as file:
    file.write(f'"use strict";\nglobalThis.{name} = ' + json.dumps(what, ensure_ascii=True) + ";\n")
os.replace(out + ".new", out)
