//! Prints exact values by the safe rules: a leading zero, no trailing zero, commas between
//! thousands, mcg and mL, "units" in full, a space before the unit.
//!
//! Promises: a value that terminates within six decimals and eight figures is printed whole; any
//! other is rounded to four significant figures and said with "about"; and a figure set beside a
//! limit is never printed on the limit's other side. Printing never feeds back into a mark.

use crate::notation::number::group_thousands;
use crate::quantity::{Amount, BodyWeight, DoseRate, Exact, Measure, Strength, Volume};
use std::cmp::Ordering;
use std::fmt;

/// A printed figure, and whether it was rounded to be printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// The figure with its unit, without "about".
    pub text: String,
    /// Whether rounding changed it.
    pub rounded: bool,
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.rounded {
            f.write_str("about ")?;
        }
        f.write_str(&self.text)
    }
}

impl Figure {
    fn with(self, unit: &str) -> Figure {
        Figure {
            text: format!("{} {unit}", self.text),
            ..self
        }
    }
}

/// The exact decimal, if it ends within `places` decimals.
pub fn exact_decimal(value: Exact, places: u32) -> Option<String> {
    let scale = 10_i128.checked_pow(places)?;
    let scaled = value.times(Exact::ratio(scale, 1)?).ok()?;
    (scaled.denominator() == 1).then(|| point(scaled.numerator(), places))
}

/// The figure alone: whole if it ends soon, else four significant figures.
pub fn figure(value: Exact) -> Figure {
    if let Some(text) = exact_decimal(value, 6)
        && text.bytes().filter(u8::is_ascii_digit).count() <= 8
    {
        return Figure {
            text,
            rounded: false,
        };
    }
    rounded(value, 4)
}

/// Rounded to so many significant figures; halves away from zero.
pub fn rounded(value: Exact, significant: u32) -> Figure {
    let places = places_for(value.abs(), significant);
    let text = decimal_to(value, places);
    let rounded = exact_decimal(value, places).is_none();
    Figure { text, rounded }
}

/// How many times as much, to two significant figures: "10 times", "about 0.33 times".
pub fn times(ratio: Exact) -> Figure {
    let places = places_for(ratio.abs(), 2);
    Figure {
        text: format!("{} times", decimal_to(ratio, places)),
        rounded: round_to(ratio, places) != Some(ratio),
    }
}

/// A share as a percentage without its sign: -1/31 as "3.2 percent". Two significant figures,
/// and more where two would show it on the other side of `limit` or exactly at it.
pub fn percent(share: Exact, limit: Option<Exact>) -> Figure {
    let hundredfold = |share: Exact| share.abs().times(Exact::whole(100)).unwrap_or(Exact::ZERO);
    let value = hundredfold(share);
    let limit = limit.map(hundredfold);
    for significant in 2..=12 {
        let places = places_for(value, significant);
        let Some(shown) = round_to(value, places) else {
            break;
        };
        let keeps_side = limit.is_none_or(|limit| shown.cmp(&limit) == value.cmp(&limit));
        if keeps_side {
            let text = format!("{} percent", decimal_to(value, places));
            return Figure {
                text,
                rounded: shown != value,
            };
        }
    }
    let side = match limit.map(|limit| value.cmp(&limit)) {
        Some(Ordering::Greater) => "just above",
        Some(Ordering::Less) => "just below",
        _ => "close to",
    };
    let text = format!("{side} {} percent", figure(limit.unwrap_or(value)).text);
    Figure {
        text,
        rounded: false,
    }
}

/// A volume in mL.
pub fn volume(volume: Volume) -> Figure {
    figure(volume.millilitres()).with("mL")
}

/// A body weight in g.
pub fn weight(weight: BodyWeight) -> Figure {
    figure(weight.grams()).with("g")
}

/// A measure: mL, g of product, or tablets.
pub fn measure(measure: Measure) -> Figure {
    let shown = figure(measure.figure());
    match measure {
        Measure::Volume(_) => shown.with("mL"),
        Measure::Product(_) => shown.with("g of product"),
        Measure::Tablets(tablets) if tablets.count() <= Exact::ONE => shown.with("tablet"),
        Measure::Tablets(_) => shown.with("tablets"),
    }
}

