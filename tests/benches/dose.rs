//! How long one dose takes, exactly, beside bare floats. Run with `cargo bench`; the items per
//! second are doses.
//!
//! `checked_dose` is what the program does for one dose on one syringe: the calculated dose, the
//! mark, its difference and the limits. `lines_only` stops at rate x weight / strength to the
//! nearest line, which is also all that `bare_float_lines` does. The floats are here to be timed
//! against and nothing else: they draw some doses to the wrong line.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a benchmark may stop at once"
)]

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use scruple::caution::Whose;
use scruple::dose::Formula;
use scruple::notation::{Notation, Written};
use scruple::prescription::Dose;
use scruple::quantity::{BodyWeight, DoseRate, Exact, Strength};
use scruple::rack::{
    Instrument, Limits, Mark, Needle, PrintedScale, Rounding, Syringe, Unfit, Use,
};

/// One dose as typed: weight in g, rate in mg/kg, strength in mg/mL, graduation in mL.
type Typed = (String, &'static str, &'static str, &'static str);

/// Ordinary doses for small animals. The rates, strengths and weights are only numbers.
fn typed() -> Vec<Typed> {
    let mut doses = Vec::new();
    for tenths in (50..2_000).step_by(50) {
        for rate in ["0.2", "2.5", "13", "20", "50"] {
            for (strength, graduation) in [("5", "0.01"), ("8", "0.005"), ("22.7", "0.01")] {
                let weight = format!("{}.{}", tenths / 10, tenths % 10);
                doses.push((weight, rate, strength, graduation));
            }
        }
    }
    doses
}

struct Exactly {
    weight: BodyWeight,
    rate: DoseRate,
    strength: Strength,
    formula: Formula,
    syringe: Instrument,
}

fn exactly() -> Vec<Exactly> {
    fn read<T: Notation>(figure: &str, unit: &str) -> Written<T> {
        T::read(&format!("{figure} {unit}")).unwrap()
    }
    let read = |(weight, rate, strength, graduation): &Typed| {
        let rate = read::<DoseRate>(rate, "mg/kg");
        let strength = read::<Strength>(strength, "mg/mL");
        let syringe = Syringe::new(
            read("2", "mL"),
            read(graduation, "mL"),
            Use::Mouth,
            Needle::Tip,
            PrintedScale::Millilitres,
            None,
            None,
        );
        Exactly {
            weight: read::<BodyWeight>(weight, "g").value(),
            rate: rate.value(),
            strength: strength.value(),
            formula: Formula {
                dose: Dose::PerBodyWeight(rate),
                strength: Some(strength),
                max_dose: None,
                max_per_site: None,
                rounding: Rounding::Nearest,
                limits: Limits {
                    caution_above: Exact::ratio(1, 20),
                    none_above: Exact::ratio(1, 10).unwrap(),
                },
                limits_whose: Whose::Program,
            },
            syringe: Instrument::Syringe(syringe.unwrap()),
        }
    };
    typed().iter().map(read).collect()
}

impl Exactly {
    fn lines(&self) -> i128 {
        let dose = self.rate.for_weight(self.weight).unwrap();
        let measure = dose.measure(Some(self.strength)).unwrap();
        let steps = measure.over(self.syringe.step()).unwrap();
        steps.nearest_tie_down().unwrap()
    }

    fn mark(&self) -> Result<Mark, Unfit> {
        self.formula.mark(Some(self.weight), &self.syringe, None)
    }
}

struct Floating {
    weight_g: f64,
    rate_mg_per_kg: f64,
    strength_mg_per_ml: f64,
    graduation_ml: f64,
}

fn floating() -> Vec<Floating> {
    let figure = |text: &str| text.parse().unwrap();
    let parse = |(weight, rate, strength, graduation): &Typed| Floating {
        weight_g: figure(weight),
        rate_mg_per_kg: figure(rate),
        strength_mg_per_ml: figure(strength),
        graduation_ml: figure(graduation),
    };
    typed().iter().map(parse).collect()
}

impl Floating {
    fn lines(&self) -> f64 {
        let milligrams = self.weight_g / 1_000.0 * self.rate_mg_per_kg;
        (milligrams / self.strength_mg_per_ml / self.graduation_ml - 0.5).ceil()
    }
}

#[divan::bench]
fn checked_dose(bencher: Bencher) {
    let doses = exactly();
    bencher.counter(ItemsCount::new(doses.len())).bench(|| {
        for dose in &doses {
            let _ = black_box(black_box(dose).mark());
        }
    });
}

#[divan::bench]
fn lines_only(bencher: Bencher) {
    let doses = exactly();
    bencher.counter(ItemsCount::new(doses.len())).bench(|| {
        for dose in &doses {
            black_box(black_box(dose).lines());
        }
    });
}

#[divan::bench]
fn bare_float_lines(bencher: Bencher) {
    let doses = floating();
    bencher.counter(ItemsCount::new(doses.len())).bench(|| {
        for dose in &doses {
            black_box(black_box(dose).lines());
        }
    });
}

fn main() {
    divan::main();
}
