#![allow(clippy::unwrap_used)]
//! Every kind with every other: what goes together gives the figure on paper, and what does not is
//! said to be mixed.

use super::*;

fn ratio(n: i128, d: i128) -> Exact {
    Exact::ratio(n, d).unwrap()
}

/// One of each kind, of the figure n.
fn rates(n: i128) -> [DoseRate; 3] {
    [
        DoseRate::Mass(MassRate::from_milligrams_per_gram(ratio(n, 1))),
        DoseRate::Activity(ActivityRate::from_units_per_gram(ratio(n, 1))),
        DoseRate::Volume(VolumeRate::from_millilitres_per_gram(ratio(n, 1))),
    ]
}

fn strengths(n: i128) -> [Strength; 4] {
    [
        Strength::MassPerVolume(MassPerVolume::from_milligrams_per_millilitre(ratio(n, 1))),
        Strength::ActivityPerVolume(ActivityPerVolume::from_units_per_millilitre(ratio(n, 1))),
        Strength::MassPerProduct(MassPerProduct::from_milligrams_per_gram(ratio(n, 1))),
        Strength::MassPerTablet(MassPerTablet::from_milligrams_per_tablet(ratio(n, 1))),
    ]
}

fn amounts(n: i128) -> [Amount; 5] {
    [
        Amount::Mass(MedicineMass::from_milligrams(ratio(n, 1))),
        Amount::Activity(Activity::from_units(ratio(n, 1))),
        Amount::Volume(Volume::from_millilitres(ratio(n, 1))),
        Amount::Product(ProductMass::from_grams(ratio(n, 1))),
        Amount::Tablets(Tablets::from_count(ratio(n, 1))),
    ]
}

fn measures(n: i128) -> [Measure; 3] {
    [
        Measure::Volume(Volume::from_millilitres(ratio(n, 1))),
        Measure::Product(ProductMass::from_grams(ratio(n, 1))),
        Measure::Tablets(Tablets::from_count(ratio(n, 1))),
    ]
}

/// The columns: mg/mL, units/mL, mg/g, mg per tablet.
#[test]
fn a_product_carries_what_is_counted_as_it_is() {
    let of_rates = [
        [true, false, true, true],
        [false, true, false, false],
        [true, true, false, false],
    ];
    for (rate, row) in rates(1).into_iter().zip(of_rates) {
        assert_eq!(strengths(1).map(|s| rate.goes_with(s)), row, "{rate:?}");
    }
    let of_amounts = [
        [true, false, true, true],
        [false, true, false, false],
        [true, true, false, false],
        [false, false, true, false],
        [false, false, false, true],
    ];
    for (amount, row) in amounts(1).into_iter().zip(of_amounts) {
        assert_eq!(strengths(1).map(|s| amount.goes_with(s)), row, "{amount:?}");
    }
}

/// 6 over 4 is 3/2.
#[test]
fn only_like_is_held_against_like() {
    for (i, a) in rates(6).into_iter().enumerate() {
        for (j, b) in rates(4).into_iter().enumerate() {
            assert_eq!(a.over(b), (i == j).then(|| ratio(3, 2)));
        }
    }
    for (i, a) in strengths(6).into_iter().enumerate() {
        for (j, b) in strengths(4).into_iter().enumerate() {
            assert_eq!(a.over(b), (i == j).then(|| ratio(3, 2)));
        }
    }
}

/// 6 and 4 of each: over, more, together, left, and so many times.
#[test]
fn measures_of_one_kind_are_reckoned_and_others_are_mixed() {
    let all = measures(6).into_iter().zip(measures(10)).zip(measures(2));
    for (i, ((a, sum), left)) in all.enumerate() {
        assert_eq!(a.figure(), ratio(6, 1));
        assert_eq!(a.times(ratio(5, 3)), Ok(sum));
        for (j, b) in measures(4).into_iter().enumerate() {
            let mixed = QuantityError::Mixed(a.kind(), b.kind());
            if i == j {
                assert_eq!(a.over(b), Ok(ratio(3, 2)));
                assert_eq!((a.exceeds(b), b.exceeds(a)), (Ok(true), Ok(false)));
                assert_eq!(a.exceeds(a), Ok(false));
                assert_eq!((a.plus(b), a.minus(b)), (Ok(sum), Ok(left)));
            } else {
                assert_eq!(a.over(b), Err(mixed));
                assert_eq!(a.exceeds(b), Err(mixed));
                assert_eq!(a.plus(b), Err(mixed));
                assert_eq!(a.minus(b), Err(mixed));
            }
        }
    }
}

