//! What the day's work needs of a book, and what is at rest.
//!
//! Promises: from what is named here, the morning look, today's card and the recording of a dose
//! or a weighing come out just as they would from the whole book, on this day and every later one,
//! until something is recorded that does not pass through here again. A course is at rest only
//! once nothing about it waits for anybody and no time that passes can change that. Deliberately
//! holds no facts: it says where to read.

use crate::bottle::Bottle;
use crate::course::{Course, Verdict};
use crate::entry::{Row, Stretch, Subject};
use crate::ledger::{Container, Dose, Ledger, Patient, Script};
use crate::round::said::unfinished;
use crate::round::unsettled::flagged;
use crate::round::{FollowUpState, Standing, courses, follow_ups, step};
use crate::schedule::{ScheduleError, Zone};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// What happened so lately stays in sight: a dose on the day it was given, in whatever zone the
/// day is counted; notes stand beside a dose for a week.
const OF_LATE: TimeDelta = TimeDelta::days(9);

/// A loss is judged by the 28 days before the latest weighing; so long before it, to be sure of
/// the first of them.
const WEIGHTS: TimeDelta = TimeDelta::days(30);

/// Every subject that the day's work needs, with the stretches of its chain, in order, of which the
/// last goes on to the newest entry; none where the animal is here and has nothing open, so that
/// only its name and first entry are needed. `rows` are those the ledger was folded from.
///
/// # Errors
/// [`ScheduleError`], as [`courses`].
pub fn needed(
    ledger: &Ledger,
    rows: &[Row],
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<BTreeMap<String, Vec<Stretch>>, ScheduleError> {
    let now = ledger.newest.map_or(now, |newest| newest.max(now));
    let all = courses(ledger, zone, now)?;
    let scripts = scripts(ledger, &all, zone, now);
    let open: Vec<&Script> = (ledger.scripts.iter())
        .filter(|script| scripts.contains(&script.entry))
        .collect();
    let bottles = bottles(ledger, &open);
    let drawn_from: BTreeSet<u32> = (bottles.iter())
        .filter(|open| open.ended.is_none())
        .map(|open| open.bottle.number)
        .collect();
    let odd = not_begun_plainly(ledger, rows);
    let turns = turns(rows);
    let mut courses_of: BTreeMap<&str, Vec<&Standing>> = BTreeMap::new();
    for standing in &all {
        let name = standing.patient.animal.name.as_str();
        courses_of.entry(name).or_default().push(standing);
    }
    let mut needed = BTreeMap::new();
    let whole = || vec![Stretch::WHOLE];
    needed.insert(Subject::Settings.key(), whole());
    for script in &open {
        let reference = script.prescription.reference.clone();
        needed.insert(Subject::Prescription(reference).key(), whole());
    }
    for Container {
        bottle: Bottle { number, .. },
        ..
    } in &bottles
    {
        needed.insert(Subject::Bottle(*number).key(), whole());
    }
    for patient in &ledger.animals {
        let key = Subject::Animal(patient.animal.name.clone()).key();
        let named = ledger.scripts_of(patient);
        let named: Vec<&Script> = named.filter(|s| scripts.contains(&s.entry)).collect();
        let drawn = |dose: &&Dose| dose.record.bottle.is_some_and(|b| drawn_from.contains(&b));
        let drawn = patient.doses.iter().filter(drawn).map(|dose| dose.entry);
        let drawn = drawn.min();
        let is_idle = named.is_empty() && drawn.is_none();
        let stretches = match &patient.end {
            _ if odd.contains(&key) => whole(),
            Some(_) if is_idle => continue,
            // The end of its stay is an entry like others: whoever left is read whole.
            Some(_) => whole(),
            None if is_idle => Vec::new(),
            None => {
                let own = courses_of.get(patient.animal.name.as_str());
                let of_need = own.into_iter().flatten().copied();
                let of_need = of_need.filter(|s| scripts.contains(&s.script.entry));
                let turns = turns.get(key.as_str()).map_or(&[][..], Vec::as_slice);
                let place = |entry| place_in_chain(rows, entry);
                Needs::of(ledger, patient, of_need, drawn, zone, now).stretches(place, turns)
            }
        };
        needed.insert(key, stretches);
    }
    for fault in &ledger.faults {
        needed.insert(fault.subject.clone(), whole());
    }
    Ok(needed)
}

/// The prescriptions with a course that is not at rest, and those whose doses hold a gate of one.
fn scripts(ledger: &Ledger, all: &[Standing], zone: Zone, now: DateTime<Utc>) -> BTreeSet<u64> {
    let mut scripts = BTreeSet::new();
    for standing in all {
        if is_at_rest(ledger, standing, zone, now) {
            continue;
        }
        scripts.insert(standing.script.entry);
        scripts.extend(before(ledger, standing, now));
    }
    scripts
}

/// The other courses of the same medicine that a course of this animal is held by: those with the
/// last dose before its own first record, or with any later one.
fn before(ledger: &Ledger, standing: &Standing, now: DateTime<Utc>) -> BTreeSet<u64> {
    let (patient, script) = (standing.patient, standing.script);
    let own = &script.prescription.reference;
    let first = patient.doses.iter().filter(|dose| dose.course == *own);
    let first = first.map(|dose| dose.happened).min().unwrap_or(now);
    let of_others: Vec<(&Dose, &Script)> = (patient.doses.iter())
        .filter(|dose| dose.course != *own)
        .flat_map(|dose| ledger.scripts_called(&dose.course).map(move |s| (dose, s)))
        .filter(|(_, other)| other.prescription.shares_medicine(&script.prescription))
        .collect();
    let gating = |(dose, _): &&(&Dose, &Script)| dose.record.outcome.closes_the_gate();
    let last = (of_others.iter().filter(gating))
        .filter(|(dose, _)| dose.happened <= first)
        .map(|(dose, _)| dose.happened)
        .max();
    let holds = of_others
        .iter()
        .filter(|(dose, _)| last.is_none_or(|last| dose.happened >= last));
    holds.map(|(_, other)| other.entry).collect()
}

/// Whether nothing about a course waits for anybody, and no time that passes can change that.
fn is_at_rest(ledger: &Ledger, standing: &Standing, zone: Zone, now: DateTime<Utc>) -> bool {
    let Some(settings) = &ledger.settings else {
        return false;
    };
    let course = &standing.course;
    let over = match &course.verdict {
        Verdict::Complete | Verdict::EndedEarly(_) => true,
        Verdict::CompleteWithExceptions(remarks) => remarks
            .iter()
            .all(|remark| step(standing, remark).is_none()),
        Verdict::NotStarted | Verdict::OnTrack | Verdict::NeedsAttention(_) => false,
    };
    let waits = |course: &Course| {
        let pending = |slot: &crate::course::Standing| {
            slot.waits() || slot.state.is_pending() || slot.gate.is_open()
        };
        course.actionable.is_some() || course.next.is_some() || course.slots.iter().any(pending)
    };
    let done = |state| matches!(state, FollowUpState::Done { .. });
    over && !waits(course)
        && flagged(standing, settings, now).is_empty()
        && unfinished(standing, now).is_empty()
        && follow_ups(standing, zone, now)
            .iter()
            .all(|wanted| done(wanted.state))
        && last_word(standing).is_none_or(|at| at + OF_LATE < now)
}

/// When something about a course was last recorded or said, or its animal's stay ended.
fn last_word(standing: &Standing) -> Option<DateTime<Utc>> {
    let (patient, own) = (standing.patient, &standing.script.prescription.reference);
    let doses = patient.doses.iter().filter(|dose| dose.course == *own);
    let doses = doses.flat_map(|dose| [dose.happened, dose.recorded]);
    let said = patient.instructions.iter();
    let said = said.filter(|said| said.instruction.prescription == *own);
    let followed = patient.followed.iter().filter(|done| done.course == *own);
    let end = patient.end.iter().map(|(at, _)| *at);
    doses
        .chain(said.map(|said| said.at))
        .chain(followed.map(|done| done.at))
        .chain(end)
        .chain([standing.script.entered])
        .max()
}

/// The bottles that are not over, and of each medicine the one of the others that would be named.
fn bottles<'l>(ledger: &'l Ledger, open: &[&Script]) -> Vec<&'l Container> {
    let mut bottles: Vec<&Container> = (ledger.bottles.iter())
        .filter(|bottle| bottle.ended.is_none())
        .collect();
    let mut names: Vec<Vec<&str>> = Vec::new();
    for script in open {
        let medicine: Vec<&str> = script.prescription.medicine.names().collect();
        if names.contains(&medicine) {
            continue;
        }
        names.push(medicine);
        let over = ledger
            .bottles
            .iter()
            .filter(|bottle| bottle.ended.is_some());
        let over = over.filter(|over| script.prescription.same_medicine(&over.bottle.medicine));
        bottles.extend(over.max_by_key(|over| (over.bottle.last_day(), over.bottle.number)));
    }
    bottles
}

