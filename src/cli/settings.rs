//! `scruple settings`: what is set, whose limit each is, since when; and changing one.
//!
//! Promises: every change is an entry, so nothing set before is lost. A change of zone moves no
//! dose of a course that is in the book, and says what its hours become.

use crate::cli::Done;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{Happening, Signed, Subject};
use crate::json;
use crate::notation::fold::same;
use crate::round::{courses, say};
use crate::schedule::{Due, Zone};
use crate::settings::{Setting, Settings};
use clap::Subcommand;

/// Shows the settings, or changes one
///
/// Examples:
///   scruple settings
///   scruple settings set weight-age "5 days"
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct SettingsCommand {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Changes one setting from now on
    ///
    /// Names: zone, paper, scale, weight-age, rounding-caution, rounding-most, loss,
    /// loss-since-start, order. A limit takes a whole number, or 'program' for the program's own;
    /// order takes names with commas between them, or 'none'.
    ///
    /// Examples:
    ///   scruple settings set weight-age "5 days"
    ///   scruple settings set order "Quillo, Thimblo"
    #[command(verbatim_doc_comment)]
    Set(Set),
}

/// One setting and its new value.
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
struct Set {
    /// Which setting
    name: String,
    /// Its new value
    value: String,
    #[command(flatten)]
    by: By,
}

impl SettingsCommand {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        match &self.what {
            None => show(desk),
            Some(What::Set(set)) => set.run(desk),
        }
    }
}

fn show(desk: &mut Desk) -> Result<Done, Failure> {
    let open = desk.open_to_read()?;
    let history = &open.ledger.settings_history;
    if desk.json() {
        desk.say(json::settings(&open.settings, history))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    for setting in Setting::ALL {
        let whose = setting.whose(&open.settings);
        let whose = whose.map_or(String::new(), |whose| format!(" ({})", whose.words()));
        desk.say(format!(
            "{:<17} {}{whose}: {}",
            setting.name(),
            setting.shown(&open.settings),
            setting.about()
        ))?;
    }
    desk.say("History")?;
    let mut before: Option<&Settings> = None;
    for set in history {
        let by = set
            .by
            .as_ref()
            .map_or(String::new(), |by| format!(", {by}"));
        let head = format!("  {}, entry {}{by}", said_at(&open, set.at), set.entry);
        match before {
            None => desk.say(format!("{head}: the book was begun"))?,
            Some(before) => {
                for (setting, from, to) in Setting::changes(before, &set.settings) {
                    desk.say(format!("{head}: {} from {from} to {to}", setting.name()))?;
                }
            }
        }
        before = Some(&set.settings);
    }
    Ok(Done::Well)
}

/// "8 March 2001 19:30", in the zone as it now is.
fn said_at(open: &Open, at: chrono::DateTime<chrono::Utc>) -> String {
    let local = at.with_timezone(&open.zone);
    local.format("%-d %B %Y %H:%M").to_string()
}

impl Set {
    fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let by = self.by.initials()?;
        let setting = Setting::find(&self.name).map_err(Failure::not_accepted)?;
        let mut open = desk.open()?;
        let new = self.changed(&open, setting, &open.settings)?;
        desk.banner(open.settings.demonstration)?;
        if new == open.settings {
            desk.say(format!(
                "{} is {} already.",
                setting.name(),
                setting.shown(&new)
            ))?;
            return Ok(Done::Well);
        }
        if setting == Setting::Zone && say_what_moves(desk, &open, &new)? {
            desk.confirm("Change the zone?")?;
        }
        let (now, before) = (open.now, open.settings.clone());
        open.record(|ledger| {
            if ledger.settings.as_ref() != Some(&before) {
                return Err(Failure::not_accepted(
                    "the settings have changed since they were looked at, so nothing was kept: look at 'scruple settings', then set it again",
                ));
            }
            Ok(vec![New {
                subject: Subject::Settings,
                course: None,
                happened_at: now,
                what: Happening::Settings(Signed::new(new.clone(), by.clone())),
            }])
        })?;
        desk.say(format!(
            "{} is {} from now on; it was {}.",
            setting.name(),
            setting.shown(&new),
            setting.shown(&before)
        ))?;
        if let Some(whose) = setting.whose(&new) {
            desk.say(format!(
                "It is {}; what your vet wrote goes before it.",
                whose.words()
            ))?;
        }
        desk.say("A card printed before this may be void: compare its book code.")?;
        Ok(Done::Well)
    }

    fn changed(&self, open: &Open, setting: Setting, old: &Settings) -> Result<Settings, Failure> {
        let mut new = old
            .with(setting, &self.value)
            .map_err(Failure::not_accepted)?;
        if setting == Setting::Order {
            for name in &mut new.order {
                let patient = open.ledger.animal(name).map_err(Failure::not_accepted)?;
                name.clone_from(&patient.animal.name);
            }
            // Two beginnings can be of one name.
            let twice = new.order.iter().enumerate().find(|(at, name)| {
                let before = new.order.iter().take(*at);
                before.into_iter().any(|known| same(known, name))
            });
            if let Some((_, name)) = twice {
                return Err(Failure::not_accepted(format!(
                    "{name} is named twice in the order of work: name each animal once"
                )));
            }
        }
        Ok(new)
    }
}

/// What a change of zone does to the courses that are running: nothing to their doses, and this to
/// the hours they are spoken of. Whether any is.
fn say_what_moves(desk: &mut Desk, open: &Open, new: &Settings) -> Result<bool, Failure> {
    let zone: Zone = crate::cli::desk::read_zone(&new.zone)?;
    let standings = courses(&open.ledger, open.zone, open.now).map_err(Failure::failed)?;
    let mut any = false;
    for standing in &standings {
        let next = standing.course.next;
        let Some(next) = next.and_then(|number| standing.course.slot(number)) else {
            continue;
        };
        if !any {
            desk.say("No dose of a course in the book moves: each stays at the moment it was laid out for.")?;
            any = true;
        }
        let what = match next.due {
            Due::At(at) => format!(
                "{} in {} is {} in {}",
                when::say(at, open.zone),
                open.zone.name(),
                when::say(at, zone),
                zone.name()
            ),
            Due::On(_) => format!(
                "{}, a date without an hour, is read in {}",
                say::due(next.due, zone),
                zone.name()
            ),
        };
        desk.say(format!(
            "  {}, {}, dose {}: {what}",
            standing.patient.animal.name, standing.script.prescription.reference, next.slot.number
        ))?;
    }
    if any {
        desk.say("If doses are to follow the clock of the new place, ask your vet, who has to write the course anew. The age of a weight and \"today\" count in the new zone.")?;
    }
    Ok(any)
}
