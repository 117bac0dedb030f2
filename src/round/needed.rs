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
use crate::round::behind::doses_behind;
use crate::round::said::unfinished;
use crate::round::unsettled::flagged;
use crate::round::weighed::held_against;
use crate::round::{FollowUpState, Standing, courses_of, follow_ups, step};
use crate::schedule::{ScheduleError, Zone};
use crate::settings::Settings;
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
/// [`ScheduleError`], as [`crate::round::courses`].
pub fn needed(
    ledger: &Ledger,
    rows: &[Row],
    settings: &Settings,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<BTreeMap<String, Vec<Stretch>>, ScheduleError> {
    let now = ledger.newest.map_or(now, |newest| newest.max(now));
    let scripts = scripts(ledger, settings, zone, now)?;
    let open: Vec<&Script> = (ledger.scripts.iter())
        .filter(|script| scripts.contains(&script.entry))
        .collect();
    let bottles = bottles(ledger, &open);
    let drawn_from: BTreeSet<u32> = (bottles.iter())
        .filter(|open| open.ended.is_none())
        .map(|open| open.bottle.number)
        .collect();
    let odd = not_begun_plainly(ledger, rows);
    let chains = chains(rows);
    let no_chain = Chain::default();
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
                let own = courses_of(ledger, patient, zone, now)?;
                let of_need = (own.iter()).filter(|s| scripts.contains(&s.script.entry));
                let chain = chains.get(key.as_str()).unwrap_or(&no_chain);
                let place = |entry| place_in_chain(rows, entry);
                Needs::of(patient, of_need, drawn, settings, zone, now).stretches(place, chain)
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
fn scripts(
    ledger: &Ledger,
    settings: &Settings,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<BTreeSet<u64>, ScheduleError> {
    let mut scripts = BTreeSet::new();
    // Animal by animal: all courses of a long history at once would fill the memory.
    for patient in &ledger.animals {
        for standing in &courses_of(ledger, patient, zone, now)? {
            if !is_at_rest(standing, settings, zone, now) {
                scripts.insert(standing.script.entry);
                let behind = doses_behind(ledger, patient, standing.script, now);
                scripts.extend(behind.iter().map(|(_, other)| other.entry));
            }
        }
    }
    Ok(scripts)
}

/// Whether nothing about a course waits for anybody, and no time that passes can change that.
fn is_at_rest(standing: &Standing, settings: &Settings, zone: Zone, now: DateTime<Utc>) -> bool {
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
        let over = ledger.bottles_of(&script.prescription);
        let over = over.filter(|bottle| bottle.ended.is_some());
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

/// The chain of one animal, by the numbers in it.
#[derive(Default)]
struct Chain {
    /// That of the newest entry.
    newest: u64,
    /// Those at which an account takes a turn: a correction or a confirmation, which change how an
    /// earlier entry is taken.
    turns: Vec<u64>,
}

fn chains(rows: &[Row]) -> BTreeMap<&str, Chain> {
    let mut chains: BTreeMap<&str, Chain> = BTreeMap::new();
    for row in rows {
        let chain = chains.entry(&row.subject).or_default();
        chain.newest = row.n;
        if matches!(row.kind.as_str(), "correction" | "confirmation") {
            chain.turns.push(row.n);
        }
    }
    chains
}

/// What is needed of one animal, by the numbers of entries in the book.
struct Needs {
    /// The first of those from which on everything is needed.
    tail: Option<u64>,
    /// The first and the last of others: of each course that is over and needed for its doses, and
    /// single entries.
    apart: Vec<(u64, u64)>,
}

impl Needs {
    fn of<'a, 'l: 'a>(
        patient: &Patient,
        of_need: impl Iterator<Item = &'a Standing<'l>>,
        drawn: Option<u64>,
        settings: &Settings,
        zone: Zone,
        now: DateTime<Utc>,
    ) -> Needs {
        let notes = patient.notes.iter().filter(|note| note.at + OF_LATE >= now);
        // A dose on the card of its day is held against the weighings as they were then.
        let of_late = patient.doses.iter();
        let of_late = of_late.filter(|dose| dose.happened + OF_LATE >= now);
        let moments = of_late
            .map(|dose| dose.happened)
            .chain([DateTime::<Utc>::MAX_UTC]);
        let all = patient.weights.all();
        let weighed = moments.flat_map(|moment| {
            let by_then = all.partition_point(|weighing| weighing.at <= moment);
            let by_then = all.get(..by_then).unwrap_or_default();
            let latest = by_then.last().map(|weighing| weighing.at);
            let lately =
                move |at: DateTime<Utc>| latest.is_some_and(|latest| at + WEIGHTS >= latest);
            let before = by_then.iter().rev().take(2);
            let weighed = by_then.iter().filter(move |weighing| lately(weighing.at));
            weighed.chain(before)
        });
        let single = notes.map(|note| note.entry);
        let single = single.chain(weighed.map(|weighing| weighing.entry));
        // A dose may have been measured by a weight that was since struck out.
        let withdrawn = patient.withdrawn.iter().map(|gone| gone.weighing.entry);
        let single = single.chain(withdrawn);
        let mut needs = Needs {
            tail: drawn,
            apart: single.map(|entry| (entry, entry)).collect(),
        };
        for standing in of_need {
            // A dose may have been measured by a weight that was since struck out.
            let withdrawn = patient.withdrawn.iter().map(|gone| gone.weighing.entry);
            needs.apart.extend(withdrawn.map(|entry| (entry, entry)));
            let behind = weights_behind(standing);
            needs.apart.extend(behind.map(|entry| (entry, entry)));
            let begun = standing.course.first_dose;
            let start = begun.and_then(|first| patient.weights.latest(first));
            needs
                .apart
                .extend(start.map(|weighing| (weighing.entry, weighing.entry)));
            let tied = || tied_to(standing);
            let Some((first, last)) = tied().min().zip(tied().max()) else {
                continue;
            };
            if is_at_rest(standing, settings, zone, now) {
                needs.apart.push((first, last));
            } else {
                needs.tail = needs.tail.into_iter().chain([first]).min();
            }
        }
        needs
    }

    /// The stretches of the animal's chain that hold all of it. Everything from the first on where
    /// an entry between them changes how one of them is taken.
    fn stretches(self, place: impl Fn(u64) -> u64, chain: &Chain) -> Vec<Stretch> {
        let mut tail = self.tail.map_or(chain.newest, &place).max(1);
        let mut apart: Vec<(u64, u64)> = (self.apart.iter())
            .map(|(first, last)| (place(*first), place(*last)))
            .collect();
        apart.sort_unstable();
        let begins = apart.first().map_or(tail, |(first, _)| tail.min(*first));
        // What touches or nearly does is read as one: each stretch costs one entry more.
        let mut held: Vec<(u64, u64)> = Vec::new();
        for (first, last) in apart {
            match held.last_mut() {
                Some((_, to)) if first <= *to + 2 => *to = last.max(*to),
                _ => held.push((first, last)),
            }
        }
        while let Some((first, _)) = held.pop_if(|(_, to)| *to + 2 >= tail) {
            tail = tail.min(first);
        }
        let is_held = |n: u64| n >= tail || held.iter().any(|(a, b)| (*a..=*b).contains(&n));
        if chain.turns.iter().any(|n| *n > begins && !is_held(*n)) {
            return vec![Stretch {
                from: begins,
                to: None,
            }];
        }
        let held = held.into_iter();
        let held = held.map(|(from, to)| Stretch { from, to: Some(to) });
        held.chain([Stretch {
            from: tail,
            to: None,
        }])
        .collect()
    }
}

/// The weighings that a course's doses are held against.
fn weights_behind(standing: &Standing) -> impl Iterator<Item = u64> {
    let (patient, own) = (standing.patient, &standing.script.prescription.reference);
    let doses = patient.doses.iter().filter(move |dose| dose.course == *own);
    doses.flat_map(|dose| held_against(standing, dose))
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
