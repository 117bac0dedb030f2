//! What a person typed, and what it finds.

use super::*;
use crate::ledger::FindError;
use crate::notation::Notation;
use crate::quantity::Volume;
use crate::rack::{Needle, PrintedScale, Syringe, Use};

pub(super) fn syringe(capacity: &str, graduation: &str) -> Syringe {
    made(capacity, graduation, Use::Injection, Needle::Hub)
}

fn made(capacity: &str, graduation: &str, used_for: Use, needle: Needle) -> Syringe {
    Syringe::new(
        Volume::read(capacity).unwrap(),
        Volume::read(graduation).unwrap(),
        used_for,
        needle,
        PrintedScale::Millilitres,
        None,
        None,
    )
    .unwrap()
}

fn animals(names: &[&str]) -> Ledger {
    let mut book = Book::default();
    for name in names {
        book.animal(name);
    }
    book.ledger()
}

fn found(ledger: &Ledger, typed: &str) -> Result<String, String> {
    let found = ledger.animal(typed);
    found
        .map(|patient| patient.animal.name.clone())
        .map_err(|fault| fault.to_string())
}

#[test]
fn an_animal_is_found_by_its_name_or_its_beginning() {
    let ledger = animals(&["Nubbet", "Nub", "Thimblo Two", "Quillo"]);
    for (typed, name) in [
        ("Quillo", "Quillo"),
        (" qUÍllo ", "Quillo"),
        ("qui", "Quillo"),
        // The whole name of one goes before the beginning of another.
        ("nub", "Nub"),
        ("nubb", "Nubbet"),
        ("two", "Thimblo Two"),
        ("thimblotwo", "Thimblo Two"),
    ] {
        assert_eq!(found(&ledger, typed), Ok(name.to_owned()), "{typed}");
    }
}

#[test]
fn what_finds_nothing_says_what_is_near() {
    let ledger = animals(&["Nubbet", "Nub", "Quillo"]);
    let fault = |typed: &str| found(&ledger, typed).unwrap_err();
    assert_eq!(
        fault("Nubet"),
        "no animal named 'Nubet' is in the book: did you mean Nubbet?"
    );
    assert_eq!(
        fault("Zebra"),
        "no animal named 'Zebra' is in the book: look at 'scruple animal list', then write it again"
    );
    // In the middle of a name, and nothing at all: no beginning of one.
    for typed in ["uillo stay", "", " ", "\u{200b}"] {
        assert!(
            fault(typed).starts_with("no animal named '"),
            "{}",
            fault(typed)
        );
    }
    assert_eq!(
        fault("Nu"),
        "'Nu' could be Nubbet or Nub: write more of the name"
    );
    // Said back without what steers a terminal, and not at any length.
    let long = format!("Zz\u{1b}{}", "y".repeat(100));
    let short = format!("no animal named 'Zz{}' is in", "y".repeat(38));
    assert!(fault(&long).starts_with(&short), "{}", fault(&long));
}

#[test]
fn what_finds_nothing_near_names_the_list_of_its_kind() {
    let none = Ledger::default();
    let said = [
        none.animal("Qqq").unwrap_err().to_string(),
        none.bottle(3).unwrap_err().to_string(),
        none.script("Qqq").unwrap_err().to_string(),
    ];
    let wanted = [
        "no animal named 'Qqq' is in the book: look at 'scruple animal list', then write it again",
        "no bottle named '3' is in the book: look at 'scruple bottle list', then write it again",
        "no prescription named 'Qqq' is in the book: look at 'scruple check', then write it again",
    ];
    assert_eq!(said, wanted);
}

/// Four names are one letter from what was typed; three are offered.
#[test]
fn no_more_than_three_near_names_are_offered() {
    let ledger = animals(&["Quilla", "Quilli", "Quillo", "Quillu"]);
    assert_eq!(
        found(&ledger, "Quille").unwrap_err(),
        "no animal named 'Quille' is in the book: did you mean Quilla or Quilli or Quillo?"
    );
}

fn with_script() -> Book {
    let mut book = Book::default();
    book.animal("Thimblo");
    book.script(SCRIPT, "Europe/Warsaw");
    book
}

