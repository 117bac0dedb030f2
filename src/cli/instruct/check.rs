//! Whether an order can hold for a course: the kind of a rate, what a strength can carry, which
//! doses there are.
//!
//! Promises: a rate of another kind than the prescription's, or a strength it cannot be drawn
//! from, is not accepted; what happened before the order came is pointed out, not refused.

use crate::cli::failure::Failure;
use crate::cli::instruct::effect::Look;
use crate::cli::when;
use crate::course::{Standing as Slot, State, judge_in};
use crate::dose::leap;
use crate::entry::Order;
use crate::ledger::Ledger;
use crate::notation::{Notation, Written};
use crate::prescription::Dose;
use crate::quantity::{Amount, BodyWeight, DoseRate, Exact, Strength};
use crate::round::unsettled::flagged;
use crate::round::{Standing, dose_now, say, strength_now, typed_name};
use chrono::{DateTime, Utc};

/// An order for one animal, and what it is held against.
pub(super) struct Wanted<'a> {
    pub ledger: &'a Ledger,
    pub animal: &'a str,
    pub reference: &'a str,
    /// When it was said.
    pub at: DateTime<Utc>,
    pub look: &'a Look<'a>,
}

/// An order that can hold.
#[derive(Default)]
pub(super) struct Checked {
    /// What to point out.
    pub notes: Vec<String>,
    /// A figure that looks like a slip.
    pub slip: Option<Slip>,
}

/// A figure far from another.
#[derive(Clone)]
pub(super) struct Slip {
    pub new: Figure,
    /// How far, as the words between the two.
    pub far: String,
    pub old: String,
}

/// A figure that is typed a second time.
#[derive(Clone)]
pub(super) enum Figure {
    Rate(Written<DoseRate>),
    Amount(Written<Amount>),
    Strength(Written<Strength>),
    Weight(Written<BodyWeight>),
}

impl std::fmt::Display for Figure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Figure::Rate(rate) => rate.fmt(f),
            Figure::Amount(amount) => amount.fmt(f),
            Figure::Strength(strength) => strength.fmt(f),
            Figure::Weight(weight) => weight.fmt(f),
        }
    }
}

impl Slip {
    /// Whether the figure was typed the same again.
    pub fn is_same(&self, again: &str) -> bool {
        match &self.new {
            Figure::Rate(rate) => {
                DoseRate::read(again).is_ok_and(|again| again.value() == rate.value())
            }
            Figure::Amount(amount) => {
                Amount::read(again).is_ok_and(|again| again.value() == amount.value())
            }
            Figure::Strength(strength) => {
                Strength::read(again).is_ok_and(|again| again.value() == strength.value())
            }
            Figure::Weight(weight) => {
                BodyWeight::read(again).is_ok_and(|again| again.value() == weight.value())
            }
        }
    }
}

