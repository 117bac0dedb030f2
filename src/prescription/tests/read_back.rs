//! What a person hears before anything is kept.

use super::{BASE, changed, read};
use crate::notation::prone::error_prone;

#[test]
fn the_base_in_words() {
    let text = changed(&[(
        "    weigh_every",
        "    if_missed: \"Ring the practice.\",
    stop_and_call_if: [\"Sign A\"],
    vet_notes: [\"Note A\"],
    max_dose: \"2 mg\", max_per_site: \"0.1 mL\", round: Down, tolerance: \"10 percent\",
    window: \"6 hours\", start: \"2001-03-06 08:00\", weigh: BeforeEachDose, count: Given,
    same_as: [\"Madeup Ambra\"], weighed: [Weighed(animal: \"Nubbet\", weight: \"41 g\")],
    follow_ups: [FollowUp(what: \"droppings\", when: AfterLastDose(\"14 days\"))],
    weigh_every",
    )]);
    assert_eq!(
        read(&text).read_back(),
        [
            "DEMONSTRATION: this medicine, this vet and these animals are invented",
            "Prescription DEMO-0001, written on Monday 5 March 2001",
            "Valid until Tuesday 5 June 2001",
            "Vet: Dr A. Example, Example Practice (invented)",
            "To call: 555 0134 (not a number)",
            "For Thimblo and Nubbet",
            "Your vet's weight for Nubbet: 41 g",
            "Medicine: Madeup Amber, \"solution for injection\"",
            "Strength: 8 mg/mL",
            "The same medicine as Madeup Ambra",
            "Dose: 13 mg/kg of body weight, each time",
            "Never more than 2 mg in one dose",
            "The label says 0.052 mL at 32 g: that agrees",
            "How: by injection, \"under the skin\"",
            "Sites, in turn: A, left; B, right",
            "At most 0.1 mL in one site",
            "The mark is rounded down, as your vet wrote",
            "The mark may be up to 10 percent from the calculated dose, as your vet wrote",
            "When: every 60 hours, 4 doses; a dose that is not given is added at the end",
            "Counted by elapsed hours: when the clocks change, the hour of the dose shifts",
            "First dose: Tuesday 6 March 2001 at 08:00",
            "A dose may be given up to 6 hours before or after its time",
            "After a late dose, the later doses are counted from it",
            "The dose goes by the latest weight",
            "Weigh before each dose",
            "A weight is good for 7 days, as your vet wrote",
            "If a dose is missed: \"Ring the practice.\"",
            "Stop and call if: \"Sign A\"",
            "Your vet's note: \"Note A\"",
            "Then: \"droppings\", 14 days after the last dose given",
        ]
    );
}

#[test]
fn what_is_left_open_is_said_to_be_open() {
    let text = changed(&[
        ("    valid_until: \"2001-06-05\",\n", ""),
        ("    weigh_every: \"7 days\",\n", ""),
        (
            "    sites: [Site(\"A\", \"left\"), Site(\"B\", \"right\")],\n",
            "",
        ),
        ("Injection(\"under the skin\")", "ByMouth"),
    ]);
    let said = read(&text).read_back();
    for line in [
        "No last day is written on which it is valid",
        "First dose: no day is written",
        "No window is written: how early and how late a dose may be is the program's rule, not your vet's",
        "How old a weight may be is not written: the program's setting holds, not your vet's",
        "If a dose is missed: nothing is written; ask your vet",
        "If a dose is brought up: nothing is written; give no more and ask your vet",
        "Signs at which to stop and call: none are written; ask your vet",
    ] {
        assert!(said.iter().any(|said| said == line), "{line}: {said:#?}");
    }
}

#[test]
fn elapsed_and_clock_time_are_told_apart() {
    let counted = |schedule: &str, start: &str| {
        let text = changed(&[
            ("Every(interval: \"60 hours\", doses: 4)", schedule),
            ("CountFromGiven", "KeepCalendar"),
            ("    weigh_every", &format!("{start}    weigh_every")),
        ]);
        let said = read(&text).read_back();
        let counted = said.iter().filter(|line| line.contains("ounted by"));
        counted.cloned().collect::<Vec<_>>()
    };
    let elapsed = "Counted by elapsed hours: when the clocks change, the hour of the dose shifts";
    let clock = "Counted by the clock: the hour of the dose stays when the clocks change";
    let dates =
        "Counted by dates; if the first dose has an hour, the later ones keep it by the clock";
    let at_8 = "    start: \"2001-03-06 08:00\",\n";
    assert_eq!(
        counted("Every(interval: \"72 hours\", doses: 4)", ""),
        [elapsed]
    );
    assert_eq!(
        counted("Every(interval: \"72 hours\", doses: 4)", at_8),
        [elapsed]
    );
    assert_eq!(
        counted("Every(interval: \"3 days\", doses: 4)", ""),
        [dates]
    );
    assert_eq!(
        counted("Every(interval: \"3 days\", doses: 4)", at_8),
        [clock]
    );
    assert_eq!(counted("AtTimes(times: [\"08:00\"], days: 4)", ""), [clock]);
    assert_eq!(
        counted("Weekly(days: [\"Monday\"], time: \"08:00\", doses: 4)", ""),
        [clock]
    );
    assert_eq!(counted("Weekly(days: [\"Monday\"], doses: 4)", ""), [dates]);
    assert_eq!(counted("OnceThenAgain(after: \"14 days\")", at_8), [clock]);
    assert_eq!(counted("Once", ""), [] as [&str; 0]);
}

#[test]
fn a_dose_for_each_phase() {
    let text = changed(&[
        ("    dose: PerBodyWeight(\"13 mg/kg\"),\n", ""),
        ("    label_check: LabelCheck(weight: \"32 g\", volume: \"0.052 mL\"),\n", ""),
        (
            "Every(interval: \"60 hours\", doses: 4)",
            "Phases([
                Phase(dose: PerDay(\"26 mg/kg per day in 2 doses\"), schedule: AtTimes(times: [\"08:00\", \"20:00\"], days: 2)),
                Phase(gap: \"2 days\", dose: Fixed(\"0.5 mg\"), schedule: Every(interval: \"60 hours\", doses: 3)),
            ])",
        ),
        ("CountFromGiven", "Call"),
    ]);
    let said = read(&text).read_back();
    for line in [
        "Dose in part 1: 26 mg/kg per day in 2 doses, by body weight: each dose is the day's total divided by 2",
        "Dose in part 2: 0.5 mg each time, whatever the animal weighs",
        "When: every day at 08:00 and 20:00, for 2 days (4 doses); then, 2 days later, every 60 hours, 3 doses",
        "Part 1 is counted by the clock: the hour of the dose stays when the clocks change",
        "Part 2 is counted by elapsed hours: when the clocks change, the hour of the dose shifts",
        "A late dose is not given without calling the vet",
    ] {
        assert!(said.iter().any(|said| said == line), "{line}: {said:#?}");
    }
}

#[test]
fn a_label_that_is_apart_is_pointed_out() {
    // 13 x 0.032 divided by 8 is 0.052 mL; 0.0557 is 37/520 above it.
    let said = read(&changed(&[("\"0.052 mL\"", "\"0.0557 mL\"")])).read_back();
    let line = said.iter().find(|line| line.starts_with("The label says"));
    assert_eq!(
        line.unwrap(),
        "The label says 0.0557 mL at 32 g: about 7.1 percent more than dose, weight and strength come to; pointed out above 5 percent (the program's setting, not your vet's): ask your vet"
    );
}

/// Promise 11, and rule 42: the words in quotation marks are the vet's own and stay as written.
#[test]
fn the_programs_words_are_safe_and_the_vets_are_kept() {
    let text = changed(&[(
        "    weigh_every",
        "    vet_notes: [\"Give QD @ noon.\"], max_dose: \"1300 mg\",\n    weigh_every",
    )]);
    for text in [text.as_str(), BASE] {
        for line in read(text).read_back() {
            let own: String = line.split('"').step_by(2).collect();
            assert_eq!(error_prone(&own), [], "{line}");
            assert!(!own.ends_with('.'), "{line}");
        }
    }
    let said = read(&text).read_back();
    assert!(
        said.iter()
            .any(|line| line == "Your vet's note: \"Give QD @ noon.\"")
    );
    assert!(
        said.iter()
            .any(|line| line == "Never more than 1,300 mg in one dose")
    );
}
