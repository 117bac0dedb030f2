//! From prescription, weighing, bottle and rack to a calculated dose and a mark; or no mark and
//! why.
//!
//! Promises: no mark that lies. The bottle in hand decides; the weight stands beside the dose; if
//! nothing at hand can measure the dose there is no mark. It does not know the calendar: whether a
//! dose is due is `course`'s business.

mod choose;
mod formula;
mod ladder;
mod leap;
#[cfg(test)]
mod tests;
mod weight;
mod working;

pub use choose::{AtHand, Chosen};
pub use formula::{Calculated, Formula};
pub use ladder::{CallBelow, Ladder, Row};
pub use leap::leap;
pub use weight::{Basis, WeightFound, WeightRule, WeightUsed};

use crate::animal::Weights;
use crate::bottle::{Batch, Bottle, Usable};
use crate::caution::{Caution, Level, NoMark, Whose};
use crate::notation::{Written, print};
use crate::quantity::{Amount, DoseRate, Exact, Measure, Strength};
use crate::settings::Settings;
use crate::zone::Zone;
use chrono::{DateTime, NaiveDate, Utc};

/// What is in hand to draw from.
#[derive(Clone, Copy, Debug)]
pub enum InHand<'a> {
    /// This bottle.
    Bottle(&'a Bottle),
    /// A bottle that was discarded or ran dry, and no other.
    Gone(&'a Bottle),
    /// None in the book: the prescription's strength is taken, and the label must be read.
    Unopened,
    /// A bottle that is not in the book, by the strength its label reads: a working on paper.
    Reads(&'a Written<Strength>),
    /// The question is only a working on paper: no caution about bottles.
    OnPaper,
}

/// The last dose of the course that was measured.
#[derive(Clone, Debug)]
pub struct LastDrawn {
    /// Its whole volume.
    pub total: Measure,
    /// What changed since, if a rate or a strength did.
    pub changed: Option<String>,
}

/// Everything one dose depends on.
#[derive(Debug)]
pub struct Ask<'a> {
    /// The vet's dose, strength and bounds.
    pub formula: &'a Formula,
    /// The strength the bottle must read: the prescription's, or the vet's later instruction.
    pub must_read: Option<&'a Written<Strength>>,
    /// What is in hand.
    pub in_hand: InHand<'a>,
    /// What it is measured with.
    pub at_hand: AtHand<'a>,
    /// The weighings.
    pub weights: &'a Weights,
    /// What the vet wrote about weights.
    pub weight_rule: &'a WeightRule,
    /// The last dose measured in this course.
    pub last_drawn: Option<LastDrawn>,
    /// The keeper's settings.
    pub settings: &'a Settings,
    /// The moment of asking.
    pub now: DateTime<Utc>,
    /// The local day the dose is for.
    pub day: NaiveDate,
    /// The book's zone.
    pub zone: Zone,
}

/// A dose with its mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drawn {
    /// The instrument and the mark on it.
    pub chosen: Chosen,
    /// What the mark really holds.
    pub held: Amount,
    /// That, by body weight.
    pub rate_at_mark: Option<DoseRate>,
}

/// The answer: a mark or the reasons for none, and everything that stands beside it.
#[derive(Clone, Debug)]
#[must_use]
pub struct Worked {
    /// The exact dose, where it could be calculated.
    pub calculated: Option<Calculated>,
    /// The mark, or every reason for none, the most telling first.
    pub mark: Result<Drawn, Vec<NoMark>>,
    /// The weight it goes by.
    pub weight: Option<WeightUsed>,
    /// What the marks at the weights around today's are made from, where they are of use.
    pub ladder: Option<Box<Ladder>>,
    /// The arithmetic, line by line.
    pub working: Vec<String>,
    /// What spoke, the loudest first.
    pub cautions: Vec<Caution>,
}

impl Worked {
    /// The marks at the weights around today's.
    pub fn ladder(&self) -> Vec<Row> {
        let ladder = self.ladder.as_ref();
        ladder.map_or(Vec::new(), |ladder| ladder.rows())
    }

    /// Whether something means "call before you give anything".
    pub fn call_first(&self) -> bool {
        self.cautions
            .iter()
            .any(|caution| caution.level() == Level::Call)
    }
}

