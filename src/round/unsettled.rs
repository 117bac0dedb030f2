//! What went wrong with a dose that went in, and that the vet has not spoken about yet.
//!
//! Promises: after more medicine went in than the vet wrote, or may have, the course shows no mark
//! until the vet has spoken; after a lesser mishap its cards say to call first. A dose measured by
//! a weight that was since struck out is held against the weight that stands now. It
//! settles nothing itself: an instruction, or a correction, does.

use crate::caution::{Caution, NoMark};
use crate::course::{Remark, What};
use crate::dose::limits;
use crate::entry::{DoseRecord, Order};
use crate::ledger::{Dose, Ledger, Patient, Script};
use crate::notation::{Written, print};
use crate::prescription::WeightBasis;
use crate::quantity::{BodyWeight, Exact};
use crate::round::Standing;
use crate::round::dose::{at_the_mark, said_by};
use crate::round::history::flags;
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

/// Whether much more may have gone in than the vet wrote: from a bottle of another strength, or
/// more than 1.5 times the mark, at which the jump from one mark to the next is pointed out too.
fn much_more(record: &DoseRecord) -> bool {
    let has = |flag: &str| record.flags.iter().any(|own| own == flag);
    let mark = record.mark.as_ref().and_then(at_the_mark);
    let drawn = record.drawn.as_ref();
    let drawn = drawn.and_then(|drawn| drawn.value().measure(None).ok());
    let share = drawn.zip(mark);
    let share = share.and_then(|(drawn, mark)| drawn.over(mark).ok());
    let most = Exact::ratio(3, 2).unwrap_or(Exact::ONE);
    // Where the mark is not known, nothing says that it was not.
    has("wrong_strength") || has("drawn_far_off") && share.is_none_or(|share| share > most)
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
    let settled = |dose: &Dose| {
        let settles = Order::Settled { entry: dose.entry };
        said_by(patient, script, now).any(|said| said.instruction.order == settles)
    };
    let of_course = patient.doses.iter().filter(|dose| {
        dose.course == script.prescription.reference && dose.happened <= now && !settled(dose)
    });
    of_course
        .filter_map(|dose| {
            let mut own = dose.record.flags.iter().map(String::as_str);
            let wrong = own.any(|flag| !NOT_OF_THE_DOSE.contains(&flag));
            let mended = by_a_mended_weight(patient, script, settings, dose);
            let words = flags(&dose.record).filter(|_| wrong);
            let heavier = mended.as_ref().is_some_and(|(_, heavier)| *heavier);
            let mended = mended.map(|(words, _)| words);
            let words: Vec<String> = words.into_iter().chain(mended).collect();
            (!words.is_empty()).then(|| Flagged {
                dose,
                words: words.join("; "),
                much_more: much_more(&dose.record) || heavier,
            })
        })
        .collect()
}

/// The doses of a course that a weight since struck out measured, settled or not, as
/// remarks on it.
pub(super) fn mended_doses(
    standing: &Standing,
    settings: &Settings,
    now: DateTime<Utc>,
) -> Vec<Remark> {
    let (patient, script) = (standing.patient, standing.script);
    let slots = standing.course.slots.iter();
    let records = slots.flat_map(|slot| {
        let each = slot.records.iter();
        each.map(move |record| (slot.slot.number, record.id))
    });
    records
        .filter_map(|(number, id)| {
            let mut doses = patient.doses.iter();
            let dose = doses.find(|dose| dose.entry == id && dose.happened <= now)?;
            by_a_mended_weight(patient, script, settings, dose)?;
            Some(Remark {
                slot: Some(number),
                record: Some(id),
                what: What::NotAtMark,
                needs_attention: false,
            })
        })
        .collect()
}

/// How a dose stands that was measured by a weight since struck out; nothing for any
/// other.
pub fn mended(ledger: &Ledger, patient: &Patient, script: &Script, dose: &Dose) -> Option<String> {
    let settings = ledger.settings.as_ref()?;
    by_a_mended_weight(patient, script, settings, dose).map(|(words, _)| words)
}

/// The weight behind a dose as the book has it now: the one it was measured by, or, where that was
/// struck out, the latest that stands from then, or else the first after it.
pub fn weight_behind<'l>(
    patient: &'l Patient,
    script: &Script,
    dose: &'l Dose,
) -> Option<&'l Written<BodyWeight>> {
    let used = dose.record.mark.as_ref()?.weight.as_ref()?;
    let is_used = |weight: &Written<BodyWeight>| weight.value() == used.value();
    let fixed = match &script.prescription.weight_basis {
        WeightBasis::Fixed(weight) => is_used(weight),
        WeightBasis::Latest | WeightBasis::Start => false,
    };
    let weighings = patient.weights.all();
    let stands = weighings.iter().any(|weighing| is_used(&weighing.weight));
    let mut withdrawn = patient.withdrawn.iter();
    let withdrawn = withdrawn.any(|weighing| is_used(&weighing.weight));
    if fixed || stands || !withdrawn {
        return Some(used);
    }
    let stands_now = patient.weights.latest(dose.happened).or(weighings.first());
    stands_now.map(|weighing| &weighing.weight)
}

/// "measured by 380 g, a weight since struck out; by 38 g it was 10 times the dose", and
/// whether it was more than the dose.
fn by_a_mended_weight(
    patient: &Patient,
    script: &Script,
    settings: &Settings,
    dose: &Dose,
) -> Option<(String, bool)> {
    let used = dose.record.mark.as_ref()?.weight.as_ref()?;
    let Some(now) = weight_behind(patient, script, dose) else {
        let words =
            format!("measured by {used}, a weight since struck out, and no other is in the book");
        return Some((words, true));
    };
    let ratio = used.value().over(now.value()).ok()?;
    let off = ratio.minus(Exact::ONE).ok()?;
    let tolerance = script.prescription.tolerance.as_ref().map(Written::value);
    let (limits, _) = limits(tolerance, settings);
    if off.abs() <= limits.none_above {
        return None;
    }
    let words = format!(
        "measured by {used}, a weight since struck out; by {now} it was {} the dose",
        print::times(ratio)
    );
    Some((words, !off.is_negative()))
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
            What::GivenTooSoon => "the dose was given too soon after the one before",
            What::Unsure => "nobody knows whether the dose was given",
            _ => continue,
        };
        let what_was = what_was.to_owned();
        match what {
            What::Extra | What::AgainstInstruction => no_mark.push(NoMark::Unsettled {
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
    one_of_each(no_mark, call)
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