/// The animals whose chain does not begin with the one entry that says who it is, or holds more
/// than one such; they are read whole.
fn not_begun_plainly(ledger: &Ledger, rows: &[Row]) -> BTreeSet<String> {
    let is_animal = |row: &&Row| row.subject.starts_with("animal:");
    let odd = rows.iter().filter(is_animal).filter(|row| {
        let says_who = row.kind == "animal";
        says_who != (row.n == 1) || (says_who && ledger.corrected.contains_key(&row.seq))
    });
    odd.map(|row| row.subject.clone()).collect()
}

/// The entries at which an account takes a turn: a correction or a confirmation, which change how
/// an earlier entry is taken. By subject, their numbers in its chain.
fn turns(rows: &[Row]) -> BTreeMap<&str, Vec<u64>> {
    let mut turns: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
    let turning = |row: &&Row| matches!(row.kind.as_str(), "correction" | "confirmation");
    for row in rows.iter().filter(turning) {
        turns.entry(&row.subject).or_default().push(row.n);
    }
    turns
}

/// What is needed of one animal, by the numbers of entries in the book.
struct Needs {
    /// The first of those from which on everything is needed.
    tail: Option<u64>,
    /// The first and the last entry of each course that is over, and needed for its doses.
    over: Vec<(u64, u64)>,
}

