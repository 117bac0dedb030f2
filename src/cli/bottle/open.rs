//! `scruple bottle open`: what a label in the hand reads.
//!
//! Promises: an expired bottle is not opened into the book; a name that is nearly a prescription's
//! is asked about; a strength that is not the prescription's is said at once, with whom to call.
//! The strength of a batch is the final one, as the vet or the pharmacist wrote it: nothing is
//! computed from what went into it.

use crate::bottle::{Batch, Bottle, Usable};
use crate::cli::Done;
use crate::cli::animal::clean;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{Happening, Signed, Subject};
use crate::ledger::Ledger;
use crate::notation::fold::{near, same};
use crate::notation::{Notation, Written};
use crate::quantity::{Amount, Span, Strength};
use chrono::NaiveDate;

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
            bottle.number = ledger
                .bottles
                .iter()
                .map(|open| open.bottle.number)
                .max()
                .unwrap_or(0)
                + 1;
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

