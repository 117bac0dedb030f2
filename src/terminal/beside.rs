//! What the vet wants beside the doses of a day, on a terminal.

use crate::round::tell::follow_up_line;
use crate::round::{Round, typed_name};
use crate::terminal::wrapped;

/// The follow-ups of the day, each with the command that records it; nothing where there are none.
pub fn beside(round: &Round, common: &str) -> Option<String> {
    if round.beside.is_empty() {
        return None;
    }
    let mut lines = vec!["Beside the doses".to_owned()];
    for beside in &round.beside {
        let (animal, reference) = (
            &beside.patient.animal.name,
            &beside.script.prescription.reference,
        );
        let line = follow_up_line(&beside.follow_up, round.zone);
        let text = format!("{animal}, {reference}, {line}");
        lines.push(wrapped(&text, "   ", "      "));
        lines.push(format!(
            "      scruple done {} {} {}{common}",
            typed_name(animal),
            typed_name(reference),
            beside.follow_up.number
        ));
    }
    Some(lines.join("\n"))
}
