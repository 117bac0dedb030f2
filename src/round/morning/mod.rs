//! The morning look: everything that waits for somebody, the most pressing first, each with the
//! commands to type next.
//!
//! Promises: what is late, not recorded, held, open or owed to the vet is here, whatever day it
//! was due; nothing is here that nobody can do anything about. A mark is never shown: that is for
//! the card, beside its weight and its bottle.

mod animals;
mod bottles;
mod courses;

use crate::ledger::{Ledger, Patient, Script};
use crate::round::{DayDose, Standing, Step, check, of_day, say};
use crate::schedule::{Due, ScheduleError, Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};

/// What kind of thing waits; the most pressing first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Part of the book is damaged, or the clock runs behind it.
    Book,
    /// An animal has lost so much weight, or weighs so much more, that the vet is to be called.
    Call,
    /// A dose is late.
    Late,
    /// Nobody has said what became of a dose.
    NotRecorded,
    /// A dose is held until the vet has spoken.
    Held,
    /// Something happened that the vet is to be asked about.
    ForTheVet,
    /// A dose may be given now.
    Open,
    /// A weight is old, or will be tomorrow.
    Weight,
    /// A bottle is over, nearly over, or not in the book.
    Bottle,
    /// Something that the vet wants beside the doses is due.
    FollowUp,
    /// An instruction was not read back, or its paper has not come.
    Instruction,
    /// The book is new, and something is still to be put in.
    Begin,
}

/// One thing that waits.
#[derive(Clone, Debug)]
pub struct Waiting<'l> {
    /// What kind of thing.
    pub kind: Kind,
    /// About which animal.
    pub patient: Option<&'l Patient>,
    /// About which prescription.
    pub script: Option<&'l Script>,
    /// About which dose of it.
    pub dose: Option<u32>,
    /// What it is.
    pub words: String,
    /// What to do about it.
    pub step: Step,
}

/// A dose that is due later today.
#[derive(Clone, Debug)]
pub struct Later<'l> {
    /// For whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// Its number.
    pub dose: u32,
    /// When it is due.
    pub due: Due,
    /// From when it may be given, where that is known.
    pub opens: Option<DateTime<Utc>>,
}

/// Everything that waits at a moment.
#[derive(Debug)]
pub struct Morning<'l> {
    /// The moment of looking.
    pub now: DateTime<Utc>,
    /// The local day.
    pub day: NaiveDate,
    /// The book's zone.
    pub zone: Zone,
    /// What waits, the most pressing first.
    pub waiting: Vec<Waiting<'l>>,
    /// What is due later today, in order.
    pub later: Vec<Later<'l>>,
    /// The next dose of all that is not due today, where nothing is due today.
    pub next: Option<Later<'l>>,
}

/// Looks at everything.
///
/// # Errors
/// [`ScheduleError`], as [`check`].
pub fn morning<'l>(
    ledger: &'l Ledger,
    settings: &'l Settings,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Morning<'l>, ScheduleError> {
    let day = local_date(now, zone);
    let seen = Seen {
        ledger,
        settings,
        zone,
        now,
        day,
    };
    let checked = check(ledger, settings, zone, now)?;
    let round = of_day(ledger, settings, zone, day, now)?;
    let mut waiting = book(&seen);
    courses::reasons(&checked, zone, &mut waiting);
    courses::open_doses(&round, &mut waiting);
    courses::beside(&checked, zone, &mut waiting);
    animals::weights(&seen, &checked, &mut waiting);
    bottles::bottles(&seen, &checked, &mut waiting)?;
    begin(ledger, &mut waiting);
    waiting.sort_by_key(|waits| waits.kind);
    let later: Vec<Later> = round.doses.iter().filter_map(later_today).collect();
    let next = next(checked.iter().map(|checked| &checked.standing), day, zone);
    Ok(Morning {
        now,
        day,
        zone,
        waiting,
        next: next.filter(|_| later.is_empty()),
        later,
    })
}

/// What every part of the look goes by.
struct Seen<'l> {
    ledger: &'l Ledger,
    settings: &'l Settings,
    zone: Zone,
    now: DateTime<Utc>,
    day: NaiveDate,
}

