//! What a tired person types or prints twice: no second mark, no dose used up, no book lost.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

/// Promise 7 on paper: two courses of one medicine, and only one mark on the card.
#[test]
fn two_courses_of_one_medicine_print_one_mark() {
    let mut room = Room::with_course("two-courses", &Script::twice_a_day());
    let second = Script {
        reference: "DEMO-0002",
        ..Script::twice_a_day()
    };
    let file = room.write("second.ron", second.text());
    room.typing("yes\n")
        .run(&format!("enter {file} --start \"2001-03-01 08:00\""))
        .ends(0)
        .says("STOP. Thimblo is on a course of this medicine already, DEMO-0001");
    let card = room.json("today");
    let doses = card["doses"].as_array().unwrap();
    let of_second = |dose: &&serde_json::Value| dose["prescription"] == "DEMO-0002";
    let marked = |dose: &&serde_json::Value| !dose["worked"]["mark"].is_null();
    assert!(doses.iter().any(|dose| marked(&dose)));
    assert!(doses.iter().filter(of_second).count() > 0);
    assert_eq!(doses.iter().filter(of_second).filter(marked).count(), 0);
}

/// An outcome typed twice does not use up the dose that is still to come.
#[test]
fn an_outcome_typed_twice_is_not_taken_for_the_next_dose() {
    for outcome in ["withheld", "refused", "unsure"] {
        let mut room = Room::with_course(&format!("twice-{outcome}"), &Script::twice_a_day());
        room.run(&format!("{outcome} Thimblo DEMO-0001 --dose 1"))
            .ends(0);
        let before = room.book();
        room.run(&format!("{outcome} Thimblo DEMO-0001"));
        if outcome != "refused" {
            // What the animal would not take may be offered again until the window closes.
            assert_eq!(room.book(), before, "{outcome}");
        }
    }
}

/// A sheet is never written over a book, whatever was asked for.
#[test]
fn a_card_is_not_written_over_a_book() {
    let mut room = Room::with_course("over", &Script::twice_a_day());
    let before = room.book();
    let book = room.path("room.scruple");
    let book = if std::path::Path::new(&book).exists() {
        book
    } else {
        room.path("book.scruple")
    };
    room.run(&format!("today --pdf {book} --replace"))
        .ends(2)
        .says("is a book and is never written over");
    assert_eq!(room.book(), before);
}

/// A name that no sheet could print is refused when it is typed.
#[test]
fn a_name_that_cannot_be_printed_is_not_taken() {
    let mut room = Room::bare("unprintable", "UTC");
    room.run("animal add Bob\u{1F98E} --species gecko --id tub")
        .ends(2);
}

/// The first dose cannot be due before the prescription was written.
#[test]
fn a_start_before_the_writing_is_not_accepted() {
    let mut room = Room::with_course("early", &Script::twice_a_day());
    let second = Script {
        reference: "DEMO-0002",
        medicine: "Madeup Birch",
        ..Script::twice_a_day()
    };
    let file = room.write("second.ron", second.text());
    room.run(&format!("enter {file} --start \"2000-12-31 08:00\""))
        .ends(2)
        .says("before the prescription was written");
}
