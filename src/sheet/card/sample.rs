//! Invented cards for the tests: no such medicine, vet, animal or regimen exists.
#![allow(clippy::unwrap_used)]

use chrono::DateTime;

use crate::rack::Needle;
use crate::sheet::barrel::Scale;
use crate::sheet::barrel::tests as barrels;
use crate::sheet::card::facts::{
    Action, Alarm, Bottle, Caution, Condition, Facts, Here, Mark, Needed, Panel, Phrase, Prepare,
    Rung, Turn, Vet, VetWords, Weight,
};

pub fn mark(figure: &str, scale: Option<Scale>) -> Mark {
    Mark {
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
            here: today.then_some(Here::Today),
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
        demonstration: true,
        alarms: Vec::new(),
        animal: "Thimblo".to_owned(),
        identification: "tub 4, white spot on left shoulder".to_owned(),
        alike: None,
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
        conditions: Vec::new(),
        act: "Draw to".to_owned(),
        action: Action::Mark(mark("0.075", Some(barrels::small(15)))),
        place: Some("under the skin, site B, left side".to_owned()),
        spat_out: None,
        sites: Vec::new(),
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
            "13 mg/kg × 46 g = 0.598 mg; at 8 mg/mL, 0.07475 mL",
            "Line 0.075 mL holds 0.6 mg, about 0.334 percent more",
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
        conditions: vec![Condition::AfterCall],
        action: Action::Mark(mark("0.36", Some(barrels::large(36)))),
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
            "33 mg/kg × 44 g = 1.452 mg; at 4 mg/mL, 0.363 mL",
            "Line 0.36 mL holds 1.44 mg, about 0.826 percent less",
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
            practice: Some("Example Practice (invented)".to_owned()),
            phone: PHONE.to_owned(),
            out_of_hours: Some("555 0199".to_owned()),
        }],
        prepare: Prepare {
            warning: None,
            done: Vec::new(),
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
                    must_read: Some("8 mg/mL".to_owned()),
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
                    must_read: Some("8 mg/mL".to_owned()),
                    it_reads: Some("10 mg/mL".to_owned()),
                    needed: Needed::NoMark,
                    discard_after: Some("Thu 22 March".to_owned()),
                    remark: Some("set aside, closed".to_owned()),
                },
                Bottle {
                    medicine: "Madeup Cobalt".to_owned(),
                    which: "bottle 2, for the mouth".to_owned(),
                    must_read: Some("4 mg/mL".to_owned()),
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
                    then: owned(&[
                        "sharps binned",
                        "new gloves",
                        "scale cleaned",
                        "bench cleaned",
                    ]),
                },
                Turn {
                    animal: "Nubbet".to_owned(),
                    identification: "tub 9, quarantine, no tail tip".to_owned(),
                    lines: owned(&[
                        "Madeup Cobalt, by mouth: only after the call",
                        "weight 44 g, today",
                    ]),
                    then: owned(&["gloves off", "scale cleaned"]),
                },
            ],
        },
        panels: vec![normal(), stop(), call()],
    }
}

/// A scale whose figures are printed in insulin units.
pub fn insulin() -> Panel {
    Panel {
        measure: Some((
            "Syringe".to_owned(),
            "0.3 mL U-100, fixed needle, a line every half".to_owned(),
        )),
        conditions: vec![Condition::NotBefore("14:10".to_owned())],
        action: Action::Mark(Mark {
            before: Some("line".to_owned()),
            unit: None,
            below: Some("on the U-100 syringe (0.075 mL)".to_owned()),
            ..mark("7.5", Some(barrels::insulin(15)))
        }),
        ..normal()
    }
}

/// Late, and in several draws from a barrel of few lines.
pub fn late_in_draws() -> Panel {
    let scale = barrels::scale("2 mL", "0.2 mL", Needle::Tip, 9);
    Panel {
        must_read: None,
        bottle: None,
        medicine: "Madeup Saline".to_owned(),
        measure: Some(("Syringe".to_owned(), "2 mL, 0.2 mL lines".to_owned())),
        conditions: vec![Condition::Late],
        action: Action::Mark(Mark {
            draws: Some("4 draws, each to this mark, each at its own site".to_owned()),
            ..mark("1.8", Some(scale))
        }),
        when: Phrase::new()
            .bold("LATE")
            .plain(": was due ")
            .bold("08:00")
            .plain(", give until ")
            .bold("20:00")
            .plain(" today, else call"),
        ..normal()
    }
}