impl Needs {
    fn of<'a, 'l: 'a>(
        ledger: &Ledger,
        patient: &Patient,
        of_need: impl Iterator<Item = &'a Standing<'l>>,
        drawn: Option<u64>,
        zone: Zone,
        now: DateTime<Utc>,
    ) -> Needs {
        let notes = patient.notes.iter().filter(|note| note.at + OF_LATE >= now);
        let all = patient.weights.all();
        let latest = all.last().map(|weighing| weighing.at);
        let lately = |at: DateTime<Utc>| latest.is_some_and(|latest| at + WEIGHTS >= latest);
        let before = all.iter().rev().nth(1).map(|weighing| weighing.entry);
        let weighed = all.iter().filter(|weighing| lately(weighing.at));
        let tail = notes.map(|note| note.entry);
        let tail = tail.chain(weighed.map(|weighing| weighing.entry));
        let mut needs = Needs {
            tail: tail.chain(before).chain(drawn).min(),
            over: Vec::new(),
        };
        for standing in of_need {
            let tied = || tied_to(standing);
            let Some((first, last)) = tied().min().zip(tied().max()) else {
                continue;
            };
            if is_at_rest(ledger, standing, zone, now) {
                needs.over.push((first, last));
                continue;
            }
            let begun = standing.course.first_dose;
            let start = begun.and_then(|first| patient.weights.latest(first));
            let start = start.map(|weighing| weighing.entry);
            // A dose may have been measured by a weight that was since taken out of account.
            let withdrawn = patient.withdrawn.iter().map(|weighing| weighing.entry);
            let tail = needs.tail.into_iter().chain([first]).chain(start);
            needs.tail = tail.chain(withdrawn).min();
        }
        needs
    }

    /// The stretches of the animal's chain that hold all of it. Everything from the first on where
    /// an entry between them changes how one of them is taken.
    fn stretches(self, place: impl Fn(u64) -> u64, turns: &[u64]) -> Vec<Stretch> {
        let mut tail = self.tail.map_or(1, &place);
        let mut over: Vec<(u64, u64)> = (self.over.iter())
            .map(|(first, last)| (place(*first), place(*last)))
            .collect();
        over.sort_unstable();
        let begins = over.first().map_or(tail, |(first, _)| tail.min(*first));
        // From the latest back: what touches the tail becomes part of it.
        let mut apart: Vec<(u64, u64)> = Vec::new();
        for (first, last) in over.into_iter().rev() {
            if last + 1 >= tail {
                tail = tail.min(first);
                apart.retain(|(first, _)| *first < tail);
                continue;
            }
            match apart.last_mut() {
                Some((from, to)) if last + 1 >= *from => {
                    (*from, *to) = (first.min(*from), last.max(*to));
                }
                _ => apart.push((first, last)),
            }
        }
        let is_held = |n: u64| n >= tail || apart.iter().any(|(a, b)| (*a..=*b).contains(&n));
        if turns.iter().any(|n| *n > begins && !is_held(*n)) {
            return vec![Stretch {
                from: begins,
                to: None,
            }];
        }
        let apart = apart.into_iter().rev();
        let apart = apart.map(|(from, to)| Stretch { from, to: Some(to) });
        apart
            .chain([Stretch {
                from: tail,
                to: None,
            }])
            .collect()
    }
}

/// The entries that belong to a course.
fn tied_to(standing: &Standing) -> impl Iterator<Item = u64> {
    let (patient, own) = (standing.patient, &standing.script.prescription.reference);
    let doses = patient.doses.iter().filter(move |dose| dose.course == *own);
    let said = patient.instructions.iter();
    let said = said.filter(move |said| said.instruction.prescription == *own);
    let followed = patient
        .followed
        .iter()
        .filter(move |done| done.course == *own);
    doses
        .map(|dose| dose.entry)
        .chain(said.map(|said| said.entry))
        .chain(followed.map(|done| done.entry))
}

/// The number in its chain of an entry, and the first where it is not among the rows.
fn place_in_chain(rows: &[Row], entry: u64) -> u64 {
    let place = rows.binary_search_by_key(&entry, |row| row.seq).ok();
    place
        .and_then(|place| rows.get(place))
        .map_or(1, |row| row.n)
}
