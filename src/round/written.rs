//! What the vet wrote that belongs beside a dose on every face: rules in the form's own words, then
//! the vet's words as they stand.
//!
//! Promises: nothing is computed and nothing left out; a dose that is in words has its recipe in
//! order and room for when it was started and stopped.

use crate::prescription::Prescription;

/// What the vet wrote, in the form's own words, that belongs beside a dose.
pub fn vet_rules(prescription: &Prescription) -> Vec<String> {
    let medicine = &prescription.medicine;
    let mut rules = Vec::new();
    if let Some(vial) = &medicine.vial {
        rules.push(format!(
            "The vial holds {}; made up with {} of \"{}\" it must read the strength above",
            vial.holds, vial.add, vial.with
        ));
    }
    if let Some(made) = &medicine.made_up {
        rules.push(format!(
            "Made up from {}: to each {} of it, {} of \"{}\"",
            made.from, made.take, made.add, made.with
        ));
    }
    if let Some(day) = &prescription.max_per_day {
        rules.push(format!("Never more than {day} in one day"));
    }
    if let Some(apart) = prescription.apart {
        rules.push(format!(
            "{apart} between this and anything else in the same place"
        ));
    }
    if let Some(lasts) = prescription.lasts {
        rules.push(format!(
            "From start to stop: {lasts}. Started at ____; stopped at ____"
        ));
    }
    rules
}

/// The vet's own words that belong beside a dose: what leads them, and the words.
pub fn vet_words(prescription: &Prescription) -> Vec<(&'static str, &str)> {
    let mut words: Vec<(&'static str, &str)> = Vec::new();
    words.extend(prescription.recipe.iter().map(|w| ("Then", w.as_str())));
    if let Some((first, _)) = words.first_mut() {
        *first = "First";
    }
    words.extend(
        prescription
            .stop_and_call_if
            .iter()
            .map(|w| ("Stop and call if", w.as_str())),
    );
    words.extend(
        prescription
            .if_brought_up
            .iter()
            .map(|w| ("If it is brought up", w.as_str())),
    );
    words.extend(
        prescription
            .if_missed
            .iter()
            .map(|w| ("If a dose is missed", w.as_str())),
    );
    words.extend(prescription.vet_notes.iter().map(|w| ("", w.as_str())));
    words
}
