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

#[derive(Debug, clap::Args)]
struct OpenBottle {
    /// The medicine's name, as on the label
    medicine: String,
    /// The strength, as on the label in your hand
    #[arg(long, value_name = "STRENGTH", required_unless_present = "no_strength")]
    reads: Option<String>,
    /// The label states no strength
    #[arg(long, conflicts_with = "reads")]
    no_strength: bool,
    /// The expiry on the label: 2027-03-31, or 2027-03 for the end of that month
    #[arg(long, value_name = "DATE")]
    expiry: String,
    /// For how long it may be used after opening, as the label or your vet says: "28 days"
    #[arg(long, value_name = "DAYS")]
    discard_after: Option<String>,
    /// The lot on the label
    #[arg(long)]
    lot: Option<String>,
    /// The day it was opened [default: today]
    #[arg(long, value_name = "DATE")]
    opened: Option<String>,
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

impl OpenBottle {
    fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let mut open = desk.open()?;
        let today = open.today();
        let opened = match &self.opened {
            Some(day) => when::read_day(day)?,
            None => today,
        };
        if opened > today {
            return Err(Failure::not_accepted(format!(
                "{} is still to come: write the day the bottle was opened",
                when::say_day(opened)
            )));
        }
        let strength = match &self.reads {
            Some(text) => Some(Strength::read(text).map_err(Failure::not_accepted)?),
            None => None,
        };
        let mut bottle = Bottle {
            number: 0,
            medicine: clean("the medicine's name", &self.medicine)?,
            strength,
            lot: self
                .lot
                .as_deref()
                .map(|lot| clean("the lot", lot))
                .transpose()?,
            expiry: when::read_expiry(&self.expiry)?,
            opened,
            days_after_opening: self.discard_after.as_deref().map(read_days).transpose()?,
        };
        match bottle.usable_on(today) {
            Usable::Expired(on) => {
                return Err(Failure::not_accepted(format!(
                    "this bottle expired after {}: set it aside and ask your vet for another",
                    when::say_day(on)
                )));
            }
            Usable::PastDiscard(on) => {
                return Err(Failure::not_accepted(format!(
                    "opened on {}, this bottle was to be discarded after {}: set it aside and ask your vet for another",
                    when::say_day(opened),
                    when::say_day(on)
                )));
            }
            Usable::Through(_) | Usable::NotYetOpen(_) => {}
        }
        desk.banner(open.settings.demonstration)?;
        self.ask_about_the_name(desk, &open.ledger, &bottle)?;
        let now = open.now;
        open.record(|ledger| {
            bottle.number = ledger.last_bottle + 1;
            Ok(vec![New {
                subject: Subject::Bottle(bottle.number),
                course: None,
                happened_at: now,
                what: Happening::Bottle(bottle.clone()),
            }])
        })?;
        let reads = bottle
            .strength
            .as_ref()
            .map_or("no strength".to_owned(), ToString::to_string);
        desk.say(format!(
            "Bottle {}: {}, reads {reads}; use through {}.",
            bottle.number,
            bottle.medicine,
            when::say_day(bottle.last_day())
        ))?;
        desk.say(format!("Write {} on the bottle.", bottle.number))?;
        for script in &open.ledger.scripts {
            let prescription = &script.prescription;
            if prescription.same_medicine(&bottle.medicine)
                && !bottle.reads(prescription.medicine.strength.as_ref())
            {
                desk.say(format!(
                    "STOP. Prescription {} says it must read {}. No animal gets a mark from bottle {} until your vet has said what to do. Call {}.",
                    prescription.reference,
                    prescription.medicine.strength.as_ref().map_or("no strength", |strength| strength.text()),
                    bottle.number,
                    prescription.vet.phone
                ))?;
            }
        }
        Ok(Done::Well)
    }

    /// A name that is nearly a prescription's is asked about; a slip here would part the bottle
    /// from its course.
    fn ask_about_the_name(
        &self,
        desk: &mut Desk,
        ledger: &crate::ledger::Ledger,
        bottle: &Bottle,
    ) -> Result<(), Failure> {
        let names: Vec<&str> = ledger
            .scripts
            .iter()
            .map(|script| script.prescription.medicine.name.as_str())
            .collect();
        let known = ledger
            .scripts
            .iter()
            .any(|s| s.prescription.same_medicine(&bottle.medicine));
        let Some(nearest) = near(&bottle.medicine, names)
            .into_iter()
            .next()
            .filter(|_| !known)
        else {
            return Ok(());
        };
        let again = desk.ask(&format!(
            "The prescription says {nearest}; you wrote {}. Type the name once more, as the label has it:",
            bottle.medicine
        ))?;
        match again {
            Some(again) if same(&again, &bottle.medicine) => Ok(()),
            _ => Err(Failure::not_accepted(
                "the two names differ, so nothing was kept: read the label again",
            )),
        }
    }
}

/// Reads "28 days", or a bare number of days.
fn read_days(text: &str) -> Result<u32, Failure> {
    let text = text.trim();
    let text = if text.bytes().all(|b| b.is_ascii_digit()) {
        format!("{text} days")
    } else {
        text.to_owned()
    };
    match crate::quantity::Span::read(&text).map(|span| span.value()) {
        Ok(crate::quantity::Span::Days(days)) => Ok(days),
        _ => Err(Failure::not_accepted(format!(
            "'{}' is not a number of days: write it as in \"28 days\"",
            when::shown(&text)
        ))),
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
