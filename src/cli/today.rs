//! `scruple today`: the day's dose card, on the terminal, as JSON, as PDF, or as a page for a phone.

use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::cli::progress::Progress;
use crate::cli::{self, when};
use crate::notation::print;
use crate::round::of_day;
use crate::sheet::card::{Done, of_round_telling};
use crate::{ics, json, phone, terminal};
use std::io::{BufWriter, Write};
use std::path::PathBuf;

/// Shows the dose card of a day
///
/// Examples:
///   scruple today
///   scruple today --pdf today.pdf
///   scruple today --html today.html
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Today {
    /// Another day than today, as in 2001-03-09
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// Write the card as a PDF, to print and take along
    #[arg(long, value_name = "FILE")]
    pub pdf: Option<PathBuf>,
    /// Write the card as one page for a phone, which needs no network
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// Write what lies ahead in every course as a calendar file, with cancellations
    #[arg(long, value_name = "FILE")]
    pub ics: Option<PathBuf>,
}

impl Today {
    pub fn run(&self, desk: &mut Desk) -> Result<cli::Done, Failure> {
        // Another day, or a calendar with its cancellations, may need what is at rest.
        let open = match (&self.date, &self.ics) {
            (None, None) => desk.open_for_today()?,
            _ => desk.open_to_read()?,
        };
        let day = match &self.date {
            Some(date) => when::read_day(date)?,
            None => open.today(),
        };
        let round = of_day(&open.ledger, &open.settings, open.zone, day, open.now)
            .map_err(Failure::failed)?;
        if let Some(path) = &self.pdf {
            let interactive = desk.world.interactive;
            let mut progress = Progress::new(desk.world.err, interactive, "Laid out");
            let tell = &mut |done: Done, all: usize| progress.stage(&told(done, all));
            let bytes = of_round_telling(&round, open.settings.paper, tell);
            drop(progress);
            desk.write_file(path, &bytes.map_err(Failure::failed)?)?;
        }
        if let Some(path) = &self.html {
            desk.write_file(path, phone::card(&round).as_bytes())?;
        }
        if let Some(path) = &self.ics {
            let calendar =
                ics::ahead(&open.ledger, open.zone, open.now).map_err(Failure::failed)?;
            desk.write_file(path, calendar.as_bytes())?;
        }
        if desk.json() {
            // Of thousands of doses the text as a whole would fill the memory.
            let mut out = BufWriter::new(&mut *desk.world.out);
            json::today(&round, &mut out)?;
            out.flush()?;
            return Ok(cli::Done::Well);
        }
        desk.banner(open.settings.demonstration)?;
        desk.clock(&open)?;
        desk.say(terminal::card(&round, &desk.common()))?;
        if let Some(beside) = terminal::beside(&round, &desk.common()) {
            desk.say(format!("\n{beside}"))?;
        }
        if let Some(path) = &self.pdf {
            desk.say(format!("\nThe card to print is {}.", path.display()))?;
        }
        if let Some(path) = &self.html {
            desk.say(format!(
                "\nThe page for a phone is {}: make it again whenever something was recorded.",
                path.display()
            ))?;
        }
        if let Some(path) = &self.ics {
            desk.say(format!(
                "\nThe calendar is {}: import it again whenever something was recorded.",
                path.display()
            ))?;
        }
        desk.banner(open.settings.demonstration)?;
        Ok(cli::Done::Well)
    }
}

/// How far the card has got: "Laid out 120 of 300 doses".
fn told(done: Done, all: usize) -> String {
    let count = |number: usize| print::count(u64::try_from(number).unwrap_or(u64::MAX));
    match done {
        Done::Doses(number) => format!("Laid out {} of {} doses", count(number), count(all)),
        Done::Pages(number) => format!("Wrote {} of {} pages", count(number), count(all)),
    }
}
