//! `scruple plan`: the dates and amounts that a prescription means, to check with the vet; keeps
//! nothing.

use crate::cli::Done;
use crate::cli::desk::{Desk, Open, read_zone};
use crate::cli::enter::{read_prescription, read_start};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::cli::work::named_barrel;
use crate::dose::InHand;
use crate::notation::fold::same;
use crate::notation::{Notation, Written};
use crate::prescription::Prescription;
use crate::quantity::{BodyWeight, Volume};
use crate::round::{Amount, Need, Paper, Plan};
use crate::schedule::{Start, Zone, local_date};
use crate::settings::{PaperSize, Settings};
use crate::{ics, json, terminal};
use chrono::{DateTime, Timelike, Utc};
use std::path::PathBuf;

/// Shows every date a prescription means and what it takes from the bottle; keeps nothing
///
/// Weights are those you name, else those of the animals in the book.
///
/// Examples:
///   scruple plan script.ron --start "2001-03-05 08:00"
///   scruple plan script.ron --weight "12 g" --weight "31 g" --zone Europe/Warsaw
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct PlanOut {
    /// The prescription file
    file: PathBuf,
    /// When the first dose is due: a date, with an hour or without [default: as your vet wrote]
    #[arg(long, value_name = "TIME")]
    start: Option<String>,
    /// The time zone the animals live in [default: the book's, else this machine's]
    #[arg(long)]
    zone: Option<String>,
    /// A body weight to work out the amounts for, once for each animal
    #[arg(long, value_name = "WEIGHT")]
    weight: Vec<String>,
    /// A syringe you have: capacity and the distance between lines [default: those in the book]
    #[arg(long, value_name = "BARREL")]
    syringe: Vec<String>,
    /// What stays in the hub of a syringe named here, at each draw
    #[arg(long, value_name = "VOLUME", requires = "syringe")]
    hub_loss: Option<String>,
    /// Write the dates as a calendar file
    #[arg(long, value_name = "FILE")]
    ics: Option<PathBuf>,
}

/// A weight and whose it is; none where the dose needs none.
type Weighed = (String, Option<Written<BodyWeight>>);

