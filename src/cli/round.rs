//! `scruple round`: the doses that wait, one by one at the keyboard.
//!
//! Promises: every record goes through the command that would be typed for it, with its judging
//! and its words; what the book says is read afresh before each dose and again before each record;
//! breaking off anywhere loses nothing that was recorded and records nothing more. A round takes
//! time: unless a person named a time with `--now`, `main` is asked for it anew at each key.

use crate::cli::ask::{Said, complain, hear};
use crate::cli::desk::{Desk, Open};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::cli::{Arguments, Clock, Done, Everywhere, dispatch};
use crate::course::State;
use crate::notation::fold::same;
use crate::round::tell::damage_first;
use crate::round::{DayDose, Round, of_day, say};
use crate::terminal;
use crate::terminal::wrapped;
use clap::Parser;

/// Goes through the doses that wait, one by one at the keyboard
///
/// It shows each dose as the card does, lets you weigh first, and records what became of it. Break
/// off whenever you like; it goes on from there.
///
/// Examples:
///   scruple round
///   scruple round --by AK
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Walk {
    /// Your initials
    #[arg(long, value_name = "INITIALS")]
    by: Option<String>,
}

/// Which dose of the day: the animal, the prescription, the number.
#[derive(Clone, PartialEq, Eq)]
struct Which {
    animal: String,
    reference: String,
    number: u32,
}

/// What one key does.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Key {
    Given,
    NotAsOnTheCard,
    Partly,
    BroughtUp,
    Refused,
    Missed,
    Withheld,
    Unsure,
    Weigh,
    Next,
    Stop,
}

const KEYS: [(&str, Key, &str); 11] = [
    ("g", Key::Given, "given now, as the card says"),
    (
        "o",
        Key::NotAsOnTheCard,
        "given, but at another time or otherwise than the card says",
    ),
    ("p", Key::Partly, "partly given"),
    ("b", Key::BroughtUp, "brought up or spat out"),
    ("r", Key::Refused, "refused by the animal"),
    ("x", Key::Missed, "missed: not given"),
    ("v", Key::Withheld, "withheld: left out, as your vet said"),
    (
        "u",
        Key::Unsure,
        "unsure: nobody knows whether it was given",
    ),
    ("w", Key::Weigh, "weigh the animal now"),
    ("n", Key::Next, "the next dose; nothing is recorded"),
    ("q", Key::Stop, "stop here"),
];

/// How the walk goes on after a dose.
enum Then {
    /// Something was recorded about it.
    Recorded,
    /// It was left as it is.
    Left,
    /// The person stops, or the input has ended.
    Stop,
}

impl Walk {
    pub fn run(&self, desk: &mut Desk, clock: Clock) -> Result<Done, Failure> {
        if desk.json() {
            return Err(Failure::not_accepted(
                "a round is gone through by a person, so it has no answer for programs: use 'scruple today --format json'",
            ));
        }
        let open = desk.open_to_read()?;
        desk.banner(open.settings.demonstration)?;
        if let Some(stop) = damage_first(&open.ledger) {
            desk.say(wrapped(&stop, "", "      "))?;
        }
        let round = today(&open)?;
        for call in terminal::off_card(&round) {
            desk.say(call)?;
        }
        let doses = doses_to_go_through(&round);
        if doses.is_empty() {
            desk.say("No dose waits now.")?;
            say_later(desk)?;
            desk.say("What else waits:")?;
            desk.say(format!("   scruple{}", desk.common()))?;
            return Ok(Done::Well);
        }
        let when = if open.clock_given {
            let named = open.now.with_timezone(&open.zone);
            format!("at {}, the time you named", named.format("%H:%M"))
        } else {
            "when you record it".to_owned()
        };
        let intro = format!(
            "{} now. What you record is taken to have happened {when}, unless you say otherwise.",
            count(doses.len()),
        );
        desk.say(wrapped(&intro, "", ""))?;
        let (mut recorded, mut left) = (0, Vec::new());
        let mut doses = doses.into_iter().enumerate();
        let all = doses.len();
        for (at, which) in doses.by_ref() {
            desk.say(format!("\n{} of {all}", at + 1))?;
            match self.dose(desk, clock, &which)? {
                Then::Recorded => recorded += 1,
                Then::Left => left.push(which),
                Then::Stop => {
                    left.push(which);
                    break;
                }
            }
        }
        left.extend(doses.map(|(_, which)| which));
        self.end(desk, recorded, &left)
    }

    fn end(&self, desk: &mut Desk, recorded: usize, left: &[Which]) -> Result<Done, Failure> {
        desk.say(format!(
            "\nRecorded: {}. Left: {}.",
            count(recorded),
            count(left.len())
        ))?;
        for which in left {
            desk.say(format!(
                "   {}, {}, dose {}",
                which.animal, which.reference, which.number
            ))?;
        }
        if !left.is_empty() {
            desk.say("To go on from there:")?;
            desk.say(format!("   scruple round{}", desk.common()))?;
        }
        say_later(desk)?;
        Ok(Done::Well)
    }

