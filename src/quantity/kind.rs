//! Quantities whose kind is only known once a prescription is read: a dose rate in mg or in
//! units, a strength per mL, per gram or per tablet.
//!
//! Promises: two kinds that do not belong together are an error, never a number.

use crate::quantity::exact::{Exact, OutOfRange};
use crate::quantity::role::{
    Activity, ActivityPerVolume, ActivityRate, BodyWeight, MassPerProduct, MassPerTablet,
    MassPerVolume, MassRate, MedicineMass, ProductMass, Tablets, Volume, VolumeRate,
};

/// Why two quantities gave no third.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// The exact value does not fit.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// The kinds do not belong together.
    #[error("{0} and {1} do not go together: ask your vet which is meant")]
    Mixed(&'static str, &'static str),
}

/// A dose rate: so much for each gram of animal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoseRate {
    /// By mass of medicine.
    Mass(MassRate),
    /// By units of activity.
    Activity(ActivityRate),
    /// By volume: needs no strength.
    Volume(VolumeRate),
}

/// A dose: so much medicine, or so much of the product itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// By mass of medicine.
    Mass(MedicineMass),
    /// By units of activity.
    Activity(Activity),
    /// A volume of the product.
    Volume(Volume),
    /// A mass of the product.
    Product(ProductMass),
    /// A number of tablets.
    Tablets(Tablets),
}

/// A label's strength.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strength {
    /// Mass of medicine in a millilitre.
    MassPerVolume(MassPerVolume),
    /// Units of activity in a millilitre.
    ActivityPerVolume(ActivityPerVolume),
    /// Mass of medicine in a gram of paste or gel.
    MassPerProduct(MassPerProduct),
    /// Mass of medicine in a tablet.
    MassPerTablet(MassPerTablet),
}

/// What is drawn up, weighed out or counted out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Drawn up in a syringe.
    Volume(Volume),
    /// Weighed out.
    Product(ProductMass),
    /// Counted out.
    Tablets(Tablets),
}

impl DoseRate {
    /// The calculated dose: rate times weight.
    ///
    /// # Errors
    /// [`OutOfRange`]
    #[inline(always)]
    pub fn for_weight(self, weight: BodyWeight) -> Result<Amount, OutOfRange> {
        Ok(match self {
            DoseRate::Mass(rate) => Amount::Mass(rate.for_weight(weight)?),
            DoseRate::Activity(rate) => Amount::Activity(rate.for_weight(weight)?),
            DoseRate::Volume(rate) => Amount::Volume(rate.for_weight(weight)?),
        })
    }

    /// Whether a product of this strength can carry this rate.
    pub const fn goes_with(self, strength: Strength) -> bool {
        matches!(
            (self, strength),
            (
                DoseRate::Mass(_),
                Strength::MassPerVolume(_)
                    | Strength::MassPerProduct(_)
                    | Strength::MassPerTablet(_)
            ) | (DoseRate::Activity(_), Strength::ActivityPerVolume(_))
                | (
                    DoseRate::Volume(_),
                    Strength::MassPerVolume(_) | Strength::ActivityPerVolume(_)
                )
        )
    }

    /// How many times the other rate this is; nothing where they are of different kinds.
    pub fn over(self, other: DoseRate) -> Option<Exact> {
        match (self, other) {
            (DoseRate::Mass(a), DoseRate::Mass(b)) => a.over(b).ok(),
            (DoseRate::Activity(a), DoseRate::Activity(b)) => a.over(b).ok(),
            (DoseRate::Volume(a), DoseRate::Volume(b)) => a.over(b).ok(),
            _ => None,
        }
    }

    /// What the rate is counted in, for a sentence.
    pub const fn kind(self) -> &'static str {
        match self {
            DoseRate::Mass(_) => "a dose rate by mass",
            DoseRate::Activity(_) => "a dose rate in units",
            DoseRate::Volume(_) => "a dose rate by volume",
        }
    }
}

impl Amount {
    /// How many times the other amount this is; nothing where they are of different kinds.
    pub fn over(self, other: Amount) -> Option<Exact> {
        match (self, other) {
            (Amount::Mass(a), Amount::Mass(b)) => a.over(b).ok(),
            (Amount::Activity(a), Amount::Activity(b)) => a.over(b).ok(),
            (Amount::Volume(a), Amount::Volume(b)) => a.over(b).ok(),
            (Amount::Product(a), Amount::Product(b)) => a.over(b).ok(),
            (Amount::Tablets(a), Amount::Tablets(b)) => a.over(b).ok(),
            _ => None,
        }
    }

