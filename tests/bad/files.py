#!/usr/bin/env python3
"""What a single case of bad input can't show: commands one after the other in one folder, and
commands that a signal ends while they write. Usage: files.py PAVIOR"""
import os
import select
import signal
import subprocess
import sys
import tempfile

PAVIOR = os.path.abspath(sys.argv[1])
COURSE = os.path.abspath("layouts/quayside.course")
SMALL = 'course "Quay" edition "1"\nmat 150mm by 120mm ground white\n'


def run(folder, *args, stdin=None):
    done = subprocess.run([PAVIOR, *args], cwd=folder, capture_output=True, text=True, timeout=120,
                          input=stdin)
    return done.returncode, done.stderr


def content(folder):
    return {name: open(os.path.join(folder, name), "rb").read() for name in os.listdir(folder)}


def other_prints_keep_their_plan(folder):
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    assert run(folder, "sheets", "quay.course", "--paper", "A4", "-q")[0] == 0
    assert run(folder, "sheets", "quay.course", "--paper", "A4", "-q")[0] == 0, "the same again"
    before = content(folder)
    status, said = run(folder, "sheets", "quay.course", "--paper", "A5", "-q")
    assert status == 64 and "belongs to prints of another layout" in said, said
    assert "A4, 1 sheet)" in said and "--replace" in said, said
    assert content(folder) == before, "a file was touched"
    assert run(folder, "sheets", "quay.course", "--paper", "A5", "-q", "-o", "five.pdf")[0] == 0
    assert set(content(folder)) == set(before) | {"five.pdf", "five.plan.json"}
    assert run(folder, "sheets", "quay.course", "--paper", "A5", "-q", "--replace")[0] == 0
    assert content(folder)["quay.plan.json"] == content(folder)["five.plan.json"]
    assert run(folder, "sheets", "--proof", "--paper", "A4", "-q")[0] == 0
    assert run(folder, "sheets", "--proof", "--paper", "letter", "-q")[0] == 64
    # What is no plan is no prints' either.
    with open(os.path.join(folder, "quay.plan.json"), "w", encoding="utf-8") as file:
        file.write("{}")
    assert run(folder, "sheets", "quay.course", "--paper", "A4", "-q")[0] == 0


def two_outputs_are_two_files(folder):
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    os.mkdir(os.path.join(folder, "sub"))
    os.symlink("sub", os.path.join(folder, "link"))
    there = os.path.basename(folder)
    for a, b in (("m.pdf", "./m.pdf"), ("m.pdf", f"../{there}/m.pdf"), ("sub/m", "link/m"),
                 ("sub//m", "sub/./m"), (os.path.join(folder, "m"), "m")):
        status, said = run(folder, "sheets", "quay.course", "-q", "--plan", a, "-o", b)
        assert status == 64 and "different names" in said, (a, b, status, said)
        status, said = run(folder, "review", "quay.course", "-q", "--svg", a, "-o", b)
        assert status == 64, (a, b, status, said)
    assert set(os.listdir(folder)) == {"quay.course", "sub", "link"}, os.listdir(folder)
    assert not os.listdir(os.path.join(folder, "sub"))
    assert run(folder, "sheets", "quay.course", "-q", "--plan", "m", "-o", "sub/m")[0] == 0


ENDING = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGPIPE)


def heed_signals():
    """Who started this program may have had them ignored, as shells do for what they run beside."""
    for number in ENDING:
        signal.signal(number, signal.SIG_DFL)


def signals_leave_nothing(folder):
    """The plan is staged by the time the PDF goes out, and nobody reads that: the pipe is full."""
    for number in ENDING:
        with subprocess.Popen([PAVIOR, "sheets", COURSE, "--paper", "A4", "-q", "-o", "-", "--plan",
                               "p.json"], cwd=folder, stdout=subprocess.PIPE,
                              preexec_fn=heed_signals) as command:
            ready, _, _ = select.select([command.stdout], [], [], 60)
            assert ready and len(os.listdir(folder)) == 1, os.listdir(folder)
            if number == signal.SIGPIPE:
                command.stdout.close()
            else:
                command.send_signal(number)
                assert command.wait(60) == -number
                command.stdout.read()
            assert command.wait(60) == -number, (number, command.returncode)
        assert not os.listdir(folder), (number, os.listdir(folder))
    # One that is ignored, as nohup does, stays ignored.
    with subprocess.Popen([PAVIOR, "sheets", COURSE, "--paper", "A4", "-q", "-o", "-", "--plan",
                           "p.json"], cwd=folder, stdout=subprocess.PIPE,
                          preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN)) as command:
        select.select([command.stdout], [], [], 60)
        command.send_signal(signal.SIGHUP)
        assert command.stdout.read()[:5] == b"%PDF-"
        assert command.wait(60) == 0
    assert os.listdir(folder) == ["p.json"]


def main():
    tests = (other_prints_keep_their_plan, two_outputs_are_two_files, signals_leave_nothing)
    for test in tests:
        with tempfile.TemporaryDirectory() as folder:
            test(os.path.realpath(folder))
    print(f"files: {len(tests)} passed, 0 failed")


main()
