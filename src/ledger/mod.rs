//! The one fold of entries into what is known, where corrections are applied.
//!
//! Promises: the same entries always give the same ledger; a corrected entry is struck out
//! but stays in the history; what cannot be understood is listed, never skipped in silence. It
//! judges nothing: whether a dose is due is `course`'s business.

mod find;
mod index;
#[cfg(test)]
mod tests;

pub use find::{FindError, Found};
pub use index::Names;

use crate::animal::{Animal, Weighing, Weights};
use crate::bottle::Bottle;
use crate::entry::{
    Confirmation, Correction, DoseRecord, End, Entered, Entry, FollowUpDone, Happening,
    Instruction, Observation, Row, Subject, Weighed,
};
use crate::ledger::index::Index;
use crate::notation::Written;
use crate::notation::fold::is_unseen;
use crate::prescription::Prescription;
use crate::quantity::Amount;
use crate::rack::Syringe;
use crate::schedule::{Start, Zone};
use crate::settings::Settings;
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Everything the book says, put together.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    /// The settings as they now are.
    pub settings: Option<Settings>,
    /// Every state of the settings, oldest first; the last is the one above.
    pub settings_history: Vec<Set>,
    /// The syringes at hand.
    pub syringes: Vec<Syringe>,
    /// The animals, in the order they came in.
    pub animals: Vec<Patient>,
    /// The prescriptions, in the order they were entered.
    pub scripts: Vec<Script>,
    /// The prescriptions that corrections struck out: a calendar may still hold their
    /// doses.
    pub withdrawn: Vec<Script>,
    /// The bottles, by number.
    pub bottles: Vec<Container>,
    /// The highest number a bottle was ever given; a bottle struck out keeps its own.
    pub last_bottle: u32,
    /// The entries that corrections struck out, with their corrections.
    pub corrected: BTreeMap<u64, Correction>,
    /// Entries that could not be understood.
    pub faults: Vec<Fault>,
    /// The subjects whose chains are damaged, by their keys; "the book" where all of it is in doubt.
    pub damaged: BTreeSet<String>,
    /// When the newest entry was written.
    pub newest: Option<DateTime<Utc>>,
    /// How many entries there are.
    pub entries: u64,
    /// Only what the day's work needs was folded; the book tells of more that is at rest.
    pub in_part: bool,
    index: Index,
    /// While it is folded: the prescriptions that were read before, by their entries.
    read: BTreeMap<u64, Script>,
}

/// The settings as they were from one entry on.
#[derive(Clone, Debug)]
pub struct Set {
    /// Its entry.
    pub entry: u64,
    /// From when.
    pub at: DateTime<Utc>,
    /// The initials of who set them.
    pub by: Option<String>,
    /// All of them.
    pub settings: Settings,
}

/// One animal with its weighings and doses.
#[derive(Clone, Debug)]
pub struct Patient {
    /// Who it is.
    pub animal: Animal,
    /// Its weighings.
    pub weights: Weights,
    /// The weighings that were struck out: a dose may have been measured by one.
    pub withdrawn: Vec<Withdrawn>,
    /// Everything recorded about its doses, in the order it was written down.
    pub doses: Vec<Dose>,
    /// What the vet said about its courses, in the order in which it was said.
    pub instructions: Vec<Said>,
    /// What people saw, in the order it was written down.
    pub notes: Vec<Note>,
    /// The follow-ups of its courses that were done.
    pub followed: Vec<Followed>,
    /// How its stay ended.
    pub end: Option<(DateTime<Utc>, End)>,
}

/// One weighing that was struck out.
#[derive(Clone, Debug)]
pub struct Withdrawn {
    /// The weighing.
    pub weighing: Weighing,
    /// The entry of the correction that took it out.
    pub by: u64,
}

/// One record of a dose.
#[derive(Clone, Debug)]
pub struct Dose {
    /// Its entry.
    pub entry: u64,
    /// The prescription's reference.
    pub course: String,
    /// When it happened.
    pub happened: DateTime<Utc>,
    /// When it was written down.
    pub recorded: DateTime<Utc>,
    /// What became of it.
    pub record: DoseRecord,
}

