#!/usr/bin/env bash
# Makes the pictures in docs/ from the demonstration room. Needs poppler-utils (pdftoppm).
set -euo pipefail
cd "$(dirname "$0")/.."
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
cargo run --release --quiet -- demo "$room/demo-room" --now "2001-03-08 19:30" > /dev/null
pdftoppm -r 90 -gray -png -f 1 -l 1 "$room/demo-room/today.pdf" docs/dose-card-prepare -singlefile
pdftoppm -r 90 -gray -png -f 3 -l 3 "$room/demo-room/today.pdf" docs/dose-card -singlefile
