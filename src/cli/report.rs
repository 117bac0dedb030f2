//! `scruple report`: one animal's record for the vet, on the terminal, as JSON, or as PDF.

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::report::of_animal;
use crate::{json, sheet, terminal};
use std::path::PathBuf;

/// Shows what the vet wants to see of one animal: weights, what was planned and given, what is left
///
/// Examples:
///   scruple report Thimblo
///   scruple report Thimblo --pdf thimblo.pdf
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct ReportOut {
    /// The animal's name, or the beginning of it
    animal: String,
    /// Write the report as a PDF, to print or to send
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
}

impl ReportOut {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let open = desk.open_to_read()?;
        let patient = open
            .ledger
            .animal(&self.animal)
            .map_err(Failure::not_accepted)?;
        let report = of_animal(&open.ledger, &open.settings, patient, open.zone, open.now)
            .map_err(Failure::failed)?;
        if let Some(path) = &self.pdf {
            let bytes =
                sheet::report::of_report(&report, open.settings.paper).map_err(Failure::failed)?;
            desk.write_file(path, &bytes)?;
        }
        if desk.json() {
            let common = desk.common();
            desk.say(json::report(&report, &common))?;
            return Ok(Done::Well);
        }
        desk.banner(open.settings.demonstration)?;
        desk.say(terminal::report(&report))?;
        for part in &report.damaged {
            desk.say(format!(
                "\nDamaged: {part}. Look at your last copy of the book."
            ))?;
        }
        if let Some(path) = &self.pdf {
            desk.say(format!("\nThe report to print is {}.", path.display()))?;
        }
        desk.banner(open.settings.demonstration)?;
        Ok(Done::Well)
    }
}
