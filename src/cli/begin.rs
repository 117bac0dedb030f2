//! `scruple begin`: a new book.

use crate::book::{Book, BookId, Folders};
use crate::cli::Done;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New, read_zone, rows};
use crate::cli::failure::Failure;
use crate::entry::{Happening, Signed, Stamp, Subject};
use crate::settings::{PaperSize, Settings, read_scale};
use std::path::PathBuf;

/// Begins a new book
///
/// Examples:
///   scruple begin
///   scruple begin my-animals.scruple --zone Europe/Warsaw --paper a4 --scale "0.1 g"
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Begin {
    /// Where to put the book [default: --book, SCRUPLE_BOOK, or your data folder]
    place: Option<PathBuf>,
    /// The time zone the animals live in [default: this machine's]
    #[arg(long)]
    zone: Option<String>,
    /// The paper you print on
    #[arg(long, value_enum, default_value_t = Paper::A4)]
    paper: Paper,
    /// The smallest step your scale shows
    #[arg(long, value_name = "WEIGHT", default_value = "1 g")]
    scale: String,
    /// A book to try things out in; everything in it says DEMONSTRATION
    #[arg(long)]
    demonstration: bool,
    #[command(flatten)]
    by: By,
}

/// The paper as it is named on the command line.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
pub(crate) enum Paper {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 inches
    Letter,
}

impl From<Paper> for PaperSize {
    fn from(paper: Paper) -> PaperSize {
        match paper {
            Paper::A4 => PaperSize::A4,
            Paper::Letter => PaperSize::Letter,
        }
    }
}

impl Begin {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        // The usual folder is made; a place that was typed may be a slip, so its folder is not.
        let named = self.place.clone().or_else(|| desk.everywhere.book.clone());
        let folders = if named.is_some() {
            Folders::MustExist
        } else {
            Folders::Make
        };
        let path = match named {
            Some(place) => place,
            None => desk.book_path()?,
        };
        let zone_name = self.zone.clone().or_else(|| desk.world.local_zone.clone()).ok_or_else(|| {
            Failure::not_accepted("this machine does not say its time zone: write it with --zone, as in --zone Europe/Warsaw")
        })?;
        read_scale(&self.scale).map_err(Failure::not_accepted)?;
        let settings = Settings::new(
            zone_name,
            self.paper.into(),
            &self.scale,
            self.demonstration,
        )
        .map_err(Failure::not_accepted)?;
        let by = self.by.initials()?;
        create(desk, &path, folders, Signed::new(settings.clone(), by))?;
        desk.banner(settings.demonstration)?;
        desk.say(format!("A new book lies at {}.", path.display()))?;
        desk.say(format!(
            "Zone {}, paper {}, scale reads {}.",
            settings.zone,
            match settings.paper {
                PaperSize::A4 => "A4",
                PaperSize::Letter => "US Letter",
            },
            settings.readability
        ))?;
        let named = self
            .place
            .as_ref()
            .map(|place| format!(" --book {}", place.display()));
        let named = named.unwrap_or_default();
        desk.say("Next, for every syringe you have, and then for every animal:")?;
        desk.say(format!("  scruple{named} syringe add 1/0.01 --for mouth"))?;
        desk.say(format!(
            "  scruple{named} animal add NAME --species WORDS --id WORDS"
        ))?;
        Ok(Done::Well)
    }
}

/// Makes a book with its settings as the first entry.
pub(super) fn create(
    desk: &mut Desk,
    path: &std::path::Path,
    folders: Folders,
    settings: Signed<Settings>,
) -> Result<(), Failure> {
    let id = match settings.what.demonstration {
        true => BookId::from_seed("demonstration"),
        false => BookId::random()?,
    };
    let zone = read_zone(&settings.what.zone)?;
    let (now, clock_given) = desk.now(zone)?;
    let mut book = Book::create(path, zone.name(), id, now, folders)?;
    let stamp = Stamp {
        at: now,
        clock_given,
        zone: zone.name().to_owned(),
    };
    let first = vec![New {
        subject: Subject::Settings,
        course: None,
        happened_at: now,
        what: Happening::Settings(settings),
    }];
    let first = rows(first, &stamp)?;
    book.append(|_| Ok::<_, Failure>(first.clone()))?;
    Ok(())
}
