//! A dose of the program's and the same dose worked by hand, side by side.
//!
//! Promises: the program gets text and is asked as its commands ask it; what it answers is put
//! beside the second opinion figure by figure.

use crate::big::Fraction;
use crate::by_hand::{Mark, Row, Weighed, Why, high, lost, spread};
use crate::doses::Case;
use chrono::{DateTime, TimeDelta, Utc};
use scruple::animal::{Weighing, Weights};
use scruple::caution::{Caution, NoMark, Since};
use scruple::dose::{self, Ask, AtHand, Formula, InHand, WeightRule, Worked};
use scruple::notation::Notation;
use scruple::prescription::{Dose, Prescription};
use scruple::quantity::{Amount, DoseRate, Exact, ProductMass};
use scruple::rack::Use;
use scruple::schedule::Zone;
use scruple::settings::{PaperSize, Settings};

/// The kinds of answer that the cases must have among them.
pub const EVERY_KIND: [&str; 12] = [
    "mark",
    "capped",
    "rounds far",
    "several draws",
    "a kept syringe",
    "NoWeight",
    "TooOld",
    "TooSmall",
    "Beyond",
    "TooLarge",
    "NoSyringe",
    "OnlyInsulin",
];

impl Case {
    /// What comes out by hand, in names.
    pub fn kinds(&self) -> Vec<String> {
        let weight = self.weighings.first().map(|(weighed, _)| weighed);
        let Some((amount, capped)) = self.wish.amount(weight.map(|weighed| &weighed.grams)) else {
            return vec![format!("{:?}", Why::NoWeight)];
        };
        let mut kinds = Vec::new();
        kinds.extend(capped.then(|| "capped".to_owned()));
        let old = self.wish.rate.is_some() && weight.is_some_and(|one| one.days_ago > 28);
        kinds.extend(old.then(|| format!("{:?}", Why::TooOld)));
        let volume = self.wish.measure(&amount);
        match self
            .wish
            .choose(&self.tools, self.mouth, &volume, (self.named, self.last))
        {
            Err(why) => kinds.extend(why.iter().map(|why| format!("{why:?}"))),
            Ok((place, mark, marks)) => {
                kinds.push("mark".to_owned());
                kinds.extend(self.wish.rounds_far(&mark).then(|| "rounds far".to_owned()));
                kinds.extend((mark.draws > 1).then(|| "several draws".to_owned()));
                kinds.extend((marks[0].0 != place).then(|| "a kept syringe".to_owned()));
            }
        }
        kinds
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
                hold("ladder", worked.ladder().len().to_string(), "0".to_owned());
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
            let theirs: Vec<Row> = worked.ladder().iter().map(row).collect();
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
        let little = |place: usize, mark: &Mark| {
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
            zone: Zone::UTC,
        })
    }
}

fn exact(value: Exact) -> Fraction {
    Fraction::new(value.numerator(), value.denominator())
}

fn same(theirs: &Fraction, ours: &Fraction) -> String {
    if theirs == ours {
        "same".to_owned()
    } else {
        format!("{theirs:?} and not {ours:?}")
    }
}

fn amount_of(amount: Amount) -> Fraction {
    exact(match amount {
        Amount::Mass(mass) => mass.milligrams(),
        Amount::Activity(activity) => activity.units(),
        Amount::Volume(volume) => volume.millilitres(),
        Amount::Product(mass) => mass.grams(),
        Amount::Tablets(tablets) => tablets.count(),
    })
}

fn rate_of(rate: DoseRate) -> Fraction {
    exact(match rate {
        DoseRate::Mass(rate) => rate.milligrams_per_gram(),
        DoseRate::Activity(rate) => rate.units_per_gram(),
        DoseRate::Volume(rate) => rate.millilitres_per_gram(),
    })
}

fn row(row: &scruple::dose::Row) -> Row {
    Row {
        first: exact(row.first.grams()),
        last: exact(row.last.grams()),
        lines: row.mark.as_ref().map(|mark| mark.lines.into()),
        call: row.call,
        today: row.today,
    }
}

fn reason(reason: &NoMark) -> Why {
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
