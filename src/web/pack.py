#!/usr/bin/env python3
"""Makes one script of emscripten's program, its module and our worker, that any page can load, also from a folder
on disk, where browsers let no page fetch a file or start a worker from one: it sets `paviorModule`, with the worker's
program as text and the module in base64, as gzip by zopfli, which makes it smallest and writes no date.
Usage: pack.py FACE.js FACE.wasm WORKER.js OUT.js"""
import base64
import json
import os
import re
import subprocess
import sys

face, module, worker, out = sys.argv[1:]
with open(face, encoding="utf-8") as file:
    program = file.read()
with open(worker, encoding="utf-8") as file:
    # What stands in a line of its own for readers is not sent to browsers.
    program += "\n" + re.sub(r"(?m)^ *(//.*|/\*\*.*\*/)\n", "", file.read())
packed = subprocess.run(["zopfli", "--i50", "-c", module], check=True, stdout=subprocess.PIPE).stdout
with open(out + ".new", "w", encoding="utf-8") as file:
    file.write('"use strict";\nglobalThis.paviorModule = '
               + json.dumps({"worker": program, "module": base64.b64encode(packed).decode()}, ensure_ascii=True)
               + ";\n")
os.replace(out + ".new", out)
