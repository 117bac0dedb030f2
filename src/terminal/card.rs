//! The day's card on a terminal.

use crate::caution::Level;
use crate::dose::InHand;
use crate::prescription::Vet;
use crate::round::{DayDose, Round, rungs, said, say, typed_name};
use crate::terminal::wrapped;
use std::fmt::{Display, from_fn};

/// The whole card, put together dose by dose as it is written: of thousands no more than one is
/// held as text.
///
/// `common` is what every next command needs after its own words, such as `--book room.scruple`.
pub fn card(round: &Round, common: &str) -> impl Display {
    from_fn(move |to| {
        let mut lines = Vec::new();
        lines.push(format!(
            "{}   dose card   book code {}",
            round.day.format("%A %-d %B %Y"),
            round.code
        ));
        if !round.damaged.is_empty() {
            lines.push(wrapped(&say::damaged(round), "STOP. ", "      "));
        }
        if !(round.doses.is_empty() && round.off_card.is_empty()) {
            lines.push(wrapped(say::DEFERRAL, "", ""));
            lines.extend(round.vets.iter().map(|vet| whom_to_call(vet)));
        }
        lines.extend(off_card(round));
        to.write_str(&lines.join("\n"))?;
        let pending = round.doses.len();
        for (at, dose) in round.doses.iter().enumerate() {
            let mut lines = vec![String::new(), String::new()];
            lines.push(format!("{} of {pending}  {}", at + 1, name(dose)));
            panel(dose, round, &mut lines);
            then(dose, common, &mut lines);
            to.write_str(&lines.join("\n"))?;
        }
        if pending == 0 {
            to.write_str("\n\nNo dose is due on this day.")?;
        }
        if !round.done.is_empty() {
            to.write_str("\n\nAnswered for on this day")?;
        }
        for done in &round.done {
            write!(to, "\n   {}", say::done(done, round.zone))?;
        }
        Ok(())
    })
}

/// What to call about for courses that have no dose on the card.
pub fn off_card(round: &Round) -> Vec<String> {
    let each = round.off_card.iter();
    each.map(|other| {
        let (whose, why) = other.words();
        let label = format!("{}. ", other.label());
        wrapped(&format!("{whose}{why}"), &label, "      ")
    })
    .collect()
}

/// The vet's name and numbers.
fn whom_to_call(vet: &Vet) -> String {
    let practice = vet.practice.iter();
    let practice: String = practice.map(|practice| format!(", {practice}")).collect();
    let hours = vet.out_of_hours.iter();
    let hours: String = hours.map(|n| format!("; out of hours {n}")).collect();
    wrapped(
        &format!("{}{practice}: {}{hours}", vet.name, vet.phone),
        "",
        "  ",
    )
}

fn name(dose: &DayDose) -> String {
    let animal = &dose.patient.animal;
    format!("{} ({})", animal.name, say::identification(animal))
}

/// The panel of one dose by itself, under the sentence that every card carries.
pub fn one(dose: &DayDose, round: &Round) -> String {
    let vet = &dose.script.prescription.vet;
    let mut lines = vec![wrapped(say::DEFERRAL, "", ""), whom_to_call(vet)];
    lines.push(name(dose));
    panel(dose, round, &mut lines);
    lines.join("\n")
}

fn panel(dose: &DayDose, round: &Round, lines: &mut Vec<String>) {
    let prescription = &dose.script.prescription;
    let mut row = |label: &str, text: &str| {
        lines.push(wrapped(text, &format!("   {label:<10}"), "             "));
    };
    alarms(dose, &mut row);
    if let Some(alike) = say::named_alike(dose) {
        row("Which one", &alike);
    }
    row(
        "Course",
        &format!("{}, {}", prescription.reference, say::dose_of(dose)),
    );
    row("Last dose", &say::last_dose(dose.last, round.zone));
    row("Bottle", &bottle(dose));
    match (dose.drawn(), &dose.worked) {
        (Some(drawn), _) => {
            row("Measure", &drawn.chosen.instrument.words());
            let spoken = drawn.chosen.instrument.spoken(drawn.chosen.mark.lines);
            row(&say::act(dose).to_uppercase(), &spoken.to_string());
            if let Some(count) = drawn.chosen.instrument.count(drawn.chosen.mark.lines) {
                row("", &count);
            }
            if let Some(draws) = say::draws(&drawn.chosen.mark) {
                row("", &draws);
            }
        }
        (None, None) if dose.no_mark.is_empty() => {
            row(say::act(dose), &format!("\"{}\"", dose.dose.text()))
        }
        _ => {
            let reason = dose.no_mark.first().map(say::instead_of_a_mark);
            row("NO MARK", &reason.unwrap_or("ask your vet".to_owned()));
            for reason in &dose.no_mark {
                row("", &reason.to_string());
            }
            if let Some(history) = say::history(dose, round.zone) {
                row("", &history);
            }
        }
    }
    row("Where", &say::place(dose));
    row("Weight", &say::weight_beside(dose, round).to_string());
    row("When", &when(dose, round));
    for said in &dose.said {
        row("Vet said", &said::in_full(said, round.zone));
    }
    beside(dose, &mut row);
    for note in say::notes_of_late(dose.patient, round.now) {
        row("Noted", &say::note(note, round.zone));
    }
}

