//! One dose at random: as a prescription and weighings in text for the program, and as fractions
//! for the second opinion.

use crate::big::Fraction;
use crate::by_hand::{Direction, Tool, Weighed, Wish};
use crate::chance::Chance;
use crate::written::{
    Figure, MASSES, Quantity, WEIGHTS, about, counting, milligrams_per_millilitre,
};
use scruple::notation::Notation;
use scruple::rack::{Needle, PrintedScale, Syringe, Use};

/// Barrels: capacity and line in thousandths of a mL, needle, for the mouth, insulin scale.
const BARRELS: [(i64, i64, Needle, bool); 12] = [
    (300, 5, Needle::Fixed, true),
    (500, 10, Needle::Fixed, true),
    (500, 5, Needle::Fixed, false),
    (1_000, 10, Needle::Hub, false),
    (1_000, 20, Needle::Tip, false),
    (1_000, 10, Needle::Tip, false),
    (2_500, 100, Needle::Hub, false),
    (3_000, 100, Needle::Tip, false),
    (5_000, 200, Needle::Hub, false),
    (5_000, 200, Needle::Tip, false),
    (10_000, 200, Needle::Hub, false),
    (20_000, 1_000, Needle::Tip, false),
];

/// What one dose is worked from.
#[derive(Debug)]
pub struct Case {
    pub wish: Wish,
    pub script: String,
    pub mouth: bool,
    pub tools: Vec<Tool>,
    pub syringes: Vec<Syringe>,
    pub named: Option<usize>,
    pub last: Option<usize>,
    pub weighings: Vec<(Weighed, String)>,
    pub readable: Quantity,
    pub start: Option<usize>,
}

fn thousandths(n: i64) -> String {
    let (mut digits, mut decimals) = (n, 3);
    while decimals > 0 && digits % 10 == 0 {
        (digits, decimals) = (digits / 10, decimals - 1);
    }
    format!("{} mL", Figure { digits, decimals }.text())
}

