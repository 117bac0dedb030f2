//! The day's doses: what is open today, by the latest weight, from the bottle in hand; what to
//! set out; in what order to work.
//!
//! Promises: every pending dose of the day is here with a mark or with every reason for none; the
//! weight stands beside it; nothing is shown that is too soon. It prints nothing and asks nobody.

mod actual;
mod ahead;
mod behind;
mod bottles;
mod checked;
mod code;
mod dose;
mod follow;
pub mod history;
mod morning;
mod need;
mod needed;
mod off_card;
mod order;
mod other_courses;
mod paper;
mod plan;
pub mod rungs;
pub mod said;
pub mod say;
mod steps;
pub mod stock;
pub mod tell;
pub mod unsettled;
pub mod weighed;
mod written;

pub use actual::{Actual, actual, rate_given, stayed_in};
pub use ahead::{
    Ahead, MarkAhead, SlotAhead, WeighDay, ahead, here, mark_ahead, weigh_code, weigh_days,
};
pub use bottles::{BottleUse, bottle_for};
pub use checked::{Checked, check};
pub use dose::{
    DayDose, Pick, clock_behind, day_dose, dose_now, dose_then, measured, strength_now,
};
pub use follow::{FollowUp, FollowUpState, as_planned, follow_ups};
pub use morning::{Kind, Later, Morning, Waiting, morning};
pub use need::{Need, left};
pub use needed::needed;
pub use off_card::OffCard;
pub use paper::{Paper, on_paper};
pub use plan::{Amount, ClockShift, Plan};
pub use steps::{Step, step, step_about, typed_name, waiting};

use crate::caution::NoMark;
use crate::course::{Course, State, judge_in};
use crate::ledger::{Ledger, Patient, Script};
use crate::prescription::Vet;
use crate::rack::Instrument;
use crate::schedule::{ScheduleError, Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;

/// Everything to do on one day.
#[derive(Debug)]
pub struct Round<'l> {
    /// The local day.
    pub day: NaiveDate,
    /// The moment it was looked at.
    pub now: DateTime<Utc>,
    /// The book's zone.
    pub zone: Zone,
    /// The settings.
    pub settings: &'l Settings,
    /// The day's pending doses, in order of work.
    pub doses: Vec<DayDose<'l>>,
    /// What has been answered for today already.
    pub done: Vec<DoneToday<'l>>,
    /// What the vet wants beside the doses on this day, or wanted before it.
    pub beside: Vec<Beside<'l>>,
    /// What the vet is to be called about for courses that have no dose on the card.
    pub off_card: Vec<OffCard<'l>>,
    /// The bottles the day's doses come from.
    pub bottles: Vec<BottleUse<'l>>,
    /// The instruments that the day's marks need, each once, with the number of draws.
    pub instruments: Vec<(Instrument, u32)>,
    /// Whose prescriptions they are, each once.
    pub vets: Vec<&'l Vet>,
    /// Made from just what the day's marks depend on: another code, an old card.
    pub code: String,
    /// What is damaged or cannot be understood; what depends on it has no mark, and an animal or a
    /// prescription among it is not shown at all.
    pub damaged: Vec<&'l str>,
}

/// A dose of today that somebody has answered for.
#[derive(Debug)]
pub struct DoneToday<'l> {
    /// For whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// Its number.
    pub number: u32,
    /// What became of it.
    pub state: State,
    /// When.
    pub at: Option<DateTime<Utc>>,
    /// It was given beside the schedule: the slot it is nearest to had been filled.
    pub extra: bool,
}

/// A follow-up that is due on the day, or overdue.
#[derive(Debug)]
pub struct Beside<'l> {
    /// For whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// What.
    pub follow_up: FollowUp<'l>,
}

/// One course of one animal, judged.
#[derive(Debug)]
pub struct Standing<'l> {
    /// For whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// Where it stands.
    pub course: Course,
}

/// Every course in the book, judged at a moment.
///
/// # Errors
/// [`ScheduleError`] where a schedule cannot be laid out; it was accepted, so none should fail.
pub fn courses(
    ledger: &Ledger,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Vec<Standing<'_>>, ScheduleError> {
    let mut all = Vec::new();
    for patient in &ledger.animals {
        all.extend(courses_of(ledger, patient, zone, now)?);
    }
    Ok(all)
}

/// Every course of one animal, judged at a moment.
fn courses_of<'l>(
    ledger: &'l Ledger,
    patient: &'l Patient,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Vec<Standing<'l>>, ScheduleError> {
    let scripts = ledger.scripts_of(patient);
    scripts
        .map(|script| {
            let course = judge_in(ledger, patient, script, zone, now)?;
            Ok(Standing {
                patient,
                script,
                course,
            })
        })
        .collect()
}

