//! One dose of the day: the slot, the bottle, the weight, the mark or why there is none.

use crate::animal::Animal;
use crate::caution::NoMark;
use crate::course::{MarkGate, State};
use crate::dose::{
    Ask, AtHand, Basis, Drawn, Formula, InHand, LastDrawn, Row, WeightRule, Worked, limits, work,
};
use crate::entry::{DoseRecord, MarkThen, Order, Outcome};
use crate::ledger::{Dose, Ledger, Patient, Said, Script};
use crate::notation::{Notation, Written};
use crate::prescription::{self, Site, WeightBasis};
use crate::quantity::{Amount, BodyWeight, Measure, ProductMass, Span, Strength};
use crate::rack::Syringe;
use crate::round::unsettled::before_the_next_mark;
use crate::round::{Standing, bottle_for, other_courses, say};
use crate::schedule::Zone;
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};

/// One dose of the day.
#[derive(Debug)]
pub struct DayDose<'l> {
    /// For whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// The slot as it stands.
    pub slot: crate::course::Standing,
    /// How many slots the course has; none where it runs until the vet says stop.
    pub of: Option<u32>,
    /// What is given, as the vet wrote it or has since said.
    pub dose: prescription::Dose,
    /// What the bottle must read.
    pub must_read: Option<Written<Strength>>,
    /// The bottle to draw from, and whether any is in the book.
    pub in_hand: InHand<'l>,
    /// The last dose of this medicine that went in or may have.
    pub last: Option<&'l Dose>,
    /// The next of the vet's sites.
    pub site: Option<&'l Site>,
    /// What came of the arithmetic; nothing for an application in the vet's words.
    pub worked: Option<Worked>,
    /// Every reason for no mark, the most telling first: the calendar's, then the arithmetic's.
    pub no_mark: Vec<NoMark>,
    /// What the vet said since that makes this dose what it is, in the order it was said.
    pub said: Vec<&'l Said>,
    /// Other animals here whose names are easily taken for this one's.
    pub alike: Vec<&'l Animal>,
}

impl DayDose<'_> {
    /// The mark, if there is one to be shown.
    pub fn drawn(&self) -> Option<&Drawn> {
        if !self.no_mark.is_empty() {
            return None;
        }
        self.worked
            .as_ref()
            .and_then(|worked| worked.mark.as_ref().ok())
    }

    /// The most telling reason for no mark; of a mark on paper for a day to come (`ahead`), that
    /// time alone does not lift.
    pub fn why_not(&self, ahead: bool) -> Option<&NoMark> {
        let mut reasons = self.no_mark.iter();
        reasons.find(|reason| !(ahead && reason.lifts_with_time()))
    }

    /// The marks at other weights: beside a mark, or to be read once an old weight is renewed. Any
    /// other reason for no mark leaves nothing to read.
    pub fn ladder(&self) -> Vec<Row> {
        let renewed = |reason: &NoMark| matches!(reason, NoMark::WeightTooOld { .. });
        match &self.worked {
            Some(worked) if self.no_mark.iter().all(renewed) => worked.ladder(),
            _ => Vec::new(),
        }
    }

    /// Whether something means "call before you give anything".
    pub fn call_first(&self) -> bool {
        self.worked.as_ref().is_some_and(Worked::call_first)
    }

    /// Whether it is late.
    pub fn is_late(&self) -> bool {
        self.slot.state == State::Late
    }

    /// The moment before which it must not be given, where it has not opened.
    pub fn not_before(&self) -> Option<DateTime<Utc>> {
        match self.slot.gate {
            MarkGate::NotBefore(at) => Some(at),
            _ => None,
        }
    }
}

/// The other animals here whose names are easily taken for this one's.
fn named_alike<'l>(ledger: &'l Ledger, patient: &Patient, now: DateTime<Utc>) -> Vec<&'l Animal> {
    let here = |other: &&Patient| other.end.as_ref().is_none_or(|(at, _)| *at > now);
    let others = ledger.named_alike(&patient.animal.name).filter(here);
    others.map(|other| &other.animal).collect()
}

/// What the person picked instead of what the program would.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pick<'a> {
    /// Another bottle, by number.
    pub bottle: Option<u32>,
    /// Another syringe.
    pub syringe: Option<&'a Syringe>,
}

