//! Turns a row's cells into the text a person would type, reads it through the program, and holds
//! what comes out against what the source printed.

use crate::rows::{Row, figure};
use scruple::notation::{DailyRate, Notation};
use scruple::quantity::{Amount, BodyWeight, DoseRate, Exact, Measure, Strength, Volume};
use scruple::rack::{
    Instrument, Limits, Mark, Needle, PrintedScale, Rounding, Syringe, Unfit, Use, Wanted,
};

pub fn strength(row: &Row, label: &str) -> Option<Strength> {
    if row.concentration.is_empty() && label.is_empty() {
        return None;
    }
    let text = if label.is_empty() {
        let unit = match row.concentration_unit.as_str() {
            "unit/mL" => "units/mL",
            "mg/tablet" => "mg per tablet",
            "%" => "% w/v",
            other => other,
        };
        match unit {
            "ratio" => row.concentration.clone(),
            unit => format!("{} {unit}", row.concentration),
        }
    } else {
        label.to_owned()
    };
    let strength = Strength::read(&text).unwrap().value();
    if !label.is_empty() {
        // The label's words come to the row's own figure.
        row.agrees(per_millilitre(strength, row), &row.concentration);
    }
    Some(strength)
}

/// The figure of a strength in the row's own unit per mL.
pub fn per_millilitre(strength: Strength, row: &Row) -> Exact {
    match strength {
        Strength::MassPerVolume(s) => {
            in_unit(s.milligrams_per_millilitre(), &row.concentration_unit)
        }
        Strength::ActivityPerVolume(s) => s.units_per_millilitre(),
        other => panic!("{other:?}"),
    }
}

/// Milligrams as a figure of the unit at the front of the row's own: mg, mcg or g.
pub fn in_unit(milligrams: Exact, unit: &str) -> Exact {
    let each = match unit.split('/').next() {
        Some("mcg") => Exact::ratio(1, 1_000).unwrap(),
        Some("g") => Exact::whole(1_000),
        _ => Exact::ONE,
    };
    milligrams.over(each).unwrap()
}

pub fn agrees_amount(row: &Row, amount: Amount) {
    let ours = match amount {
        Amount::Mass(mass) => in_unit(mass.milligrams(), &row.amount_unit),
        Amount::Activity(activity) => activity.units(),
        other => panic!("{other:?}"),
    };
    row.agrees(ours, &row.amount);
}

pub fn agrees_volume(row: &Row, measure: Measure) {
    let Measure::Volume(volume) = measure else {
        panic!("{measure:?}")
    };
    row.agrees(volume.millilitres(), &row.volume);
}

/// Holds what a row prints of amount and volume against a dose of ours.
pub fn agrees(row: &Row, dose: Amount, strength: Option<Strength>) {
    if !row.amount.is_empty() {
        agrees_amount(row, dose);
    }
    match strength {
        Some(strength) => agrees_volume(row, dose.measure(Some(strength)).unwrap()),
        None => assert_eq!(row.volume, "", "{}: a volume was not checked", row.id),
    }
}

pub fn body_weight(row: &Row) -> BodyWeight {
    // Two rows say "(x50)" and "(x6)" after the unit: the group is their test's business.
    let unit = row.weight_unit.split(' ').next().unwrap();
    read_weight(&format!("{} {unit}", row.weight))
}

pub fn read_weight(text: &str) -> BodyWeight {
    BodyWeight::read(text).unwrap().value()
}

pub fn read_volume(text: &str) -> Volume {
    Volume::read(text).unwrap().value()
}

pub fn read_amount(text: &str) -> Amount {
    Amount::read(text).unwrap().value()
}

pub fn read_strength(text: &str) -> Strength {
    Strength::read(text).unwrap().value()
}

pub fn read_rate(text: &str) -> DoseRate {
    DoseRate::read(text).unwrap().value()
}

/// One dose at the row's rate, for the row's weight.
pub fn dose_by_weight(row: &Row) -> Amount {
    let unit = row.dose_unit.replace("unit/", "units/");
    let rate = read_rate(&format!("{} {unit}", row.dose));
    rate.for_weight(body_weight(row)).unwrap()
}

/// One of the doses that the row's day is divided into.
pub fn dose_of_the_day(row: &Row, doses: u32) -> Amount {
    let text = row.dose_unit.replace("/day", " per day in");
    let daily = DailyRate::read(&format!("{} {text} {doses} doses", row.dose)).unwrap();
    daily.value().each.for_weight(body_weight(row)).unwrap()
}

pub fn drawn(dose: &str, label: &str) -> Volume {
    match read_amount(dose).measure(Some(read_strength(label))) {
        Ok(Measure::Volume(volume)) => volume,
        other => panic!("{other:?}"),
    }
}

pub fn milligrams_in(volume: &str, label: &str) -> Exact {
    match Measure::Volume(read_volume(volume)).holds(Some(read_strength(label))) {
        Ok(Amount::Mass(mass)) => mass.milligrams(),
        other => panic!("{other:?}"),
    }
}

pub fn kilograms(text: &str) -> Exact {
    read_weight(text).grams().over(Exact::whole(1_000)).unwrap()
}

/// A syringe for the mouth: "10 mL" with a line every "0.1 mL".
pub fn barrel(capacity: &str, graduation: &str) -> Instrument {
    let syringe = Syringe::new(
        Volume::read(capacity).unwrap(),
        Volume::read(graduation).unwrap(),
        Use::Mouth,
        Needle::Tip,
        PrintedScale::Millilitres,
        None,
        None,
    );
    Instrument::Syringe(syringe.unwrap())
}

/// The mark nearest to a measure, within the program's 10 percent.
pub fn mark(measure: Measure, instrument: &Instrument) -> Result<Mark, Unfit> {
    instrument.mark(&Wanted {
        measure,
        cap: None,
        per_site: None,
        rounding: Rounding::Nearest,
        limits: Limits {
            caution_above: Exact::ratio(1, 20),
            none_above: Exact::ratio(1, 10).unwrap(),
        },
        draws: None,
    })
}

/// What the mark for a volume really holds, in mL.
pub fn on_line(volume: Volume, barrel: &Instrument) -> Exact {
    let mark = mark(Measure::Volume(volume), barrel).unwrap();
    mark.total.figure()
}

pub fn pounds_over_2_2(pounds: &str) -> Exact {
    figure(pounds).over(figure("2.2")).unwrap()
}

pub fn nearest(value: Exact, step: &str) -> Exact {
    let steps = value.over(figure(step)).unwrap();
    let steps = steps.nearest_tie_down().unwrap();
    figure(step).times(Exact::ratio(steps, 1).unwrap()).unwrap()
}

pub fn half_up(value: Exact, step: &str) -> Exact {
    let half = Exact::ratio(1, 2).unwrap();
    let steps = value.over(figure(step)).unwrap().plus(half).unwrap();
    let steps = Exact::ratio(steps.floor(), 1).unwrap();
    figure(step).times(steps).unwrap()
}
