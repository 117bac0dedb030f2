//! Weights, prescriptions, corrections, and what cannot be understood.

use super::*;
use crate::ledger::Fault;
use crate::settings::{PaperSize, Settings};

/// Entries 1 and 2, and the first weighing is entry 3.
fn two_animals() -> Book {
    let mut book = Book::default();
    book.animal("Thimblo");
    book.animal("Nubbet");
    book
}

fn entries_of(weighings: &[crate::animal::Weighing]) -> Vec<u64> {
    weighings.iter().map(|weighing| weighing.entry).collect()
}

#[test]
fn each_animal_has_its_own_weights_in_the_order_they_were_weighed() {
    let mut book = two_animals();
    book.weighing("Thimblo", "2001-03-06T08:00:00Z", "32 g");
    book.weighing("Nubbet", "2001-03-05T08:00:00Z", "41 g");
    // Weighed before the one of entry 3 and typed in after it.
    book.weighing("Thimblo", "2001-03-04T08:00:00Z", "31 g");
    let ledger = book.ledger();
    assert_eq!(ledger.entries, 5);
    assert_eq!(ledger.newest, Some(at("2001-03-06T08:00:00Z")));
    let names: Vec<&str> = (ledger.animals.iter().map(|p| p.animal.name.as_str())).collect();
    assert_eq!(names, ["Thimblo", "Nubbet"]);
    assert_eq!(entries_of(ledger.animals[0].weights.all()), [5, 3]);
    let other = &ledger.animals[1].weights.all()[0];
    assert_eq!((other.entry, other.weight.text()), (4, "41 g"));
    assert_eq!(other.at, at("2001-03-05T08:00:00Z"));
    assert_eq!(other.readability.text(), "0.1 g");
    assert!(ledger.animals.iter().all(|p| p.withdrawn.is_empty()));
    assert!(ledger.faults.is_empty() && ledger.corrected.is_empty());
}

#[test]
fn what_was_corrected_is_struck_out_and_kept() {
    let mut book = two_animals();
    book.weighing("Thimblo", "2001-03-06T08:00:00Z", "32 g");
    // Written by a clock that was a year fast.
    book.weighing("Thimblo", "2002-03-07T08:00:00Z", "320 g");
    book.script(SCRIPT, "Europe/Warsaw");
    book.correction(4, "2001-03-07T09:00:00Z");
    book.correction(5, "2001-03-07T09:01:00Z");
    let ledger = book.ledger();
    let thimblo = &ledger.animals[0];
    assert_eq!(entries_of(thimblo.weights.all()), [3]);
    let [gone] = &thimblo.withdrawn[..] else {
        panic!("{:?}", thimblo.withdrawn);
    };
    assert_eq!((gone.weighing.entry, gone.by), (4, 6));
    assert_eq!(gone.weighing.weight.text(), "320 g");
    assert!(ledger.animals[1].withdrawn.is_empty());
    assert!(ledger.scripts.is_empty() && scripts_of(&ledger, thimblo).is_empty());
    let withdrawn: Vec<u64> = ledger.withdrawn.iter().map(|script| script.entry).collect();
    assert_eq!(withdrawn, [5]);
    let corrected: Vec<(u64, &str)> = (ledger.corrected.iter())
        .map(|(entry, why)| (*entry, why.because.as_str()))
        .collect();
    assert_eq!(
        corrected,
        [(4, "entry 4 was wrong"), (5, "entry 5 was wrong")]
    );
    assert_eq!(ledger.newest, Some(at("2001-03-07T09:01:00Z")));
    assert_eq!(ledger.entries, 7);
}

#[test]
fn a_correction_that_was_corrected_counts_for_nothing() {
    let mut book = two_animals();
    book.weighing("Thimblo", "2001-03-06T08:00:00Z", "32 g");
    book.correction(3, "2001-03-06T09:00:00Z");
    assert_eq!(book.ledger().corrected.keys().collect::<Vec<_>>(), [&3]);
    book.correction(4, "2001-03-06T10:00:00Z");
    let ledger = book.ledger();
    assert_eq!(ledger.corrected.keys().collect::<Vec<_>>(), [&4]);
    assert_eq!(entries_of(ledger.animals[0].weights.all()), [3]);
    // Once more: the correction of entry 3 stands again.
    book.correction(5, "2001-03-06T11:00:00Z");
    let ledger = book.ledger();
    assert_eq!(ledger.corrected.keys().collect::<Vec<_>>(), [&3, &5]);
    assert!(ledger.animals[0].weights.all().is_empty());
}

#[test]
fn a_prescription_keeps_its_start_and_the_zone_of_its_entry() {
    let mut book = two_animals();
    book.animal("Quillo");
    book.script(SCRIPT, "America/Toronto");
    let ledger = book.ledger();
    let script = &ledger.scripts[0];
    assert_eq!(
        (script.entry, script.entered),
        (4, at("2001-03-05T09:00:00Z"))
    );
    assert_eq!(script.prescription.reference, "DEMO-0012");
    assert_eq!(script.start.date, date("2001-03-06"));
    assert_eq!(script.start.time, NaiveTime::from_hms_opt(7, 30, 0));
    assert_eq!(script.zone, "America/Toronto".parse().unwrap());
    for (place, wanted) in [(0, vec![4]), (1, vec![4]), (2, vec![])] {
        assert_eq!(scripts_of(&ledger, &ledger.animals[place]), wanted);
    }
    let called = |reference| {
        (ledger.scripts_called(reference).map(|script| script.entry)).collect::<Vec<_>>()
    };
    assert_eq!(called("DEMO-0012"), [4]);
    assert!(called("DEMO-0013").is_empty());
}

