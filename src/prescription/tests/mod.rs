#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]
//! The form, field by field: what is read, what is not accepted and where it says so.

mod accepted;
mod disagreeing;
mod hostile;
mod not_accepted;
mod read_back;

use crate::prescription::{Faults, Prescription};

/// A prescription with one field a line; the tests change one line at a time.
const BASE: &str = r#"Prescription(
    demonstration: true,
    reference: "DEMO-0001",
    written: "2001-03-05",
    valid_until: "2001-06-05",
    vet: Vet(name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)"),
    animals: ["Thimblo", "Nubbet"],
    medicine: Medicine(name: "Madeup Amber", form: "solution for injection", strength: "8 mg/mL"),
    dose: PerBodyWeight("13 mg/kg"),
    route: Injection("under the skin"),
    sites: [Site("A", "left"), Site("B", "right")],
    schedule: Every(interval: "60 hours", doses: 4),
    after_late: CountFromGiven,
    weigh_every: "7 days",
    label_check: LabelCheck(weight: "32 g", volume: "0.052 mL"),
)
"#;

/// The base with each pair's first text replaced by its second; a first text that is not there
/// would test nothing.
fn changed(changes: &[(&str, &str)]) -> String {
    let mut text = BASE.to_owned();
    for (from, to) in changes {
        assert_eq!(text.matches(from).count(), 1, "{from}");
        text = text.replace(from, to);
    }
    text
}

fn read(text: &str) -> Prescription {
    match Prescription::read(text, "script.ron") {
        Ok(prescription) => prescription,
        Err(faults) => panic!("{}", faults.render(false)),
    }
}

fn faults(text: &str) -> Faults {
    match Prescription::read(text, "script.ron") {
        Ok(_) => panic!("accepted: {text}"),
        Err(faults) => faults,
    }
}

/// "9:25" for each fault.
fn places(faults: &Faults) -> Vec<String> {
    let list = faults.list().iter();
    list.map(|fault| format!("{}:{}", fault.line, fault.column))
        .collect()
}