/// The words of the dose, of the strength and of the amounts that bound it.
struct Words {
    dose: String,
    strength: Option<String>,
    schedule: String,
    unit: (&'static str, i128, i128),
    in_all: f64,
}

impl Case {
    pub fn new(case: u64) -> Case {
        let chance = &mut Chance::of_case(case);
        let kind = chance.one(&[
            "mass", "mass", "mass", "day", "units", "volume", "tablets", "paste", "fixed",
        ]);
        let mouth = matches!(kind, "tablets" | "paste") || chance.once_in(2);
        let mut barrels = BARRELS.to_vec();
        let mut rack = Vec::new();
        for _ in 0..chance.from(1, 4) {
            rack.push(barrels.remove(chance.from(0, barrels.len() as i64 - 1) as usize));
        }
        let (weight, readable) = weight(chance);
        // A volume that one of the barrels may measure, or is a little too small or large for.
        let barrel = chance.one(&rack);
        let wanted = barrel.0 as f64 / 1_000.0 * chance.share().powi(2) * 1.2 + 0.001;
        let grams = weight.1;
        let (mut wish, words) = the_dose(kind, grams, wanted, mouth, chance);
        let mut more = String::new();
        if wish.fixed.is_none() && chance.once_in(4) {
            let most = about(words.in_all * (0.5 + chance.share()), words.unit, chance);
            more += &format!("max_dose: \"{}\",", most.text);
            wish.most = Some(most.worth);
        }
        let drawn = !matches!(kind, "tablets" | "paste") && !words.dose.contains("tablet");
        if !mouth && drawn && chance.once_in(4) {
            let most = about(wanted * (0.2 + chance.share()), ("mL", 1, 1), chance);
            more += &format!("max_per_site: \"{}\",", most.text);
            wish.most_per_site = Some(most.worth);
        }
        let (name, direction) = chance.one(&[
            ("", Direction::Nearest),
            ("Nearest", Direction::Nearest),
            ("Down", Direction::Down),
            ("Up", Direction::Up),
        ]);
        wish.direction = direction;
        if !name.is_empty() {
            more += &format!("round: {name},");
        }
        if chance.once_in(3) {
            let percent = chance.one(&[1_i64, 3, 7, 12, 25, 40]);
            more += &format!("tolerance: \"{percent} percent\",");
            wish.tolerance = Some(Fraction::new(percent.into(), 100));
        }
        let (mut tools, syringes): (Vec<Tool>, Vec<Syringe>) = rack.iter().map(barrel_of).unzip();
        if kind == "tablets" || words.dose.contains("tablet") {
            let (name, parts) = chance.one(&[("Whole", 1), ("Halves", 2), ("Quarters", 4)]);
            let parts = if kind == "fixed" { 4 } else { parts };
            let name = if kind == "fixed" { "Quarters" } else { name };
            more += &format!("tablets: {name},");
            tools = vec![no_barrel(Fraction::new(1, parts))];
        } else if kind == "paste" {
            tools = vec![no_barrel(Fraction::new(1, 10))];
        }
        let place = |chance: &mut Chance| chance.from(0, syringes.len() as i64 - 1) as usize;
        let barrels = tools[0].capacity.is_some();
        let named = (barrels && chance.once_in(8)).then(|| place(chance));
        let last = (barrels && chance.once_in(3)).then(|| place(chance));
        let strength = words
            .strength
            .map_or(String::new(), |s| format!(", strength: \"{s}\""));
        let route = if mouth {
            "ByMouth"
        } else {
            "Injection(\"somewhere\")"
        };
        let script = format!(
            "Prescription(reference: \"CASE-1\", written: \"2001-03-05\", \
             vet: Vet(name: \"Dr A. Example\", phone: \"555 0134\"), animals: [\"Thimblo\"], \
             medicine: Medicine(name: \"Madeup Amber\"{strength}), dose: {}, route: {route}, \
             schedule: {}, after_late: Call, {more})",
            words.dose, words.schedule
        );
        let weighings = weighings(weight, &readable, chance);
        let start = chance.from(0, weighings.len() as i64 + 1) as usize;
        Case {
            wish,
            script,
            mouth,
            tools,
            syringes,
            named,
            last,
            start: (start < weighings.len()).then_some(start),
            weighings,
            readable,
        }
    }
}

/// A body weight of 5 g to some kg, and a scale that reads it.
fn weight(chance: &mut Chance) -> ((Quantity, f64, i64, usize, usize), Quantity) {
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
fn weighings(
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

fn the_dose(
    kind: &str,
    grams: f64,
    wanted: f64,
    mouth: bool,
    chance: &mut Chance,
) -> (Wish, Words) {
    let mut wish = Wish {
        rate: None,
        fixed: None,
        strength: None,
        in_units: kind == "units",
        most: None,
        most_per_site: None,
        direction: Direction::Nearest,
        tolerance: None,
    };
    let mut schedule = "Once".to_owned();
    let mg = ("mg", 1, 1);
    let (strength, unit) = match kind {
        "mass" | "day" => (
            Some(milligrams_per_millilitre(chance)),
            chance.one(&MASSES[..2]),
        ),
        "units" => {
            let wanted = 10_f64.powf(chance.share() * 4.0);
            let each = about(wanted, ("units", 1, 1), chance);
            let text = format!("{}/mL", each.text);
            (
                Some(Quantity {
                    text,
                    worth: each.worth,
                }),
                ("units", 1, 1),
            )
        }
        "tablets" => {
            let each = about(5.0 + chance.share() * 95.0, mg, chance);
            let text = format!("{} per tablet", each.text);
            (
                Some(Quantity {
                    text,
                    worth: each.worth,
                }),
                mg,
            )
        }
        "paste" => {
            let each = about(1.0 + chance.share() * 50.0, mg, chance);
            let text = format!("{}/g", each.text);
            (
                Some(Quantity {
                    text,
                    worth: each.worth,
                }),
                mg,
            )
        }
        "volume" => (None, ("mL", 1, 1)),
        _ if mouth && chance.once_in(3) => {
            let quarters = chance.from(1, 9);
            let figure = Figure {
                digits: quarters * 25,
                decimals: 2,
            };
            let unit = if quarters == 4 { "tablet" } else { "tablets" };
            let text = format!("{} {unit}", figure.text());
            wish.fixed = Some(Fraction::new(quarters.into(), 4));
            let dose = format!("Fixed(\"{text}\")");
            return (
                wish,
                Words {
                    dose,
                    strength: None,
                    schedule,
                    unit: mg,
                    in_all: 1.0,
                },
            );
        }
        _ if chance.once_in(2) => (Some(milligrams_per_millilitre(chance)), mg),
        _ => (None, ("mL", 1, 1)),
    };
    let each = strength
        .as_ref()
        .map_or(1.0, |strength| rough(&strength.worth));
    let wanted = match kind {
        "tablets" => 0.2 + chance.share() * 3.0,
        "paste" => 0.05 + chance.share() * 3.0,
        _ => wanted,
    };
    let in_all = wanted * each;
    wish.strength = strength.as_ref().map(|strength| strength.worth.clone());
    let dose = if kind == "fixed" {
        let amount = about(in_all, unit, chance);
        wish.fixed = Some(amount.worth);
        format!("Fixed(\"{}\")", amount.text)
    } else {
        let (per, top, bottom) = chance.one(&[("kg", 1_000, 1), ("kg", 1_000, 1), WEIGHTS[2]]);
        let times = if kind == "day" { chance.from(1, 4) } else { 1 };
        let of_one = in_all / grams * top as f64 / bottom as f64 * times as f64;
        let rate = Figure::near(of_one * unit.2 as f64 / unit.1 as f64, counting(chance));
        let per_gram = rate
            .worth()
            .times(&Fraction::new(unit.1, unit.2))
            .over(&Fraction::new(top, bottom));
        wish.rate = Some(per_gram.over(&Fraction::whole(times.into())));
        let name = unit.0;
        let rate = format!("{} {name}/{per}", rate.text());
        if kind == "day" {
            let hours: Vec<String> = (0..times)
                .map(|n| format!("\"{:02}:00\"", 6 + n * 5))
                .collect();
            schedule = format!("AtTimes(times: [{}], days: 3)", hours.join(", "));
            let noun = if times == 1 { "dose" } else { "doses" };
            format!("PerDay(\"{rate} per day in {times} {noun}\")")
        } else {
            format!("PerBodyWeight(\"{rate}\")")
        }
    };
    let strength = strength.map(|strength| strength.text);
    (
        wish,
        Words {
            dose,
            strength,
            schedule,
            unit,
            in_all,
        },
    )
}

/// For making up cases only.
fn rough(worth: &Fraction) -> f64 {
    let thousand = worth.times(&Fraction::whole(1_000_000)).floor();
    thousand as f64 / 1_000_000.0
}

fn no_barrel(step: Fraction) -> Tool {
    Tool {
        step,
        capacity: None,
        mouth: true,
        insulin: false,
    }
}

fn barrel_of(&(capacity, line, needle, insulin): &(i64, i64, Needle, bool)) -> (Tool, Syringe) {
    let mouth = needle == Needle::Tip;
    let tool = Tool {
        step: Fraction::new(line.into(), 1_000),
        capacity: Some(Fraction::new(capacity.into(), 1_000)),
        mouth,
        insulin,
    };
    let scale = if insulin {
        PrintedScale::InsulinU100
    } else {
        PrintedScale::Millilitres
    };
    let syringe = Syringe::new(
        Notation::read(&thousandths(capacity)).unwrap(),
        Notation::read(&thousandths(line)).unwrap(),
        if mouth { Use::Mouth } else { Use::Injection },
        needle,
        scale,
        None,
        None,
    );
    (tool, syringe.unwrap())
}
