//! Which weight a dose goes by, and what the weighings say about it: its age, and a loss that
//! means "ring the vet".
//!
//! Promises: age and loss watch the latest weighing whatever weight the dose goes by; the
//! boundaries are those of the rules (at the limit of age: silent; at the limit of loss: call).

use crate::animal::{Weighing, Weights, is_tenfold};
use crate::caution::{Caution, NoMark, Since, Whose};
use crate::notation::Written;
use crate::quantity::{BodyWeight, Exact};
use crate::settings::Settings;
use crate::zone::Zone;
use chrono::{DateTime, NaiveDate, Utc};

/// Which weight the vet wants the dose to go by.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Basis {
    /// The latest weighing.
    #[default]
    Latest,
    /// The weight behind the first dose given; until there is one, the latest.
    Start,
    /// A weight the vet wrote.
    Fixed(Written<BodyWeight>),
}

/// What the vet wrote and the course remembers about the weight.
#[derive(Clone, Debug, Default)]
pub struct WeightRule {
    /// Which weight.
    pub basis: Basis,
    /// The vet's limit of age, in days.
    pub weigh_every_days: Option<u32>,
    /// The vet wants a weighing on the day of every dose.
    pub before_each_dose: bool,
    /// The weighing behind the first dose of the course.
    pub start: Option<Weighing>,
    /// The vet accepted this weight for this slot, whatever its age: where it is not the latest
    /// weighing, the dose goes by it.
    pub accepted_age: Option<Written<BodyWeight>>,
    /// The vet accepted this weight: a loss down to it is silent until the animal loses more.
    pub accepted_loss: Option<Written<BodyWeight>>,
    /// The weight that the vet wrote on the prescription.
    pub by_the_vet: Option<Written<BodyWeight>>,
    /// The dose needs no weight at all.
    pub fixed_dose: bool,
}

/// The weight a dose goes by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeightUsed {
    /// As typed.
    pub weight: Written<BodyWeight>,
    /// The day of the weighing; none for a weight the vet wrote.
    pub day: Option<NaiveDate>,
    /// Its age in days.
    pub age: Option<u32>,
    /// What may make it misleading.
    pub tag: Option<&'static str>,
    /// The smallest step of the scale behind it.
    pub readability: Option<Written<BodyWeight>>,
    /// Which weight it is, where it is not the latest.
    pub basis: Basis,
}

/// What came of looking at the weighings.
#[derive(Clone, Debug, Default)]
pub struct WeightFound {
    /// The weight, if there is one to go by.
    pub used: Option<WeightUsed>,
    /// What spoke.
    pub cautions: Vec<Caution>,
    /// Why there is no mark, if so.
    pub no_mark: Option<NoMark>,
}

/// Finds the weight to go by at `now`, for a dose on `day`.
pub fn find(
    weights: &Weights,
    rule: &WeightRule,
    settings: &Settings,
    now: DateTime<Utc>,
    day: NaiveDate,
    zone: Zone,
) -> WeightFound {
    let latest = weights.latest(now);
    let mut found = WeightFound {
        used: used(latest, rule, day, zone),
        ..WeightFound::default()
    };
    let Some(latest) = latest else {
        match (&rule.basis, &rule.accepted_age) {
            _ if rule.fixed_dose => {}
            (Basis::Fixed(_), _) | (_, Some(_)) => found.cautions.push(Caution::NeverWeighed),
            _ => found.no_mark = Some(NoMark::NoWeight),
        }
        return found;
    };
    found
        .cautions
        .extend(losses(weights, latest, rule, settings, now, zone));
    found.cautions.extend(tenfold(weights, latest, rule, zone));
    if rule.before_each_dose && latest.day(zone) != day {
        let ladder = found
            .used
            .as_ref()
            .is_some_and(|used| used.basis == Basis::Latest);
        found.cautions.push(Caution::WeighNow { ladder });
    }
    if !rule.fixed_dose && rule.accepted_age.is_none() {
        match age(latest, rule, settings, day, zone) {
            Some(Age::Old(caution)) => found.cautions.push(caution),
            Some(Age::TooOld(reason)) => found.no_mark = Some(reason),
            None => {}
        }
    }
    if let Some(tag) = found.used.as_ref().and_then(|used| used.tag) {
        found.cautions.push(Caution::Tagged { tag });
    }
    found
}

