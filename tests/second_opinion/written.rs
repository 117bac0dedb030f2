//! Quantities at random, as text and as what the text is worth.
//!
//! Promises: a figure is made from its digits, so nothing here reads text. What a unit is worth
//! stands here once more: the pound is 0.45359237 kg exactly (UCUM, [lb_av]), the ounce a
//! sixteenth of it, 1 % w/v is 1 g in 100 mL.

use crate::big::Fraction;
use crate::chance::Chance;

/// A quantity as typed, and its worth in the unit that is reckoned in.
#[derive(Clone, Debug)]
pub struct Quantity {
    pub text: String,
    pub worth: Fraction,
}

/// So many digits with the point so many places from their end.
#[derive(Clone, Copy, Debug)]
pub struct Figure {
    pub digits: i64,
    pub decimals: usize,
}

impl Figure {
    pub fn text(self) -> String {
        let width = self.decimals + 1;
        let digits = format!("{:0>width$}", self.digits);
        let (whole, parts) = digits.split_at(digits.len() - self.decimals);
        match parts {
            "" => whole.to_owned(),
            parts => format!("{whole}.{parts}"),
        }
    }

    pub fn worth(self) -> Fraction {
        let power = 10_i128.pow(u32::try_from(self.decimals).unwrap());
        Fraction::new(self.digits.into(), power)
    }

    /// A figure near this one, with so many digits that count; never nothing, never beyond 8
    /// digits or 4 decimals.
    pub fn near(wanted: f64, counting: i32) -> Figure {
        let wanted = wanted.clamp(0.0001, 90_000_000.0);
        let leading = wanted.log10().floor() as i32;
        let decimals = (counting - 1 - leading).clamp(0, 4);
        // The whole figure may have 8 digits, with its decimals.
        let decimals = decimals.min((7 - leading).max(0));
        let digits = (wanted * 10_f64.powi(decimals)).round() as i64;
        Figure {
            digits: digits.max(1),
            decimals: usize::try_from(decimals).unwrap(),
        }
    }
}

/// How many digits of a figure count: mostly few, at times as many as there can be.
pub fn counting(chance: &mut Chance) -> i32 {
    chance.one(&[1, 1, 2, 2, 2, 3, 3, 4, 8])
}

/// Milligrams in each unit of mass.
pub const MASSES: [(&str, i128, i128); 3] = [("mcg", 1, 1_000), ("mg", 1, 1), ("g", 1_000, 1)];

/// Grams in each unit of weight.
pub const WEIGHTS: [(&str, i128, i128); 4] = [
    ("g", 1, 1),
    ("kg", 1_000, 1),
    ("lb", 45_359_237, 100_000),
    ("oz", 45_359_237, 1_600_000),
];

/// A quantity of about so much in this unit.
pub fn about(wanted: f64, unit: (&str, i128, i128), chance: &mut Chance) -> Quantity {
    let figure = Figure::near(wanted * unit.2 as f64 / unit.1 as f64, counting(chance));
    Quantity {
        text: format!("{} {}", figure.text(), unit.0),
        worth: figure.worth().times(&Fraction::new(unit.1, unit.2)),
    }
}

/// A strength in mg per mL, in one of the ways that labels have.
pub fn milligrams_per_millilitre(chance: &mut Chance) -> Quantity {
    let wanted = 10_f64.powf(chance.share() * 3.0 - 0.7);
    match chance.from(1, 6) {
        1 => {
            let parts = chance.one(&[90_i64, 100, 200, 900, 1_000, 10_000]);
            Quantity {
                text: format!("1:{parts}"),
                worth: Fraction::new(1_000, parts.into()),
            }
        }
        2 => {
            let percent = Figure::near(wanted / 10.0, counting(chance));
            Quantity {
                text: format!("{} % w/v", percent.text()),
                worth: percent.worth().times(&Fraction::whole(10)),
            }
        }
        3 => {
            let millilitres = chance.one(&[2_i64, 3, 5, 7, 100]);
            let mass = about(
                wanted * millilitres as f64,
                chance.one(&MASSES[..2]),
                chance,
            );
            Quantity {
                text: format!("{} per {millilitres} mL", mass.text),
                worth: mass.worth.over(&Fraction::whole(millilitres.into())),
            }
        }
        _ => {
            let mass = about(wanted, chance.one(&MASSES[..2]), chance);
            Quantity {
                text: format!("{}/mL", mass.text),
                worth: mass.worth,
            }
        }
    }
}
