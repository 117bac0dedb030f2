//! Words about a day's doses that every face says the same way.
//!
//! Promises: safe notation; the vet's own words in quotation marks as written; a ladder is shown
//! only where reading a mark off it is what comes next. Nothing is computed here.

use crate::animal::{Animal, Weighing};
use crate::caution::{Caution, NoMark};
use crate::course::{Standing, Verdict};
use crate::dose::{Basis, InHand, WeightUsed, Worked};
use crate::ledger::{Dose, Note, Patient};
use crate::notation::{Written, print};
use crate::prescription::{Prescription, Route};
use crate::quantity::Measure;
use crate::rack::{Instrument, Mark};
use crate::round::{DayDose, DoneToday, Round};
use crate::schedule::{Due, Zone};
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};
use std::fmt;

pub use crate::round::written::{vet_rules, vet_words};

/// Words of which some stand out, where a face can set them apart.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Phrase {
    /// The stretches, in order: whether they stand out, and the words with their spaces.
    pub stretches: Vec<(bool, String)>,
}

impl Phrase {
    /// No words.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds words that do not stand out.
    #[must_use]
    pub fn plain(mut self, words: &str) -> Self {
        self.stretches.push((false, words.to_owned()));
        self
    }

    /// Adds words that stand out.
    #[must_use]
    pub fn bold(mut self, words: &str) -> Self {
        self.stretches.push((true, words.to_owned()));
        self
    }

    /// Adds a time of which the hour stands out, or a date, which stands out whole.
    fn time(self, words: &str) -> Self {
        match words.split_once(' ') {
            Some((hour, day)) if hour.contains(':') => self.bold(hour).plain(" ").plain(day),
            _ => self.bold(words),
        }
    }
}

impl From<&str> for Phrase {
    fn from(words: &str) -> Self {
        Self::new().plain(words)
    }
}

impl fmt::Display for Phrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut stretches = self.stretches.iter();
        stretches.try_for_each(|(_, words)| f.write_str(words))
    }
}

/// "Thu 8 March 14:00".
pub fn moment(at: DateTime<Utc>, zone: Zone) -> String {
    at.with_timezone(&zone)
        .format("%a %-d %B %H:%M")
        .to_string()
}

/// "Thu 8 March 14:00", with the year where it is not this one: "Sun 9 March 2036 14:00".
pub fn moment_from(at: DateTime<Utc>, now: DateTime<Utc>, zone: Zone) -> String {
    let (local, today) = (at.with_timezone(&zone), now.with_timezone(&zone));
    let date = date(local.date_naive(), today.date_naive());
    format!("{date} {}", local.format("%H:%M"))
}

/// When a slot is due, with the year where it is not this one.
pub fn due_from(due: Due, now: DateTime<Utc>, zone: Zone) -> String {
    match due {
        Due::At(at) => moment_from(at, now, zone),
        Due::On(day) => date(day, now.with_timezone(&zone).date_naive()),
    }
}

/// "Thu 8 March 14:00", or "Thu 8 March" where no hour was written.
pub fn due(due: Due, zone: Zone) -> String {
    match due {
        Due::At(at) => moment(at, zone),
        Due::On(day) => day.format("%a %-d %B").to_string(),
    }
}

/// When a card was made: "14:00", with the day where it was made for another one.
pub fn made(round: &Round) -> String {
    clock(round.now, round.day, round.zone)
}

/// When a dose is due and its window, in three parts to be joined or set apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WhenDue {
    /// "20:00", with the day where it is not today: "Wed 7 March 20:00".
    pub due: String,
    /// When it opens, likewise; none where no gap to the last dose is known.
    pub opens: Option<String>,
    /// When it closes, likewise.
    pub closes: String,
    /// It is due on a date, at no particular hour.
    pub all_day: bool,
}

/// Says when a slot is due, seen from a day.
pub fn when_due(slot: &Standing, day: NaiveDate, zone: Zone) -> WhenDue {
    let short = |at| clock(at, day, zone);
    let date = |at: DateTime<Utc>| self::date(at.with_timezone(&zone).date_naive(), day);
    match slot.due {
        Due::At(at) => WhenDue {
            due: short(at),
            opens: slot.opens.map(short),
            closes: short(slot.closes),
            all_day: false,
        },
        Due::On(on) => WhenDue {
            due: self::date(on, day),
            opens: slot.opens.map(date),
            closes: date(slot.closes),
            all_day: true,
        },
    }
}

