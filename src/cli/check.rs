//! `scruple check`: is every course on track, finished, or in trouble?

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::ledger::Script;
use crate::notation::fold::same;
use crate::round::{Checked, check};
use crate::{json, terminal};

/// Checks every course, those of one animal or one prescription, and says what to do next
///
/// The exit code is 1 when something needs attention, so that a program can tell.
///
/// Examples:
///   scruple check
///   scruple check Thimblo DEMO-0001 --format json
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Check {
    /// The animal's name, or the beginning of it; or a prescription's reference
    which: Option<String>,
    /// The prescription's reference, or the beginning of it or of one of its parts, where only one course of an animal is meant
    prescription: Option<String>,
}

impl Check {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let open = desk.open_to_read()?;
        let mut courses =
            check(&open.ledger, &open.settings, open.zone, open.now).map_err(Failure::failed)?;
        let ledger = &open.ledger;
        if let Some(which) = &self.which {
            match (
                ledger.animal(which),
                ledger.script(which),
                &self.prescription,
            ) {
                (Ok(patient), _, _) => {
                    let name = &patient.animal.name;
                    courses.retain(|c| same(&c.standing.patient.animal.name, name));
                }
                (Err(_), Ok(script), None) => of_script(&mut courses, script),
                (Err(error), ..) => return Err(Failure::not_accepted(error)),
            }
        }
        if let Some(prescription) = &self.prescription {
            let script = ledger.script(prescription).map_err(Failure::not_accepted)?;
            of_script(&mut courses, script);
        }
        if desk.json() {
            let common = desk.common();
            desk.say(json::check(&courses, open.settings.demonstration, &common))?;
        } else {
            desk.banner(open.settings.demonstration)?;
            desk.clock(&open)?;
            desk.say(terminal::check(
                &courses,
                open.zone,
                open.now,
                &desk.common(),
            ))?;
        }
        for part in &open.ledger.damaged {
            writeln!(
                desk.world.err,
                "Damaged: {part}. Look at your last copy of the book."
            )?;
        }
        if courses.iter().any(Checked::needs_attention) || !open.ledger.damaged.is_empty() {
            return Ok(Done::NeedsAttention);
        }
        Ok(Done::Well)
    }
}

fn of_script(courses: &mut Vec<Checked>, script: &Script) {
    courses.retain(|checked| checked.standing.script.entry == script.entry);
}
