//! The forms a quantity can be written in, each read to an exact value and its safe text.
//!
//! Promises: 5.0 and ml are read, and written back as 5 and mL; every error-prone form is refused
//! with what to write instead; no value is rounded.

use crate::notation::Written;
use crate::notation::fault::NotationError;
use crate::notation::fold::is_unseen;
use crate::notation::number::{self, Number};
use crate::notation::parts::{Parts, after_per, is_day, is_hour, take_apart, tidy};
use crate::notation::print;
use crate::notation::unit::Unit;
use crate::quantity::{
    Activity, ActivityPerVolume, ActivityRate, Amount, BodyWeight, DoseRate, Exact, MassPerProduct,
    MassPerTablet, MassPerVolume, MassRate, MedicineMass, ProductMass, Span, Strength, Tablets,
    Volume, VolumeRate,
};

/// Heavier than any patient: 10,000 kg. With this and the next, no accepted figures leave the
/// range of exact arithmetic, whatever they are combined with.
const HEAVIEST_GRAMS: Exact = Exact::whole(10_000_000);
/// More than any label counts in: 10 L, 10,000 g or 10,000 tablets.
const LARGEST_LABEL: Exact = Exact::whole(10_000);

const WEIGHT: &str = "a body weight in g, kg, lb or oz";
const RATE: &str = "a dose rate in mg/kg, mcg/kg, g/kg, units/kg or mL/kg, or the same per lb";
const STRENGTH: &str = "the strength as the label has it: mg/mL, mcg/mL, units/mL, so many mg per so many mL, % w/v, 1:1,000, mg/g, or mg per tablet";
const AMOUNT: &str = "an amount in mg, mcg, g, units, mL, tablets, or 'g of paste'";
const VOLUME: &str = "a volume in mL";
const PER_DAY: &str =
    "a day's total by body weight, such a unit as mg/kg, then 'per day in' so many 'doses'";

/// A quantity that can be read from text.
pub trait Notation: Sized {
    /// Reads the text; gives the exact value with its safe text.
    ///
    /// # Errors
    /// [`NotationError`], one sentence for each slip.
    fn read(text: &str) -> Result<Written<Self>, NotationError>;
}

/// A day's total divided into doses: 40 mg/kg per day in 2 doses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DailyRate {
    /// The rate of one of the doses.
    pub each: DoseRate,
    /// Into how many doses the day is divided; at least 1.
    pub doses: u32,
}

impl Notation for BodyWeight {
    fn read(text: &str) -> Result<Written<BodyWeight>, NotationError> {
        let text = tidy(text, WEIGHT)?;
        let parts = whole(&text, WEIGHT)?;
        let grams = parts
            .unit
            .grams_of_animal()
            .ok_or_else(|| wrong_unit(&parts, WEIGHT))?;
        let value = BodyWeight::from_grams(something(&parts)?.times(grams)?);
        if value.grams() > HEAVIEST_GRAMS {
            return Err(NotationError::TooLarge { text });
        }
        Ok(Written::new(value, simple(&parts)))
    }
}

impl Notation for Volume {
    fn read(text: &str) -> Result<Written<Volume>, NotationError> {
        let text = tidy(text, VOLUME)?;
        let parts = whole(&text, VOLUME)?;
        let each = parts
            .unit
            .millilitres()
            .ok_or_else(|| wrong_unit(&parts, VOLUME))?;
        let value = Volume::from_millilitres(something(&parts)?.times(each)?);
        Ok(Written::new(value, simple(&parts)))
    }
}

impl Notation for DoseRate {
    fn read(text: &str) -> Result<Written<DoseRate>, NotationError> {
        let text = tidy(text, RATE)?;
        let parts = take_apart(&text, RATE)?;
        no_time(&parts, RATE)?;
        let value = rate(&parts, RATE)?;
        Ok(Written::new(value, per_one(&parts)))
    }
}

