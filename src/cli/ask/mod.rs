//! `scruple enter` without a file: the prescription asked for, one question at a time.
//!
//! Promises: each answer is judged at once by the reader of the file form, and kept only if that
//! finds nothing wrong; `back` and `quit` are heard at every question; nothing is written here,
//! and at the end of input nothing is left. Plain lines only, so that a pipe and a screen reader
//! follow. No question and no message offers a dose.

mod answers;
mod choices;
mod draft;
mod plan;
mod question;

use crate::cli::ask::answers::Answers;
use crate::cli::ask::choices::Choice;
use crate::cli::ask::draft::{Draft, Owner, not_a_number};
use crate::cli::ask::plan::{FromTheBook, Key, plan};
use crate::cli::ask::question::{Question, question};
use crate::cli::desk::{Desk, Open};
use crate::cli::enter::{known_alike, not_expired, not_to_come, read_start, unused, weights_apart};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::ledger::Patient;
use crate::notation::Notation;
use crate::notation::fold::{fold, same};
use crate::prescription::{Fault, Prescription};
use crate::quantity::BodyWeight;
use crate::schedule::Start;
use crate::terminal::wrapped;

/// The name under which an asked prescription stands in the book.
pub(super) const FILE_NAME: &str = "answers.ron";

/// Questions and the answers so far.
#[derive(Default)]
pub(super) struct Asking {
    answers: Answers,
}

/// Everything answered.
pub(super) struct Asked {
    /// The prescription, as a file would have held it.
    pub prescription: Prescription,
    /// When the first dose is due.
    pub start: Start,
}

/// What a person typed at a question.
pub(super) enum Said {
    /// An answer.
    Answer(String),
    /// To the question before.
    Back,
    /// No more.
    Quit,
}

/// Reads one answer; the end of input is like `quit`.
pub(super) fn hear(desk: &mut Desk, asked: &str) -> Result<Said, Failure> {
    Ok(match desk.ask(asked)? {
        None => Said::Quit,
        Some(typed) if same(&typed, "quit") => Said::Quit,
        Some(typed) if same(&typed, "back") => Said::Back,
        Some(typed) => Said::Answer(typed),
    })
}

impl Asking {
    /// Says how it goes.
    ///
    /// # Errors
    /// [`Failure`] where no animal is in the book: every prescription is for one.
    pub fn begin(desk: &mut Desk, open: &Open) -> Result<Asking, Failure> {
        if open
            .ledger
            .animals
            .iter()
            .all(|patient| patient.end.is_some())
        {
            return Err(Failure::not_accepted(
                "no animal is in the book yet: take it in first with 'scruple animal add', then enter its prescription",
            ));
        }
        for line in [
            "Have the vet's label in front of you. There is one question at a time, in the order of a label, and every figure is copied from it. If a figure is missing there, ask your vet.",
            "Type back to change the answer before, and quit to stop. Nothing is kept until the end, when everything is read back to you.",
        ] {
            desk.say(wrapped(line, "", ""))?;
        }
        Ok(Asking::default())
    }

    /// Asks until every question is answered; nothing where the person quits or the input ends.
    pub fn go(&mut self, desk: &mut Desk, open: &Open) -> Result<Option<Asked>, Failure> {
        loop {
            let book = self.from(open);
            let plan = plan(&self.answers, &book);
            let next = plan
                .into_iter()
                .find(|key| self.answers.get(*key).is_none());
            let Some(key) = next else {
                match self.finished(open) {
                    Ok(asked) => return Ok(Some(asked)),
                    Err(why) => complain(desk, &why)?,
                }
                self.back();
                continue;
            };
            let question = question(key, &self.answers, &book);
            match hear(desk, &self.put(key, &question))? {
                Said::Quit => return Ok(None),
                Said::Back if self.answers.take_back().is_none() => {
                    complain(desk, "this is the first question")?;
                }
                Said::Back => {}
                Said::Answer(typed) => match self.take(open, key, &question, &typed) {
                    Ok(Some(note)) => desk.say(wrapped(&note, "", ""))?,
                    Ok(None) => {}
                    Err(why) => complain(desk, &why)?,
                },
            }
        }
    }

    /// Takes the last answer back.
    pub fn back(&mut self) {
        self.answers.take_back();
    }