/// Lays out the day.
///
/// # Errors
/// [`ScheduleError`], as [`courses`].
pub fn of_day<'l>(
    ledger: &'l Ledger,
    settings: &'l Settings,
    zone: Zone,
    day: NaiveDate,
    now: DateTime<Utc>,
) -> Result<Round<'l>, ScheduleError> {
    let standings = courses(ledger, zone, now)?;
    let mut doses = Vec::new();
    let mut done = Vec::new();
    for standing in &standings {
        for slot in &standing.course.slots {
            let number = slot.slot.number;
            // What the vet wants given again is work, though somebody has answered for it.
            if slot.state.is_answered() && !slot.gate.is_open() {
                let at = slot
                    .filled_by
                    .or(slot.records.last().copied())
                    .map(|r| r.happened);
                if at.is_some_and(|at| local_date(at, zone) == day) {
                    let (patient, script) = (standing.patient, standing.script);
                    done.push(DoneToday {
                        patient,
                        script,
                        number,
                        state: slot.state,
                        at,
                        extra: false,
                    });
                }
            } else if belongs_to(slot, day, zone, now) {
                let pick = Pick::default();
                doses.push(day_dose(
                    ledger, settings, standing, slot, pick, day, now, zone,
                ));
            }
        }
    }
    order::in_order_of_work(&mut doses, settings, ledger);
    one_mark_of_each_medicine(&mut doses, day > local_date(now, zone));
    let beside = standings.iter().flat_map(|standing| {
        let wanted = follow_ups(standing, zone, now).into_iter();
        let wanted = wanted.filter(|follow_up| follow_up.wants_doing_on(day, now, zone));
        wanted.map(|follow_up| Beside {
            patient: standing.patient,
            script: standing.script,
            follow_up,
        })
    });
    let off_card = off_card::off_card(ledger, settings, &standings, &doses, day, now, zone);
    let card = code::Card {
        ledger,
        settings,
        standings: code::Standings::new(&standings),
        zone,
        day,
        now,
    };
    let code = card.code(&doses, &done);
    done.extend(
        standings
            .iter()
            .flat_map(|standing| extras(standing, zone, day)),
    );
    let mut vets: Vec<&Vet> = Vec::new();
    let scripts = doses.iter().map(|dose| dose.script);
    for script in scripts.chain(off_card.iter().map(|other| other.script)) {
        let vet = &script.prescription.vet;
        if !vets.contains(&vet) {
            vets.push(vet);
        }
    }
    Ok(Round {
        day,
        now,
        zone,
        settings,
        bottles: bottles::of_day(&doses),
        instruments: instruments(&doses),
        beside: beside.collect(),
        off_card,
        doses,
        done,
        vets,
        code,
        damaged: ledger.damaged.iter().map(String::as_str).collect(),
    })
}

/// The doses of a day that were given beside the schedule, so that nobody counts one too few.
fn extras<'s, 'l>(
    standing: &'s Standing<'l>,
    zone: Zone,
    day: NaiveDate,
) -> impl Iterator<Item = DoneToday<'l>> + use<'s, 'l> {
    let extras = standing.course.extras.iter();
    let extras = extras.filter(move |extra| local_date(extra.record.happened, zone) == day);
    extras.map(|extra| DoneToday {
        patient: standing.patient,
        script: standing.script,
        number: extra.nearest,
        state: extra.record.outcome.into(),
        at: Some(extra.record.happened),
        extra: true,
    })
}

/// Whether a pending slot is work of this day: due on it, open at some time of it, or waiting
/// from before for somebody to answer for it.
fn belongs_to(
    slot: &crate::course::Standing,
    day: NaiveDate,
    zone: Zone,
    now: DateTime<Utc>,
) -> bool {
    let today = local_date(now, zone);
    if slot.gate.is_open() && day == today {
        return true;
    }
    if !slot.waits() {
        return false;
    }
    let due = slot.due.date(zone);
    let opens = slot.opens.map(|at| local_date(at, zone));
    let waits = matches!(
        slot.state,
        State::Late | State::NotRecorded | State::Held | State::Open
    );
    let in_window = opens.is_none_or(|opens| opens <= day) && due <= day;
    due == day || (day == today && waits && (due <= day || in_window))
}

fn instruments(doses: &[DayDose]) -> Vec<(Instrument, u32)> {
    let mut all: Vec<(Instrument, u32)> = Vec::new();
    for drawn in doses.iter().filter_map(DayDose::drawn) {
        let chosen = &drawn.chosen;
        match all
            .iter_mut()
            .find(|(instrument, _)| *instrument == chosen.instrument)
        {
            Some((_, draws)) => *draws += chosen.mark.draws,
            None => all.push((chosen.instrument.clone(), chosen.mark.draws)),
        }
    }
    all
}

/// Of two courses of one medicine for one animal, only the first on the card has a mark: once its
/// dose is given, the gate speaks for itself, but paper is printed before that: of a day to come
/// (`ahead`) also where today it is too soon.
fn one_mark_of_each_medicine(doses: &mut [DayDose], ahead: bool) {
    let mut marked: BTreeMap<&str, Vec<&Script>> = BTreeMap::new();
    for dose in doses {
        let (patient, script) = (dose.patient, dose.script);
        let of_this = marked.entry(&patient.animal.name).or_default();
        let other = of_this.iter().find(|earlier| {
            earlier.entry != script.entry
                && earlier.prescription.shares_medicine(&script.prescription)
        });
        // Its own reasons are said once.
        if let Some(earlier) = other.filter(|_| dose.no_mark.is_empty()) {
            dose.no_mark.push(NoMark::Held {
                why: format!(
                    "Course {} has a dose of the same medicine for {} on this card.",
                    earlier.prescription.reference, patient.animal.name
                ),
            });
        } else if other.is_none() && dose.why_not(ahead).is_none() {
            of_this.push(script);
        }
    }
}