#[test]
fn a_dose_is_held_to_a_limit_of_its_kind() {
    for (i, a) in amounts(6).into_iter().enumerate() {
        assert_eq!(a.held_to(None), Ok(a));
        let (less, more) = (amounts(4).into_iter(), amounts(7).into_iter());
        for (j, (low, high)) in less.zip(more).enumerate() {
            if i == j {
                assert_eq!(
                    (a.held_to(Some(low)), a.held_to(Some(high))),
                    (Ok(low), Ok(a))
                );
            } else {
                let mixed = QuantityError::Mixed(a.kind(), low.kind());
                assert_eq!(a.held_to(Some(low)), Err(mixed));
            }
        }
    }
}

/// 6 mg or units of a strength of 2 fill 3; those 3 hold 6 again. A measure is itself.
#[test]
fn a_dose_fills_a_measure_and_the_measure_holds_the_dose() {
    let [mass, activity, volume, product, tablets] = amounts(6);
    let [per_ml, units_per_ml, per_gram, per_tablet] = strengths(2);
    let [ml, grams, count] = measures(3);
    for (dose, strength, measure) in [
        (mass, per_ml, ml),
        (activity, units_per_ml, ml),
        (mass, per_gram, grams),
        (mass, per_tablet, count),
    ] {
        assert_eq!(dose.measure(Some(strength)), Ok(measure));
        assert_eq!(measure.holds(Some(strength)), Ok(dose));
    }
    for (amount, measure) in [volume, product, tablets].into_iter().zip(measures(6)) {
        assert_eq!(amount.measure(None), Ok(measure));
        assert_eq!(measure.holds(None), Ok(amount));
    }
    for (dose, strength) in [
        (mass, units_per_ml),
        (activity, per_ml),
        (activity, per_gram),
    ] {
        let mixed = QuantityError::Mixed(dose.kind(), strength.kind());
        assert_eq!(dose.measure(Some(strength)), Err(mixed));
    }
    let none = QuantityError::Mixed(mass.kind(), "no strength");
    assert_eq!(mass.measure(None), Err(none));
    for (measure, strength) in [(ml, per_gram), (grams, per_ml), (count, units_per_ml)] {
        let mixed = QuantityError::Mixed(measure.kind(), strength.kind());
        assert_eq!(measure.holds(Some(strength)), Err(mixed));
    }
}

/// 6 for an animal of 3 g are 2 for each gram; tablets and paste are not written so.
#[test]
fn by_body_weight_and_back() {
    let weight = BodyWeight::from_grams(ratio(3, 1));
    let [mass, activity, volume, product, tablets] = amounts(6);
    for (amount, rate) in [mass, activity, volume].into_iter().zip(rates(2)) {
        assert_eq!(amount.per_weight(weight), Ok(Some(rate)));
        assert_eq!(rate.for_weight(weight), Ok(amount));
    }
    assert_eq!(product.per_weight(weight), Ok(None));
    assert_eq!(tablets.per_weight(weight), Ok(None));
}

/// 6 is three times 2 of the same kind, and nothing of another.
#[test]
fn an_amount_is_so_many_times_another_of_its_kind() {
    for (row, six) in amounts(6).into_iter().enumerate() {
        for (column, two) in amounts(2).into_iter().enumerate() {
            let times = (row == column).then(|| ratio(3, 1));
            assert_eq!(six.over(two), times, "{six:?} {two:?}");
        }
    }
    let [nothing, ..] = amounts(0);
    let [mass, ..] = amounts(6);
    assert_eq!(mass.over(nothing), None);
}

/// What two that do not go together are called, in the sentence that says so.
#[test]
fn each_kind_has_words_of_its_own() {
    let [by_mass, in_units, by_volume] = rates(1).map(DoseRate::kind);
    assert_eq!(by_mass, "a dose rate by mass");
    assert_eq!(in_units, "a dose rate in units");
    assert_eq!(by_volume, "a dose rate by volume");
    let [mass, activity, volume, product, tablets] = amounts(1).map(Amount::kind);
    assert_eq!(
        [mass, activity],
        ["a mass of medicine", "a number of units"]
    );
    // A measure is called what the amount is that it may be.
    let measured = ["a volume", "grams of product", "a number of tablets"];
    assert_eq!([volume, product, tablets], measured);
    assert_eq!(measures(1).map(Measure::kind), measured);
    for (strength, per) in
        strengths(1)
            .into_iter()
            .zip(["mg per mL", "units per mL", "mg per gram", "mg per tablet"])
    {
        assert_eq!(strength.kind(), format!("a strength in {per}"));
    }
    let mixed = QuantityError::Mixed(mass, strengths(1)[1].kind());
    assert_eq!(
        mixed.to_string(),
        "a mass of medicine and a strength in units per mL do not go together: ask your vet which \
         is meant"
    );
}
