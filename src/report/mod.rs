//! One animal's history as facts, for the vet: its weights, what was planned and what was given,
//! what the vet said, what is left.
//!
//! Promises: every record of every course is here, given or not; a figure that cannot be known is
//! left out, never guessed; what was given is worked out from the records, not from the plan. It
//! stands above `round`, whose figures and words it gathers. It prints nothing.

mod given;
pub mod say;

pub use given::{Given, Row};

use crate::animal::Weighing;
use crate::course::State;
use crate::entry::short_code;
use crate::ledger::{Ledger, Note, Patient, Said};
use crate::notation::fold::same;
use crate::prescription::Vet;
use crate::quantity::Exact;
use crate::round::stock::{Supply, stock};
use crate::round::{Checked, check};
use crate::schedule::{Due, ScheduleError, Zone};
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// Everything about one animal.
#[derive(Debug)]
pub struct Report<'l> {
    /// Whose it is.
    pub patient: &'l Patient,
    /// The moment it was looked at.
    pub now: DateTime<Utc>,
    /// The book's zone.
    pub zone: Zone,
    /// The settings.
    pub settings: &'l Settings,
    /// Its weighings, oldest first.
    pub weights: Vec<Weight<'l>>,
    /// Its courses, in the order in which they were entered.
    pub courses: Vec<Record<'l>>,
    /// What somebody saw, the oldest first.
    pub notes: Vec<&'l Note>,
    /// What its courses still need against what is in hand; other animals' needs of the same
    /// medicine are in it.
    pub stock: Vec<Supply<'l>>,
    /// Whose prescriptions they are, each once.
    pub vets: Vec<&'l Vet>,
    /// Made from all that the book says about the animal: another code, an old report.
    pub code: String,
    /// What of the book is damaged.
    pub damaged: Vec<&'l str>,
}

impl<'l> Report<'l> {
    /// What a course needs against what is in hand; nothing where it needs nothing more.
    #[must_use]
    pub fn supply(&self, record: &Record) -> Option<&Supply<'l>> {
        let script = record.checked.standing.script;
        self.stock.iter().find(|s| s.is_of(self.patient, script))
    }
}

/// One weighing beside what it is held against.
#[derive(Debug)]
pub struct Weight<'l> {
    /// The weighing.
    pub weighing: &'l Weighing,
    /// How far it is from the highest of the 28 days up to it: 0, or a negative share.
    pub change: Option<Exact>,
    /// The weight in g at or below which the keeper is told to call.
    pub call_at: Option<Exact>,
}

/// One course.
#[derive(Debug)]
pub struct Record<'l> {
    /// The verdict, with all that stands beside it.
    pub checked: Checked<'l>,
    /// What was planned against what became of it, up to now, in the order of the slots; then
    /// doses beside the schedule.
    pub rows: Vec<Row<'l>>,
    /// The stretches of the course, each with its own dose.
    pub phases: Vec<Stretch>,
    /// What the vet said about it since, in the order in which it was said.
    pub said: Vec<&'l Said>,
}

/// A stretch of a course with one dose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The dose as the vet wrote it; an application in the vet's own words.
    pub dose: String,
    /// Whether those are the vet's own words.
    pub own_words: bool,
    /// When its first dose is due.
    pub from: Due,
    /// When its last dose is due.
    pub to: Due,
    /// When each of its doses is due that is still waited for.
    pub waiting: Vec<Due>,
    /// The phase of the schedule, counted from 0.
    pub phase: usize,
}

/// Gathers the history of one animal.
///
/// # Errors
/// [`ScheduleError`], as [`check`].
pub fn of_animal<'l>(
    ledger: &'l Ledger,
    settings: &'l Settings,
    patient: &'l Patient,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Report<'l>, ScheduleError> {
    let name = &patient.animal.name;
    let mut courses = Vec::new();
    let mut vets: Vec<&Vet> = Vec::new();
    for checked in check(ledger, settings, zone, now)? {
        let standing = &checked.standing;
        if !same(&standing.patient.animal.name, name) {
            continue;
        }
        let vet = &standing.script.prescription.vet;
        if !vets.contains(&vet) {
            vets.push(vet);
        }
        let reference = &standing.script.prescription.reference;
        let said = patient.instructions.iter();
        courses.push(Record {
            rows: given::rows(ledger, standing, now),
            phases: stretches(&checked),
            said: said
                .filter(|said| said.at <= now && said.instruction.prescription == *reference)
                .collect(),
            checked,
        });
    }
    let weights = weights(patient, settings, zone, now);
    let mut notes: Vec<&Note> = patient.notes.iter().filter(|note| note.at <= now).collect();
    notes.sort_by_key(|note| (note.at, note.entry));
    let mut stock = stock(ledger, settings, zone, now)?;
    stock.retain(|supply| supply.is_for(patient));
    let code = code(patient, &courses, &weights, &notes);
    Ok(Report {
        patient,
        now,
        zone,
        settings,
        weights,
        courses,
        notes,
        stock,
        vets,
        code,
        damaged: ledger.damaged.iter().map(String::as_str).collect(),
    })
}

fn weights<'l>(
    patient: &'l Patient,
    settings: &Settings,
    zone: Zone,
    now: DateTime<Utc>,
) -> Vec<Weight<'l>> {
    let up_to_now = patient.weights.all().iter().filter(|w| w.at <= now);
    let each = up_to_now.map(|weighing| {
        let high = patient.weights.high_of_28_days(weighing.at, zone);
        let high = high.map(|high| high.weight.value());
        let own = weighing.weight.value();
        let left = Exact::ONE.minus(settings.loss_percent.share()).ok();
        let limit = high.zip(left);
        Weight {
            weighing,
            change: high.and_then(|high| own.over(high).ok()?.minus(Exact::ONE).ok()),
            call_at: limit.and_then(|(high, left)| high.grams().times(left).ok()),
        }
    });
    each.collect()
}

fn stretches(checked: &Checked) -> Vec<Stretch> {
    let standing = &checked.standing;
    let mut stretches: Vec<Stretch> = Vec::new();
    for slot in &standing.course.slots {
        if slot.state == State::Gone {
            continue;
        }
        let waits = slot.waits().then_some(slot.due);
        match stretches.last_mut() {
            Some(last) if last.phase == slot.slot.phase => {
                last.to = slot.due;
                last.waiting.extend(waits);
            }
            _ => {
                let dose = standing.script.prescription.dose(slot.slot.dose);
                stretches.push(Stretch {
                    dose: dose.map(|dose| dose.text().to_owned()).unwrap_or_default(),
                    own_words: dose.is_some_and(|dose| !dose.is_measured()),
                    from: slot.due,
                    to: slot.due,
                    waiting: waits.into_iter().collect(),
                    phase: slot.slot.phase,
                });
            }
        }
    }
    stretches
}

/// From the entries that the report was made from.
fn code(patient: &Patient, courses: &[Record], weights: &[Weight], notes: &[&Note]) -> String {
    let mut text = format!("report {}", patient.animal.name);
    let mut add = |entry: u64| text.push_str(&format!(" {entry}"));
    weights.iter().for_each(|weight| add(weight.weighing.entry));
    notes.iter().for_each(|note| add(note.entry));
    for course in courses {
        add(course.checked.standing.script.entry);
        course.said.iter().for_each(|said| add(said.entry));
        let records = course.rows.iter().filter_map(|row| row.given.as_ref());
        records.for_each(|given| add(given.dose.entry));
    }
    short_code(text.as_bytes())
}
