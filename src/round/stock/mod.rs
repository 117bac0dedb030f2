//! What the courses still need against what is in hand, and how far that goes.
//!
//! Promises: every amount is a mark of today's weights, as the one formula gives it, with what
//! stays in the hub at each draw; no dose is computed here. A dose that has no mark is named with
//! its reason, never estimated. Only bottles that read what they must, and whose content somebody
//! wrote down, count as in hand; a dose is drawn from one bottle, so remnants do not add up.

mod held;
pub mod say;

pub use held::{InBottle, in_bottle};

use crate::bottle::{Batch, Bottle};
use crate::caution::NoMark;
use crate::dose::{Chosen, Drawn, InHand};
use crate::ledger::{Ledger, Patient, Script};
use crate::notation::Written;
use crate::quantity::{Exact, Measure, QuantityError, Strength, Volume};
use crate::round::dose::{Asked, When, worked};
use crate::round::{Need, Standing, clock_behind, courses, dose_now, strength_now};
use crate::schedule::{ScheduleError, Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};

/// What the courses need of one medicine at one strength.
#[derive(Debug)]
pub struct Supply<'l> {
    /// The medicine's name.
    pub medicine: &'l str,
    /// What its label must read.
    pub must_read: Option<Written<Strength>>,
    /// All that is still to come, counted together.
    pub need: Need,
    /// Every dose that has a mark, in the order in which they are due.
    pub doses: Vec<Planned<'l>>,
    /// The doses that have no mark, by course.
    pub without_mark: Vec<Unmarked<'l>>,
    /// Every bottle of the medicine that is not over.
    pub bottles: Vec<InBottle<'l>>,
    /// What the bottles that count hold together; none where one of them is not known.
    pub in_hand: Option<Measure>,
    /// How far that goes.
    pub lasts: Lasts,
}

impl Supply<'_> {
    /// Whether any of it is for this animal.
    #[must_use]
    pub fn is_for(&self, patient: &Patient) -> bool {
        let name = &patient.animal.name;
        let mut marked = self.doses.iter().map(|dose| dose.patient);
        let mut unmarked = self.without_mark.iter().map(|dose| dose.patient);
        marked.any(|p| p.animal.name == *name) || unmarked.any(|p| p.animal.name == *name)
    }

    /// Whether any of it is for this animal by this prescription.
    #[must_use]
    pub fn is_of(&self, patient: &Patient, script: &Script) -> bool {
        let own = |p: &Patient, s: &Script| {
            p.animal.name == patient.animal.name && s.entry == script.entry
        };
        self.doses.iter().any(|dose| own(dose.patient, dose.script))
            || self.without_mark.iter().any(|d| own(d.patient, d.script))
    }
}

/// One dose that is still to come.
#[derive(Debug)]
pub struct Planned<'l> {
    /// For whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// Its number.
    pub number: u32,
    /// The local day on which it is due; today where that has passed.
    pub on: NaiveDate,
    /// Its mark and what stays in the hubs.
    pub takes: Measure,
}

/// Doses of one course that have no mark by today's weight.
#[derive(Debug)]
pub struct Unmarked<'l> {
    /// For whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// How many.
    pub doses: u32,
    /// Why, in a few words.
    pub why: &'static str,
}

/// How far what is in hand goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lasts {
    /// To the end of all courses.
    ToTheEnd,
    /// Some doses are not covered.
    RunsOut {
        /// The day of the first of them.
        on: NaiveDate,
        /// Its place among the need's doses.
        first: usize,
        /// How many.
        doses: u32,
        /// What they take together.
        lacking: Option<Measure>,
    },
    /// Nobody wrote down what a bottle holds.
    NotKnown,
}

/// What every course still needs, by medicine and strength, in the order in which courses were
/// entered.
///
/// # Errors
/// [`ScheduleError`] where a schedule cannot be laid out; it was accepted, so none should fail.
pub fn stock<'l>(
    ledger: &'l Ledger,
    settings: &Settings,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Vec<Supply<'l>>, ScheduleError> {
    let when = When {
        day: local_date(now, zone),
        now,
        zone,
    };
    let mut gathered: Vec<Gathered<'l>> = Vec::new();
    for standing in &courses(ledger, zone, now)? {
        for dose in coming(ledger, settings, standing, when) {
            match gathered.iter_mut().find(|need| need.takes_in(&dose)) {
                Some(need) => need.add(dose),
                None => {
                    let mut need = Gathered::begun(dose.script, dose.must_read.clone());
                    need.add(dose);
                    gathered.push(need);
                }
            }
        }
    }
    let gathered = gathered.into_iter();
    Ok(gathered
        .map(|supply| supply.against(ledger, when))
        .collect())
}