/// One thing that somebody saw.
#[derive(Clone, Debug)]
pub struct Note {
    /// Its entry.
    pub entry: u64,
    /// When it was seen.
    pub at: DateTime<Utc>,
    /// What was seen.
    pub observation: Observation,
}

/// One instruction of the vet.
#[derive(Clone, Debug)]
pub struct Said {
    /// Its entry.
    pub entry: u64,
    /// When it was said.
    pub at: DateTime<Utc>,
    /// What was said.
    pub instruction: Instruction,
}

/// One follow-up that was done.
#[derive(Clone, Debug)]
pub struct Followed {
    /// Its entry.
    pub entry: u64,
    /// The prescription's reference.
    pub course: String,
    /// When it was done.
    pub at: DateTime<Utc>,
    /// What was done.
    pub done: FollowUpDone,
}

/// One prescription in force or over.
#[derive(Clone, Debug)]
pub struct Script {
    /// Its entry.
    pub entry: u64,
    /// When it was entered.
    pub entered: DateTime<Utc>,
    /// What the vet wrote.
    pub prescription: Prescription,
    /// When its courses start.
    pub start: Start,
    /// The zone in which the start and the vet's hours were meant when it was entered. A later
    /// change of the book's zone moves no dose.
    pub zone: Zone,
}

/// One bottle, open or over.
#[derive(Clone, Debug)]
pub struct Container {
    /// The bottle.
    pub bottle: Bottle,
    /// When it was discarded or ran dry.
    pub ended: Option<DateTime<Utc>>,
    /// What somebody last saw to be left in it, and when.
    pub seen_left: Option<(DateTime<Utc>, Written<Amount>)>,
}

/// An entry that could not be understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Its number.
    pub entry: u64,
    /// Whose chain it stands in.
    pub subject: String,
    /// What is wrong, in words.
    pub why: String,
}

impl Ledger {
    /// Folds the rows of a book.
    pub fn fold(rows: &[Row]) -> Ledger {
        Ledger::fold_again(rows, Vec::new())
    }

    /// The same, where these prescriptions were read of the same rows before: the text of none is
    /// read twice.
    pub fn fold_again(rows: &[Row], scripts: Vec<Script>) -> Ledger {
        let (corrected, taken_out_by) = corrections(rows);
        let mut ledger = Ledger {
            read: (scripts.into_iter().map(|script| (script.entry, script))).collect(),
            entries: rows.iter().map(|row| row.seq).max().unwrap_or_default(),
            corrected,
            ..Ledger::default()
        };
        // An entry that was written by a wrong clock, once it is struck out, no longer
        // holds up what the right one says.
        let counts = rows
            .iter()
            .filter(|row| !ledger.corrected.contains_key(&row.seq));
        ledger.newest = counts.map(|row| row.recorded_at).max();
        let mut weighings: BTreeMap<String, Vec<Weighing>> = BTreeMap::new();
        let mut withdrawn: BTreeMap<String, Vec<Withdrawn>> = BTreeMap::new();
        let mut unread = Vec::new();
        // One at a time: of a long history, all of them at once would fill the memory.
        for row in rows {
            let entry = match Entry::read(row) {
                Ok(entry) => entry,
                Err(error) => {
                    unread.push(Fault {
                        entry: row.seq,
                        subject: row.subject.clone(),
                        why: error.to_string(),
                    });
                    continue;
                }
            };
            if let Happening::Bottle(bottle) = &entry.what {
                ledger.last_bottle = ledger.last_bottle.max(bottle.what.number);
            }
            if !ledger.corrected.contains_key(&entry.seq) {
                ledger.take(entry, &mut weighings);
                continue;
            }
            match (entry.what, entry.subject) {
                (Happening::Prescription(kept), _) => {
                    let script = as_script(entry.seq, entry.recorded_at, kept, &entry.zone);
                    ledger.withdrawn.extend(script);
                }
                (Happening::Weighing(weighed), Subject::Animal(name)) => {
                    let of_this = withdrawn.entry(name).or_default();
                    of_this.push(Withdrawn {
                        weighing: weighing(entry.seq, entry.happened_at, weighed),
                        by: taken_out_by.get(&entry.seq).copied().unwrap_or_default(),
                    });
                }
                _ => {}
            }
        }
        for patient in &mut ledger.animals {
            let of_this = weighings.remove(&patient.animal.name).unwrap_or_default();
            patient.weights = Weights::new(of_this);
            patient.withdrawn = withdrawn.remove(&patient.animal.name).unwrap_or_default();
            patient
                .instructions
                .sort_by_key(|said| (said.at, said.entry));
            // Of thousands of animals the room to grow would be much of the memory.
            patient.doses.shrink_to_fit();
        }
        unread.append(&mut ledger.faults);
        ledger.faults = unread;
        ledger.read.clear();
        ledger
    }

