//! What is asked, in words, with the form an answer takes.
//!
//! Promises: the form is shown by dates, names and units without figures; no question, example or
//! choice holds a dose, an interval or a count. What is needed and what may be left open is said
//! each time. It judges no answer.

use crate::cli::ask::answers::Answers;
use crate::cli::ask::choices::{Choice, choices};
use crate::cli::ask::plan::{FromTheBook, Key, Rare, parts};

/// A question as it is put.
#[derive(Clone, Debug)]
pub(super) struct Question {
    /// The question.
    pub asked: String,
    /// The form of an answer.
    pub form: &'static str,
    /// What to choose from, if anything.
    pub choices: Vec<Choice>,
    /// How it is left open, where it may be.
    pub left_open: Option<&'static str>,
}

/// The question for a key.
pub(super) fn question(key: Key, answers: &Answers, book: &FromTheBook) -> Question {
    let (asked, form, left_open) = words(key, answers, book);
    Question {
        asked,
        form,
        choices: choices(key, answers),
        left_open,
    }
}

/// The question, the form of its answer, and how it is left open.
type Words<T> = (T, &'static str, Option<&'static str>);

const NEEDED: Option<&str> = None;
const MAY_BE_OPEN: Option<&str> = Some("If your vet wrote nothing about it, press Enter alone.");
const NO_OTHER: Option<&str> = Some("If there is no other, press Enter alone.");
const IN_WORDS: &str = "In your vet's own words.";
const ONE_NUMBER: &str = "Type its number.";

