//! From a day's round to what its card prints.
//!
//! Promises: every pending dose has its panel, in the round's order, with its mark or every reason
//! for none; words are the round's, the checks' and the rack's own, set as a printed page has them.
//! Does not: compute, choose or round. A bottle's day of discarding stands on the page to prepare
//! from, where the bottle is set out, and not in every panel again.

mod prepare;

use chrono::{DateTime, FixedOffset};

use crate::caution::{Caution, Level, NoMark};
use crate::dose::{Drawn, InHand};
use crate::notation::fold;
use crate::prescription::Route;
use crate::rack::Instrument;
use crate::round::{DayDose, Round, rungs, said, say};
use crate::sheet::barrel::Scale;
use crate::sheet::card::facts::{
    self, Action, Alarm, Condition, Facts, Here, Mark, Panel, Phrase, Rung, Vet, VetWords, Weight,
};
use crate::sheet::text::curled;

/// What the card of a round prints; `made` is when it is made.
#[must_use]
pub fn facts(round: &Round, made: DateTime<FixedOffset>) -> Facts {
    Facts {
        day: round.day.format("%A %-d %B %Y").to_string(),
        day_short: format!("{}, {}", round.day.format("%a %-d %B %Y"), say::made(round)),
        made,
        version: format!("scruple {}", env!("CARGO_PKG_VERSION")),
        book_code: round.code.clone(),
        demonstration: round.settings.demonstration,
        vets: round.vets.iter().map(|vet| vet_of(vet)).collect(),
        prepare: prepare::prepare(round),
        panels: round.doses.iter().map(|dose| panel(dose, round)).collect(),
    }
}

fn vet_of(vet: &crate::prescription::Vet) -> Vet {
    Vet {
        name: vet.name.clone(),
        practice: vet.practice.clone(),
        phone: vet.phone.clone(),
        out_of_hours: vet.out_of_hours.clone(),
    }
}

fn panel(dose: &DayDose, round: &Round) -> Panel {
    let prescription = &dose.script.prescription;
    let animal = &dose.patient.animal;
    let drawn = dose.drawn();
    let several_vets = round.vets.len() > 1;
    let no_mark = !dose.no_mark.is_empty();
    let sites: Vec<String> = say::sites(dose).iter().map(|site| curled(site)).collect();
    Panel {
        demonstration: round.settings.demonstration || prescription.demonstration,
        alarms: alarms(dose, round),
        animal: animal.name.clone(),
        identification: say::identification(animal),
        alike: say::not_the_others(dose).map(|alike| curled(&alike)),
        last_dose: curled(&say::last_dose(dose.last, round.zone)),
        course: format!("course {}, {}", prescription.reference, say::dose_of(dose)),
        vet: several_vets.then(|| prescription.vet.name.clone()),
        medicine: prescription.medicine.name.clone(),
        bottle: bottle(dose),
        must_read: say::must_read(dose),
        it_reads: say::it_reads(dose),
        measure: drawn.map(|drawn| measure(&drawn.chosen.instrument)),
        conditions: conditions(dose, round),
        act: say::act(dose).to_owned(),
        action: action(dose),
        place: (!no_mark).then(|| {
            curled(&match sites.is_empty() {
                true => say::place(dose),
                false => say::route(prescription),
            })
        }),
        spat_out: spat_out(dose),
        sites,
        weight: say::weight_beside(dose, round),
        when: say::when(dose, round),
        ladder: ladder(dose),
        working: match (&dose.worked, drawn) {
            (Some(worked), Some(_)) => say::working(worked).iter().map(|l| curled(l)).collect(),
            _ => Vec::new(),
        },
        cautions: cautions(dose, round),
        vet_words: vet_words(dose, round),
    }
}

/// What the vet said afterwards, which is the newer word, then what the vet wrote.
fn vet_words(dose: &DayDose, round: &Round) -> Vec<VetWords> {
    let said = dose.said.iter().map(|said| VetWords {
        lead: said::instruction(said, round.zone),
        words: said.instruction.words.clone().unwrap_or_default(),
    });
    let rules = say::vet_rules(&dose.script.prescription).into_iter();
    let rules = rules.map(|lead| VetWords {
        lead,
        words: String::new(),
    });
    let written = say::vet_words(&dose.script.prescription);
    let written = written.into_iter().map(|(lead, words)| VetWords {
        lead: lead.to_owned(),
        words: words.to_owned(),
    });
    said.chain(rules).chain(written).collect()
}

/// Which bottle, where one is in the book, and its own name where the label has another.
fn bottle(dose: &DayDose) -> Option<String> {
    let (InHand::Bottle(bottle) | InHand::Gone(bottle)) = dose.in_hand else {
        return None;
    };
    let number = format!("bottle {}", bottle.number);
    let written = &dose.script.prescription.medicine.name;
    Some(if fold::same(&bottle.medicine, written) {
        number
    } else {
        format!("{number}, labelled {}", bottle.medicine)
    })
}

fn measure(instrument: &Instrument) -> (String, String) {
    let name = match instrument {
        Instrument::Syringe(_) => "Syringe",
        Instrument::Tablets(_) => "Tablet",
        Instrument::PasteScale(_) => "Scale",
    };
    (name.to_owned(), say::instrument(instrument))
}

