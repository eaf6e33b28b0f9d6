#!/bin/sh
# The whole loop on one course: review it, draw it, lay it on sheets, print and scan one sheet (in
# simulation: poppler renders it), measure it; then the same sheet as a print dialog that fits pages
# to the paper would shrink it, which must be caught.
#
# Usage: tests/demo.sh PAVIOR OUTDIR
set -eu
pavior=$1
out=$2
course=layouts/quayside.course
sheet=C3
plan=$out/quayside.plan.json

say() {
    printf '\n== %s\n' "$*"
}

# shown STATUS FILE COMMAND...: runs the command, keeps and shows what it prints; it must end with
# that status.
shown() {
    wanted=$1
    file=$2
    shift 2
    status=0
    "$@" >"$file" || status=$?
    cat "$file"
    if [ "$status" -ne "$wanted" ]; then
        echo "demo: exit status $status instead of $wanted: $*" >&2
        exit 1
    fi
}

mkdir -p "$out"

say "Review: is the course sound, and does the robot fit?"
shown 0 "$out/review.txt" "$pavior" review "$course"
"$pavior" review "$course" --quiet --svg "$out/quayside.svg" --replace

say "Sheets: the course on A4"
"$pavior" sheets "$course" --paper A4 -o "$out/quayside.pdf" --replace

say "Print and scan sheet $sheet at 300 dpi (poppler stands for printer and scanner)"
rm -f "$out/$sheet.pdf"
"$pavior" sheets "$course" --paper A4 --range "$sheet" --quiet --plan "$plan" -o "$out/$sheet.pdf"
pdftocairo -png -r 300 -singlefile "$out/$sheet.pdf" "$out/$sheet-scan"
echo "$out/$sheet-scan.png"
cat <<END
In the pixels along an edge poppler mixes sRGB codes, where ink and paper mix light. That makes dark
lines wider by up to 0.05 mm at this resolution, which the report below rightly shows.
END

say "Inspect: is the print true?"
shown 0 "$out/$sheet-report.txt" "$pavior" inspect --scanner flatbed --plan "$plan" "$out/$sheet-scan.png"
"$pavior" inspect --scanner flatbed --plan "$plan" --json --report "$out/$sheet-report.html" "$out/$sheet-scan.png" \
    >"$out/$sheet-report.json"

say "The same sheet printed with \"fit to page\": shrunk to 96 %"
# About 0.96 times A4, in whole points; poppler fits the page into it as a print dialog would.
pdftocairo -pdf -paperw 572 -paperh 809 "$out/$sheet.pdf" "$out/$sheet-fitted.pdf"
pdftocairo -png -r 300 -singlefile "$out/$sheet-fitted.pdf" "$out/$sheet-fitted-scan"
shown 1 "$out/$sheet-fitted-report.txt" \
    "$pavior" inspect --scanner flatbed --plan "$plan" "$out/$sheet-fitted-scan.png"

say "Where everything lies"
lies() {
    printf '  %-36s %s\n' "$out/$1" "$2"
}
lies quayside.svg "the course, drawn at true size"
lies review.txt "what the review found"
lies quayside.pdf "all sheets, to be printed at 100 %"
lies quayside.plan.json "the plan, which inspection needs"
lies "$sheet-scan.png" "sheet $sheet as scanned"
lies "$sheet-report.txt" "its report: it conforms"
lies "$sheet-report.json" "the same for a machine"
lies "$sheet-report.html" "the same as a page for people, with pictures"
lies "$sheet-fitted-scan.png" "the shrunken print as scanned"
lies "$sheet-fitted-report.txt" "its report: caught"