    /// The measure of a product of this strength that holds this dose. A dose that is itself a
    /// measure needs no strength.
    ///
    /// # Errors
    /// [`QuantityError::Mixed`] when the strength is of another kind or missing.
    #[inline(always)]
    pub fn measure(self, strength: Option<Strength>) -> Result<Measure, QuantityError> {
        Ok(match (self, strength) {
            (Amount::Volume(volume), _) => Measure::Volume(volume),
            (Amount::Product(mass), _) => Measure::Product(mass),
            (Amount::Tablets(tablets), _) => Measure::Tablets(tablets),
            (Amount::Mass(dose), Some(Strength::MassPerVolume(strength))) => {
                Measure::Volume(strength.measure_of(dose)?)
            }
            (Amount::Mass(dose), Some(Strength::MassPerProduct(strength))) => {
                Measure::Product(strength.measure_of(dose)?)
            }
            (Amount::Mass(dose), Some(Strength::MassPerTablet(strength))) => {
                Measure::Tablets(strength.measure_of(dose)?)
            }
            (Amount::Activity(dose), Some(Strength::ActivityPerVolume(strength))) => {
                Measure::Volume(strength.measure_of(dose)?)
            }
            (amount, strength) => {
                let other = strength.map_or("no strength", Strength::kind);
                return Err(QuantityError::Mixed(amount.kind(), other));
            }
        })
    }

    /// What this dose comes to by body weight; nothing for tablets and grams of product, which
    /// no vet writes by body weight.
    ///
    /// # Errors
    /// [`OutOfRange`], also when the weight is nothing.
    pub fn per_weight(self, weight: BodyWeight) -> Result<Option<DoseRate>, OutOfRange> {
        Ok(match self {
            Amount::Mass(dose) => Some(DoseRate::Mass(dose.per_weight(weight)?)),
            Amount::Activity(dose) => Some(DoseRate::Activity(dose.per_weight(weight)?)),
            Amount::Volume(dose) => Some(DoseRate::Volume(dose.per_weight(weight)?)),
            Amount::Product(_) | Amount::Tablets(_) => None,
        })
    }

    /// The dose, held to a limit of the same kind where there is one.
    ///
    /// # Errors
    /// [`QuantityError::Mixed`] when they are of different kinds.
    #[inline(always)]
    pub fn held_to(self, limit: Option<Amount>) -> Result<Amount, QuantityError> {
        let Some(limit) = limit else {
            return Ok(self);
        };
        Ok(match (self, limit) {
            (Amount::Mass(a), Amount::Mass(b)) => Amount::Mass(a.min(b)),
            (Amount::Activity(a), Amount::Activity(b)) => Amount::Activity(a.min(b)),
            (Amount::Volume(a), Amount::Volume(b)) => Amount::Volume(a.min(b)),
            (Amount::Product(a), Amount::Product(b)) => Amount::Product(a.min(b)),
            (Amount::Tablets(a), Amount::Tablets(b)) => Amount::Tablets(a.min(b)),
            (a, b) => return Err(QuantityError::Mixed(a.kind(), b.kind())),
        })
    }

    /// Whether a product of this strength can carry this dose.
    pub const fn goes_with(self, strength: Strength) -> bool {
        match self {
            Amount::Mass(_) => !matches!(strength, Strength::ActivityPerVolume(_)),
            Amount::Activity(_) => matches!(strength, Strength::ActivityPerVolume(_)),
            Amount::Volume(_) => matches!(
                strength,
                Strength::MassPerVolume(_) | Strength::ActivityPerVolume(_)
            ),
            Amount::Product(_) => matches!(strength, Strength::MassPerProduct(_)),
            Amount::Tablets(_) => matches!(strength, Strength::MassPerTablet(_)),
        }
    }

    /// What the dose is counted in, for a sentence.
    pub const fn kind(self) -> &'static str {
        match self {
            Amount::Mass(_) => "a mass of medicine",
            Amount::Activity(_) => "a number of units",
            Amount::Volume(_) => "a volume",
            Amount::Product(_) => "grams of product",
            Amount::Tablets(_) => "a number of tablets",
        }
    }
}

impl Strength {
    /// How many times the other strength this is; nothing where they are of different kinds.
    pub fn over(self, other: Strength) -> Option<Exact> {
        use Strength::{ActivityPerVolume, MassPerProduct, MassPerTablet, MassPerVolume};
        match (self, other) {
            (MassPerVolume(a), MassPerVolume(b)) => a.over(b).ok(),
            (ActivityPerVolume(a), ActivityPerVolume(b)) => a.over(b).ok(),
            (MassPerProduct(a), MassPerProduct(b)) => a.over(b).ok(),
            (MassPerTablet(a), MassPerTablet(b)) => a.over(b).ok(),
            _ => None,
        }
    }

    /// What the strength is counted in, for a sentence.
    pub const fn kind(self) -> &'static str {
        match self {
            Strength::MassPerVolume(_) => "a strength in mg per mL",
            Strength::ActivityPerVolume(_) => "a strength in units per mL",
            Strength::MassPerProduct(_) => "a strength in mg per gram",
            Strength::MassPerTablet(_) => "a strength in mg per tablet",
        }
    }
}

