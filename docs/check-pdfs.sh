#!/usr/bin/env bash
# Makes every sheet of the demonstration room and runs the PDF checkers that this machine has over
# them: qpdf, poppler (pdfinfo, pdffonts, pdftotext), mutool, verapdf. It says which it did not
# find, and ends with 1 if one of the others found a fault.
#
#   docs/check-pdfs.sh [PROGRAM]     PROGRAM: a built scruple; without it, one is built
set -uo pipefail
cd "$(dirname "$0")/.."
program=${1:-}
if [ -z "$program" ]; then
    cargo build --release --quiet || exit 1
    program=target/release/scruple
fi
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
docs/demo-sheets.sh "$program" "$room" || exit 1

faults=0
fault() {
    echo "FAULT $1"
    faults=1
}
# Runs a checker over every sheet; whatever it prints of a fault is shown.
over_every_sheet() {
    local tool=$1 check=$2
    if ! command -v "$tool" > /dev/null; then
        echo "$tool: not found, not run"
        return
    fi
    for sheet in "$room"/*.pdf; do
        "$check" "$sheet" || fault "$tool: $(basename "$sheet")"
    done
    echo "$tool: run over $(ls "$room"/*.pdf | wc -l) sheets"
}

by_qpdf() { qpdf --check "$1" > "$room/said" 2>&1 && ! grep -iE 'warning|error:' "$room/said"; }
by_pdfinfo() {
    pdfinfo "$1" > "$room/said" 2>&1 || { cat "$room/said"; return 1; }
    grep -q '^Title: *[^ ]' "$room/said" && grep -qE '^Page size:.*(A4|letter)' "$room/said" \
        && ! grep -iE 'syntax (error|warning)|PDF subtype' "$room/said"
}
# The file's own structure holds its words, and the card's drawings are told in words.
by_structure() {
    pdfinfo -struct-text "$1" > "$room/said" 2>&1 || return 1
    grep -q '^ *Sect' "$room/said" && grep -q 'Book code' "$room/said" \
        && ! grep -iE 'error|warning' "$room/said"
}
# Every face is embedded, cut down, and its letters can be taken out as text.
by_pdffonts() {
    pdffonts "$1" > "$room/said" 2>&1
    [ "$(tail -n +3 "$room/said" | wc -l)" -gt 0 ] \
        && ! tail -n +3 "$room/said" | grep -vE 'Identity-H +yes yes yes'
}
by_pdftotext() {
    pdftotext -layout "$1" "$room/text" 2> "$room/said"
    [ ! -s "$room/said" ] && grep -q 'Book code' "$room/text" && ! grep -q $'\xef\xbf\xbd' "$room/text"
}
by_mutool() {
    {
        mutool draw -q -F trace -o /dev/null "$1" && mutool show "$1" outline > "$room/outline"
    } > "$room/said" 2>&1
    # A mutool built without colour profiles says so of itself, whatever the file.
    ! grep -v 'ICC support is not available' "$room/said" && [ -s "$room/outline" ]
}
# No sheet claims PDF/A; the rules of 2b are asked all the same, for what they say of the syntax.
by_verapdf() { verapdf -f 2b --format text "$1"; return 0; }

over_every_sheet qpdf by_qpdf
over_every_sheet pdfinfo by_pdfinfo
over_every_sheet pdfinfo by_structure
over_every_sheet pdffonts by_pdffonts
over_every_sheet pdftotext by_pdftotext
over_every_sheet mutool by_mutool
over_every_sheet verapdf by_verapdf
[ "$faults" = 0 ] && echo "No fault was found."
exit "$faults"
