//! One dose at random: as a prescription and weighings in text for the program, and as fractions
//! for the second opinion; then the two answers side by side.

use crate::big::Fraction;
use crate::by_hand::{Direction, Row, Tool, Weighed, Why, Wish, high, lost, spread};
use crate::chance::Chance;
use crate::theirs::{amount_of, exact, rate_of, reason, row, same};
use crate::weighed::{weighings, weight};
use crate::written::{
    Figure, MASSES, Quantity, WEIGHTS, about, counting, milligrams_per_millilitre,
};
use chrono::{DateTime, TimeDelta, Utc};
use scruple::animal::{Weighing, Weights};
use scruple::caution::{Caution, Since};
use scruple::dose::{self, Ask, AtHand, Formula, InHand, WeightRule, Worked};
use scruple::notation::Notation;
use scruple::prescription::{Dose, Prescription};
use scruple::quantity::{Amount, Exact, ProductMass};
use scruple::rack::{Needle, PrintedScale, Syringe, Use};
use scruple::settings::{PaperSize, Settings};

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
    wish: Wish,
    script: String,
    mouth: bool,
    tools: Vec<Tool>,
    syringes: Vec<Syringe>,
    named: Option<usize>,
    last: Option<usize>,
    weighings: Vec<(Weighed, String)>,
    readable: Quantity,
    start: Option<usize>,
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

    /// What the program says and what it should, where they part.
    pub fn differences(&self, chance_of_ladder: bool) -> Vec<String> {
        let worked = self.ask();
        let mut found = Vec::new();
        let mut hold = |what: &str, theirs: String, ours: String| {
            if theirs != ours {
                found.push(format!("{what}: the program {theirs}, by hand {ours}"));
            }
        };
        let weight = self.weighings.first().map(|(weighed, _)| weighed);
        let grams = weight.map(|weighed| &weighed.grams);
        let by_weight = self.wish.rate.is_some();
        let old = weight
            .filter(|_| by_weight)
            .map_or(0, |weight| weight.days_ago);
        let has = |test: fn(&Caution) -> bool| worked.cautions.iter().any(test);
        let old_words = has(|caution| matches!(caution, Caution::OldWeight { .. }));
        hold(
            "old",
            old_words.to_string(),
            (old > 7 && old <= 28).to_string(),
        );
        let calls = self.calls();
        let gone = |place: usize| {
            let call: &Option<(Fraction, Fraction)> = &calls[place];
            call.as_ref()
                .is_some_and(|(before, limit)| lost(before, grams.unwrap(), limit))
        };
        let of_month = has(|c| {
            matches!(
                c,
                Caution::Loss {
                    since: Since::HighOf28Days,
                    ..
                }
            )
        });
        hold("loss", of_month.to_string(), gone(0).to_string());
        let of_start = has(|c| {
            matches!(
                c,
                Caution::Loss {
                    since: Since::CourseStart,
                    ..
                }
            )
        });
        hold(
            "loss since start",
            of_start.to_string(),
            gone(1).to_string(),
        );
        let theirs = worked
            .mark
            .as_ref()
            .map_err(|why| why.iter().map(reason).collect::<Vec<_>>());
        let Some((amount, capped)) = self.wish.amount(grams) else {
            hold(
                "mark",
                format!("{:?}", theirs.err()),
                format!("{:?}", Some([Why::NoWeight])),
            );
            return found;
        };
        let said = worked.calculated.unwrap();
        hold(
            "amount",
            same(&amount_of(said.amount), &amount),
            "same".to_owned(),
        );
        let volume = self.wish.measure(&amount);
        hold(
            "measure",
            same(&exact(said.measure.figure()), &volume),
            "same".to_owned(),
        );
        hold("capped", said.capped.to_string(), capped.to_string());
        let spoken = has(|caution| matches!(caution, Caution::Capped { .. }));
        hold("cap spoken of", spoken.to_string(), capped.to_string());

        let chosen = self
            .wish
            .choose(&self.tools, self.mouth, &volume, (self.named, self.last));
        let mut why = if old > 28 { vec![Why::TooOld] } else { vec![] };
        let (place, mark, marks) = match chosen {
            Ok(chosen) => chosen,
            Err(more) => {
                why.extend(more);
                hold(
                    "mark",
                    format!("{:?}", theirs.err()),
                    format!("{:?}", Some(why)),
                );
                hold("ladder", worked.ladder.len().to_string(), "0".to_owned());
                return found;
            }
        };
        let tool = &self.tools[place];
        if chance_of_ladder && by_weight {
            let calls: Vec<_> = calls.into_iter().flatten().collect();
            let of = (tool, mark.draws);
            let rows = self
                .wish
                .ladder(grams.unwrap(), &self.readable.worth, of, &calls);
            let theirs: Vec<Row> = worked.ladder.iter().map(row).collect();
            let apart = theirs.iter().zip(&rows).find(|(a, b)| a != b);
            hold("rows", theirs.len().to_string(), rows.len().to_string());
            hold("row", format!("{apart:?}"), "None".to_owned());
        }
        if !why.is_empty() {
            hold(
                "mark",
                format!("{:?}", theirs.err()),
                format!("{:?}", Some(why)),
            );
            return found;
        }
        let drawn = match theirs {
            Ok(drawn) => drawn,
            Err(why) => {
                hold("mark", format!("{why:?}"), format!("{mark:?}"));
                return found;
            }
        };
        let their = &drawn.chosen.mark;
        if let Some(syringe) = drawn.chosen.instrument.syringe() {
            hold("syringe", syringe.words(), self.syringes[place].words());
        }
        let counts = format!("{} x {}", their.draws, their.lines);
        hold("lines", counts, format!("{} x {}", mark.draws, mark.lines));
        let held = self.wish.held(&mark.total);
        for (what, theirs, ours) in [
            ("each", exact(their.each.figure()), &mark.each),
            ("total", exact(their.total.figure()), &mark.total),
            ("difference", exact(their.difference), &mark.difference),
            ("held", amount_of(drawn.held), &held),
        ] {
            hold(what, same(&theirs, ours), "same".to_owned());
        }
        let rate = grams.map(|grams| held.over(grams));
        match (drawn.rate_at_mark.map(rate_of), rate) {
            (Some(theirs), Some(ours)) => {
                hold("rate at the mark", same(&theirs, &ours), "same".to_owned());
            }
            // Of paste and tablets counted as such there is no rate.
            (None, ours) => {
                let none = ours.is_none()
                    || !matches!(
                        drawn.held,
                        Amount::Mass(_) | Amount::Activity(_) | Amount::Volume(_)
                    );
                hold("rate at the mark", none.to_string(), "true".to_owned());
            }
            (Some(_), None) => hold("rate at the mark", "some".to_owned(), "none".to_owned()),
        }
        let rounded = has(|caution| matches!(caution, Caution::Rounded { .. }));
        hold(
            "rounded",
            rounded.to_string(),
            self.wish.rounds_far(&mark).to_string(),
        );
        let little = |place: usize, mark: &crate::by_hand::Mark| {
            let holds = self.tools[place].capacity.as_ref();
            holds.is_some_and(|holds| mark.each.over(holds) < Fraction::new(1, 5))
        };
        let spoken = has(|caution| matches!(caution, Caution::LittleOfTheBarrel { .. }));
        hold(
            "little of the barrel",
            spoken.to_string(),
            little(place, &mark).to_string(),
        );
        let (best, best_mark) = &marks[0];
        let better = *best != place
            && spread(&self.tools[*best], best_mark, &volume) < spread(tool, &mark, &volume);
        let spoken = has(|caution| matches!(caution, Caution::BetterSyringe { .. }));
        let ours = better && !little(place, &mark);
        hold("a better syringe", spoken.to_string(), ours.to_string());
        found
    }

    /// The weights a loss is held against, of 28 days and of the start, with their limits.
    fn calls(&self) -> [Option<(Fraction, Fraction)>; 2] {
        let weighed: Vec<Weighed> = self.weighings.iter().map(|(w, _)| w.clone()).collect();
        let high = high(&weighed).map(|one| (one.grams.clone(), Fraction::new(1, 10)));
        let start = self
            .start
            .map(|place| (weighed[place].grams.clone(), Fraction::new(1, 5)));
        [high, start]
    }

    fn ask(&self) -> Worked {
        let script = Prescription::read(&self.script, "case.ron");
        let script = script.unwrap_or_else(|faults| panic!("{faults}\n{}", self.script));
        let settings = Settings::new("UTC".to_owned(), PaperSize::A4, "1 g", false).unwrap();
        let (limits, limits_whose) =
            dose::limits(script.tolerance.as_ref().map(|t| t.value()), &settings);
        let formula = Formula {
            dose: script.doses[0].clone(),
            strength: script.strength().cloned(),
            max_dose: script.max_dose.clone(),
            max_per_site: script.max_per_site.clone(),
            rounding: script.rounding,
            limits,
            limits_whose,
        };
        let now: DateTime<Utc> = "2001-06-05T09:00:00Z".parse().unwrap();
        let weighings: Vec<Weighing> = self
            .weighings
            .iter()
            .zip(1..)
            .map(|((weighed, text), entry)| Weighing {
                entry,
                at: now - TimeDelta::days(weighed.days_ago) - TimeDelta::hours(1),
                weight: Notation::read(text).unwrap(),
                readability: Notation::read(&self.readable.text).unwrap(),
                tag: None,
            })
            .collect();
        let rule = WeightRule {
            fixed_dose: matches!(formula.dose, Dose::Fixed(_)),
            start: self.start.map(|place| weighings[place].clone()),
            ..WeightRule::default()
        };
        let used_for = if self.mouth {
            Use::Mouth
        } else {
            Use::Injection
        };
        dose::work(&Ask {
            formula: &formula,
            must_read: formula.strength.as_ref(),
            in_hand: InHand::Unopened,
            at_hand: AtHand {
                syringes: &self.syringes,
                used_for,
                cut: script.tablets,
                paste_scale: ProductMass::from_grams(Exact::ratio(1, 10).unwrap()),
                last_used: self.last.map(|place| &self.syringes[place]),
                named: self.named.map(|place| &self.syringes[place]),
            },
            weights: &Weights::new(weighings),
            weight_rule: &rule,
            last_drawn: None,
            settings: &settings,
            now,
            day: now.date_naive(),
            zone: chrono_tz::UTC,
        })
    }
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