/// Works one dose.
pub fn work(ask: &Ask) -> Worked {
    let mut found = weight::find(
        ask.weights,
        ask.weight_rule,
        ask.settings,
        ask.now,
        ask.day,
        ask.zone,
    );
    let mut cautions = std::mem::take(&mut found.cautions);
    let mut reasons = Vec::new();
    match bottle(ask) {
        Ok(more) => cautions.extend(more),
        Err(reason) => reasons.push(reason),
    }
    reasons.extend(found.no_mark);
    let body_weight = found.used.as_ref().map(|used| used.weight.value());
    let mut worked = Worked {
        calculated: None,
        mark: Err(Vec::new()),
        weight: found.used,
        ladder: None,
        working: Vec::new(),
        cautions,
    };
    if body_weight.is_none() && ask.formula.dose.rate().is_some() {
        return no_mark(worked, reasons);
    }
    let calculated = match ask.formula.calculated(body_weight) {
        Ok(calculated) => calculated,
        Err(error) => {
            reasons.push(NoMark::Figures {
                why: error.to_string(),
            });
            return no_mark(worked, reasons);
        }
    };
    worked.calculated = Some(calculated);
    worked.working = working::to_measure(ask.formula, worked.weight.as_ref(), &calculated);
    if let Some(cap) = ask.formula.max_dose.as_ref().filter(|_| calculated.capped) {
        worked.cautions.push(Caution::Capped { cap: cap.clone() });
    }
    let (drawn, about) = match drawn(ask, &calculated, body_weight) {
        Ok(drawn) => drawn,
        Err(more) => {
            reasons.extend(more);
            return no_mark(worked, reasons);
        }
    };
    // A weight too old leaves the ladder to be read after weighing; any other reason leaves nothing.
    if reasons
        .iter()
        .all(|reason| matches!(reason, NoMark::WeightTooOld { .. }))
    {
        worked.ladder = around(ask, &worked, &drawn.chosen).map(Box::new);
    }
    if !reasons.is_empty() {
        return no_mark(worked, reasons);
    }
    worked.working.extend(working::to_mark(
        ask.formula,
        &calculated,
        &drawn.chosen,
        drawn.held,
        drawn.rate_at_mark,
        // A dose that does not go by weight is none the less sure for the scale.
        (worked.weight.as_ref()).filter(|_| ask.formula.dose.rate().is_some()),
    ));
    worked.cautions.extend(about);
    worked
        .cautions
        .extend(rounded(ask.formula, drawn.chosen.mark.difference));
    worked.cautions.extend(jump(ask, drawn.chosen.mark.total));
    worked.cautions.sort_by_key(Caution::level);
    worked.mark = Ok(drawn);
    worked
}

fn no_mark(mut worked: Worked, reasons: Vec<NoMark>) -> Worked {
    worked.cautions.sort_by_key(Caution::level);
    worked.mark = Err(reasons);
    worked
}

/// The bottle in hand decides: a strength that is not the one to be read is no mark.
fn bottle(ask: &Ask) -> Result<Vec<Caution>, NoMark> {
    let bottle = match ask.in_hand {
        InHand::OnPaper => return Ok(Vec::new()),
        InHand::Reads(strength) => {
            return match ask.must_read {
                Some(must_read) if must_read.value() == strength.value() => Ok(Vec::new()),
                must_read => Err(wrong_strength(None, Some(strength), must_read)),
            };
        }
        InHand::Unopened => return Ok(vec![Caution::BottleNotInBook]),
        InHand::Gone(bottle) => {
            return Err(NoMark::BottleGone {
                bottle: bottle.number,
            });
        }
        InHand::Bottle(bottle) => bottle,
    };
    let number = bottle.number;
    if !bottle.reads(ask.must_read) {
        return Err(wrong_strength(
            Some(number),
            bottle.strength.as_ref(),
            ask.must_read,
        ));
    }
    match bottle.usable_on(ask.day) {
        Usable::Expired(on) => Err(NoMark::BottleExpired { bottle: number, on }),
        Usable::PastDiscard(on) => {
            let batch = bottle.batch.as_ref();
            if batch.and_then(Batch::frozen).is_some_and(|left| left > 0) {
                return Err(NoMark::AliquotPastDiscard { bottle: number, on });
            }
            Err(NoMark::BottlePastDiscard { bottle: number, on })
        }
        // A bottle opened later today than this dose is looked at is still the one in hand.
        Usable::NotYetOpen(_) => Ok(Vec::new()),
        Usable::Through(on) => {
            let expiry = on == bottle.expiry;
            let mut cautions = vec![Caution::DiscardAfter {
                bottle: number,
                on,
                expiry,
            }];
            if bottle.is_all_frozen() {
                cautions.push(Caution::NotThawed { bottle: number });
            }
            Ok(cautions)
        }
    }
}