/// Works out one dose of a course for a day, as it stands `now`. A clock that runs behind the book
/// leaves no mark anywhere in it, and no more does damage.
#[allow(
    clippy::too_many_arguments,
    reason = "each is one thing the dose depends on"
)]
pub fn day_dose<'l>(
    ledger: &'l Ledger,
    settings: &Settings,
    standing: &Standing<'l>,
    slot: &crate::course::Standing,
    pick: Pick,
    day: NaiveDate,
    now: DateTime<Utc>,
    zone: Zone,
) -> DayDose<'l> {
    let clock = clock_behind(ledger, now, zone);
    dose_then(
        ledger, settings, standing, slot, pick, day, now, zone, clock,
    )
}

/// The same as it stood at a moment that is past, for a dose that is recorded afterwards. What the
/// clock has against a mark hangs on the moment of recording, so the caller brings it.
#[allow(
    clippy::too_many_arguments,
    reason = "each is one thing the dose depends on"
)]
pub fn dose_then<'l>(
    ledger: &'l Ledger,
    settings: &Settings,
    standing: &Standing<'l>,
    slot: &crate::course::Standing,
    pick: Pick,
    day: NaiveDate,
    now: DateTime<Utc>,
    zone: Zone,
    clock: Option<NoMark>,
) -> DayDose<'l> {
    let (patient, script) = (standing.patient, standing.script);
    let prescription = &script.prescription;
    let number = slot.slot.number;
    let dose = dose_now(patient, script, slot, now);
    let must_read = strength_now(patient, script, number, now);
    let wanted = must_read.as_ref();
    let in_hand = bottle_for(ledger, prescription, wanted, pick.bottle, day, now);
    let last = last_of_medicine(ledger, patient, script, now);
    let when = When { day, now, zone };
    let asked = Asked {
        dose: &dose,
        must_read: must_read.as_ref(),
        in_hand,
        named: pick.syringe,
    };
    let mut worked = worked(ledger, settings, standing, slot, &asked, when);
    let (mut unsettled, mut call) = before_the_next_mark(standing, settings, now);
    let (held, asked) = other_courses::against(ledger, settings, standing, slot, zone, now);
    unsettled.extend(held);
    call.extend(asked);
    if let Some(worked) = &mut worked {
        worked.cautions.splice(..0, call);
    }
    let damaged = ledger
        .damage_behind(patient, matches!(in_hand, InHand::Unopened))
        .map(|part| NoMark::Damaged { part });
    let in_doubt: Vec<NoMark> = clock.into_iter().chain(damaged).collect();
    let mut no_mark = in_doubt.clone();
    no_mark.extend(gate(slot, last, zone));
    no_mark.extend(unsettled);
    if let Some(worked) = &mut worked {
        let reasons = worked.mark.as_ref().err().cloned().unwrap_or_default();
        no_mark.extend(reasons.iter().cloned());
        // Figures that cannot be relied on come to no mark for those either who look past the
        // calendar.
        if !in_doubt.is_empty() {
            worked.mark = Err([in_doubt, reasons].concat());
            worked.ladder = None;
        }
    }
    DayDose {
        patient,
        script,
        slot: slot.clone(),
        of: prescription
            .schedule
            .slots()
            .map(|_| u32::try_from(standing.course.slots.len()).unwrap_or(u32::MAX)),
        dose,
        must_read,
        in_hand,
        last,
        site: next_site(patient, script, now),
        worked,
        no_mark,
        said: shaped_by(patient, script, number, now)
            .into_iter()
            .chain(settled_before(standing, number, now))
            .collect(),
        alike: named_alike(ledger, patient, now),
    }
}

/// What one slot asks for, and from where.
pub(super) struct Asked<'a> {
    /// The vet's dose for it.
    pub dose: &'a prescription::Dose,
    /// What the bottle must read.
    pub must_read: Option<&'a Written<Strength>>,
    /// What it is drawn from.
    pub in_hand: InHand<'a>,
    /// The syringe that a person named.
    pub named: Option<&'a Syringe>,
}

/// The moment of asking.
#[derive(Clone, Copy)]
pub(super) struct When {
    /// The local day the dose is for.
    pub day: NaiveDate,
    /// The moment of looking.
    pub now: DateTime<Utc>,
    /// The zone of the book.
    pub zone: Zone,
}

/// What comes of the arithmetic for one slot, whatever the calendar says; nothing for an
/// application in the vet's words.
pub(super) fn worked(
    ledger: &Ledger,
    settings: &Settings,
    standing: &Standing,
    slot: &crate::course::Standing,
    asked: &Asked,
    when: When,
) -> Option<Worked> {
    worked_without(ledger, settings, standing, slot, asked, when, None)
}