fn words(key: Key, answers: &Answers, book: &FromTheBook) -> Words<String> {
    let said = |key| answers.get(key).unwrap_or_default();
    let (asked, form, left_open): Words<&str> = match key {
        Key::Animals => (
            "Which animal is it for?",
            "Its name; for several, with a comma between them.",
            NEEDED,
        ),
        Key::Medicine => (
            "What is the medicine called on the label?",
            "Its whole name.",
            NEEDED,
        ),
        Key::MedicineAgain => {
            return (
                format!(
                    "The book knows {}; you wrote {}. If they are two medicines, type this one's name once more.",
                    book.name_alike.as_deref().unwrap_or("another name"),
                    said(Key::Medicine)
                ),
                "If they are one, type back and write it as the book has it.",
                NEEDED,
            );
        }
        Key::Form => (
            "What does it come as?",
            "In words, as on the label: solution, suspension, paste, tablets.",
            MAY_BE_OPEN,
        ),
        Key::Strength => (
            "What strength is on the label?",
            "The figure with its units as they stand there: mg/mL, units/mL, so many mg per so many mL, % w/v, mg/g, or mg per tablet.",
            MAY_BE_OPEN,
        ),
        Key::Tablets => (
            "How far may a tablet be cut?",
            "If your vet has not said, ask, or choose not at all.",
            NEEDED,
        ),
        Key::Gap(part) => {
            return (
                format!(
                    "Part {}: how long after the last dose of part {part} does it begin?",
                    part + 1
                ),
                "A whole number, then hours, days or weeks.",
                NEEDED,
            );
        }
        Key::DoseForm(part) => {
            return (
                of_part(part, answers, "How is the dose written?"),
                ONE_NUMBER,
                NEEDED,
            );
        }
        Key::Dose(part) => {
            let (asked, form) = match said(Key::DoseForm(part)) {
                "PerBodyWeight" => (
                    "What is the dose, each time?",
                    "The figure and its unit: mg/kg, mcg/kg, units/kg, mL/kg, or the same per lb.",
                ),
                "PerDay" => (
                    "What is the day's total, and into how many doses is it divided?",
                    "The figure and its unit, then how it is divided: mg/kg per day in so many doses.",
                ),
                "Fixed" => (
                    "What is the dose, each time?",
                    "The figure and its unit: mg, mcg, units, mL, tablets, or g of paste.",
                ),
                _ => ("What is given each time?", IN_WORDS),
            };
            return (of_part(part, answers, asked), form, NEEDED);
        }
        Key::Route => ("How does it go in, or on?", ONE_NUMBER, NEEDED),
        Key::RouteWords => match said(Key::Route) {
            "Injection" => (
                "How is it injected?",
                "In your vet's own words: under the skin.",
                NEEDED,
            ),
            "OnSkin" => ("Where on the skin?", IN_WORDS, NEEDED),
            "InEye" => ("Which eye?", ONE_NUMBER, NEEDED),
            "InEar" => ("Which ear?", ONE_NUMBER, NEEDED),
            "InNose" => ("Which nostril?", ONE_NUMBER, NEEDED),
            "Bath" => ("How is the bath made?", IN_WORDS, NEEDED),
            _ => ("How?", IN_WORDS, NEEDED),
        },
        Key::Site(0) => (
            "Where do the injections go, in turn? Write the first place.",
            "The place in your vet's own words, and its side after a comma: shoulder, left.",
            MAY_BE_OPEN,
        ),
        Key::Site(_) => ("The next place?", "As before.", NO_OTHER),
        Key::Rhythm(part) => {
            return (
                of_part(part, answers, "How do the doses follow each other?"),
                ONE_NUMBER,
                NEEDED,
            );
        }
        Key::Interval(part) if said(Key::Rhythm(part)) == "OnceThenAgain" => (
            "How long after the first dose is the second?",
            "A whole number, then hours, days or weeks. Hours are counted through; days and weeks keep to the hour on the clock.",
            NEEDED,
        ),
        Key::Interval(_) => (
            "How long is it from one dose to the next?",
            "A whole number, then hours, days or weeks. Hours are counted through; days and weeks keep to the hour on the clock.",
            NEEDED,
        ),
        Key::Times(_) => (
            "At which times of day?",
            "On the 24-hour clock, hour and minutes, with commas between them.",
            NEEDED,
        ),
        Key::Weekdays(_) => (
            "On which days of the week?",
            "Their names in full, with commas between them.",
            NEEDED,
        ),
        Key::Hour(_) => (
            "At what time on those days?",
            "On the 24-hour clock, hour and minutes. If left open, at the time of the first dose.",
            MAY_BE_OPEN,
        ),
        Key::Days(_) => (
            "On which days?",
            "Whole numbers with commas between them. The first dose is day 0, and stands first.",
            NEEDED,
        ),
        Key::End(_) => ("When does it end?", ONE_NUMBER, NEEDED),
        Key::Count(part) if said(Key::End(part)) == "days" => {
            ("For how many days?", "A whole number.", NEEDED)
        }
        Key::Count(_) => ("How many doses are there?", "A whole number.", NEEDED),
        Key::Review(_) => (
            "On which day does your vet look again?",
            "A date as year, month and day: 2001-03-05.",
            NEEDED,
        ),
        Key::Later(_) => (
            "Does the dose, or how the doses follow each other, change later in this course?",
            ONE_NUMBER,
            NEEDED,
        ),
        Key::AfterLate => (
            "If a dose is given late, what happens to the later ones?",
            "Your vet decides this. If your vet has not said, ask; type quit to come back later.",
            NEEDED,
        ),
        Key::IfMissed => (
            "What is to be done if a dose is missed?",
            IN_WORDS,
            MAY_BE_OPEN,
        ),
        Key::IfBroughtUp => (
            "What is to be done if a dose is spat out or brought up?",
            IN_WORDS,
            MAY_BE_OPEN,
        ),
        Key::Sign(0) => (
            "At which sign is the medicine to be stopped, and the vet called?",
            "One sign, in your vet's own words.",
            MAY_BE_OPEN,
        ),
        Key::Sign(_) => ("Another such sign?", IN_WORDS, NO_OTHER),
        Key::Note(0) => (
            "What else did your vet write?",
            "One thing, in your vet's own words.",
            MAY_BE_OPEN,
        ),
        Key::Note(_) => ("What more?", IN_WORDS, NO_OTHER),
        Key::WeighEvery => (
            "For how long is a weight good?",
            "A whole number, then days or weeks. If left open, the setting of your book applies.",
            MAY_BE_OPEN,
        ),
        Key::LabelVolume => (
            "Does the label itself say how much to draw up for one dose?",
            "That figure with its unit, mL. It is held against what is worked out.",
            MAY_BE_OPEN,
        ),
        Key::LabelWeight => (
            "For which body weight does the label say so?",
            "The figure with its unit: g, kg, lb or oz.",
            NEEDED,
        ),
        Key::Vet => ("Who is the vet?", "The name, as on the label.", NEEDED),
        Key::Practice => ("Which practice?", "Its name.", MAY_BE_OPEN),
        Key::Phone => ("Which number is to be called?", "In figures.", NEEDED),
        Key::OutOfHours => (
            "Which number at night and on days off?",
            "In figures.",
            MAY_BE_OPEN,
        ),
        Key::Written => (
            "On which day was it written?",
            "A date as year, month and day: 2001-03-05.",
            NEEDED,
        ),
        Key::ValidUntil => (
            "Until which day is it valid?",
            "A date as year, month and day: 2001-06-05.",
            MAY_BE_OPEN,
        ),
        Key::Reference => (
            "What is this prescription to be called?",
            "The number on the label, or a word of your own: letters, figures and hyphens, without spaces.",
            NEEDED,
        ),
        Key::More(0) => (
            "Did your vet write any of these as well?",
            "Type its number.",
            MAY_BE_OPEN,
        ),
        Key::More(_) => ("Any other of these?", ONE_NUMBER, NO_OTHER),
        Key::WeightAgain(at) => {
            return (
                format!(
                    "The weight of {} in the book and the one on the prescription are far apart. Look at the animal, then type the weight in the book once more.",
                    answers
                        .animals()
                        .get(usize::from(at))
                        .copied()
                        .unwrap_or("this animal")
                ),
                "If that one is wrong, type quit, weigh again, and ask your vet.",
                NEEDED,
            );
        }
        Key::Start => (
            "When is the first dose due?",
            "A date, and the hour if your vet named one: 2001-03-05, or 2001-03-05 08:00.",
            NEEDED,
        ),
        Key::Rare(rare, at) => return rare_words(rare, at, answers),
    };
    (asked.to_owned(), form, left_open)
}

