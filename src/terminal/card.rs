//! The day's card on a terminal.

use crate::caution::Level;
use crate::dose::{Drawn, InHand};
use crate::notation::{Written, print};
use crate::round::{DayDose, Round, said, say};
use crate::terminal::wrapped;

/// The whole card.
///
/// `common` is what every next command needs after its own words, such as `--book room.scruple`.
pub fn card(round: &Round, common: &str) -> String {
    let mut lines = Vec::new();
    lines.push(format!(
        "{}   dose card   book code {}",
        round.day.format("%A %-d %B %Y"),
        round.code
    ));
    if round.faults > 0 {
        let text = "Part of the book cannot be understood. What depends on it is not shown here. Look at your last copy.";
        lines.push(wrapped(text, "STOP. ", "      "));
    }
    if !round.doses.is_empty() {
        lines.push(wrapped(say::DEFERRAL, "", ""));
        for vet in &round.vets {
            let practice = vet
                .practice
                .as_ref()
                .map(|p| format!(", {p}"))
                .unwrap_or_default();
            let hours = vet
                .out_of_hours
                .as_ref()
                .map(|n| format!("; out of hours {n}"))
                .unwrap_or_default();
            lines.push(wrapped(
                &format!("{}{practice}: {}{hours}", vet.name, vet.phone),
                "",
                "  ",
            ));
        }
    }
    let pending = round.doses.len();
    for (at, dose) in round.doses.iter().enumerate() {
        lines.push(String::new());
        lines.push(format!("{} of {pending}  {}", at + 1, name(dose)));
        panel(dose, round, common, &mut lines);
    }
    if pending == 0 {
        lines.push(String::new());
        lines.push("No dose is due on this day.".to_owned());
    }
    done(round, &mut lines);
    lines.join("\n")
}

fn name(dose: &DayDose) -> String {
    let animal = &dose.patient.animal;
    let apart = if animal.quarantine {
        "; in quarantine"
    } else {
        ""
    };
    format!("{} ({}){apart}", animal.name, animal.identification)
}

fn panel(dose: &DayDose, round: &Round, common: &str, lines: &mut Vec<String>) {
    let prescription = &dose.script.prescription;
    let mut row = |label: &str, text: &str| {
        lines.push(wrapped(text, &format!("   {label:<10}"), "             "));
    };
    alarms(dose, &mut row);
    row(
        "Course",
        &format!("{}, {}", prescription.reference, say::dose_of(dose)),
    );
    row("Last dose", &say::last_dose(dose.last, round.zone));
    row("Bottle", &bottle(dose));
    match (dose.drawn(), &dose.worked) {
        (Some(drawn), _) => {
            row("Measure", &drawn.chosen.instrument.words());
            row(
                if drawn.chosen.instrument.syringe().is_some() {
                    "DRAW TO"
                } else {
                    "GIVE"
                },
                &mark(drawn),
            );
            if let Some(count) = drawn.chosen.instrument.count(drawn.chosen.mark.lines) {
                row("", &count);
            }
        }
        (None, None) if dose.no_mark.is_empty() => {
            row("Apply", &format!("\"{}\"", dose.dose.text()))
        }
        _ => {
            row(
                "NO MARK",
                dose.no_mark
                    .first()
                    .map_or("ask your vet", |reason| reason.headline()),
            );
            for reason in &dose.no_mark {
                row("", &reason.to_string());
            }
        }
    }
    row("Where", &say::place(dose));
    let weight = dose
        .worked
        .as_ref()
        .and_then(|worked| worked.weight.as_ref());
    row(
        "Weight",
        &weight.map_or("none in the book".to_owned(), say::weight),
    );
    row("When", &when(dose, round));
    for said in &dose.said {
        row("Vet said", &said::instruction(said, round.zone));
    }
    beside(dose, &mut row);
    if dose.drawn().is_some() || dose.worked.is_none() {
        let name = &dose.patient.animal.name;
        row(
            "Then",
            &format!(
                "scruple give {} {}{common}",
                quoted(name),
                prescription.reference
            ),
        );
    }
}

