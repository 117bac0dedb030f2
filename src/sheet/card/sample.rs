//! Invented cards for the tests: no such medicine, vet, animal or regimen exists.

use std::collections::{BTreeMap, BTreeSet};

use chrono::DateTime;

use crate::sheet::barrel::{End, Scale};
use crate::sheet::card::facts::{
    Action, Alarm, Bottle, Caution, Condition, Facts, Mark, Needed, Panel, Phrase, Prepare, Rung,
    Turn, Vet, VetWords, Weight,
};

/// 0.3 mL, a line every 0.005 mL, numbered every 0.05 mL.
pub fn small_barrel(mark: u32) -> Scale {
    barrel(
        60,
        mark,
        &["0.05", "0.1", "0.15", "0.2", "0.25", "0.3"],
        End::Needle,
    )
}

/// 1 mL, a line every 0.01 mL, numbered every 0.1 mL.
pub fn oral_barrel(mark: u32) -> Scale {
    let labels = [
        "0.1", "0.2", "0.3", "0.4", "0.5", "0.6", "0.7", "0.8", "0.9", "1",
    ];
    barrel(100, mark, &labels, End::Tip)
}

fn barrel(lines: u32, mark: u32, labels: &[&str], end: End) -> Scale {
    let labels: BTreeMap<u32, String> = (1..)
        .map(|n| n * 10)
        .zip(labels.iter().map(|&label| label.to_owned()))
        .collect();
    let medium: BTreeSet<u32> = (1..=lines).filter(|line| line % 5 == 0).collect();
    Scale::new(lines, mark, labels, medium, end).unwrap()
}

pub fn mark(figure: &str, scale: Option<Scale>) -> Mark {
    Mark {
        conditions: Vec::new(),
        before: None,
        figure: figure.to_owned(),
        unit: Some("mL".to_owned()),
        below: None,
        draws: None,
        scale,
    }
}

fn rungs(rows: &[(&str, &str, bool, bool)]) -> Vec<Rung> {
    rows.iter()
        .map(|&(weights, mark, call, today)| Rung {
            weights: weights.to_owned(),
            mark: (!mark.is_empty()).then(|| mark.to_owned()),
            call,
            today,
        })
        .collect()
}

