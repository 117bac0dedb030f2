//! `scruple sheet`: paper for the scale, for a course, for a sitter.

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::entry::short_code;
use crate::json;
use crate::round::stock::stock;
use crate::round::{ahead, of_day, weigh_days};
use crate::sheet::course::{CourseSheet, of_course};
use crate::sheet::handover::{HandOver, of_days};
use crate::sheet::weighin::{WeighIn, of_room};
use crate::terminal;
use chrono::Days;
use clap::Subcommand;
use std::path::{Path, PathBuf};

/// Prints other sheets than the day's card
///
/// Examples:
///   scruple sheet weighin --pdf weighin.pdf
///   scruple sheet course Thimblo DEMO-0001 --pdf course.pdf
///   scruple sheet handover --pdf week.pdf
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Sheets {
    #[command(subcommand)]
    which: Which,
}

#[derive(Debug, Subcommand)]
enum Which {
    /// Rows for the scale, one for each animal, in order of work
    ///
    /// Examples:
    ///   scruple sheet weighin
    ///   scruple sheet weighin --pdf weighin.pdf
    #[command(verbatim_doc_comment)]
    Weighin {
        /// Write it as a PDF
        #[arg(long, value_name = "FILE")]
        pdf: Option<PathBuf>,
    },
    /// One course as dates and ticks, with what it takes
    ///
    /// Examples:
    ///   scruple sheet course Thimblo DEMO-0001 --pdf course.pdf
    ///   scruple sheet course Thi 0001 --pdf course.pdf --replace
    #[command(verbatim_doc_comment)]
    Course {
        /// The animal's name, or the beginning of it
        animal: String,
        /// The prescription's reference, or a part of it
        prescription: String,
        /// Write it as a PDF; without one only programs get an answer
        #[arg(long, value_name = "FILE")]
        pdf: Option<PathBuf>,
    },
    /// For a sitter: the days' doses, what to look for, whom to ring, rows to write into
    ///
    /// Examples:
    ///   scruple sheet handover --pdf week.pdf
    ///   scruple sheet handover --days 3 --pdf days.pdf
    #[command(verbatim_doc_comment)]
    Handover {
        /// For how many days, today the first; 1 to 31
        #[arg(long, default_value_t = 7, value_parser = clap::value_parser!(u64).range(1..=31))]
        days: u64,
        /// Write it as a PDF; without one only programs get an answer
        #[arg(long, value_name = "FILE")]
        pdf: Option<PathBuf>,
    },
}

impl Sheets {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        match &self.which {
            Which::Weighin { pdf } => weighin(desk, pdf.as_deref()),
            Which::Course {
                animal,
                prescription,
                pdf,
            } => course(desk, animal, prescription, pdf.as_deref()),
            Which::Handover { days, pdf } => handover(desk, *days, pdf.as_deref()),
        }
    }
}

fn weighin(desk: &mut Desk, pdf: Option<&Path>) -> Result<Done, Failure> {
    let open = desk.open_to_read()?;
    if let Some(path) = pdf {
        let sheet = WeighIn {
            ledger: &open.ledger,
            settings: &open.settings,
            zone: open.zone,
            now: open.now,
        };
        let bytes = of_room(&sheet).map_err(Failure::failed)?;
        desk.write_file(path, &bytes)?;
    }
    if desk.json() {
        let (ledger, settings) = (&open.ledger, &open.settings);
        desk.say(json::weighin(ledger, settings, open.zone, open.now))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    let common = desk.common();
    desk.say(terminal::weighin(
        &open.ledger,
        &open.settings,
        open.zone,
        open.now,
        &common,
    ))?;
    if let Some(path) = pdf {
        printed(desk, path)?;
    }
    desk.banner(open.settings.demonstration)?;
    Ok(Done::Well)
}

fn course(desk: &mut Desk, animal: &str, typed: &str, pdf: Option<&Path>) -> Result<Done, Failure> {
    on_paper_or_for_programs(desk, pdf)?;
    let open = desk.open_to_read()?;
    let ledger = &open.ledger;
    let patient = ledger.animal(animal).map_err(Failure::not_accepted)?;
    let script = ledger.script(typed).map_err(Failure::not_accepted)?;
    if !script.prescription.is_for(&patient.animal.name) {
        return Err(Failure::not_accepted(format!(
            "{} is not for {}: look at 'scruple check {}'",
            script.prescription.reference, patient.animal.name, patient.animal.name
        )));
    }
    let ahead = ahead(ledger, &open.settings, patient, script, open.zone, open.now)
        .map_err(Failure::failed)?;
    let sheet = CourseSheet {
        ahead: &ahead,
        settings: &open.settings,
        zone: open.zone,
        now: open.now,
    };
    if let Some(path) = pdf {
        let bytes = of_course(&sheet).map_err(Failure::failed)?;
        desk.write_file(path, &bytes)?;
    }
    if desk.json() {
        desk.say(json::course(&ahead, &open.settings, open.zone, open.now))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    if let Some(path) = pdf {
        printed(desk, path)?;
    }
    Ok(Done::Well)
}

fn handover(desk: &mut Desk, days: u64, pdf: Option<&Path>) -> Result<Done, Failure> {
    on_paper_or_for_programs(desk, pdf)?;
    let open = desk.open_to_read()?;
    let mut rounds = Vec::new();
    for after in 0..days {
        let day = open.today() + Days::new(after);
        let round = of_day(&open.ledger, &open.settings, open.zone, day, open.now);
        rounds.push(round.map_err(Failure::failed)?);
    }
    let codes: Vec<&str> = rounds.iter().map(|round| round.code.as_str()).collect();
    let last = open.today() + Days::new(days.saturating_sub(1));
    let (ledger, settings) = (&open.ledger, &open.settings);
    let weigh = weigh_days(ledger, settings, open.zone, open.now, last);
    let weigh = weigh.map_err(Failure::failed)?;
    let stock = stock(ledger, settings, open.zone, open.now).map_err(Failure::failed)?;
    let sheet = HandOver {
        days: &rounds,
        weigh: &weigh,
        stock: &stock,
        settings: &open.settings,
        code: &short_code(codes.join(" ").as_bytes()),
    };
    if let Some(path) = pdf {
        let bytes = of_days(&sheet).map_err(Failure::failed)?;
        desk.write_file(path, &bytes)?;
    }
    if desk.json() {
        desk.say(json::handover(&rounds, &weigh, &stock, sheet.code))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    if let Some(path) = pdf {
        printed(desk, path)?;
    }
    Ok(Done::Well)
}

/// These sheets are too wide for a screen.
fn on_paper_or_for_programs(desk: &Desk, pdf: Option<&Path>) -> Result<(), Failure> {
    if pdf.is_some() || desk.json() {
        return Ok(());
    }
    Err(Failure::not_accepted(
        "this sheet is for paper: say which file to write, as in --pdf sheet.pdf",
    ))
}

fn printed(desk: &mut Desk, path: &Path) -> Result<(), Failure> {
    desk.say(format!("The sheet to print is {}.", path.display()))
}
