#![allow(clippy::unwrap_used)]
//! Figures worked by hand as exact fractions (design scenarios 1, 3, 7, 8, 9).

use crate::notation::{Notation, Written};
use crate::quantity::{Exact, Measure, ProductMass, Tablets, Volume};
use crate::rack::{
    Cut, Instrument, Limits, Mark, Needle, PrintedScale, Rounding, Syringe, SyringeError, Unfit,
    Use, Wanted,
};

fn ratio(n: i128, d: i128) -> Exact {
    Exact::ratio(n, d).unwrap()
}

fn ml(text: &str) -> Written<Volume> {
    Volume::read(text).unwrap()
}

fn fixed_needle() -> Syringe {
    let millilitres = PrintedScale::Millilitres;
    Syringe::new(
        ml("0.3 mL"),
        ml("0.005 mL"),
        Use::Injection,
        Needle::Fixed,
        millilitres,
        None,
        None,
    )
    .unwrap()
}

fn for_mouth(capacity: &str, graduation: &str) -> Syringe {
    let millilitres = PrintedScale::Millilitres;
    Syringe::new(
        ml(capacity),
        ml(graduation),
        Use::Mouth,
        Needle::Tip,
        millilitres,
        None,
        None,
    )
    .unwrap()
}

fn wanted(n: i128, d: i128) -> Wanted {
    Wanted {
        measure: Measure::Volume(Volume::from_millilitres(ratio(n, d))),
        cap: None,
        per_site: None,
        rounding: Rounding::Nearest,
        limits: Limits {
            caution_above: Some(ratio(1, 20)),
            none_above: ratio(1, 10),
        },
        draws: None,
    }
}

fn on(syringe: Syringe, wanted: Wanted) -> Result<Mark, Unfit> {
    Instrument::Syringe(syringe).mark(&wanted)
}

#[test]
fn a_tie_falls_to_the_lower_line() {
    let mark = on(fixed_needle(), wanted(31, 400)).unwrap();
    assert_eq!((mark.lines, mark.difference), (15, ratio(-1, 31)));
    let mark = on(for_mouth("1 mL", "0.01 mL"), wanted(31, 400)).unwrap();
    assert_eq!((mark.lines, mark.difference), (8, ratio(1, 31)));
    let mark = on(for_mouth("1 mL", "0.01 mL"), wanted(195, 1_000)).unwrap();
    assert_eq!((mark.lines, mark.difference), (19, ratio(-1, 39)));
}

#[test]
fn the_vets_direction_is_kept() {
    let down = Wanted {
        rounding: Rounding::Down,
        ..wanted(168, 1_000)
    };
    let up = Wanted {
        rounding: Rounding::Up,
        ..wanted(168, 1_000)
    };
    let syringe = for_mouth("1 mL", "0.01 mL");
    assert_eq!(on(syringe.clone(), down).unwrap().lines, 16);
    assert_eq!(on(syringe.clone(), up).unwrap().lines, 17);
    // 0.019 down is 0.01, beyond the tolerance: it does not turn round to 0.02.
    let small = Wanted {
        rounding: Rounding::Down,
        ..wanted(19, 1_000)
    };
    assert_eq!(
        on(syringe, small),
        Err(Unfit::BeyondTolerance(ratio(-9, 19)))
    );
}

#[test]
fn the_cap_beats_up() {
    let cap = Some(Measure::Volume(ml("0.165 mL").value()));
    let up = Wanted {
        rounding: Rounding::Up,
        cap,
        ..wanted(165, 1_000)
    };
    assert_eq!(on(for_mouth("1 mL", "0.01 mL"), up).unwrap().lines, 16);
}

