//! `scruple correct`: strikes one entry out; what is right instead is recorded anew.
//!
//! Promises: nothing is removed from the book; what an entry said and what changes without it is
//! shown first; an entry that others hang on stays. A correction can itself be struck
//! out: the entry it was about then counts again.

use crate::cli::Done;
use crate::cli::animal::{clean, clean_words};
use crate::cli::desk::{Desk, New, Open};
use crate::cli::failure::Failure;
use crate::entry::{Correction, Entry, Happening, Row, Subject};
use crate::ledger::{Ledger, Patient};
use crate::notation::fold::same;
use crate::round::{courses, history, typed_name};
use crate::schedule::Zone;
use chrono::{DateTime, Utc};

/// Strikes an entry out; what is right instead is then recorded anew
///
/// The numbers of entries are shown when they are recorded, by 'scruple check', and by
/// 'scruple animal show'. Of a weighing, a dose, an instruction, the end of a bottle or of a stay,
/// a follow-up and a correction any can be struck out; of an animal, a prescription and
/// a bottle only while nothing hangs on it.
///
/// Examples:
///   scruple correct 41 --because "typed twice"
///   scruple correct 41 --because "that was Nubbet" --by AK
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Correct {
    /// The entry's number
    entry: u64,
    /// What was wrong with it
    #[arg(long, value_name = "WORDS")]
    because: String,
    /// Your initials
    #[arg(long, value_name = "INITIALS")]
    by: Option<String>,
}

impl Correct {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let because = clean_words("the reason", &self.because)?;
        let by = self.by.as_deref();
        let by = by.map(|by| clean("the initials", by)).transpose()?;
        let mut open = desk.open()?;
        let (zone, now) = (open.zone, open.now);
        desk.banner(open.settings.demonstration)?;
        let mut rows = open.book.read_all()?;
        let entry = self.wanted(&rows)?;
        may_go(&open.ledger, &rows, &entry)?;
        desk.say(format!(
            "Entry {}: {}.",
            entry.seq,
            history::words(&entry, zone)
        ))?;
        let correction = Correction {
            entry: entry.seq,
            because,
            by,
        };
        rows.push(as_if(&open, &entry, &correction)?);
        let after = Ledger::fold(&rows);
        for difference in differences(&open.ledger, &after, zone, now)? {
            desk.say(difference)?;
        }
        if let Happening::Dose(record) = &entry.what
            && record.outcome.closes_the_gate()
        {
            desk.say("Be sure that this did not happen: without it the dose may be given again.")?;
        }
        desk.confirm(&format!("Strike out entry {}?", entry.seq))?;
        let kept = open.record(|ledger| {
            may_go(ledger, &rows, &entry)?;
            Ok(vec![New {
                subject: entry.subject.clone(),
                course: entry.course.clone(),
                happened_at: now,
                what: Happening::Correction(correction.clone()),
            }])
        })?;
        let number = kept.first().map_or(0, |row| row.seq);
        desk.say(format!(
            "Entry {} is struck out by entry {number}. Nothing was removed.",
            entry.seq
        ))?;
        if let Some(filled) = still_filled(&open, &entry)? {
            desk.say(filled)?;
        } else if let Some(next) = anew(&entry) {
            desk.say(format!(
                "Record what is right instead: {next}{}",
                desk.common()
            ))?;
        }
        Ok(Done::Well)
    }

    fn wanted(&self, rows: &[Row]) -> Result<Entry, Failure> {
        let row = rows.iter().find(|row| row.seq == self.entry);
        let row = row.ok_or_else(|| {
            Failure::not_accepted(format!(
                "there is no entry {} in the book: its newest is {}",
                self.entry,
                rows.len()
            ))
        })?;
        Entry::read(row).map_err(Failure::failed)
    }
}