/// "20:00", or "20:00 Wed 7 March" where it is not of this day.
fn clock(at: DateTime<Utc>, day: NaiveDate, zone: Zone) -> String {
    let local = at.with_timezone(&zone);
    if local.date_naive() == day {
        local.format("%H:%M").to_string()
    } else {
        format!(
            "{} {}",
            local.format("%H:%M"),
            date(local.date_naive(), day)
        )
    }
}

/// "Sat 10 March", with the year where it is not this day's.
pub fn date(date: NaiveDate, day: NaiveDate) -> String {
    if date.year() == day.year() {
        date.format("%a %-d %B").to_string()
    } else {
        date.format("%a %-d %B %Y").to_string()
    }
}

/// "due 20:00, from 14:10 until 02:00 Fri 9 March"; a late dose says so, and until when it may
/// still be given.
pub fn when(dose: &DayDose, round: &Round) -> Phrase {
    let seen = when_due(&dose.slot, round.day, round.zone);
    if !dose.is_late() {
        let due = Phrase::new().plain("due ").time(&seen.due);
        // Where the last dose holds it all through its window there is no "from" and "until".
        if let Some(opens) = seen.opens.as_ref().filter(|_| dose.slot.never_opens()) {
            let due = due.plain(", window closes ").time(&seen.closes);
            return due.plain("; too close to the last dose until ").time(opens);
        }
        let opens = seen.opens.iter();
        let opens = opens.fold(due, |due, opens| due.plain(", from ").time(opens));
        return opens.plain(" until ").time(&seen.closes);
    }
    let late = Phrase::new().bold("LATE").plain(": was due ");
    closed(late.time(&seen.due).plain(", "), dose, round)
}

/// What is left to say of a late dose: "window closed 15:30. Ask first whether somebody gave it;
/// if nobody did, give before 02:00 Fri 9 March; after that, call".
pub fn closed(lead: Phrase, dose: &DayDose, round: &Round) -> Phrase {
    let seen = when_due(&dose.slot, round.day, round.zone);
    let late = lead.plain("window closed ").time(&seen.closes);
    match dose.slot.not_recorded_from {
        Some(from) if dose.slot.gate.is_open() && dose.no_mark.is_empty() => late
            .plain(". Ask first whether somebody gave it; if nobody did, give before ")
            .time(&clock(from, round.day, round.zone))
            .plain("; after that, call"),
        _ => late,
    }
}

/// "14:10", or the day where no hour was written: before then the dose is not to be given.
pub fn not_before(dose: &DayDose, round: &Round) -> Option<String> {
    let at = dose.not_before()?;
    let hour = clock(at, round.day, round.zone);
    Some(match dose.slot.due {
        Due::At(_) => hour,
        Due::On(_) => date(at.with_timezone(&round.zone).date_naive(), round.day),
    })
}

/// When and where the last dose was, without its volume: one volume in the panel.
pub fn last_dose(dose: Option<&Dose>, zone: Zone) -> String {
    let Some(dose) = dose else {
        return "none recorded".to_owned();
    };
    let site = dose
        .record
        .site
        .as_ref()
        .map(|site| format!(", {}", self::site(site)))
        .unwrap_or_default();
    format!(
        "{} {}{site}",
        dose.record.outcome,
        moment(dose.happened, zone)
    )
}

/// How long a note stands beside a dose, in days, and how many of them: the program's own choice.
const NOTE_DAYS: i64 = 7;
const MOST_NOTES: usize = 3;

/// What people noted about an animal of late, the newest first.
pub fn notes_of_late(patient: &Patient, now: DateTime<Utc>) -> Vec<&Note> {
    let since = now - TimeDelta::days(NOTE_DAYS);
    let late = |note: &&Note| note.at <= now && note.at >= since;
    let mut notes: Vec<&Note> = patient.notes.iter().filter(late).collect();
    notes.sort_by_key(|note| std::cmp::Reverse((note.at, note.entry)));
    notes.truncate(MOST_NOTES);
    notes
}

