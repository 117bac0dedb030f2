//! Every sample in schedules/ is read, says that it is invented, and between them they show every
//! field, dose form, route and schedule form.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use chrono::{Datelike, NaiveDate, NaiveTime};
use scruple::notation::Notation;
use scruple::prescription::{Dose, FIELDS, FollowUpDate, Prescription, Route, WeightBasis};
use scruple::quantity::BodyWeight;
use scruple::schedule::{Form, Length, Rhythm, Start};
use std::collections::BTreeSet;
use std::path::PathBuf;

fn samples() -> Vec<(String, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("schedules");
    let mut samples = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        assert_eq!(path.extension().unwrap(), "ron", "{path:?}");
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        samples.push((name, std::fs::read_to_string(path).unwrap()));
    }
    samples.sort();
    samples
}

fn read(name: &str, text: &str) -> Prescription {
    match Prescription::read(text, name) {
        Ok(prescription) => prescription,
        Err(faults) => panic!("{}", faults.render(false)),
    }
}

#[test]
fn every_sample_is_read_and_says_that_it_is_invented() {
    let mut references = BTreeSet::new();
    for (name, text) in samples() {
        let p = read(&name, &text);
        let first = text.lines().next().unwrap();
        assert!(first.starts_with("// Invented: no such medicine"), "{name}");
        assert!(p.demonstration, "{name}");
        assert!(p.medicine.name.starts_with("Madeup "), "{name}");
        assert!(p.vet.phone.contains("not a number"), "{name}");
        assert!(p.written.year() <= 2001, "{name}");
        assert!(p.prone_words().is_empty(), "{name}: {:?}", p.prone_words());
        assert!(references.insert(p.reference.clone()), "{name}");
        // The ron crate, which shares no code with the reader, takes it for RON too.
        ron::from_str::<serde::de::IgnoredAny>(&text).unwrap();
    }
    assert!(references.len() >= 15);
}

#[test]
fn every_sample_can_be_laid_out_and_worked_out() {
    let weight = BodyWeight::read("310 g").unwrap().value();
    for (name, text) in samples() {
        let p = read(&name, &text);
        let start = Start {
            date: NaiveDate::from_ymd_opt(2001, 3, 6).unwrap(),
            time: NaiveTime::from_hms_opt(8, 0, 0),
        };
        let zone = "Europe/Warsaw".parse().unwrap();
        let slots = p.schedule.expand(start, zone).unwrap();
        assert!(!slots.is_empty(), "{name}");
        for slot in slots {
            let dose = p.dose(slot.dose).unwrap();
            let amount = p.calculated(dose, Some(weight)).unwrap();
            assert_eq!(amount.is_some(), dose.is_measured(), "{name}");
            if let Some(amount) = amount {
                let strength = p.medicine.strength.as_ref().map(|s| s.value());
                amount.measure(strength).unwrap();
            }
        }
    }
}