/// The command that records it, on one line, to be copied as it stands.
fn then(dose: &DayDose, common: &str, lines: &mut Vec<String>) {
    let in_words = dose.worked.is_none() && dose.no_mark.is_empty();
    if dose.drawn().is_some() || in_words {
        lines.push(format!(
            "   Then      scruple give {} {}{common}",
            typed_name(&dose.patient.animal.name),
            typed_name(&dose.script.prescription.reference)
        ));
    }
}

/// What must be seen before anything else.
fn alarms(dose: &DayDose, row: &mut impl FnMut(&str, &str)) {
    let phone = &dose.script.prescription.vet.phone;
    if let Some(reason) = dose.no_mark.iter().find(|reason| reason.stops()) {
        row("STOP", &format!("{}. Call {phone}", reason.headline()));
    }
    let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    for caution in cautions.filter(|caution| caution.level() == Level::Call) {
        row("CALL", &format!("Call {phone} first. {caution}"));
    }
    if let Some(weigh) = rungs::weigh_first(dose) {
        row("WEIGH", &format!("{weigh}."));
    }
}

fn bottle(dose: &DayDose) -> String {
    let medicine = &dose.script.prescription.medicine.name;
    let must_read = say::must_read(dose)
        .map(|strength| format!(", must read {strength}"))
        .unwrap_or_default();
    let reads = say::it_reads(dose)
        .map(|reads| format!("; it reads {reads}"))
        .unwrap_or_default();
    match dose.in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) => {
            format!("{medicine}, bottle {}{must_read}{reads}", bottle.number)
        }
        InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => {
            format!("{medicine}{must_read}; none in the book")
        }
    }
}

fn when(dose: &DayDose, round: &Round) -> String {
    let not_before = say::not_before(dose, round)
        .map(|at| format!(", not before {at}"))
        .unwrap_or_default();
    let state = dose.slot.state;
    format!("{} ({state}{not_before})", say::when(dose, round))
}

/// The ladder, the working, the cautions and the vet's words.
fn beside(dose: &DayDose, row: &mut impl FnMut(&str, &str)) {
    if let Some(worked) = &dose.worked {
        if dose.drawn().is_some() {
            for (at, line) in say::working(worked).iter().enumerate() {
                row(if at == 0 { "Working" } else { "" }, line);
            }
        }
        let here = if dose.drawn().is_some() {
            "  today"
        } else {
            "  the old weight"
        };
        let ladder = dose.ladder();
        let shown = near_today(&ladder);
        for (at, rung) in ladder
            .get(shown.clone())
            .unwrap_or(&ladder)
            .iter()
            .enumerate()
        {
            let label = if at == 0 { "Ladder" } else { "" };
            let mark = rungs::rung_mark(dose, rung).unwrap_or("no mark".to_owned());
            let call = if rung.call { "  CALL first" } else { "" };
            let today = if rung.today { here } else { "" };
            row(
                label,
                &format!("{}: {mark}{call}{today}", rungs::rung(rung)),
            );
        }
        let above = ladder.len().saturating_sub(shown.end);
        if let Some(span) = rungs::ladder_span(&ladder, shown.start, above) {
            row("", &span);
        }
        for caution in worked
            .cautions
            .iter()
            .filter(|caution| caution.level() != Level::Call)
        {
            let label = if caution.level() == Level::Note {
                "Note"
            } else {
                "Caution"
            };
            row(label, &caution.to_string());
        }
    }
    for rule in say::vet_rules(&dose.script.prescription) {
        row("Your vet", &rule);
    }
    for (lead, words) in say::vet_words(&dose.script.prescription) {
        let lead = if lead.is_empty() {
            String::new()
        } else {
            format!("{lead}: ")
        };
        row("Your vet", &format!("{lead}\"{words}\""));
    }
}

/// Two rows either side of today's.
fn near_today(ladder: &[crate::dose::Row]) -> std::ops::Range<usize> {
    let today = ladder
        .iter()
        .position(|row| row.today)
        .unwrap_or(ladder.len() / 2);
    let from = today.saturating_sub(2);
    let to = (today + 3).min(ladder.len());
    from..to
}
