//! Two general unit-aware calculators, which share no code with the program or each other, agree
//! with it exactly on thousands of random doses.
//!
//! They are given the text that the program is given, respelled in their notation figure by
//! figure, and their answers are compared as fractions. fend knows no international units; rink
//! does. Neither knows milligrams of medicine from milligrams of animal: `mixing.rs` is for that.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

use rink_core::output::QueryReply;
use scruple::notation::{DailyRate, Notation, NotationError, Written};
use scruple::quantity::{Amount, BodyWeight, DoseRate, Exact, Measure, Strength};

const CASES: u64 = 4_000;

/// One random dose, in the words of a prescription and a label.
#[derive(Debug)]
struct Case {
    weight: String,
    /// "13 mg/kg" or "40 mg/kg per day in 3 doses".
    rate: String,
    strength: String,
    /// So much of the product, to be worked back: "0.05 mL".
    given: String,
}

/// A small generator of repeatable throws (SplitMix64, from memory); a failure names its case.
struct Dice(u64);

impl Dice {
    fn below(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % sides
    }

    fn pick<'a>(&mut self, from: &[&'a str]) -> &'a str {
        let sides = u64::try_from(from.len()).unwrap();
        from[usize::try_from(self.below(sides)).unwrap()]
    }

    /// A figure of at most 8 digits, 4 of them decimals, as a careful person writes it.
    fn figure(&mut self) -> String {
        let decimals = u32::try_from(self.below(5)).unwrap();
        let digits = u32::try_from(1 + self.below(8)).unwrap();
        let n = 1 + self.below(10_u64.pow(digits) - 1);
        let scale = 10_u64.pow(decimals);
        let (whole, part) = (n / scale, n % scale);
        let mut text = whole.to_string();
        let length = text.len();
        for at in (1..length).rev() {
            if (length - at).is_multiple_of(3) {
                text.insert(at, ',');
            }
        }
        if part > 0 {
            let part = format!("{part:0width$}", width = usize::try_from(decimals).unwrap());
            text = format!("{text}.{}", part.trim_end_matches('0'));
        }
        text
    }

    fn with(&mut self, units: &[&str]) -> String {
        format!("{} {}", self.figure(), self.pick(units))
    }

    /// Throws again where no patient or label comes to that much, which is not accepted.
    fn no_larger_than_life<T: Notation>(&mut self, throw: impl Fn(&mut Dice) -> String) -> String {
        loop {
            let text = throw(self);
            if !matches!(T::read(&text), Err(NotationError::TooLarge { .. })) {
                return text;
            }
        }
    }

    fn case(&mut self) -> Case {
        let mass = ["mcg", "mg", "g"];
        let (dose, strength, given) = match self.below(7) {
            0 => {
                let strength = self.no_larger_than_life::<Strength>(|dice| {
                    let volume = dice.with(&["mL", "L"]);
                    format!("{} per {volume}", dice.with(&mass))
                });
                (self.pick(&mass), strength, "mL")
            }
            1 => (
                self.pick(&mass),
                self.with(&["mg/mL", "mcg/mL", "g/mL", "mg/L"]),
                "mL",
            ),
            2 => (self.pick(&mass), self.with(&["% w/v"]), "mL"),
            3 => (self.pick(&mass), format!("1:{}", self.figure()), "mL"),
            4 => ("units", self.with(&["units/mL", "units/L"]), "mL"),
            5 => (
                self.pick(&mass),
                self.with(&["mg/g", "mcg/g"]),
                "g of paste",
            ),
            _ => (
                self.pick(&mass),
                self.with(&["mg per tablet", "g per tablet"]),
                "tablets",
            ),
        };
        let mut rate = format!("{} {dose}/{}", self.figure(), self.pick(&["kg", "lb"]));
        if self.below(3) == 0 {
            rate = format!("{rate} per day in {} doses", 2 + self.below(11));
        }
        Case {
            weight: self
                .no_larger_than_life::<BodyWeight>(|dice| dice.with(&["g", "kg", "lb", "oz"])),
            rate,
            strength,
            given: self.with(&[given]),
        }
    }
}

fn cases() -> impl Iterator<Item = Case> {
    let mut dice = Dice(20);
    (0..CASES).map(move |_| dice.case())
}

fn read<T: Notation + Copy>(text: &str) -> T {
    let written: Written<T> = T::read(text).unwrap_or_else(|error| panic!("{text}: {error}"));
    written.value()
}

fn fraction(value: Exact) -> String {
    match (value.numerator(), value.denominator()) {
        (n, 1) => n.to_string(),
        (n, d) => format!("{n}/{d}"),
    }
}

impl Case {
    /// The measure of one dose, by the program.
    fn to_give(&self) -> Exact {
        let rate = if self.rate.contains("day") {
            read::<DailyRate>(&self.rate).each
        } else {
            read::<DoseRate>(&self.rate)
        };
        let dose = rate.for_weight(read::<BodyWeight>(&self.weight)).unwrap();
        dose.measure(Some(read(&self.strength))).unwrap().figure()
    }