fn wrong_strength(
    bottle: Option<u32>,
    reads: Option<&Written<Strength>>,
    must_read: Option<&Written<Strength>>,
) -> NoMark {
    let shown = |strength: Option<&Written<Strength>>| {
        strength.map_or("no strength".to_owned(), |strength| {
            strength.text().to_owned()
        })
    };
    NoMark::WrongStrength {
        bottle,
        reads: shown(reads),
        must_read: shown(must_read),
    }
}

fn drawn(
    ask: &Ask,
    calculated: &Calculated,
    weight: Option<crate::quantity::BodyWeight>,
) -> Result<(Drawn, Vec<Caution>), Vec<NoMark>> {
    let (chosen, about) = choose::choose(ask.formula, calculated, &ask.at_hand)?;
    let figures = |why: String| vec![NoMark::Figures { why }];
    let held = ask
        .formula
        .held_in(chosen.mark.total)
        .map_err(|error| figures(error.to_string()))?;
    let rate_at_mark = ask
        .formula
        .rate_at(held, weight)
        .map_err(|error| figures(error.to_string()))?;
    Ok((
        Drawn {
            chosen,
            held,
            rate_at_mark,
        },
        about,
    ))
}

fn around(ask: &Ask, worked: &Worked, chosen: &Chosen) -> Option<Ladder> {
    ask.formula.dose.rate()?;
    // Where the dose goes by another weight than the latest, a new weighing changes no line.
    let used = worked.weight.as_ref();
    let used = used.filter(|used| used.basis == Basis::Latest)?;
    let readable = used
        .readability
        .as_ref()
        .unwrap_or(&ask.settings.readability)
        .value();
    // A weight on paper is nobody's, so no other weight is held against it.
    let on_paper = matches!(ask.in_hand, InHand::OnPaper | InHand::Reads(_));
    let high = ask.weights.high_of_28_days(ask.now, ask.zone);
    let start = ask.weight_rule.start.as_ref();
    let calls: Vec<CallBelow> = if on_paper {
        Vec::new()
    } else {
        [
            (high, ask.settings.loss_percent),
            (start, ask.settings.loss_since_start_percent),
        ]
        .into_iter()
        .filter_map(|(weighing, limit)| {
            Some(CallBelow {
                before: weighing?.weight.value(),
                limit: limit.share(),
            })
        })
        .collect()
    };
    Some(Ladder {
        formula: ask.formula.clone(),
        weight: used.weight.value(),
        readable,
        instrument: chosen.instrument.clone(),
        draws: chosen.mark.draws,
        calls,
        accepted: (ask.weight_rule.accepted_loss.as_ref()).map(Written::value),
    })
}

fn rounded(formula: &Formula, difference: Exact) -> Option<Caution> {
    let limit = formula.limits.caution_above?;
    (difference.abs() > limit).then_some(Caution::Rounded {
        difference,
        limit,
        whose: formula.limits_whose,
    })
}

/// Above 1.5 times or below two thirds of the last volume, strictly.
fn jump(ask: &Ask, total: Measure) -> Option<Caution> {
    let last = ask.last_drawn.as_ref()?;
    let ratio = total.over(last.total).ok()?;
    let (most, least) = (Exact::ratio(3, 2)?, Exact::ratio(2, 3)?);
    (ratio > most || ratio < least).then(|| Caution::Jump {
        last: print::measure(last.total).to_string(),
        changed: last.changed.clone(),
        more: ratio > most,
    })
}

/// The program's limits of rounding, or the vet's tolerance, which replaces both.
pub fn limits(tolerance: Option<Exact>, settings: &Settings) -> (crate::rack::Limits, Whose) {
    let most = settings.rounding_most_percent;
    match tolerance {
        Some(share) => (
            crate::rack::Limits {
                caution_above: None,
                none_above: share,
            },
            Whose::Vet,
        ),
        None => {
            let caution_above = Some(settings.rounding_caution_percent.share());
            (
                crate::rack::Limits {
                    caution_above,
                    none_above: most.share(),
                },
                most.whose(),
            )
        }
    }
}
