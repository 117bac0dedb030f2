#!/usr/bin/env bash
# Makes the pictures in docs/ from the demonstration room: every sheet. Needs poppler-utils
# (pdftoppm).
#
#   docs/pictures.sh [PROGRAM]     PROGRAM: a built scruple; without it, one is built
set -euo pipefail
cd "$(dirname "$0")/.."
program=${1:-}
if [ -z "$program" ]; then
    cargo build --release --quiet
    program=target/release/scruple
fi
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
docs/demo-sheets.sh "$program" "$room"
picture() {
    pdftoppm -r 90 -gray -png -f "$2" -l "$2" -singlefile "$room/$1.pdf" "docs/$3"
}
picture a4-card 1 dose-card-prepare
picture a4-card 3 dose-card
picture letter-card 4 dose-card-letter
picture a4-report 1 report
picture a4-course 1 course-sheet
picture a4-handover 1 hand-over
picture a4-weighin 1 weigh-in
# The page for a phone, as a phone shows it, where a browser is at hand.
if command -v chromium > /dev/null; then
    "$program" demo "$room/phone-room" --now "2001-03-08 19:30" > /dev/null
    "$program" today --book "$room/phone-room/room.scruple" --now "2001-03-08 19:30" --html "$room/today.html" > /dev/null
    SHOTS=$room/shots SHOT_HEIGHT=1600 docs/check-page.sh "$room/today.html" > /dev/null
    cp "$room/shots/page-390-light.png" docs/phone-light.png
    cp "$room/shots/page-390-dark.png" docs/phone-dark.png
fi
