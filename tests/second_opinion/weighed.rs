//! Weighings to try: whole histories of a made-up animal, and the scale behind them.

use crate::big::Fraction;
use crate::by_hand::Weighed;
use crate::chance::Chance;
use crate::written::{Figure, Quantity, WEIGHTS};

/// A body weight of 5 g to some kg, and a scale that reads it.
pub fn weight(chance: &mut Chance) -> ((Quantity, f64, i64, usize, usize), Quantity) {
    let unit = chance.one(&[0, 0, 0, 1, 1, 2, 3]);
    let (name, top, bottom) = WEIGHTS[unit];
    let wide = chance.once_in(10);
    let digits = if wide {
        chance.from(10_000, 9_999_999)
    } else {
        chance.from(5, 60)
    };
    let decimals = match (name, wide) {
        ("g", false) => chance.one(&[0, 0, 1]),
        ("kg", false) => chance.one(&[1, 2, 3]),
        (_, false) => chance.one(&[0, 1, 2]),
        (_, true) => chance.one(&[3, 4]),
    };
    let per = Fraction::new(top, bottom);
    let quantity = |digits: i64| {
        let figure = Figure { digits, decimals };
        Quantity {
            text: format!("{} {name}", figure.text()),
            worth: figure.worth().times(&per),
        }
    };
    let grams = digits as f64 / 10_f64.powi(decimals as i32) * top as f64 / bottom as f64;
    // A weight of many digits has a scale with steps as large as itself, for a ladder of one row.
    let readable = quantity(if wide { digits } else { 1 });
    ((quantity(digits), grams, digits, decimals, unit), readable)
}

/// The latest weighing first, then up to three before it.
pub fn weighings(
    (weight, _, digits, decimals, unit): (Quantity, f64, i64, usize, usize),
    _: &Quantity,
    chance: &mut Chance,
) -> Vec<(Weighed, String)> {
    if chance.once_in(50) {
        return Vec::new();
    }
    let mut days_ago = chance.one(&[0, 0, 1, 3, 7, 8, 14, 28, 29, 40]);
    let latest = Weighed {
        grams: weight.worth,
        days_ago,
    };
    let mut all = vec![(latest, weight.text)];
    let (name, top, bottom) = WEIGHTS[unit];
    for _ in 0..chance.from(0, 3) {
        days_ago += chance.one(&[1, 5, 14, 27, 28, 29]);
        let digits = digits * chance.one(&[90, 100, 105, 111, 112, 125, 150]) / 100;
        let figure = Figure {
            digits: digits.clamp(1, 9_999_999),
            decimals,
        };
        let grams = figure.worth().times(&Fraction::new(top, bottom));
        all.push((
            Weighed { grams, days_ago },
            format!("{} {name}", figure.text()),
        ));
    }
    all
}
