//! What the program answered, turned into the second opinion's own plain values.

use crate::big::Fraction;
use crate::by_hand::{Row, Why};
use scruple::caution::NoMark;
use scruple::quantity::{Amount, DoseRate, Exact};

pub fn exact(value: Exact) -> Fraction {
    Fraction::new(value.numerator(), value.denominator())
}

pub fn same(theirs: &Fraction, ours: &Fraction) -> String {
    if theirs == ours {
        "same".to_owned()
    } else {
        format!("{theirs:?} and not {ours:?}")
    }
}

pub fn amount_of(amount: Amount) -> Fraction {
    exact(match amount {
        Amount::Mass(mass) => mass.milligrams(),
        Amount::Activity(activity) => activity.units(),
        Amount::Volume(volume) => volume.millilitres(),
        Amount::Product(mass) => mass.grams(),
        Amount::Tablets(tablets) => tablets.count(),
    })
}

pub fn rate_of(rate: DoseRate) -> Fraction {
    exact(match rate {
        DoseRate::Mass(rate) => rate.milligrams_per_gram(),
        DoseRate::Activity(rate) => rate.units_per_gram(),
        DoseRate::Volume(rate) => rate.millilitres_per_gram(),
    })
}

pub fn row(row: &scruple::dose::Row) -> Row {
    Row {
        first: exact(row.first.grams()),
        last: exact(row.last.grams()),
        lines: row.mark.as_ref().map(|mark| mark.lines.into()),
        call: row.call,
        today: row.today,
    }
}

pub fn reason(reason: &NoMark) -> Why {
    match reason {
        NoMark::NoWeight => Why::NoWeight,
        NoMark::WeightTooOld { .. } => Why::TooOld,
        NoMark::TooSmall { .. } => Why::TooSmall,
        NoMark::BeyondTolerance { .. } => Why::Beyond,
        NoMark::TooLarge { .. } => Why::TooLarge,
        NoMark::NoSyringe { .. } => Why::NoSyringe,
        NoMark::OnlyInsulinBarrels => Why::OnlyInsulin,
        other => panic!("a reason that no case here has: {other:?}"),
    }
}