/// What must be seen before anything else.
fn alarms(dose: &DayDose, row: &mut impl FnMut(&str, &str)) {
    let phone = &dose.script.prescription.vet.phone;
    if dose
        .no_mark
        .first()
        .is_some_and(|reason| reason.code() == "wrong_strength")
    {
        row("STOP", &format!("Wrong strength in hand. Call {phone}"));
    }
    let Some(worked) = &dose.worked else { return };
    for caution in worked
        .cautions
        .iter()
        .filter(|caution| caution.level() == Level::Call)
    {
        row("CALL", &format!("Call {phone} first. {caution}"));
    }
}

fn bottle(dose: &DayDose) -> String {
    let medicine = &dose.script.prescription.medicine;
    let must_read = dose
        .must_read
        .as_ref()
        .map(|s| format!(", must read {s}"))
        .unwrap_or_default();
    let ingredient = medicine
        .ingredient
        .as_ref()
        .map(|i| format!(" of {i}"))
        .unwrap_or_default();
    match dose.in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) => {
            let reads = bottle.strength.as_ref().map(Written::text);
            let reads = if bottle.reads(dose.must_read.as_ref()) {
                String::new()
            } else {
                format!("; it reads {}", reads.unwrap_or("no strength"))
            };
            format!(
                "{}, bottle {}{must_read}{ingredient}{reads}",
                medicine.name, bottle.number
            )
        }
        InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => {
            format!("{}{must_read}{ingredient}; none in the book", medicine.name)
        }
    }
}

fn mark(drawn: &Drawn) -> String {
    let spoken = drawn.chosen.instrument.spoken(drawn.chosen.mark.lines);
    match drawn.chosen.mark.draws {
        1 => spoken.to_string(),
        draws => format!("{spoken}, {draws} times, each at its own site"),
    }
}

fn when(dose: &DayDose, round: &Round) -> String {
    let when = say::when_due(&dose.slot, round.day, round.zone);
    let late = if dose.is_late() { "LATE: " } else { "" };
    let state = dose.slot.state;
    let opens = when
        .opens
        .map_or(String::new(), |opens| format!(", from {opens}"));
    let not_before = dose.not_before().map_or("", |_| "; not open yet");
    format!(
        "{late}due {}{opens} until {} ({state}{not_before})",
        when.due, when.closes
    )
}

/// The ladder, the working, the cautions and the vet's words.
fn beside(dose: &DayDose, row: &mut impl FnMut(&str, &str)) {
    if let Some(worked) = &dose.worked {
        if dose.drawn().is_some() {
            for (at, line) in worked.working.iter().enumerate() {
                row(if at == 0 { "Working" } else { "" }, line);
            }
        }
        let near = near_today(dose.ladder());
        for (at, rung) in near.iter().enumerate() {
            let label = if at == 0 { "Ladder" } else { "" };
            let mark = rung.mark.as_ref().map_or("no mark".to_owned(), |mark| {
                print::measure(mark.each).to_string()
            });
            let call = if rung.call { "  CALL first" } else { "" };
            let today = if rung.today { "  today" } else { "" };
            row(label, &format!("{}: {mark}{call}{today}", say::rung(rung)));
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
fn near_today(ladder: &[crate::dose::Row]) -> &[crate::dose::Row] {
    let today = ladder
        .iter()
        .position(|row| row.today)
        .unwrap_or(ladder.len() / 2);
    let from = today.saturating_sub(2);
    let to = (today + 3).min(ladder.len());
    ladder.get(from..to).unwrap_or(ladder)
}

fn done(round: &Round, lines: &mut Vec<String>) {
    if round.done.is_empty() {
        return;
    }
    lines.push(String::new());
    lines.push("Answered for on this day".to_owned());
    for done in &round.done {
        let at = done.at.map_or(String::new(), |at| {
            format!(" at {}", at.with_timezone(&round.zone).format("%H:%M"))
        });
        lines.push(format!(
            "   {}, {}, dose {}: {}{at}",
            done.patient.animal.name, done.script.prescription.reference, done.number, done.state
        ));
    }
}

/// A name as it can be typed after a command.
fn quoted(name: &str) -> String {
    if name.chars().all(char::is_alphanumeric) {
        name.to_owned()
    } else {
        format!("\"{name}\"")
    }
}
