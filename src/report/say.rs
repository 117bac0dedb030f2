//! The words of a report that every face prints the same way.
//!
//! Promises: safe notation; a year wherever it is not this one; the vet's and the keeper's own
//! words in quotation marks. Nothing is computed here.

use crate::course::{Timing, What};
use crate::entry::Outcome;
use crate::ledger::Note;
use crate::notation::print;
use crate::quantity::Exact;
use crate::report::{Record, Report, Row, Stretch, Weight};
use crate::round::stock::say as stock;
use crate::round::{history, say};
use crate::schedule::Due;
use chrono::{DateTime, Utc};

/// One line of the record, cell by cell; a cell with nothing to say is empty.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cells {
    /// "1", or "beside" for a dose beside the schedule.
    pub number: String,
    /// "Mon 5 March 06:30".
    pub planned: String,
    /// "given", "given late", "not recorded".
    pub what: String,
    /// "Mon 5 March 06:30".
    pub at: String,
    /// "0.075 mL".
    pub measured: String,
    /// "46 g".
    pub weight: String,
    /// "about 13.04 mg/kg".
    pub rate: String,
    /// "5.2 percent".
    pub band: String,
    /// Site, bottle, who, what was wrong, the keeper's words.
    pub beside: String,
}

/// The names of the cells, in order.
pub const HEADS: [&str; 9] = [
    "dose",
    "planned",
    "what became of it",
    "when",
    "measured",
    "by weight",
    "really given",
    "within",
    "beside",
];

/// A moment with its year where that is not this one.
pub fn moment(at: DateTime<Utc>, report: &Report) -> String {
    let local = at.with_timezone(&report.zone);
    let hour = local.format("%H:%M");
    format!("{} {hour}", say::date(local.date_naive(), today(report)))
}

/// When a dose is due, with its year where that is not this one.
pub fn due(due: Due, report: &Report) -> String {
    match due {
        Due::At(at) => moment(at, report),
        Due::On(day) => say::date(day, today(report)),
    }
}

fn today(report: &Report) -> chrono::NaiveDate {
    report.now.with_timezone(&report.zone).date_naive()
}

/// One line of the record.
pub fn cells(row: &Row, report: &Report) -> Cells {
    let mut cells = Cells {
        number: row.number.map_or("beside".to_owned(), |n| n.to_string()),
        planned: row.due.map(|d| due(d, report)).unwrap_or_default(),
        what: row.state.map(|state| state.to_string()).unwrap_or_default(),
        ..Cells::default()
    };
    let mut beside: Vec<String> = row
        .remarks
        .iter()
        .filter(|what| !says_itself(**what))
        .map(ToString::to_string)
        .collect();
    if let Some(given) = &row.given {
        let record = &given.dose.record;
        let outcome = record.outcome.to_string();
        cells.what = match row.timing.filter(|_| record.outcome == Outcome::Given) {
            Some(Timing::Late) => format!("{outcome} late"),
            Some(Timing::TooSoon) => format!("{outcome} TOO SOON"),
            _ => outcome,
        };
        cells.at = moment(given.dose.happened, report);
        // Of a part of a dose, nobody knows how much it was unless somebody said.
        let part = record.outcome == Outcome::PartlyGiven && record.mark.is_some();
        cells.measured = match given.measured {
            Some(measured) => print::measure(measured).to_string(),
            None if part => "not known".to_owned(),
            None => String::new(),
        };
        cells.weight = given
            .weight
            .as_ref()
            .map(|weight| weight.to_string())
            .unwrap_or_default();
        cells.rate = given
            .rate
            .map(|rate| print::rate(rate).to_string())
            .unwrap_or_default();
        cells.band = given
            .band
            .map(|band| print::percent(band, None).to_string())
            .unwrap_or_default();
        beside.extend(given.mended.clone());
        beside.extend(history::flags(record));
        beside.extend(record.site.as_ref().map(|site| say::site(site)));
        beside.extend(record.bottle.map(|bottle| format!("bottle {bottle}")));
        beside.extend(record.by.as_ref().map(|by| format!("by {by}")));
        beside.extend(record.note.as_ref().map(|note| format!("\"{note}\"")));
        if given.dose.recorded - given.dose.happened > chrono::TimeDelta::hours(1) {
            let when = moment(given.dose.recorded, report);
            beside.push(format!("written down {when}"));
        }
    }
    cells.beside = beside.join("; ");
    cells
}

