//! Doses, instructions, notes, ends and bottles.

use super::*;
use crate::bottle::Batch;
use crate::entry::{About, End, Ending, FollowUpDone, Left, Observation, Thaw};
use crate::quantity::Amount;

fn nubbet(book: &Book) -> Patient {
    let ledger = book.ledger();
    assert!(ledger.faults.is_empty(), "{:?}", ledger.faults);
    assert!(ledger.animals[0].doses.is_empty() && ledger.animals[0].end.is_none());
    ledger.animals[1].clone()
}

fn two_animals() -> Book {
    let mut book = Book::default();
    book.animal("Thimblo");
    book.animal("Nubbet");
    book
}

#[test]
fn a_dose_stands_with_its_animal_and_its_course() {
    let mut book = two_animals();
    let (subject, what) = (of("Nubbet"), Happening::Dose(given(Some("calm"))));
    let when = "2001-03-06T08:00:00Z";
    book.add_to(&subject, Some("DEMO-0012"), when, "Europe/Warsaw", &what);
    book.rows[2].recorded_at = at("2001-03-06T08:20:00Z");
    book.add(&subject, "2001-03-07T08:00:00Z", &what);
    let doses = nubbet(&book).doses;
    let first = &doses[0];
    assert_eq!((first.entry, first.course.as_str()), (3, "DEMO-0012"));
    assert_eq!(first.happened, at("2001-03-06T08:00:00Z"));
    assert_eq!(first.recorded, at("2001-03-06T08:20:00Z"));
    assert_eq!(first.record.note.as_deref(), Some("calm"));
    assert_eq!((doses.len(), doses[1].course.as_str()), (2, ""));
}

#[test]
fn notes_follow_ups_and_the_end_stand_with_their_animal() {
    let mut book = two_animals();
    let seen = Observation {
        about: About::Appetite,
        words: "ate two crickets".to_owned(),
        by: None,
    };
    let what = Happening::Observation(seen.clone());
    book.add(&of("Nubbet"), "2001-03-06T18:00:00Z", &what);
    let done = FollowUpDone {
        number: 1,
        what: "come in".to_owned(),
        note: None,
        by: None,
    };
    let what = Happening::FollowUp(done.clone());
    let when = "2001-03-09T10:00:00Z";
    book.add_to(
        &of("Nubbet"),
        Some("DEMO-0012"),
        when,
        "Europe/Warsaw",
        &what,
    );
    let end = End {
        how: Ending::Rehomed,
        note: None,
        by: None,
    };
    let what = Happening::End(end.clone());
    book.add(&of("Nubbet"), "2001-03-10T10:00:00Z", &what);
    let nubbet = nubbet(&book);
    let note = &nubbet.notes[0];
    assert_eq!((note.entry, &note.observation), (3, &seen));
    assert_eq!(note.at, at("2001-03-06T18:00:00Z"));
    let followed = &nubbet.followed[0];
    assert_eq!((followed.entry, &followed.done), (4, &done));
    assert_eq!(
        (followed.course.as_str(), followed.at),
        ("DEMO-0012", at(when))
    );
    assert_eq!(nubbet.end, Some((at("2001-03-10T10:00:00Z"), end)));
}

/// What was said first stands first, however late it was written down; of one time, the entry
/// that was written first.
#[test]
fn instructions_stand_in_the_order_they_were_said() {
    let mut book = two_animals();
    for when in [
        "2001-03-07T08:00:00Z",
        "2001-03-06T08:00:00Z",
        "2001-03-06T08:00:00Z",
    ] {
        book.instruction("Nubbet", when, said(true, false));
    }
    let instructions = nubbet(&book).instructions;
    let order: Vec<u64> = instructions.iter().map(|said| said.entry).collect();
    assert_eq!(order, [4, 5, 3]);
}

