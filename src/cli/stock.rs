//! `scruple stock`: what the courses still need, what is in hand, and the day it runs out.

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::round::stock::stock;
use crate::round::tell::damage_first;
use crate::{json, terminal};

/// Shows what every course still needs against what is in hand
///
/// What a bottle holds is written down when it is opened, with --holds, or later with
/// 'scruple bottle left'.
///
/// Examples:
///   scruple stock
///   scruple stock --format json
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Stock {}

impl Stock {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let open = desk.open_to_read()?;
        let needs = stock(&open.ledger, &open.settings, open.zone, open.now);
        let needs = needs.map_err(Failure::failed)?;
        if desk.json() {
            desk.say(json::stock(
                &needs,
                &open.ledger,
                open.now,
                open.today(),
                open.settings.demonstration,
            ))?;
            return Ok(Done::Well);
        }
        desk.banner(open.settings.demonstration)?;
        if let Some(stop) = damage_first(&open.ledger) {
            desk.say(terminal::wrapped(&stop, "", "      "))?;
        }
        desk.say(terminal::stock(&needs))?;
        Ok(Done::Well)
    }
}
