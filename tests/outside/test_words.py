#!/usr/bin/env python3
"""Whether the checks of translations can fail: each kind of slip is put into a copy of de.po, which must then be
refused, by the build (msgfmt -c) or by `make test-words`."""
import os
import re
import shutil
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def replaced(old, new):
    def slip(text):
        assert old in text, old
        return text.replace(old, new, 1)
    return slip


def first(pattern, new):
    """In the translation of the first entry whose translation matches."""
    def slip(text):
        done, n = re.subn(pattern, new, text, count=1, flags=re.S)
        assert n == 1, pattern
        return done
    return slip


SLIPS = [
    ("a %s that becomes %d", "build", replaced('msgstr "Paket %s"', 'msgstr "Paket %d"')),
    ("a %s too many", "build", replaced('msgstr "Paket %s"', 'msgstr "Paket %s, %s"')),
    ("a %s too few in one of two forms", "build", first(r'(msgstr\[1\] "[^"]*?)%zu', r"\1einige")),
    ("a {{name}} that is misspelt", "check", first(r'(msgstr "[^"]*)\{\{time\}\}', r"\1{{zeit}}")),
    ("a $letter that is missing", "check", first(r'(msgstr "Unklar: [^"]*)\$b', r"\1")),
    ("a tag that is not closed", "check", first(r'(msgstr "[^"]*</b>[^"]*)</b>|(msgstr "[^"]*)</b>', r"\1\2")),
    ("a text without its translation", "check", replaced('msgstr "hier schneiden"', 'msgstr ""')),
    ("an uncertain translation", "check",
     replaced('#: src/page/marks.c\n', '#: src/page/marks.c\n#, fuzzy\n')),
    ("a text that the code no longer has", "check",
     lambda text: text + '\n#: src/page/words.c\nmsgid "gone from the code"\nmsgstr "nicht mehr da"\n'),
]


def refused(folder, how, text):
    path = os.path.join(folder, "src/po/de.po")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    command = (["msgfmt", "-c", "-o", os.devnull, path] if how == "build" else
               [sys.executable, os.path.join(folder, "src/po/words.py"), os.path.join(folder, "build"), "--check"])
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True)
    return done.returncode != 0, done.stdout + done.stderr


def main():
    failed = 0
    with open(os.path.join(ROOT, "src/po/de.po"), encoding="utf-8") as file:
        good = file.read()
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(os.path.join(ROOT, "src"), os.path.join(folder, "src"))
        for what, how, slip in SLIPS:
            done, said = refused(folder, how, slip(good))
            if not done:
                failed += 1
                print(f"FAIL {what}: not refused: {said}")
        for how in ("build", "check"):
            done, said = refused(folder, how, good)
            if done:
                failed += 1
                print(f"FAIL the file as it is, by the {how}: {said}")
    print(f"words: {len(SLIPS)} slips, {failed} wrong")
    return 1 if failed else 0


sys.exit(main())
