//! `scruple work`: the working of one dose, to check by hand; keeps nothing.

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::enter::read_prescription;
use crate::cli::failure::Failure;
use crate::cli::syringe::read_barrel;
use crate::cli::when;
use crate::dose::InHand;
use crate::notation::{Notation, Written};
use crate::quantity::{BodyWeight, Strength, Volume};
use crate::rack::{Needle, PrintedScale, Syringe, Use};
use crate::round::{Paper, on_paper};
use crate::schedule::Zone;
use crate::settings::{PaperSize, Settings};
use crate::{json, terminal};
use std::path::PathBuf;

/// Shows the working of one dose, for a second person with a hand calculator; keeps nothing
///
/// Examples:
///   scruple work script.ron --weight "31 g" --syringe 0.3/0.005
///   scruple work script.ron --weight "31 g" --bottle "10 mg/mL"
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Work {
    /// The prescription file
    file: PathBuf,
    /// The body weight to work it for
    #[arg(long, value_name = "WEIGHT")]
    weight: Option<String>,
    /// The strength on the bottle in hand [default: the prescription's]
    #[arg(long, value_name = "STRENGTH")]
    bottle: Option<String>,
    /// A syringe you have: capacity and the distance between lines [default: those in the book]
    #[arg(long, value_name = "BARREL")]
    syringe: Vec<String>,
}

impl Work {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let prescription = read_prescription(desk, &self.file)?;
        let used_for = prescription.route.used_for();
        let book = desk.open_to_read().ok();
        let (settings, zone) = match &book {
            Some(open) => (open.settings.clone(), open.zone),
            None => (
                Settings::new(
                    "UTC".to_owned(),
                    PaperSize::A4,
                    "1 g",
                    prescription.demonstration,
                )
                .map_err(Failure::failed)?,
                Zone::UTC,
            ),
        };
        let (now, _) = desk.now(zone)?;
        let today = now.with_timezone(&zone).date_naive();
        let mut syringes = Vec::new();
        for barrel in &self.syringe {
            syringes.push(named_barrel(barrel, used_for, None)?);
        }
        if syringes.is_empty() {
            syringes = book.map(|open| open.ledger.syringes).unwrap_or_default();
        }
        let weight = self.weight.as_deref().map(BodyWeight::read).transpose();
        let weight = weight.map_err(Failure::not_accepted)?;
        let bottle = self.bottle.as_deref().map(Strength::read).transpose();
        let bottle = bottle.map_err(Failure::not_accepted)?;
        let demonstration = settings.demonstration || prescription.demonstration;
        desk.banner(demonstration)?;
        let expired = prescription.valid_until.filter(|until| *until < today);
        if let Some(until) = expired.filter(|_| !desk.json()) {
            desk.say(format!(
                "This prescription was valid until {}: ask your vet before you give anything by it.",
                when::say_day(until)
            ))?;
        }
        let paper = Paper {
            in_hand: bottle.as_ref().map_or(InHand::OnPaper, InHand::Reads),
            syringes: &syringes,
            settings: &settings,
            now,
            zone,
        };
        for dose in prescription.doses.iter().filter(|dose| dose.is_measured()) {
            let worked = on_paper(&prescription, dose, weight.as_ref(), &paper);
            if desk.json() {
                desk.say(json::working(&worked, demonstration))?;
            } else {
                desk.say(terminal::working(&prescription, dose, &worked))?;
            }
        }
        if prescription.doses.iter().all(|dose| !dose.is_measured()) {
            desk.say("Your vet wrote this dose in words; there is nothing to work out.")?;
        }
        Ok(Done::Well)
    }
}

/// A syringe named on the command line; its scale is taken to be in mL.
pub(super) fn named_barrel(
    barrel: &str,
    used_for: Use,
    hub_loss: Option<Written<Volume>>,
) -> Result<Syringe, Failure> {
    let (capacity, graduation) = read_barrel(barrel)?;
    let needle = match used_for {
        Use::Injection => Needle::Hub,
        Use::Mouth => Needle::Tip,
    };
    let scale = PrintedScale::Millilitres;
    Syringe::new(
        capacity, graduation, used_for, needle, scale, hub_loss, None,
    )
    .map_err(Failure::not_accepted)
}