    /// One dose, until something became of it or the person goes on.
    fn dose(&self, desk: &mut Desk, clock: Clock, which: &Which) -> Result<Then, Failure> {
        let mut shown = None;
        loop {
            let open = desk.open_to_read()?;
            let round = today(&open)?;
            let Some(dose) = find(&round, which) else {
                desk.say(format!(
                    "{}, {}, dose {}: somebody has answered for it meanwhile.",
                    which.animal, which.reference, which.number
                ))?;
                return Ok(Then::Left);
            };
            let panel = terminal::one(dose, &round);
            if shown.as_ref() != Some(&panel) {
                desk.say(&panel)?;
                desk.say("")?;
                for (key, _, said) in KEYS {
                    desk.say(format!("   {key}  {said}"))?;
                }
                shown = Some(panel);
            }
            let heard = hear(desk, "Type one letter:")?;
            desk.world.now = clock();
            let key = match heard {
                Said::Quit => return Ok(Then::Stop),
                Said::Back => Err(
                    "go on from here; what was recorded can be mended with 'scruple correct'"
                        .to_owned(),
                ),
                Said::Answer(typed) => key(&typed),
            };
            let key = match key {
                Ok(key) => key,
                Err(why) => {
                    complain(desk, &why)?;
                    continue;
                }
            };
            let done = match key {
                Key::Stop => return Ok(Then::Stop),
                Key::Next => return Ok(Then::Left),
                Key::Weigh => match hear(desk, "What does it weigh, with the unit?\nAnswer:")? {
                    Said::Quit => return Ok(Then::Stop),
                    Said::Back => continue,
                    Said::Answer(weight) => {
                        let mut line = self.line("weigh");
                        line.extend(["--".to_owned(), which.animal.clone(), weight]);
                        run(desk, &line, false).map(|()| None)
                    }
                },
                outcome => {
                    let Some(line) = self.record(desk, dose, which, outcome)? else {
                        continue;
                    };
                    // Somebody else may have recorded it since it was shown.
                    let again = desk.open_to_read()?;
                    let now = today(&again)?;
                    let same_still = find(&now, which).map(|dose| terminal::one(dose, &now));
                    if same_still != shown {
                        complain(
                            desk,
                            "the book, or what the hour allows, has changed since this was shown, so nothing was recorded",
                        )?;
                        continue;
                    }
                    run(desk, &line, needs_no_question(dose, outcome)).map(Some)
                }
            };
            match done {
                Ok(Some(())) => return Ok(Then::Recorded),
                Ok(None) => {}
                Err(failure) if failure.is_about_input() => {
                    complain(desk, &failure.to_string())?;
                }
                Err(failure) => return Err(failure),
            }
        }
    }

    fn line(&self, command: &str) -> Vec<String> {
        let mut line = vec!["scruple".to_owned(), command.to_owned()];
        if let Some(by) = &self.by {
            line.extend(["--by".to_owned(), by.clone()]);
        }
        line
    }

    /// The command that records an outcome; nothing where the person goes back.
    fn record(
        &self,
        desk: &mut Desk,
        dose: &DayDose,
        which: &Which,
        key: Key,
    ) -> Result<Option<Vec<String>>, Failure> {
        let command = match key {
            Key::Partly => "partly",
            Key::BroughtUp => "brought-up",
            Key::Refused => "refused",
            Key::Missed => "missed",
            Key::Withheld => "withheld",
            Key::Unsure => "unsure",
            _ => "give",
        };
        let mut line = self.line(command);
        line.extend(["--dose".to_owned(), which.number.to_string()]);
        for (flag, question, otherwise) in differently(dose, key) {
            let form = format!("For {otherwise}, press Enter alone.");
            let asked = [wrapped(question, "", "  "), wrapped(&form, "  ", "  ")];
            match hear(desk, &format!("{}\nAnswer:", asked.join("\n")))? {
                Said::Quit | Said::Back => return Ok(None),
                Said::Answer(answer) if answer.is_empty() => {}
                Said::Answer(answer) => line.push(format!("{flag}={answer}")),
            }
        }
        line.push("--".to_owned());
        line.extend([which.animal.clone(), which.reference.clone()]);
        Ok(Some(line))
    }
}

