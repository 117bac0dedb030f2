//! A prescription said aloud: its figures in words, and what they come to for each animal.
//!
//! Promises: what is said is what was read; what it comes to is worked out by the one formula, by
//! the latest weight and with what is at hand, as the day's card will have it; nothing is kept.

use crate::caution::Level;
use crate::cli::desk::Open;
use crate::cli::failure::Failure;
use crate::course::judge_in;
use crate::ledger::{Patient, Script};
use crate::notation::print;
use crate::notation::spoken::spoken;
use crate::prescription::{Dose, Prescription};
use crate::round::{DayDose, Pick, Standing, day_dose, say};
use crate::schedule::Start;
use crate::terminal::wrapped;

/// The figures that a dose hangs on, in words, so that a slip of a digit can be heard.
pub(super) fn said_aloud(prescription: &Prescription) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(strength) = prescription.strength() {
        lines.push(format!("the strength is {}", spoken(strength.text())));
    }
    for (place, dose) in prescription.doses.iter().enumerate() {
        let part = match prescription.doses.len() {
            1 => String::new(),
            _ => format!(" in part {}", spoken(&(place + 1).to_string())),
        };
        lines.push(match dose {
            Dose::Application(_) => continue,
            Dose::PerDay(_) => format!("the dose{part} is {}", spoken(dose.text())),
            _ => format!("the dose{part} is {}, each time", spoken(dose.text())),
        });
    }
    if let Some(limit) = &prescription.max_dose {
        lines.push(format!(
            "never more than {} in one dose",
            spoken(limit.text())
        ));
    }
    if let Some(limit) = &prescription.max_per_day {
        lines.push(format!(
            "never more than {} in one day",
            spoken(limit.text())
        ));
    }
    if let Some(limit) = &prescription.max_per_site {
        lines.push(format!("at most {} in one site", spoken(limit.text())));
    }
    lines.push(format!(
        "it is given {}",
        spoken(&prescription.schedule.to_string())
    ));
    lines
}

/// What each dose comes to for each animal, by its latest weight; lines of a terminal's width.
pub(super) fn worked_out(
    open: &Open,
    prescription: &Prescription,
    start: Start,
) -> Result<Vec<String>, Failure> {
    let script = Script {
        entry: u64::MAX,
        entered: open.now,
        prescription: prescription.clone(),
        start,
        zone: open.zone,
    };
    let mut lines = Vec::new();
    for name in &prescription.animals {
        let patient = open.ledger.animal(name).map_err(Failure::not_accepted)?;
        for_animal(open, patient, &script, &mut lines)?;
    }
    Ok(lines)
}

fn for_animal(
    open: &Open,
    patient: &Patient,
    script: &Script,
    lines: &mut Vec<String>,
) -> Result<(), Failure> {
    let (ledger, zone, now) = (&open.ledger, open.zone, open.now);
    let course = judge_in(ledger, patient, script, zone, now).map_err(Failure::failed)?;
    let standing = Standing {
        patient,
        script,
        course,
    };
    let several = script.prescription.doses.len() > 1;
    for place in 0..script.prescription.doses.len() {
        let mut slots = standing.course.slots.iter();
        let Some(slot) = slots.find(|slot| slot.slot.dose == place) else {
            continue;
        };
        let dose = day_dose(
            ledger,
            &open.settings,
            &standing,
            slot,
            Pick::default(),
            open.today(),
            now,
            zone,
        );
        let part = if several {
            format!(", in part {}", place + 1)
        } else {
            String::new()
        };
        // What is said of one animal need not be said again of the next.
        for line in one(&dose, &part) {
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
    Ok(())
}

/// "For Thimblo at 46 g on Mon 5 March, 3 days old, that is 0.598 mg, drawn to 0.075 mL".
fn one(dose: &DayDose, part: &str) -> Vec<String> {
    let name = &dose.patient.animal.name;
    let Some(worked) = &dose.worked else {
        return Vec::new();
    };
    let weight = match &worked.weight {
        Some(used) => format!(" at {}", say::weight(used)),
        None => String::new(),
    };
    let amount = match &worked.calculated {
        Some(calculated) => format!(", that is {}", print::amount(calculated.amount)),
        None => String::new(),
    };
    let mark = match &worked.mark {
        Ok(drawn) => {
            let chosen = &drawn.chosen;
            let draws = say::draws(&chosen.mark);
            let draws = draws.map(|draws| format!(", {draws}")).unwrap_or_default();
            format!(
                "{} {}{draws}, with: {}",
                done(dose),
                chosen.instrument.spoken(chosen.mark.lines),
                chosen.instrument.words()
            )
        }
        Err(reasons) => {
            let reason = reasons.first().map(say::instead_of_a_mark);
            format!("no mark. {}", reason.as_deref().unwrap_or("Ask your vet"))
        }
    };
    let line = format!("For {name}{weight}{part}{amount}, {mark}");
    let mut lines = vec![wrapped(&line, "", "   ")];
    lines.extend(worked.cautions.iter().map(|caution| {
        let lead = match caution.level() {
            Level::Call => format!("CALL {} first.", dose.script.prescription.vet.phone),
            Level::Caution => "Caution:".to_owned(),
            Level::Note => "Note:".to_owned(),
        };
        wrapped(&format!("{lead} {caution}"), "   ", "      ")
    }));
    lines
}

fn done(dose: &DayDose) -> &'static str {
    match say::act(dose) {
        "Give" => "given as",
        "Weigh out" => "weighed out to",
        _ => "drawn to",
    }
}