/// One dose that is still to come, as it was worked.
struct Coming<'l> {
    patient: &'l Patient,
    script: &'l Script,
    number: u32,
    on: NaiveDate,
    must_read: Option<Written<Strength>>,
    /// The mark, or the first reason for none.
    mark: Result<Drawn, NoMark>,
}

/// Works every dose of a course that is still to be given or answered for. Those after the
/// prescription's last day get no mark and need nothing; an application in words is not measured.
fn coming<'l>(
    ledger: &Ledger,
    settings: &Settings,
    standing: &Standing<'l>,
    when: When,
) -> Vec<Coming<'l>> {
    let (patient, script) = (standing.patient, standing.script);
    let until = script.prescription.valid_until;
    let to_come = standing.course.slots.iter().filter(|slot| {
        let valid = until.is_none_or(|until| slot.due.date(when.zone) <= until);
        slot.waits() && valid
    });
    let damaged = ledger.damage_behind(patient, false);
    let doubt = damaged.map(|part| NoMark::Damaged { part });
    let doubt = doubt.or_else(|| clock_behind(ledger, when.now, when.zone));
    to_come
        .filter_map(|slot| {
            let number = slot.slot.number;
            let dose = dose_now(patient, script, slot, when.now);
            let must_read = strength_now(patient, script, number, when.now);
            let asked = Asked {
                dose: &dose,
                must_read: must_read.as_ref(),
                in_hand: InHand::OnPaper,
                named: None,
            };
            let mark = worked(ledger, settings, standing, slot, &asked, when)?.mark;
            let first = |reasons: Vec<NoMark>| {
                let unknown = NoMark::Figures {
                    why: "ask your vet".to_owned(),
                };
                reasons.into_iter().next().unwrap_or(unknown)
            };
            let mark = match &doubt {
                Some(doubt) => Err(doubt.clone()),
                None => mark.map_err(first),
            };
            Some(Coming {
                patient,
                script,
                number,
                on: slot.due.date(when.zone).max(when.day),
                must_read,
                mark,
            })
        })
        .collect()
}

/// A need before it is held against the bottles.
struct Gathered<'l> {
    script: &'l Script,
    must_read: Option<Written<Strength>>,
    need: Need,
    doses: Vec<Planned<'l>>,
    without_mark: Vec<Unmarked<'l>>,
}

/// A mark with what stays in the hubs of its draws, which only a volume has.
fn with_hub(total: Measure, hub: Volume) -> Result<Measure, QuantityError> {
    if hub.is_zero() {
        return Ok(total);
    }
    total.plus(Measure::Volume(hub))
}

/// What one dose takes in all.
fn takes(chosen: &Chosen) -> Result<Measure, QuantityError> {
    let mark = chosen.mark;
    let Some(syringe) = chosen.instrument.syringe() else {
        return Ok(mark.total);
    };
    let draws = Exact::whole(i64::from(mark.draws));
    with_hub(mark.total, syringe.hub_loss().times(draws)?)
}

fn sum(so_far: Option<Measure>, more: Measure) -> Option<Measure> {
    match so_far {
        None => Some(more),
        Some(so_far) => so_far.plus(more).ok(),
    }
}

