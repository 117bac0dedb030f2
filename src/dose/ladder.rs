//! The ladder: what the mark would be at the readable weights around today's.
//!
//! Promises: every row is the formula run on the weights it names, with today's instrument and
//! number of draws; equal neighbours are one row, every gap is a row, and a weight that would mean
//! "call" says so.

use crate::dose::formula::Formula;
use crate::dose::weight::lost;
use crate::quantity::{BodyWeight, Exact};
use crate::rack::{Instrument, Mark};

/// No ladder has more steps than this, which is 5 kg on a scale of 0.04 g; a finer scale is stepped
/// more coarsely.
const MOST_STEPS: i128 = 50_000;

/// One row: a run of readable weights with one result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The lowest readable weight of the row.
    pub first: BodyWeight,
    /// The highest readable weight of the row.
    pub last: BodyWeight,
    /// The mark; none where there would be no mark.
    pub mark: Option<Mark>,
    /// Whether the weight would mean "call before you give anything".
    pub call: bool,
    /// Whether today's weight is in it.
    pub today: bool,
}

/// What a weight must not fall to without a call: the weights it is held against and the limits.
#[derive(Clone, Copy, Debug)]
pub struct CallBelow {
    /// The weight.
    pub before: BodyWeight,
    /// The share at which to call.
    pub limit: Exact,
}

/// The ladder around `weight`, from 20 percent below to 20 percent above, by steps of `readable`.
/// At or above a weight that the vet `accepted` nothing means "call".
pub fn ladder(
    formula: &Formula,
    weight: BodyWeight,
    readable: BodyWeight,
    instrument: &Instrument,
    draws: u32,
    calls: &[CallBelow],
    accepted: Option<BodyWeight>,
) -> Vec<Row> {
    let Some((from, to, step)) = span(weight, readable) else {
        return Vec::new();
    };
    let at_step = |n: i128| {
        let at = step_at(step, n)?;
        let mark = formula.mark(Some(at), instrument, Some(draws)).ok();
        let call = accepted.is_none_or(|accepted| at < accepted)
            && calls
                .iter()
                .any(|below| lost(below.before, at).is_some_and(|share| share >= below.limit));
        Some(Row {
            first: at,
            last: at,
            mark,
            call,
            today: false,
        })
    };
    let mut rows: Vec<Row> = Vec::new();
    let mut n = from;
    while n <= to {
        let Some(mut row) = at_step(n) else {
            n += 1;
            continue;
        };
        if row.mark.is_some() {
            // A mark never comes back once a heavier weight has another, so its end can be
            // looked for; a gap does come back, and is walked step by step.
            let (mut inside, mut beyond) = (n, to + 1);
            while beyond - inside > 1 {
                let middle = inside + (beyond - inside) / 2;
                match at_step(middle).filter(|other| same(&row, other)) {
                    Some(other) => (inside, row.last) = (middle, other.last),
                    None => beyond = middle,
                }
            }
            n = inside;
        }
        match rows.last_mut() {
            Some(before) if same(before, &row) => before.last = row.last,
            _ => rows.push(row),
        }
        n += 1;
    }
    for row in &mut rows {
        row.today = row.first <= weight && weight <= row.last;
    }
    // A card of thousands of doses holds all their ladders.
    rows.shrink_to_fit();
    rows
}

/// The first and last step, in steps of the returned weight. The step is the scale's, or a tenth
/// of it and so on where today's weight was read more finely than the scale is said to show.
fn span(weight: BodyWeight, readable: BodyWeight) -> Option<(i128, i128, Exact)> {
    let mut step = readable.grams();
    let tenth = Exact::ratio(1, 10)?;
    for _ in 0..4 {
        if weight.grams().over(step).ok()?.denominator() == 1 {
            break;
        }
        step = step.times(tenth).ok()?;
    }
    let bound = |share: Exact| weight.grams().times(share).ok()?.over(step).ok();
    let (low, high) = (Exact::ratio(4, 5)?, Exact::ratio(6, 5)?);
    let (from, to) = (bound(low)?.ceil().max(1), bound(high)?.floor());
    (to - from <= MOST_STEPS)
        .then_some((from, to, step))
        .or_else(|| {
            let coarser = step.times(Exact::whole(10)).ok()?;
            let bound = |share: Exact| weight.grams().times(share).ok()?.over(coarser).ok();
            Some((bound(low)?.ceil().max(1), bound(high)?.floor(), coarser))
        })
}

fn step_at(step: Exact, n: i128) -> Option<BodyWeight> {
    step.times(Exact::ratio(n, 1)?)
        .ok()
        .map(BodyWeight::from_grams)
}

fn same(a: &Row, b: &Row) -> bool {
    let lines = |row: &Row| row.mark.map(|mark| mark.lines);
    lines(a) == lines(b) && a.call == b.call
}
