//! The animals to weigh, on a terminal.

use crate::ledger::Ledger;
use crate::round::tell::damage_first;
use crate::round::{here, say};
use crate::schedule::Zone;
use crate::settings::Settings;
use crate::terminal::wrapped;
use chrono::{DateTime, Utc};

/// One line for each animal, in order of work, with its last weight.
pub fn weighin(
    ledger: &Ledger,
    settings: &Settings,
    zone: Zone,
    now: DateTime<Utc>,
    common: &str,
) -> String {
    let today = now.with_timezone(&zone).date_naive();
    let mut lines: Vec<String> = damage_first(ledger)
        .map(|stop| wrapped(&stop, "", "      "))
        .into_iter()
        .collect();
    lines.push(format!(
        "Weigh-in: the scale reads {}; empty, it shows 0 g.",
        settings.readability
    ));
    let animals = here(ledger, settings, now);
    for patient in &animals {
        let last = match patient.weights.latest(now) {
            Some(latest) => {
                let tag = latest
                    .tag
                    .map(|tag| format!(" ({tag})"))
                    .unwrap_or_default();
                let day = say::date(latest.day(zone), today);
                format!("last {}{tag} on {day}", latest.weight)
            }
            None => "no weight in the book".to_owned(),
        };
        let text = format!(
            "{}, {}: {last}; now ______",
            patient.animal.name,
            say::identification(&patient.animal)
        );
        lines.push(wrapped(&text, "   ", "      "));
    }
    match animals.is_empty() {
        true => lines.push("No animal is in the book.".to_owned()),
        false => {
            lines.push("Type them in the same day:".to_owned());
            lines.push(format!("   scruple weigh ANIMAL WEIGHT{common}"));
        }
    }
    lines.join("\n")
}