    /// The same, with what the book found damaged: the rows of those subjects were left out.
    #[must_use]
    pub fn with_damage(mut self, subjects: impl IntoIterator<Item = Option<String>>) -> Ledger {
        let whole = || "the book".to_owned();
        self.damaged.extend(
            subjects
                .into_iter()
                .map(|subject| subject.unwrap_or_else(whole)),
        );
        self.damaged
            .extend(self.faults.iter().map(|fault| fault.subject.clone()));
        self.damaged = self.damaged.iter().map(|name| sayable(name)).collect();
        self
    }

    /// What is damaged that a mark for this animal would depend on, in words. A damaged bottle
    /// matters where no sound one of the medicine is in the book (`no_bottle`), since it may be
    /// the one in hand.
    pub fn damage_behind(&self, patient: &Patient, no_bottle: bool) -> Option<String> {
        let words = |key: &String| match Subject::from_key(key) {
            Some(Subject::Animal(name)) => format!("What is recorded about {name}"),
            Some(Subject::Prescription(reference)) => format!("Prescription {reference}"),
            Some(Subject::Bottle(number)) => format!("Bottle {number}"),
            Some(Subject::Settings) => "What is recorded about settings and syringes".to_owned(),
            None => "What the book says of itself".to_owned(),
        };
        let touches = |key: &&String| match Subject::from_key(key) {
            Some(Subject::Animal(name)) => name == patient.animal.name,
            // Doses of a course that cannot be read may be of this very medicine.
            Some(Subject::Prescription(reference)) => {
                patient.doses.iter().any(|dose| dose.course == reference)
            }
            Some(Subject::Bottle(_)) => no_bottle,
            Some(Subject::Settings) | None => true,
        };
        self.damaged.iter().find(touches).map(words)
    }