/// Checks one order.
///
/// # Errors
/// Why it cannot hold, and what to do.
pub(super) fn check(wanted: &Wanted, order: &Order) -> Result<Checked, Failure> {
    let patient = wanted
        .ledger
        .animal(wanted.animal)
        .map_err(Failure::failed)?;
    let script = wanted
        .ledger
        .script(wanted.reference)
        .map_err(Failure::failed)?;
    let course = judge_in(
        wanted.ledger,
        patient,
        script,
        wanted.look.zone,
        wanted.look.now,
    )
    .map_err(Failure::failed)?;
    let standing = Standing {
        patient,
        script,
        course,
    };
    if let Some((_, end)) = patient
        .end
        .as_ref()
        .filter(|_| !matches!(order, Order::Settled { .. }))
    {
        return Err(Failure::not_accepted(format!(
            "{}: {}, so its courses have ended and nothing is left to change",
            wanted.animal, end.how
        )));
    }
    match order {
        Order::Rate { from, rate } => rate_fits(wanted, &standing, *from, rate),
        Order::Fixed { from, amount } => fixed_fits(wanted, &standing, *from, amount),
        Order::Application { from, .. } => application_fits(wanted, &standing, *from),
        Order::Resume { from } => resumes(wanted, &standing, *from),
        Order::Strength { from, strength } => strength_fits(wanted, &standing, *from, strength),
        Order::Stop { from } => {
            let last = standing.course.slots.len();
            let open_ended = script.prescription.schedule.review().is_some();
            let most = last + usize::from(open_ended);
            if *from == 0 || usize::try_from(*from).is_ok_and(|from| from > most) {
                return Err(no_such_dose(&standing));
            }
            Ok(Checked::default())
        }
        Order::Skip { slot } => {
            let slot = one(&standing, *slot)?;
            Ok(Checked {
                notes: already(slot, wanted).into_iter().collect(),
                slip: None,
            })
        }
        Order::AcceptWeight { slot, weight } => accepted(wanted, &standing, *slot, weight),
        Order::DoseNow { slot } => {
            let slot = one(&standing, *slot)?;
            if slot.state == State::Given {
                return Err(Failure::not_accepted(format!(
                    "dose {} has been given. {}",
                    slot.slot.number,
                    already(slot, wanted).unwrap_or_default()
                )));
            }
            Ok(Checked::default())
        }
        Order::Settled { entry } => settled(wanted, &standing, *entry),
        Order::Review { on } => {
            let Some(review) = script.prescription.schedule.review() else {
                return Err(Failure::not_accepted(format!(
                    "{} has an end of its own and no review date: for more doses, ask your vet for a new prescription",
                    wanted.reference
                )));
            };
            let said_on = wanted.at.with_timezone(&wanted.look.zone).date_naive();
            if *on <= review.min(said_on) {
                return Err(Failure::not_accepted(format!(
                    "{} is past: write the day on which your vet looks at it again",
                    when::say_day(*on)
                )));
            }
            Ok(Checked::default())
        }
    }
}

fn one<'s>(standing: &'s Standing, number: u32) -> Result<&'s Slot, Failure> {
    standing
        .course
        .slot(number)
        .ok_or_else(|| no_such_dose(standing))
}

fn no_such_dose(standing: &Standing) -> Failure {
    Failure::not_accepted(format!(
        "{} has doses 1 to {}: write one of those numbers",
        standing.script.prescription.reference,
        standing.course.slots.len()
    ))
}

/// The slots from a number on that wait.
fn waiting_from<'s>(standing: &'s Standing, from: u32) -> Result<Vec<&'s Slot>, Failure> {
    one(standing, from)?;
    let slots = standing.course.slots.iter();
    Ok(slots
        .filter(|slot| slot.slot.number >= from && slot.waits())
        .collect())
}

/// What became of a dose that an order speaks of.
fn already(slot: &Slot, wanted: &Wanted) -> Option<String> {
    let record = slot.filled_by.or(slot.records.last().copied())?;
    Some(format!(
        "Entry {} says of dose {}: {} {}.",
        record.id,
        slot.slot.number,
        record.outcome,
        when::say(record.happened, wanted.look.zone)
    ))
}

fn rate_fits(
    wanted: &Wanted,
    standing: &Standing,
    from: u32,
    rate: &Written<DoseRate>,
) -> Result<Checked, Failure> {
    let now = wanted.look.now;
    let mut checked = Checked::default();
    for slot in waiting_from(standing, from)? {
        let number = slot.slot.number;
        let written = dose_now(standing.patient, standing.script, slot, now);
        let Some(before) = written.rate() else {
            return Err(Failure::not_accepted(format!(
                "the vet wrote dose {number} as '{}', which does not go by body weight: a change of it needs a new prescription",
                written.text()
            )));
        };
        let strength = strength_now(standing.patient, standing.script, number, now);
        let carried = strength.is_none_or(|strength| rate.value().goes_with(strength.value()));
        let Some(ratio) = rate.value().over(before).filter(|_| carried) else {
            return Err(Failure::not_accepted(format!(
                "{rate} is {}, and dose {number} is {} of '{}': read it back to your vet",
                rate.value().kind(),
                before.kind(),
                written.text()
            )));
        };
        let first = standing.script.prescription.dose(slot.slot.dose);
        let first = first.and_then(|dose| Some((dose.text(), rate.value().over(dose.rate()?)?)));
        let far = far_from(first, (written.text(), ratio), Figure::Rate(rate.clone()));
        checked.slip = far.or(checked.slip);
    }
    Ok(checked)
}

