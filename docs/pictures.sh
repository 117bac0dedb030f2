#!/usr/bin/env bash
# Makes the pictures in docs/ from the demonstration room. Needs poppler-utils (pdftoppm).
set -euo pipefail
cd "$(dirname "$0")/.."
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
cargo run --release --quiet -- demo "$room/demo-room" --now "2001-03-08 19:30" > /dev/null
pdftoppm -r 90 -gray -png -f 1 -l 1 "$room/demo-room/today.pdf" docs/dose-card-prepare -singlefile
pdftoppm -r 90 -gray -png -f 3 -l 3 "$room/demo-room/today.pdf" docs/dose-card -singlefile
# The page for a phone, as a phone shows it, where a browser is at hand.
if command -v chromium > /dev/null; then
    target/release/scruple today --book "$room/demo-room/room.scruple" --now "2001-03-08 19:30" --html "$room/today.html" > /dev/null
    SHOTS=$room/shots SHOT_HEIGHT=1600 docs/check-page.sh "$room/today.html" > /dev/null
    cp "$room/shots/page-390-light.png" docs/phone-light.png
    cp "$room/shots/page-390-dark.png" docs/phone-dark.png
fi
