//! What the sheets beside the day's card say, for programs.
//!
//! Promises: the facts that stand on the paper, from the same places; a mark beyond today is only
//! ever words, and `provisional` says so. Does not: give a figure to draw to; today's card does.

use crate::json::check::{follow_up, need, verdict};
use crate::json::quantity;
use crate::json::room::facts;
use crate::json::round::{dose as day_dose, due, vet};
use crate::json::stock::supply;
use crate::json::text;
use crate::ledger::Ledger;
use crate::prescription::Vet;
use crate::round::stock::Supply;
use crate::round::{
    Ahead, DayDose, MarkAhead, Round, SlotAhead, WeighDay, here, mark_ahead, say, weigh_code,
};
use crate::schedule::Zone;
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use serde_json::{Value, json};

/// The animals to weigh, in order of work.
pub fn weighin(ledger: &Ledger, settings: &Settings, zone: Zone, now: DateTime<Utc>) -> String {
    let patients = here(ledger, settings, now);
    let animals = patients.iter().map(|patient| facts(patient, now, zone));
    text(&json!({
        "demonstration": settings.demonstration,
        "now": now,
        "zone": zone.name(),
        "book_code": weigh_code(&patients, now),
        "damaged": ledger.damaged,
        "scale": quantity::weight(&settings.readability),
        "animals": animals.collect::<Vec<_>>(),
    }))
}

/// A course as dates and ticks.
pub fn course(ahead: &Ahead, settings: &Settings, zone: Zone, now: DateTime<Utc>) -> String {
    let standing = &ahead.standing;
    let prescription = &standing.script.prescription;
    text(&json!({
        "demonstration": settings.demonstration || prescription.demonstration,
        "now": now,
        "zone": zone.name(),
        "book_code": ahead.code,
        "animal": facts(standing.patient, now, zone),
        "prescription": prescription.reference,
        "medicine": prescription.medicine.name,
        "must_read": prescription.strength().map(quantity::strength),
        "verdict": verdict(&standing.course.verdict),
        "doses": ahead.slots.iter().map(|slot| slot_ahead(ahead, slot)).collect::<Vec<_>>(),
        "weigh_by": ahead.weigh_by,
        "weigh_every": ahead.weigh_every.map(|(days, whose)| json!({ "days": days, "whose": whose })),
        "weigh_before_each_dose": prescription.weigh_before_each_dose,
        "left": ahead.left.as_ref().map(need),
        "stock": ahead.supply.as_ref().map(supply),
        "follow_ups": ahead.follow_ups.iter().map(follow_up).collect::<Vec<_>>(),
        "vet": vet(&prescription.vet),
    }))
}

fn slot_ahead(ahead: &Ahead, slot: &SlotAhead) -> Value {
    let standing = &slot.slot;
    // A dose too many stands with the slot it is nearest to.
    let extras = ahead.standing.course.extras.iter();
    let extras = extras.filter(|extra| extra.nearest == standing.slot.number);
    let records = standing.records.iter().map(|record| record.id);
    let of_slot: Vec<u64> = records.chain(extras.map(|extra| extra.record.id)).collect();
    let doses = ahead.standing.patient.doses.iter();
    let records = doses
        .filter(|dose| of_slot.contains(&dose.entry))
        .map(|dose| {
            json!({
                "entry": dose.entry, "at": dose.happened, "outcome": dose.record.outcome,
                "by": dose.record.by,
            })
        });
    json!({
        "dose": standing.slot.number,
        "due": due(standing.due),
        "state": standing.state.to_string(),
        "written_dose": slot.dose.text(),
        "mark_ahead": slot.mark.as_ref().map(mark),
        "records": records.collect::<Vec<_>>(),
    })
}

fn mark(mark: &MarkAhead) -> Value {
    json!({
        "words": mark.words,
        "is_mark": mark.is_mark,
        "provisional": mark.provisional,
        "call_first": mark.call_first,
        "by_weight": mark.weight,
    })
}

/// What a sitter is handed: consecutive days from today on, the weighings in them, what is in hand.
pub fn handover(days: &[Round], weigh: &[WeighDay], stock: &[Supply], code: &str) -> String {
    let first = days.first();
    let doses = || days.iter().flat_map(|round| &round.doses);
    let mut vets: Vec<&Vet> = Vec::new();
    for dose in doses() {
        let vet = &dose.script.prescription.vet;
        if !vets.contains(&vet) {
            vets.push(vet);
        }
    }
    let needed = stock.iter().filter(|supply| {
        let mut doses = doses();
        doses.any(|dose| supply.is_of(dose.patient, dose.script))
    });
    let each = days.iter().map(|round| {
        let today = first.map_or(round.day, |first| first.day);
        let weighings = weigh.iter().filter(|weigh| weigh.on == round.day);
        json!({
            "day": round.day,
            "weigh": weighings.map(|weigh| json!({
                "animal": weigh.patient.animal.name,
                "that_day": weigh.that_day,
            })).collect::<Vec<_>>(),
            "doses": round.doses.iter().map(|dose| day_ahead(dose, round, today)).collect::<Vec<_>>(),
            "beside": round.beside.iter().map(|beside| json!({
                "animal": beside.patient.animal.name,
                "prescription": beside.script.prescription.reference,
                "follow_up": follow_up(&beside.follow_up),
            })).collect::<Vec<_>>(),
        })
    });
    text(&json!({
        "demonstration": first.is_some_and(|round| round.settings.demonstration),
        "now": first.map(|round| round.now),
        "zone": first.map(|round| round.zone.name()),
        "book_code": code,
        "damaged": first.map(|round| &round.damaged),
        "vets": vets.into_iter().map(vet).collect::<Vec<_>>(),
        "days": each.collect::<Vec<_>>(),
        "stock": needed.map(supply).collect::<Vec<_>>(),
    }))
}

fn day_ahead(dose: &DayDose, round: &Round, today: NaiveDate) -> Value {
    let ahead = mark_ahead(dose, round.day, today);
    let mut value = day_dose(dose, round.now);
    if let Value::Object(keys) = &mut value {
        // What is worked out for a day to come is not drawn to.
        keys.remove("worked");
        let shown = dose.dose.is_measured() || ahead.is_held();
        keys.insert("mark_ahead".to_owned(), json!(shown.then(|| mark(&ahead))));
        let words = say::vet_words(&dose.script.prescription);
        let words = words
            .into_iter()
            .map(|(lead, words)| json!({ "about": lead, "words": words }));
        keys.insert("vet_words".to_owned(), words.collect());
    }
    value
}
