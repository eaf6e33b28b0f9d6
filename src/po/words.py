#!/usr/bin/env python3
"""The texts that pavior says to people, from the code and the templates into the PO files of this folder, by
gettext's tools (po/po.h says how texts are marked).

Usage: words.py BUILD [--check]
Without --check brings each PO file up to date: new texts come in untranslated, and those that the code no longer
has go. With --check changes nothing and fails where a file is not up to date, a text is not translated, or a
translation has other conversions, {{names}}, $letters or tags than its English text."""
import glob
import os
import re
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
MARKED = ["pv_say:2", "pv_text_say:2", "pv_say_in:2c,3", "pv_say_count:2,3", "PV_SAID:1"]
# What is said is often a format for printf: then its translation's conversions are held against it, too.
FORMATS = ["pv_text_add:2:c-format", "pv_text_say:2:c-format", "snprintf:3:c-format", "pv_say:2:pass-c-format", "pv_say_in:3:pass-c-format",
           "pv_say_count:2:pass-c-format", "pv_say_count:3:pass-c-format"]
# The findings of these rooms are said in an inspection's language (pv_diags_speak).
IMAGE_ROOMS = ["image", "tag", "pose", "reference", "measure", "judge"]
FINDINGS = ["pv_fail:3", "pv_diags_add:6", "fail:3", "refuse:3"]
HINTS = ["pv_diags_add:5", "fail:2", "refuse:2"] # by themselves: xgettext takes one argument of a call
FORMATS += ["pv_fail:3:c-format", "pv_diags_add:6:c-format"]
SECTION = re.compile(r"\{\{#_\}\}(.*?)\{\{/_\}\}", re.S)
# Of printf, save those that have a blank between "%" and letter.
CONVERSION = re.compile(r"%(%|(\d+\$)?[-+#0]*\d*(\.\d+)?(hh|h|ll|l|z)?[diuxXeEfgGcs])")
# What a translation must have as its English text has it, and as often.
KEPT = re.compile(r"\{\{[^}]*\}\}|</?[a-z][^>]*>|\$\w")


def run(*command):
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(command[:1])}: {done.stderr}")
    return done.stdout


def quoted(text):
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def template_texts():
    """The sections of all templates, as the text of a PO file; white space counts as pv_say_section has it."""
    texts = ['msgid ""\nmsgstr "Content-Type: text/plain; charset=UTF-8\\n"\n']
    for path in sorted(glob.glob("src/*/embedded/*.html", root_dir=ROOT)):
        with open(os.path.join(ROOT, path), encoding="utf-8") as file:
            for section in SECTION.findall(file.read()):
                text = quoted(" ".join(section.split()))
                texts.append(f'#: {path}:1\nmsgid {text}\nmsgstr ""\n')
    return "\n".join(texts)


def extract(build):
    """The template of all PO files: every text, and the files that say it."""
    folder = os.path.join(build, "po")
    os.makedirs(folder, exist_ok=True)
    templates, pot = os.path.join(folder, "templates.po"), os.path.join(folder, "pavior.pot")
    with open(templates, "w", encoding="utf-8") as file:
        file.write(template_texts())
    run("msguniq", "-o", templates, templates)
    seen, all_rooms = [], sorted(glob.glob("src/*/*.[ch]", root_dir=ROOT))
    image_rooms = [path for path in all_rooms if path.split("/")[1] in IMAGE_ROOMS]
    for name, marked, sources in (("said", MARKED, all_rooms), ("found", FINDINGS, image_rooms),
                                  ("advised", HINTS, image_rooms)):
        part = os.path.join(folder, name + ".pot")
        run("xgettext", "-k", *[f"--keyword={k}" for k in marked], *[f"--flag={f}" for f in FORMATS],
            "--add-comments=TRANSLATORS", "--from-code=UTF-8", "--add-location=file", "--package-name=pavior", "-o", part,
            *sources)
        seen.append(part)
    run("msgcat", "--use-first", "--add-location=file", "--sort-by-file", "-o", pot, *seen, templates)
    with open(pot, encoding="utf-8") as file:
        blocks = file.read().split("\n\n")
    blocks[0] = re.sub(r'"POT-Creation-Date.*\n', "", blocks[0]) # the same code gives the same bytes
    with open(pot, "w", encoding="utf-8") as file:
        file.write("\n\n".join(flagged(block) for block in blocks))
    return pot


def flagged(block):
    """An entry whose translation msgfmt holds against printf's conversions if and only if it has any: xgettext also
    takes "95 % probability" for one."""
    lines = [line for line in block.split("\n") if not line.startswith("#, ")]
    kind = "c-format" if CONVERSION.search("".join(lines)) else "no-c-format"
    place = sum(line.startswith("#") for line in lines)
    return "\n".join(lines[:place] + [f"#, {kind}"] * ("%" in block) + lines[place:])


def entries(text):
    """(English, translation) of every text, of those that count both forms."""
    for block in re.split(r"\n\n", text):
        lines = [line for line in block.split("\n") if not line.startswith("#")]
        fields = {}
        for line in lines:
            start = re.match(r'(msg\w+(?:\[\d\])?) (".*")$', line)
            if start:
                name = start.group(1)
                fields[name] = ""
            value = start.group(2) if start else line
            if value.startswith('"'):
                fields[name] += value[1:-1]
        for english, said in (("msgid", "msgstr"), ("msgid", "msgstr[0]"), ("msgid_plural", "msgstr[1]")):
            if fields.get("msgid") and english in fields and said in fields:
                yield fields[english], fields[said]


def wrong(path, merged):
    with open(path, encoding="utf-8") as file:
        committed = file.read()
    if committed != merged:
        yield "not up to date with the code: run `make po`"
    if "\n#, fuzzy" in merged:
        yield "has fuzzy translations"
    for english, said in entries(merged):
        if not re.search("[A-Za-z]", re.sub("%[a-z]+", "", english)):
            continue # "%s" is the same everywhere
        if said == "":
            yield f"not translated: {english}"
        elif sorted(KEPT.findall(english)) != sorted(KEPT.findall(said)):
            yield f"other {{{{names}}}}, $letters or tags than in English: {english}"


def main():
    build, check = os.path.abspath(sys.argv[1]), "--check" in sys.argv[2:]
    pot = extract(build)
    failed = 0
    for path in sorted(glob.glob(os.path.join(ROOT, "src/po/*.po"))):
        merged = run("msgmerge", "--quiet", "--no-fuzzy-matching", "--add-location=file", "--sort-by-file", "-o", "-", path, pot)
        merged = run_on(merged, "msgattrib", "--no-obsolete", "-")
        if not check:
            with open(path, "w", encoding="utf-8") as file:
                file.write(merged)
            run("msgfmt", "-c", "-o", os.devnull, path)
        problems = list(wrong(path, merged))
        failed += len(problems) if check else 0
        for problem in problems:
            print(f"{os.path.relpath(path, ROOT)}: {problem}")
        print(f"{os.path.relpath(path, ROOT)}: {len(list(entries(merged)))} texts, {len(problems)} to mend")
    return 1 if failed else 0


def run_on(text, *command):
    done = subprocess.run(command, cwd=ROOT, input=text, capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{command[0]}: {done.stderr}")
    return done.stdout


sys.exit(main())