#[test]
fn limits_are_strict() {
    // 0.09 mL drawn for 0.1 mL is exactly 10 percent less.
    let exactly = Wanted {
        rounding: Rounding::Down,
        ..wanted(100, 1_000)
    };
    let syringe = for_mouth("0.9 mL", "0.09 mL");
    assert_eq!(
        on(syringe.clone(), exactly).unwrap().difference,
        ratio(-1, 10)
    );
    let beyond = Wanted {
        rounding: Rounding::Down,
        ..wanted(10_001, 100_000)
    };
    assert!(matches!(
        on(syringe, beyond),
        Err(Unfit::BeyondTolerance(_))
    ));
}

#[test]
fn too_small_and_too_large_are_told_apart() {
    let syringe = for_mouth("1 mL", "0.01 mL");
    assert_eq!(on(syringe.clone(), wanted(4, 1_000)), Err(Unfit::TooSmall));
    assert_eq!(
        on(syringe.clone(), wanted(1_001, 1_000)),
        Err(Unfit::TooLarge)
    );
    assert_eq!(on(syringe, wanted(1, 1)).unwrap().lines, 100);
}

#[test]
fn a_volume_is_split_by_site() {
    // 7.2 mL, at most 2 mL a site: four of 1.8 mL, nine lines of 0.2 mL.
    let per_site = Some(Measure::Volume(ml("2 mL").value()));
    let mark = on(
        for_mouth("10 mL", "0.2 mL"),
        Wanted {
            per_site,
            ..wanted(72, 10)
        },
    )
    .unwrap();
    assert_eq!((mark.draws, mark.lines), (4, 9));
    assert_eq!(mark.each, Measure::Volume(ml("1.8 mL").value()));
    assert_eq!(mark.total, Measure::Volume(ml("7.2 mL").value()));
    assert_eq!(mark.difference, Exact::ZERO);
    // Each part must fit the barrel, not all of them together.
    let small = Wanted {
        per_site,
        ..wanted(72, 10)
    };
    let mark = on(for_mouth("3 mL", "0.1 mL"), small).unwrap();
    assert_eq!((mark.draws, mark.lines), (4, 18));
    assert_eq!(
        on(for_mouth("1 mL", "0.01 mL"), small),
        Err(Unfit::TooLarge)
    );
    let undivided = on(for_mouth("10 mL", "0.2 mL"), wanted(72, 10)).unwrap();
    assert_eq!(undivided.lines, 36);
}

#[test]
fn a_mark_rounded_above_what_a_site_takes_falls_to_it() {
    // 3.9 mL at most 1.97 mL a site: two of 1.95, nearest line 2 (tie down gives 1.8).
    let per_site = Some(Measure::Volume(ml("1.97 mL").value()));
    let up = Wanted {
        per_site,
        rounding: Rounding::Up,
        ..wanted(39, 10)
    };
    let mark = on(for_mouth("10 mL", "0.2 mL"), up).unwrap();
    assert_eq!((mark.draws, mark.lines), (2, 9));
}

#[test]
fn tablets_are_cut_as_the_vet_allows() {
    // 13/20 of a tablet: a half is 3/13 short, three quarters 2/13 over.
    let measure = Measure::Tablets(Tablets::from_count(ratio(13, 20)));
    let asked = Wanted {
        measure,
        ..wanted(1, 1)
    };
    for (cut, difference) in [(Cut::Halves, ratio(-3, 13)), (Cut::Quarters, ratio(2, 13))] {
        let unfit = Instrument::Tablets(cut).mark(&asked).unwrap_err();
        assert_eq!(unfit, Unfit::BeyondTolerance(difference));
    }
    let half = Wanted {
        measure: Measure::Tablets(Tablets::from_count(ratio(1, 2))),
        ..asked
    };
    assert_eq!(
        Instrument::Tablets(Cut::Halves).mark(&half).unwrap().lines,
        1
    );
}

