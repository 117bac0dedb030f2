//! Plausible slips of a tired hand, each at its question: what is typed, and a phrase of what is
//! said about it. The right answer follows, and the prescription is kept all the same.

use crate::bench::Bench;
use crate::{answers, bare_room, sample, typed};

/// The question a slip is made at, by its place among the answers of `every-60-hours`.
struct At(usize);

const ANIMALS: At = At(0);
const STRENGTH: At = At(3);
const DOSE_FORM: At = At(4);
const DOSE: At = At(5);
const ROUTE: At = At(6);
const SITE: At = At(8);
const INTERVAL: At = At(12);
const COUNT: At = At(14);
const AFTER_LATE: At = At(16);
const WEIGH_EVERY: At = At(22);
const LABEL_VOLUME: At = At(23);
const LABEL_WEIGHT: At = At(24);
const PHONE: At = At(27);
const WRITTEN: At = At(29);
const VALID_UNTIL: At = At(30);
const REFERENCE: At = At(31);
const MORE: At = At(32);
const START: At = At(33);

const SLIPS: [(At, &str, &str); 58] = [
    (ANIMALS, "", "is needed"),
    (ANIMALS, "Thimblow", "did you mean Thimblo"),
    (ANIMALS, "Zebra", "No animal named 'Zebra'"),
    (ANIMALS, "Thimblo, Zebra", "No animal named 'Zebra'"),
    (ANIMALS, "Thimblo and Thimblo", "is named twice"),
    (STRENGTH, "8", "has no unit"),
    (STRENGTH, "8 mg", "is not a unit that belongs here"),
    (STRENGTH, "8 ug/mL", "write mcg"),
    (STRENGTH, "8 \u{b5}g/mL", "write mcg"),
    (STRENGTH, "8 mg/cc", "write mL"),
    (STRENGTH, "0,8 mg/mL", "the comma in"),
    (STRENGTH, ".8 mg/mL", "no figure before the point"),
    (STRENGTH, "8. mg/mL", "ends in a point"),
    (STRENGTH, "2.5 %", "'% w/v'"),
    (STRENGTH, "7 to 8 mg/mL", "is a range"),
    (DOSE_FORM, "", "is needed"),
    (DOSE_FORM, "0", "type a number from 1 to 4"),
    (DOSE_FORM, "13 mg/kg", "is none of these"),
    (DOSE, "", "is needed"),
    (DOSE, "13", "has no unit"),
    (DOSE, "13 mg", "is not a unit that belongs here"),
    (DOSE, "13 mg/mL", "is not a unit that belongs here"),
    (DOSE, "13 units/kg", "do not go together"),
    (DOSE, "13 mL/kg/day", "not for one dose"),
    (DOSE, "10-13 mg/kg", "is a range"),
    (DOSE, "10 to 13 mg/kg", "is a range"),
    (DOSE, "13 mg/kg/h", "is a rate per hour"),
    (DOSE, "26 mg/kg per day", "is for a whole day"),
    (DOSE, "1e1 mg/kg", "power of ten"),
    (DOSE, "-13 mg/kg", "is below zero"),
    (DOSE, "0 mg/kg", "is nothing at all"),
    (DOSE, "13 mg/kg\u{200b}", "invisible"),
    (DOSE, "half a dropper", "is not a figure with a unit"),
    (
        ROUTE,
        "breathed",
        "does not go with what you answered to \"What is the dose",
    ),
    (ROUTE, "in the", "is none of these"),
    (SITE, "A, port", "is not a side"),
    (INTERVAL, "60", "is not a length of time"),
    (INTERVAL, "every 60 hours", "is not a length of time"),
    (INTERVAL, "q60h", "is not a length of time"),
    (COUNT, "four", "'four' is not a whole number"),
    (COUNT, "0", "too small"),
    (COUNT, "4.5", "'4.5' is not a whole number"),
    (AFTER_LATE, "", "is needed"),
    (WEIGH_EVERY, "168 hours", "counted in days"),
    (LABEL_VOLUME, "0.052", "has no unit"),
    (LABEL_VOLUME, "52 mcg", "is not a unit that belongs here"),
    (LABEL_WEIGHT, "32", "has no unit"),
    // A tenfold slip: one of the four figures is wrong.
    (LABEL_WEIGHT, "320 g", "more than 10 percent"),
    (
        PHONE,
        "ring the practice",
        "is not a number that can be called",
    ),
    (WRITTEN, "05.03.2001", "is not a date"),
    (WRITTEN, "2001-02-30", "February 2001 has 28 days"),
    (WRITTEN, "2001-03-09", "is still to come"),
    (VALID_UNTIL, "2001-03-07", "was valid until 7 March 2001"),
    (
        REFERENCE,
        "my script",
        "is not a reference that can be typed as one word",
    ),
    (MORE, "19", "type a number from 1 to 18"),
    (START, "tomorrow", "is not a date"),
    (START, "2001-03-06 8pm", "is not an hour"),
    (START, "2001-03-06", "give the start an hour"),
];