    /// The prescriptions that name an animal.
    pub fn scripts_of<'l>(
        &'l self,
        patient: &Patient,
    ) -> impl Iterator<Item = &'l Script> + use<'l> {
        let places = self.index.scripts_for(&patient.animal.name).iter();
        places.filter_map(|place| self.scripts.get(*place))
    }

    /// The prescriptions of a reference: one, unless one that was struck out came back.
    pub fn scripts_called<'l>(&'l self, reference: &str) -> impl Iterator<Item = &'l Script> {
        let places = self.index.scripts_called(reference).iter();
        places.filter_map(|place| self.scripts.get(*place))
    }

    /// The bottles of a prescription's medicine, in the order they came in.
    pub fn bottles_of(&self, prescription: &Prescription) -> impl Iterator<Item = &Container> {
        let places = self.index.bottles_of(prescription.medicine_folded());
        places
            .into_iter()
            .filter_map(|place| self.bottles.get(place))
    }

    /// The place of an animal among all, by its whole name.
    pub fn place_of(&self, animal: &str) -> Option<usize> {
        self.index.place_of(animal)
    }

    /// The animals whose names are easily taken for this one, in the order they came in.
    pub fn named_alike(&self, name: &str) -> impl Iterator<Item = &Patient> {
        let places = self.index.alike(name).into_iter();
        places.filter_map(|place| self.animals.get(place))
    }

    fn fault(&mut self, entry: u64, subject: String, why: String) {
        self.faults.push(Fault {
            entry,
            subject,
            why,
        });
    }

    fn take(&mut self, entry: Entry, weighings: &mut BTreeMap<String, Vec<Weighing>>) {
        let Entry {
            seq,
            subject,
            course,
            happened_at,
            recorded_at,
            zone,
            what,
            ..
        } = entry;
        match what {
            Happening::Settings(settings) => {
                self.settings = Some(settings.what.clone());
                self.settings_history.push(Set {
                    entry: seq,
                    at: happened_at,
                    by: settings.by,
                    settings: settings.what,
                });
            }
            Happening::Syringe(syringe) => self.syringes.push(syringe.what),
            Happening::Animal(animal) => {
                let place = self.animals.len();
                self.index.animal(&animal.what.name, place);
                self.animals.push(Patient {
                    animal: animal.what,
                    weights: Weights::default(),
                    withdrawn: Vec::new(),
                    doses: Vec::new(),
                    instructions: Vec::new(),
                    notes: Vec::new(),
                    followed: Vec::new(),
                    end: None,
                });
            }
            Happening::Weighing(weighed) => {
                let Subject::Animal(name) = subject else {
                    return self.of_nobody(seq, &subject);
                };
                let of_this = weighings.entry(name).or_default();
                of_this.push(weighing(seq, happened_at, weighed));
            }
            Happening::Prescription(entered) => {
                self.enter(seq, recorded_at, entered, &zone, &subject);
            }
            Happening::Bottle(bottle) => {
                let place = self.bottles.len();
                self.index.bottle(&bottle.what.medicine, place);
                self.bottles.push(Container {
                    bottle: bottle.what,
                    ended: None,
                    seen_left: None,
                });
            }
            Happening::BottleEnd(end) => {
                self.with_bottle(end.bottle, |open| {
                    open.ended = Some(happened_at);
                });
            }
            Happening::Thaw(thaw) => {
                self.with_bottle(thaw.bottle, |open| {
                    if let Some(batch) = &mut open.bottle.batch {
                        batch.thawed.push(thaw.on);
                    }
                });
            }
            Happening::Left(seen) => {
                self.with_bottle(seen.bottle, |open| {
                    open.seen_left = Some((happened_at, seen.left));
                });
            }
            Happening::Observation(observation) => {
                let note = Note {
                    entry: seq,
                    at: happened_at,
                    observation,
                };
                self.with_patient(seq, &subject, |patient| patient.notes.push(note));
            }
            Happening::Dose(record) => {
                let course = course.unwrap_or_default();
                let dose = Dose {
                    entry: seq,
                    course,
                    happened: happened_at,
                    recorded: recorded_at,
                    record,
                };
                self.with_patient(seq, &subject, |patient| patient.doses.push(dose));
            }
            Happening::Instruction(instruction) => {
                let said = Said {
                    entry: seq,
                    at: happened_at,
                    instruction,
                };
                self.with_patient(seq, &subject, |patient| patient.instructions.push(said));
            }
            Happening::End(end) => {
                self.with_patient(seq, &subject, |patient| {
                    patient.end = Some((happened_at, end))
                });
            }
            Happening::FollowUp(done) => {
                let followed = Followed {
                    entry: seq,
                    course: course.unwrap_or_default(),
                    at: happened_at,
                    done,
                };
                self.with_patient(seq, &subject, |patient| patient.followed.push(followed));
            }
            Happening::Confirmation(confirmed) => {
                self.with_patient(seq, &subject, |patient| patient.confirm(&confirmed));
            }
            Happening::Correction(_) => {}
        }
    }

    fn enter(
        &mut self,
        seq: u64,
        entered: DateTime<Utc>,
        kept: Entered,
        zone: &str,
        subject: &Subject,
    ) {
        let read = self.read.remove(&seq);
        match read.map_or_else(|| as_script(seq, entered, kept, zone), Ok) {
            Ok(script) => {
                self.index.script(&script, self.scripts.len());
                self.scripts.push(script);
            }
            Err(why) => self.fault(seq, subject.key(), why),
        }
    }

    /// A bottle whose opening was taken back has nothing to change.
    fn with_bottle(&mut self, number: u32, change: impl FnOnce(&mut Container)) {
        if let Some(open) = (self.bottles.iter_mut()).find(|open| open.bottle.number == number) {
            change(open);
        }
    }

    fn with_patient(&mut self, seq: u64, subject: &Subject, change: impl FnOnce(&mut Patient)) {
        let name = match subject {
            Subject::Animal(name) => name.as_str(),
            _ => "",
        };
        let place = self.index.place_of(name);
        match place.and_then(|place| self.animals.get_mut(place)) {
            Some(patient) => change(patient),
            None => self.of_nobody(seq, subject),
        }
    }

    fn of_nobody(&mut self, seq: u64, subject: &Subject) {
        let why = "it speaks of an animal that is not in the book";
        self.fault(seq, subject.key(), why.to_owned());
    }
}

