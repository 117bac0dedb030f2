//! `scruple check`: is every course on track, finished, or in trouble?

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::notation::fold::same;
use crate::round::{Checked, check};
use crate::{json, terminal};

/// Checks every course, or those of one animal, and says what to do next
///
/// Ends with 1 when something needs attention, so that a script can tell.
///
/// Examples:
///   scruple check
///   scruple check Thimblo --format json
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Check {
    /// The animal's name, or the beginning of it
    animal: Option<String>,
}

impl Check {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let open = desk.open_to_read()?;
        let mut courses =
            check(&open.ledger, &open.settings, open.zone, open.now).map_err(Failure::failed)?;
        if let Some(animal) = &self.animal {
            let name = &open
                .ledger
                .animal(animal)
                .map_err(Failure::not_accepted)?
                .animal
                .name;
            courses.retain(|checked| same(&checked.standing.patient.animal.name, name));
        }
        if desk.json() {
            desk.say(json::check(&courses, open.settings.demonstration))?;
        } else {
            desk.banner(open.settings.demonstration)?;
            desk.say(terminal::check(&courses, open.zone, &desk.common()))?;
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