/// The book itself: what is damaged in it, and a clock that runs behind it.
fn book<'l>(seen: &Seen<'l>) -> Vec<Waiting<'l>> {
    let of_the_book = |words: String, step: Step| Waiting {
        kind: Kind::Book,
        patient: None,
        script: None,
        dose: None,
        words,
        step,
    };
    let mut waiting = Vec::new();
    let damaged: Vec<&str> = seen.ledger.damaged.iter().map(String::as_str).collect();
    if !damaged.is_empty() {
        waiting.push(of_the_book(
            format!("Part of the book is damaged: {}", damaged.join(", ")),
            Step {
                words: "What depends on it has no mark, or is not shown. Look at your last copy of the book:".to_owned(),
                commands: vec!["scruple check".to_owned()],
            },
        ));
    }
    if let Some(behind) = crate::round::clock_behind(seen.ledger, seen.now, seen.zone) {
        waiting.push(of_the_book(
            behind.to_string(),
            Step {
                words: "Set the clock right before anything is given.".to_owned(),
                commands: Vec::new(),
            },
        ));
    }
    waiting
}

/// What a new book still wants, one thing at a time.
fn begin<'l>(ledger: &'l Ledger, waiting: &mut Vec<Waiting<'l>>) {
    if !ledger.scripts.is_empty() || ledger.in_part {
        return;
    }
    let (words, then, command) = if ledger.syringes.is_empty() {
        (
            "No syringe is in the book yet",
            "Read its capacity and the distance between two lines off each kind of barrel you have:",
            "scruple syringe add CAPACITY/GRADUATION --for mouth",
        )
    } else if ledger.animals.is_empty() {
        (
            "No animal is in the book yet",
            "Take in the first:",
            "scruple animal add NAME --species WORDS --id WORDS",
        )
    } else {
        (
            "No prescription is in the book yet",
            "Have the vet's label at hand; you are asked one question at a time:",
            "scruple enter",
        )
    };
    waiting.push(Waiting {
        kind: Kind::Begin,
        patient: None,
        script: None,
        dose: None,
        words: words.to_owned(),
        step: Step {
            words: then.to_owned(),
            commands: vec![command.to_owned()],
        },
    });
}

/// A dose of today that nothing waits for yet.
fn later_today<'l>(dose: &DayDose<'l>) -> Option<Later<'l>> {
    use crate::course::State;
    matches!(dose.slot.state, State::Planned | State::TooSoon).then(|| Later {
        patient: dose.patient,
        script: dose.script,
        dose: dose.slot.slot.number,
        due: dose.slot.due,
        opens: dose.slot.opens,
    })
}

/// The soonest dose that is to come after today.
fn next<'a, 'l: 'a>(
    standings: impl Iterator<Item = &'a Standing<'l>>,
    day: NaiveDate,
    zone: Zone,
) -> Option<Later<'l>> {
    let to_come = standings.flat_map(|standing| {
        let slots = standing.course.slots.iter();
        let after = slots.filter(move |slot| slot.waits() && slot.due.date(zone) > day);
        after.map(|slot| Later {
            patient: standing.patient,
            script: standing.script,
            dose: slot.slot.number,
            due: slot.due,
            opens: slot.opens,
        })
    });
    to_come.min_by_key(|later| later.due.opens(chrono::TimeDelta::zero(), zone))
}

/// "Thimblo, DEMO-0001 (Madeup Amber)".
fn whose(patient: &Patient, script: &Script) -> String {
    let prescription = &script.prescription;
    format!(
        "{}, {} ({})",
        patient.animal.name, prescription.reference, prescription.medicine.name
    )
}

impl Later<'_> {
    /// "Thimblo, DEMO-0001, dose 3: due Sun 11 March 08:00".
    pub fn words(&self, zone: Zone) -> String {
        format!(
            "{}, {}, dose {}: due {}",
            self.patient.animal.name,
            self.script.prescription.reference,
            self.dose,
            say::due(self.due, zone)
        )
    }
}
