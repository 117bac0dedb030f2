//! How much of the product is left in one bottle, by the book.
//!
//! Promises: it begins with what somebody wrote down, on opening or on looking later, and takes
//! off every recorded dose with what stayed in the hubs. A recorded dose without an amount is
//! counted, not guessed. What spills, dries or is thrown away nobody records, so it is at most that.

use crate::bottle::{Batch, Bottle, Usable};
use crate::entry::DoseRecord;
use crate::ledger::{Container, Dose, Ledger};
use crate::notation::Written;
use crate::quantity::{Amount, Exact, Measure, Strength};
use crate::round::measured;
use crate::round::stock::with_hub;
use crate::schedule::{Zone, local_date};
use chrono::{DateTime, NaiveDate, Utc};

/// One bottle and what is left in it.
#[derive(Debug)]
pub struct InBottle<'l> {
    /// The bottle.
    pub bottle: &'l Bottle,
    /// Whether it can be used on the day of looking.
    pub usable: Usable,
    /// Whether its label reads what it must.
    pub fits: bool,
    /// What is left by the book; none where nobody wrote down what it held.
    pub left: Option<Measure>,
    /// More was drawn than it held, by the book.
    pub overdrawn: bool,
    /// Doses drawn from it whose amount is not in the book, so that less is left.
    pub unmeasured: u32,
}

impl InBottle<'_> {
    /// Whether what is left in it counts as in hand: it reads what it must, and it, or an aliquot
    /// that is still frozen, can be used.
    #[must_use]
    pub fn counts(&self) -> bool {
        let frozen = self.bottle.batch.as_ref().and_then(Batch::frozen);
        let usable = match self.usable {
            Usable::Through(_) | Usable::NotYetOpen(_) => true,
            Usable::PastDiscard(_) => frozen.is_some_and(|frozen| frozen > 0),
            Usable::Expired(_) => false,
        };
        self.fits && usable
    }
}

/// From when on draws count against what a bottle held.
#[derive(Clone, Copy)]
enum CountsFrom {
    /// From the first.
    Opening,
    /// After somebody looked.
    Looking(DateTime<Utc>),
    /// From the day of the latest thawing.
    Thawing(NaiveDate),
}

/// Looks at one bottle on a day.
pub fn in_bottle<'l>(
    ledger: &Ledger,
    open: &'l Container,
    must_read: Option<&Written<Strength>>,
    day: NaiveDate,
    zone: Zone,
) -> InBottle<'l> {
    let bottle = &open.bottle;
    let mut found = InBottle {
        bottle,
        usable: bottle.usable_on(day),
        fits: bottle.reads(must_read),
        left: None,
        overdrawn: false,
        unmeasured: 0,
    };
    let Some((begins, counts_from, frozen)) = begins(open, found.usable) else {
        return found;
    };
    let mut left = begins;
    let all = ledger.animals.iter().flat_map(|patient| &patient.doses);
    let drawn_here = |dose: &&Dose| {
        let counts = match counts_from {
            CountsFrom::Opening => true,
            CountsFrom::Looking(at) => dose.happened > at,
            CountsFrom::Thawing(day) => local_date(dose.happened, zone) >= day,
        };
        counts && dose.record.bottle == Some(bottle.number) && dose.record.outcome.closes_the_gate()
    };
    for dose in all.filter(drawn_here) {
        match taken(&dose.record).and_then(|taken| left.minus(taken).ok()) {
            Some(rest) => left = rest,
            None => found.unmeasured += 1,
        }
    }
    if left.figure().is_negative() {
        found.overdrawn = true;
        left = left.times(Exact::ZERO).unwrap_or(left);
    }
    found.left = match frozen {
        Some(frozen) => left.plus(frozen).ok(),
        None => Some(left),
    };
    found
}

/// What the count begins with, from when on doses are taken off it, and what is still frozen and
/// so beside it. Nothing where nobody wrote down what the bottle holds.
fn begins(open: &Container, usable: Usable) -> Option<(Measure, CountsFrom, Option<Measure>)> {
    let holds = open.bottle.holds.as_ref().and_then(product);
    let batch = open.bottle.batch.as_ref();
    let Some(frozen) = batch.and_then(Batch::frozen) else {
        return match &open.seen_left {
            Some((at, seen)) => Some((product(seen)?, CountsFrom::Looking(*at), None)),
            None => Some((holds?, CountsFrom::Opening, None)),
        };
    };
    let each = holds?;
    let still_frozen = each.times(Exact::whole(i64::from(frozen))).ok()?;
    let thawed_on = batch.and_then(|batch| batch.thawed.iter().max().copied());
    let in_date = matches!(usable, Usable::Through(_) | Usable::NotYetOpen(_));
    let (begins, from) = match thawed_on {
        Some(day) if in_date => (each, CountsFrom::Thawing(day)),
        _ => (
            each.times(Exact::ZERO).ok()?,
            CountsFrom::Thawing(NaiveDate::MAX),
        ),
    };
    Some((begins, from, Some(still_frozen)))
}

/// An amount of the product itself, as a measure.
pub(super) fn product(written: &Written<Amount>) -> Option<Measure> {
    written.value().measure(None).ok()
}

/// What a recorded dose took out of its bottle, with what stayed in the hubs.
fn taken(record: &DoseRecord) -> Option<Measure> {
    let measured = measured(record)?;
    let Some(syringe) = &record.syringe else {
        return Some(measured);
    };
    let draws = record.mark.as_ref().map_or(1, |mark| mark.draws);
    let hubs = syringe.hub_loss().times(Exact::whole(i64::from(draws)));
    with_hub(measured, hubs.ok()?).ok()
}
