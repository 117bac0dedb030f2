//! `scruple syringe`: the syringes at hand.

use crate::cli::Done;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::entry::{Happening, Signed, Subject};
use crate::json;
use crate::notation::{Notation, Written};
use crate::quantity::Volume;
use crate::rack::{Needle, PrintedScale, Syringe, Use};
use clap::{Subcommand, ValueEnum};

/// The syringes at hand
///
/// Examples:
///   scruple syringe add 0.3/0.005 --for injection --needle fixed
///   scruple syringe add 1/0.01 --for mouth
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Syringes {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Adds a syringe, as read off its barrel
    ///
    /// Examples:
    ///   scruple syringe add 0.3/0.005 --for injection --needle fixed --scale u-100
    ///   scruple syringe add 1/0.01 --for mouth
    #[command(verbatim_doc_comment)]
    Add(Add),
    /// Lists the syringes at hand
    ///
    /// Examples:
    ///   scruple syringe list
    ///   scruple syringe list --format json
    #[command(verbatim_doc_comment)]
    List,
}

#[derive(Debug, clap::Args)]
struct Add {
    /// Capacity and the distance between lines, in mL: 1/0.01
    barrel: String,
    /// What it is used for
    #[arg(long = "for", value_enum, value_name = "USE")]
    used_for: For,
    /// How the needle joins the barrel; a syringe for the mouth has a tip
    #[arg(long, value_enum)]
    needle: Option<NeedleKind>,
    /// What is printed along the barrel
    #[arg(long, value_enum, default_value_t = ScaleKind::Ml)]
    scale: ScaleKind,
    /// What stays in the hub at each draw, as in "0.07 mL"; 0 for a fixed needle unless given
    #[arg(long, value_name = "VOLUME")]
    hub_loss: Option<String>,
    /// How many lines from one printed number to the next
    #[arg(long, value_name = "LINES")]
    numbered: Option<u32>,
    #[command(flatten)]
    by: By,
}

/// Use, as it is named on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum For {
    /// By mouth
    Mouth,
    /// Through a needle
    Injection,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum NeedleKind {
    /// Part of the barrel
    Fixed,
    /// Put on
    Hub,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum ScaleKind {
    /// Millilitres
    #[value(name = "mL", alias = "ml")]
    Ml,
    /// Insulin units of U-100
    #[value(name = "u-100", alias = "u100")]
    U100,
}

impl Syringes {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        match &self.what {
            What::Add(add) => add.run(desk),
            What::List => list(desk),
        }
    }
}

impl Add {
    fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let syringe = self.syringe()?;
        let by = self.by.initials()?;
        let mut open = desk.open()?;
        let now = open.now;
        open.record(|ledger| {
            if ledger.syringes.contains(&syringe) {
                return Err(Failure::not_accepted(format!(
                    "a syringe of {} is in the book already",
                    syringe.words()
                )));
            }
            Ok(vec![New {
                subject: Subject::Settings,
                course: None,
                happened_at: now,
                what: Happening::Syringe(Signed::new(syringe.clone(), by.clone())),
            }])
        })?;
        desk.banner(open.settings.demonstration)?;
        desk.say(format!(
            "In the book: {}; {} lines, a number at every {}.",
            syringe.words(),
            syringe.lines(),
            syringe.numbered_every()
        ))?;
        Ok(Done::Well)
    }

    fn syringe(&self) -> Result<Syringe, Failure> {
        let (capacity, graduation) = read_barrel(&self.barrel)?;
        let used_for = match self.used_for {
            For::Mouth => Use::Mouth,
            For::Injection => Use::Injection,
        };
        let needle = match (used_for, self.needle) {
            (Use::Mouth, None) => Needle::Tip,
            (Use::Mouth, Some(_)) => {
                return Err(Failure::not_accepted(
                    "a syringe for the mouth has a tip and no needle: leave --needle out, or check the syringe in hand",
                ));
            }
            (Use::Injection, Some(NeedleKind::Fixed)) => Needle::Fixed,
            (Use::Injection, Some(NeedleKind::Hub)) => Needle::Hub,
            (Use::Injection, None) => {
                return Err(Failure::not_accepted(
                    "a syringe for injection has its needle fixed or put on: add --needle fixed or --needle hub",
                ));
            }
        };
        let scale = match self.scale {
            ScaleKind::Ml => PrintedScale::Millilitres,
            ScaleKind::U100 => PrintedScale::InsulinU100,
        };
        let hub_loss = match &self.hub_loss {
            Some(text) => Some(Volume::read(text).map_err(Failure::not_accepted)?),
            None => None,
        };
        Syringe::new(
            capacity,
            graduation,
            used_for,
            needle,
            scale,
            hub_loss,
            self.numbered,
        )
        .map_err(Failure::not_accepted)
    }
}

/// Reads "1/0.01" or "1 mL/0.01 mL".
pub(super) fn read_barrel(text: &str) -> Result<(Written<Volume>, Written<Volume>), Failure> {
    let (capacity, graduation) = text.split_once('/').ok_or_else(|| {
        Failure::not_accepted(format!(
            "'{}' is not a barrel: write its capacity and the distance between its lines in mL, as in 1/0.01",
            crate::cli::when::shown(text)
        ))
    })?;
    let read = |part: &str| {
        let part = part.trim();
        let bare = part
            .bytes()
            .all(|b| b.is_ascii_digit() || b == b'.' || b == b',');
        let text = if bare {
            format!("{part} mL")
        } else {
            part.to_owned()
        };
        Volume::read(&text).map_err(Failure::not_accepted)
    };
    Ok((read(capacity)?, read(graduation)?))
}

fn list(desk: &mut Desk) -> Result<Done, Failure> {
    let open = desk.open_to_read()?;
    if desk.json() {
        desk.say(json::syringes(&open.ledger, open.settings.demonstration))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    if open.ledger.syringes.is_empty() {
        desk.say("No syringe is in the book yet. Add one: scruple syringe add 1/0.01 --for mouth")?;
    }
    for syringe in &open.ledger.syringes {
        desk.say(syringe.words())?;
    }
    Ok(Done::Well)
}