/// A figure far from the one it takes the place of, or from the `first`, as the vet wrote it: two
/// changes in a row must not hide a moved point.
fn far_from(first: Option<(&str, Exact)>, before: (&str, Exact), new: Figure) -> Option<Slip> {
    let mut olds = std::iter::once(before).chain(first);
    let (old, far) = olds.find_map(|(old, ratio)| Some((old, leap(ratio)?)))?;
    let old = old.to_owned();
    Some(Slip { new, far, old })
}

/// A fixed dose takes the place of a fixed dose that is measured out in the same way.
fn fixed_fits(
    wanted: &Wanted,
    standing: &Standing,
    from: u32,
    amount: &Written<Amount>,
) -> Result<Checked, Failure> {
    let now = wanted.look.now;
    let mut checked = Checked::default();
    for slot in waiting_from(standing, from)? {
        let number = slot.slot.number;
        let written = dose_now(standing.patient, standing.script, slot, now);
        let Dose::Fixed(before) = &written else {
            return Err(other_kind(number, &written, "the same for every weight"));
        };
        let Some(ratio) = amount.value().over(before.value()) else {
            return Err(Failure::not_accepted(format!(
                "{amount} is {}, and dose {number} is {} of '{before}': read it back to your vet",
                amount.value().kind(),
                before.value().kind(),
            )));
        };
        let first = match standing.script.prescription.dose(slot.slot.dose) {
            Some(Dose::Fixed(first)) => amount
                .value()
                .over(first.value())
                .map(|r| (first.text(), r)),
            _ => None,
        };
        let far = far_from(
            first,
            (before.text(), ratio),
            Figure::Amount(amount.clone()),
        );
        checked.slip = far.or(checked.slip);
    }
    Ok(checked)
}

/// Words take the place of words.
fn application_fits(wanted: &Wanted, standing: &Standing, from: u32) -> Result<Checked, Failure> {
    for slot in waiting_from(standing, from)? {
        let written = dose_now(standing.patient, standing.script, slot, wanted.look.now);
        if written.is_measured() {
            return Err(other_kind(slot.slot.number, &written, "applied"));
        }
    }
    Ok(Checked::default())
}

fn other_kind(number: u32, written: &Dose, kind: &str) -> Failure {
    Failure::not_accepted(format!(
        "the vet wrote dose {number} as '{}', which is not {kind}: a change of its kind needs a new prescription",
        written.text()
    ))
}

/// Only what was stopped can be resumed, and only from a dose that can still be given in time.
fn resumes(wanted: &Wanted, standing: &Standing, from: u32) -> Result<Checked, Failure> {
    let slot = one(standing, from)?;
    if slot.state != State::Gone {
        return Err(Failure::not_accepted(format!(
            "dose {from} has not been stopped, so there is nothing to resume: look at 'scruple check {}'",
            typed_name(wanted.animal)
        )));
    }
    let zone = wanted.look.zone;
    if slot.closes >= wanted.at {
        return Ok(Checked::default());
    }
    let mut later = standing.course.slots.iter();
    let later = later.find(|slot| slot.state == State::Gone && slot.closes >= wanted.at);
    let next = match later {
        Some(slot) => format!(
            "the first that is not is dose {}, due {}",
            slot.slot.number,
            say::due(slot.due, zone)
        ),
        None => "none that is not is left".to_owned(),
    };
    Err(Failure::not_accepted(format!(
        "dose {from} was due {} and is past: {next}. For doses at other times, ask your vet for a new prescription",
        say::due(slot.due, zone)
    )))
}