impl Notation for DailyRate {
    fn read(text: &str) -> Result<Written<DailyRate>, NotationError> {
        let text = tidy(text, PER_DAY)?;
        let parts = take_apart(&text, PER_DAY)?;
        let undivided = || NotationError::DayNotDivided { text: text.clone() };
        let after = after_per(parts.tail).ok_or_else(undivided)?;
        if is_hour(after) {
            return Err(NotationError::PerHour { text: text.clone() });
        }
        let divided = after.strip_prefix("day in ").ok_or_else(undivided)?;
        let (count, noun) = divided.split_once(' ').ok_or_else(undivided)?;
        let doses: u32 = count.parse().map_err(|_| undivided())?;
        if doses == 0 || doses > 24 || !matches!(noun, "dose" | "doses") {
            return Err(undivided());
        }
        let daily = rate(&parts, PER_DAY)?;
        let share = Exact::ratio(1, i128::from(doses)).unwrap_or(Exact::ONE);
        let each = match daily {
            DoseRate::Mass(rate) => DoseRate::Mass(rate.times(share)?),
            DoseRate::Activity(rate) => DoseRate::Activity(rate.times(share)?),
            DoseRate::Volume(rate) => DoseRate::Volume(rate.times(share)?),
        };
        let noun = if doses == 1 { "dose" } else { "doses" };
        let safe = format!("{} per day in {doses} {noun}", per_one(&parts));
        Ok(Written::new(DailyRate { each, doses }, safe))
    }
}

impl Notation for Amount {
    fn read(text: &str) -> Result<Written<Amount>, NotationError> {
        let text = tidy(text, AMOUNT)?;
        let parts = take_apart(&text, AMOUNT)?;
        no_time(&parts, AMOUNT)?;
        let figure = something(&parts)?;
        if parts.per.is_some() {
            return Err(wrong_unit(&parts, AMOUNT));
        }
        if parts.tail == "of paste" || parts.tail == "of gel" {
            if parts.unit != Unit::G {
                return Err(wrong_unit(&parts, AMOUNT));
            }
            let value = Amount::Product(ProductMass::from_grams(figure));
            return Ok(Written::new(
                value,
                format!("{} {}", simple(&parts), parts.tail),
            ));
        }
        no_tail(&parts, AMOUNT)?;
        let unit = parts.unit;
        let value = if let Some(each) = unit.milligrams() {
            Amount::Mass(MedicineMass::from_milligrams(figure.times(each)?))
        } else if let Some(each) = unit.millilitres() {
            Amount::Volume(Volume::from_millilitres(figure.times(each)?))
        } else {
            match unit {
                Unit::Activity => Amount::Activity(Activity::from_units(figure)),
                Unit::Tablet => Amount::Tablets(Tablets::from_count(figure)),
                _ => return Err(wrong_unit(&parts, AMOUNT)),
            }
        };
        Ok(Written::new(value, simple(&parts)))
    }
}

impl Notation for Strength {
    fn read(text: &str) -> Result<Written<Strength>, NotationError> {
        let text = tidy(text, STRENGTH)?;
        if text.contains(':') {
            return ratio_strength(&text);
        }
        if let Some((figure, rest)) = text.split_once('%') {
            return percent_strength(&text, figure.trim_end(), rest.trim_start());
        }
        let parts = take_apart(&text, STRENGTH)?;
        no_time(&parts, STRENGTH)?;
        no_tail(&parts, STRENGTH)?;
        let dose = something(&parts)?;
        let per = parts
            .per
            .as_ref()
            .ok_or_else(|| wrong_unit(&parts, STRENGTH))?;
        let many = per
            .number
            .as_ref()
            .map_or(Exact::ONE, |number| number.value);
        let in_label_units = per.unit.millilitres().unwrap_or(Exact::ONE).times(many)?;
        if in_label_units > LARGEST_LABEL {
            return Err(NotationError::TooLarge { text });
        }
        if many.is_zero() {
            return Err(NotationError::Nothing { text: text.clone() });
        }
        let wrong = || wrong_unit(&parts, STRENGTH);
        let value = match (parts.unit.milligrams(), parts.unit, per.unit) {
            (Some(mg), _, Unit::Ml | Unit::L) => {
                let volume = per.unit.millilitres().ok_or_else(wrong)?.times(many)?;
                let each = dose.times(mg)?.over(volume)?;
                Strength::MassPerVolume(MassPerVolume::from_milligrams_per_millilitre(each))
            }
            (None, Unit::Activity, Unit::Ml | Unit::L) => {
                let volume = per.unit.millilitres().ok_or_else(wrong)?.times(many)?;
                let each = dose.over(volume)?;
                Strength::ActivityPerVolume(ActivityPerVolume::from_units_per_millilitre(each))
            }
            (Some(mg), _, Unit::G) => {
                let each = dose.times(mg)?.over(many)?;
                Strength::MassPerProduct(MassPerProduct::from_milligrams_per_gram(each))
            }
            (Some(mg), _, Unit::Tablet) => {
                let each = dose.times(mg)?.over(many)?;
                Strength::MassPerTablet(MassPerTablet::from_milligrams_per_tablet(each))
            }
            _ => return Err(wrong()),
        };
        let safe = match (&per.number, per.unit) {
            (None, Unit::Tablet) => format!("{} per tablet", simple(&parts)),
            (None, _) => per_one(&parts),
            (Some(number), unit) => {
                let unit = unit.written(number.value == Exact::ONE);
                format!("{} per {} {unit}", simple(&parts), number.text)
            }
        };
        Ok(Written::new(value, safe))
    }
}