#[test]
fn the_samples_show_everything() {
    let mut shown = BTreeSet::new();
    let mut fields = BTreeSet::new();
    for (name, text) in samples() {
        let p = read(&name, &text);
        let is_written = |field: &&&str| text.contains(&format!("\n    {field}: "));
        fields.extend(FIELDS.iter().filter(is_written));
        for dose in &p.doses {
            shown.insert(match dose {
                Dose::PerBodyWeight(rate) => {
                    let text = rate.text();
                    text.split_once(' ').unwrap().1.to_owned()
                }
                Dose::PerDay(_) => "PerDay".to_owned(),
                Dose::Fixed(amount) => amount.text().split_once(' ').unwrap().1.to_owned(),
                Dose::Application(_) => "Application".to_owned(),
            });
        }
        shown.insert(
            format!("{:?}", p.route)
                .split(['(', ' '])
                .next()
                .unwrap()
                .to_owned(),
        );
        if matches!(
            p.route,
            Route::InEye(_) | Route::InEar(_) | Route::InNose(_)
        ) {
            shown.insert(format!("{:?}", p.route));
        }
        for phase in p.schedule.phases() {
            if let Form::Repeating { rhythm, length } = &phase.form {
                shown.insert(match rhythm {
                    Rhythm::Every(span) => {
                        format!("Every {}", span.to_string().split_once(' ').unwrap().1)
                    }
                    Rhythm::Daily(_) => "Daily".to_owned(),
                    Rhythm::Weekly { time, .. } => format!("Weekly {}", time.is_some()),
                });
                shown.insert(match length {
                    Length::Doses(_) => "for doses".to_owned(),
                    Length::Days(_) => "for days".to_owned(),
                    Length::UntilStopped { .. } => "until stopped".to_owned(),
                });
            } else {
                shown.insert(
                    format!("{:?}", phase.form)
                        .split('(')
                        .next()
                        .unwrap()
                        .to_owned(),
                );
            }
            if phase.gap_before.is_some() {
                shown.insert("gap".to_owned());
            }
        }
        shown.insert(format!("{:?}", p.schedule.after_late()));
        shown.insert(format!("round {:?}", p.rounding));
        shown.insert(format!("cut {:?}", p.tablets));
        shown.insert(format!("count {:?}", p.schedule.count()));
        shown.insert(match p.weight_basis {
            WeightBasis::Latest => "latest weight".to_owned(),
            WeightBasis::Start => "start weight".to_owned(),
            WeightBasis::Fixed(_) => "fixed weight".to_owned(),
        });
        for follow_up in &p.follow_ups {
            shown.insert(match follow_up.when {
                FollowUpDate::On(_) => "follow-up on".to_owned(),
                FollowUpDate::AfterFirstDose(_) => "follow-up after the first".to_owned(),
                FollowUpDate::AfterLastDose(_) => "follow-up after the last".to_owned(),
            });
        }
    }
    for part in [
        "mg/kg",
        "mcg/kg",
        "mg/lb",
        "units/kg",
        "mL/kg",
        "PerDay",
        "mL",
        "mg",
        "units",
        "tablets",
        "g of paste",
        "Application",
        "Injection",
        "ByMouth",
        "OnSkin",
        "InEye(Left)",
        "InEar(Each)",
        "InNose(Right)",
        "Bath",
        "Inhaled",
        "Other",
        "Once",
        "OnDays",
        "Every hours",
        "Every days",
        "Daily",
        "Weekly true",
        "Weekly false",
        "for doses",
        "for days",
        "until stopped",
        "gap",
        "CountFromGiven",
        "KeepCalendar",
        "Call",
        "round Nearest",
        "round Down",
        "round Up",
        "cut Whole",
        "cut Halves",
        "cut Quarters",
        "count Slots",
        "count Given",
        "latest weight",
        "start weight",
        "fixed weight",
        "follow-up on",
        "follow-up after the first",
        "follow-up after the last",
    ] {
        assert!(shown.contains(part), "no sample shows {part}: {shown:?}");
    }
    let all: BTreeSet<&&str> = FIELDS.iter().collect();
    let missing: Vec<_> = all.difference(&fields).collect();
    assert!(missing.is_empty(), "no sample has {missing:?}");
}

/// Every example in the form's page is read, every field and form is in it, and the fault it shows
/// is the one that is really said.
#[test]
fn the_page_about_the_form_is_true() {
    let page = include_str!("../docs/prescription-form.md");
    let mut examples = 0;
    for block in page.split("```ron\n").skip(1) {
        let example = block.split("```").next().unwrap();
        read("docs/prescription-form.md", example);
        examples += 1;
    }
    assert_eq!(examples, 2);
    for field in FIELDS {
        let row = |line: &&str| {
            let cell = line.trim_start_matches("| ");
            cell.starts_with(&format!("`{field}`")) || cell.starts_with(&format!("**`{field}`**"))
        };
        assert_eq!(page.lines().filter(row).count(), 1, "{field}");
    }
    // Every name with a capital that a sample uses is explained in the page.
    for (name, text) in samples() {
        let code: String = text
            .lines()
            .filter(|line| !line.trim().starts_with("//"))
            .collect();
        let outside: String = code.split('"').step_by(2).collect::<Vec<_>>().join(" ");
        let words = outside.split(|c: char| !c.is_alphanumeric());
        for word in words.filter(|word| word.starts_with(|c: char| c.is_uppercase())) {
            assert!(
                page.contains(&format!("`{word}")) || page.contains(&format!("{word}(")),
                "{name}: {word}"
            );
        }
    }
    let (_, text) = samples()
        .into_iter()
        .find(|(name, _)| name == "every-60-hours.ron")
        .unwrap();
    let wrong = text.replace("13 mg/kg", "13 units/kg");
    let faults = Prescription::read(&wrong, "script.ron")
        .unwrap_err()
        .render(false);
    let shown = page
        .split("```text\n")
        .nth(1)
        .unwrap()
        .split("```")
        .next()
        .unwrap();
    for line in shown.lines() {
        let bare = |line: &str| {
            line.trim_start_matches(|c: char| c.is_ascii_digit() || c == ' ')
                .to_owned()
        };
        let said = faults.lines().map(bare).any(|said| said == bare(line));
        assert!(said || line.contains("-->"), "{line}: {faults}");
    }
}
