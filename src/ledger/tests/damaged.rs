//! What the book found damaged, and what hangs on it.

use super::*;

fn damage(keys: &[&str]) -> Vec<Option<String>> {
    keys.iter().map(|key| Some((*key).to_owned())).collect()
}

/// Thimblo and Nubbet; Nubbet had a dose of DEMO-0012.
fn room(keys: &[&str]) -> Ledger {
    let mut book = Book::default();
    book.animal("Thimblo");
    book.animal("Nubbet");
    book.script(SCRIPT, "Europe/Warsaw");
    book.dose("Nubbet", "DEMO-0012", "2001-03-06T08:00:00Z");
    book.ledger().with_damage(damage(keys))
}

fn behind(keys: &[&str], no_bottle: bool) -> [Option<String>; 2] {
    let ledger = room(keys);
    [0, 1].map(|place| ledger.damage_behind(&ledger.animals[place], no_bottle))
}

#[test]
fn damage_is_told_to_the_animals_it_touches() {
    assert_eq!(behind(&[], true), [None, None]);
    let said = |words: &str| Some(words.to_owned());
    assert_eq!(
        behind(&["animal:Nubbet"], true),
        [None, said("What is recorded about Nubbet")]
    );
    assert_eq!(
        behind(&["prescription:DEMO-0012"], true),
        [None, said("Prescription DEMO-0012")]
    );
    assert_eq!(behind(&["prescription:DEMO-0099"], true), [None, None]);
    assert_eq!(behind(&["bottle:7"], false), [None, None]);
    let bottle = said("Bottle 7");
    assert_eq!(behind(&["bottle:7"], true), [bottle.clone(), bottle]);
    let settings = said("What is recorded about settings and syringes");
    assert_eq!(behind(&["settings"], false), [settings.clone(), settings]);
    let all = said("What the book says of itself");
    assert_eq!(behind(&["unheard of"], false), [all.clone(), all]);
}

#[test]
fn damage_without_a_name_is_of_the_whole_book() {
    let ledger = room(&[]).with_damage([None]);
    assert_eq!(ledger.damaged.iter().collect::<Vec<_>>(), ["the book"]);
    // The same ledger as before, and the damage with it.
    assert_eq!((ledger.animals.len(), ledger.entries), (2, 4));
}

#[test]
fn what_could_not_be_understood_is_damage_too() {
    let mut book = Book::default();
    book.animal("Thimblo");
    book.dose("Quillo", "DEMO-0012", "2001-03-06T08:00:00Z");
    let ledger = book.ledger().with_damage(damage(&["bottle:7"]));
    let damaged: Vec<&String> = ledger.damaged.iter().collect();
    assert_eq!(damaged, ["animal:Quillo", "bottle:7"]);
}

/// A name of 200 bytes is said whole, one of 201 in part, one that steers a terminal without that.
#[test]
fn a_name_that_no_command_gives_is_said_in_part() {
    let said = |key: &str| {
        let ledger = Ledger::default().with_damage(damage(&[key]));
        ledger.damaged.first().unwrap().clone()
    };
    let whole = format!("animal:{}", "n".repeat(193));
    assert_eq!(said(&whole), whole);
    // Seven letters of "animal:" and 33 of the name.
    let part = format!("something named 'animal:{}...'", "n".repeat(33));
    assert_eq!(said(&format!("{whole}n")), part);
    assert_eq!(
        said("animal:Nub\u{1b}bet"),
        "something named 'animal:Nubbet...'"
    );
}

#[test]
fn an_animal_that_is_damaged_is_not_unknown() {
    let ledger = room(&["animal:Quillo", "animal:Nubben", "bottle:1"]);
    assert_eq!(
        ledger.animal("qui").unwrap_err().to_string(),
        "what the book holds of Quillo is damaged, so nothing can be added to it or read from it: \
         write on paper what happened and when, call your vet before anything is given, and go on \
         with the others here. To mend it: 'scruple export FOLDER', then go on in your last backup \
         instead of this book, and type into it, each with --at, what the paper and the export have \
         and it has not"
    );
    // A sound one is found before.
    assert_eq!(ledger.animal("nub").unwrap().animal.name, "Nubbet");
    for typed in ["Zebra", "", "1"] {
        assert_eq!(ledger.damaged_animal(typed), None, "{typed}");
    }
}

/// The rows of the animal were left out, its prescription was not: whom to call stands there.
#[test]
fn the_vet_of_its_own_prescription_is_to_be_called() {
    let mut book = Book::default();
    book.script(SCRIPT, "Europe/Warsaw");
    let damaged = damage(&["animal:Quillo", "animal:Nubbet"]);
    let ledger = book.ledger().with_damage(damaged);
    let fault = |typed: &str| ledger.damaged_animal(typed).unwrap().to_string();
    assert!(fault("nubbet").contains("call Dr A. Example, 555 0134 (not a number), before"));
    assert!(fault("quillo").contains("call your vet before"));
}

#[test]
fn a_prescription_that_is_damaged_is_not_unknown() {
    let ledger = room(&["animal:DEMO-0098", "prescription:DEMO-0099"]);
    let fault = ledger.script("demo-0099").unwrap_err().to_string();
    let wanted = "what the book holds of prescription DEMO-0099 is damaged";
    assert!(fault.starts_with(wanted), "{fault}");
    let fault = ledger.script("DEMO-0098").unwrap_err().to_string();
    assert!(
        fault.starts_with("no prescription named 'DEMO-0098'"),
        "{fault}"
    );
    let fault = ledger.script("").unwrap_err().to_string();
    assert!(fault.starts_with("no prescription named ''"), "{fault}");
}