/// 500 lines are the most: 5 mL by 0.01 mL are just as many. A tip is for the mouth and a needle
/// for injection. Numbers stand at most as far apart as the barrel is long.
#[test]
fn a_syringe_has_lines_a_needle_and_numbers_that_fit() {
    let made = |capacity: &str, used_for, needle, numbered_every| {
        let lines = ml("0.01 mL");
        let scale = PrintedScale::Millilitres;
        let made = Syringe::new(
            ml(capacity),
            lines,
            used_for,
            needle,
            scale,
            None,
            numbered_every,
        );
        made.map(|syringe| syringe.lines())
    };
    let tip = Needle::Tip;
    assert_eq!(made("5 mL", Use::Mouth, tip, None), Ok(500));
    let more = made("5.01 mL", Use::Mouth, tip, None);
    assert_eq!(more, Err(SyringeError::TooManyLines));
    for (used_for, needle, fits) in [
        (Use::Mouth, Needle::Tip, true),
        (Use::Mouth, Needle::Hub, false),
        (Use::Mouth, Needle::Fixed, false),
        (Use::Injection, Needle::Tip, false),
        (Use::Injection, Needle::Hub, true),
        (Use::Injection, Needle::Fixed, true),
    ] {
        let made = made("1 mL", used_for, needle, None);
        let expected = if fits {
            Ok(100)
        } else {
            Err(SyringeError::NeedleAndUse)
        };
        assert_eq!(made, expected, "{used_for:?} {needle:?}");
    }
    assert_eq!(made("1 mL", Use::Mouth, tip, Some(100)), Ok(100));
    for far in [0, 101] {
        let made = made("1 mL", Use::Mouth, tip, Some(far));
        assert_eq!(made, Err(SyringeError::Numbering(far)));
    }
}

#[test]
fn a_syringe_must_be_one_that_exists() {
    let insulin = |capacity: &str, graduation: &str, needle| {
        let scale = PrintedScale::InsulinU100;
        Syringe::new(
            ml(capacity),
            ml(graduation),
            Use::Injection,
            needle,
            scale,
            None,
            None,
        )
    };
    let half_units = insulin("0.3 mL", "0.005 mL", Needle::Fixed).unwrap();
    assert_eq!(half_units.printed_at(15), "7.5");
    assert_eq!(half_units.lines(), 60);
    assert_eq!(
        insulin("0.3 mL", "0.005 mL", Needle::Hub),
        Err(SyringeError::InsulinUse)
    );
    let uneven = SyringeError::UnevenLines {
        capacity: "1 mL".to_owned(),
        graduation: "0.03 mL".to_owned(),
    };
    let millilitres = PrintedScale::Millilitres;
    let (capacity, lines) = (ml("1 mL"), ml("0.03 mL"));
    assert_eq!(
        Syringe::new(
            capacity,
            lines,
            Use::Mouth,
            Needle::Tip,
            millilitres,
            None,
            None
        ),
        Err(uneven)
    );
    // A U-40 line is 0.025 mL (40 units to the millilitre).
    assert_eq!(
        insulin("1 mL", "0.025 mL", Needle::Fixed),
        Err(SyringeError::InsulinLines)
    );
}

/// ISO 7886-1 table 1, from memory; the figures as references printed them for a 1 mL syringe:
/// 0.05 +/-0.016, 0.10 +/-0.017, 0.20 +/-0.019, 0.25 +/-0.020, 0.50 +/-0.025.
#[test]
fn the_volumetric_tolerance_is_the_tables() {
    let syringe = for_mouth("1 mL", "0.01 mL");
    for (at, tolerance) in [
        ("0.05 mL", ratio(16, 1_000)),
        ("0.1 mL", ratio(17, 1_000)),
        ("0.2 mL", ratio(19, 1_000)),
        ("0.25 mL", ratio(20, 1_000)),
        ("0.5 mL", ratio(25, 1_000)),
    ] {
        assert_eq!(
            syringe.tolerance(ml(at).value()).unwrap().millilitres(),
            tolerance,
            "{at}"
        );
    }
}