/// The calls that this dose waits for, the loudest first.
fn calls<'d>(dose: &'d DayDose) -> impl Iterator<Item = &'d Caution> {
    let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    cautions.filter(|caution| caution.level() == Level::Call)
}

fn is_weighed_first(dose: &DayDose) -> bool {
    let mut cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    cautions.any(rungs::is_asked)
}

fn alarms(dose: &DayDose, round: &Round) -> Vec<Alarm> {
    let phone = &dose.script.prescription.vet.phone;
    let reasons = || dose.no_mark.iter();
    let mut alarms = Vec::new();
    let stop = reasons().find(|reason| reason.stops());
    alarms.extend(stop.map(|reason| Alarm::Stop {
        what: reason.headline().to_owned(),
        phone: phone.clone(),
    }));
    let animal = &dose.patient.animal;
    let asked = calls(dose).filter_map(|call| say::loss(animal, call, round.day));
    alarms.extend(asked.map(|(what, measured)| Alarm::Call {
        what,
        phone: phone.clone(),
        measured,
    }));
    let first = rungs::weigh_first(dose);
    alarms.extend(first.map(|what| Alarm::First {
        what: what.to_owned(),
    }));
    alarms
}

fn conditions(dose: &DayDose, round: &Round) -> Vec<Condition> {
    if !dose.no_mark.is_empty() {
        return Vec::new();
    }
    let call = dose.call_first().then_some(Condition::AfterCall);
    let weigh = is_weighed_first(dose).then_some(Condition::AfterWeighing);
    let wait = say::not_before(dose, round).map(Condition::NotBefore);
    let late = dose.is_late().then_some(Condition::Late);
    [call, weigh, wait, late].into_iter().flatten().collect()
}

fn action(dose: &DayDose) -> Action {
    match (dose.drawn(), &dose.worked, dose.no_mark.first()) {
        (Some(drawn), _, _) => Action::Mark(mark(drawn)),
        (None, None, None) => Action::Words(dose.dose.text().to_owned()),
        (None, _, reason) => Action::NoMark {
            why: reason.map_or("ask your vet".to_owned(), |reason| {
                curled(&say::instead_of_a_mark(reason))
            }),
            ask_vet: dose.no_mark.iter().any(NoMark::asks_the_vet),
        },
    }
}

fn mark(drawn: &Drawn) -> Mark {
    let chosen = &drawn.chosen;
    let spoken = chosen.instrument.spoken(chosen.mark.lines);
    let syringe = chosen.instrument.syringe();
    Mark {
        before: spoken.before.map(str::to_owned),
        figure: spoken.figure,
        unit: spoken.unit.map(str::to_owned),
        below: spoken.after,
        draws: say::draws(&chosen.mark),
        // The rack's marks are lines of its own syringes, so that each has its drawing.
        scale: syringe.and_then(|syringe| Scale::of(syringe, chosen.mark.lines).ok()),
    }
}

fn ladder(dose: &DayDose) -> Vec<Rung> {
    let here = match dose.drawn() {
        Some(_) => Here::Today,
        None => Here::OldWeight,
    };
    dose.ladder()
        .iter()
        .map(|row| Rung {
            weights: rungs::rung(row),
            mark: rungs::rung_mark(dose, row),
            call: row.call,
            here: row.today.then_some(here),
        })
        .collect()
}

fn cautions(dose: &DayDose, round: &Round) -> Vec<facts::Caution> {
    let said = |weight, words: &str| facts::Caution {
        weight,
        words: curled(words),
    };
    let reasons = dose.no_mark.iter().map(|reason| {
        let weight = if reason.stops() {
            Weight::Stop
        } else {
            Weight::NoMark
        };
        said(weight, &reason.to_string())
    });
    let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    let cautions = cautions.filter(|caution| !matches!(caution, Caution::DiscardAfter { .. }));
    let cautions = cautions.map(|caution| {
        let weight = match caution.level() {
            Level::Call => Weight::Call,
            Level::Caution => Weight::Caution,
            Level::Note => Weight::Note,
        };
        said(weight, &caution.to_string())
    });
    let history = say::history(dose, round.zone);
    let history = history.map(|words| said(Weight::Note, &words));
    reasons.chain(cautions).chain(history).collect()
}

/// What the one who gives it asks first, where the vet wrote nothing on it: what to do when some is
/// spat out. Where the vet did, that stands with the vet's own words.
fn spat_out(dose: &DayDose) -> Option<String> {
    let prescription = &dose.script.prescription;
    let silent = prescription.if_brought_up.is_none() && prescription.route == Route::ByMouth;
    (silent && dose.drawn().is_some()).then(|| "Spat out? Stop and call.".to_owned())
}

/// The same words in a phrase, set as a printed page has them.
fn set(phrase: &Phrase) -> Phrase {
    let stretches = phrase.stretches.iter();
    Phrase {
        stretches: stretches
            .map(|(bold, words)| (*bold, curled(words)))
            .collect(),
    }
}
