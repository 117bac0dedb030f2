#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]
//! Small books, entry by entry, and what they come to.

mod damaged;
mod finding;
mod folded;
mod records;

use crate::animal::Animal;
use crate::bottle::Bottle;
use crate::entry::{
    BottleEnd, Confirmation, Correction, DoseRecord, Entered, Happening, Instruction, Order,
    Outcome, Row, Signed, Stamp, Subject, Weighed,
};
use crate::ledger::{Ledger, Patient};
use crate::notation::Notation;
use crate::quantity::BodyWeight;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

/// An invented prescription for two animals.
const SCRIPT: &str = r#"Prescription(
    demonstration: true,
    reference: "DEMO-0012",
    written: "2001-03-05",
    vet: Vet(name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)"),
    animals: ["Thimblo", "Nubbet"],
    medicine: Medicine(name: "Madeup Amber", form: "solution for injection", strength: "8 mg/mL"),
    dose: PerBodyWeight("13 mg/kg"),
    route: Injection("under the skin"),
    schedule: Every(interval: "60 hours", doses: 4),
    after_late: CountFromGiven,
    weigh_every: "7 days",
    label_check: LabelCheck(weight: "32 g", volume: "0.052 mL"),
)
"#;

/// A book in the making: each entry is written down in the minute it happens.
#[derive(Default)]
struct Book {
    rows: Vec<Row>,
}

impl Book {
    /// Adds what happened and gives its number: 1, 2, 3...
    fn add(&mut self, subject: &Subject, when: &str, what: &Happening) -> u64 {
        self.add_to(subject, None, when, "Europe/Warsaw", what)
    }

    fn add_to(
        &mut self,
        subject: &Subject,
        course: Option<&str>,
        when: &str,
        zone: &str,
        what: &Happening,
    ) -> u64 {
        let stamp = Stamp {
            at: at(when),
            clock_given: false,
            zone: zone.to_owned(),
        };
        let row = what.to_row(subject, course, at(when), &stamp).unwrap();
        let seq = self.rows.len() as u64 + 1;
        self.rows.push(Row {
            seq,
            n: seq,
            link: String::new(),
            subject: row.subject,
            course: row.course,
            kind: row.kind,
            happened_at: row.happened_at,
            recorded_at: row.recorded_at,
            clock_given: row.clock_given,
            zone: row.zone,
            body: row.body,
        });
        seq
    }

    fn animal(&mut self, name: &str) -> u64 {
        let animal = Animal {
            name: name.to_owned(),
            species: "invented tree frog".to_owned(),
            identification: format!("tub of {name}"),
            quarantine: false,
        };
        let what = Happening::Animal(Signed::new(animal, None));
        self.add(&of(name), "2001-03-01T08:00:00Z", &what)
    }

    fn weighing(&mut self, name: &str, when: &str, weight: &str) -> u64 {
        self.add(&of(name), when, &weighed(weight))
    }

    /// Strikes an entry out.
    fn correction(&mut self, entry: u64, when: &str) -> u64 {
        let what = Happening::Correction(Correction {
            entry,
            because: format!("entry {entry} was wrong"),
            by: None,
        });
        self.add(&Subject::Settings, when, &what)
    }

    fn script(&mut self, source: &str, zone: &str) -> u64 {
        let what = Happening::Prescription(entered(source));
        let subject = Subject::Prescription("DEMO-0012".to_owned());
        self.add_to(&subject, None, "2001-03-05T09:00:00Z", zone, &what)
    }

    fn bottle(&mut self, number: u32) -> u64 {
        let what = Happening::Bottle(Signed::new(bottle(number), None));
        self.add(&Subject::Bottle(number), "2001-03-05T10:00:00Z", &what)
    }

    fn dose(&mut self, name: &str, course: &str, when: &str) -> u64 {
        let what = Happening::Dose(given(None));
        self.add_to(&of(name), Some(course), when, "Europe/Warsaw", &what)
    }

    fn instruction(&mut self, name: &str, when: &str, said: Instruction) -> u64 {
        self.add(&of(name), when, &Happening::Instruction(said))
    }

    fn ledger(&self) -> Ledger {
        Ledger::fold(&self.rows)
    }
}

fn at(when: &str) -> DateTime<Utc> {
    when.parse().unwrap()
}

fn date(day: &str) -> NaiveDate {
    day.parse().unwrap()
}

fn of(name: &str) -> Subject {
    Subject::Animal(name.to_owned())
}

fn weighed(weight: &str) -> Happening {
    Happening::Weighing(Weighed {
        weight: BodyWeight::read(weight).unwrap(),
        readability: BodyWeight::read("0.1 g").unwrap(),
        tag: None,
        confirmed: false,
        by: None,
    })
}

fn entered(source: &str) -> Entered {
    Entered {
        source: source.to_owned(),
        file: "script.ron".to_owned(),
        start: date("2001-03-06"),
        start_time: NaiveTime::from_hms_opt(7, 30, 0),
        unasked: false,
        by: None,
    }
}

fn bottle(number: u32) -> Bottle {
    Bottle {
        number,
        medicine: "Madeup Amber".to_owned(),
        strength: None,
        lot: None,
        expiry: date("2001-12-31"),
        opened: date("2001-03-05"),
        days_after_opening: Some(28),
        holds: None,
        batch: None,
    }
}

fn emptied(bottle: u32) -> Happening {
    Happening::BottleEnd(BottleEnd {
        bottle,
        ran_dry: true,
        by: None,
    })
}

fn given(note: Option<&str>) -> DoseRecord {
    DoseRecord {
        outcome: Outcome::Given,
        slot: None,
        by: None,
        site: None,
        bottle: None,
        syringe: None,
        drawn: None,
        mark: None,
        at_mark: true,
        flags: Vec::new(),
        note: note.map(str::to_owned),
    }
}

fn said(read_back: bool, paper_awaited: bool) -> Instruction {
    Instruction {
        prescription: "DEMO-0012".to_owned(),
        order: Order::Skip { slot: 2 },
        said_by: "Dr A. Example".to_owned(),
        taken_by: "KL".to_owned(),
        read_back,
        paper_awaited,
        words: None,
    }
}

fn confirmed(entry: u64, read_back: bool, paper_came: bool) -> Happening {
    Happening::Confirmation(Confirmation {
        entry,
        read_back,
        paper_came,
        by: None,
    })
}

/// The references of the prescriptions that name an animal.
fn scripts_of(ledger: &Ledger, patient: &Patient) -> Vec<u64> {
    ledger
        .scripts_of(patient)
        .map(|script| script.entry)
        .collect()
}