fn strength_fits(
    wanted: &Wanted,
    standing: &Standing,
    from: u32,
    strength: &Written<Strength>,
) -> Result<Checked, Failure> {
    let now = wanted.look.now;
    let mut checked = Checked::default();
    for slot in waiting_from(standing, from)? {
        let number = slot.slot.number;
        let dose = dose_now(standing.patient, standing.script, slot, now);
        if !dose.goes_with(strength.value()) {
            return Err(Failure::not_accepted(format!(
                "dose {number} is '{}', which cannot be drawn from {strength}: read it back to your vet",
                dose.text()
            )));
        }
        let before = strength_now(standing.patient, standing.script, number, now);
        let Some(before) = before else { continue };
        let Some(ratio) = strength.value().over(before.value()) else {
            return Err(Failure::not_accepted(format!(
                "{strength} is {}, and the prescription has {}: measured out in another way, it needs a new prescription",
                strength.value().kind(),
                before.value().kind()
            )));
        };
        if let Some(far) = leap(ratio) {
            checked.slip = Some(Slip {
                new: Figure::Strength(strength.clone()),
                far,
                old: before.to_string(),
            });
        }
    }
    Ok(checked)
}

fn accepted(
    wanted: &Wanted,
    standing: &Standing,
    number: u32,
    weight: &Written<BodyWeight>,
) -> Result<Checked, Failure> {
    let slot = one(standing, number)?;
    if !slot.waits() {
        return Err(Failure::not_accepted(format!(
            "dose {number} does not wait for a weight. {}",
            already(slot, wanted).unwrap_or_default()
        )));
    }
    let mut checked = Checked::default();
    let Some(latest) = standing.patient.weights.latest(wanted.look.now) else {
        checked.notes.push(format!(
            "{} has never been weighed in this book.",
            wanted.animal
        ));
        return Ok(checked);
    };
    if latest.weight.value() == weight.value() {
        return Ok(checked);
    }
    checked.notes.push(format!(
        "The latest weighing is {} on {}; dose {number} would go by {weight} all the same.",
        latest.weight,
        when::say(latest.at, wanted.look.zone)
    ));
    let ratio = weight.value().over(latest.weight.value()).ok();
    if let Some(far) = ratio.and_then(leap) {
        checked.slip = Some(Slip {
            new: Figure::Weight(weight.clone()),
            far,
            old: latest.weight.to_string(),
        });
    }
    Ok(checked)
}

fn settled(wanted: &Wanted, standing: &Standing, entry: u64) -> Result<Checked, Failure> {
    let doses = standing.patient.doses.iter();
    let mut own = doses.filter(|dose| dose.course == wanted.reference);
    let asking = standing.course.remarks.iter().filter(|r| r.needs_attention);
    let asking = asking.filter_map(|remark| remark.record);
    let wrong = flagged(standing, wanted.look.settings, wanted.look.now);
    let mut asking: Vec<u64> = asking
        .chain(wrong.iter().map(|one| one.dose.entry))
        .collect();
    asking.sort_unstable();
    asking.dedup();
    if let Some(dose) = own.find(|dose| dose.entry == entry && asking.contains(&entry)) {
        if wanted.at < dose.happened {
            return Err(Failure::not_accepted(format!(
                "entry {entry} happened {}, and what your vet said is from {}: write with --at when it was said",
                when::say(dose.happened, wanted.look.zone),
                when::say(wanted.at, wanted.look.zone)
            )));
        }
        return Ok(Checked::default());
    }
    let asking: Vec<String> = asking.iter().map(ToString::to_string).collect();
    Err(Failure::not_accepted(format!(
        "entry {entry} is no record of a dose of {} for {} that waits for your vet's word{}",
        wanted.reference,
        wanted.animal,
        if asking.is_empty() {
            ": none does".to_owned()
        } else {
            format!(": that is wanted about {}", asking.join(", "))
        }
    )))
}
