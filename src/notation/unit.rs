//! The units that can be written, and what each is worth exactly.
//!
//! The pound is 0.45359237 kg exactly (UCUM: [lb_av] = 7000 x 64.79891 mg), the ounce a
//! sixteenth of it ([oz_av]). Units of activity never convert to a mass; drops are never a volume.

use crate::notation::fault::NotationError;
use crate::quantity::Exact;

/// A unit as it is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Microgram.
    Mcg,
    /// Milligram.
    Mg,
    /// Gram.
    G,
    /// Kilogram.
    Kg,
    /// International avoirdupois pound.
    Lb,
    /// International avoirdupois ounce.
    Oz,
    /// Millilitre.
    Ml,
    /// Litre.
    L,
    /// Unit of activity.
    Activity,
    /// Tablet.
    Tablet,
}

/// Every unit with its safe form, its plural, and the spellings that are read as it.
const UNITS: [(Unit, &str, &str, &[&str]); 10] = [
    (Unit::Mcg, "mcg", "mcg", &["microgram", "micrograms"]),
    (Unit::Mg, "mg", "mg", &["milligram", "milligrams"]),
    (Unit::G, "g", "g", &["gram", "grams"]),
    (Unit::Kg, "kg", "kg", &["kilogram", "kilograms"]),
    (Unit::Lb, "lb", "lb", &["pound", "pounds"]),
    (Unit::Oz, "oz", "oz", &["ounce", "ounces"]),
    (
        Unit::Ml,
        "mL",
        "mL",
        &[
            "ml",
            "millilitre",
            "millilitres",
            "milliliter",
            "milliliters",
        ],
    ),
    (Unit::L, "L", "L", &["litre", "litres", "liter", "liters"]),
    (Unit::Activity, "unit", "units", &[]),
    (Unit::Tablet, "tablet", "tablets", &[]),
];

impl Unit {
    /// Reads one unit.
    ///
    /// # Errors
    /// A sentence of its own for each error-prone form; otherwise the nearest unit, if one is near.
    pub fn read(word: &str, expected: &'static str) -> Result<Unit, NotationError> {
        let unit = || word.to_owned();
        for (known, one, many, spellings) in UNITS {
            if word == one || word == many || spellings.contains(&word) {
                return Ok(known);
            }
        }
        Err(match word {
            "ug" | "mcgs" | "mic" => NotationError::Microgram { unit: unit() },
            "cc" | "ccm" | "cm3" | "CC" => NotationError::CubicCentimetre { unit: unit() },
            "U" | "u" | "IU" | "iu" | "UI" | "I.U." | "i.u." => {
                NotationError::UnitsAbbreviated { unit: unit() }
            }
            "l" => NotationError::LowercaseLitre,
            "gr" => NotationError::Grain,
            "%" => NotationError::PercentAlone,
            "drop" | "drops" | "gtt" => NotationError::Drops,
            _ => match near(word) {
                Some(nearest) => NotationError::NearUnit {
                    unit: unit(),
                    nearest,
                    expected,
                },
                None => NotationError::UnknownUnit {
                    unit: unit(),
                    expected,
                },
            },
        })
    }

    /// The safe form after a figure of one or of more.
    pub fn written(self, one: bool) -> &'static str {
        for (unit, singular, plural, _) in UNITS {
            if unit == self {
                return if one { singular } else { plural };
            }
        }
        ""
    }

    /// Grams in one of this unit of body weight.
    pub fn grams_of_animal(self) -> Option<Exact> {
        match self {
            Unit::G => Some(Exact::ONE),
            Unit::Kg => Some(Exact::whole(1_000)),
            Unit::Lb => Exact::ratio(45_359_237, 100_000),
            Unit::Oz => Exact::ratio(45_359_237, 1_600_000),
            _ => None,
        }
    }

    /// Milligrams in one of this unit of medicine mass.
    pub fn milligrams(self) -> Option<Exact> {
        match self {
            Unit::Mcg => Exact::ratio(1, 1_000),
            Unit::Mg => Some(Exact::ONE),
            Unit::G => Some(Exact::whole(1_000)),
            _ => None,
        }
    }

    /// Millilitres in one of this unit of volume.
    pub fn millilitres(self) -> Option<Exact> {
        match self {
            Unit::Ml => Some(Exact::ONE),
            Unit::L => Some(Exact::whole(1_000)),
            _ => None,
        }
    }
}

/// The unit that differs only in case, or by a plural s.
fn near(word: &str) -> Option<&'static str> {
    let bare = word.trim_end_matches('.').to_lowercase();
    let bare = bare.strip_suffix('s').unwrap_or(&bare);
    UNITS
        .iter()
        .find_map(|(_, one, many, spellings)| {
            let same = |form: &&str| form.to_lowercase().trim_end_matches('s') == bare;
            (same(one) || same(many) || spellings.iter().any(same)).then_some(*many)
        })
        .or(match bare {
            "gm" => Some("g"),
            _ => None,
        })
}
