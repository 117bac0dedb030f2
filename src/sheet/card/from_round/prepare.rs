//! The page to prepare from: whom to call, what to set out, in which order to work.
//!
//! Promises: everything that the day's panels need is set out once; a mark is not repeated.
//! Does not: decide what is missing; the round has.

use crate::caution::NoMark;
use crate::dose::InHand;
use crate::notation::{Written, print};
use crate::prescription::Route;
use crate::quantity::Measure;
use crate::rack::{Cut, Instrument};
use crate::round::tell::follow_up_line;
use crate::round::{BottleUse, DayDose, Round, say};
use crate::sheet::card::facts::{Bottle, Needed, Phrase, Prepare, Turn};
use crate::sheet::card::from_round::{calls as calls_of, conditions, set};
use crate::sheet::text::curled;

/// What stands on the page to prepare from.
pub fn prepare(round: &Round) -> Prepare {
    let turns = turns(round);
    Prepare {
        warning: (!round.damaged.is_empty()).then(|| curled(&say::damaged(round))),
        calls: calls(round),
        bottles: round
            .bottles
            .iter()
            .map(|used| bottle(used, round))
            .collect(),
        things: things(round, turns.len()),
        done: round
            .done
            .iter()
            .map(|done| say::done(done, round.zone))
            .collect(),
        turns,
    }
}

fn owned(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

/// Every question for a vet, each once, so that one call answers all of them.
fn calls(round: &Round) -> Vec<Phrase> {
    let mut calls: Vec<Phrase> = Vec::new();
    let asked = |dose| {
        let asked = give_at_all(dose, round).chain(what_now(dose));
        asked.map(move |asked| (asked, dose))
    };
    for (question, dose) in round.doses.iter().flat_map(asked) {
        let question = match round.vets.len() {
            0 | 1 => question,
            _ => question.plain(&format!(" ({})", dose.script.prescription.vet.name)),
        };
        let question = set(&question);
        if !calls.contains(&question) {
            calls.push(question);
        }
    }
    for other in &round.off_card {
        let (headline, rest) = other.words();
        calls.push(set(&Phrase::new().bold(&headline).plain(&rest)));
    }
    calls
}

/// "**Nubbet** weighs 12 percent less: 50 g on Mon 5 March, now 44 g. Give at all?"
fn give_at_all<'d>(dose: &'d DayDose, round: &Round) -> impl Iterator<Item = Phrase> + use<'d> {
    let (animal, day) = (&dose.patient.animal, round.day);
    let asked = calls_of(dose).filter_map(move |call| say::loss(animal, call, day));
    asked.map(|(headline, weights)| {
        let lost = headline.strip_prefix(&animal.name).unwrap_or(&headline);
        Phrase::new()
            .bold(&animal.name)
            .plain(&format!("{lost} ({weights}): give at all?"))
    })
}

/// "**Ossin**, Madeup Dusk: bottle 4 reads 10 mg/mL, prescription 8 mg/mL. What now?" A dose that was not
/// recorded is a question for everyone else first.
fn what_now(dose: &DayDose) -> Option<Phrase> {
    let medicine = &dose.script.prescription.medicine.name;
    match dose.no_mark.first()? {
        NoMark::WrongStrength {
            bottle: Some(bottle),
            reads,
            must_read,
        } => {
            let animal = Phrase::new().bold(&dose.patient.animal.name);
            Some(animal.plain(&format!(
                ", {medicine}: bottle {bottle} reads {reads}, prescription {must_read}. What now?"
            )))
        }
        NoMark::NotRecorded { .. } => None,
        reason if reason.asks_the_vet() => {
            let animal = Phrase::new().bold(&dose.patient.animal.name);
            let why = uncapital(reason.headline());
            Some(animal.plain(&format!(", {medicine}: {why}. What now?")))
        }
        _ => None,
    }
}

fn uncapital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(char::to_lowercase);
    first.into_iter().flatten().chain(letters).collect()
}

/// The day's doses from a bottle.
fn doses_from<'r>(used: &BottleUse, round: &'r Round<'r>) -> impl Iterator<Item = &'r DayDose<'r>> {
    let number = used.bottle.map(|bottle| bottle.number);
    let medicine = used.medicine;
    round.doses.iter().filter(move |dose| match dose.in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) => Some(bottle.number) == number,
        InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => {
            number.is_none() && dose.script.prescription.medicine.name == medicine
        }
    })
}

fn bottle(used: &BottleUse, round: &Round) -> Bottle {
    let injected = doses_from(used, round)
        .any(|dose| matches!(dose.script.prescription.route, Route::Injection(_)));
    let route = match injected {
        true => "for injection".to_owned(),
        false => curled(&used.route),
    };
    let reads = used
        .bottle
        .filter(|bottle| !bottle.reads(used.must_read.as_ref()));
    let gone = doses_from(used, round).any(|dose| matches!(dose.in_hand, InHand::Gone(_)));
    let past = used
        .bottle
        .is_some_and(|bottle| bottle.last_day() < round.day);
    Bottle {
        medicine: used
            .bottle
            .map_or(used.medicine, |bottle| &bottle.medicine)
            .to_owned(),
        which: match used.bottle {
            Some(bottle) if past || reads.is_some() => {
                format!("SET ASIDE: bottle {}, {route}", bottle.number)
            }
            Some(bottle) => format!("bottle {}, {route}", bottle.number),
            None => format!("{route}; none in the book"),
        },
        must_read: used.must_read.as_ref().map(Written::to_string),
        it_reads: reads.map(|bottle| {
            let strength = bottle.strength.as_ref().map(Written::text);
            strength.unwrap_or("no strength").to_owned()
        }),
        needed: needed(used),
        discard_after: used
            .bottle
            .map(|bottle| say::date(bottle.last_day(), round.day)),
        remark: if gone {
            Some("gone: open the next".to_owned())
        } else {
            (past || reads.is_some()).then(|| "set aside".to_owned())
        },
    }
}