/// Half of what the scale shows, either way.
#[test]
fn a_scale_is_out_by_half_its_step() {
    let scale = Instrument::PasteScale(ProductMass::from_grams(ratio(1, 10)));
    let at = Measure::Product(ProductMass::from_grams(ratio(3, 10)));
    assert_eq!(scale.tolerance(at), Ok(ratio(1, 20)));
}

#[test]
fn a_syringe_is_named_by_its_barrel_and_its_line() {
    assert_eq!(fixed_needle().short(), "0.3/0.005");
}

/// Common practice, no source: 10 lines or fewer all have a number, a U-100 barrel every tenth, 30
/// or fewer in mL every fifth.
#[test]
fn numbers_stand_where_they_usually_do() {
    let barrel = |capacity: &str, line: &str, scale| {
        let needle = Needle::Fixed;
        let injection = Use::Injection;
        Syringe::new(ml(capacity), ml(line), injection, needle, scale, None, None).unwrap()
    };
    let (in_ml, in_units) = (PrintedScale::Millilitres, PrintedScale::InsulinU100);
    for (capacity, line, scale, every) in [
        ("1 mL", "0.1 mL", in_ml, 1),
        ("3 mL", "0.1 mL", in_ml, 5),
        ("1 mL", "0.01 mL", in_ml, 10),
        ("0.3 mL", "0.01 mL", in_units, 10),
    ] {
        let numbered = barrel(capacity, line, scale).numbered_every();
        assert_eq!(numbered, every, "{capacity} by {line}");
    }
}

/// 5 percent of 0.3 mL, the whole barrel; half of a scale's 0.1 g; nothing is known of a tablet.
#[test]
fn each_instrument_has_its_own_tolerance() {
    let at = Measure::Volume(Volume::from_millilitres(ratio(3, 10)));
    let syringe = Instrument::Syringe(fixed_needle());
    assert_eq!(syringe.tolerance(at), Ok(ratio(3, 200)));
    let scale = Instrument::PasteScale(ProductMass::from_grams(ratio(1, 10)));
    let grams = Measure::Product(ProductMass::from_grams(ratio(3, 10)));
    assert_eq!(scale.tolerance(grams), Ok(ratio(1, 20)));
    let tablets = Measure::Tablets(Tablets::from_count(ratio(1, 1)));
    assert_eq!(
        Instrument::Tablets(Cut::Halves).tolerance(tablets),
        Ok(Exact::ZERO)
    );
}

#[test]
fn each_instrument_is_said_in_words() {
    let scale = Instrument::PasteScale(ProductMass::from_grams(ratio(1, 10)));
    for (instrument, words) in [
        (
            Instrument::Syringe(fixed_needle()),
            "0.3 mL, fixed needle, a line every 0.005 mL",
        ),
        (
            Instrument::Syringe(for_mouth("1 mL", "0.01 mL")),
            "1 mL, for the mouth, a line every 0.01 mL",
        ),
        (Instrument::Tablets(Cut::Whole), "whole tablets"),
        (
            Instrument::Tablets(Cut::Halves),
            "tablets that can be cut into halves",
        ),
        (
            Instrument::Tablets(Cut::Quarters),
            "tablets that can be cut into quarters",
        ),
        (scale, "a scale that reads 0.1 g"),
    ] {
        assert_eq!(instrument.words(), words);
    }
}

#[test]
fn what_stays_in_the_hub_is_what_was_read_of_it() {
    let hub = |loss: Option<Written<Volume>>| {
        let scale = PrintedScale::Millilitres;
        let (capacity, line) = (ml("1 mL"), ml("0.01 mL"));
        let made = Syringe::new(
            capacity,
            line,
            Use::Injection,
            Needle::Hub,
            scale,
            loss,
            None,
        );
        made.unwrap().hub_loss().millilitres()
    };
    assert_eq!(hub(Some(ml("0.07 mL"))), ratio(7, 100));
    assert_eq!(hub(None), Exact::ZERO);
}
