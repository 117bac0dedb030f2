//! What went wrong with a dose that went in, and that the vet has not spoken about yet.
//!
//! Promises: after more medicine went in than the vet wrote, or may have, the course shows no mark
//! until the vet has spoken; after a lesser mishap its cards say to call first. A dose measured by
//! a weight that the book has since put another in the place of is held against that one
//! (`weighed`), and what the vet has said covers only what the book held then. It settles nothing
//! itself: an instruction, or a correction, does.

use crate::animal::Weighing;
use crate::caution::{Caution, NoMark};
use crate::course::{Remark, What};
use crate::dose::limits;
use crate::entry::{DoseRecord, Order};
use crate::ledger::{Dose, Ledger};
use crate::notation::{Written, print};
use crate::quantity::{BodyWeight, Exact};
use crate::round::Standing;
use crate::round::dose::{at_the_mark, dose_now, said_by};
use crate::round::history::flags;
use crate::round::weighed::{Why, behind, knew, spoken_about};
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// A dose that went in though something was wrong with how.
#[derive(Debug)]
pub struct Flagged<'l> {
    /// The record.
    pub dose: &'l Dose,
    /// What was wrong, in words.
    pub words: String,
    /// Whether much more may have gone in than the vet wrote.
    pub much_more: bool,
}

/// What the calendar had against a dose is the verdict's to say, not that of these flags; and what
/// an earlier dose was stopped for is said of that dose.
const NOT_OF_THE_DOSE: [&str; 9] = [
    "too_soon",
    "held",
    "earlier_unanswered",
    "late_call",
    "not_recorded",
    "past_validity",
    "past_review",
    "clock_behind",
    "unsettled",
];

/// What is much more than the dose: above it the jump from one mark to the next is pointed out too.
fn is_much_more(share: Exact) -> bool {
    share > Exact::ratio(3, 2).unwrap_or(Exact::ONE)
}

/// Whether much more may have gone in than the vet wrote: from a bottle of another strength, or
/// more than 1.5 times the mark.
fn much_more(record: &DoseRecord) -> bool {
    let has = |flag: &str| record.flags.iter().any(|own| own == flag);
    let mark = record.mark.as_ref().and_then(at_the_mark);
    let drawn = record.drawn.as_ref();
    let drawn = drawn.and_then(|drawn| drawn.value().measure(None).ok());
    let share = drawn.zip(mark);
    let share = share.and_then(|(drawn, mark)| drawn.over(mark).ok());
    // Where the mark is not known, nothing says that it was not.
    has("wrong_strength") || has("drawn_far_off") && share.is_none_or(is_much_more)
}

/// The doses of a course that somebody has to tell the vet about; nothing once the animal is gone.
pub fn flagged<'l>(
    standing: &Standing<'l>,
    settings: &Settings,
    now: DateTime<Utc>,
) -> Vec<Flagged<'l>> {
    let (patient, script) = (standing.patient, standing.script);
    if patient.end.as_ref().is_some_and(|(at, _)| *at <= now) {
        return Vec::new();
    }
    let of_course = patient
        .doses
        .iter()
        .filter(|dose| dose.course == script.prescription.reference && dose.happened <= now);
    of_course
        .filter_map(|dose| {
            let spoken = spoken_about(standing, dose, now);
            let spoken = spoken.map(|said| said.entry).max();
            let mut own = dose.record.flags.iter().map(String::as_str);
            let wrong = own.any(|flag| !NOT_OF_THE_DOSE.contains(&flag));
            let flags = flags(&dose.record).filter(|_| wrong && spoken.is_none());
            let other = by_another_weight(standing, settings, dose);
            let other = other.filter(|_| spoken.is_none_or(|said| !knew(standing, dose, said)));
            let much_more = flags.is_some() && much_more(&dose.record)
                || other.as_ref().is_some_and(|(_, much)| *much);
            let other = other.map(|(words, _)| match spoken {
                None => words,
                Some(_) => format!("{words}; this came to light after your vet spoke"),
            });
            let words: Vec<String> = flags.into_iter().chain(other).collect();
            (!words.is_empty()).then(|| Flagged {
                dose,
                words: words.join("; "),
                much_more,
            })
        })
        .collect()
}

