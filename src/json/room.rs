//! Animals, bottles and syringes for programs.

use crate::bottle::Usable;
use crate::entry::Entry;
use crate::json::quantity::{self, Quantity};
use crate::json::text;
use crate::ledger::{Ledger, Note, Patient};
use crate::rack::{PrintedScale, Use};
use crate::round::history::{taken_out_by, words};
use crate::round::stock::in_bottle;
use crate::schedule::Zone;
use chrono::{DateTime, NaiveDate, Utc};
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
pub(super) struct AnimalFacts<'l> {
    name: &'l str,
    species: &'l str,
    identification: &'l str,
    quarantine: bool,
    here: bool,
    latest_weight: Option<WeightFacts>,
}

#[derive(Serialize)]
struct WeightFacts {
    weight: Quantity,
    written: String,
    at: DateTime<Utc>,
    tag: Option<&'static str>,
    age_days: Option<u32>,
}

/// Who an animal is and what it weighed last.
pub(super) fn facts(patient: &Patient, now: DateTime<Utc>, zone: Zone) -> AnimalFacts<'_> {
    let today = now.with_timezone(&zone).date_naive();
    AnimalFacts {
        name: &patient.animal.name,
        species: &patient.animal.species,
        identification: &patient.animal.identification,
        quarantine: patient.animal.quarantine,
        here: patient.end.is_none(),
        latest_weight: patient.weights.latest(now).map(|weighing| WeightFacts {
            weight: quantity::weight(&weighing.weight),
            written: weighing.weight.to_string(),
            at: weighing.at,
            tag: weighing.tag.map(crate::animal::Tag::words),
            age_days: weighing.age_in_days(today, zone),
        }),
    }
}

/// Every animal.
pub fn animals(ledger: &Ledger, now: DateTime<Utc>, zone: Zone, demonstration: bool) -> String {
    let animals: Vec<_> = ledger
        .animals
        .iter()
        .map(|patient| facts(patient, now, zone))
        .collect();
    text(&json!({ "demonstration": demonstration, "animals": animals }))
}

/// One animal with its weighings and courses.
pub fn animal(
    ledger: &Ledger,
    patient: &Patient,
    history: &[Entry],
    now: DateTime<Utc>,
    zone: Zone,
    demonstration: bool,
) -> String {
    let entries = history.iter().map(|entry| {
        let out = ledger.corrected.contains_key(&entry.seq);
        json!({
            "entry": entry.seq,
            "happened_at": entry.happened_at,
            "recorded_at": entry.recorded_at,
            "clock_given": entry.clock_given,
            "prescription": entry.course,
            "words": words(entry, zone),
            "struck_out_by": taken_out_by(history, entry.seq).filter(|_| out),
        })
    });
    let weighings = patient.weights.all().iter().map(|weighing| {
        json!({
            "weight": quantity::weight(&weighing.weight),
            "written": weighing.weight.text(),
            "at": weighing.at,
            "tag": weighing.tag.map(crate::animal::Tag::words),
            "entry": weighing.entry,
        })
    });
    let notes = patient.notes.iter().map(note);
    let courses = ledger.scripts_of(patient).map(|script| {
        json!({
            "reference": script.prescription.reference,
            "medicine": script.prescription.medicine.name,
        })
    });
    text(&json!({
        "demonstration": demonstration,
        "animal": facts(patient, now, zone),
        "weighings": weighings.collect::<Vec<Value>>(),
        "notes": notes.collect::<Vec<Value>>(),
        "courses": courses.collect::<Vec<Value>>(),
        "history": entries.collect::<Vec<Value>>(),
    }))
}

/// What somebody noted.
pub(super) fn note(note: &Note) -> Value {
    json!({
        "entry": note.entry,
        "at": note.at,
        "about": note.observation.about,
        "words": note.observation.words,
        "by": note.observation.by,
    })
}

/// Every bottle.
pub fn bottles(ledger: &Ledger, today: NaiveDate, zone: Zone, demonstration: bool) -> String {
    let bottles = ledger.bottles.iter().map(|container| {
        let bottle = &container.bottle;
        let held = in_bottle(ledger, container, None, today, zone);
        let left = held.left.filter(|_| container.ended.is_none());
        let usable = container.ended.is_none()
            && matches!(
                bottle.usable_on(today),
                Usable::Through(_) | Usable::NotYetOpen(_)
            );
        json!({
            "number": bottle.number,
            "medicine": bottle.medicine,
            "reads": bottle.strength.as_ref().map(quantity::strength),
            "written": bottle.strength.as_ref().map(ToString::to_string),
            "lot": bottle.lot,
            "opened": bottle.opened,
            "expiry": bottle.expiry,
            "use_through": bottle.last_day(),
            "usable": usable,
            "ended": container.ended,
            "left": left.map(quantity::measure),
            "batch": bottle.batch.as_ref().map(|batch| json!({
                "made_up": batch.made_up,
                "aliquots": batch.aliquots,
                "frozen": batch.frozen(),
                "thawed": batch.thawed,
            })),
        })
    });
    text(&json!({ "demonstration": demonstration, "bottles": bottles.collect::<Vec<Value>>() }))
}

/// Every syringe.
pub fn syringes(ledger: &Ledger, demonstration: bool) -> String {
    let syringes = ledger.syringes.iter().map(|syringe| {
        let volume = |volume| quantity::measure(crate::quantity::Measure::Volume(volume));
        json!({
            "barrel": syringe.short(),
            "capacity": volume(syringe.capacity()),
            "graduation": volume(syringe.graduation()),
            "for": match syringe.used_for() { Use::Injection => "injection", Use::Mouth => "mouth" },
            "scale": match syringe.scale() {
                PrintedScale::Millilitres => "mL",
                PrintedScale::InsulinU100 => "U-100",
            },
            "hub_loss": volume(syringe.hub_loss()),
            "words": syringe.words(),
        })
    });
    text(&json!({ "demonstration": demonstration, "syringes": syringes.collect::<Vec<Value>>() }))
}
