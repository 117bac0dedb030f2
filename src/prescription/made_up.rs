//! A dilution that the vet wrote: what is taken, what is added, and the strength it comes to.
//!
//! Promises: the strength that doses are worked out from is the one the vet wrote for the mixture;
//! the dilution must come to it, exactly or rounded to its last digit, or it is not accepted, and
//! a rounding of more than 2 percent is none. The program never makes up a dilution of its own.

use crate::notation::Written;
use crate::prescription::fault::Found;
use crate::prescription::fields::Fields;
use crate::prescription::typed::Node;
use crate::prescription::values;
use crate::quantity::{Exact, OutOfRange, QuantityError, Strength, Volume};

/// How the mixture is made, as the vet wrote it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MadeUp {
    /// The strength that it is made from.
    pub from: Written<Strength>,
    /// How much of that is taken.
    pub take: Written<Volume>,
    /// How much is added to it.
    pub add: Written<Volume>,
    /// What is added, in the vet's words.
    pub with: String,
}

impl MadeUp {
    pub(super) fn read(node: &Node, found: &mut Found) -> Option<MadeUp> {
        const FROM: &str = "the strength that it is made from, as that label has it";
        const TAKE: &str = "how much of it is taken, in mL";
        const ADD: &str = "how much is added, in mL";
        const WITH: &str = "what is added, in your vet's words";
        let fields = Fields::of(node, "MadeUp", &["from", "take", "add", "with"], found)?;
        let from = fields.need("from", FROM, found);
        let from = from.and_then(|node| values::quantity(node, FROM, found));
        let take = fields.need("take", TAKE, found);
        let take = take.and_then(|node| values::quantity(node, TAKE, found));
        let add = fields.need("add", ADD, found);
        let add = add.and_then(|node| values::quantity(node, ADD, found));
        let with = fields.need("with", WITH, found);
        let with = with.and_then(|node| values::words(node, WITH, found));
        Some(MadeUp {
            from: from?,
            take: take?,
            add: add?,
            with: with?,
        })
    }

    /// The strength of the mixture, exact: 1 mL and 2 mL make three parts, not two.
    ///
    /// # Errors
    /// [`QuantityError`], also where the strength is not one by volume.
    pub fn strength(&self) -> Result<Strength, QuantityError> {
        let whole = self.take.value().plus(self.add.value())?;
        let share = self.take.value().over(whole)?;
        Ok(match self.from.value() {
            Strength::MassPerVolume(from) => Strength::MassPerVolume(from.times(share)?),
            Strength::ActivityPerVolume(from) => Strength::ActivityPerVolume(from.times(share)?),
            other => return Err(QuantityError::Mixed(other.kind(), "a dilution in mL")),
        })
    }

    /// Whether it comes to the strength that is written.
    ///
    /// # Errors
    /// [`QuantityError`], also where the two are of different kinds.
    pub(super) fn comes_to(&self, written: &Written<Strength>) -> Result<bool, QuantityError> {
        let ratio = match (self.strength()?, written.value()) {
            (Strength::MassPerVolume(ours), Strength::MassPerVolume(theirs)) => {
                ours.over(theirs)?
            }
            (Strength::ActivityPerVolume(ours), Strength::ActivityPerVolume(theirs)) => {
                ours.over(theirs)?
            }
            (ours, theirs) => return Err(QuantityError::Mixed(ours.kind(), theirs.kind())),
        };
        let apart = ratio.minus(Exact::ONE)?.abs();
        // Half a last digit of "1 mg/mL" would be half of it all.
        let most = Exact::ratio(2, 100).ok_or(OutOfRange)?;
        Ok(apart <= half_a_last_digit(written.text())?.min(most))
    }
}

/// Half the worth of a figure's last digit, as a share of the figure. A ratio such as 1:300 has
/// no digit to round.
fn half_a_last_digit(text: &str) -> Result<Exact, OutOfRange> {
    let figure = text.split_once(' ').map_or("", |(figure, _)| figure);
    let digits: String = figure.chars().filter(char::is_ascii_digit).collect();
    match digits.parse::<i128>() {
        Ok(steps) if steps > 0 => Exact::ratio(1, 2 * steps).ok_or(OutOfRange),
        _ => Ok(Exact::ZERO),
    }
}