/// A barrel of more lines than can be drawn whole.
pub fn fine_barrel() -> Panel {
    let scale = barrels::scale("1 mL", "0.005 mL", Needle::Tip, 137);
    Panel {
        action: Action::Mark(mark("0.685", Some(scale))),
        ..normal()
    }
}

/// Of a tablet.
pub fn tablet() -> Panel {
    Panel {
        must_read: Some("50 mg per tablet".to_owned()),
        measure: Some(("Tablet".to_owned(), "cut in quarters".to_owned())),
        place: Some("by mouth".to_owned()),
        act: "Give".to_owned(),
        action: Action::Mark(Mark {
            unit: Some("tablet".to_owned()),
            ..mark("three quarters", None)
        }),
        ..normal()
    }
}

/// What the vet wants done, in the vet's words.
pub fn application() -> Panel {
    Panel {
        must_read: None,
        measure: None,
        place: Some("in each eye".to_owned()),
        act: "Apply".to_owned(),
        action: Action::Words("2 drops, then wait 5 minutes".to_owned()),
        ladder: Vec::new(),
        working: Vec::new(),
        ..normal()
    }
}

/// The weight is too old: no mark, the marks by weight, and what was given last.
pub fn stale() -> Panel {
    Panel {
        alarms: vec![Alarm::First {
            what: "Weigh now, then print a new card".to_owned(),
        }],
        action: Action::NoMark {
            why: "the weight is 30 days old: weigh, or ask your vet".to_owned(),
            ask_vet: false,
        },
        weight: Phrase::new()
            .bold("46 g")
            .plain(" on Tue 6 February, 30 days old"),
        ladder: normal()
            .ladder
            .into_iter()
            .map(|rung| Rung {
                here: rung.here.map(|_| Here::OldWeight),
                ..rung
            })
            .collect(),
        ..normal()
    }
}

const LONG: &str = "the second of the three in the tall glass tank beside the door, grey with one \
                    white toe on the left hind foot and a healed notch in the right ear";

/// Everything that can stand on a panel, all of it long.
pub fn crowded() -> Panel {
    let sentence = "a demonstration sentence that says what was measured, what the limit is and \
                    whose limit it is (the program’s setting, not your vet’s)";
    Panel {
        demonstration: true,
        act: "Draw to".to_owned(),
        alarms: vec![
            Alarm::Call {
                what: "Žofie Thimble of Exampleford weighs 12 percent less".to_owned(),
                phone: "555 0134 0134 (not a number, ask for night)".to_owned(),
                measured: Phrase::new()
                    .bold("1,250 g")
                    .plain(" (gravid) on Mon 5 March, ")
                    .bold("1,100 g")
                    .plain(" (just fed) today"),
            },
            Alarm::First {
                what: "Weigh now; then read the ladder, and draw to the mark of that row"
                    .to_owned(),
            },
        ],
        animal: "Žofie Thimble of Exampleford".to_owned(),
        identification: "the second of the three in the tall glass tank by the door, grey, one \
                         white toe"
            .to_owned(),
        last_dose: "given Tue 6 March 08:10, under the skin, site A, right side; 1 day and 12 \
                    hours ago"
            .to_owned(),
        course: "course DEMONSTRATION-2001-0000001, phase 2 of 3, dose 12 of 24".to_owned(),
        vet: Some("Dr Bartholomea Example-Exampleton, Example Practice".to_owned()),
        medicine: "Madeup Amber with Madeup Cobalt, extended".to_owned(),
        bottle: Some("bottle 12 of the second lot".to_owned()),
        must_read: Some("1,250,000 units per 12.5 mL".to_owned()),
        it_reads: None,
        measure: Some((
            "Syringe".to_owned(),
            "1 mL for the mouth, 0.01 mL lines, the one with the blue cap".to_owned(),
        )),
        conditions: vec![
            Condition::AfterCall,
            Condition::AfterWeighing,
            Condition::NotBefore("14:10".to_owned()),
            Condition::Late,
        ],
        action: Action::Mark(Mark {
            below: Some("the syringe with the blue cap".to_owned()),
            draws: Some("2 draws, each at its own site".to_owned()),
            ..mark("0.36", Some(barrels::large(36)))
        }),
        place: Some("under the skin, behind the shoulder".to_owned()),
        spat_out: Some("Spat out? Stop and call.".to_owned()),
        sites: owned(&[
            "site A, left side",
            "site \"the loose skin over the right shoulder\", right side",
            "a site of its own",
        ]),
        alike: Some(
            "This is Žofie Thimble of Exampleford: not Žofie Thimbol, nor 2 more named much \
             like it."
                .to_owned(),
        ),
        weight: Phrase::new()
            .bold("1,100 g")
            .plain(" (just fed) today, Thu 8 March; the scale reads 1 g"),
        when: Phrase::new()
            .plain("due ")
            .bold("20:00")
            .plain(" Thu 8 March, from ")
            .bold("14:10")
            .plain(" until ")
            .bold("02:00")
            .plain(" Fri 9 March"),
        ladder: (0..30)
            .map(|n| Rung {
                weights: format!("1,{:03} to 1,{:03} g", n * 20, n * 20 + 19),
                mark: (n % 3 > 0).then(|| format!("0.{n:02} mL")),
                call: n < 20,
                here: (n == 14).then_some(Here::Today),
            })
            .collect(),
        working: vec![sentence.to_owned(); 4],
        cautions: [Weight::Stop, Weight::Call, Weight::Caution, Weight::Note]
            .into_iter()
            .flat_map(|weight| vec![caution(weight, sentence); 2])
            .collect(),
        vet_words: vec![said("Stop and call if", sentence); 4],
    }
}

