#!/usr/bin/env python3
"""docs/scripts/worksheet.py on worksheets as people fill them: well, wrongly and not at all."""
import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
READER = os.path.join(ROOT, "docs", "scripts", "worksheet.py")
FORM = os.path.join(ROOT, "docs", "how", "worksheet.txt")


def read(text, *more):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "sheet.txt")
        with open(path, "wb") as file:
            file.write(text if isinstance(text, bytes) else text.encode())
        done = subprocess.run([sys.executable, READER, *(more or [path])], capture_output=True, text=True)
        return done.returncode, done.stdout, done.stderr


def filled(**results):
    """The form with these results, by number: _3="0.76 mm"."""
    with open(FORM, encoding="utf-8") as file:
        text = file.read()
    for key, value in results.items():
        text, n = re.subn(rf"(?m)^({key[1:]} .*:)$", lambda m: f"{m[1]} {value}", text)  # noqa: B023
        assert n == 1, key
    return text


def says(number, word, results, status=0):
    code, out, err = read(filled(**results))
    line = next(li for li in out.splitlines() if li.split()[0] == str(number))
    assert code == status and word in line, (results, code, line, err)
    return line


def refuses(text, *words, status=65):
    code, out, err = read(text)
    assert code == status and not out and all(w in err for w in words), (text[-60:], code, out, err)


def main():
    code, out, _ = read(filled())
    assert code == 0 and out.endswith("20 not measured\n") and len(out.splitlines()) == 21, out
    says(1, " holds ", {"_1": "85.61; 85.58 mm; 85.60"})
    says(1, "does not hold", {"_1": "85.61; 85.80 mm"}, 1)
    says(1, "can't tell", {"_1": "85.7 +-0.1 mm"})
    assert "is it in cm?" in says(1, "does not hold", {"_1": "8.56"}, 1)
    says(4, " holds ", {"_4": "199.7/200"})
    says(4, "does not hold", {"_4": "199.5 / 200"}, 1)
    says(8, " holds ", {"_8": "-0,35 %; +0.12%"})
    says(9, " holds ", {"_9": "118/243"})
    says(6, " holds ", {"_6": "0.4 ± 0.1 mrad"})
    says(12, " holds ", {"_12": "−0.05 mm  # a minus sign as word processors write it"})
    code, out, _ = read(filled(_1="85.6", _2="53.98", _3="1.1 mm", _5="0.3 +-0.2 %"))
    assert code == 1 and "2 holds, 1 does not hold, 1 can't tell, 16 not measured" in out, out
    refuses(filled(_1="85.6 furlong"), "line 7, card length", "furlong", "write it in mm")
    refuses(filled(_1="8.56 cm"), "write it in mm")
    refuses(filled(_9="0.5 mm"), "it has none")
    refuses(filled(_1="about right"), "line 7", "right")
    refuses(filled(_1="nan"), "line 7")
    refuses(filled(_1="1e400 mm"), "line 7")
    refuses(filled(_1="85.6 mm;"), "is no number")
    refuses(filled(_1="171.2/2 mm"), "a quotient has no unit")
    refuses(filled(_4="1/0"), "divides by 0")
    refuses(filled(_4="-") + "4 flatbed across (%): 0.1\n", "no number")
    refuses(filled(_4="0.1") + "4 flatbed across (%): 0.1\n", "twice")
    refuses("1 card breadth (mm): 53.98\n", "number 1 is \"card length\"")
    refuses("21 moon phase: 3\n", "is no measurement")
    refuses("dear sir\n", "is no measurement")
    refuses(b"\x89PNG\r\n\xff\xfe", "this is no text")
    refuses("#\n" * 2000, "no worksheet")
    assert read("", "")[0] == 64 and read("", "/no/such/file")[0] == 66
    print("worksheet: all as it should be")


if __name__ == "__main__":
    main()
