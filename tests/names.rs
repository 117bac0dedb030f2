//! Names as tired people type them: forgiven where there is no doubt, offered where there is, and
//! pointed out where two are easily taken for each other.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

fn lived_in(name: &str) -> Room {
    Room::with_course(name, &Script::twice_a_day())
}

/// Two animals with names alike are pointed out on the card and on the walk.
#[test]
fn names_alike_are_pointed_out_where_the_animal_is_in_hand() {
    let mut room = lived_in("alike");
    room.typing("Thimbol\n")
        .run("animal add Thimbol --species newt --id \"jar 3\"")
        .ends(0)
        .says("Thimbol is named much like Thimblo");
    let said =
        "This is Thimblo. Named much like it: Thimbol (jar 3). Look which animal is in your hand.";
    room.run("today").says(said);
    room.typing("q\n").run("round").says(said);
    assert_eq!(room.dose_of("Thimblo")["named_alike"][0], "Thimbol");
    room.run("end Thimbol --how rehomed").ends(0);
    room.run("today").is_silent_about("Named much like it");
}

/// An unambiguous beginning, case and accents are enough; near misses are offered, never taken.
#[test]
fn names_are_forgiven_but_never_guessed() {
    let mut room = lived_in("names");
    room.run("animal add Séraphin --species newt --id \"jar 1\"")
        .ends(0);
    for typed in ["THIMBLO", "thim", "\" Thimblo \"", "Thímblo", "T"] {
        room.run(&format!("weigh {typed} \"31 g\""))
            .ends(0)
            .says("Thimblo: 31 g");
    }
    room.run("weigh seraphin \"20 g\"")
        .ends(0)
        .says("Séraphin: 20 g");
    room.run("weigh Thimblow \"31 g\"")
        .ends(2)
        .says("did you mean Thimblo?");
    room.run("weigh Zebra \"31 g\"")
        .ends(2)
        .says("No animal named 'Zebra'");
    room.typing("Thimbol\n")
        .run("animal add Thimbol --species newt --id \"jar 3\"")
        .ends(0);
    room.run("weigh Thim \"31 g\"")
        .ends(2)
        .says("'Thim' could be Thimblo or Thimbol");
    room.run("weigh Thimblo \"31 g\"").ends(0);
    room.run("give thimblo 0001")
        .ends(0)
        .says("Thimblo, Madeup Amber (DEMO-0001");
}
