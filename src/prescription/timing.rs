//! The forms a schedule can be written in, read into the parts of the room `schedule`.
//!
//! Promises: every form has its end, a count, listed days or a review date; nothing is made up
//! between two phases. When the doses fall is worked out in `schedule`.

use crate::prescription::dose::Dose;
use crate::prescription::fault::{At, Found};
use crate::prescription::fields::{Fields, Variant, list, unknown, variant};
use crate::prescription::typed::{Kind, Node};
use crate::prescription::values;
use crate::quantity::Span;
use crate::schedule::{Form, Length, MOST_DAYS, MOST_SLOTS, Phase, Rhythm};
use chrono::{NaiveTime, Weekday};

/// The phases as written, each with where it stands, and the doses of `Phases`.
#[derive(Debug, Default)]
pub(super) struct Timing {
    /// In order.
    pub phases: Vec<(Phase, At)>,
    /// The dose of each phase with its place; empty where the prescription has one dose.
    pub doses: Vec<(Dose, At)>,
    /// Where the review date stands.
    pub review: Option<At>,
    /// Where the whole schedule stands.
    pub at: At,
}

/// Whether the phases bring doses of their own: then no dose may be written beside them.
pub(super) fn has_phases(node: &Node) -> bool {
    matches!(&node.kind, Kind::Named(named) if named.name == "Phases")
}

/// Reads the schedule. Nothing comes back where a part of it could not be read.
pub(super) fn read(node: &Node, found: &mut Found) -> Option<Timing> {
    let mut timing = Timing {
        at: node.at.clone(),
        ..Timing::default()
    };
    if has_phases(node) {
        phases(node, &mut timing, found)?;
        return Some(timing);
    }
    let form = form(node, &FORMS, &mut timing.review, found)?;
    let phase = Phase {
        dose: 0,
        gap_before: None,
        form,
    };
    timing.phases.push((phase, node.at.clone()));
    Some(timing)
}

const FORMS: [&str; 8] = [
    "Once",
    "Every",
    "AtTimes",
    "Weekly",
    "OnDays",
    "OnceThenAgain",
    "Phases",
    "UntilStopped",
];
const FORMS_OF_A_PHASE: [&str; 7] = [
    "Once",
    "Every",
    "AtTimes",
    "Weekly",
    "OnDays",
    "OnceThenAgain",
    "UntilStopped",
];
const RHYTHMS: [&str; 3] = ["Every", "AtTimes", "Weekly"];

fn phases(node: &Node, timing: &mut Timing, found: &mut Found) -> Option<()> {
    const PHASES: &str = "[ Phase( ... ), Phase( ... ) ]";
    let item = variant(node, &FORMS, found)?.item(PHASES, found)?;
    let nodes = list(item, PHASES, found)?;
    let mut index = 0;
    let read = values::all(nodes, |node| {
        let phase = phase(index, node, &mut timing.review, found);
        index += 1;
        phase
    })?;
    for (phase, at, dose) in read {
        timing.phases.push((phase, at));
        timing.doses.push(dose);
    }
    Some(())
}

fn phase(
    index: usize,
    node: &Node,
    review: &mut Option<At>,
    found: &mut Found,
) -> Option<(Phase, At, (Dose, At))> {
    let fields = Fields::of(node, "Phase", &["gap", "dose", "schedule"], found)?;
    let gap_before: Option<Option<Span>> = if index == 0 {
        fields.refuse(
            "gap",
            "nothing comes before the first phase, so there is no gap",
            "dose and schedule",
            found,
        );
        Some(None)
    } else {
        const GAP: &str = "how long after the last dose before it this phase begins, as your vet wrote it, in hours, days or weeks";
        let gap = fields.need("gap", GAP, found);
        let gap = gap.and_then(|node| values::quantity::<Span>(node, GAP, found));
        gap.map(|gap| Some(gap.value()))
    };
    let dose_node = fields.need("dose", "the dose of this phase", found);
    let dose = dose_node.and_then(|node| Dose::read(node, found));
    let schedule = fields.need("schedule", "the rhythm of this phase", found);
    let form = schedule.and_then(|node| form(node, &FORMS_OF_A_PHASE, review, found));
    let phase = Phase {
        dose: index,
        gap_before: gap_before?,
        form: form?,
    };
    Some((phase, node.at.clone(), (dose?, fields.place("dose"))))
}

