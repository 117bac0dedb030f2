//! What was really given, of courses that are measured out in tablets or in grams of paste: said
//! in their own units, held against the dose, and kept.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

/// A course of a fixed dose by mouth, whose first dose is due at 08:00; it is 08:00.
fn with(name: &str, strength: &str, dose: &str, more: &str) -> Room {
    let mut room = Room::new(name, "UTC");
    let mut script = Script::twice_a_day();
    script.by_mouth = true;
    let strength = format!("strength: \"{strength}\"");
    let text = script
        .text()
        .replace("PerBodyWeight(\"20 mg/kg\")", &format!("Fixed(\"{dose}\")"))
        .replace("strength: \"8 mg/mL\"", &strength)
        .replace("after_late", &format!("{more} after_late"));
    let path = room.write("course.ron", text);
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.run(&format!("enter {path} --start \"2001-03-01 08:00\""))
        .ends(0);
    room.at("2001-03-01 08:00");
    room
}

#[test]
fn tablets_are_recorded_as_tablets() {
    let mut room = with(
        "tablets",
        "23 mg per tablet",
        "1.5 tablets",
        "tablets: Halves,",
    );
    // Another kind, medicine instead of tablets, a moved point: nothing is kept.
    room.run("give Thimblo DEMO-0001 --drawn \"0.1 mL\"")
        .ends(2)
        .says("This dose is measured out in tablets");
    room.run("give Thimblo DEMO-0001 --drawn \"23 mg\"")
        .ends(2)
        .says("write what was measured out");
    room.run("give Thimblo DEMO-0001 --drawn \"15 tablets\"")
        .ends(2)
        .says("10 times as much as the dose")
        .says("look at what is in your hand");
    room.run("partly Thimblo DEMO-0001 --drawn \"1 tablet\"")
        .ends(0)
        .says("1 tablet")
        .says("was given. Both are recorded");
    let kept = room.run("animal show Thimblo");
    kept.says("1 tablet (the mark was 1.5 tablets)");
    room.at("2001-03-01 20:00");
    room.run("give Thimblo DEMO-0001 --drawn \"1.5 tablets\"")
        .ends(0)
        .is_silent_about("Both are recorded");
    // A third more than the dose: kept, loudly.
    room.at("2001-03-02 08:00");
    room.run("give Thimblo DEMO-0001 --drawn \"2 tablets\"")
        .ends(0)
        .says("What was given is about 33 percent more than the dose")
        .says("CALL YOUR VET NOW");
}

#[test]
fn paste_is_recorded_by_its_mass() {
    let mut room = with("paste", "31 mg/g", "0.3 g of paste", "");
    room.run("give Thimblo DEMO-0001 --drawn \"1 tablet\"")
        .ends(2)
        .says("This dose is measured out in g of paste");
    room.run("partly Thimblo DEMO-0001 --drawn \"0.2 g of paste\"")
        .ends(0)
        .says("0.2 g of paste was given");
    room.run("animal show Thimblo").says("0.2 g of paste");
}