/// The doses of a course that are held against another weight than they were measured by, settled
/// or not, as remarks on it.
pub(super) fn mended_doses(
    standing: &Standing,
    settings: &Settings,
    now: DateTime<Utc>,
) -> Vec<Remark> {
    let slots = standing.course.slots.iter();
    let records = slots.flat_map(|slot| {
        let each = slot.records.iter();
        each.map(move |record| (slot.slot.number, record.id))
    });
    records
        .filter_map(|(number, id)| {
            let mut doses = standing.patient.doses.iter();
            let dose = doses.find(|dose| dose.entry == id && dose.happened <= now)?;
            by_another_weight(standing, settings, dose)?;
            Some(Remark {
                slot: Some(number),
                record: Some(id),
                what: What::NotAtMark,
                needs_attention: false,
            })
        })
        .collect()
}

/// How a dose stands that is held against another weight than it was measured by; nothing for any
/// other.
pub fn mended(ledger: &Ledger, standing: &Standing, dose: &Dose) -> Option<String> {
    let settings = ledger.settings.as_ref()?;
    by_another_weight(standing, settings, dose).map(|(words, _)| words)
}

/// The doses that a weight written down from this entry on has taken the place behind, in words,
/// and whether the vet is to be told.
pub fn measured_before<'l>(
    standing: &Standing<'l>,
    settings: &Settings,
    written: u64,
    now: DateTime<Utc>,
) -> Vec<(&'l Dose, String, bool)> {
    let own = &standing.script.prescription.reference;
    let flagged = flagged(standing, settings, now);
    let doses = standing.patient.doses.iter();
    let doses = doses.filter(|dose| dose.course == *own && goes_by_weight(standing, dose));
    doses
        .filter_map(|dose| {
            let (why, newer) = behind(standing, dose, None)?;
            newer.filter(|newer| newer.entry >= written)?;
            let used = dose.record.mark.as_ref()?.weight.as_ref()?;
            let mut flagged = flagged.iter();
            let told = flagged.find(|flagged| flagged.dose.entry == dose.entry);
            let words = told.map_or_else(|| measured_by(used, why), |told| told.words.clone());
            Some((dose, words, told.is_some()))
        })
        .collect()
}

/// Whether the vet wrote the dose by body weight.
fn goes_by_weight(standing: &Standing, dose: &Dose) -> bool {
    let course = &standing.course;
    let tied = course.slots.iter();
    let tied = tied.filter(|slot| slot.records.iter().any(|record| record.id == dose.entry));
    let extra = course.extras.iter();
    let extra = extra.filter(|extra| extra.record.id == dose.entry);
    let extra = extra.filter_map(|extra| course.slot(extra.nearest));
    let slot = tied.chain(extra).next();
    slot.is_none_or(|slot| {
        let written = dose_now(standing.patient, standing.script, slot, dose.happened);
        written.rate().is_some()
    })
}

/// "measured by 380 g, a weight since struck out".
fn measured_by(used: &Written<BodyWeight>, why: Why) -> String {
    let why = match why {
        Why::TakenOut => "a weight since struck out",
        Why::WrittenLater => "before a newer weight was written down",
    };
    format!("measured by {used}, {why}")
}

/// "measured by 380 g, a weight since struck out; by 38 g it was 10 times the dose", and
/// whether it may have been much more than the dose.
fn by_another_weight(
    standing: &Standing,
    settings: &Settings,
    dose: &Dose,
) -> Option<(String, bool)> {
    let (why, stands) = behind(standing, dose, None)?;
    if !goes_by_weight(standing, dose) {
        return None;
    }
    let used = dose.record.mark.as_ref()?.weight.as_ref()?;
    let measured = measured_by(used, why);
    let Some(stands) = stands else {
        let words = format!("{measured}, and no other is in the book");
        return Some((words, true));
    };
    let ratio = used.value().over(stands.weight.value()).ok()?;
    let off = ratio.minus(Exact::ONE).ok()?;
    let tolerance = standing.script.prescription.tolerance.as_ref();
    let (limits, _) = limits(tolerance.map(Written::value), settings);
    if off.abs() <= limits.none_above {
        return None;
    }
    let words = format!(
        "{measured}; by {} it was {} the dose",
        stands.weight,
        print::times(ratio)
    );
    let much_more = match why {
        Why::TakenOut => !off.is_negative(),
        Why::WrittenLater => is_much_more(ratio),
    };
    Some((words, much_more))
}