    /// The text of a question.
    fn put(&self, key: Key, question: &Question) -> String {
        let mut lines = vec![String::new(), wrapped(&question.asked, "", "")];
        for (at, (_, said)) in (1..).zip(&question.choices) {
            lines.push(wrapped(said, &format!("  {at:>2}  "), "      "));
        }
        lines.push(wrapped(question.form, "  ", "  "));
        if let Some(left_open) = question.left_open {
            lines.push(wrapped(left_open, "  ", "  "));
        }
        if let Some(before) = self.answers.before(key) {
            let before = match question.said(before) {
                "" => "You had left this open.".to_owned(),
                before => format!(
                    "You had answered: {}. Type same to keep that.",
                    before.replace('\n', ", ")
                ),
            };
            lines.push(wrapped(&before, "  ", "  "));
        }
        lines.push("Answer:".to_owned());
        lines.join("\n")
    }

    /// Takes an answer, or says why not; what comes back is to be said aloud.
    fn take(
        &mut self,
        open: &Open,
        key: Key,
        question: &Question,
        typed: &str,
    ) -> Result<Option<String>, String> {
        let before = self.answers.before(key).filter(|_| same(typed, "same"));
        let (answer, note) = match (before, key, question.choices.as_slice()) {
            (Some(before), ..) => (before.to_owned(), None),
            (None, ..) if typed.is_empty() && question.left_open.is_some() => (String::new(), None),
            (None, ..) if typed.is_empty() => {
                return Err("this is needed; if your vet did not write it, ask".to_owned());
            }
            (None, Key::Animals, _) => animals(open, typed)?,
            (None, _, []) => (typed.to_owned(), None),
            (None, _, choices) => {
                let (word, said) = chosen(choices, typed)?;
                ((*word).to_owned(), Some(format!("That is: {said}.")))
            }
        };
        self.answers.give(key, answer);
        let judged = self.judge(open, key);
        if judged.is_err() {
            self.answers.drop_last();
        }
        judged.map(|()| note)
    }

    /// The latest answer, against the form and then against the book.
    fn judge(&self, open: &Open, key: Key) -> Result<(), String> {
        if matches!(key, Key::Count(_) | Key::Days(_)) {
            whole_numbers(self.answers.get(key).unwrap_or_default())?;
        }
        let draft = Draft::so_far(&self.answers, open.today());
        if let Some((owner, fault)) = draft.fault() {
            return Err(self.words(key, owner, &fault));
        }
        let answer = self.answers.get(key).unwrap_or_default();
        let day = || when::read_day(answer).map_err(|failure| failure.to_string());
        let judged = match key {
            Key::Written => not_to_come(day()?, open.today()),
            Key::ValidUntil if !answer.is_empty() => not_expired(day()?, open.today()),
            Key::Reference => unused(&open.ledger, answer),
            Key::MedicineAgain => {
                let name = self.answers.get(Key::Medicine).unwrap_or_default();
                return same(name, answer)
                    .then_some(())
                    .ok_or_else(|| "the name was not typed the same again: if you are unsure which medicine is meant, ask your vet".to_owned());
            }
            Key::WeightAgain(animal) => return self.weight_again(open, animal, answer),
            Key::Start => self.start(open).map(|_| ()),
            _ => Ok(()),
        };
        judged.map_err(|failure| failure.to_string())
    }

    fn words(&self, key: Key, owner: Owner, fault: &Fault) -> String {
        let Fault {
            wrong, expected, ..
        } = fault;
        match owner {
            Owner::Answer(other) if other != key => {
                let asked = question(other, &self.answers, &FromTheBook::default()).asked;
                format!(
                    "this does not go with what you answered to \"{asked}\": {wrong}. Answer otherwise, or type back until you come to that question"
                )
            }
            _ if wrong.contains(": ") => wrong.clone(),
            _ => format!("{wrong}; expected here: {expected}"),
        }
    }

    fn from(&self, open: &Open) -> FromTheBook {
        let medicine = self.answers.filled(Key::Medicine);
        let alike =
            medicine.and_then(|name| known_alike(&open.ledger, name, |known| same(known, name)));
        // Before the rarer things have been asked about, it cannot be whole.
        let asked = self.answers.get(Key::More(0)).is_some();
        let finished = asked.then(|| self.read(open).ok()).flatten();
        let apart = |name: &str| {
            let finished = finished.as_ref()?;
            weights_apart(open, finished, name)
        };
        let names = self.answers.animals();
        let places = (0..).zip(names).filter(|(_, name)| apart(name).is_some());
        FromTheBook {
            name_alike: alike.map(str::to_owned),
            weights_apart: places.map(|(place, _)| place).collect(),
        }
    }