/// The same, as if one dose of the course had not been recorded.
pub(super) fn worked_without(
    ledger: &Ledger,
    settings: &Settings,
    standing: &Standing,
    slot: &crate::course::Standing,
    asked: &Asked,
    when: When,
    without: Option<u64>,
) -> Option<Worked> {
    let (patient, script) = (standing.patient, standing.script);
    let prescription = &script.prescription;
    if !asked.dose.is_measured() {
        return None;
    }
    let given = || given_in_course(patient, script, when.now, without);
    let last_drawn = given().max_by_key(|dose| dose.happened);
    // A dose recorded without a syringe says nothing of which one is used in the course.
    let last_used = given()
        .filter(|dose| dose.record.syringe.is_some())
        .max_by_key(|dose| dose.happened);
    let (limits, limits_whose) = limits(
        prescription.tolerance.as_ref().map(Written::value),
        settings,
    );
    let formula = Formula {
        dose: asked.dose.clone(),
        strength: asked.must_read.cloned(),
        max_dose: prescription.greatest_dose(),
        max_per_site: prescription.max_per_site.clone(),
        rounding: prescription.rounding,
        limits,
        limits_whose,
    };
    let rule = weight_rule(standing, slot, asked.dose, when.now);
    Some(work(&Ask {
        formula: &formula,
        must_read: asked.must_read,
        in_hand: asked.in_hand,
        at_hand: AtHand {
            syringes: &ledger.syringes,
            used_for: prescription.route.used_for(),
            cut: prescription.tablets,
            paste_scale: ProductMass::from_grams(settings.readability.value().grams()),
            last_used: last_used.and_then(|dose| dose.record.syringe.as_ref()),
            named: asked.named,
        },
        weights: &patient.weights,
        weight_rule: &rule,
        last_drawn: last_drawn.and_then(|dose| drawn_then(patient, script, dose)),
        settings,
        now: when.now,
        day: when.day,
        zone: when.zone,
    }))
}

/// A clock that runs before the newest entry gives no marks.
pub fn clock_behind(ledger: &Ledger, now: DateTime<Utc>, zone: Zone) -> Option<NoMark> {
    let newest = ledger.newest.filter(|newest| *newest > now)?;
    Some(NoMark::ClockBehind {
        newest: say::moment_from(newest, now, zone),
    })
}

/// The calendar's reason for no mark, if it has one.
fn gate(slot: &crate::course::Standing, last: Option<&Dose>, zone: Zone) -> Option<NoMark> {
    Some(match slot.gate {
        MarkGate::Allowed | MarkGate::AllowedLate | MarkGate::NotBefore(_) => return None,
        MarkGate::TooSoonUntil(at) => NoMark::TooSoon {
            opens: say::moment(at, zone),
            last: last.map(|dose| say::moment(dose.happened, zone)),
        },
        MarkGate::Held => NoMark::Held {
            why: "Too close to the last dose of this medicine all through its window.".to_owned(),
        },
        MarkGate::BlockedBy(number) => NoMark::EarlierUnanswered { number },
        MarkGate::LateCall => NoMark::LateCall,
        MarkGate::NotRecorded => NoMark::NotRecorded {
            due: say::due(slot.due, zone),
        },
        MarkGate::ReviewPassed(on) => NoMark::PastReview { on },
        MarkGate::ValidUntilPassed(on) => NoMark::PastValidity { on },
        MarkGate::Answered => NoMark::Held {
            why: "This dose has been answered for.".to_owned(),
        },
        MarkGate::Ended => NoMark::Held {
            why: "The course has ended.".to_owned(),
        },
    })
}

/// The vet's dose for this slot, with the latest instruction by then that changed it.
pub fn dose_now(
    patient: &Patient,
    script: &Script,
    slot: &crate::course::Standing,
    now: DateTime<Utc>,
) -> prescription::Dose {
    let number = slot.slot.number;
    let changed = orders(patient, script, now).filter_map(|order| match order {
        Order::Rate { from, rate } if *from <= number => {
            Some(prescription::Dose::PerBodyWeight(rate.clone()))
        }
        Order::Fixed { from, amount } if *from <= number => {
            Some(prescription::Dose::Fixed(amount.clone()))
        }
        Order::Application { from, words } if *from <= number => {
            Some(prescription::Dose::Application(words.clone()))
        }
        _ => None,
    });
    if let Some(dose) = changed.last() {
        return dose;
    }
    let written = script.prescription.dose(slot.slot.dose);
    written
        .cloned()
        .unwrap_or_else(|| prescription::Dose::Application(String::new()))
}