/// "Thu 8 March 14:00, appetite: "left both crickets" (AK)".
pub fn note(note: &Note, zone: Zone) -> String {
    let observation = &note.observation;
    let by = observation.by.as_ref();
    let by = by.map_or(String::new(), |by| format!(" ({by})"));
    format!(
        "{}, {}: \"{}\"{by}",
        moment(note.at, zone),
        observation.about,
        observation.words
    )
}

/// The deferral that stands on everything that shows a mark.
pub const DEFERRAL: &str = "This repeats your vet's prescription. If anything disagrees with the vet's label, or the animal looks worse: stop and call.";

/// What of the book is damaged, and what that means for a card.
pub fn damaged(round: &Round) -> String {
    crate::round::tell::damage(&round.damaged)
}

/// "tub 4, white spot on left shoulder", and whether it is held apart.
pub fn identification(animal: &Animal) -> String {
    if animal.quarantine {
        format!("{}; in quarantine", animal.identification)
    } else {
        animal.identification.clone()
    }
}

/// Which other animals have names much like this one's, and what tells them from it.
pub fn named_alike(dose: &DayDose) -> Option<String> {
    let others = dose.alike.iter();
    let others: Vec<String> = others
        .map(|other| format!("{} ({})", other.name, identification(other)))
        .collect();
    (!others.is_empty()).then(|| {
        format!(
            "This is {}. Named much like it: {}. Look which animal is in your hand.",
            dose.patient.animal.name,
            others.join("; ")
        )
    })
}

/// The same for paper, where the animal's own identification stands above it: "This is Thimblo: not
/// Thimbla, not Thimbol, nor 2 more named much like it".
pub fn not_the_others(dose: &DayDose) -> Option<String> {
    const NAMED: usize = 3;
    let mut names = dose.alike.iter().map(|other| format!("not {}", other.name));
    let mut named: Vec<String> = names.by_ref().take(NAMED).collect();
    match names.count() {
        0 => {}
        more => named.push(format!("nor {more} more named much like it")),
    }
    let name = &dose.patient.animal.name;
    (!named.is_empty()).then(|| format!("This is {name}: {}.", named.join(", ")))
}

/// What the label must read: "8 mg/mL", of a product with two ingredients with the one that
/// counts.
pub fn must_read(dose: &DayDose) -> Option<String> {
    let strength = dose.must_read.as_ref()?;
    Some(match &dose.script.prescription.medicine.ingredient {
        Some(ingredient) => format!("{strength} of {ingredient}"),
        None => strength.to_string(),
    })
}

/// What the bottle in hand reads, where it is not what it must read.
pub fn it_reads(dose: &DayDose) -> Option<String> {
    let (InHand::Bottle(bottle) | InHand::Gone(bottle)) = dose.in_hand else {
        return None;
    };
    if bottle.reads(dose.must_read.as_ref()) {
        return None;
    }
    let reads = bottle.strength.as_ref().map(Written::text);
    Some(reads.unwrap_or("no strength").to_owned())
}

/// What is done at the mark, or instead of one.
pub fn act(dose: &DayDose) -> &'static str {
    let Some(worked) = &dose.worked else {
        return "Apply";
    };
    match worked.calculated.map(|calculated| calculated.measure) {
        Some(Measure::Tablets(_)) => "Give",
        Some(Measure::Product(_)) => "Weigh out",
        Some(Measure::Volume(_)) | None => "Draw to",
    }
}

/// Several equal draws; none where there is one.
pub fn draws(mark: &Mark) -> Option<String> {
    let draws = mark.draws;
    (draws > 1).then(|| format!("{draws} draws, each to this mark, each at its own site"))
}

/// What stands beside NO MARK: in a few words why, and what comes next.
pub fn instead_of_a_mark(reason: &NoMark) -> String {
    let why = reason.headline();
    match reason {
        NoMark::WrongStrength {
            bottle: Some(bottle),
            ..
        } => format!("Draw nothing from bottle {bottle}"),
        NoMark::WrongStrength { bottle: None, .. } => "Draw nothing from this bottle".to_owned(),
        NoMark::NoWeight | NoMark::WeightTooOld { .. } => format!("{why}: weigh first"),
        NoMark::TooSoon { opens, .. } => format!("{why}: it opens {opens}"),
        NoMark::EarlierUnanswered { number } => {
            format!("Dose {number} comes first: say what became of it")
        }
        NoMark::ClockBehind { .. } => format!("{why}: set it right"),
        NoMark::Damaged { .. } => format!("{why}: look at your last copy"),
        NoMark::NotRecorded { .. } => {
            format!("{why}: ask everyone; if unsure do not give, call")
        }
        NoMark::LateCall => format!("{why}: call before you give it"),
        NoMark::Unsettled { .. } => format!("{why}: draw nothing, call"),
        _ => format!("{why}: ask your vet"),
    }
}