    fn weight_again(&self, open: &Open, animal: u8, answer: &str) -> Result<(), String> {
        let again = BodyWeight::read(answer).map_err(|error| error.to_string())?;
        let names = self.answers.animals();
        let name = names.get(usize::from(animal)).copied().unwrap_or_default();
        let patient = open
            .ledger
            .animal(name)
            .map_err(|error| error.to_string())?;
        let latest = patient.weights.latest(open.now);
        if latest.is_some_and(|latest| latest.weight.value() == again.value()) {
            return Ok(());
        }
        Err(
            "that is not the weight in the book: weigh again, and ask your vet which is right"
                .to_owned(),
        )
    }

    /// When the first dose is due, if the course can be laid out from there.
    fn start(&self, open: &Open) -> Result<Start, Failure> {
        let start = read_start(self.answers.get(Key::Start).unwrap_or_default())?;
        let prescription = self
            .read(open)
            .map_err(|faults| Failure::not_accepted(faults.to_string()))?;
        prescription
            .schedule
            .expand(start, open.zone)
            .map_err(Failure::not_accepted)?;
        Ok(start)
    }

    fn read(&self, open: &Open) -> Result<Prescription, crate::prescription::Faults> {
        let draft = Draft::finished(&self.answers, open.settings.demonstration);
        Prescription::read(&draft.text(), FILE_NAME)
    }

    fn finished(&self, open: &Open) -> Result<Asked, String> {
        Ok(Asked {
            prescription: self.read(open).map_err(|faults| faults.to_string())?,
            start: self.start(open).map_err(|failure| failure.to_string())?,
        })
    }
}

/// What a file's reader would call a text, called by what it is to somebody who answers.
fn whole_numbers(answer: &str) -> Result<(), String> {
    match not_a_number(answer) {
        None => Ok(()),
        Some(item) => Err(format!(
            "'{}' is not a whole number: write it in figures",
            when::shown(&item)
        )),
    }
}

/// Says why an answer was not taken.
pub(super) fn complain(desk: &mut Desk, why: &str) -> Result<(), Failure> {
    let why = Failure::not_accepted(why).to_string();
    let line = wrapped(&why, "Not accepted. ", "  ");
    writeln!(desk.world.err, "{line}")?;
    Ok(())
}

/// The animals by their full names, a line for each, and who they are.
fn animals(open: &Open, typed: &str) -> Result<(String, Option<String>), String> {
    let one = |name: &str| -> Result<&Patient, String> {
        let patient = open
            .ledger
            .animal(name)
            .map_err(|error| error.to_string())?;
        if patient.end.is_some() {
            return Err(format!(
                "{} is no longer here, so nothing can be given to it: check the name",
                patient.animal.name
            ));
        }
        Ok(patient)
    };
    // A name may hold "and" itself.
    let found = match one(typed) {
        Ok(patient) => vec![patient],
        Err(why) => {
            let names = typed.replace(" and ", ",");
            let names: Vec<&str> = names.split(',').map(str::trim).collect();
            if names.len() < 2 {
                return Err(why);
            }
            let names = names.into_iter().filter(|name| !name.is_empty());
            names.map(one).collect::<Result<Vec<_>, String>>()?
        }
    };
    let names: Vec<&str> = found
        .iter()
        .map(|patient| patient.animal.name.as_str())
        .collect();
    let who: Vec<String> = found
        .iter()
        .map(|patient| {
            let animal = &patient.animal;
            format!(
                "{}, {}, {}",
                animal.name, animal.species, animal.identification
            )
        })
        .collect();
    Ok((
        names.join("\n"),
        Some(format!("That is: {}.", who.join("; and "))),
    ))
}

/// The choice meant: by its number, by its word, or by the beginning of how it is said.
fn chosen<'c>(choices: &'c [Choice], typed: &str) -> Result<&'c Choice, String> {
    let by_number = typed.trim_end_matches('.').parse::<usize>().ok();
    if let Some(choice) = by_number
        .and_then(|n| n.checked_sub(1))
        .and_then(|at| choices.get(at))
    {
        return Ok(choice);
    }
    let wanted = fold(typed);
    let is = |(word, said): &&Choice| fold(word) == wanted || fold(said) == wanted;
    if let Some(choice) = choices.iter().find(is) {
        return Ok(choice);
    }
    let begins = |(word, said): &&Choice| {
        by_number.is_none() && (fold(word).starts_with(&wanted) || fold(said).starts_with(&wanted))
    };
    let meant: Vec<&Choice> = choices.iter().filter(begins).collect();
    match meant.as_slice() {
        [only] => Ok(only),
        _ => Err(format!(
            "'{}' is none of these: type a number from 1 to {}",
            when::shown(typed),
            choices.len()
        )),
    }
}
