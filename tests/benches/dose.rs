//! How long one dose takes: rate x weight / strength to the nearest line, exactly, beside the
//! same in bare floats. Run with `cargo bench`; the items per second are doses.
//!
//! The floats are here to be timed against and nothing else: they draw some doses to the wrong
//! line.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a benchmark may stop at once"
)]

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use scruple::notation::Notation;
use scruple::quantity::{BodyWeight, DoseRate, Exact, Measure, Strength, Volume};

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
    graduation: Measure,
}

fn exactly() -> Vec<Exactly> {
    fn read<T: Notation + Copy>(figure: &str, unit: &str) -> T {
        T::read(&format!("{figure} {unit}")).unwrap().value()
    }
    let read = |(weight, rate, strength, graduation): &Typed| Exactly {
        weight: read(weight, "g"),
        rate: read(rate, "mg/kg"),
        strength: read(strength, "mg/mL"),
        graduation: Measure::Volume(read::<Volume>(graduation, "mL")),
    };
    typed().iter().map(read).collect()
}

impl Exactly {
    fn lines(&self) -> i128 {
        let dose = self.rate.for_weight(self.weight).unwrap();
        let measure = dose.measure(Some(self.strength)).unwrap();
        let steps: Exact = measure.over(self.graduation).unwrap();
        steps.nearest_tie_down().unwrap()
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
fn exact(bencher: Bencher) {
    let doses = exactly();
    bencher.counter(ItemsCount::new(doses.len())).bench(|| {
        for dose in &doses {
            black_box(black_box(dose).lines());
        }
    });
}

#[divan::bench]
fn bare_float(bencher: Bencher) {
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