impl PlanOut {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let prescription = read_prescription(desk, &self.file)?;
        let book = desk.open_to_read().ok();
        let zone = self.zone(desk, book.as_ref())?;
        let (now, _) = desk.now(zone)?;
        let mut notes = Vec::new();
        if let Some(until) = prescription
            .valid_until
            .filter(|u| *u < local_date(now, zone))
        {
            notes.push(format!(
                "EXPIRED: this prescription was valid until {}: ask your vet before you give anything by it.",
                when::say_day(until)
            ));
        }
        let plan = self.laid_out(&prescription, zone, now, &mut notes)?;
        let settings = match &book {
            Some(open) => open.settings.clone(),
            None => Settings::new(
                zone.name().to_owned(),
                PaperSize::A4,
                "1 g",
                prescription.demonstration,
            )
            .map_err(Failure::failed)?,
        };
        let used_for = prescription.route.used_for();
        let hub_loss = self.hub_loss.as_deref().map(Volume::read).transpose();
        let hub_loss = hub_loss.map_err(Failure::not_accepted)?;
        let mut syringes = Vec::new();
        for barrel in &self.syringe {
            syringes.push(named_barrel(barrel, used_for, hub_loss.clone())?);
        }
        if let Some(open) = book.as_ref().filter(|_| syringes.is_empty()) {
            syringes.clone_from(&open.ledger.syringes);
        }
        let paper = Paper {
            in_hand: InHand::OnPaper,
            syringes: &syringes,
            settings: &settings,
            now,
            zone,
        };
        let weights = self.weights(&prescription, book.as_ref(), now, zone, &mut notes)?;
        let amounts: Vec<Amount> = weights
            .into_iter()
            .map(|(whose, weight)| Amount {
                whose,
                need: plan.amount(weight.as_ref(), &paper),
            })
            .collect();
        let together = (amounts.len() > 1).then(|| {
            let mut need = Need::default();
            for amount in &amounts {
                need.join(&amount.need);
            }
            Amount {
                whose: "together".to_owned(),
                need,
            }
        });
        if let Some(path) = &self.ics {
            desk.write_file(path, ics::plan(&plan, now).as_bytes())?;
        }
        if desk.json() {
            desk.say(json::plan(&plan, &amounts, together.as_ref(), &notes))?;
            return Ok(Done::Well);
        }
        desk.banner(settings.demonstration || prescription.demonstration)?;
        desk.say(terminal::plan(&plan, &amounts, together.as_ref(), &notes))?;
        if let Some(path) = &self.ics {
            desk.say(format!("\nThe calendar is {}.", path.display()))?;
        }
        desk.banner(settings.demonstration || prescription.demonstration)?;
        Ok(Done::Well)
    }

    fn zone(&self, desk: &Desk, book: Option<&Open>) -> Result<Zone, Failure> {
        match (&self.zone, book, &desk.world.local_zone) {
            (Some(typed), ..) => read_zone(typed),
            (None, Some(open), _) => Ok(open.zone),
            (None, None, Some(local)) => read_zone(local),
            (None, None, None) => Err(Failure::not_accepted(
                "this machine does not say its time zone: write it with --zone, as in --zone Europe/Warsaw",
            )),
        }
    }

    /// From the start that was named, else the vet's, else as if the first dose were due now.
    fn laid_out<'p>(
        &self,
        prescription: &'p Prescription,
        zone: Zone,
        now: DateTime<Utc>,
        notes: &mut Vec<String>,
    ) -> Result<Plan<'p>, Failure> {
        let named = self.start.as_deref().map(read_start).transpose()?;
        if let Some(start) = named.or(prescription.start) {
            return Plan::new(prescription, start, zone).map_err(Failure::not_accepted);
        }
        notes.push(
            "No start is written: this is laid out as if the first dose were due now. Name another with --start.".to_owned(),
        );
        let local = now.with_timezone(&zone).naive_local();
        let minute = local
            .time()
            .with_second(0)
            .and_then(|t| t.with_nanosecond(0));
        let by_date = Start {
            date: local.date(),
            time: None,
        };
        let by_hour = Start {
            time: minute,
            ..by_date
        };
        Plan::new(prescription, by_date, zone)
            .or_else(|_| Plan::new(prescription, by_hour, zone))
            .map_err(Failure::not_accepted)
    }

    /// The weights to work out the amounts for, each with whose it is.
    fn weights(
        &self,
        prescription: &Prescription,
        book: Option<&Open>,
        now: DateTime<Utc>,
        zone: Zone,
        notes: &mut Vec<String>,
    ) -> Result<Vec<Weighed>, Failure> {
        if !self.weight.is_empty() {
            let read = self.weight.iter().map(|typed| {
                let weight = BodyWeight::read(typed).map_err(Failure::not_accepted)?;
                Ok((format!("at {weight}"), Some(weight)))
            });
            return read.collect();
        }
        let by_weight = prescription.doses.iter().any(|dose| dose.rate().is_some());
        if !by_weight {
            let each = prescription.animals.iter();
            return Ok(each.map(|name| (name.clone(), None)).collect());
        }
        let mut weights = Vec::new();
        for name in prescription.animals.iter().filter(|_| book.is_some()) {
            let patients = book.iter().flat_map(|open| &open.ledger.animals);
            let patient = patients
                .into_iter()
                .find(|patient| same(&patient.animal.name, name));
            let latest = patient.and_then(|patient| patient.weights.latest(now));
            match latest {
                Some(weighing) => weights.push((
                    format!(
                        "{name}, {} on {}",
                        weighing.weight,
                        when::say_day(weighing.day(zone))
                    ),
                    Some(weighing.weight.clone()),
                )),
                None => notes.push(format!(
                    "{name} has no weight in the book, so what it takes is not worked out."
                )),
            }
        }
        Ok(weights)
    }
}