/// (read back, paper awaited) before, (read back, paper came) in the confirmation, and after.
#[test]
fn a_confirmation_settles_what_it_says_and_nothing_else() {
    for (before, confirms, after) in [
        ((false, true), (true, false), (true, true)),
        ((false, true), (false, true), (false, false)),
        ((true, true), (false, true), (true, false)),
        ((true, false), (true, false), (true, false)),
        ((false, false), (false, false), (false, false)),
    ] {
        let mut book = two_animals();
        let when = "2001-03-06T08:00:00Z";
        book.instruction("Nubbet", when, said(before.0, before.1));
        // The other one waits for both, and still does.
        book.instruction("Nubbet", when, said(false, true));
        let what = confirmed(3, confirms.0, confirms.1);
        book.add(&of("Nubbet"), "2001-03-06T09:00:00Z", &what);
        let states: Vec<(bool, bool)> = (nubbet(&book).instructions.iter())
            .map(|said| (said.instruction.read_back, said.instruction.paper_awaited))
            .collect();
        assert_eq!(
            states,
            [after, (false, true)],
            "{before:?} with {confirms:?}"
        );
    }
}

#[test]
fn the_end_of_a_bottle_is_of_that_bottle() {
    let mut book = Book::default();
    book.bottle(3);
    book.bottle(5);
    book.add(&Subject::Bottle(5), "2001-03-09T08:00:00Z", &emptied(5));
    // Of a bottle that is not in the book there is nothing to change.
    book.add(&Subject::Bottle(9), "2001-03-09T09:00:00Z", &emptied(9));
    let ledger = book.ledger();
    let ended: Vec<_> = (ledger.bottles.iter())
        .map(|open| (open.bottle.number, open.ended))
        .collect();
    assert_eq!(ended, [(3, None), (5, Some(at("2001-03-09T08:00:00Z")))]);
    assert!(ledger.faults.is_empty());
}

#[test]
fn a_bottle_struck_out_keeps_its_number() {
    let mut book = Book::default();
    book.bottle(3);
    book.bottle(5);
    book.correction(2, "2001-03-06T08:00:00Z");
    let ledger = book.ledger();
    let numbers: Vec<u32> = ledger.bottles.iter().map(|b| b.bottle.number).collect();
    assert_eq!((numbers, ledger.last_bottle), (vec![3], 5));
}

#[test]
fn a_thawing_and_what_is_left_stand_with_the_bottle() {
    let mut book = Book::default();
    let mut frozen = bottle(2);
    frozen.batch = Some(Batch {
        made_up: date("2001-03-05"),
        aliquots: Some(4),
        thawed: Vec::new(),
    });
    let what = Happening::Bottle(Signed::new(frozen, None));
    book.add(&Subject::Bottle(2), "2001-03-05T10:00:00Z", &what);
    book.bottle(3);
    for (number, on) in [(2, "2001-03-07"), (2, "2001-03-06"), (3, "2001-03-06")] {
        let what = Happening::Thaw(Thaw {
            bottle: number,
            on: date(on),
            by: None,
        });
        book.add(&Subject::Bottle(number), "2001-03-07T10:00:00Z", &what);
    }
    let what = Happening::Left(Left {
        bottle: 3,
        left: Amount::read("1.5 mL").unwrap(),
        by: None,
    });
    book.add(&Subject::Bottle(3), "2001-03-08T10:00:00Z", &what);
    let ledger = book.ledger();
    let batch = ledger.bottles[0].bottle.batch.as_ref().unwrap();
    assert_eq!(batch.thawed, [date("2001-03-07"), date("2001-03-06")]);
    assert!(ledger.bottles[0].seen_left.is_none());
    // No batch, so nothing of it was thawed.
    assert!(ledger.bottles[1].bottle.batch.is_none());
    let (when, left) = ledger.bottles[1].seen_left.as_ref().unwrap();
    assert_eq!((*when, left.text()), (at("2001-03-08T10:00:00Z"), "1.5 mL"));
}

#[test]
fn a_syringe_is_at_hand_until_its_entry_is_corrected() {
    let mut book = Book::default();
    let what = Happening::Syringe(Signed::new(
        super::finding::syringe("1 mL", "0.01 mL"),
        None,
    ));
    book.add(&Subject::Settings, "2001-03-01T08:00:00Z", &what);
    assert_eq!(book.ledger().syringes.len(), 1);
    book.correction(1, "2001-03-01T09:00:00Z");
    assert!(book.ledger().syringes.is_empty());
}
