//! `scruple bottle`: what is open, as its own label reads.

use crate::bottle::{Bottle, Usable};
use crate::cli::Done;
use crate::cli::animal::clean;
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{BottleEnd, Happening, Subject};
use crate::json;
use crate::notation::Notation;
use crate::notation::fold::{near, same};
use crate::quantity::Strength;
use clap::Subcommand;

/// The bottles, tubes and boxes in hand
///
/// Examples:
///   scruple bottle open "Madeup Amber" --reads "8 mg/mL" --expiry 2027-03 --discard-after "28 days"
///   scruple bottle list
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Bottles {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Opens a bottle into the book; read its own label, not the prescription
    Open(Box<OpenBottle>),
    /// Lists the bottles
    List,
    /// Says that a bottle was discarded
    Discard {
        /// The bottle's number
        number: u32,
    },
    /// Says that a bottle ran dry
    Empty {
        /// The bottle's number
        number: u32,
    },
}

impl Bottles {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        match &self.what {
            What::Open(open) => open.run(desk),
            What::List => list(desk),
            What::Discard { number } => end(desk, *number, false),
            What::Empty { number } => end(desk, *number, true),
        }
    }
}

fn list(desk: &mut Desk) -> Result<Done, Failure> {
    let open = desk.open_to_read()?;
    if desk.json() {
        desk.say(json::bottles(
            &open.ledger,
            open.today(),
            open.settings.demonstration,
        ))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    if open.ledger.bottles.is_empty() {
        desk.say("No bottle is in the book yet. Read a label, then: scruple bottle open MEDICINE --reads STRENGTH --expiry DATE")?;
    }
    for container in &open.ledger.bottles {
        let bottle = &container.bottle;
        let reads = bottle
            .strength
            .as_ref()
            .map_or("no strength".to_owned(), ToString::to_string);
        let state = match (container.ended, bottle.usable_on(open.today())) {
            (Some(at), _) => format!(
                "over since {}",
                when::say_day(at.with_timezone(&open.zone).date_naive())
            ),
            (None, Usable::Through(on) | Usable::NotYetOpen(on)) => {
                format!("use through {}", when::say_day(on))
            }
            (None, Usable::Expired(on)) => {
                format!("EXPIRED after {}: set it aside", when::say_day(on))
            }
            (None, Usable::PastDiscard(on)) => {
                format!("DISCARD: its time ended after {}", when::say_day(on))
            }
        };
        let lot = bottle
            .lot
            .as_ref()
            .map(|lot| format!(", lot {lot}"))
            .unwrap_or_default();
        desk.say(format!(
            "bottle {}: {}, reads {reads}{lot}; {state}",
            bottle.number, bottle.medicine
        ))?;
    }
    Ok(Done::Well)
}

fn end(desk: &mut Desk, number: u32, ran_dry: bool) -> Result<Done, Failure> {
    let mut open = desk.open()?;
    let now = open.now;
    open.record(|ledger| {
        let container = ledger.bottle(number).map_err(Failure::not_accepted)?;
        if container.ended.is_some() {
            return Err(Failure::not_accepted(format!(
                "bottle {number} is over already"
            )));
        }
        Ok(vec![New {
            subject: Subject::Bottle(number),
            course: None,
            happened_at: now,
            what: Happening::BottleEnd(BottleEnd {
                bottle: number,
                ran_dry,
            }),
        }])
    })?;
    desk.banner(open.settings.demonstration)?;
    desk.say(format!(
        "Bottle {number} is {}.",
        if ran_dry { "empty" } else { "discarded" }
    ))?;
    Ok(Done::Well)
}