/// What the bottle must read, with the latest instruction by then that changed it.
pub fn strength_now(
    patient: &Patient,
    script: &Script,
    number: u32,
    now: DateTime<Utc>,
) -> Option<Written<Strength>> {
    let changed = orders(patient, script, now).filter_map(|order| match order {
        Order::Strength { from, strength } if *from <= number => Some(strength),
        _ => None,
    });
    changed
        .last()
        .or(script.prescription.medicine.strength.as_ref())
        .cloned()
}

/// What the vet had said about a course by a moment, in the order it was said.
pub(super) fn said_by<'l>(
    patient: &'l Patient,
    script: &'l Script,
    now: DateTime<Utc>,
) -> impl Iterator<Item = &'l Said> {
    let reference = &script.prescription.reference;
    patient
        .instructions
        .iter()
        .filter(move |said| said.at <= now && said.instruction.prescription == *reference)
}

fn orders<'l>(
    patient: &'l Patient,
    script: &'l Script,
    now: DateTime<Utc>,
) -> impl Iterator<Item = &'l Order> {
    said_by(patient, script, now).map(|said| &said.instruction.order)
}

/// The instructions that a slot's dose hangs on: of several about one thing, the latest.
fn shaped_by<'l>(
    patient: &'l Patient,
    script: &'l Script,
    number: u32,
    now: DateTime<Utc>,
) -> Vec<&'l Said> {
    let about = |said: &Said| match &said.instruction.order {
        Order::Rate { from, .. } | Order::Fixed { from, .. } | Order::Application { from, .. }
            if *from <= number =>
        {
            Some(0)
        }
        Order::Strength { from, .. } if *from <= number => Some(1),
        Order::AcceptWeight { slot, .. } if *slot == number => Some(2),
        Order::DoseNow { slot } if *slot == number => Some(3),
        _ => None,
    };
    let all: Vec<&Said> = said_by(patient, script, now).collect();
    let latest = |thing| all.iter().rfind(|said| about(said) == Some(thing)).copied();
    let mut shaping: Vec<&Said> = (0..4).filter_map(latest).collect();
    shaping.sort_by_key(|said| (said.at, said.entry));
    shaping
}

/// How to go on, as the vet said it after something had gone wrong: beside the first dose that
/// waits, until one is given.
fn settled_before<'l>(
    standing: &Standing<'l>,
    number: u32,
    now: DateTime<Utc>,
) -> impl Iterator<Item = &'l Said> {
    let (patient, script) = (standing.patient, standing.script);
    let mut waiting = standing.course.slots.iter().filter(|slot| slot.waits());
    let is_next = waiting.next().map(|slot| slot.slot.number) == Some(number);
    let given = |after: DateTime<Utc>| {
        given_in_course(patient, script, now, None).any(|dose| dose.happened > after)
    };
    let settled = said_by(patient, script, now).filter(move |said| {
        let settles = matches!(said.instruction.order, Order::Settled { .. });
        settles && is_next && !given(said.at)
    });
    settled.collect::<Vec<_>>().into_iter()
}

fn weight_rule(
    standing: &Standing,
    slot: &crate::course::Standing,
    dose: &prescription::Dose,
    now: DateTime<Utc>,
) -> WeightRule {
    let (patient, script) = (standing.patient, standing.script);
    let prescription = &script.prescription;
    let accepted = orders(patient, script, now).filter_map(|order| match order {
        Order::AcceptWeight {
            slot: accepted,
            weight,
        } => Some((*accepted, weight)),
        _ => None,
    });
    // Its age is silent for that slot alone; the loss stays silent until the animal loses more.
    let accepted: Vec<(u32, &Written<BodyWeight>)> = accepted.collect();
    let for_slot = accepted
        .iter()
        .rev()
        .find(|(number, _)| *number == slot.slot.number);
    WeightRule {
        basis: match &prescription.weight_basis {
            WeightBasis::Latest => Basis::Latest,
            WeightBasis::Start => Basis::Start,
            WeightBasis::Fixed(weight) => Basis::Fixed(weight.clone()),
        },
        weigh_every_days: prescription
            .weigh_every
            .as_ref()
            .map(|every| match every.value() {
                Span::Days(days) => days,
                Span::Hours(hours) => hours.div_ceil(24),
            }),
        before_each_dose: prescription.weigh_before_each_dose,
        start: standing
            .course
            .first_dose
            .and_then(|at| patient.weights.latest(at))
            .cloned(),
        accepted_age: for_slot.map(|(_, weight)| (*weight).clone()),
        accepted_loss: accepted.last().map(|(_, weight)| (*weight).clone()),
        by_the_vet: prescription
            .weight_written_for(&patient.animal.name)
            .cloned(),
        fixed_dose: dose.rate().is_none(),
    }
}

