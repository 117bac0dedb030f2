//! What the vet wrote about preparing and timing a dose beside its amount: a powder made up in its
//! vial, the steps of a bath or a mist, how long it lasts, how far apart from other preparations.
//!
//! Promises: the strength that doses are worked out from is the one that is written for the vial
//! when it is made up; it is only held against what can be (a powder takes up room, so the mixture
//! is never stronger than its powder in what was added). Steps are the vet's words. Nothing is
//! computed from any of it.

use crate::notation::Written;
use crate::prescription::fault::Found;
use crate::prescription::fields::Fields;
use crate::prescription::typed::Node;
use crate::prescription::values;
use crate::quantity::{Amount, Exact, OutOfRange, QuantityError, Strength, Volume};

/// A powder made up in its vial, as the vet wrote it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Vial {
    /// What the vial holds, as its label has it.
    pub holds: Written<Amount>,
    /// How much is added.
    pub add: Written<Volume>,
    /// What is added, in the vet's words.
    pub with: String,
}

impl Vial {
    pub(super) fn read(node: &Node, found: &mut Found) -> Option<Vial> {
        const HOLDS: &str = "what the vial holds, as its label has it, in mg, g or units";
        const ADD: &str = "how much is added, in mL";
        const WITH: &str = "what is added, in your vet's words";
        let fields = Fields::of(node, "Vial", &["holds", "add", "with"], found)?;
        let holds = fields.need("holds", HOLDS, found);
        let holds = holds.and_then(|node| values::quantity(node, HOLDS, found));
        let add = fields.need("add", ADD, found);
        let add = add.and_then(|node| values::quantity(node, ADD, found));
        let with = fields.need("with", WITH, found);
        let with = with.and_then(|node| values::words(node, WITH, found));
        Some(Vial {
            holds: holds?,
            add: add?,
            with: with?,
        })
    }

    /// Whether the strength that is written can come of it: not stronger than the powder in what
    /// was added, nor weaker than half of that.
    ///
    /// # Errors
    /// [`QuantityError`], also where the two are of different kinds.
    pub(super) fn can_be(&self, written: &Written<Strength>) -> Result<bool, QuantityError> {
        let add = self.add.value().millilitres();
        let (held, each) = match (self.holds.value(), written.value()) {
            (Amount::Mass(mass), Strength::MassPerVolume(strength)) => {
                (mass.milligrams(), strength.milligrams_per_millilitre())
            }
            (Amount::Activity(activity), Strength::ActivityPerVolume(strength)) => {
                (activity.units(), strength.units_per_millilitre())
            }
            (amount, strength) => {
                return Err(QuantityError::Mixed(amount.kind(), strength.kind()));
            }
        };
        let most = held.over(add)?;
        let least = most.over(Exact::whole(2))?;
        Ok(each <= most && each >= least)
    }
}

/// The longest time that is written in minutes.
const MOST_MINUTES: u32 = 240;

/// A number of minutes, from 1 to 240.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Minutes(pub u32);

impl std::fmt::Display for Minutes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let unit = if self.0 == 1 { "minute" } else { "minutes" };
        write!(f, "{} {unit}", self.0)
    }
}

impl Minutes {
    pub(super) fn read(node: &Node, meaning: &str, found: &mut Found) -> Option<Minutes> {
        let text = values::name(node, meaning, found)?;
        let read = || {
            let (figure, unit) = text.split_once(' ')?;
            let plain = figure.bytes().all(|b| b.is_ascii_digit()) && !figure.starts_with('0');
            let minutes: u32 = figure.parse().ok().filter(|_| plain)?;
            let known = matches!(unit, "minute" | "minutes");
            (known && (1..=MOST_MINUTES).contains(&minutes)).then_some(Minutes(minutes))
        };
        let minutes = read();
        if minutes.is_none() {
            found.add(
                &node.at,
                format!("'{text}' is not a number of minutes"),
                "a whole number from 1 to 240, then minutes",
            );
        }
        minutes
    }
}

/// An amount for a whole day, divided into its doses.
///
/// # Errors
/// [`OutOfRange`]
pub(super) fn share_of_a_day(day: Amount, doses: u32) -> Result<Amount, OutOfRange> {
    let share = Exact::ratio(1, i128::from(doses.max(1))).ok_or(OutOfRange)?;
    Ok(match day {
        Amount::Mass(mass) => Amount::Mass(mass.times(share)?),
        Amount::Activity(activity) => Amount::Activity(activity.times(share)?),
        Amount::Volume(volume) => Amount::Volume(volume.times(share)?),
        Amount::Product(mass) => Amount::Product(mass.times(share)?),
        Amount::Tablets(tablets) => Amount::Tablets(tablets.times(share)?),
    })
}