/// What is asked about a dose that did not go as the card says: the flag, the question, and what
/// an empty answer means.
fn differently(dose: &DayDose, key: Key) -> Vec<(&'static str, &'static str, String)> {
    const AS_ON_THE_CARD: &str = "as the card says";
    let in_a_syringe = dose
        .drawn()
        .is_some_and(|drawn| drawn.chosen.instrument.syringe().is_some());
    let at = |question| ("--at", question, "now".to_owned());
    let as_on_the_card = |flag, question| (flag, question, AS_ON_THE_CARD.to_owned());
    let drawn = as_on_the_card("--drawn", "How much was drawn, with its unit?");
    let mut asked = match key {
        Key::Unsure => {
            return vec![at(
                "What is the latest time at which it could have been given?",
            )];
        }
        Key::Partly | Key::BroughtUp | Key::NotAsOnTheCard => vec![at("At what time?")],
        _ => return Vec::new(),
    };
    if in_a_syringe {
        asked.push(drawn);
    }
    if key != Key::NotAsOnTheCard {
        return asked;
    }
    if in_a_syringe {
        asked.push(as_on_the_card(
            "--syringe",
            "In which syringe? Its capacity, a slash, and the distance between its lines.",
        ));
    }
    asked.push(as_on_the_card(
        "--bottle",
        "From which bottle, by its number?",
    ));
    if let Some(site) = dose.site {
        asked.push(("--site", "Where did it go in?", say::site(&site.words())));
    }
    asked
}

/// Whether one key is enough: the dose is as the card says, nothing speaks against it, and what is
/// recorded has just been shown.
fn needs_no_question(dose: &DayDose, key: Key) -> bool {
    let quiet = dose.no_mark.is_empty() && dose.slot.gate.is_open() && !dose.call_first();
    match key {
        Key::Given => quiet,
        Key::Refused | Key::Missed | Key::Withheld => true,
        _ => false,
    }
}

/// Runs one ordinary command, from its parsed arguments on.
fn run(desk: &mut Desk, line: &[String], yes: bool) -> Result<(), Failure> {
    let arguments = Arguments::try_parse_from(line).map_err(|error| {
        let text = error.to_string();
        let first = text.lines().next().unwrap_or_default();
        Failure::not_accepted(first.trim_start_matches("error: "))
    })?;
    let everywhere = Everywhere {
        yes,
        ..desk.everywhere.clone()
    };
    dispatch(arguments.command.as_ref(), &everywhere, desk.world, None)?;
    Ok(())
}

/// What is due later today, read afresh: a dose just given may have pushed it.
fn say_later(desk: &mut Desk) -> Result<(), Failure> {
    let open = desk.open_to_read()?;
    let later = later_today(&open)?;
    if !later.is_empty() {
        desk.say("Later today:")?;
    }
    for line in later {
        desk.say(wrapped(&line, "   ", "      "))?;
    }
    Ok(())
}

fn today(open: &Open) -> Result<Round<'_>, Failure> {
    of_day(
        &open.ledger,
        &open.settings,
        open.zone,
        open.today(),
        open.now,
    )
    .map_err(Failure::failed)
}

/// The doses that can be given or answered for now, in order of work.
fn doses_to_go_through(round: &Round) -> Vec<Which> {
    let now = |dose: &&DayDose| !matches!(dose.slot.state, State::Planned | State::TooSoon);
    round.doses.iter().filter(now).map(which).collect()
}

/// The doses of today that are not open yet.
fn later_today(open: &Open) -> Result<Vec<String>, Failure> {
    let round = today(open)?;
    let later = |dose: &&DayDose| matches!(dose.slot.state, State::Planned | State::TooSoon);
    let later = round.doses.iter().filter(later);
    Ok(later.map(|dose| later_line(dose, &round)).collect())
}

/// "Thimblo, DEMO-0001, dose 2: due 20:00, from 18:30 until 21:30".
fn later_line(dose: &DayDose, round: &Round) -> String {
    format!(
        "{}, {}, dose {}: {}",
        dose.patient.animal.name,
        dose.script.prescription.reference,
        dose.slot.slot.number,
        say::when(dose, round)
    )
}

fn which(dose: &DayDose) -> Which {
    Which {
        animal: dose.patient.animal.name.clone(),
        reference: dose.script.prescription.reference.clone(),
        number: dose.slot.slot.number,
    }
}

fn find<'r, 'l>(round: &'r Round<'l>, wanted: &Which) -> Option<&'r DayDose<'l>> {
    round.doses.iter().find(|dose| which(dose) == *wanted)
}

fn key(typed: &str) -> Result<Key, String> {
    let known = KEYS.iter().find(|(letter, ..)| same(letter, typed));
    known.map(|(_, key, _)| *key).ok_or_else(|| {
        let letters: Vec<&str> = KEYS.iter().map(|(letter, ..)| *letter).collect();
        format!("'{}' is none of {}", when::shown(typed), letters.join(", "))
    })
}

fn count(doses: usize) -> String {
    match doses {
        1 => "1 dose".to_owned(),
        many => format!("{many} doses"),
    }
}
