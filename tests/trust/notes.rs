//! What people saw: kept in their own words, shown beside doses, and nothing computed from it.

use crate::room::{Room, Script};

#[test]
fn a_note_is_kept_and_shown_beside_the_dose_with_the_vets_sign() {
    let script = Script {
        more: "stop_and_call_if: [\"Not eating for 3 days\"],",
        ..Script::twice_a_day()
    };
    let mut room = Room::with_course("beside", &script);
    let code = room.json("today")["book_code"].clone();
    room.run("note Thimblo \"left both crickets\" --about appetite --by AK")
        .ends(0)
        .says("Thimblo, Thu 1 March 08:00, appetite: \"left both crickets\"")
        .says("your vet wrote to stop and call if: \"Not eating for 3 days\" (Dr A. Example, 555 0134");
    room.run("note Thimblo \"skin loose on the left hand\" --about shedding --at 07:30")
        .ends(0);
    room.run("today")
        .says("Noted Thu 1 March 08:00, appetite: \"left both crickets\" (AK)")
        .says("Noted Thu 1 March 07:30, shedding: \"skin loose on the left hand\"");
    room.run("animal show Thimblo")
        .says("Thu 1 March 08:00, appetite: \"left both crickets\" (AK)");
    let notes = room.dose_of("Thimblo")["notes"].clone();
    assert_eq!(notes[0]["about"], "appetite");
    assert_eq!(notes[0]["words"], "left both crickets");
    assert_eq!(notes[1]["by"], serde_json::Value::Null);
    // No mark depends on it, so no card is void.
    assert_eq!(room.json("today")["book_code"], code);
    // Three days later nobody has computed a sign; a week later the note is no longer beside.
    let later = room.at("2001-03-04 08:00").run("today");
    later
        .is_silent_about("STOP. Not eating")
        .says("left both crickets");
    room.at("2001-03-08 08:01")
        .run("today")
        .is_silent_about("left both crickets");
    room.run("animal show Thimblo").says("left both crickets");
}

#[test]
fn a_note_that_was_wrong_is_struck_out() {
    let mut room = Room::with_course("wrong", &Script::twice_a_day());
    let note = room.run("note Thimblo \"left both crickets\"");
    note.ends(0).says("Noted as entry 8");
    room.run("correct 8 --because \"the wrong tub\"").ends(0);
    room.run("today").is_silent_about("left both crickets");
}

#[test]
fn what_is_not_accepted_as_a_note() {
    let mut room = Room::with_course("not-accepted", &Script::twice_a_day());
    let before = room.book();
    for (line, phrase) in [
        ("note Thimblo \"\"", "The note is empty"),
        ("note Thimblo \"a\u{200b}b\"", "invisible character"),
        ("note Thimblo \"a\u{1b}[2Jb\"", "invisible character"),
        ("note Thimblow \"calm\"", "did you mean Thimblo"),
        ("note Thimblo \"calm\" --at 09:00", "still to come"),
        ("note Thimblo \"calm\" --about mood", "mood"),
    ] {
        room.run(line).ends(2).says(phrase);
    }
    let long = "a ".repeat(400);
    room.run(&format!("note Thimblo \"{long}\""))
        .ends(2)
        .says("longer than 600");
    assert_eq!(room.book(), before);
}
