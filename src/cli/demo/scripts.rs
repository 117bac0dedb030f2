//! The demonstration's prescriptions, all invented: no such medicine, vet or animal exists, and
//! the numbers are chosen not to look like a real regimen.

/// One prescription without its dates.
pub(super) struct Script {
    /// Its reference.
    pub reference: &'static str,
    /// Everything from `animals` on.
    rest: &'static str,
}

/// Open now.
pub(super) const AMBER: Script = Script {
    reference: "DEMO-0001",
    rest: r#"    animals: ["Thimblo"],
    medicine: Medicine(name: "Madeup Amber", form: "solution for injection", strength: "8 mg/mL"),
    dose: PerBodyWeight("13 mg/kg"),
    route: Injection("under the skin"), sites: [Site("A", "left"), Site("B", "right")],
    schedule: Every(interval: "60 hours", doses: 4),
    after_late: CountFromGiven,
    weigh_every: "7 days",
    if_missed: "Demonstration instruction: ring the practice.",
    stop_and_call_if: ["Demonstration sign A"],
    vet_notes: ["Demonstration note A"],
    label_check: LabelCheck(weight: "46 g", volume: "0.075 mL"),
"#,
};

/// Late.
pub(super) const COBALT: Script = Script {
    reference: "DEMO-0002",
    rest: r#"    animals: ["Quillo"],
    medicine: Medicine(name: "Madeup Cobalt", form: "suspension", strength: "26 mg/mL"),
    dose: PerBodyWeight("37 mg/kg"),
    route: ByMouth,
    schedule: Every(interval: "36 hours", doses: 5),
    after_late: KeepCalendar,
    if_brought_up: "Demonstration instruction: do not repeat it; ring the practice.",
    stop_and_call_if: ["Demonstration sign B"],
"#,
};

/// The new bottle reads differently.
pub(super) const DUSK: Script = Script {
    reference: "DEMO-0003",
    rest: r#"    animals: ["Ossin"],
    medicine: Medicine(name: "Madeup Dusk", form: "solution for the mouth", strength: "9 mg/mL"),
    dose: PerBodyWeight("7 mg/kg"),
    route: ByMouth,
    schedule: Every(interval: "54 hours", doses: 6),
    after_late: Call,
    stop_and_call_if: ["Demonstration sign A"],
"#,
};

/// The weight is old.
pub(super) const ELM: Script = Script {
    reference: "DEMO-0004",
    rest: r#"    animals: ["Brackle"],
    medicine: Medicine(name: "Madeup Elm", form: "suspension", strength: "14 mg/mL"),
    dose: PerBodyWeight("41 mg/kg"),
    route: ByMouth,
    schedule: Every(interval: "3 days", doses: 5),
    after_late: KeepCalendar,
    vet_notes: ["Demonstration note B"],
"#,
};

/// Too small for any syringe at hand.
pub(super) const FROST: Script = Script {
    reference: "DEMO-0005",
    rest: r#"    animals: ["Nubbet"],
    medicine: Medicine(name: "Madeup Frost", form: "solution for the mouth", strength: "11 mg/mL"),
    dose: PerBodyWeight("3 mg/kg"),
    route: ByMouth,
    schedule: Every(interval: "66 hours", doses: 3),
    after_late: Call,
"#,
};

/// A loss of weight that means "call".
pub(super) const GARNET: Script = Script {
    reference: "DEMO-0006",
    rest: r#"    animals: ["Mossop"],
    medicine: Medicine(name: "Madeup Garnet", form: "tablets", strength: "50 mg per tablet"),
    dose: PerBodyWeight("20.3 mg/kg"),
    tablets: Quarters,
    route: ByMouth,
    schedule: Every(interval: "42 hours", doses: 4),
    after_late: CountFromGiven,
    stop_and_call_if: ["Demonstration sign C"],
"#,
};

/// The whole file, with its dates.
pub(super) fn dated(script: &Script, written: &str, valid_until: &str) -> String {
    format!(
        r#"// Invented, to try scruple with: no such medicine, vet or animal exists.
Prescription(
    demonstration: true,
    reference: "{}",
    written: "{written}", valid_until: "{valid_until}",
    vet: Vet(name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)", out_of_hours: "555 0199 (not a number)"),
{})
"#,
        script.reference, script.rest
    )
}

/// A prescription that is not in the room's book yet.
pub(super) fn to_try(written: String, valid_until: String) -> String {
    let script = Script {
        reference: "DEMO-0007",
        rest: r#"    animals: ["Thimblo", "Brackle"],
    medicine: Medicine(name: "Madeup Heath", form: "suspension", strength: "17 mg/mL"),
    dose: PerBodyWeight("29 mg/kg"),
    route: ByMouth,
    schedule: Every(interval: "5 days", doses: 3),
    after_late: KeepCalendar,
    weigh_every: "6 days",
    vet_notes: ["Demonstration note C"],
"#,
    };
    dated(&script, &written, &valid_until)
}