/// A prescription that was read before is taken as it was handed over: here its start is another.
#[test]
fn a_prescription_that_was_read_is_not_read_again() {
    let mut book = two_animals();
    book.script(SCRIPT, "Europe/Warsaw");
    let mut scripts = book.ledger().scripts;
    scripts[0].start.date = date("2001-04-01");
    let again = Ledger::fold_again(&book.rows, scripts);
    assert_eq!(again.scripts[0].start.date, date("2001-04-01"));
    assert_eq!(book.ledger().scripts[0].start.date, date("2001-03-06"));
}

/// Case and accents make no other medicine.
#[test]
fn the_bottles_of_a_medicine_are_found_in_order() {
    let mut book = two_animals();
    book.script(SCRIPT, "Europe/Warsaw");
    for (number, medicine) in [
        (1, "Invented Cobalt"),
        (2, "Madeup Amber"),
        (3, "Invented Cobalt"),
        (4, "mädeup amber"),
    ] {
        let what = Bottle {
            medicine: medicine.to_owned(),
            ..bottle(number)
        };
        let what = Happening::Bottle(Signed::new(what, None));
        book.add(&Subject::Bottle(number), "2001-03-05T10:00:00Z", &what);
    }
    let ledger = book.ledger();
    let found = ledger.bottles_of(&ledger.scripts[0].prescription);
    let numbers: Vec<u32> = found.map(|open| open.bottle.number).collect();
    assert_eq!(numbers, [2, 4]);
}

/// The second of two is found as the second, and one for an animal alone is not its neighbour's.
#[test]
fn prescriptions_are_told_apart() {
    let mut book = two_animals();
    book.script(SCRIPT, "Europe/Warsaw");
    let other = SCRIPT
        .replace("DEMO-0012", "DEMO-0013")
        .replace("\"Thimblo\", ", "");
    book.script(&other, "Europe/Warsaw");
    let ledger = book.ledger();
    assert_eq!(scripts_of(&ledger, &ledger.animals[0]), [3]);
    assert_eq!(scripts_of(&ledger, &ledger.animals[1]), [3, 4]);
    let mut called = ledger.scripts_called("DEMO-0013");
    assert_eq!(called.next().map(|script| script.entry), Some(4));
    assert!(called.next().is_none());
}

#[test]
fn the_settings_are_the_last_and_all_of_them_are_kept() {
    let mut book = Book::default();
    for (paper, by) in [(PaperSize::A4, "KL"), (PaperSize::Letter, "MN")] {
        let settings = Settings::new("Europe/Warsaw".to_owned(), paper, "0.1 g", true).unwrap();
        let what = Happening::Settings(Signed::new(settings, Some(by.to_owned())));
        book.add(&Subject::Settings, "2001-03-01T08:00:00Z", &what);
    }
    let ledger = book.ledger();
    assert_eq!(ledger.settings.unwrap().paper, PaperSize::Letter);
    let history: Vec<_> = (ledger.settings_history.iter())
        .map(|set| (set.entry, set.by.as_deref().unwrap(), set.settings.paper))
        .collect();
    assert_eq!(
        history,
        [(1, "KL", PaperSize::A4), (2, "MN", PaperSize::Letter)]
    );
}

fn fault(entry: u64, subject: &str, why: &str) -> Fault {
    Fault {
        entry,
        subject: subject.to_owned(),
        why: why.to_owned(),
    }
}

#[test]
fn what_cannot_be_understood_is_listed() {
    let mut book = two_animals();
    book.weighing("Thimblo", "2001-03-06T08:00:00Z", "32 g");
    book.rows[2].kind = "sneeze".to_owned();
    book.script(SCRIPT, "Middle/Nowhere");
    book.script("no prescription at all", "Europe/Warsaw");
    book.dose("Quillo", "DEMO-0012", "2001-03-06T08:30:00Z");
    // A dose in a bottle's chain is nobody's, and so is a weighing.
    let what = Happening::Dose(given(None));
    book.add(&Subject::Bottle(1), "2001-03-06T08:40:00Z", &what);
    let weighing = weighed("32 g");
    book.add(&Subject::Bottle(1), "2001-03-06T08:50:00Z", &weighing);
    let faults = book.ledger().faults;
    let entries: Vec<u64> = faults.iter().map(|fault| fault.entry).collect();
    assert_eq!(entries, [3, 4, 5, 6, 7, 8]);
    assert_eq!(faults[0].subject, "animal:Thimblo");
    assert!(faults[0].why.contains("sneeze"), "{}", faults[0].why);
    let nowhere = "its time zone is 'Middle/Nowhere', which is none";
    assert_eq!(faults[1], fault(4, "prescription:DEMO-0012", nowhere));
    assert_eq!(faults[2].subject, "prescription:DEMO-0012");
    let nobody = "it speaks of an animal that is not in the book";
    assert_eq!(faults[3], fault(6, "animal:Quillo", nobody));
    assert_eq!(faults[4], fault(7, "bottle:1", nobody));
    assert_eq!(faults[5], fault(8, "bottle:1", nobody));
}
