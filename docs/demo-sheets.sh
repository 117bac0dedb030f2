#!/usr/bin/env bash
# Makes every sheet of the demonstration room in a folder, on both papers.
#
#   docs/demo-sheets.sh PROGRAM FOLDER
set -euo pipefail
program=$1 folder=$2
now="2001-03-08 19:30"
for paper in a4 letter; do
    room=$folder/room-$paper
    "$program" demo "$room" --now "$now" > /dev/null
    in_room() { "$program" "$@" --book "$room/room.scruple" --now "$now" > /dev/null; }
    in_room settings set paper "$paper" --yes
    in_room note Quillo "left half of the seeds" --about appetite --at "2001-03-07 18:00" --by AK
    in_room note Quillo "ate all of it" --about appetite --at "2001-03-08 09:00" --by BM
    in_room today --pdf "$folder/$paper-card.pdf"
    in_room report Quillo --pdf "$folder/$paper-report.pdf"
    in_room sheet course Quillo DEMO-0002 --pdf "$folder/$paper-course.pdf"
    in_room sheet handover --pdf "$folder/$paper-handover.pdf"
    in_room sheet weighin --pdf "$folder/$paper-weighin.pdf"
done