fn used(
    latest: Option<&Weighing>,
    rule: &WeightRule,
    day: NaiveDate,
    zone: Zone,
) -> Option<WeightUsed> {
    let weighed = |weighing: &Weighing, basis: Basis| WeightUsed {
        weight: weighing.weight.clone(),
        day: Some(weighing.day(zone)),
        age: weighing.age_in_days(day, zone),
        tag: weighing.tag.map(crate::animal::Tag::words),
        readability: Some(weighing.readability.clone()),
        basis,
    };
    let by_the_vet = |weight: &Written<BodyWeight>| WeightUsed {
        weight: weight.clone(),
        day: None,
        age: None,
        tag: None,
        readability: latest.map(|weighing| weighing.readability.clone()),
        basis: Basis::Fixed(weight.clone()),
    };
    let accepted = rule.accepted_age.as_ref();
    let other = accepted
        .filter(|accepted| latest.is_none_or(|latest| latest.weight.value() != accepted.value()));
    match (&rule.basis, &rule.start, latest) {
        (Basis::Fixed(weight), _, _) => Some(by_the_vet(weight)),
        _ if other.is_some() => other.map(by_the_vet),
        (Basis::Start, Some(start), _) => Some(weighed(start, Basis::Start)),
        (_, _, Some(latest)) => Some(weighed(latest, Basis::Latest)),
        (_, _, None) => None,
    }
}

enum Age {
    Old(Caution),
    TooOld(NoMark),
}

/// Silent through the limit, a caution after it, no mark above four times the limit.
fn age(
    latest: &Weighing,
    rule: &WeightRule,
    settings: &Settings,
    day: NaiveDate,
    zone: Zone,
) -> Option<Age> {
    let age = latest.age_in_days(day, zone)?;
    let (limit, whose) = match rule.weigh_every_days {
        Some(days) => (days, Whose::Vet),
        None => (
            settings.weight_age_days.value,
            settings.weight_age_days.whose(),
        ),
    };
    let most = limit.saturating_mul(4);
    if age > most {
        Some(Age::TooOld(NoMark::WeightTooOld {
            age,
            limit: most,
            whose,
        }))
    } else if age > limit {
        Some(Age::Old(Caution::OldWeight { age, limit, whose }))
    } else {
        None
    }
}

/// A latest weighing that is about ten times the one before it, or ten times as much or as little
/// as the vet wrote. It was typed twice, and may have been misread twice. (About ten times less
/// than the one before is a loss.)
fn tenfold(weights: &Weights, latest: &Weighing, rule: &WeightRule, zone: Zone) -> Option<Caution> {
    let now = latest.weight.value();
    let accepted = [&rule.accepted_age, &rule.accepted_loss];
    let mut accepted = accepted.into_iter().flatten();
    if accepted.any(|accepted| accepted.value() == now) {
        return None;
    }
    let far = |other: BodyWeight| is_tenfold(now.grams(), other.grams());
    let before = weights.all().iter().rev();
    let before = before
        .skip_while(|weighing| weighing.entry != latest.entry)
        .nth(1)
        .filter(|before| before.weight.value() < now && far(before.weight.value()))
        .map(|before| (&before.weight, Some(before.day(zone))));
    let by_the_vet = rule.by_the_vet.as_ref().filter(|other| far(other.value()));
    let (other, on) = by_the_vet.map(|other| (other, None)).or(before)?;
    Some(Caution::Tenfold {
        now: latest.weight.clone(),
        other: other.clone(),
        on,
    })
}

fn losses(
    weights: &Weights,
    latest: &Weighing,
    rule: &WeightRule,
    settings: &Settings,
    now: DateTime<Utc>,
    zone: Zone,
) -> Vec<Caution> {
    let accepted = rule.accepted_loss.as_ref().map(Written::value);
    if accepted.is_some_and(|accepted| latest.weight.value() >= accepted) {
        return Vec::new();
    }
    let high = weights.high_of_28_days(now, zone);
    let comparisons = [
        (high, Since::HighOf28Days, settings.loss_percent),
        (
            rule.start.as_ref(),
            Since::CourseStart,
            settings.loss_since_start_percent,
        ),
    ];
    let loss = |(before, since, limit): (Option<&Weighing>, Since, crate::settings::Limit)| {
        let before = before?;
        let share = lost(before.weight.value(), latest.weight.value())?;
        (share >= limit.share()).then(|| Caution::Loss {
            before: before.weight.clone(),
            on: before.day(zone),
            now: latest.weight.clone(),
            share,
            limit: limit.share(),
            since,
            whose: limit.whose(),
        })
    };
    comparisons.into_iter().filter_map(loss).collect()
}

/// The share lost from one weight to another; none where nothing was lost.
pub(super) fn lost(before: BodyWeight, after: BodyWeight) -> Option<Exact> {
    let loss = before.minus(after).ok()?;
    let share = loss.over(before).ok()?;
    (!share.is_negative() && !share.is_zero()).then_some(share)
}