    /// What was given, worked back to milligrams or units for each gram, by the program.
    fn rate_given(&self) -> Exact {
        let given = match read::<Amount>(&self.given) {
            Amount::Volume(volume) => Measure::Volume(volume),
            Amount::Product(mass) => Measure::Product(mass),
            Amount::Tablets(tablets) => Measure::Tablets(tablets),
            other => panic!("{other:?}"),
        };
        let dose = given.holds(Some(read::<Strength>(&self.strength))).unwrap();
        match dose.per_weight(read(&self.weight)).unwrap() {
            Some(DoseRate::Mass(rate)) => rate.milligrams_per_gram(),
            Some(DoseRate::Activity(rate)) => rate.units_per_gram(),
            other => panic!("{other:?}"),
        }
    }

    fn is_in_units(&self) -> bool {
        self.rate.contains("unit")
    }

    /// The same questions in the calculators' notation: the answer is a number without a unit.
    fn asked(&self) -> [String; 2] {
        let [weight, rate, strength, given] =
            [&self.weight, &self.rate, &self.strength, &self.given].map(|text| respelled(text));
        let (measured_in, rate_in) = match self.given.split_once(' ').unwrap().1 {
            "mL" => (
                "1 mL",
                if self.is_in_units() {
                    "1 IU/g"
                } else {
                    "1 mg/g"
                },
            ),
            "g of paste" => ("1 g", "1 mg/g"),
            _ => ("1", "1 mg/g"),
        };
        [
            format!("({weight}) * ({rate}) / ({strength}) / ({measured_in})"),
            format!("({given}) * ({strength}) / ({weight}) / ({rate_in})"),
        ]
    }
}

/// Our text in the calculators' spelling. Nothing is computed here: the figures stay as typed.
fn respelled(text: &str) -> String {
    let text = text
        .replace(',', "")
        .replace("mcg", "ug")
        .replace("units", "IU")
        .replace(" of paste", "")
        .replace(" per tablet", "")
        .replace(" tablets", "");
    if let Some(parts) = text.strip_prefix("1:") {
        return format!("1 g / ({parts} mL)");
    }
    if let Some(percent) = text.strip_suffix(" % w/v") {
        return format!("{percent} g / (100 mL)");
    }
    if let Some((daily, doses)) = text.split_once(" per day in ") {
        return format!("({daily}) / {}", doses.trim_end_matches(" doses"));
    }
    match text.split_once(" per ") {
        Some((dose, volume)) => format!("({dose}) / ({volume})"),
        None => text,
    }
}

#[test]
fn fend_agrees() {
    let mut fend = fend_core::Context::new();
    for case in cases().filter(|case| !case.is_in_units()) {
        let ours = [case.to_give(), case.rate_given()].map(fraction);
        let theirs = case.asked().map(|question| {
            let question = format!("({question}) to fraction");
            let answer = fend_core::evaluate(&question, &mut fend);
            answer.unwrap().get_main_result().to_owned()
        });
        assert_eq!(ours, theirs, "{case:?}");
    }
}

#[test]
fn rink_agrees_in_units_too() {
    let mut rink = rink_core::simple_context().unwrap();
    let mut in_units = 0;
    for case in cases() {
        in_units += u64::from(case.is_in_units());
        let ours = [case.to_give(), case.rate_given()].map(fraction);
        let theirs = case.asked().map(|question| {
            let answer = match rink_core::eval(&mut rink, &question) {
                Ok(QueryReply::Number(parts)) => parts.raw_value.unwrap(),
                other => panic!("{question}: {other:?}"),
            };
            assert!(answer.dimless(), "{question}");
            let (n, d) = answer.value.to_rational();
            let (n, d) = (n.to_string(), d.to_string());
            if d == "1" { n } else { format!("{n}/{d}") }
        });
        assert_eq!(ours, theirs, "{case:?}");
    }
    assert!(in_units > CASES / 10, "only {in_units} cases in units");
}

/// The respelling only moves words about; were it to lose one, both calculators would be asked
/// something else.
#[test]
fn text_is_respelled_without_computing() {
    for (ours, theirs) in [
        ("1,234.5 g", "1234.5 g"),
        ("6 mcg/kg", "6 ug/kg"),
        ("100,000 units/mL", "100000 IU/mL"),
        ("40 mg/kg per day in 2 doses", "(40 mg/kg) / 2"),
        ("25 mg per 5 mL", "(25 mg) / (5 mL)"),
        ("2.5 % w/v", "2.5 g / (100 mL)"),
        ("1:1,000", "1 g / (1000 mL)"),
        ("50 mg per tablet", "50 mg"),
        ("0.5 tablets", "0.5"),
        ("0.2 g of paste", "0.2 g"),
    ] {
        assert_eq!(respelled(ours), theirs);
    }
}