impl<'l> Gathered<'l> {
    fn begun(script: &'l Script, must_read: Option<Written<Strength>>) -> Gathered<'l> {
        Gathered {
            script,
            must_read,
            need: Need::default(),
            doses: Vec::new(),
            without_mark: Vec::new(),
        }
    }

    /// Whether a dose comes from the same medicine at the same strength.
    fn takes_in(&self, dose: &Coming) -> bool {
        let value = |strength: &Option<Written<Strength>>| strength.as_ref().map(Written::value);
        let own = &self.script.prescription;
        own.shares_medicine(&dose.script.prescription)
            && value(&self.must_read) == value(&dose.must_read)
    }

    fn add(&mut self, dose: Coming<'l>) {
        let why = match &dose.mark {
            Ok(drawn) => match takes(&drawn.chosen) {
                Ok(takes) => {
                    self.need.add(1, Ok(&drawn.chosen));
                    return self.doses.push(Planned {
                        patient: dose.patient,
                        script: dose.script,
                        number: dose.number,
                        on: dose.on,
                        takes,
                    });
                }
                Err(error) => NoMark::Figures {
                    why: error.to_string(),
                },
            },
            Err(why) => why.clone(),
        };
        self.need.add(1, Err(&why));
        self.unmarked(dose.patient, dose.script, why.headline());
    }

    fn unmarked(&mut self, patient: &'l Patient, script: &'l Script, why: &'static str) {
        let of_course = |known: &&mut Unmarked| {
            known.patient.animal.name == patient.animal.name && known.script.entry == script.entry
        };
        // Doses come course by course, so those of this one are the last.
        let known = self.without_mark.iter_mut().rev();
        match known.take_while(of_course).find(|known| known.why == why) {
            Some(known) => known.doses += 1,
            None => self.without_mark.push(Unmarked {
                patient,
                script,
                doses: 1,
                why,
            }),
        }
    }

    fn against(mut self, ledger: &'l Ledger, when: When) -> Supply<'l> {
        self.doses.sort_by_key(|dose| dose.on);
        let prescription = &self.script.prescription;
        let of_medicine = ledger.bottles_of(prescription);
        let of_medicine = of_medicine.filter(|open| open.ended.is_none());
        let must_read = self.must_read.as_ref();
        let bottles: Vec<InBottle> = of_medicine
            .map(|open| in_bottle(ledger, open, must_read, when.day, when.zone))
            .collect();
        let counts = |held: &&InBottle| held.counts();
        let known = bottles
            .iter()
            .filter(counts)
            .all(|held| held.left.is_some());
        let mut in_hand = None;
        for left in bottles.iter().filter(counts).filter_map(|held| held.left) {
            in_hand = sum(in_hand, left);
        }
        // Nothing in hand is nothing of whatever is needed.
        if in_hand.is_none() && known {
            let marks = self.need.total;
            in_hand = marks.and_then(|marks| marks.times(Exact::ZERO).ok());
        }
        let lasts = if known {
            let parts = bottles.iter().filter(counts).flat_map(parts_of).collect();
            cover(&self.doses, parts)
        } else {
            Lasts::NotKnown
        };
        Supply {
            medicine: &prescription.medicine.name,
            must_read: self.must_read,
            need: self.need,
            doses: self.doses,
            without_mark: self.without_mark,
            bottles,
            in_hand: in_hand.filter(|_| known),
            lasts,
        }
    }
}

/// What is drawn from as one: a bottle, or one aliquot of a batch.
struct Part<'l> {
    left: Measure,
    last_day: NaiveDate,
    /// An aliquot still frozen: once taken into use its days are counted by this bottle's rule.
    frozen: Option<&'l Bottle>,
}

fn parts_of<'l>(held: &InBottle<'l>) -> Vec<Part<'l>> {
    let Some(left) = held.left else {
        return Vec::new();
    };
    let bottle = held.bottle;
    let frozen = bottle.batch.as_ref().and_then(Batch::frozen);
    let (Some(frozen), Some(each)) = (frozen, bottle.holds.as_ref().and_then(held::product)) else {
        return vec![Part {
            left,
            last_day: bottle.last_day(),
            frozen: None,
        }];
    };
    let still_frozen = each.times(Exact::whole(i64::from(frozen)));
    let thawed = still_frozen.ok().and_then(|all| left.minus(all).ok());
    let mut parts: Vec<Part> = thawed
        .map(|left| Part {
            left,
            last_day: bottle.last_day(),
            frozen: None,
        })
        .into_iter()
        .collect();
    parts.extend((0..frozen).map(|_| Part {
        left: each,
        last_day: bottle.expiry,
        frozen: Some(bottle),
    }));
    parts
}

/// Takes each dose from one part: of those that may still be used and hold enough, the one to be
/// discarded first.
fn cover(doses: &[Planned], mut parts: Vec<Part>) -> Lasts {
    parts.sort_by_key(|part| part.last_day);
    let mut short: Option<(NaiveDate, usize)> = None;
    let (mut uncovered, mut lacking) = (0, None);
    for (at, dose) in doses.iter().enumerate() {
        let rest = |part: &Part| {
            let rest = part.left.minus(dose.takes).ok()?;
            (!rest.figure().is_negative()).then_some(rest)
        };
        let usable = parts.iter_mut().find_map(|part| {
            let rest = rest(part).filter(|_| part.last_day >= dose.on)?;
            Some((part, rest))
        });
        match usable {
            Some((part, rest)) => {
                part.left = rest;
                if let Some(bottle) = part.frozen.take() {
                    part.last_day = bottle.last_day_from(dose.on);
                }
            }
            None => {
                short.get_or_insert((dose.on, at));
                uncovered += 1;
                lacking = sum(lacking, dose.takes);
            }
        }
    }
    match short {
        None => Lasts::ToTheEnd,
        Some((on, first)) => Lasts::RunsOut {
            on,
            first,
            doses: uncovered,
            lacking,
        },
    }
}
