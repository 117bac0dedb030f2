//! Finding the mark: the one rounding, to a whole number of steps of one instrument.
//!
//! Promises: the cap beats the direction; rounding up or down never turns round on the same
//! instrument; limits are strict, so exactly the limit is quiet.

use crate::quantity::{Exact, Measure, OutOfRange, QuantityError};
use crate::rack::{Instrument, Rounding};

/// What is to be measured out, and what bounds it.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// The exact measure of the whole dose, after any cap.
    pub measure: Measure,
    /// The most the whole dose may come to at the mark.
    pub cap: Option<Measure>,
    /// The most one site may take.
    pub per_site: Option<Measure>,
    /// Which way to round.
    pub rounding: Rounding,
    /// How far the mark may be from the calculated dose.
    pub limits: Limits,
    /// So many draws and no other; the ladder holds today's.
    pub draws: Option<u32>,
}

/// How far a mark may be from the calculated dose, as shares of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Above this it is pointed out; none where the vet's tolerance replaces both.
    pub caution_above: Option<Exact>,
    /// Above this there is no mark.
    pub none_above: Exact,
}

/// A mark: so many steps of one instrument, so many times.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Steps for one draw: lines from 0, parts of a tablet, or steps of the scale. At least 1.
    pub lines: u32,
    /// How many equal draws. At least 1.
    pub draws: u32,
    /// What one draw measures.
    pub each: Measure,
    /// What all draws measure.
    pub total: Measure,
    /// (mark - calculated) / calculated.
    pub difference: Exact,
}

/// Why an instrument gives no mark. The order is how telling each is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unfit {
    /// Less than the smallest step, or rounded to none.
    TooSmall,
    /// The nearest step is too far from the calculated dose: the share.
    BeyondTolerance(Exact),
    /// More than the barrel holds.
    TooLarge,
    /// An arithmetic failure: never a mark.
    OutOfRange,
    /// The measure is of another kind than the instrument's.
    Mixed,
}

impl From<QuantityError> for Unfit {
    fn from(error: QuantityError) -> Unfit {
        match error {
            QuantityError::OutOfRange(_) => Unfit::OutOfRange,
            QuantityError::Mixed(..) => Unfit::Mixed,
        }
    }
}

impl From<OutOfRange> for Unfit {
    fn from(_: OutOfRange) -> Unfit {
        Unfit::OutOfRange
    }
}

impl Instrument {
    /// The mark for `wanted` on this instrument.
    ///
    /// # Errors
    /// [`Unfit`], with the most telling reason.
    pub fn mark(&self, wanted: &Wanted) -> Result<Mark, Unfit> {
        let step = self.step();
        let draws = match wanted.draws {
            Some(draws) => draws,
            None => draws_needed(wanted)?,
        };
        let many = Exact::whole(i64::from(draws));
        let steps = wanted.measure.over(step)?;
        let steps_each = if draws == 1 { steps } else { steps.over(many)? };
        let rounded = match wanted.rounding {
            Rounding::Nearest => steps_each.nearest_tie_down()?,
            Rounding::Down => steps_each.floor(),
            Rounding::Up => steps_each.ceil(),
        };
        let mut lines = rounded;
        if let Some(cap) = wanted.cap {
            lines = lines.min(cap.over(step)?.over(many)?.floor());
        }
        if let Some(per_site) = wanted.per_site {
            lines = lines.min(per_site.over(step)?.floor());
        }
        if let Some(capacity) = self.capacity() {
            // A barrel holds a whole number of lines, so rounding up cannot leave it.
            let each = if draws == 1 {
                wanted.measure
            } else {
                step.times(steps_each)?
            };
            if each.exceeds(capacity)? {
                return Err(Unfit::TooLarge);
            }
        }
        if lines <= 0 {
            return Err(Unfit::TooSmall);
        }
        let lines = u32::try_from(lines).map_err(|_| Unfit::TooLarge)?;
        let drawn = i64::from(lines).checked_mul(i64::from(draws));
        let drawn = drawn.ok_or(Unfit::OutOfRange)?;
        let difference = steps.share_apart(drawn)?;
        if difference.abs() > wanted.limits.none_above {
            return Err(Unfit::BeyondTolerance(difference));
        }
        let each = step.times(Exact::whole(i64::from(lines)))?;
        let total = if draws == 1 {
            each
        } else {
            step.times(Exact::whole(drawn))?
        };
        Ok(Mark {
            lines,
            draws,
            each,
            total,
            difference,
        })
    }
}

impl Instrument {
    /// How far a mark may be out in all: the rounding and the instrument's own tolerance at every
    /// draw, in the measure's own unit. For comparing instruments, which a single dose needs not.
    ///
    /// # Errors
    /// [`OutOfRange`]
    pub fn spread(&self, mark: &Mark) -> Result<Exact, OutOfRange> {
        let total = mark.total.figure();
        let calculated = total.over(Exact::ONE.plus(mark.difference)?)?;
        let rounding = total.minus(calculated)?.abs();
        let many = Exact::whole(i64::from(mark.draws));
        rounding.plus(self.tolerance(mark.each)?.times(many)?)
    }
}

/// The volume over what one site may take, rounded up.
fn draws_needed(wanted: &Wanted) -> Result<u32, Unfit> {
    let Some(per_site) = wanted.per_site else {
        return Ok(1);
    };
    let sites = wanted.measure.over(per_site)?.ceil().max(1);
    u32::try_from(sites).map_err(|_| Unfit::TooLarge)
}
