//! A quantity for programs: exact, as shown, and its UCUM code.
//!
//! Codes from UCUM essence 2.2 (Regenstrief, 2024-06-17): mg, ug, g, kg, mL, [iU], {tbl}. mcg, IU
//! and cc are not UCUM, so the code and the safe print form differ.

use crate::notation::{Written, print};
use crate::quantity::{Amount, BodyWeight, DoseRate, Exact, Measure, Strength};
use serde::Serialize;

/// {"exact": "1/20", "shown": "0.05", "unit": "mL"}
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Quantity {
    /// In lowest terms, in the unit: "1/20", or "5".
    pub exact: String,
    /// The figure a person is shown, without the unit; "about" stands before a rounded one.
    pub shown: String,
    /// UCUM code.
    pub unit: &'static str,
}

/// A fraction in lowest terms.
pub(super) fn exact(value: Exact) -> String {
    match value.denominator() {
        1 => value.numerator().to_string(),
        d => format!("{}/{d}", value.numerator()),
    }
}

fn of(value: Exact, unit: &'static str) -> Quantity {
    Quantity {
        exact: exact(value),
        shown: print::figure(value).to_string(),
        unit,
    }
}

/// A body weight in g.
pub(super) fn weight(weight: &Written<BodyWeight>) -> Quantity {
    Quantity {
        exact: exact(weight.value().grams()),
        shown: print::figure(weight.value().grams()).to_string(),
        unit: "g",
    }
}

/// A body weight in g.
pub(super) fn grams(weight: BodyWeight) -> Quantity {
    of(weight.grams(), "g")
}

/// A measure in mL, g of product or tablets.
pub(super) fn measure(measure: Measure) -> Quantity {
    let unit = match measure {
        Measure::Volume(_) => "mL",
        Measure::Product(_) => "g",
        Measure::Tablets(_) => "{tbl}",
    };
    of(measure.figure(), unit)
}

/// A dose in mg, units, mL, g of product or tablets.
pub(super) fn amount(amount: Amount) -> Quantity {
    match amount {
        Amount::Mass(mass) => of(mass.milligrams(), "mg"),
        Amount::Activity(activity) => of(activity.units(), "[iU]"),
        Amount::Volume(volume) => measure(Measure::Volume(volume)),
        Amount::Product(mass) => measure(Measure::Product(mass)),
        Amount::Tablets(tablets) => measure(Measure::Tablets(tablets)),
    }
}

/// A dose rate per kg.
pub(super) fn rate(rate: DoseRate) -> Quantity {
    let per_kg = |per_gram: Exact| per_gram.times(Exact::whole(1_000)).unwrap_or(per_gram);
    match rate {
        DoseRate::Mass(rate) => of(per_kg(rate.milligrams_per_gram()), "mg/kg"),
        DoseRate::Activity(rate) => of(per_kg(rate.units_per_gram()), "[iU]/kg"),
        DoseRate::Volume(rate) => of(per_kg(rate.millilitres_per_gram()), "mL/kg"),
    }
}

/// A strength per mL, per g or per tablet.
pub(super) fn strength(strength: &Written<Strength>) -> Quantity {
    match strength.value() {
        Strength::MassPerVolume(s) => of(s.milligrams_per_millilitre(), "mg/mL"),
        Strength::ActivityPerVolume(s) => of(s.units_per_millilitre(), "[iU]/mL"),
        Strength::MassPerProduct(s) => of(s.milligrams_per_gram(), "mg/g"),
        Strength::MassPerTablet(s) => of(s.milligrams_per_tablet(), "mg/{tbl}"),
    }
}
