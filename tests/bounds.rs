//! The exactness bound: at every corner of unit by form, a dose is worked to the mark and back,
//! exactly, and never out of range.
//!
//! A corner is the smallest figure that is read, or the largest with and without decimals; the
//! large ones are primes of one role each, so that nothing cancels. What comes out
//! is held against the same product worked on paper (`bounds/paper.rs`).

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

#[path = "bounds/paper.rs"]
mod paper;

use crate::paper::Fraction;
use scruple::notation::{DailyRate, Notation};
use scruple::quantity::{
    Amount, BodyWeight, DoseRate, Exact, Measure, OutOfRange, QuantityError, Strength,
};

/// A unit as typed, and what it is worth as a fraction of the base unit.
type Unit = (&'static str, u128, u128);

const MASSES: [Unit; 3] = [("mcg", 1, 1_000), ("mg", 1, 1), ("g", 1_000, 1)];
/// UCUM: [lb_av] = 7000 x 64.79891 mg; [oz_av] is a sixteenth.
const POUND: Unit = ("lb", 45_359_237, 100_000);
const WEIGHTS: [Unit; 4] = [
    ("g", 1, 1),
    ("kg", 1_000, 1),
    POUND,
    ("oz", 45_359_237, 1_600_000),
];
const PER_WEIGHT: [Unit; 2] = [("kg", 1_000, 1), POUND];
const VOLUMES: [Unit; 2] = [("mL", 1, 1), ("L", 1_000, 1)];

/// Doses in a day: not divided, the smallest that leaves no decimal, and the most awkward read.
const IN_A_DAY: [u128; 3] = [1, 3, 23];

/// Graduations of syringes: the finest that can be written, and an odd coarse one.
const GRADUATIONS: [(&str, u128, u128); 2] =
    [("0.0001 mL", 1, 10_000), ("9.9991 mL", 99_991, 10_000)];

/// Heavier than any patient, in grams: 10,000 kg. More than any label counts in: 10 L.
const HEAVIEST: u128 = 10_000_000;
const LARGEST_LABEL: u128 = 10_000;

/// Text, what the program read in it, and what it is worth on paper.
#[derive(Clone)]
struct Typed<T> {
    text: String,
    value: T,
    worth: Fraction,
    /// Whether a patient or a label could say so.
    within: bool,
}

impl<T: Notation + Copy> Typed<T> {
    /// What no patient or label could say may be refused; nothing else may.
    fn read(text: String, worth: Fraction, within: bool) -> Option<Typed<T>> {
        match T::read(&text) {
            Ok(read) => Some(Typed {
                value: read.value(),
                text,
                worth,
                within,
            }),
            Err(_) if !within => None,
            Err(error) => panic!("{text}: {error}"),
        }
    }
}

/// The corner figures of one role.
fn figures(prime: u128) -> [(String, Fraction); 3] {
    let split = format!("{}.{:04}", prime / 10_000, prime % 10_000);
    [
        ("0.0001".to_owned(), Fraction::of(1, 10_000)),
        (prime.to_string(), Fraction::of(prime, 1)),
        (split, Fraction::of(prime, 10_000)),
    ]
}

fn weights() -> Vec<Typed<BodyWeight>> {
    let mut found = Vec::new();
    for (figure, worth) in figures(99_999_989) {
        for (unit, n, d) in WEIGHTS {
            let worth = worth.times(&Fraction::of(n, d));
            let within = worth.is_at_most(HEAVIEST);
            found.extend(Typed::read(format!("{figure} {unit}"), worth, within));
        }
    }
    found
}

fn rates(units: &[Unit]) -> Vec<Typed<DoseRate>> {
    let mut found = Vec::new();
    for (figure, worth) in figures(99_999_971) {
        for &(unit, n, d) in units {
            for (per, per_n, per_d) in PER_WEIGHT {
                let text = format!("{figure} {unit}/{per}");
                let worth = worth
                    .times(&Fraction::of(n, d))
                    .over(&Fraction::of(per_n, per_d));
                for doses in IN_A_DAY {
                    if doses == 1 {
                        found.extend(Typed::read(text.clone(), worth.clone(), true));
                        continue;
                    }
                    let text = format!("{text} per day in {doses} doses");
                    let worth = worth.over(&Fraction::of(doses, 1));
                    let daily = Typed::<DailyRate>::read(text, worth, true);
                    found.extend(daily.map(|daily| Typed {
                        text: daily.text,
                        value: daily.value.each,
                        worth: daily.worth,
                        within: daily.within,
                    }));
                }
            }
        }
    }
    found
}

/// "5 mg/mL", "5 mg per 3 mL" and so on, for units of medicine in units of product.
fn so_much_in(units: &[Unit], products: &[Unit]) -> Vec<Typed<Strength>> {
    let mut found = Vec::new();
    let mut many = vec![(String::new(), Fraction::of(1, 1))];
    many.extend(figures(99_999_941).map(|(figure, worth)| (format!("{figure} "), worth)));
    for (figure, worth) in figures(99_999_959) {
        for &(unit, n, d) in units {
            for (count, count_worth) in &many {
                for &(product, per_n, per_d) in products {
                    let text = format!("{figure} {unit} per {count}{product}");
                    let product = count_worth.times(&Fraction::of(per_n, per_d));
                    let within = product.is_at_most(LARGEST_LABEL);
                    let worth = worth.times(&Fraction::of(n, d)).over(&product);
                    found.extend(Typed::read(text, worth, within));
                }
            }
        }
    }
    found
}

fn strengths_by_mass() -> Vec<Typed<Strength>> {
    let mut found = so_much_in(&MASSES, &VOLUMES);
    found.extend(so_much_in(&MASSES, &[("g", 1, 1)]));
    found.extend(so_much_in(&MASSES, &[("tablet", 1, 1)]));
    for (figure, worth) in figures(99_999_959) {
        let percent = worth.times(&Fraction::of(10, 1));
        found.extend(Typed::read(format!("{figure} % w/v"), percent, true));
        let ratio = Fraction::of(1_000, 1).over(&worth);
        found.extend(Typed::read(format!("1:{figure}"), ratio, true));
    }
    found
}

/// A step of the kind that the measure is counted in.
fn step(figure: &str, like: Measure) -> Measure {
    let text = match like {
        Measure::Volume(_) => figure.to_owned(),
        Measure::Product(_) => figure.replace("mL", "g of paste"),
        Measure::Tablets(_) => figure.replace("mL", "tablets"),
    };
    match Amount::read(&text).unwrap().value() {
        Amount::Volume(volume) => Measure::Volume(volume),
        Amount::Product(mass) => Measure::Product(mass),
        Amount::Tablets(tablets) => Measure::Tablets(tablets),
        other => panic!("{other:?}"),
    }
}

fn per_gram(rate: DoseRate) -> Exact {
    match rate {
        DoseRate::Mass(rate) => rate.milligrams_per_gram(),
        DoseRate::Activity(rate) => rate.units_per_gram(),
        DoseRate::Volume(rate) => rate.millilitres_per_gram(),
    }
}

/// One corner, from rate and weight to the mark and back. What is wrong stops the test; what is
/// out of range is handed back.
fn to_the_mark_and_back(
    weight: &Typed<BodyWeight>,
    rate: &Typed<DoseRate>,
    strength: Option<&Typed<Strength>>,
) -> Result<(), QuantityError> {
    let what = || words(weight, rate, strength);
    let label = strength.map(|strength| strength.value);
    let measure = rate.value.for_weight(weight.value)?.measure(label)?;
    let mut paper = weight.worth.times(&rate.worth);
    if let Some(strength) = strength {
        paper = paper.over(&strength.worth);
    }
    assert!(paper.is(measure.figure()), "measure: {}", what());

    for (text, n, d) in GRADUATIONS {
        let graduation = step(text, measure);
        let (on_paper, each) = (paper.over(&Fraction::of(n, d)), Fraction::of(n, d));
        let steps = measure.over(graduation)?;
        let lines = steps.nearest_tie_down()?;
        let whole = u128::try_from(lines).unwrap();
        assert!(on_paper.rounds_to(whole), "mark of {text}: {}", what());
        if whole == 0 {
            continue;
        }
        let lines = Exact::ratio(lines, 1).unwrap();
        let held = graduation.times(lines)?.holds(label)?;
        if let Some(rate_at_mark) = held.per_weight(weight.value)? {
            let mut back = each.times(&Fraction::of(whole, 1)).over(&weight.worth);
            if let Some(strength) = strength {
                back = back.times(&strength.worth);
            }
            assert!(
                back.is(per_gram(rate_at_mark)),
                "back at {text}: {}",
                what()
            );
        }
        // The mark over the calculated measure is one more than the difference.
        let difference = lines.minus(steps)?.over(steps)?;
        let mark_share = Fraction::of(whole, 1).over(&on_paper);
        let share = difference.plus(Exact::ONE)?;
        assert!(mark_share.is(share), "difference at {text}: {}", what());
    }
    Ok(())
}

/// A corner that came out of range, and whether any patient and label could be so.
struct OutOfRangeAt {
    text: String,
    within: bool,
}

/// Walks all the corners; gives how many there are, and those that are out of range.
fn walk() -> (usize, Vec<OutOfRangeAt>) {
    let units = [("units", 1, 1)];
    let volumes = [("mL", 1, 1)];
    let by_mass = strengths_by_mass().into_iter().map(Some);
    let in_units = so_much_in(&units, &VOLUMES).into_iter().map(Some);
    let weights = weights();
    let (mut count, mut out) = (0, Vec::new());
    for (rates, strengths) in [
        (rates(&MASSES), by_mass.collect()),
        (rates(&units), in_units.collect()),
        (rates(&volumes), vec![None]),
    ] {
        let by_weight = weights
            .iter()
            .flat_map(|w| rates.iter().map(move |r| (w, r)));
        for ((weight, rate), strength) in
            by_weight.flat_map(|pair| strengths.iter().map(move |strength| (pair, strength)))
        {
            count += 1;
            let strength = strength.as_ref();
            match to_the_mark_and_back(weight, rate, strength) {
                Ok(()) => {}
                Err(QuantityError::OutOfRange(OutOfRange)) => out.push(OutOfRangeAt {
                    text: words(weight, rate, strength),
                    within: weight.within && strength.is_none_or(|strength| strength.within),
                }),
                Err(other) => panic!("{}: {other}", words(weight, rate, strength)),
            }
        }
    }
    (count, out)
}

fn words(
    weight: &Typed<BodyWeight>,
    rate: &Typed<DoseRate>,
    strength: Option<&Typed<Strength>>,
) -> String {
    let strength = strength.map_or("no strength", |strength| &strength.text);
    format!("{}, {}, {strength}", weight.text, rate.text)
}

/// Beyond what any patient weighs and any label says, out of range is an answer; a wrong figure
/// is none anywhere.
#[test]
fn every_corner_is_exact_and_none_that_can_be_is_out_of_range() {
    let (count, out) = walk();
    let within: Vec<&str> = out
        .iter()
        .filter(|at| at.within)
        .map(|at| at.text.as_str())
        .collect();
    let first = within
        .iter()
        .take(10)
        .copied()
        .collect::<Vec<_>>()
        .join("\n");
    assert!(
        within.is_empty(),
        "{} of {count} out of range:\n{first}",
        within.len()
    );
}
