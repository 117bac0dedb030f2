#![allow(clippy::unwrap_used)]
use crate::prescription::Prescription;

const SAMPLE: &str = r#"
Prescription(
    demonstration: true, // invented: no such medicine, vet or animal exists
    reference: "DEMO-0001",
    written: "2001-03-05", valid_until: "2001-06-05",
    vet: Vet(name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)"),
    animals: ["Thimblo", "Nubbet"],
    medicine: Medicine(name: "Madeup Amber", form: "solution for injection", strength: "8 mg/mL"),
    dose: PerBodyWeight("13 mg/kg"),
    route: Injection("under the skin"), sites: [Site("A", "left"), Site("B", "right")],
    schedule: Every(interval: "60 hours", doses: 4),
    after_late: CountFromGiven,
    weigh_every: "7 days",
    if_missed: "Demonstration instruction: ring the practice.",
    stop_and_call_if: ["Demonstration sign A"],
    vet_notes: ["Demonstration note A"], // beside these: start, window, max_dose, tolerance, round, weight_basis, weigh, count, same_as, follow_ups...
    label_check: LabelCheck(weight: "32 g", volume: "0.052 mL"),
)
"#;

#[test]
fn the_form_of_the_design_is_read() {
    let p = Prescription::read(SAMPLE, "script.ron")
        .map_err(|f| f.render(false))
        .unwrap();
    assert_eq!(p.reference, "DEMO-0001");
}

#[test]
fn show() {
    let p = Prescription::read(SAMPLE, "script.ron").unwrap();
    for l in p.read_back() {
        println!("{l}");
    }
}