#[test]
fn every_slip_is_caught_at_its_question() {
    let right = answers(&sample("every-60-hours"));
    let bench = bare_room("slips");
    let mut faults = Vec::new();
    for (At(at), slip, phrase) in &SLIPS {
        let mut lines = right.clone();
        let mut wrong = lines[*at].clone();
        wrong.text = (*slip).to_owned();
        lines.insert(*at, wrong);
        let answer = bench.run(&["enter"], &typed(&lines, &["quit"]));
        let flat = answer.err.split_whitespace().collect::<Vec<_>>().join(" ");
        let refusals: Vec<&str> = flat.split("Not accepted. ").skip(1).collect();
        let said = refusals.first().copied().unwrap_or_default();
        let said = said.split(" Answer:").next().unwrap_or_default();
        let caught = refusals.len() == 1
            && said.to_lowercase().contains(&phrase.to_lowercase())
            && flat.contains("Type yes to keep it");
        if !caught {
            faults.push(format!(
                "'{slip}': {} refusals; {phrase}; {said}",
                refusals.len()
            ));
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

/// A medicine whose name is nearly one the book knows is typed again; so is a weight that
/// disagrees with the prescription's.
#[test]
fn what_is_nearly_something_else_is_typed_again() {
    let bench: Bench = bare_room("nearly");
    let bottle = [
        "bottle",
        "open",
        "Madeup Umber",
        "--reads",
        "8 mg/mL",
        "--expiry",
        "2001-12",
    ];
    assert_eq!(bench.run(&bottle, "").code, 0);
    let mut p = sample("every-60-hours");
    p.animals.truncate(1);
    // The label says 32 g.
    assert_eq!(bench.run(&["weigh", "Thimblo", "320 g"], "").code, 0);
    let mut lines = answers(&p);
    let again = |text: &str| {
        let mut answer = lines[1].clone();
        answer.text = text.to_owned();
        answer
    };
    let (wrong, right) = (again("Madeup Umber"), again("Madeup Amber"));
    let (light, heavy) = (again("32 g"), again("320 g"));
    let start = lines.pop().unwrap();
    lines.splice(2..2, [wrong, right]);
    lines.extend([light, heavy, start]);
    let answer = bench.run(&["enter"], &typed(&lines, &["yes"]));
    assert_eq!(answer.code, 0, "{}", answer.err);
    let flat = answer.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("The book knows Madeup Umber; you wrote Madeup Amber."));
    assert!(flat.contains("was not typed the same again"));
    assert!(flat.contains(
        "The weight of Thimblo in the book and the one on the prescription are far apart."
    ));
    assert!(flat.contains("That is not the weight in the book"));
    assert_eq!(flat.matches("Not accepted. ").count(), 2, "{}", answer.err);
}

/// Where nothing can be asked, that is said at once, and nothing is.
#[test]
fn questions_need_a_person_and_an_animal() {
    let bench = Bench::new("questions-need");
    std::fs::create_dir_all(bench.folder()).unwrap();
    assert_eq!(bench.run(&["enter"], "").code, 2, "no book");
    let begun = ["begin", "--zone", "UTC", "--demonstration"];
    assert_eq!(bench.run(&begun, "").code, 0);
    let answer = bench.run(&["enter"], "");
    assert!(
        answer.err.contains("No animal is in the book yet"),
        "{answer:?}"
    );
    let answer = bench.run(&["enter", "--yes"], "");
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("--yes is for programs"), "{answer:?}");
    assert_eq!(bench.run(&["enter", "--start", "2001-03-09"], "").code, 2);
}
