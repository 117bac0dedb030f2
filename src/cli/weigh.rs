//! `scruple weigh`: one weighing; a likely slip is typed a second time.

use crate::animal::{Slip, Tag, Weighing, slip_between};
use crate::cli::Done;
use crate::cli::animal::clean;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{Happening, Subject, Weighed};
use crate::ledger::Patient;
use crate::notation::{Notation, Written, print};
use crate::quantity::BodyWeight;
use clap::ValueEnum;

/// Records a weighing
///
/// Examples:
///   scruple weigh Thimblo "34.5 g"
///   scruple weigh Thimblo "34.5 g" --at "2001-03-07 18:30" --tag wet --by AK
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Weigh {
    /// The animal's name, or the beginning of it
    animal: String,
    /// Its weight, as the scale shows it
    weight: String,
    /// When it was weighed [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// What may make the weight misleading
    #[arg(long, value_enum)]
    tag: Option<TagKind>,
    /// The smallest step the scale shows [default: the one in the settings]
    #[arg(long, value_name = "WEIGHT")]
    scale: Option<String>,
    /// Your initials
    #[arg(long)]
    by: Option<String>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum TagKind {
    /// Fed not long before
    JustFed,
    /// Carrying eggs or young
    Gravid,
    /// Weighed wet
    Wet,
}

impl From<TagKind> for Tag {
    fn from(tag: TagKind) -> Tag {
        match tag {
            TagKind::JustFed => Tag::JustFed,
            TagKind::Gravid => Tag::Gravid,
            TagKind::Wet => Tag::Wet,
        }
    }
}

impl Weigh {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let weight = BodyWeight::read(&self.weight).map_err(Failure::not_accepted)?;
        let mut open = desk.open()?;
        let at = open.happened(self.at.as_deref())?;
        let readability = match &self.scale {
            Some(scale) => BodyWeight::read(scale).map_err(Failure::not_accepted)?,
            None => open.settings.readability.clone(),
        };
        let patient = open
            .ledger
            .animal(&self.animal)
            .map_err(Failure::not_accepted)?;
        let name = patient.animal.name.clone();
        desk.banner(open.settings.demonstration)?;
        let new = Weighing {
            entry: u64::MAX,
            at,
            weight: weight.clone(),
            readability: readability.clone(),
            tag: self.tag.map(Tag::from),
        };
        let slip = slip(&open, patient, &new);
        if let Some((slip, against)) = &slip {
            typed_again(desk, &name, &weight, *slip, against)?;
        }
        let weighed = Weighed {
            weight,
            readability,
            tag: new.tag,
            confirmed: slip.is_some(),
            by: self
                .by
                .as_deref()
                .map(|by| clean("the initials", by))
                .transpose()?,
        };
        open.record(|_| {
            Ok(vec![New {
                subject: Subject::Animal(name.clone()),
                course: None,
                happened_at: at,
                what: Happening::Weighing(weighed.clone()),
            }])
        })?;
        report(desk, &open, &name, &new)?;
        Ok(Done::Well)
    }
}

/// A likely slip, and what the weight was held against.
pub(super) fn slip(open: &Open, patient: &Patient, new: &Weighing) -> Option<(Slip, String)> {
    if let Some(slip) = patient.weights.slip(new) {
        let before = patient.weights.latest(new.at)?;
        let against = format!("{} on {}", before.weight, when::say(before.at, open.zone));
        return Some((slip, against));
    }
    if !patient.weights.all().is_empty() {
        return None;
    }
    // A first weighing is held against the weight on a prescription.
    open.ledger.scripts_of(patient).find_map(|script| {
        let written = script
            .prescription
            .weight_written_for(&patient.animal.name)?;
        let slip = slip_between(
            written.value(),
            new.weight.value(),
            chrono::TimeDelta::days(1),
            new.readability.value(),
        )?;
        Some((
            slip,
            format!(
                "{written} on prescription {}",
                script.prescription.reference
            ),
        ))
    })
}

fn typed_again(
    desk: &mut Desk,
    name: &str,
    weight: &Written<BodyWeight>,
    slip: Slip,
    against: &str,
) -> Result<(), Failure> {
    let what = match slip {
        Slip::Tenfold => "about ten times as much or as little".to_owned(),
        Slip::Quick(share) => format!(
            "{} {}",
            print::percent(share, None),
            if share.is_negative() { "less" } else { "more" }
        ),
        Slip::Disagrees => "another weight at the same time".to_owned(),
    };
    let question = format!(
        "{name}: {weight} is {what}, beside {against}. If the scale really shows that, type the weight once more, with its unit:"
    );
    let again = desk.ask(&question)?;
    let again = again.map(|again| BodyWeight::read(&again));
    match again {
        Some(Ok(again)) if again.value() == weight.value() => Ok(()),
        _ => Err(Failure::not_accepted(
            "the weight was not typed the same again, so nothing was kept: weigh once more",
        )),
    }
}

/// What was recorded, how it compares, and what it means for today's doses.
fn report(desk: &mut Desk, open: &Open, name: &str, new: &Weighing) -> Result<(), Failure> {
    let patient = open.ledger.animal(name).map_err(Failure::failed)?;
    let tag = new.tag.map(|tag| format!(" ({tag})")).unwrap_or_default();
    desk.say(format!(
        "{name}: {}{tag}, {}.",
        new.weight,
        when::say(new.at, open.zone)
    ))?;
    let before = patient.weights.all().iter().rev().find(|w| w.at < new.at);
    if let Some(before) = before
        && let Ok(change) = new.weight.value().minus(before.weight.value())
        && let Ok(share) = change.over(before.weight.value())
    {
        let side = if share.is_negative() { "less" } else { "more" };
        let change = if share.is_zero() {
            "The same".to_owned()
        } else {
            let percent = print::percent(share, None).to_string();
            format!("{} {side}", percent.replacen("about", "About", 1))
        };
        desk.say(
            format!(
                "{change} than {} on {}.",
                before.weight,
                when::say(before.at, open.zone)
            )
            .replace("The same than", "The same as"),
        )?;
    }
    let round = crate::round::of_day(
        &open.ledger,
        &open.settings,
        open.zone,
        open.today(),
        open.now,
    )
    .map_err(Failure::failed)?;
    let own = |dose: &&crate::round::DayDose| dose.patient.animal.name == name;
    for dose in round.doses.iter().filter(own) {
        let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
        for caution in cautions.filter(|c| c.level() == crate::caution::Level::Call) {
            desk.say(format!(
                "CALL {}. {caution}",
                dose.script.prescription.vet.phone
            ))?;
        }
    }
    if round.doses.iter().any(|dose| own(&dose)) {
        desk.say(format!(
            "A dose is due for {name} today; a card printed before this is void."
        ))?;
    }
    Ok(())
}