/// Words of the vet that fill pages.
pub fn wordy() -> Panel {
    let words: Vec<String> = (1..=1500).map(|n| format!("word{n}")).collect();
    Panel {
        vet_words: vec![said("", &words.join(" "))],
        ..normal()
    }
}

/// Cards that differ in all that a card can show, each with its name.
pub fn all() -> Vec<(&'static str, Facts)> {
    let with = |panels: Vec<Panel>| Facts { panels, ..card() };
    let second = Vet {
        name: "Dr Bartholomea Example-Exampleton".to_owned(),
        practice: Some("Example Practice for Exotic Animals of Exampleford (invented)".to_owned()),
        phone: "555 0177 0177 (not a number; ask for the exotics desk)".to_owned(),
        out_of_hours: Some("555 0188 (not a number either)".to_owned()),
    };
    let mut crowd = with(vec![crowded(), normal(), crowded()]);
    let mut two_vets = with(vec![stop(), call()]);
    two_vets.vets.push(second);
    for panel in &mut two_vets.panels {
        panel.vet = Some("Dr A. Example".to_owned());
    }
    for turn in &mut crowd.prepare.turns {
        turn.animal = crowded().animal;
        turn.identification = LONG.to_owned();
        turn.lines.push(LONG.to_owned());
        turn.then.push(LONG.to_owned());
    }
    for bottle in &mut crowd.prepare.bottles {
        bottle.medicine = crowded().medicine;
        bottle.which = LONG.to_owned();
        bottle.must_read = Some("1,250,000 units per 12.5 mL".to_owned());
        bottle.it_reads = Some("12.5 percent weight in volume".to_owned());
    }
    crowd.prepare.warning = Some(LONG.to_owned());
    crowd.prepare.done = vec![LONG.to_owned(); 2];
    crowd.prepare.calls.push(Phrase::from(LONG));
    crowd.prepare.things.push(Phrase::from(LONG));
    let mut long = card();
    for _ in 0..3 {
        let more = card();
        long.panels.extend(more.panels);
        long.prepare.turns.extend(more.prepare.turns);
        long.prepare.bottles.extend(more.prepare.bottles);
    }
    let mut plain = card();
    plain.demonstration = false;
    for panel in &mut plain.panels {
        panel.demonstration = false;
    }
    let mut nothing = with(Vec::new());
    nothing.vets.clear();
    nothing.prepare.done = vec!["Thimblo, DEMO-0001, dose 2: given at 07:40".to_owned()];
    vec![
        ("three", card()),
        ("plain", plain),
        (
            "kinds",
            with(vec![
                insulin(),
                late_in_draws(),
                fine_barrel(),
                tablet(),
                application(),
                stale(),
            ]),
        ),
        ("crowd", crowd),
        ("vets", two_vets),
        ("wordy", with(vec![wordy(), normal()])),
        ("long", long),
        ("one", with(vec![normal()])),
        ("none", nothing),
    ]
}
