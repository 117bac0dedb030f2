//! `scruple bottle`: what is open, as its own label reads.
//!
//! Promises: what a person says of a bottle is an entry in that bottle's own chain; a bottle that
//! is over stays over; an aliquot once thawed is never counted as frozen again.

mod after;
mod open;

use crate::bottle::{Bottle, Usable};
use crate::cli::Done;
use crate::cli::bottle::after::{Ended, LeftInBottle, Thawed};
use crate::cli::bottle::open::OpenBottle;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::json;
use crate::notation::print;
use crate::round::stock::in_bottle;
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
    /// Records that a bottle was opened; read its own label, not the prescription
    ///
    /// Examples:
    ///   scruple bottle open "Madeup Amber" --reads "8 mg/mL" --expiry 2027-03
    ///   scruple bottle open "Madeup Clear" --no-strength --expiry 2027-03-31
    #[command(verbatim_doc_comment)]
    Open(Box<OpenBottle>),
    /// Lists the bottles
    ///
    /// Examples:
    ///   scruple bottle list
    ///   scruple bottle list --format json
    #[command(verbatim_doc_comment)]
    List,
    /// Records that one aliquot of a batch was thawed; it is never frozen again
    ///
    /// Examples:
    ///   scruple bottle thaw 3
    ///   scruple bottle thaw 3 --on 2001-03-07
    #[command(verbatim_doc_comment)]
    Thaw(Thawed),
    /// Records how much is left in a bottle, as you see it now
    ///
    /// Examples:
    ///   scruple bottle left 1 "2.5 mL"
    ///   scruple bottle left 2 "12 tablets"
    #[command(verbatim_doc_comment)]
    Left(LeftInBottle),
    /// Records that a bottle was discarded
    ///
    /// Examples:
    ///   scruple bottle discard 1
    ///   scruple bottle discard 1 --by AK
    #[command(verbatim_doc_comment)]
    Discard(Ended),
    /// Records that a bottle ran dry
    ///
    /// Examples:
    ///   scruple bottle empty 1
    ///   scruple bottle empty 1 --by AK
    #[command(verbatim_doc_comment)]
    Empty(Ended),
}

impl Bottles {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        match &self.what {
            What::Open(open) => open.run(desk),
            What::List => list(desk),
            What::Thaw(thawed) => thawed.run(desk),
            What::Left(left) => left.run(desk),
            What::Discard(ended) => ended.run(desk, false),
            What::Empty(ended) => ended.run(desk, true),
        }
    }
}

fn list(desk: &mut Desk) -> Result<Done, Failure> {
    let open = desk.open_to_read()?;
    if desk.json() {
        desk.say(json::bottles(
            &open.ledger,
            open.today(),
            open.zone,
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
                "empty or discarded since {}",
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
        let held = in_bottle(&open.ledger, container, None, open.today(), open.zone);
        let left = held.left.filter(|_| container.ended.is_none());
        let left = left
            .map(|left| format!("; {} left by the book", print::measure(left)))
            .unwrap_or_default();
        desk.say(format!(
            "bottle {}: {}, reads {reads}{lot}{}; {state}{left}",
            bottle.number,
            bottle.medicine,
            made_up(bottle)
        ))?;
    }
    Ok(Done::Well)
}

/// ", made up 1 March 2001, 8 of 10 aliquots frozen".
fn made_up(bottle: &Bottle) -> String {
    let Some(batch) = &bottle.batch else {
        return String::new();
    };
    let frozen = match (batch.frozen(), batch.aliquots) {
        (Some(frozen), Some(all)) => format!(", {frozen} of {all} aliquots frozen"),
        _ => String::new(),
    };
    format!(", made up {}{frozen}", when::say_day(batch.made_up))
}