#[test]
fn a_prescription_is_found_by_its_reference_or_the_beginning_of_a_part() {
    let mut book = with_script();
    for typed in ["DEMO-0012", "demo-0012", "DEMO", "demo-00", "0012", "001"] {
        assert_eq!(
            book.ledger().script(typed).map(|script| script.entry),
            Ok(2),
            "{typed}"
        );
    }
    for typed in ["2", "012", "EMO", "", "-"] {
        let ledger = book.ledger();
        let fault = ledger.script(typed).unwrap_err().to_string();
        let wanted = format!("no prescription named '{typed}' is in the book");
        assert!(fault.starts_with(&wanted), "{fault}");
    }
    book.script(&SCRIPT.replace("DEMO-0012", "DEMO-0034"), "Europe/Warsaw");
    let ledger = book.ledger();
    assert_eq!(ledger.script("0034").map(|script| script.entry), Ok(3));
    let could_be = ["DEMO-0012", "DEMO-0034"].map(str::to_owned).to_vec();
    let typed = "demo".to_owned();
    assert_eq!(
        ledger.script("demo").unwrap_err(),
        FindError::Ambiguous { typed, could_be }
    );
}

#[test]
fn a_bottle_is_found_by_its_number_alone() {
    let mut book = Book::default();
    book.bottle(1);
    book.bottle(12);
    let ledger = book.ledger();
    assert_eq!(ledger.bottle(12).unwrap().bottle.number, 12);
    assert_eq!(ledger.bottle(1).unwrap().bottle.number, 1);
    assert_eq!(
        ledger.bottle(2).unwrap_err().to_string(),
        "no bottle named '2' is in the book: did you mean 1 or 12?"
    );
}

#[test]
fn a_syringe_is_found_by_its_short_form_and_its_use() {
    let mut book = Book::default();
    let by_mouth = made("1 mL", "0.01 mL", Use::Mouth, Needle::Tip);
    for syringe in [
        syringe("0.3 mL", "0.005 mL"),
        by_mouth.clone(),
        syringe("1 mL", "0.01 mL"),
    ] {
        let what = Happening::Syringe(Signed::new(syringe, None));
        book.add(&Subject::Settings, "2001-03-01T08:00:00Z", &what);
    }
    let ledger = book.ledger();
    for typed in ["0.3/0.005", "0.3 mL/0.005 mL", " 0.3ML / 0.005 ml"] {
        let found = ledger.syringe(typed, None).map(Syringe::short);
        assert_eq!(found, Ok("0.3/0.005".to_owned()), "{typed}");
    }
    let injecting = ledger.syringe("1/0.01", Some(Use::Injection)).unwrap();
    assert_eq!(injecting.used_for(), Use::Injection);
    assert_eq!(ledger.syringe("1/0.01", None), Ok(&by_mouth));
    let fault = ledger.syringe("0.3/0.005", Some(Use::Mouth)).unwrap_err();
    let near = vec!["1/0.01".to_owned()];
    let typed = "0.3/0.005".to_owned();
    let what = "syringe for this use";
    assert_eq!(fault, FindError::Unknown { what, typed, near });
    // Said back without what steers a terminal.
    let fault = ledger.syringe("9/\u{1b}1", None).unwrap_err().to_string();
    assert!(fault.starts_with("no syringe for this use named '9/1' is in"));
}

#[test]
fn an_animal_is_found_in_its_place_by_its_whole_name() {
    let ledger = animals(&["Nubbet", "Quillo", "Thimblo"]);
    let places = ["Nubbet", "Quillo", "Thimblo"].map(|name| ledger.place_of(name));
    assert_eq!(places, [Some(0), Some(1), Some(2)]);
    assert_eq!([ledger.place_of("Thim"), ledger.place_of("")], [None, None]);
}

#[test]
fn names_easily_taken_for_one_another_are_found_in_order() {
    let ledger = animals(&["Quillo", "Thimblo", "Nubbet", "Thimbla", "Thim"]);
    let alike =
        |name| (ledger.named_alike(name).map(|p| p.animal.name.as_str())).collect::<Vec<_>>();
    assert_eq!(alike("Thimblo"), ["Thimbla", "Thim"]);
    assert_eq!(alike("Quill"), ["Quillo"]);
    assert!(alike("Nubbet").is_empty());
}
