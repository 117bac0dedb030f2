//! One working on a terminal.

use crate::caution::Level;
use crate::dose::Worked;
use crate::notation::print;
use crate::prescription::{Dose, Prescription};
use crate::round::{rungs, say};
use crate::terminal::wrapped;

/// The working of one dose of a prescription.
pub fn working(prescription: &Prescription, dose: &Dose, worked: &Worked) -> String {
    let mut lines = Vec::new();
    let mut row = |label: &str, text: &str| {
        lines.push(wrapped(text, &format!("{label:<11}"), "           "));
    };
    row("", say::DEFERRAL);
    let strength = prescription.medicine.strength.as_ref();
    row("Medicine", &prescription.medicine.name);
    row(
        "Must read",
        strength.map_or("no strength", |strength| strength.text()),
    );
    row("Dose", dose.text());
    for (at, line) in worked.working.iter().enumerate() {
        row(if at == 0 { "Working" } else { "" }, line);
    }
    match &worked.mark {
        Ok(drawn) => {
            let chosen = &drawn.chosen;
            row("Measure", &chosen.instrument.words());
            let times = if chosen.mark.draws > 1 {
                format!(", {} times, each at its own site", chosen.mark.draws)
            } else {
                String::new()
            };
            let spoken = chosen.instrument.spoken(chosen.mark.lines);
            row(
                if chosen.instrument.syringe().is_some() {
                    "DRAW TO"
                } else {
                    "GIVE"
                },
                &format!("{spoken}{times}"),
            );
            if let Some(count) = chosen.instrument.count(chosen.mark.lines) {
                row("", &count);
            }
        }
        Err(reasons) => {
            row(
                "NO MARK",
                reasons
                    .first()
                    .map_or("ask your vet", |reason| reason.headline()),
            );
            for reason in reasons {
                row("", &reason.to_string());
            }
        }
    }
    for (at, rung) in worked.ladder().iter().enumerate() {
        let mark = rung.mark.map_or("no mark".to_owned(), |mark| {
            print::measure(mark.each).to_string()
        });
        let today = if rung.today { "  this weight" } else { "" };
        row(
            if at == 0 { "Ladder" } else { "" },
            &format!("{}: {mark}{today}", rungs::rung(rung)),
        );
    }
    for caution in &worked.cautions {
        let label = match caution.level() {
            Level::Call => "CALL",
            Level::Caution => "Caution",
            Level::Note => "Note",
        };
        row(label, &caution.to_string());
    }
    lines.join("\n")
}