/// The reason to call in a headline, such as a loss of weight, and what stands behind it.
pub fn loss(animal: &Animal, caution: &Caution, day: NaiveDate) -> Option<(String, Phrase)> {
    if let Caution::Tenfold { now, other, on } = caution {
        let headline = format!("{}: is the weight right?", animal.name);
        let from = match on {
            Some(on) => format!(" on {}, now ", date(*on, day)),
            None => " as your vet wrote, now ".to_owned(),
        };
        let weights = Phrase::new().bold(&other.to_string()).plain(&from);
        return Some((headline, weights.bold(&now.to_string())));
    }
    if let Caution::Unsettled { entry, what } = caution {
        let words = Phrase::new().plain(&format!("entry {entry}: {what}"));
        return Some((
            format!("{}: an earlier dose went wrong", animal.name),
            words,
        ));
    }
    let Caution::Loss {
        before,
        on,
        now,
        share,
        limit,
        ..
    } = caution
    else {
        return None;
    };
    let percent = print::percent(*share, Some(*limit));
    let headline = format!("{} weighs {percent} less", animal.name);
    let weights = Phrase::new()
        .bold(&before.to_string())
        .plain(&format!(" on {}, now ", date(*on, day)))
        .bold(&now.to_string());
    Some((headline, weights))
}

/// The weight beside a dose, which stands there even where the dose does not go by it.
pub fn weight_beside(dose: &DayDose, round: &Round) -> Phrase {
    let worked = dose.worked.as_ref();
    let used = match worked.and_then(|worked| worked.weight.clone()) {
        Some(used) => used,
        None => match dose.patient.weights.latest(round.now) {
            Some(latest) => as_it_is(latest, round),
            None => return Phrase::from("none in the book"),
        },
    };
    let (figure, words) = (used.weight.to_string(), weight(&used));
    match words.strip_prefix(&figure) {
        Some(rest) => Phrase::new().bold(&figure).plain(rest),
        None => Phrase::from(words.as_str()),
    }
}

fn as_it_is(weighing: &Weighing, round: &Round) -> WeightUsed {
    WeightUsed {
        weight: weighing.weight.clone(),
        day: Some(weighing.day(round.zone)),
        age: weighing.age_in_days(round.day, round.zone),
        tag: weighing.tag.map(|tag| tag.words()),
        readability: None,
        basis: Basis::Latest,
    }
}

/// "46 g on Wed 7 March, 1 day old", with a tag and the basis where it is not the latest.
pub fn weight(used: &WeightUsed) -> String {
    let mut text = used.weight.to_string();
    match (used.day, used.age) {
        (Some(_), Some(0)) => text.push_str(" today"),
        (Some(day), Some(age)) => {
            let old = if age == 1 {
                "1 day".to_owned()
            } else {
                format!("{age} days")
            };
            text.push_str(&format!(" on {}, {old} old", day.format("%a %-d %B")));
        }
        (Some(day), None) => text.push_str(&format!(" on {}", day.format("%a %-d %B"))),
        (None, _) => text.push_str(", as your vet wrote"),
    }
    if let Some(tag) = used.tag {
        text.push_str(&format!(" ({tag})"));
    }
    if used.basis == Basis::Start {
        text.push_str(", the weight at the start of the course");
    }
    text
}

/// How it goes in: "by mouth"; of an injection, which the barrel shows, only where: ""under the
/// skin"".
pub fn route(prescription: &Prescription) -> String {
    match &prescription.route {
        Route::Injection(place) => format!("\"{place}\""),
        other => other.words(),
    }
}

/// Route, site and side: ""under the skin", site B, left side"; of several draws the site of each.
pub fn place(dose: &DayDose) -> String {
    let route = route(&dose.script.prescription);
    let sites = sites(dose);
    let Some(site) = dose.site.filter(|_| sites.is_empty()) else {
        return match sites.is_empty() {
            true => route,
            false => format!("{route}, {}", sites.join("; then ")),
        };
    };
    format!("{route}, {}", self::site(&site.words()))
}