/// Whether an entry may be struck out: it counts, and nothing hangs on it.
fn may_go(ledger: &Ledger, rows: &[Row], entry: &Entry) -> Result<(), Failure> {
    let no = |why: String| Err(Failure::not_accepted(why));
    if ledger.corrected.contains_key(&entry.seq) {
        return no(format!("entry {} is struck out already", entry.seq));
    }
    match &entry.what {
        Happening::Weighing(_)
        | Happening::Dose(_)
        | Happening::Instruction(_)
        | Happening::Confirmation(_)
        | Happening::BottleEnd(_)
        | Happening::End(_)
        | Happening::FollowUp(_)
        | Happening::Observation(_)
        | Happening::Thaw(_)
        | Happening::Left(_)
        | Happening::Syringe(_) => Ok(()),
        Happening::Settings(_) => {
            no("settings are not struck out: set them anew with 'scruple settings set'".to_owned())
        }
        Happening::Animal(animal) => match hanging_on_animal(ledger, &animal.what.name) {
            Some(what) => no(format!(
                "{what} of {} is in the book, so the animal stays: if it is no longer here, write 'scruple end'",
                animal.what.name
            )),
            None => Ok(()),
        },
        Happening::Prescription(_) => {
            let reference = entry.course.clone().unwrap_or_default();
            let hangs = |patient: &Patient| {
                patient.doses.iter().any(|dose| dose.course == reference)
                    || patient.followed.iter().any(|done| done.course == reference)
                    || patient
                        .instructions
                        .iter()
                        .any(|said| said.instruction.prescription == reference)
            };
            match ledger.animals.iter().find(|patient| hangs(patient)) {
                Some(patient) => no(format!(
                    "a record of {} hangs on prescription {reference}, so it stays: if your vet stopped it, write 'scruple instruct' with --stop-from",
                    patient.animal.name
                )),
                None => Ok(()),
            }
        }
        Happening::Bottle(bottle) => {
            let mut doses = ledger.animals.iter().flat_map(|patient| &patient.doses);
            match doses.find(|dose| dose.record.bottle == Some(bottle.what.number)) {
                Some(dose) => no(format!(
                    "entry {} is of a dose from bottle {}, so the bottle stays. If it is gone, write 'scruple bottle discard {}'. If its strength was typed wrong, call your vet now: strike out each dose from it (scruple correct {}), discard it, open it anew as its label reads, and record those doses again with --bottle",
                    dose.entry, bottle.what.number, bottle.what.number, dose.entry
                )),
                None => Ok(()),
            }
        }
        Happening::Correction(correction) => {
            let row = rows.iter().find(|row| row.seq == correction.entry);
            let about = row.and_then(|row| Entry::read(row).ok());
            may_come_back(ledger, about.as_ref())
        }
    }
}

fn hanging_on_animal(ledger: &Ledger, name: &str) -> Option<&'static str> {
    let patient = ledger.animals.iter().find(|p| p.animal.name == name)?;
    if ledger.scripts_of(patient).next().is_some() {
        return Some("a prescription");
    }
    let recorded = !patient.weights.all().is_empty()
        || !patient.doses.is_empty()
        || !patient.instructions.is_empty()
        || !patient.followed.is_empty()
        || !patient.notes.is_empty();
    recorded.then_some("a record")
}

/// Whether an entry that was struck out may count again: its name must still be free.
fn may_come_back(ledger: &Ledger, entry: Option<&Entry>) -> Result<(), Failure> {
    let taken = match entry.map(|entry| &entry.what) {
        Some(Happening::Animal(animal)) => ledger
            .animals
            .iter()
            .any(|patient| same(&patient.animal.name, &animal.what.name)),
        Some(Happening::Prescription(_)) => {
            let reference = entry.and_then(|entry| entry.course.as_deref());
            let own = reference.unwrap_or_default();
            let mut scripts = ledger.scripts.iter();
            scripts.any(|script| same(&script.prescription.reference, own))
        }
        Some(Happening::Syringe(syringe)) => ledger.syringes.contains(&syringe.what),
        _ => false,
    };
    if taken {
        return Err(Failure::not_accepted(
            "what that entry says is in the book anew, so it cannot count twice",
        ));
    }
    Ok(())
}

/// The row that the correction would be.
fn as_if(open: &Open, entry: &Entry, correction: &Correction) -> Result<Row, Failure> {
    let what = Happening::Correction(correction.clone());
    let course = entry.course.as_deref();
    let new = what
        .to_row(&entry.subject, course, open.now, &open.stamp())
        .map_err(Failure::failed)?;
    Ok(Row {
        seq: open.ledger.entries + 1,
        n: 0,
        link: String::new(),
        subject: new.subject,
        course: new.course,
        kind: new.kind,
        happened_at: new.happened_at,
        recorded_at: new.recorded_at,
        clock_given: new.clock_given,
        zone: new.zone,
        body: new.body,
    })
}

