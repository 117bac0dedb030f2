//! `scruple weigh`: one weighing, or a table of them; a likely slip is typed a second time.

mod file;
mod table;

use crate::animal::{Slip, Tag, Weighing, Weights, slip_between};
use crate::caution::{Caution, Level};
use crate::cli::Done;
use crate::cli::animal::clean;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::end::had_left;
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{Happening, Subject, Weighed};
use crate::ledger::{Ledger, Patient};
use crate::notation::{Notation, Written, print};
use crate::quantity::BodyWeight;
use crate::round::unsettled::measured_before;
use crate::round::{Pick, courses, day_dose, of_day};
use crate::schedule::Zone;
use crate::settings::read_scale;
use clap::ValueEnum;
use std::path::PathBuf;

/// Records a weighing, or a table of them
///
/// A table is a CSV file whose first line is name,date,weight, with the columns time and tag if
/// you have them. Every row is checked before any is kept.
///
/// Examples:
///   scruple weigh Thimblo "34.5 g"
///   scruple weigh Thimblo "34.5 g" --at "2001-03-07 18:30" --tag wet --by AK
///   scruple weigh --from weights.csv
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Weigh {
    /// The animal's name, or the beginning of it
    #[arg(required_unless_present = "from")]
    animal: Option<String>,
    /// Its weight, as the scale shows it
    #[arg(required_unless_present = "from")]
    weight: Option<String>,
    /// A table of weighings instead
    #[arg(long, value_name = "FILE.csv", conflicts_with_all = ["animal", "weight", "at", "tag"])]
    from: Option<PathBuf>,
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
    #[arg(long, value_name = "INITIALS")]
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
        match (&self.from, &self.animal, &self.weight) {
            (Some(path), ..) => file::run(self, path, desk),
            (None, Some(animal), Some(weight)) => self.one(animal, weight, desk),
            _ => Err(Failure::not_accepted("name the animal and its weight")),
        }
    }

    fn one(&self, animal: &str, weight: &str, desk: &mut Desk) -> Result<Done, Failure> {
        let weight = BodyWeight::read(weight).map_err(Failure::not_accepted)?;
        let mut open = match &self.at {
            None => desk.open_about(animal, None)?,
            Some(_) => desk.open()?,
        };
        // A first weight is held against prescriptions that may be at rest.
        let known = open.ledger.animal(animal);
        if open.ledger.in_part && known.is_ok_and(|known| known.weights.all().is_empty()) {
            open = desk.open()?;
        }
        let at = open.happened(self.at.as_deref())?;
        let readability = self.readability(&open)?;
        let patient = open.ledger.animal(animal).map_err(Failure::not_accepted)?;
        let name = patient.animal.name.clone();
        desk.banner(open.settings.demonstration)?;
        if let Some(left) = had_left(patient, at, open.zone) {
            desk.say(left)?;
            desk.confirm("Keep this weight all the same?")?;
        }
        let new = Weighing {
            entry: u64::MAX,
            at,
            weight: weight.clone(),
            readability: readability.clone(),
            tag: self.tag.map(Tag::from),
        };
        let slip = slip(&open.ledger, patient, &patient.weights, &new, open.zone);
        if let Some((slip, beside)) = &slip {
            typed_again(desk, &name, &weight, *slip, beside)?;
        }
        let weighed = Weighed {
            weight,
            readability,
            tag: new.tag,
            confirmed: slip.is_some(),
            by: self.initials()?,
        };
        let rows = open.record(|_| {
            Ok(vec![New {
                subject: Subject::Animal(name.clone()),
                course: None,
                happened_at: at,
                what: Happening::Weighing(weighed.clone()),
            }])
        })?;
        let entry = rows.first().map_or(0, |row| row.seq);
        report(desk, &open, &name, &new, entry)?;
        Ok(Done::Well)
    }

    fn readability(&self, open: &Open) -> Result<Written<BodyWeight>, Failure> {
        match &self.scale {
            Some(scale) => read_scale(scale).map_err(Failure::not_accepted),
            None => Ok(open.settings.readability.clone()),
        }
    }

    fn initials(&self) -> Result<Option<String>, Failure> {
        let by = self.by.as_deref();
        by.map(|by| clean("the initials", by)).transpose()
    }
}

