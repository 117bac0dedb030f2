//! What a question offers to choose from: the form's own words, and how each is said.
//!
//! Promises: no choice holds a figure; the first is never preferred.

use crate::cli::ask::answers::Answers;
use crate::cli::ask::plan::{Key, RARER, Rare};

/// One of a question's choices: the form's own word, and how it is said.
pub(super) type Choice = (&'static str, &'static str);

const DOSE_FORMS: [Choice; 4] = [
    (
        "PerBodyWeight",
        "so much for each kilogram or pound, each time (PerBodyWeight)",
    ),
    (
        "PerDay",
        "a whole day's total by weight, divided into doses (PerDay)",
    ),
    ("Fixed", "the same whatever the animal weighs (Fixed)"),
    (
        "Application",
        "in words: drops, a thin film, a bath, a mist (Application)",
    ),
];
const ROUTES: [Choice; 9] = [
    ("ByMouth", "by mouth"),
    ("Injection", "by injection"),
    ("OnSkin", "on the skin"),
    ("InEye", "in the eye"),
    ("InEar", "in the ear"),
    ("InNose", "in the nostril"),
    ("Bath", "as a bath"),
    ("Inhaled", "breathed in"),
    ("Other", "another way"),
];
const PAIR: [Choice; 3] = [
    ("left", "the left one"),
    ("right", "the right one"),
    ("each", "each of the two"),
];
const TABLETS: [Choice; 3] = [
    ("Whole", "not at all: whole tablets only"),
    ("Halves", "into halves"),
    ("Quarters", "into quarters"),
];
const RHYTHMS: [Choice; 6] = [
    (
        "Every",
        "again and again, so many hours, days or weeks apart",
    ),
    ("AtTimes", "every day, at times by the clock"),
    ("Weekly", "every week, on named days"),
    ("OnDays", "on listed days, counted from the first dose"),
    ("Once", "once only"),
    ("OnceThenAgain", "once, and then once again"),
];
const ENDS: [Choice; 2] = [
    ("doses", "after so many doses"),
    (
        "UntilStopped",
        "when your vet says stop; your vet looks again on a date",
    ),
];
const ENDS_OF_TIMES: [Choice; 3] = [
    ("days", "after so many days"),
    ("doses", "after so many doses"),
    (
        "UntilStopped",
        "when your vet says stop; your vet looks again on a date",
    ),
];
const YES_OR_NO: [Choice; 2] = [("no", "no"), ("yes", "yes")];
const AFTER_LATE: [Choice; 3] = [
    ("CountFromGiven", "the later doses move with it"),
    ("KeepCalendar", "the later doses stay where they are"),
    ("Call", "call before a late dose is given"),
];
const ROUND: [Choice; 3] = [
    ("Down", "down"),
    ("Up", "up"),
    ("Nearest", "to the nearest line"),
];
const BASIS: [Choice; 3] = [
    ("Start", "the weight at the start of the course, throughout"),
    ("Fixed", "a weight that my vet wrote"),
    ("Latest", "the latest weight"),
];
const FROM: [Choice; 3] = [
    ("On", "on a date"),
    ("AfterFirstDose", "so long after the first dose"),
    ("AfterLastDose", "so long after the last dose"),
];

/// How the rarer things are said.
fn rarer(word: &str) -> &'static str {
    match word {
        "max_dose" => "the most that one dose may come to",
        "max_per_day" => "the most that one day may come to",
        "vial" => "how to make up a powder in its vial",
        "apart" => "minutes between this and anything else in the same place",
        "recipe" => "the steps of a bath or a mist",
        "lasts" => "how many minutes it lasts",
        "max_per_site" => "the most that one injection site may take",
        "round" => "which way to round to a line of the syringe",
        "tolerance" => "how far from the dose the line may be, in percent",
        "window" => "how early or late a dose may be",
        "count" => "a dose that is not given is added at the end",
        "weight_basis" => "which weight the dose goes by",
        "weigh" => "weigh before each dose",
        "weighed" => "what the animal weighed",
        "same_as" => "another name of the same medicine",
        "ingredient" => "of two ingredients, the one that the dose counts",
        "made_up" => "how to dilute it",
        _ => "a visit, a test or a weighing beside the doses",
    }
}

/// What there is to choose from; nothing where the answer is written out.
pub(super) fn choices(key: Key, answers: &Answers) -> Vec<Choice> {
    match key {
        Key::DoseForm(_) => DOSE_FORMS.to_vec(),
        Key::Route => ROUTES.to_vec(),
        Key::RouteWords if in_a_pair(answers) => PAIR.to_vec(),
        Key::Tablets => TABLETS.to_vec(),
        Key::Rhythm(_) => RHYTHMS.to_vec(),
        Key::End(part) if answers.get(Key::Rhythm(part)) == Some("AtTimes") => {
            ENDS_OF_TIMES.to_vec()
        }
        Key::End(_) => ENDS.to_vec(),
        Key::Later(_) => YES_OR_NO.to_vec(),
        Key::AfterLate => AFTER_LATE.to_vec(),
        Key::Rare(Rare::Round, _) => ROUND.to_vec(),
        Key::Rare(Rare::WeightBasis, _) => BASIS.to_vec(),
        Key::Rare(Rare::FollowUpFrom, _) => FROM.to_vec(),
        Key::More(_) => {
            let open = |word: &&str| {
                *word == "follow_ups" || !answers.all().any(|(_, answer)| *answer == **word)
            };
            let words = RARER.iter().map(|(word, _)| *word);
            words
                .filter(|word| open(word))
                .map(|word| (word, rarer(word)))
                .collect()
        }
        _ => Vec::new(),
    }
}

fn in_a_pair(answers: &Answers) -> bool {
    matches!(answers.get(Key::Route), Some("InEye" | "InEar" | "InNose"))
}