/// A remark that the cell before it has said already.
fn says_itself(what: What) -> bool {
    use What::{GivenBeforeItsWindow, GivenLate, GivenTooSoon, LateNow, Withheld};
    let itself = [
        GivenLate,
        LateNow,
        Withheld,
        GivenTooSoon,
        GivenBeforeItsWindow,
    ];
    itself.contains(&what)
}

/// "12 percent below the highest of 28 days"; empty at the highest.
pub fn change(weight: &Weight, limit: Exact) -> String {
    match weight.change {
        Some(change) if !change.is_zero() => {
            let percent = print::percent(change, Some(limit));
            format!("{percent} below the highest of 28 days")
        }
        _ => String::new(),
    }
}

/// "10 percent below the highest of 28 days: call (the program's setting, not your vet's)".
pub fn loss_line(report: &Report) -> String {
    let limit = report.settings.loss_percent;
    format!(
        "{} percent below the highest of 28 days: call ({})",
        limit.value,
        limit.whose().words()
    )
}

/// "Madeup Amber, 13 mg/kg"; the vet's own words in quotation marks.
pub fn stretch(record: &Record, stretch: &Stretch) -> String {
    let medicine = &record.checked.standing.script.prescription.medicine.name;
    let dose = match stretch.own_words {
        true => format!("\"{}\"", stretch.dose),
        false => stretch.dose.clone(),
    };
    format!("{medicine}, {dose}")
}

/// What the vet wrote: "13 mg/kg, "under the skin", every 60 hours, 4 doses; bottle 8 mg/mL".
pub fn written(record: &Record) -> String {
    let prescription = &record.checked.standing.script.prescription;
    let doses: Vec<String> = record
        .phases
        .iter()
        .map(|phase| match phase.own_words {
            true => format!("\"{}\"", phase.dose),
            false => phase.dose.clone(),
        })
        .collect();
    let strength = prescription
        .strength()
        .map(|strength| format!("; the bottle must read {strength}"))
        .unwrap_or_default();
    let doses = match doses.is_empty() {
        true => String::new(),
        false => format!("{}, ", doses.join(", then ")),
    };
    format!(
        "{doses}{}, {}{strength}",
        say::route(prescription),
        prescription.schedule
    )
}

/// The exceptions of a course: "dose 2: late (entry 31)".
pub fn exceptions(record: &Record) -> Vec<String> {
    let course = &record.checked.standing.course;
    let each = course.remarks.iter().map(|remark| {
        let slot = remark.slot.map(|slot| format!("dose {slot}: "));
        let entry = remark.record.map(|entry| format!(" (entry {entry})"));
        format!(
            "{}{}{}",
            slot.unwrap_or_default(),
            remark.words(),
            entry.unwrap_or_default()
        )
    });
    let flagged = record.checked.flagged.iter();
    let flagged = flagged.map(|flagged| format!("entry {}: {}", flagged.dose.entry, flagged.words));
    each.chain(flagged).collect()
}

/// What somebody saw: "Mon 5 March 06:30, appetite: "left both crickets" (AK)".
pub fn note(note: &Note, report: &Report) -> String {
    let observation = &note.observation;
    let by = observation.by.as_ref().map(|by| format!(" ({by})"));
    format!(
        "{}, {}: \"{}\"{}",
        moment(note.at, report),
        observation.about,
        observation.words,
        by.unwrap_or_default()
    )
}

/// What is in hand for a course that still needs something, bottle by bottle, then how far it
/// goes; it is shared with every other course of that medicine.
pub fn in_hand(report: &Report, record: &Record) -> Option<String> {
    report.supply(record).map(stock::in_hand)
}

/// How the band was come by.
pub const BAND: &str = "\"Really given\" is worked back from the volume, the label and the weight in the record. \"Within\" is how far it may be from the calculated dose: the difference at the mark, the syringe's tolerance (ISO 7886-1, from memory, which does not cover insulin syringes) and half a step of the scale.";