fn needed(used: &BottleUse) -> Needed {
    let draws = used.draws;
    if draws == 0 {
        return match used.without_mark {
            0 => Needed::Draws {
                words: "as your vet wrote".to_owned(),
                total: None,
            },
            _ => Needed::NoMark,
        };
    }
    let drawn = matches!(used.total, Some(Measure::Volume(_)));
    let mut words = match (drawn, draws) {
        (true, 1) => "1 draw".to_owned(),
        (true, draws) => format!("{draws} draws"),
        (false, 1) => "1 dose".to_owned(),
        (false, draws) => format!("{draws} doses"),
    };
    words.push_str(match (used.after_call, draws) {
        (false, _) => "",
        (true, 1) => ", after the call",
        (true, _) => ", after a call",
    });
    if used.without_mark > 0 {
        words.push_str(&format!("; {} without a mark", used.without_mark));
    }
    let several = used.total.filter(|_| draws > 1);
    let total = several.map(|total| {
        let total = print::measure(total);
        if used.hub_loss.is_zero() {
            format!("{total} in all")
        } else {
            let lost = print::volume(used.hub_loss);
            format!("{total} in all, and {lost} left in hubs")
        }
    });
    Needed::Draws { words, total }
}

/// Whether a needle is used for a dose, or may be once a ladder has been read.
fn needle(dose: &DayDose) -> bool {
    let injected = matches!(dose.script.prescription.route, Route::Injection(_));
    injected && (dose.drawn().is_some() || !dose.ladder().is_empty())
}

fn things(round: &Round, animals: usize) -> Vec<Phrase> {
    let mut things = Vec::new();
    for (instrument, draws) in &round.instruments {
        things.extend(match instrument {
            Instrument::Syringe(syringe) => {
                let many = if *draws == 1 { "syringe" } else { "syringes" };
                let count = print::count(u64::from(*draws));
                Some(
                    Phrase::new()
                        .bold(&count)
                        .plain(&format!(" {many} of {}", syringe.words())),
                )
            }
            Instrument::Tablets(Cut::Whole) | Instrument::PasteScale(_) => None,
            Instrument::Tablets(Cut::Halves | Cut::Quarters) => {
                Some(Phrase::from("a cutter for tablets"))
            }
        });
    }
    let readability = &round.settings.readability;
    things.push(Phrase::from(
        format!("a scale that reads {readability}; empty, it shows 0 g").as_str(),
    ));
    let pairs = if animals == 1 { "pair" } else { "pairs" };
    let sharps = match round.doses.iter().any(needle) {
        true => ", sharps box",
        false => "",
    };
    things.push(
        Phrase::new()
            .bold(&animals.to_string())
            .plain(&format!(" {pairs} of gloves{sharps}, pen")),
    );
    // What the vet wants beside the doses is set out with the rest.
    things.extend(round.beside.iter().map(|beside| {
        let what = follow_up_line(&beside.follow_up, round.zone);
        Phrase::new()
            .bold(&beside.patient.animal.name)
            .plain(&format!(
                ", {}: {what}",
                beside.script.prescription.reference
            ))
    }));
    things
}

/// Each animal once, with what it gets.
fn turns(round: &Round) -> Vec<Turn> {
    let mut turns: Vec<Turn> = Vec::new();
    let mut weight = String::new();
    for dose in &round.doses {
        let animal = &dose.patient.animal;
        if turns.last().is_none_or(|turn| turn.animal != animal.name) {
            finish(&mut turns, &weight);
            turns.push(Turn {
                animal: animal.name.clone(),
                identification: say::identification(animal),
                lines: Vec::new(),
                then: Vec::new(),
            });
            weight = format!("weight: {}", say::weight_beside(dose, round));
        }
        if let Some(turn) = turns.last_mut() {
            turn.lines.push(line(dose, round));
            if needle(dose) {
                turn.then = owned(&["sharps binned"]);
            }
        }
    }
    finish(&mut turns, &weight);
    if let Some((last, others)) = turns.split_last_mut() {
        for turn in others {
            let changed = owned(&["new gloves", "scale cleaned", "bench cleaned"]);
            turn.then.extend(changed);
        }
        last.then
            .splice(..0, owned(&["gloves off", "scale cleaned"]));
    }
    turns
}

fn finish(turns: &mut [Turn], weight: &str) {
    if let Some(turn) = turns.last_mut() {
        turn.lines.push(weight.to_owned());
    }
}

/// What it gets, without its mark: "Madeup Cobalt, by mouth: only after the call".
fn line(dose: &DayDose, round: &Round) -> String {
    let prescription = &dose.script.prescription;
    let route = curled(&say::route(prescription));
    let gets = format!("{}, {route}", prescription.medicine.name);
    let conditions: Vec<String> = conditions(dose, round)
        .iter()
        .map(ToString::to_string)
        .collect();
    match (dose.no_mark.is_empty(), conditions.is_empty()) {
        (false, _) => format!("{gets}: NO MARK"),
        (true, true) => gets,
        (true, false) => format!("{gets}: {}", conditions.join(", ")),
    }
}