impl Measure {
    /// The medicine in this much of a product of this strength; without a strength, or where the
    /// dose was written as a measure, the measure itself.
    ///
    /// # Errors
    /// [`QuantityError::Mixed`] when the strength is of another kind.
    pub fn holds(self, strength: Option<Strength>) -> Result<Amount, QuantityError> {
        Ok(match (self, strength) {
            (Measure::Volume(volume), None) => Amount::Volume(volume),
            (Measure::Product(mass), None) => Amount::Product(mass),
            (Measure::Tablets(tablets), None) => Amount::Tablets(tablets),
            (Measure::Volume(volume), Some(Strength::MassPerVolume(strength))) => {
                Amount::Mass(strength.held_in(volume)?)
            }
            (Measure::Volume(volume), Some(Strength::ActivityPerVolume(strength))) => {
                Amount::Activity(strength.held_in(volume)?)
            }
            (Measure::Product(mass), Some(Strength::MassPerProduct(strength))) => {
                Amount::Mass(strength.held_in(mass)?)
            }
            (Measure::Tablets(tablets), Some(Strength::MassPerTablet(strength))) => {
                Amount::Mass(strength.held_in(tablets)?)
            }
            (measure, Some(strength)) => {
                return Err(QuantityError::Mixed(measure.kind(), strength.kind()));
            }
        })
    }

    /// How many times `step` goes into this.
    ///
    /// # Errors
    /// [`QuantityError::Mixed`] when they are of different kinds.
    #[inline(always)]
    pub fn over(self, step: Measure) -> Result<Exact, QuantityError> {
        Ok(match (self, step) {
            (Measure::Volume(a), Measure::Volume(b)) => a.over(b)?,
            (Measure::Product(a), Measure::Product(b)) => a.over(b)?,
            (Measure::Tablets(a), Measure::Tablets(b)) => a.over(b)?,
            (a, b) => return Err(QuantityError::Mixed(a.kind(), b.kind())),
        })
    }

    /// Whether this is more than `other`.
    ///
    /// # Errors
    /// [`QuantityError::Mixed`] when they are of different kinds.
    #[inline]
    pub fn exceeds(self, other: Measure) -> Result<bool, QuantityError> {
        Ok(match (self, other) {
            (Measure::Volume(a), Measure::Volume(b)) => a > b,
            (Measure::Product(a), Measure::Product(b)) => a > b,
            (Measure::Tablets(a), Measure::Tablets(b)) => a > b,
            (a, b) => return Err(QuantityError::Mixed(a.kind(), b.kind())),
        })
    }

    /// Both together.
    ///
    /// # Errors
    /// [`QuantityError::Mixed`] when they are of different kinds.
    pub fn plus(self, other: Measure) -> Result<Measure, QuantityError> {
        Ok(match (self, other) {
            (Measure::Volume(a), Measure::Volume(b)) => Measure::Volume(a.plus(b)?),
            (Measure::Product(a), Measure::Product(b)) => Measure::Product(a.plus(b)?),
            (Measure::Tablets(a), Measure::Tablets(b)) => Measure::Tablets(a.plus(b)?),
            (a, b) => return Err(QuantityError::Mixed(a.kind(), b.kind())),
        })
    }

    /// What is left after taking `other` away; may be negative.
    ///
    /// # Errors
    /// [`QuantityError::Mixed`] when they are of different kinds.
    pub fn minus(self, other: Measure) -> Result<Measure, QuantityError> {
        Ok(match (self, other) {
            (Measure::Volume(a), Measure::Volume(b)) => Measure::Volume(a.minus(b)?),
            (Measure::Product(a), Measure::Product(b)) => Measure::Product(a.minus(b)?),
            (Measure::Tablets(a), Measure::Tablets(b)) => Measure::Tablets(a.minus(b)?),
            (a, b) => return Err(QuantityError::Mixed(a.kind(), b.kind())),
        })
    }

    /// So many times this.
    ///
    /// # Errors
    /// [`OutOfRange`]
    #[inline(always)]
    pub fn times(self, factor: Exact) -> Result<Measure, OutOfRange> {
        Ok(match self {
            Measure::Volume(volume) => Measure::Volume(volume.times(factor)?),
            Measure::Product(mass) => Measure::Product(mass.times(factor)?),
            Measure::Tablets(tablets) => Measure::Tablets(tablets.times(factor)?),
        })
    }

    /// The exact figure: mL, grams of product, or tablets.
    pub fn figure(self) -> Exact {
        match self {
            Measure::Volume(volume) => volume.millilitres(),
            Measure::Product(mass) => mass.grams(),
            Measure::Tablets(tablets) => tablets.count(),
        }
    }

    /// What is measured, for a sentence.
    pub const fn kind(self) -> &'static str {
        match self {
            Measure::Volume(_) => "a volume",
            Measure::Product(_) => "grams of product",
            Measure::Tablets(_) => "a number of tablets",
        }
    }
}

#[cfg(test)]
mod tests;
