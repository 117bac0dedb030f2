//! The morning look for programs.

use crate::json::round::due;
use crate::json::{text, text_with_commands};
use crate::round::{Kind, Later, Morning, Waiting};
use serde_json::{Value, json};

/// Everything that waits.
///
/// `common` is what every next command needs after its own words, such as `--book room.scruple`.
pub fn morning(morning: &Morning, demonstration: bool, common: &str) -> String {
    let zone = morning.zone;
    let waiting: Vec<Value> = morning.waiting.iter().map(waits).collect();
    let later = |later: &Later| {
        json!({
            "animal": later.patient.animal.name,
            "prescription": later.script.prescription.reference,
            "dose": later.dose,
            "due": due(later.due),
            "opens": later.opens,
            "words": later.words(zone),
        })
    };
    let value = json!({
        "demonstration": demonstration,
        "book": true,
        "day": morning.day,
        "now": morning.now,
        "zone": zone.name(),
        "waiting": waiting,
        "later_today": morning.later.iter().map(later).collect::<Vec<_>>(),
        "next_dose": morning.next.as_ref().map(later),
    });
    text_with_commands(value, common)
}

/// Where there is no book yet: how to begin.
pub fn no_book(words: &str, commands: &[String]) -> String {
    text(&json!({
        "demonstration": false,
        "book": false,
        "waiting": [{
            "code": code(Kind::Begin),
            "animal": null,
            "prescription": null,
            "dose": null,
            "words": words,
            "next": { "words": "", "commands": commands },
        }],
    }))
}

fn waits(waits: &Waiting) -> Value {
    json!({
        "code": code(waits.kind),
        "animal": waits.patient.map(|patient| &patient.animal.name),
        "prescription": waits.script.map(|script| &script.prescription.reference),
        "dose": waits.dose,
        "words": waits.words,
        "next": { "words": waits.step.words, "commands": waits.step.commands },
    })
}

/// A stable name for machines.
const fn code(kind: Kind) -> &'static str {
    match kind {
        Kind::Book => "book",
        Kind::Call => "call",
        Kind::Late => "late",
        Kind::NotRecorded => "not_recorded",
        Kind::Held => "held",
        Kind::ForTheVet => "for_the_vet",
        Kind::Open => "open",
        Kind::Weight => "weight",
        Kind::Bottle => "bottle",
        Kind::FollowUp => "follow_up",
        Kind::Instruction => "instruction",
        Kind::Begin => "begin",
    }
}
