//! Random rows of entries about one animal, with corrections, corrections of corrections, and
//! orders by phone: what stands is what a plain reading of them says, and every one of them is
//! still there and can be said.
//!
//! What is expected is worked out here by going from each entry to those after it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test may stop at once"
)]

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_oneof, proptest};
use proptest::{collection, prop_assert, prop_assert_eq};
use std::collections::BTreeSet;

use scruple::animal::Animal;
use scruple::entry::{
    Correction, DoseRecord, Entry, Happening, Instruction, Order, Outcome, Row, Signed, Stamp,
    Subject, Weighed,
};
use scruple::ledger::Ledger;
use scruple::notation::Notation;
use scruple::quantity::{Amount, BodyWeight};
use scruple::round::history;
use scruple::schedule::Zone;

#[derive(Clone, Debug)]
enum Typed {
    Weighing(u32),
    Dose(Outcome, u32),
    Order(u32),
    /// Strikes an earlier entry out: which, as a place among those before.
    Correction(usize),
}

fn typed() -> impl Strategy<Value = Typed> {
    let outcomes = prop_oneof![
        Just(Outcome::Given),
        Just(Outcome::PartlyGiven),
        Just(Outcome::Refused),
        Just(Outcome::Missed),
        Just(Outcome::Unsure),
    ];
    prop_oneof![
        (100_u32..900).prop_map(Typed::Weighing),
        (outcomes, 1_u32..60).prop_map(|(outcome, line)| Typed::Dose(outcome, line)),
        (1_u32..9).prop_map(Typed::Order),
        any::<usize>().prop_map(Typed::Correction),
        any::<usize>().prop_map(Typed::Correction),
    ]
}

fn at(minutes: i64) -> DateTime<Utc> {
    "2001-03-01T08:00:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::minutes(minutes)
}

fn tenths(n: u32) -> String {
    match n % 10 {
        0 => format!("{} g", n / 10),
        rest => format!("{}.{rest} g", n / 10),
    }
}

/// "0.075 mL" of so many lines of 0.005 mL.
fn volume(lines: u32) -> String {
    let thousandths = format!("{:03}", lines * 5);
    let decimals = thousandths.trim_end_matches('0');
    match decimals {
        "" => "0.1 mL".to_owned(),
        decimals => format!("0.{decimals} mL"),
    }
}

fn happening(typed: &Typed, before: u64) -> Happening {
    match typed {
        Typed::Weighing(n) => Happening::Weighing(Weighed {
            weight: BodyWeight::read(&tenths(*n)).unwrap(),
            readability: BodyWeight::read("0.1 g").unwrap(),
            tag: None,
            confirmed: false,
            by: None,
        }),
        Typed::Dose(outcome, lines) => Happening::Dose(DoseRecord {
            outcome: *outcome,
            slot: None,
            by: Some("AK".to_owned()),
            site: None,
            bottle: None,
            syringe: None,
            drawn: Some(Amount::read(&volume(*lines)).unwrap()),
            mark: None,
            at_mark: false,
            flags: Vec::new(),
            note: None,
        }),
        Typed::Order(slot) => Happening::Instruction(Instruction {
            prescription: "DEMO-0001".to_owned(),
            order: match slot % 4 {
                0 => Order::Resume { from: *slot },
                1 => Order::Stop { from: *slot },
                2 => Order::Skip { slot: *slot },
                _ => Order::Fixed {
                    from: *slot,
                    amount: Amount::read("0.15 mL").unwrap(),
                },
            },
            said_by: "Dr A. Example".to_owned(),
            taken_by: "AK".to_owned(),
            read_back: true,
            paper_awaited: false,
            words: None,
        }),
        Typed::Correction(place) => Happening::Correction(Correction {
            // Never the animal itself, which is entry 1.
            entry: 2 + *place as u64 % before.saturating_sub(1).max(1),
            because: "Demonstration reason".to_owned(),
            by: None,
        }),
    }
}

/// Whether an entry stands: no correction after it that stands speaks of it.
fn stands(seq: u64, entries: &[Entry]) -> bool {
    !entries.iter().any(|later| match &later.what {
        Happening::Correction(correction) => {
            later.seq > seq && correction.entry == seq && stands(later.seq, entries)
        }
        _ => false,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_entry_is_kept_and_only_what_stands_counts(typed in collection::vec(typed(), 1..24)) {
        let animal = Animal {
            name: "Thimblo".to_owned(),
            species: "invented gecko".to_owned(),
            identification: "tub 4".to_owned(),
            quarantine: false,
        };
        let mut rows: Vec<Row> = Vec::new();
        let first = Happening::Animal(Signed { what: animal, by: None });
        let all = std::iter::once(None).chain(typed.iter().map(Some));
        for (place, typed) in all.enumerate() {
            let seq = place as u64 + 1;
            let what = match typed {
                None => first.clone(),
                Some(Typed::Correction(_)) if seq < 3 => continue,
                Some(typed) => happening(typed, seq - 1),
            };
            let stamp = Stamp { at: at(seq as i64), clock_given: false, zone: "UTC".to_owned() };
            let subject = Subject::Animal("Thimblo".to_owned());
            let course = matches!(what, Happening::Dose(_) | Happening::Instruction(_));
            let course = course.then_some("DEMO-0001");
            let new = what.to_row(&subject, course, at(seq as i64), &stamp).unwrap();
            rows.push(Row {
                seq,
                n: rows.len() as u64 + 1,
                link: String::new(),
                subject: new.subject,
                course: new.course,
                kind: new.kind,
                happened_at: new.happened_at,
                recorded_at: new.recorded_at,
                clock_given: new.clock_given,
                zone: new.zone,
                body: new.body,
            });
        }
        let entries: Vec<Entry> = rows.iter().map(|row| Entry::read(row).unwrap()).collect();
        let ledger = Ledger::fold(&rows);
        let patient = ledger.animal("Thimblo").unwrap();
        let all = entries.clone();
        let standing = |wanted: fn(&Happening) -> bool| -> BTreeSet<u64> {
            let entries = entries.iter().filter(|entry| wanted(&entry.what));
            entries.map(|entry| entry.seq).filter(|seq| stands(*seq, &all)).collect()
        };
        let doses: BTreeSet<u64> = patient.doses.iter().map(|dose| dose.entry).collect();
        prop_assert_eq!(doses, standing(|what| matches!(what, Happening::Dose(_))));
        let said: BTreeSet<u64> = patient.instructions.iter().map(|said| said.entry).collect();
        prop_assert_eq!(said, standing(|what| matches!(what, Happening::Instruction(_))));
        let latest = standing(|what| matches!(what, Happening::Weighing(_))).last().copied();
        prop_assert_eq!(patient.weights.latest(at(1_000)).map(|weighing| weighing.entry), latest);
        // Out of account or not, every entry can still be said, with what was typed in it.
        for entry in &entries {
            let words = history::words(entry, Zone::UTC);
            let typed = match &entry.what {
                Happening::Weighing(weighed) => weighed.weight.text().to_owned(),
                Happening::Dose(record) => record.drawn.as_ref().unwrap().text().to_owned(),
                Happening::Instruction(_) => "Dr A. Example to AK".to_owned(),
                Happening::Correction(correction) => format!("entry {}", correction.entry),
                _ => "Thimblo".to_owned(),
            };
            prop_assert!(words.contains(&typed), "{typed} is not in: {words}");
            let out = !stands(entry.seq, &entries);
            prop_assert_eq!(ledger.corrected.contains_key(&entry.seq), out, "{}", words);
        }
    }
}