/// A likely slip, and what the weight was held against.
fn slip(
    ledger: &Ledger,
    patient: &Patient,
    weights: &Weights,
    new: &Weighing,
    zone: Zone,
) -> Option<(Slip, String)> {
    if let Some((slip, other)) = weights.slip(new) {
        let beside = format!("{} on {}", other.weight, when::say(other.at, zone));
        return Some((slip, beside));
    }
    if !weights.all().is_empty() {
        return None;
    }
    // A first weighing is held against the weight on a prescription.
    ledger.scripts_of(patient).find_map(|script| {
        let prescription = &script.prescription;
        let written = prescription.weight_written_for(&patient.animal.name)?;
        let slip = slip_between(
            written.value(),
            new.weight.value(),
            chrono::TimeDelta::days(1),
            new.readability.value(),
        )?;
        let beside = format!("{written} on prescription {}", prescription.reference);
        Some((slip, beside))
    })
}

/// What a likely slip looks like, beside the other weight.
fn against(slip: Slip) -> String {
    match slip {
        Slip::Tenfold => "about ten times as much or as little".to_owned(),
        Slip::Quick(share) => format!(
            "{} {}",
            print::percent(share, None),
            if share.is_negative() { "less" } else { "more" }
        ),
        Slip::Disagrees => "another weight at the same time".to_owned(),
    }
}

fn typed_again(
    desk: &mut Desk,
    name: &str,
    weight: &Written<BodyWeight>,
    slip: Slip,
    beside: &str,
) -> Result<(), Failure> {
    let question = format!(
        "{name}: {weight} is {}, beside {beside}. If the scale really shows that, type the weight once more, with its unit:",
        against(slip)
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
fn report(
    desk: &mut Desk,
    open: &Open,
    name: &str,
    new: &Weighing,
    entry: u64,
) -> Result<(), Failure> {
    let patient = open.ledger.animal(name).map_err(Failure::failed)?;
    let tag = new.tag.map(|tag| format!(" ({tag})")).unwrap_or_default();
    desk.say(format!(
        "{name}: {}{tag}, {}. Recorded as entry {entry}.",
        new.weight,
        when::say(new.at, open.zone)
    ))?;
    if let Some(long_ago) = when::long_ago(new.at, open.now, open.zone) {
        desk.say(format!(
            "{long_ago} If it is wrong: scruple correct {entry} --because WORDS"
        ))?;
    }
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
    if patient.weights.all().len() == 1 {
        desk.say(format!(
            "This is its first weighing, and nothing stands beside it yet: look at the scale once more. If it shows another weight: scruple correct {entry} --because WORDS"
        ))?;
    }
    calls(desk, open, name, entry)
}

/// What the weights, written down from an entry on, now say about the courses: a dose that was
/// measured by an older one, a loss that means "call", an old card.
fn calls(desk: &mut Desk, open: &Open, name: &str, written: u64) -> Result<(), Failure> {
    let standings = courses(&open.ledger, open.zone, open.now).map_err(Failure::failed)?;
    let own = standings.iter().filter(|s| s.patient.animal.name == name);
    let mut said: Vec<String> = Vec::new();
    for standing in own {
        let prescription = &standing.script.prescription;
        let (reference, phone) = (&prescription.reference, &prescription.vet.phone);
        let measured = measured_before(standing, &open.settings, written, open.now);
        for (dose, words, tell) in &measured {
            let call = tell.then(|| format!(" CALL {phone}."));
            desk.say(format!(
                "{name}, {reference}: the dose of {} (entry {}) was {words}.{}",
                when::say(dose.happened, open.zone),
                dose.entry,
                call.unwrap_or_default()
            ))?;
        }
        let next = standing
            .course
            .next
            .and_then(|number| standing.course.slot(number));
        let Some(next) = next else { continue };
        let dose = day_dose(
            &open.ledger,
            &open.settings,
            standing,
            next,
            Pick::default(),
            open.today(),
            open.now,
            open.zone,
        );
        let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
        let told = |caution: &&Caution| match caution {
            Caution::Unsettled { entry, .. } => measured.iter().any(|(d, ..)| d.entry == *entry),
            _ => false,
        };
        let calls = cautions.filter(|caution| caution.level() == Level::Call && !told(caution));
        for caution in calls {
            said.push(format!("{name}: CALL {phone}. {caution}"));
        }
    }
    said.dedup();
    for line in said {
        desk.say(line)?;
    }
    let round = of_day(
        &open.ledger,
        &open.settings,
        open.zone,
        open.today(),
        open.now,
    )
    .map_err(Failure::failed)?;
    if round
        .doses
        .iter()
        .any(|dose| dose.patient.animal.name == name)
    {
        desk.say(format!(
            "A dose is due for {name} today; a card printed before this is void."
        ))?;
    }
    Ok(())
}
