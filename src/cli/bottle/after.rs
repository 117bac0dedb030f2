//! What happens to a bottle once it is in the book: thawed, looked at, discarded, run dry.

use crate::cli::Done;
use crate::cli::bottle::open::read_product;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{BottleEnd, Happening, Left, Subject, Thaw};
use crate::ledger::{Container, Ledger};
use crate::notation::print;
use crate::round::stock::in_bottle;
use chrono::NaiveDate;

/// One aliquot of a batch, thawed.
#[derive(Debug, clap::Args)]
pub(super) struct Thawed {
    /// The batch's number
    number: u32,
    /// The day it was thawed [default: today]
    #[arg(long, value_name = "DATE")]
    on: Option<String>,
    #[command(flatten)]
    by: By,
}

/// What is left, as a person sees it.
#[derive(Debug, clap::Args)]
pub(super) struct LeftInBottle {
    /// The bottle's number
    number: u32,
    /// How much is left: "3 mL", "12 tablets", "4 g of paste"
    amount: String,
    #[command(flatten)]
    by: By,
}

/// The end of a bottle.
#[derive(Debug, clap::Args)]
pub(super) struct Ended {
    /// The bottle's number
    number: u32,
    #[command(flatten)]
    by: By,
}

/// A bottle that is not over.
fn in_use(ledger: &Ledger, number: u32) -> Result<&Container, Failure> {
    let container = ledger.bottle(number).map_err(Failure::not_accepted)?;
    if container.ended.is_some() {
        return Err(Failure::not_accepted(format!(
            "bottle {number} is empty or discarded already: look at 'scruple bottle list'"
        )));
    }
    Ok(container)
}

impl Thawed {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let by = self.by.initials()?;
        let mut open = desk.open()?;
        let (now, today) = (open.now, open.today());
        let on = match &self.on {
            Some(day) => when::read_day(day)?,
            None => today,
        };
        if on > today {
            return Err(Failure::not_accepted(format!(
                "{} is still to come: write the day it was thawed",
                when::say_day(on)
            )));
        }
        let number = self.number;
        open.record(|ledger| {
            thawable(ledger, number, on)?;
            Ok(vec![New {
                subject: Subject::Bottle(number),
                course: None,
                happened_at: now,
                what: Happening::Thaw(Thaw {
                    bottle: number,
                    on,
                    by: by.clone(),
                }),
            }])
        })?;
        desk.banner(open.settings.demonstration)?;
        let bottle = &open.ledger.bottle(number).map_err(Failure::failed)?.bottle;
        let batch = bottle.batch.as_ref();
        let frozen = batch.and_then(|batch| batch.frozen()).unwrap_or(0);
        let all = batch.and_then(|batch| batch.aliquots).unwrap_or(0);
        desk.say(format!(
            "Bottle {number}: aliquot {} of {all} is thawed; {frozen} still frozen. Use it through {}.",
            all.saturating_sub(frozen),
            when::say_day(bottle.last_day_from(on))
        ))?;
        desk.say("Never freeze it again. Discard what is left of the one before it.")?;
        Ok(Done::Well)
    }
}

/// Whether an aliquot of this bottle can have been thawed on that day.
fn thawable(ledger: &Ledger, number: u32, on: NaiveDate) -> Result<(), Failure> {
    let bottle = &in_use(ledger, number)?.bottle;
    let batch = bottle.batch.as_ref();
    let Some((batch, frozen)) = batch.and_then(|batch| Some((batch, batch.frozen()?))) else {
        return Err(Failure::not_accepted(format!(
            "bottle {number} is not a batch of frozen aliquots: check the number"
        )));
    };
    if frozen == 0 {
        return Err(Failure::not_accepted(format!(
            "all aliquots of bottle {number} are thawed already, and none is ever frozen again: record the next batch with 'scruple bottle open'"
        )));
    }
    if on < batch.made_up {
        return Err(Failure::not_accepted(format!(
            "bottle {number} was made up on {}, so nothing of it was thawed before: check the day",
            when::say_day(batch.made_up)
        )));
    }
    if on > bottle.expiry {
        return Err(Failure::not_accepted(format!(
            "bottle {number} expired after {}: set it aside and ask your vet for another",
            when::say_day(bottle.expiry)
        )));
    }
    Ok(())
}

impl LeftInBottle {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let by = self.by.initials()?;
        let mut open = desk.open()?;
        let (now, number) = (open.now, self.number);
        let container = in_use(&open.ledger, number)?;
        if container
            .bottle
            .batch
            .as_ref()
            .is_some_and(|batch| batch.aliquots.is_some())
        {
            return Err(Failure::not_accepted(format!(
                "bottle {number} is a batch of aliquots, so what is left follows from those still frozen: record each thawing with 'scruple bottle thaw {number}'"
            )));
        }
        let left = read_product(&self.amount, &container.bottle)?;
        let before = in_bottle(&open.ledger, container, None, open.today(), open.zone).left;
        open.record(|ledger| {
            in_use(ledger, number)?;
            Ok(vec![New {
                subject: Subject::Bottle(number),
                course: None,
                happened_at: now,
                what: Happening::Left(Left {
                    bottle: number,
                    left: left.clone(),
                    by: by.clone(),
                }),
            }])
        })?;
        desk.banner(open.settings.demonstration)?;
        let before = before
            .map(|before| format!("; by the book it was {}", print::measure(before)))
            .unwrap_or_default();
        desk.say(format!("Bottle {number}: {left} left{before}."))?;
        Ok(Done::Well)
    }
}

impl Ended {
    pub fn run(&self, desk: &mut Desk, ran_dry: bool) -> Result<Done, Failure> {
        let by = self.by.initials()?;
        let mut open = desk.open()?;
        let (now, number) = (open.now, self.number);
        open.record(|ledger| {
            in_use(ledger, number)?;
            Ok(vec![New {
                subject: Subject::Bottle(number),
                course: None,
                happened_at: now,
                what: Happening::BottleEnd(BottleEnd {
                    bottle: number,
                    ran_dry,
                    by: by.clone(),
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
}
