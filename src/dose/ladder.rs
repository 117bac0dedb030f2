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

/// What a ladder is made from. Its rows are made only where they are shown: most looks at a dose
/// show none, and those of a card of thousands would fill the memory.
#[derive(Clone, Debug)]
pub struct Ladder {
    /// The formula of the dose.
    pub formula: Formula,
    /// Today's weight.
    pub weight: BodyWeight,
    /// The step of the scale.
    pub readable: BodyWeight,
    /// Today's instrument.
    pub instrument: Instrument,
    /// Today's number of draws.
    pub draws: u32,
    /// The weights at which to call.
    pub calls: Vec<CallBelow>,
    /// At or above a weight that the vet accepted nothing means "call".
    pub accepted: Option<BodyWeight>,
}

impl Ladder {
    /// The rows around today's weight, from 20 percent below to 20 percent above, by steps of the
    /// scale.
    pub fn rows(&self) -> Vec<Row> {
        let span = span(self.weight, self.readable);
        span.map_or(Vec::new(), |span| rows(self, span))
    }
}

fn rows(ladder: &Ladder, (from, to, step): (i128, i128, Exact)) -> Vec<Row> {
    let (weight, instrument) = (ladder.weight, &ladder.instrument);
    let draws = Some(ladder.draws);
    let at_step = |n: i128| {
        let at = step_at(step, n)?;
        let mark = ladder.formula.mark(Some(at), instrument, draws).ok();
        let accepted = ladder.accepted;
        let mut calls = ladder.calls.iter();
        let call = accepted.is_none_or(|accepted| at < accepted)
            && calls.any(|below| lost(below.before, at).is_some_and(|share| share >= below.limit));
        Some(Row {
            first: at,
            last: at,
            mark,
            call,
            today: false,
        })
    };
    let mut rows: Vec<Row> = Vec::new();
    let (mut n, mut length) = (from, 0);
    while n <= to {
        let Some(mut row) = at_step(n) else {
            n += 1;
            continue;
        };
        if row.mark.is_some() {
            // A mark never comes back once a heavier weight has another, so its end can be
            // looked for; a gap does come back, and is walked step by step. A row is about as
            // long as the one before it: from there in hops that double.
            let (mut inside, mut beyond) = (n, to + 1);
            let (mut at, mut hop) = (n + length, 1);
            while beyond - inside > 1 {
                if at <= inside || at >= beyond {
                    at = inside + (beyond - inside) / 2;
                }
                match at_step(at).filter(|other| same(&row, other)) {
                    Some(other) => (inside, row.last, at) = (at, other.last, at + hop),
                    None => (beyond, at) = (at, at - hop),
                }
                hop *= 2;
            }
            length = inside - n;
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