/// The last dose of this medicine to this animal that went in or may have, in any course.
fn last_of_medicine<'l>(
    ledger: &'l Ledger,
    patient: &'l Patient,
    script: &Script,
    now: DateTime<Utc>,
) -> Option<&'l Dose> {
    let of_medicine = |dose: &&Dose| {
        let mut others = ledger.scripts_called(&dose.course);
        others.any(|other| other.prescription.shares_medicine(&script.prescription))
    };
    let happened = patient.doses.iter().filter(|dose| dose.happened <= now);
    happened
        .filter(|dose| dose.record.outcome.closes_the_gate())
        .filter(of_medicine)
        .max_by_key(|dose| dose.happened)
}

/// The doses of this course that were given by a moment, but for one left aside.
fn given_in_course<'l>(
    patient: &'l Patient,
    script: &'l Script,
    now: DateTime<Utc>,
    without: Option<u64>,
) -> impl Iterator<Item = &'l Dose> {
    let of_course = patient
        .doses
        .iter()
        .filter(|dose| dose.course == script.prescription.reference);
    of_course.filter(move |dose| {
        dose.happened <= now && dose.record.outcome == Outcome::Given && Some(dose.entry) != without
    })
}

fn drawn_then(patient: &Patient, script: &Script, dose: &Dose) -> Option<LastDrawn> {
    let total = measured(&dose.record)?;
    let reference = &script.prescription.reference;
    let since = patient
        .instructions
        .iter()
        .filter(|said| said.at > dose.happened && said.instruction.prescription == *reference);
    let mut changed = since.filter_map(|said| match &said.instruction.order {
        Order::Rate { rate, .. } => Some(format!("your vet changed the rate to {rate}")),
        Order::Fixed { amount, .. } => Some(format!("your vet changed the dose to {amount}")),
        Order::Strength { strength, .. } => {
            Some(format!("your vet changed the strength to {strength}"))
        }
        _ => None,
    });
    Some(LastDrawn {
        total,
        changed: changed.next(),
    })
}

/// What was measured out for a dose, all draws together: what was drawn, where it was said, else
/// the mark. None where nobody knows.
pub fn measured(record: &DoseRecord) -> Option<Measure> {
    match (&record.drawn, &record.mark) {
        (Some(drawn), _) => drawn.value().measure(None).ok(),
        (None, Some(mark)) => at_the_mark(mark),
        (None, None) => None,
    }
}

/// What all draws of a mark measured.
pub(super) fn at_the_mark(mark: &MarkThen) -> Option<Measure> {
    // A mark of paste is kept as "0.4 g of product".
    let total = Amount::read(&mark.total.replace(" of product", " of paste"));
    total.ok()?.value().measure(None).ok()
}

/// The site after the one last used; the first where none was.
fn next_site<'l>(patient: &Patient, script: &'l Script, now: DateTime<Utc>) -> Option<&'l Site> {
    let sites = &script.prescription.sites;
    let of_course = patient
        .doses
        .iter()
        .filter(|dose| dose.course == script.prescription.reference);
    let used = of_course
        .filter(|dose| dose.happened <= now && dose.record.outcome.went_in())
        .max_by_key(|dose| dose.happened);
    let place = used.and_then(|dose| dose.record.site.as_ref());
    let after = place.and_then(|used| sites.iter().position(|site| site.words() == *used));
    // Several draws went to as many sites, from the first on.
    let draws = used
        .and_then(|dose| dose.record.mark.as_ref())
        .map_or(1, |mark| mark.draws);
    let step = usize::try_from(draws).unwrap_or(1).max(1);
    let next = after.map_or(0, |at| (at + step) % sites.len().max(1));
    sites.get(next)
}