/// Where each of several draws goes: the vet's sites from the next on; beyond them, and where the
/// vet named none, each at one of its own. Nothing for a single draw.
pub fn sites(dose: &DayDose) -> Vec<String> {
    let draws = dose.drawn().map_or(1, |drawn| drawn.chosen.mark.draws);
    let named = &dose.script.prescription.sites;
    let first = dose
        .site
        .and_then(|next| named.iter().position(|site| site == next));
    let from_next = named
        .iter()
        .cycle()
        .skip(first.unwrap_or(0))
        .take(named.len());
    let each = from_next.map(|site| self::site(&site.words()));
    let draws = usize::try_from(draws).unwrap_or(1);
    each.chain(std::iter::repeat("a site of its own".to_owned()))
        .take(if draws > 1 { draws } else { 0 })
        .collect()
}

/// "site B, left side"; the vet's own words for a place stand in quotation marks unless they are
/// one plain word.
pub fn site(written: &str) -> String {
    let (place, side) = match written.rsplit_once(", ") {
        Some((place, side @ ("left" | "right"))) => (place, format!(", {side} side")),
        _ => (written, String::new()),
    };
    if place.chars().all(char::is_alphanumeric) {
        format!("site {place}{side}")
    } else {
        format!("site \"{place}\"{side}")
    }
}

/// An instrument in as few words as a narrow column takes: "0.3 mL, fixed needle, 0.005 mL lines".
pub fn instrument(instrument: &Instrument) -> String {
    let Some(syringe) = instrument.syringe() else {
        return instrument.words();
    };
    let words = syringe.words();
    let line = print::volume(syringe.graduation());
    match words.split_once(", a line every ") {
        Some((kind, _)) => format!("{}, {line} lines", kind.trim_end_matches(" barrel")),
        None => words,
    }
}

/// "dose 2 of 4".
pub fn dose_of(dose: &DayDose) -> String {
    let number = dose.slot.slot.number;
    match dose.of {
        Some(of) => format!("dose {number} of {of}"),
        None => format!("dose {number}, until your vet says stop"),
    }
}

/// The arithmetic from dose to mark and back. How far it may be out in all belongs to the whole
/// working and to the vet's report, and stands last there.
pub fn working(worked: &Worked) -> &[String] {
    match worked.working.as_slice() {
        [lines @ .., last] if last.starts_with("Within ") => lines,
        lines => lines,
    }
}

/// What was given last, where the weight is too old for a mark.
pub fn history(dose: &DayDose, zone: Zone) -> Option<String> {
    let first = dose.no_mark.first()?;
    let last = dose.last?;
    let mark = last.record.mark.as_ref()?;
    let by = mark
        .weight
        .as_ref()
        .map(|weight| format!(" by {weight}"))
        .unwrap_or_default();
    matches!(first, NoMark::WeightTooOld { .. }).then(|| {
        format!(
            "Last time, {}, it was {}{by}: that is history, not a mark.",
            moment(last.happened, zone),
            mark.total
        )
    })
}

/// What became of a dose that has been answered for: "Thimblo, DEMO-0001, dose 2: given at 07:40".
pub fn done(done: &DoneToday, zone: Zone) -> String {
    let at = done
        .at
        .map(|at| format!(" at {}", at.with_timezone(&zone).format("%H:%M")))
        .unwrap_or_default();
    let extra = if done.extra {
        ", beside the schedule"
    } else {
        ""
    };
    format!(
        "{}, {}, dose {}: {}{extra}{at}",
        done.patient.animal.name, done.script.prescription.reference, done.number, done.state
    )
}

/// A verdict in a few words.
pub fn verdict(verdict: &Verdict) -> String {
    match verdict {
        Verdict::NotStarted => "not started".to_owned(),
        Verdict::OnTrack => "on track".to_owned(),
        Verdict::NeedsAttention(_) => "needs attention".to_owned(),
        Verdict::Complete => "complete".to_owned(),
        Verdict::CompleteWithExceptions(_) => "complete with exceptions".to_owned(),
        Verdict::EndedEarly(how) => format!("ended early: {how}"),
    }
}
