//! `scruple check`: is every course on track, finished, or in trouble?

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::course::Verdict;
use crate::notation::fold::same;
use crate::round::courses;
use crate::{json, terminal};

/// Checks every course, or those of one animal
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
        let mut standings = courses(&open.ledger, open.zone, open.now).map_err(Failure::failed)?;
        if let Some(animal) = &self.animal {
            let name = &open
                .ledger
                .animal(animal)
                .map_err(Failure::not_accepted)?
                .animal
                .name;
            standings.retain(|standing| same(&standing.patient.animal.name, name));
        }
        if desk.json() {
            desk.say(json::check(&standings, open.settings.demonstration))?;
        } else {
            desk.banner(open.settings.demonstration)?;
            desk.say(terminal::check(&standings, open.zone))?;
        }
        for part in &open.ledger.damaged {
            writeln!(
                desk.world.err,
                "Damaged: {part}. Look at your last copy of the book."
            )?;
        }
        let attention =
            |s: &crate::round::Standing| matches!(s.course.verdict, Verdict::NeedsAttention(_));
        if standings.iter().any(attention) || !open.ledger.damaged.is_empty() {
            return Ok(Done::NeedsAttention);
        }
        Ok(Done::Well)
    }
}
