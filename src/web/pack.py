#!/usr/bin/env python3
"""Makes one script of emscripten's program, its module and our worker, that any page can load, also from a folder
on disk, where browsers let no page fetch a file or start a worker from one: it sets the global NAME, with the worker's
program as text, the module in base64, as LZMA, which unpack.js reads, and files' texts.
Usage: pack.py NAME OUT.js FACE.js FACE.wasm WORKER.js... [--text FILE...]"""
import base64
import json
import lzma
import os
import re
import struct
import sys

name, out, face, module, *more = sys.argv[1:]
at = more.index("--text") if "--text" in more else len(more)
workers, texts = more[:at], more[at + 1:]


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


# What stands in lines of its own for readers is not sent to browsers.
program = read(face) + "".join("\n" + re.sub(r"(?m)^ *(//.*|/\*\*(.|\n)*?\*/)\n", "", read(w)) for w in workers)
program = re.sub(r"(?m)^ +", "", program)
with open(module, "rb") as file:
    wasm = file.read()
packed = lzma.compress(wasm, lzma.FORMAT_ALONE, filters=[{"id": lzma.FILTER_LZMA1, "preset": 9 | lzma.PRESET_EXTREME, "nice_len": 273}])
# Python leaves open how long it will be, and unpack.js wants to know.
packed = packed[:5] + struct.pack("<Q", len(wasm)) + packed[13:]
what = {"worker": program, "module": base64.b64encode(packed).decode()}
if texts:
    what["texts"] = {os.path.basename(path): read(path) for path in texts}
with open(out + ".new", "w", encoding="utf-8") as file:
    file.write(f'"use strict";\nglobalThis.{name} = ' + json.dumps(what, ensure_ascii=True) + ";\n")
os.replace(out + ".new", out)