impl Notation for Span {
    fn read(text: &str) -> Result<Written<Span>, NotationError> {
        let bad = || NotationError::BadSpan { text: shown(text) };
        let tidied = tidy(text, "a length of time such as '72 hours'").map_err(|_| bad())?;
        let (count, unit) = tidied.split_once(' ').ok_or_else(bad)?;
        let digits = count.replace(',', "");
        if digits.len() > 5
            || digits.starts_with('0')
            || !digits.bytes().all(|b| b.is_ascii_digit())
        {
            return Err(bad());
        }
        let number: u32 = digits.parse().map_err(|_| bad())?;
        // Thousands commas only where they belong.
        if count != digits && count != print::count(number.into()) {
            return Err(bad());
        }
        let count = number;
        let span = match unit {
            "hour" | "hours" if count <= 24 * 366 => Span::Hours(count),
            "day" | "days" if count <= 366 => Span::Days(count),
            "week" | "weeks" if count <= 52 => Span::Days(count * 7),
            _ => return Err(bad()),
        };
        Ok(Written::new(span, span.to_string()))
    }
}

/// Reads a percentage such as "5 percent" as a share: 1/20.
///
/// # Errors
/// [`NotationError::BadPercent`] outside 0 to 100.
pub fn percent(text: &str) -> Result<Written<Exact>, NotationError> {
    let bad = || NotationError::BadPercent { text: shown(text) };
    let tidied = tidy(text, "a percentage").map_err(|_| bad())?;
    let (number, rest) = number::read(&tidied, "a percentage").map_err(|_| bad())?;
    if rest != "percent" || number.value > Exact::whole(100) {
        return Err(bad());
    }
    let share = number.value.over(Exact::whole(100))?;
    Ok(Written::new(share, format!("{} percent", number.text)))
}

/// "1:1000" is 1 g in 1,000 mL.
fn ratio_strength(text: &str) -> Result<Written<Strength>, NotationError> {
    let bad = || NotationError::BadRatio {
        text: text.to_owned(),
        expected: STRENGTH,
    };
    let (one, parts) = text.split_once(':').ok_or_else(bad)?;
    let (number, rest) = number::read(parts.trim(), STRENGTH)?;
    if one.trim() != "1" || !rest.is_empty() || number.value.is_zero() {
        return Err(bad());
    }
    let each = Exact::whole(1_000).over(number.value)?;
    let value = Strength::MassPerVolume(MassPerVolume::from_milligrams_per_millilitre(each));
    Ok(Written::new(value, format!("1:{}", number.text)))
}