/// Why the next mark of a course waits for the vet's word, and what to call about before it.
pub(super) fn before_the_next_mark(
    standing: &Standing,
    settings: &Settings,
    now: DateTime<Utc>,
) -> (Vec<NoMark>, Vec<Caution>) {
    let (mut no_mark, mut call) = (Vec::new(), Vec::new());
    let records = standing.course.remarks.iter().filter_map(|remark| {
        let entry = remark.record.filter(|_| remark.needs_attention)?;
        Some((entry, remark.what))
    });
    for (entry, what) in records {
        let what_was = match what {
            What::Extra => "a dose was given beside those of the schedule",
            What::AgainstInstruction => "a dose was given that your vet had said to leave out",
            What::UnsureExtra => {
                "nobody knows whether a dose was given beside those of the schedule"
            }
            What::UnsureAgainstInstruction => {
                "nobody knows whether a dose was given that your vet had said to leave out"
            }
            What::GivenTooSoon => "the dose was given too soon after the one before",
            What::GivenBeforeItsWindow => "the dose was given before its window opened",
            What::Unsure => "nobody knows whether the dose was given",
            _ => continue,
        };
        let what_was = what_was.to_owned();
        match what {
            What::Extra
            | What::UnsureExtra
            | What::AgainstInstruction
            | What::UnsureAgainstInstruction => no_mark.push(NoMark::Unsettled {
                entry,
                what: what_was,
            }),
            _ => call.push(Caution::Unsettled {
                entry,
                what: what_was,
            }),
        }
    }
    for flagged in flagged(standing, settings, now) {
        let (entry, what) = (flagged.dose.entry, flagged.words);
        if flagged.much_more {
            no_mark.push(NoMark::Unsettled { entry, what });
        } else {
            call.push(Caution::Unsettled { entry, what });
        }
    }
    no_mark.extend(no_longer_accepted(standing, now));
    one_of_each(no_mark, call)
}

/// The weight that the vet accepted for the next dose was a weighing that has since been struck
/// out: the vet spoke about a weight that the animal never had.
fn no_longer_accepted(standing: &Standing, now: DateTime<Utc>) -> Option<NoMark> {
    let patient = standing.patient;
    let next = standing.course.slots.iter().find(|slot| slot.waits())?;
    let accepted =
        said_by(patient, standing.script, now).filter_map(|said| match &said.instruction.order {
            Order::AcceptWeight { slot, weight } if *slot == next.slot.number => {
                Some((said.entry, weight))
            }
            _ => None,
        });
    let (entry, weight) = accepted.last()?;
    let is_it = |weighing: &Weighing| weighing.weight.value() == weight.value();
    if patient.weights.all().iter().any(is_it) {
        return None;
    }
    let mut gone = patient.withdrawn.iter();
    let gone =
        gone.rfind(|gone| is_it(&gone.weighing) && gone.weighing.entry < entry && gone.by > entry)?;
    Some(NoMark::Held {
        why: format!(
            "Your vet accepted {weight} (entry {entry}), a weighing that was then struck out (entry {}). Call, and write down what your vet says now with 'scruple instruct'.",
            gone.by
        ),
    })
}

/// Of one record one reason: what stops stands for what asks, and several things wrong with it are
/// said together.
fn one_of_each(stops: Vec<NoMark>, calls: Vec<Caution>) -> (Vec<NoMark>, Vec<Caution>) {
    let mut kept: Vec<NoMark> = Vec::new();
    for stop in stops {
        let NoMark::Unsettled { entry, what } = &stop else {
            kept.push(stop);
            continue;
        };
        let known = kept.iter_mut().find_map(|known| match known {
            NoMark::Unsettled { entry: own, what } if own == entry => Some(what),
            _ => None,
        });
        match known {
            Some(words) if words.contains(what.as_str()) => {}
            Some(words) => {
                words.push_str("; ");
                words.push_str(what);
            }
            None => kept.push(stop),
        }
    }
    let stopped = |entry: u64| {
        let mut kept = kept.iter();
        kept.any(|stop| matches!(stop, NoMark::Unsettled { entry: own, .. } if *own == entry))
    };
    let asks = |call: &Caution| match call {
        Caution::Unsettled { entry, .. } => !stopped(*entry),
        _ => true,
    };
    let calls = calls.into_iter().filter(asks).collect();
    (kept, calls)
}