fn owned(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

fn said(lead: &str, words: &str) -> VetWords {
    VetWords {
        lead: lead.to_owned(),
        words: words.to_owned(),
    }
}

pub fn caution(weight: Weight, words: &str) -> Caution {
    Caution {
        weight,
        words: words.to_owned(),
    }
}

const PHONE: &str = "555 0134 (not a number)";

/// A dose as it should be.
pub fn normal() -> Panel {
    Panel {
        alarms: Vec::new(),
        animal: "Thimblo".to_owned(),
        identification: "tub 4, white spot on left shoulder".to_owned(),
        last_dose: "given Tue 6 March 08:10, site A, right side".to_owned(),
        course: "course DEMO-0001, dose 2 of 4".to_owned(),
        vet: None,
        medicine: "Madeup Amber".to_owned(),
        bottle: Some("bottle 1".to_owned()),
        must_read: Some("8 mg/mL".to_owned()),
        it_reads: None,
        measure: Some((
            "Syringe".to_owned(),
            "0.3 mL, fixed needle, 0.005 mL lines".to_owned(),
        )),
        action: Action::Mark(mark("0.075", Some(small_barrel(15)))),
        place: Some("under the skin, site B, left side".to_owned()),
        weight: Phrase::new()
            .bold("46 g")
            .plain(" on Wed 7 March, 1 day old"),
        when: Phrase::new()
            .plain("due ")
            .bold("20:00")
            .plain(", from ")
            .bold("14:10")
            .plain(" until ")
            .bold("02:00")
            .plain(" Fri 9 March"),
        ladder: rungs(&[
            ("37 to 38 g", "0.06 mL", true, false),
            ("39 to 41 g", "0.065 mL", true, false),
            ("42 g", "0.07 mL", true, false),
            ("43 to 44 g", "0.07 mL", false, false),
            ("45 to 47 g", "0.075 mL", false, true),
            ("48 to 50 g", "0.08 mL", false, false),
            ("51 to 53 g", "0.085 mL", false, false),
            ("54 to 55 g", "0.09 mL", false, false),
        ]),
        working: owned(&[
            "13 mg/kg × 46 g = 0.598 mg; at 8 mg/mL, 0.07475 mL.",
            "Line 0.075 mL holds 0.6 mg, about 0.334 percent more.",
        ]),
        cautions: vec![caution(
            Weight::Caution,
            "Discard bottle 1 after 10 March (your vet’s limit).",
        )],
        vet_words: vec![
            said("", "Demonstration note A."),
            said("Stop and call if", "Demonstration sign A."),
        ],
    }
}

/// The bottle in hand reads otherwise.
pub fn stop() -> Panel {
    Panel {
        alarms: vec![Alarm::Stop {
            what: "Wrong strength in hand".to_owned(),
            phone: PHONE.to_owned(),
        }],
        last_dose: "given Tue 6 March 08:14, by mouth".to_owned(),
        course: "course DEMO-0002, dose 3 of 5".to_owned(),
        medicine: "Madeup Dusk".to_owned(),
        bottle: None,
        it_reads: Some("10 mg/mL".to_owned()),
        measure: None,
        action: Action::NoMark {
            why: "draw nothing from bottle 4".to_owned(),
            ask_vet: true,
        },
        place: None,
        when: Phrase::new()
            .plain("opens ")
            .bold("14:14")
            .plain(": call before then. Closes ")
            .bold("02:00")
            .plain(" Fri 9 March"),
        ladder: Vec::new(),
        working: Vec::new(),
        cautions: Vec::new(),
        vet_words: Vec::new(),
        ..normal()
    }
}

/// Lost too much weight.
pub fn call() -> Panel {
    Panel {
        alarms: vec![Alarm::Call {
            what: "Nubbet weighs 12 percent less".to_owned(),
            phone: PHONE.to_owned(),
            measured: Phrase::new()
                .bold("50 g")
                .plain(" on Mon 5 March, ")
                .bold("44 g")
                .plain(" today"),
        }],
        animal: "Nubbet".to_owned(),
        identification: "tub 9, quarantine, no tail tip".to_owned(),
        last_dose: "given Tue 6 March 08:20, by mouth".to_owned(),
        course: "course DEMO-0003, dose 3 of 6".to_owned(),
        medicine: "Madeup Cobalt".to_owned(),
        bottle: Some("bottle 2".to_owned()),
        must_read: Some("4 mg/mL".to_owned()),
        measure: Some((
            "Syringe".to_owned(),
            "1 mL for the mouth, 0.01 mL lines".to_owned(),
        )),
        action: Action::Mark(Mark {
            conditions: vec![Condition::AfterCall],
            ..mark("0.36", Some(oral_barrel(36)))
        }),
        place: Some("by mouth".to_owned()),
        weight: Phrase::new().bold("44 g").plain(" today, Thu 8 March"),
        ladder: rungs(&[
            ("36 g", "0.3 mL", true, false),
            ("41 g", "0.34 mL", true, false),
            ("42 to 43 g", "0.35 mL", true, false),
            ("44 g", "0.36 mL", true, true),
            ("45 g", "0.37 mL", true, false),
            ("46 g", "0.38 mL", false, false),
            ("47 g", "0.39 mL", false, false),
        ]),
        working: owned(&[
            "33 mg/kg × 44 g = 1.452 mg; at 4 mg/mL, 0.363 mL.",
            "Line 0.36 mL holds 1.44 mg, about 0.826 percent less.",
        ]),
        cautions: vec![caution(
            Weight::Call,
            "12 percent below the 28-day high; limit 10 percent (the program’s setting, not your \
             vet’s).",
        )],
        vet_words: vec![
            said("", "Demonstration note B."),
            said("Stop and call if", "Demonstration sign A."),
        ],
        ..normal()
    }
}

/// A day of three doses for two animals.
pub fn card() -> Facts {
    Facts {
        day: "Thursday 8 March 2001".to_owned(),
        day_short: "Thu 8 March 2001".to_owned(),
        made: DateTime::parse_from_rfc3339("2001-03-08T07:30:00+01:00").unwrap(),
        version: "scruple 0.1".to_owned(),
        book_code: "K7M4-R2".to_owned(),
        demonstration: true,
        vets: vec![Vet {
            name: "Dr A. Example".to_owned(),
            practice: "Example Practice (invented)".to_owned(),
            phone: PHONE.to_owned(),
            out_of_hours: Some("555 0199".to_owned()),
        }],
        prepare: Prepare {
            calls: vec![
                Phrase::new()
                    .bold("Nubbet")
                    .plain(" weighs 12 percent less than on Mon 5 March: give at all?"),
                Phrase::new()
                    .bold("Madeup Dusk")
                    .plain(", bottle 4 reads 10 mg/mL, prescription 8 mg/mL: what now?"),
            ],
            bottles: vec![
                Bottle {
                    medicine: "Madeup Amber".to_owned(),
                    which: "bottle 1, for injection".to_owned(),
                    must_read: "8 mg/mL".to_owned(),
                    it_reads: None,
                    needed: Needed::Draws {
                        words: "2 draws".to_owned(),
                        total: Some("0.105 mL in all".to_owned()),
                    },
                    discard_after: Some("Sat 10 March".to_owned()),
                    remark: None,
                },
                Bottle {
                    medicine: "Madeup Dusk".to_owned(),
                    which: "bottle 4, for the mouth".to_owned(),
                    must_read: "8 mg/mL".to_owned(),
                    it_reads: Some("10 mg/mL".to_owned()),
                    needed: Needed::NoMark,
                    discard_after: Some("Thu 22 March".to_owned()),
                    remark: Some("set aside, closed".to_owned()),
                },
                Bottle {
                    medicine: "Madeup Cobalt".to_owned(),
                    which: "bottle 2, for the mouth".to_owned(),
                    must_read: "4 mg/mL".to_owned(),
                    it_reads: None,
                    needed: Needed::Draws {
                        words: "1 draw, after the call".to_owned(),
                        total: None,
                    },
                    discard_after: Some("Sun 18 March".to_owned()),
                    remark: None,
                },
            ],
            things: vec![
                Phrase::new()
                    .bold("1")
                    .plain(" syringe of 0.3 mL, fixed needle, a line every 0.005 mL"),
                Phrase::new()
                    .bold("1")
                    .plain(" syringe of 1 mL, for the mouth, a line every 0.01 mL"),
                Phrase::from("scale that reads 1 g; empty, it shows 0 g"),
                Phrase::new()
                    .bold("2")
                    .plain(" pairs of gloves, sharps box, pen"),
            ],
            turns: vec![
                Turn {
                    animal: "Thimblo".to_owned(),
                    identification: "tub 4, white spot on left shoulder".to_owned(),
                    lines: owned(&[
                        "Madeup Amber, under the skin",
                        "Madeup Dusk: NO MARK",
                        "weight 46 g, Wed 7 March",
                    ]),
                },
                Turn {
                    animal: "Nubbet".to_owned(),
                    identification: "tub 9, quarantine, no tail tip".to_owned(),
                    lines: owned(&[
                        "Madeup Cobalt, by mouth: only after the call",
                        "weight 44 g, today",
                    ]),
                },
            ],
            between: owned(&["new gloves", "scale cleaned", "bench cleaned"]),
            after: owned(&["gloves off", "scale cleaned", "sharps binned"]),
        },
        panels: vec![normal(), stop(), call()],
    }
}