/// A prescription as it was entered.
///
/// # Errors
/// What of it cannot be understood, in words.
fn as_script(
    entry: u64,
    entered: DateTime<Utc>,
    kept: Entered,
    typed: &str,
) -> Result<Script, String> {
    let zone = typed.parse();
    let zone = zone.map_err(|_| format!("its time zone is '{typed}', which is none"))?;
    let prescription = Prescription::read_kept(&kept.source, &kept.file);
    Ok(Script {
        entry,
        entered,
        prescription: prescription.map_err(|faults| faults.to_string())?,
        start: Start {
            date: kept.start,
            time: kept.start_time,
        },
        zone,
    })
}

impl Patient {
    /// Marks an instruction as read back, or its paper as come. Of one that is struck out
    /// there is nothing to mark.
    fn confirm(&mut self, confirmed: &Confirmation) {
        let said = self.instructions.iter_mut();
        for said in said.filter(|said| said.entry == confirmed.entry) {
            said.instruction.read_back |= confirmed.read_back;
            said.instruction.paper_awaited &= !confirmed.paper_came;
        }
    }
}

fn weighing(entry: u64, at: DateTime<Utc>, weighed: Weighed) -> Weighing {
    Weighing {
        entry,
        at,
        weight: weighed.weight,
        readability: weighed.readability,
        tag: weighed.tag,
    }
}

/// The entries struck out, and the entry that took out each. A correction that was itself corrected counts for nothing, so
/// corrections are taken newest first: whether one stands depends only on later ones.
fn corrections(rows: &[Row]) -> (BTreeMap<u64, Correction>, BTreeMap<u64, u64>) {
    let (mut out, mut by) = (BTreeMap::new(), BTreeMap::new());
    let taking_back = rows.iter().rev().filter(|row| row.kind == "correction");
    for entry in taking_back.filter_map(|row| Entry::read(row).ok()) {
        if let Happening::Correction(correction) = entry.what
            && !out.contains_key(&entry.seq)
        {
            by.insert(correction.entry, entry.seq);
            out.insert(correction.entry, correction);
        }
    }
    (out, by)
}

/// What is damaged, as it can be said: a name that no command gives, of any length or with
/// characters that steer a terminal, is said in part, and then counts as what any mark may depend
/// on.
fn sayable(subject: &str) -> String {
    const LONGEST: usize = 200;
    if subject.len() <= LONGEST && !subject.chars().any(is_unseen) {
        return subject.to_owned();
    }
    let seen = subject.chars().filter(|c| !is_unseen(*c)).take(40);
    format!("something named '{}...'", seen.collect::<String>())
}
