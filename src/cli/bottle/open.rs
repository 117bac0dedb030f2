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
use crate::notation::fold::{nearest, same};
use crate::notation::{Notation, Written};
use crate::quantity::{Amount, Span, Strength};
use chrono::NaiveDate;

/// The label in the hand.
#[derive(Debug, clap::Args)]
pub(super) struct OpenBottle {
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
    /// The day it was opened [default: today, or the day it was made up]
    #[arg(long, value_name = "DATE")]
    opened: Option<String>,
    /// How much is in it, or in each aliquot of a batch: "5 mL", "20 tablets", "10 g of paste"
    #[arg(long, value_name = "AMOUNT")]
    holds: Option<String>,
    /// The day it was made up; --reads is then the final strength, as your vet or pharmacist wrote it
    #[arg(long, value_name = "DATE")]
    made_up: Option<String>,
    /// Into how many aliquots the batch was frozen; --discard-after then counts from each thawing
    #[arg(long, value_name = "NUMBER", requires = "made_up")]
    aliquots: Option<u32>,
    #[command(flatten)]
    by: By,
}

impl OpenBottle {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let by = self.by.initials()?;
        let mut open = desk.open()?;
        let today = open.today();
        let batch = self.batch(today)?;
        let opened = match (&self.opened, &batch) {
            (Some(day), _) => when::read_day(day)?,
            (None, Some(batch)) => batch.made_up,
            (None, None) => today,
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
            holds: None,
            batch,
        };
        let holds = self.holds.as_deref();
        bottle.holds = holds
            .map(|typed| read_product(typed, &bottle))
            .transpose()?;
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
                what: Happening::Bottle(Signed::new(bottle.clone(), by.clone())),
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
        if let Some(aliquots) = bottle.batch.as_ref().and_then(|batch| batch.aliquots) {
            desk.say(format!(
                "A batch; frozen aliquots: {aliquots}. When you thaw one: scruple bottle thaw {}{}. A thawed aliquot is never frozen again.",
                bottle.number,
                desk.common()
            ))?;
        }
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

    /// How it was made up, if it was.
    fn batch(&self, today: NaiveDate) -> Result<Option<Batch>, Failure> {
        let Some(day) = &self.made_up else {
            return Ok(None);
        };
        let made_up = when::read_day(day)?;
        if made_up > today {
            return Err(Failure::not_accepted(format!(
                "{} is still to come: write the day the batch was made up",
                when::say_day(made_up)
            )));
        }
        match self.aliquots {
            Some(aliquots) if !(1..=500).contains(&aliquots) => {
                return Err(Failure::not_accepted(format!(
                    "a batch has 1 to 500 aliquots, not {aliquots}: count them again"
                )));
            }
            Some(_) if self.discard_after.is_none() => {
                return Err(Failure::not_accepted(
                    "how long a thawed aliquot may be used is not written: add --discard-after as your vet or pharmacist wrote it, or ask them",
                ));
            }
            Some(_) if self.opened.is_some() => {
                return Err(Failure::not_accepted(
                    "the aliquots of a batch are opened one by one: leave --opened out, and record each thawing with 'scruple bottle thaw'",
                ));
            }
            _ => {}
        }
        Ok(Some(Batch {
            made_up,
            aliquots: self.aliquots,
            thawed: Vec::new(),
        }))
    }

    /// A name that is nearly a prescription's is asked about; a slip here would part the bottle
    /// from its course.
    fn ask_about_the_name(
        &self,
        desk: &mut Desk,
        ledger: &Ledger,
        bottle: &Bottle,
    ) -> Result<(), Failure> {
        let prescribed = |name: &str| {
            let mut scripts = ledger.scripts.iter();
            scripts.any(|script| script.prescription.same_medicine(name))
        };
        let names = ledger
            .scripts
            .iter()
            .flat_map(|script| script.prescription.medicine.names());
        let Some(nearest) =
            nearest(&bottle.medicine, names).filter(|_| !prescribed(&bottle.medicine))
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
    match Span::read(&text).map(|span| span.value()) {
        Ok(Span::Days(days)) => Ok(days),
        _ => Err(Failure::not_accepted(format!(
            "'{}' is not a number of days: write it as in \"28 days\"",
            when::shown(&text)
        ))),
    }
}

/// Reads an amount of the product itself, of the kind that a bottle of this strength holds.
pub(super) fn read_product(typed: &str, bottle: &Bottle) -> Result<Written<Amount>, Failure> {
    let amount = Amount::read(typed).map_err(Failure::not_accepted)?;
    let value = amount.value();
    let product = value.measure(None).is_ok();
    let strength = bottle.strength.as_ref().map(Written::value);
    if product && strength.is_none_or(|strength| value.goes_with(strength)) {
        return Ok(amount);
    }
    Err(Failure::not_accepted(format!(
        "{amount} is not what a bottle that reads {} holds: write how much of the product there is, as in \"5 mL\", \"20 tablets\" or \"10 g of paste\"",
        bottle
            .strength
            .as_ref()
            .map_or("no strength", Written::text)
    )))
}