/// "2.5 % w/v" is 2.5 g in 100 mL.
fn percent_strength(
    text: &str,
    figure: &str,
    rest: &str,
) -> Result<Written<Strength>, NotationError> {
    let (number, between) = number::read(figure, STRENGTH)?;
    if !between.is_empty() {
        return Err(NotationError::BadRatio {
            text: text.to_owned(),
            expected: STRENGTH,
        });
    }
    if rest != "w/v" {
        return Err(NotationError::PercentAlone);
    }
    if number.value.is_zero() {
        return Err(NotationError::Nothing {
            text: text.to_owned(),
        });
    }
    let each = number.value.times(Exact::whole(10))?;
    let value = Strength::MassPerVolume(MassPerVolume::from_milligrams_per_millilitre(each));
    Ok(Written::new(value, format!("{} % w/v", number.text)))
}

fn rate(parts: &Parts, expected: &'static str) -> Result<DoseRate, NotationError> {
    let figure = something(parts)?;
    let wrong = || wrong_unit(parts, expected);
    let per = parts.per.as_ref().ok_or_else(wrong)?;
    if per.number.is_some() || !matches!(per.unit, Unit::Kg | Unit::Lb) {
        return Err(wrong());
    }
    let each = per.unit.grams_of_animal().ok_or_else(wrong)?;
    let unit = parts.unit;
    if let Some(mg) = unit.milligrams() {
        let value = figure.times(mg)?.over(each)?.lowest();
        return Ok(DoseRate::Mass(MassRate::from_milligrams_per_gram(value)));
    }
    let value = figure.over(each)?.lowest();
    match unit {
        Unit::Activity => Ok(DoseRate::Activity(ActivityRate::from_units_per_gram(value))),
        Unit::Ml => Ok(DoseRate::Volume(VolumeRate::from_millilitres_per_gram(
            value,
        ))),
        _ => Err(wrong()),
    }
}

/// A figure and a unit with nothing after them.
fn whole<'a>(text: &'a str, expected: &'static str) -> Result<Parts<'a>, NotationError> {
    let parts = take_apart(text, expected)?;
    if parts.per.is_some() {
        return Err(wrong_unit(&parts, expected));
    }
    no_tail(&parts, expected)?;
    Ok(parts)
}

fn something(parts: &Parts) -> Result<Exact, NotationError> {
    if parts.number.value.is_zero() {
        return Err(NotationError::Nothing {
            text: parts.text.to_owned(),
        });
    }
    Ok(parts.number.value)
}

fn no_time(parts: &Parts, expected: &'static str) -> Result<(), NotationError> {
    match after_per(parts.tail) {
        Some(after) if is_hour(after) => Err(NotationError::PerHour {
            text: parts.text.to_owned(),
        }),
        Some(after) if is_day(after) => Err(NotationError::PerDay {
            text: parts.text.to_owned(),
        }),
        _ if matches!(parts.tail, "daily" | "a day" | "every day" | "twice daily") => {
            Err(NotationError::PerDay {
                text: parts.text.to_owned(),
            })
        }
        _ if parts.per.is_some() => no_tail(parts, expected),
        _ => Ok(()),
    }
}

fn no_tail(parts: &Parts, expected: &'static str) -> Result<(), NotationError> {
    if parts.tail.is_empty() {
        return Ok(());
    }
    Err(NotationError::UnknownUnit {
        unit: parts.tail.to_owned(),
        expected,
    })
}

fn wrong_unit(parts: &Parts, expected: &'static str) -> NotationError {
    let unit = match &parts.per {
        Some(per) => format!("{}/{}", parts.unit.written(false), per.unit.written(true)),
        None => parts.unit.written(false).to_owned(),
    };
    NotationError::UnknownUnit { unit, expected }
}

fn simple(parts: &Parts) -> String {
    let Number { value, text } = &parts.number;
    // A part of a tablet is "0.5 tablet", here as where a measure is printed.
    let one = match parts.unit {
        Unit::Tablet => *value <= Exact::ONE,
        _ => *value == Exact::ONE,
    };
    format!("{text} {}", parts.unit.written(one))
}

fn per_one(parts: &Parts) -> String {
    let per = parts.per.as_ref().map_or("", |per| per.unit.written(true));
    format!("{} {}/{per}", parts.number.text, parts.unit.written(false))
}

/// The start of a text that could not even be tidied, without what steers a terminal.
fn shown(text: &str) -> String {
    text.chars().filter(|c| !is_unseen(*c)).take(40).collect()
}