/// What changes: where each slot stands, what an animal weighs, who and what is in the book.
fn differences(
    before: &Ledger,
    after: &Ledger,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Vec<String>, Failure> {
    let mut said = Vec::new();
    let standings = courses(before, zone, now).map_err(Failure::failed)?;
    let then = courses(after, zone, now).map_err(Failure::failed)?;
    for was in &standings {
        let (name, reference) = (&was.patient.animal.name, &was.script.prescription.reference);
        let Some(is) = then.iter().find(|is| {
            is.patient.animal.name == *name && is.script.prescription.reference == *reference
        }) else {
            continue;
        };
        let slots = was.course.slots.iter();
        for slot in slots {
            let number = slot.slot.number;
            if let Some(other) = is.course.slot(number).filter(|o| o.state != slot.state) {
                said.push(format!(
                    "Without it, dose {number} of {name} ({reference}) is: {}. Now it is: {}.",
                    other.state, slot.state
                ));
            }
        }
        let (extras, others) = (was.course.extras.len(), is.course.extras.len());
        if extras != others {
            said.push(format!(
                "Without it, doses of {name} ({reference}) beside the schedule: {others}; now: {extras}."
            ));
        }
    }
    for patient in &before.animals {
        let weight = |ledger: &Ledger| {
            let patient = ledger.animal(&patient.animal.name).ok()?;
            let latest = patient.weights.latest(now)?;
            Some(format!(
                "{} on {}",
                latest.weight,
                latest.day(zone).format("%-d %B %Y")
            ))
        };
        let (was, is) = (weight(before), weight(after));
        if was != is {
            let none = || "none".to_owned();
            said.push(format!(
                "Without it, the latest weight of {} is: {}. Now it is: {}.",
                patient.animal.name,
                is.unwrap_or_else(none),
                was.unwrap_or_else(none)
            ));
        }
    }
    Ok(said)
}

/// Of a dose whose slot another record still fills: which, so that nothing is recorded again.
fn still_filled(open: &Open, entry: &Entry) -> Result<Option<String>, Failure> {
    let (Happening::Dose(record), Subject::Animal(name)) = (&entry.what, &entry.subject) else {
        return Ok(None);
    };
    let standings = courses(&open.ledger, open.zone, open.now).map_err(Failure::failed)?;
    let Some(standing) = standings.iter().find(|standing| {
        standing.patient.animal.name == *name
            && Some(&standing.script.prescription.reference) == entry.course.as_ref()
    }) else {
        return Ok(None);
    };
    let course = &standing.course;
    let slot = match record.slot {
        Some(number) => course.slot(number),
        None => course.belongs_to(record.outcome, entry.happened_at, open.zone),
    };
    let filled = slot.and_then(|slot| Some((slot.slot.number, slot.filled_by?.id)));
    Ok(filled.map(|(number, by)| {
        format!("Dose {number} stands as entry {by} says: nothing more is to be recorded for it.")
    }))
}

/// The command that records what is right instead.
fn anew(entry: &Entry) -> Option<String> {
    let name = match &entry.subject {
        Subject::Animal(name) => typed_name(name),
        _ => String::new(),
    };
    let course = typed_name(entry.course.as_deref().unwrap_or_default());
    Some(match &entry.what {
        Happening::Weighing(_) => format!("scruple weigh {name} WEIGHT --at TIME"),
        Happening::Dose(record) => {
            let command = match record.outcome {
                crate::entry::Outcome::Given => "give",
                crate::entry::Outcome::PartlyGiven => "partly",
                crate::entry::Outcome::BroughtUp => "brought-up",
                crate::entry::Outcome::Refused => "refused",
                crate::entry::Outcome::Missed => "missed",
                crate::entry::Outcome::Withheld => "withheld",
                crate::entry::Outcome::Unsure => "unsure",
            };
            format!("scruple {command} {name} {course} --at TIME")
        }
        Happening::Instruction(_) => format!("scruple instruct {name} {course} --help"),
        Happening::Prescription(_) => "scruple enter FILE".to_owned(),
        Happening::Animal(_) => "scruple animal add NAME --species WORDS --id WORDS".to_owned(),
        Happening::Bottle(_) => {
            "scruple bottle open MEDICINE --reads STRENGTH --expiry DATE".to_owned()
        }
        _ => return None,
    })
}