fn rare_words(rare: Rare, at: u8, answers: &Answers) -> Words<String> {
    let (asked, form, left_open): Words<&str> = match rare {
        Rare::MaxDose => (
            "What is the most that one dose may come to?",
            "The figure with its unit, counted as the dose is.",
            NEEDED,
        ),
        Rare::MaxPerDay => (
            "What is the most that one day may come to?",
            "The figure with its unit, counted as the dose is.",
            NEEDED,
        ),
        Rare::Apart => (
            "How many minutes between this and anything else in the same place?",
            "A whole number, then minutes.",
            NEEDED,
        ),
        Rare::Recipe if at == 0 => ("What is the first step?", IN_WORDS, NEEDED),
        Rare::Recipe => ("What is the next step?", IN_WORDS, NO_OTHER),
        Rare::Lasts => (
            "How many minutes does it last, from start to stop?",
            "A whole number, then minutes.",
            NEEDED,
        ),
        Rare::VialHolds => (
            "What does the vial hold?",
            "As its label has it, with the unit.",
            NEEDED,
        ),
        Rare::VialAdd => (
            "How much is added to the vial?",
            "The figure with its unit, mL.",
            NEEDED,
        ),
        Rare::VialWith => ("What is added?", IN_WORDS, NEEDED),
        Rare::MaxPerSite => (
            "What is the most that one site may take?",
            "The figure with its unit, mL.",
            NEEDED,
        ),
        Rare::Round => ("Which way is the line rounded?", ONE_NUMBER, NEEDED),
        Rare::Tolerance => (
            "How far from the dose may the line be?",
            "The figure, then the word percent.",
            NEEDED,
        ),
        Rare::Window => (
            "How far before or after its time may a dose be given?",
            "A whole number, then hours, days or weeks.",
            NEEDED,
        ),
        Rare::WeightBasis => ("Which weight does the dose go by?", ONE_NUMBER, NEEDED),
        Rare::FixedWeight => (
            "Which weight did your vet write?",
            "The figure with its unit: g, kg, lb or oz.",
            NEEDED,
        ),
        Rare::Weighed => {
            let name = answers.animals().get(usize::from(at)).copied();
            return (
                format!(
                    "What did your vet write as the weight of {}?",
                    name.unwrap_or("this animal")
                ),
                "The figure with its unit: g, kg, lb or oz.",
                MAY_BE_OPEN,
            );
        }
        Rare::SameAs => (
            "Which other name does this medicine go by?",
            "One name.",
            NO_OTHER,
        ),
        Rare::Ingredient => (
            "Which ingredient do strength and dose count?",
            "Its name.",
            NEEDED,
        ),
        Rare::MadeFrom => (
            "Which strength is it made from?",
            "As that label has it, with its units.",
            NEEDED,
        ),
        Rare::MadeTake => (
            "How much of that is taken?",
            "The figure with its unit, mL.",
            NEEDED,
        ),
        Rare::MadeAdd => (
            "How much is added to it?",
            "The figure with its unit, mL.",
            NEEDED,
        ),
        Rare::MadeWith => ("What is added?", IN_WORDS, NEEDED),
        Rare::FollowUp => ("What is to be done?", IN_WORDS, NEEDED),
        Rare::FollowUpFrom => ("When?", ONE_NUMBER, NEEDED),
        Rare::FollowUpWhen if answers.get(Key::Rare(Rare::FollowUpFrom, at)) == Some("On") => (
            "On which day?",
            "A date as year, month and day: 2001-04-02.",
            NEEDED,
        ),
        Rare::FollowUpWhen => (
            "How long after it?",
            "A whole number, then hours, days or weeks.",
            NEEDED,
        ),
        // These two are answered where they are chosen.
        Rare::Weigh | Rare::Count => ("", "", MAY_BE_OPEN),
    };
    (asked.to_owned(), form, left_open)
}

fn of_part(part: u8, answers: &Answers, asked: &str) -> String {
    if parts(answers) == 1 {
        return asked.to_owned();
    }
    format!("Part {}: {}", part + 1, lower(asked))
}

fn lower(asked: &str) -> String {
    let mut letters = asked.chars();
    let first = letters.next().map(char::to_lowercase);
    first.into_iter().flatten().chain(letters).collect()
}

impl Question {
    /// An earlier answer as it was said.
    pub fn said<'a>(&'a self, answer: &'a str) -> &'a str {
        let mut choices = self.choices.iter();
        let choice = choices.find(|(word, _)| *word == answer);
        choice.map_or(answer, |(_, said)| said)
    }
}
