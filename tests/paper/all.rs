//! Every kind of sheet that can be made of one room, as pages and as the file.

#![allow(dead_code, reason = "each test makes the sheets that it needs")]

use super::room;
use chrono::Days;
use scruple::ledger::Ledger;
use scruple::report::of_animal;
use scruple::round::stock::stock;
use scruple::round::{ahead, of_day, weigh_days};
use scruple::settings::PaperSize;
use scruple::sheet::card::from_round::facts;
use scruple::sheet::course::CourseSheet;
use scruple::sheet::handover::HandOver;
use scruple::sheet::page::{Page, Paper};
use scruple::sheet::weighin::WeighIn;
use scruple::sheet::{card, course, handover, report, weighin};

/// One sheet.
pub struct Sheet {
    /// Which one: "report on Thimblo".
    pub name: String,
    /// As it was laid out.
    pub pages: Vec<Page>,
    /// As it was written.
    pub bytes: Vec<u8>,
}

/// The dose card.
pub fn card(ledger: &Ledger, paper: PaperSize) -> Sheet {
    let round = room::round(ledger);
    let made = round.now.with_timezone(&round.zone).fixed_offset();
    let facts = facts(&round, made);
    Sheet {
        name: "dose card".to_owned(),
        pages: card::pages(&facts, Paper::of(paper)).unwrap(),
        bytes: card::of_round(&round, paper).unwrap(),
    }
}

/// The hand-over of a week.
pub fn handover(ledger: &Ledger, paper: PaperSize) -> Sheet {
    let settings = ledger.settings.as_ref().unwrap();
    let (zone, now) = (room::zone(), room::at(room::NOW));
    let today = now.with_timezone(&zone).date_naive();
    let week = (0..7).map(|n| today + Days::new(n));
    let days: Vec<_> = week
        .map(|day| of_day(ledger, settings, zone, day, now).unwrap())
        .collect();
    let weigh = weigh_days(ledger, settings, zone, now, today + Days::new(6)).unwrap();
    let stock = stock(ledger, settings, zone, now).unwrap();
    let sheet = HandOver {
        days: &days,
        weigh: &weigh,
        stock: &stock,
        settings,
        code: "3N74-H23A",
    };
    Sheet {
        name: "hand-over".to_owned(),
        pages: handover::pages(&sheet, Paper::of(paper)).unwrap(),
        bytes: handover::of_days(&sheet).unwrap(),
    }
}

/// The sheet for the scale.
pub fn weighin(ledger: &Ledger, paper: PaperSize) -> Sheet {
    let sheet = WeighIn {
        ledger,
        settings: ledger.settings.as_ref().unwrap(),
        zone: room::zone(),
        now: room::at(room::NOW),
    };
    Sheet {
        name: "weigh-in".to_owned(),
        pages: weighin::pages(&sheet, Paper::of(paper)).unwrap(),
        bytes: weighin::of_room(&sheet).unwrap(),
    }
}

/// The reports of the first so many animals, and the sheets of their courses.
pub fn of_animals(ledger: &Ledger, paper: PaperSize, most: usize) -> Vec<Sheet> {
    let settings = ledger.settings.as_ref().unwrap();
    let (zone, now) = (room::zone(), room::at(room::NOW));
    let mut sheets = Vec::new();
    for patient in ledger.animals.iter().take(most) {
        let name = &patient.animal.name;
        let made = of_animal(ledger, settings, patient, zone, now).unwrap();
        sheets.push(Sheet {
            name: format!("report on {name}"),
            pages: report::pages(&made, Paper::of(paper)).unwrap(),
            bytes: report::of_report(&made, paper).unwrap(),
        });
        for script in ledger.scripts_of(patient) {
            let ahead = ahead(ledger, settings, patient, script, zone, now).unwrap();
            let sheet = CourseSheet {
                ahead: &ahead,
                settings,
                zone,
                now,
            };
            sheets.push(Sheet {
                name: format!("course of {name}, {}", script.prescription.reference),
                pages: course::pages(&sheet, Paper::of(paper)).unwrap(),
                bytes: course::of_course(&sheet).unwrap(),
            });
        }
    }
    sheets
}

/// Every kind.
pub fn sheets(ledger: &Ledger, paper: PaperSize, animals: usize) -> Vec<Sheet> {
    let mut sheets = vec![
        card(ledger, paper),
        handover(ledger, paper),
        weighin(ledger, paper),
    ];
    sheets.extend(of_animals(ledger, paper, animals));
    sheets
}