/// A dose: mg (mcg below 0.1 mg), units, mL, g of product, or tablets.
pub fn amount(amount: Amount) -> Figure {
    match amount {
        Amount::Mass(mass) => mass_figure(mass.milligrams(), ""),
        Amount::Activity(activity) => {
            figure(activity.units()).with(if activity.units() == Exact::ONE {
                "unit"
            } else {
                "units"
            })
        }
        Amount::Volume(volume) => measure(Measure::Volume(volume)),
        Amount::Product(mass) => measure(Measure::Product(mass)),
        Amount::Tablets(tablets) => measure(Measure::Tablets(tablets)),
    }
}

/// A dose rate by kg of animal.
pub fn rate(rate: DoseRate) -> Figure {
    let per_kg = |per_gram: Exact| per_gram.times(Exact::whole(1_000)).unwrap_or(per_gram);
    match rate {
        DoseRate::Mass(rate) => mass_figure(per_kg(rate.milligrams_per_gram()), "/kg"),
        DoseRate::Activity(rate) => figure(per_kg(rate.units_per_gram())).with("units/kg"),
        DoseRate::Volume(rate) => figure(per_kg(rate.millilitres_per_gram())).with("mL/kg"),
    }
}

/// A strength in its plainest unit.
pub fn strength(strength: Strength) -> Figure {
    match strength {
        Strength::MassPerVolume(s) => mass_figure(s.milligrams_per_millilitre(), "/mL"),
        Strength::ActivityPerVolume(s) => figure(s.units_per_millilitre()).with("units/mL"),
        Strength::MassPerProduct(s) => mass_figure(s.milligrams_per_gram(), "/g"),
        Strength::MassPerTablet(s) => mass_figure(s.milligrams_per_tablet(), " per tablet"),
    }
}

/// A whole number with commas between thousands.
pub fn count(n: u64) -> String {
    group_thousands(&n.to_string())
}

fn mass_figure(milligrams: Exact, per: &str) -> Figure {
    let tenth = Exact::ratio(1, 10).unwrap_or(Exact::ONE);
    if milligrams < tenth && !milligrams.is_zero() {
        let mcg = milligrams.times(Exact::whole(1_000)).unwrap_or(milligrams);
        return figure(mcg).with(&format!("mcg{per}"));
    }
    figure(milligrams).with(&format!("mg{per}"))
}

/// How many decimals show so many significant figures of a value that is not negative.
fn places_for(value: Exact, significant: u32) -> u32 {
    let mut places = significant;
    let mut bound = value;
    // A whole part of n figures leaves that many fewer decimals; zeros after the point add some.
    while bound >= Exact::ONE && places > 0 {
        let Ok(smaller) = bound.over(Exact::whole(10)) else {
            break;
        };
        bound = smaller;
        places -= 1;
    }
    if value < Exact::ONE && !value.is_zero() {
        let tenth = Exact::ratio(1, 10).unwrap_or(Exact::ONE);
        let mut bound = value;
        while bound < tenth && places < 12 {
            let Ok(larger) = bound.times(Exact::whole(10)) else {
                break;
            };
            bound = larger;
            places += 1;
        }
    }
    places
}

fn round_to(value: Exact, places: u32) -> Option<Exact> {
    let scale = 10_i128.checked_pow(places)?;
    let scaled = value.abs().times(Exact::ratio(scale, 1)?).ok()?;
    let half = Exact::ratio(1, 2)?;
    let whole = scaled.plus(half).ok()?.floor();
    let whole = if value.is_negative() { -whole } else { whole };
    Exact::ratio(whole, scale)
}

fn decimal_to(value: Exact, places: u32) -> String {
    let shown = round_to(value, places).unwrap_or(value);
    exact_decimal(shown, places)
        .unwrap_or_else(|| format!("{} over {}", shown.numerator(), shown.denominator()))
}

/// Whole number `n` of 10^-places as a safe decimal.
fn point(n: i128, places: u32) -> String {
    let width = usize::try_from(places).unwrap_or(0);
    let digits = format!("{:0>1$}", n.unsigned_abs(), width + 1);
    let (integer, decimals) = digits.split_at(digits.len() - width);
    let decimals = decimals.trim_end_matches('0');
    let sign = if n < 0 { "-" } else { "" };
    let integer = group_thousands(integer);
    if decimals.is_empty() {
        format!("{sign}{integer}")
    } else {
        format!("{sign}{integer}.{decimals}")
    }
}
