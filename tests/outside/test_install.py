#!/usr/bin/env python3
"""The build and the installed copy. Two folders give the same binaries; `make uninstall` leaves nothing of
`make install`; docs/reference/example.c compiles against the installed copy by pkg-config alone, with the shared
library and with the static one, and judges a rendered sheet.
Usage: test_install.py [--long]: every file is compiled in the second folder, else one of each room"""
import filecmp
import glob
import os
import shlex
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.join(HERE, "../..")
PARTS = ("Makefile", "src", "include", "tests/tests.mk")


def run(words, **more):
    env = {k: v for k, v in os.environ.items() if k not in ("MAKEFLAGS", "MFLAGS", "MAKELEVEL")}
    env.update(more.pop("env", {}))
    done = subprocess.run(words, capture_output=True, text=True, env=env, **more)
    if done.returncode != 0:
        sys.exit(f"{shlex.join(words)}: status {done.returncode}\n{done.stdout}{done.stderr}")
    return done.stdout


def files_below(folder):
    return sorted(os.path.join(at, name) for at, _, names in os.walk(folder) for name in names)


def same_from_two_folders(tmp):
    copy, ours = os.path.join(tmp, "another place"), os.path.dirname(os.path.abspath(os.environ["PAVIOR"]))
    for part in PARTS:
        source, target = os.path.join(ROOT, part), os.path.join(copy, part)
        os.makedirs(os.path.dirname(target), exist_ok=True)
        (shutil.copytree if os.path.isdir(source) else shutil.copy2)(source, target)
    built = os.path.join(copy, "build")
    if "--long" not in sys.argv:
        shutil.copytree(os.path.join(ours, "src"), os.path.join(built, "src"))
        for room in glob.glob(os.path.join(built, "src", "*", "")) + glob.glob(os.path.join(built, "src", "*", "embedded", "")):
            for file in sorted(glob.glob(room + "*.o"))[:1]:
                os.remove(file)
    run(["make", "-j2", "all"], cwd=copy)
    here = os.path.realpath(ROOT).encode()
    for name in ("pavior", "libpavior.a", "libpavior.so"):
        if not filecmp.cmp(os.path.join(ours, name), os.path.join(built, name), shallow=False):
            sys.exit(f"{name} differs between two folders")
        with open(os.path.join(ours, name), "rb") as file:
            if here in file.read():
                sys.exit(f"{name} names the folder that it was built in")
    return copy


def uninstall_leaves_nothing(copy, tmp):
    where = [f"DESTDIR={tmp}/stage", "PREFIX=/opt/pavior", "LIBDIR=/opt/pavior/lib64"]
    run(["make", "install", *where], cwd=copy)
    there = files_below(f"{tmp}/stage")
    for name in ("bin/pavior", "lib64/libpavior.so", "lib64/pkgconfig/pavior.pc", "include/pavior/pavior.h"):
        if f"{tmp}/stage/opt/pavior/{name}" not in there:
            sys.exit(f"make install gives no {name}")
    run(["make", "uninstall", *where], cwd=copy)
    if files_below(f"{tmp}/stage"):
        sys.exit(f"make uninstall leaves {files_below(f'{tmp}/stage')}")


def example_works_when_installed(copy, tmp):
    prefix = f"{tmp}/usr"
    run(["make", "install", f"PREFIX={prefix}"], cwd=copy)
    env = {"PKG_CONFIG_PATH": f"{prefix}/lib/pkgconfig"}
    source, course = os.path.join(ROOT, "docs/reference/example.c"), os.path.join(ROOT, "layouts/quayside.course")
    with open(source, encoding="utf-8") as f:
        lines = len(f.readlines())
    if lines >= 40 or run(["pkg-config", "--modversion", "pavior"], env=env) != run([os.environ["PAVIOR"], "--version"])[7:]:
        sys.exit(f"the example has {lines} lines, or pavior.pc another version than the command")
    shared = shlex.split(run(["pkg-config", "--cflags", "--libs", "pavior"], env=env))
    static = shlex.split(run(["pkg-config", "--static", "--cflags", "--libs", "pavior"], env=env))
    static = ["-l:libpavior.a" if word == "-lpavior" else word for word in static]
    for kind, flags in (("shared", shared), ("static", static)):
        program, pdf, scan = f"{tmp}/example-{kind}", f"{tmp}/{kind}.pdf", f"{tmp}/{kind}"
        run(["cc", "-std=c11", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-o", program, source, *flags])
        loader = {"LD_LIBRARY_PATH": f"{prefix}/lib"} if kind == "shared" else {}
        run([program, course, pdf], env=loader)
        last = run(["pdfinfo", pdf]).split("Pages:")[1].split()[0]  # the guide is first
        run(["pdftoppm", "-r", "300", "-gray", "-png", "-f", last, "-l", last, "-singlefile", pdf, scan])
        said = run([program, course, pdf, scan + ".png"], env=loader)
        if said != "conforms\n":
            sys.exit(f"the {kind} example says of a rendered sheet: {said}")
        needs = run(["ldd", program], env=loader)
        if ("libpavior.so.1" in needs) != (kind == "shared"):
            sys.exit(f"the {kind} example is linked otherwise:\n{needs}")


def main():
    with tempfile.TemporaryDirectory() as tmp:
        copy = same_from_two_folders(tmp)
        uninstall_leaves_nothing(copy, tmp)
        example_works_when_installed(copy, tmp)
    print("installed: the same binaries from two folders; the documents' example judges a print, shared and static; "
          "nothing left after make uninstall")


main()