fn form(
    node: &Node,
    known: &[&'static str],
    review: &mut Option<At>,
    found: &mut Found,
) -> Option<Form> {
    const DAYS: &str = "days counted from the first dose, which is day 0";
    let form = variant(node, known, found)?;
    match form.name {
        "Once" => form.alone(found).map(|()| Form::Once),
        "OnDays" => {
            let item = form.item("[ 0, and the days after it ]", found)?;
            let nodes = list(item, DAYS, found)?;
            let days = values::all(nodes, |node| values::whole(node, DAYS, 0, MOST_DAYS, found))?;
            Some(Form::OnDays(days))
        }
        "OnceThenAgain" => {
            const AFTER: &str = "how long after the first dose the second is due";
            let fields = form.fields(&["after"], found)?;
            let after = fields.need("after", AFTER, found)?;
            match values::quantity::<Span>(after, AFTER, found)?.value() {
                Span::Days(days) => Some(Form::OnDays(vec![0, days])),
                hours @ Span::Hours(_) => Some(Form::Repeating {
                    rhythm: Rhythm::Every(hours),
                    length: Length::Doses(2),
                }),
            }
        }
        "UntilStopped" => until_stopped(&form, review, found),
        _ => {
            let (rhythm, length) = rhythm(&form, Ending::Written, found)?;
            Some(Form::Repeating {
                rhythm,
                length: length?,
            })
        }
    }
}

fn until_stopped(form: &Variant, review: &mut Option<At>, found: &mut Found) -> Option<Form> {
    let fields = form.fields(&["rhythm", "review"], found)?;
    let rhythm_node = fields.need("rhythm", "Every, AtTimes or Weekly, without an end", found);
    let review_node = fields.need(
        "review",
        "the day on which your vet looks again; without one there is no end",
        found,
    );
    let date = review_node.and_then(|node| values::date(node, found));
    let form = rhythm_node.and_then(|node| variant(node, &RHYTHMS, found));
    let (rhythm, _) = rhythm(&form?, Ending::UntilStopped, found)?;
    *review = review_node.map(|node| node.at.clone());
    Some(Form::Repeating {
        rhythm,
        length: Length::UntilStopped { review: date? },
    })
}

/// How a rhythm ends.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ending {
    /// It has to say so itself.
    Written,
    /// The vet says stop, so it must not.
    UntilStopped,
}

/// A rhythm, with its length where it has to have one.
fn rhythm(form: &Variant, ending: Ending, found: &mut Found) -> Option<(Rhythm, Option<Length>)> {
    const INTERVAL: &str = "from one dose to the next, in hours, days or weeks";
    const TIMES: &str = "[ times of day, such as \"08:00\" ]";
    const WEEKDAYS: &str = "[ days of the week, such as \"Monday\" ]";
    let (known, mut ends): (&[&'static str], Vec<&'static str>) = match form.name {
        "Every" => (&["interval", "doses"], vec!["doses"]),
        "AtTimes" => (&["times", "days", "doses"], vec!["days", "doses"]),
        _ => (&["days", "time", "doses"], vec!["doses"]),
    };
    let fields = form.fields(known, found)?;
    let rhythm = match form.name {
        "Every" => {
            let interval = fields.need("interval", INTERVAL, found);
            let interval =
                interval.and_then(|node| values::quantity::<Span>(node, INTERVAL, found));
            interval.map(|interval| Rhythm::Every(interval.value()))
        }
        "AtTimes" => fields
            .need("times", TIMES, found)
            .and_then(|node| each_once(node, TIMES, values::hour, found))
            .map(Rhythm::Daily),
        _ => {
            let days = fields
                .need("days", WEEKDAYS, found)
                .and_then(|node| each_once(node, WEEKDAYS, weekday, found));
            let time: Option<Option<NaiveTime>> = match fields.get("time") {
                None => Some(None),
                Some(node) => values::hour(node, found).map(Some),
            };
            days.zip(time)
                .map(|(days, time)| Rhythm::Weekly { days, time })
        }
    };
    let mut length = None;
    if ending == Ending::UntilStopped {
        for end in ends.drain(..) {
            fields.refuse(
                end,
                "an end stands here, and the schedule also runs until your vet says stop",
                "either an end, or UntilStopped",
                found,
            );
        }
    } else {
        length = self::length(&fields, &ends, found);
    }
    Some((rhythm?, length))
}

/// The one end that is written.
fn length(fields: &Fields, ends: &[&'static str], found: &mut Found) -> Option<Length> {
    let written: Vec<&str> = ends
        .iter()
        .copied()
        .filter(|end| fields.get(end).is_some())
        .collect();
    match written.as_slice() {
        [] => {
            let end = ends.first().copied().unwrap_or("doses");
            fields.need(
                end,
                "the end: how many; or wrap the rhythm in UntilStopped with a review date",
                found,
            );
            None
        }
        ["days"] => {
            let node = fields.get("days")?;
            let days = values::whole(node, "for how many days", 1, MOST_DAYS, found);
            days.map(Length::Days)
        }
        ["doses"] => {
            let node = fields.get("doses")?;
            let doses = values::whole(node, "how many doses", 1, MOST_SLOTS, found);
            doses.map(Length::Doses)
        }
        _ => {
            found.add(
                &fields.place("doses"),
                "two ends are written: days and doses",
                "one of them",
            );
            None
        }
    }
}

/// A list whose items may not repeat.
fn each_once<T: PartialEq>(
    node: &Node,
    of: &str,
    mut one: impl FnMut(&Node, &mut Found) -> Option<T>,
    found: &mut Found,
) -> Option<Vec<T>> {
    let nodes = list(node, of, found)?;
    let read = values::all(nodes, |node| one(node, found))?;
    for (index, (item, node)) in read.iter().zip(nodes).enumerate() {
        if read.iter().take(index).any(|earlier| earlier == item) {
            found.add(&node.at, "this is in the list twice", "each once");
            return None;
        }
    }
    Some(read)
}

fn weekday(node: &Node, found: &mut Found) -> Option<Weekday> {
    const DAYS: [&str; 7] = [
        "Monday",
        "Tuesday",
        "Wednesday",
        "Thursday",
        "Friday",
        "Saturday",
        "Sunday",
    ];
    const MEANING: &str = "a day of the week in full, such as \"Monday\"";
    let word = values::words(node, MEANING, found)?;
    let index = DAYS.iter().position(|day| *day == word);
    if index.is_none() {
        let wrong = format!("'{word}' is not a day of the week in full");
        unknown(&node.at, wrong, &word, &DAYS, found);
    }
    Weekday::try_from(u8::try_from(index?).ok()?).ok()
}
