//! Everything that can happen, as data, and its JSON text in the book.
//!
//! Promises: quantities are kept as exact text; what was read once can be read again, and an
//! entry of a kind not known here is an error that names it, never a guess. What the entries mean
//! together is the ledger's business.

use crate::animal::{Animal, Tag};
use crate::bottle::Bottle;
use crate::entry::observation::Observation;
use crate::entry::outcome::{Ending, Outcome};
use crate::entry::row::{NewRow, Row};
use crate::entry::signed::Signed;
use crate::notation::Written;
use crate::notation::fold::is_unseen;
use crate::quantity::{Amount, BodyWeight, DoseRate, Strength};
use crate::rack::Syringe;
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};

/// One thing that happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[allow(
    clippy::large_enum_variant,
    reason = "most entries are of the largest variant, a dose"
)]
#[serde(tag = "kind", content = "body", rename_all = "snake_case")]
pub enum Happening {
    /// The book was begun, or its settings changed: all of them as they now are.
    Settings(Signed<Settings>),
    /// A syringe came to hand.
    Syringe(Signed<Syringe>),
    /// An animal came in.
    Animal(Signed<Animal>),
    /// An animal was weighed.
    Weighing(Weighed),
    /// A prescription was read back and kept.
    Prescription(Entered),
    /// A bottle was opened.
    Bottle(Signed<Bottle>),
    /// A bottle was discarded or ran dry.
    BottleEnd(BottleEnd),
    /// A dose was given, or something else became of it.
    Dose(DoseRecord),
    /// An earlier entry was wrong.
    Correction(Correction),
    /// The vet said something by phone or in person.
    Instruction(Instruction),
    /// An animal's stay ended.
    End(End),
    /// Something that the vet wanted beside the doses was done.
    FollowUp(FollowUpDone),
    /// An instruction was read back afterwards, or its paper came.
    Confirmation(Confirmation),
    /// Somebody saw something about an animal.
    Observation(Observation),
    /// One aliquot of a batch was thawed.
    Thaw(Thaw),
    /// Somebody looked at what is left in a bottle.
    Left(Left),
}

/// One weighing as it was typed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Weighed {
    /// The weight.
    pub weight: Written<BodyWeight>,
    /// The smallest step of the scale.
    pub readability: Written<BodyWeight>,
    /// What may make it misleading.
    pub tag: Option<Tag>,
    /// It looked like a slip and was typed a second time.
    pub confirmed: bool,
    /// Initials.
    pub by: Option<String>,
}

/// One prescription as it was kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entered {
    /// The form, exactly as typed.
    pub source: String,
    /// The name of the file it came from, for messages.
    pub file: String,
    /// The day the course starts.
    pub start: NaiveDate,
    /// The hour of the first dose, where one was given.
    pub start_time: Option<NaiveTime>,
    /// `--yes` stood for the last question.
    pub unasked: bool,
    /// Initials.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// The end of a bottle.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BottleEnd {
    /// The bottle's number.
    pub bottle: u32,
    /// It ran dry rather than was discarded.
    pub ran_dry: bool,
    /// Initials.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// One aliquot of a batch taken out to thaw; it is never frozen again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Thaw {
    /// The bottle's number.
    pub bottle: u32,
    /// The day on which it was thawed.
    pub on: NaiveDate,
    /// Initials.
    pub by: Option<String>,
}

/// What a person saw to be left in a bottle.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Left {
    /// The bottle's number.
    pub bottle: u32,
    /// How much of the product: mL, tablets, or g of paste.
    pub left: Written<Amount>,
    /// Initials.
    pub by: Option<String>,
}

/// The mark as it was computed when a dose was recorded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MarkThen {
    /// Steps of the instrument in one draw.
    pub lines: u32,
    /// How many draws.
    pub draws: u32,
    /// What all draws measure, as printed: exact.
    pub total: String,
    /// What the mark held, as printed.
    pub held: String,
    /// The weight it went by, where it went by one.
    pub weight: Option<Written<BodyWeight>>,
    /// The strength it was drawn from.
    pub strength: Option<Written<Strength>>,
}

/// What became of one dose.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DoseRecord {
    /// What became of it.
    pub outcome: Outcome,
    /// The slot it was said to be for, where the person named one.
    pub slot: Option<u32>,
    /// Initials of who gave it.
    pub by: Option<String>,
    /// Where it went in.
    pub site: Option<String>,
    /// The bottle it was drawn from.
    pub bottle: Option<u32>,
    /// The syringe it was drawn in.
    pub syringe: Option<Syringe>,
    /// What was measured out, where it was not the mark: a volume, tablets, or grams of paste.
    pub drawn: Option<Written<Amount>>,
    /// The mark at the time; none where there was none.
    pub mark: Option<MarkThen>,
    /// Whether what was drawn is the mark.
    pub at_mark: bool,
    /// What was wrong with it, by the codes of the reasons for no mark.
    pub flags: Vec<String>,
    /// In the person's own words.
    pub note: Option<String>,
}

/// A correction strikes one entry out; what is right instead is an entry of its own.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Correction {
    /// The entry that was wrong.
    pub entry: u64,
    /// Why.
    pub because: String,
    /// Initials.
    pub by: Option<String>,
}

/// What the vet said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Instruction {
    /// The course it is about.
    pub prescription: String,
    /// What was said.
    pub order: Order,
    /// Who said it.
    pub said_by: String,
    /// Who took it.
    pub taken_by: String,
    /// Whether it was read back.
    pub read_back: bool,
    /// Whether paper is still to come.
    pub paper_awaited: bool,
    /// In the vet's own words.
    pub words: Option<String>,
}

/// What an instruction changes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Order {
    /// Another dose rate from a slot on.
    Rate {
        /// The first slot it holds for.
        from: u32,
        /// The rate.
        rate: Written<DoseRate>,
    },
    /// Another dose, the same for every weight, from a slot on.
    Fixed {
        /// The first slot it holds for.
        from: u32,
        /// The dose.
        amount: Written<Amount>,
    },
    /// Something else to apply, from a slot on.
    Application {
        /// The first slot it holds for.
        from: u32,
        /// In the vet's words.
        words: String,
    },
    /// Another strength to draw from, from a slot on.
    Strength {
        /// The first slot it holds for.
        from: u32,
        /// What the bottle must read.
        strength: Written<Strength>,
    },
    /// No dose from a slot on.
    Stop {
        /// The first slot that is not to be given.
        from: u32,
    },
    /// Doses again from a slot on, after a stop.
    Resume {
        /// The first slot that is to be given again; those stopped before it stay out.
        from: u32,
    },
    /// Leave one slot out.
    Skip {
        /// The slot.
        slot: u32,
    },
    /// A weight to go by for one slot, whatever its age or the loss.
    AcceptWeight {
        /// The slot.
        slot: u32,
        /// The weight.
        weight: Written<BodyWeight>,
    },
    /// Give this slot now, whatever its window says.
    DoseNow {
        /// The slot.
        slot: u32,
    },
    /// The vet knows about an entry and has said how to go on.
    Settled {
        /// The entry.
        entry: u64,
    },
    /// A course that runs until the vet says stop goes on until this day.
    Review {
        /// The new review date.
        on: NaiveDate,
    },
}

/// The end of a stay.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct End {
    /// How.
    pub how: Ending,
    /// Where to, or in the keeper's own words.
    pub note: Option<String>,
    /// Initials.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// What was still wanting about an instruction and has now been done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Confirmation {
    /// The instruction's entry.
    pub entry: u64,
    /// It was read back.
    pub read_back: bool,
    /// The paper came.
    pub paper_came: bool,
    /// Initials.
    pub by: Option<String>,
}

/// A follow-up that was done: a visit, a test, a weighing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FollowUpDone {
    /// Its number in the prescription, from 1.
    pub number: u32,
    /// What it was, in the vet's words.
    pub what: String,
    /// What came of it, in the keeper's words.
    pub note: Option<String>,
    /// Initials.
    pub by: Option<String>,
}

/// Whose chain an entry joins.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// An animal, by name.
    Animal(String),
    /// A prescription, by reference.
    Prescription(String),
    /// A bottle, by number.
    Bottle(u32),
    /// The settings and the rack.
    Settings,
}

impl Subject {
    /// The key in the book.
    pub fn key(&self) -> String {
        match self {
            Subject::Animal(name) => format!("animal:{name}"),
            Subject::Prescription(reference) => format!("prescription:{reference}"),
            Subject::Bottle(number) => format!("bottle:{number}"),
            Subject::Settings => "settings".to_owned(),
        }
    }

    /// From the key in the book.
    pub fn from_key(key: &str) -> Option<Subject> {
        if key == "settings" {
            return Some(Subject::Settings);
        }
        let (kind, name) = key.split_once(':')?;
        match kind {
            "animal" => Some(Subject::Animal(name.to_owned())),
            "prescription" => Some(Subject::Prescription(name.to_owned())),
            "bottle" => Some(Subject::Bottle(name.parse().ok()?)),
            _ => None,
        }
    }
}

/// When and how an entry was written down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// When it was written.
    pub at: DateTime<Utc>,
    /// Whether a person gave that time.
    pub clock_given: bool,
    /// The zone local times were meant in.
    pub zone: String,
}

/// An entry, understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its number in the book.
    pub seq: u64,
    /// Whose chain it stands in.
    pub subject: Subject,
    /// The course it belongs to, by the prescription's reference.
    pub course: Option<String>,
    /// When it happened.
    pub happened_at: DateTime<Utc>,
    /// When it was written down.
    pub recorded_at: DateTime<Utc>,
    /// Whether the time of writing was given by a person.
    pub clock_given: bool,
    /// The IANA name of the zone in which local times in it were meant.
    pub zone: String,
    /// What happened.
    pub what: Happening,
}

/// An entry of the book that cannot be understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "entry {seq} of the book cannot be understood ({why}): it may come from a newer scruple, or be damaged"
)]
pub struct EntryError {
    /// Its number.
    pub seq: u64,
    /// What is wrong with it.
    pub why: String,
}

impl Happening {
    /// The initials of whoever recorded it, where they were given.
    pub fn by(&self) -> Option<&str> {
        match self {
            Happening::Settings(signed) => signed.by.as_deref(),
            Happening::Syringe(signed) => signed.by.as_deref(),
            Happening::Animal(signed) => signed.by.as_deref(),
            Happening::Bottle(signed) => signed.by.as_deref(),
            Happening::Weighing(weighed) => weighed.by.as_deref(),
            Happening::Prescription(entered) => entered.by.as_deref(),
            Happening::BottleEnd(end) => end.by.as_deref(),
            Happening::Dose(record) => record.by.as_deref(),
            Happening::Correction(correction) => correction.by.as_deref(),
            Happening::Instruction(instruction) => Some(&instruction.taken_by),
            Happening::End(end) => end.by.as_deref(),
            Happening::FollowUp(done) => done.by.as_deref(),
            Happening::Confirmation(confirmed) => confirmed.by.as_deref(),
            Happening::Observation(observation) => observation.by.as_deref(),
            Happening::Thaw(thaw) => thaw.by.as_deref(),
            Happening::Left(left) => left.by.as_deref(),
        }
    }

    /// The kind and the JSON body for the book.
    ///
    /// # Errors
    /// [`EntryError`] with the number 0 where a value cannot be written; none of ours can fail.
    pub fn to_text(&self) -> Result<(String, String), EntryError> {
        let fault = |why: String| EntryError { seq: 0, why };
        let value = serde_json::to_value(self).map_err(|error| fault(error.to_string()))?;
        let kind = value
            .get("kind")
            .and_then(|kind| kind.as_str())
            .unwrap_or_default()
            .to_owned();
        let body = value
            .get("body")
            .map(ToString::to_string)
            .unwrap_or_default();
        Ok((kind, body))
    }

    /// The row that goes into the book.
    ///
    /// # Errors
    /// As [`Happening::to_text`]; and where it could not be understood again.
    pub fn to_row(
        &self,
        subject: &Subject,
        course: Option<&str>,
        happened_at: DateTime<Utc>,
        stamp: &Stamp,
    ) -> Result<NewRow, EntryError> {
        let (kind, body) = self.to_text()?;
        let row = NewRow {
            subject: subject.key(),
            course: course.map(str::to_owned),
            kind,
            happened_at,
            recorded_at: stamp.at,
            clock_given: stamp.clock_given,
            zone: stamp.zone.clone(),
            body,
        };
        let fault = |why: String| EntryError { seq: 0, why };
        let names = [&row.subject, &row.zone].into_iter().chain(&row.course);
        let odd = is_odd(names, &row.kind, &row.body);
        if odd.map_err(|error| fault(error.to_string()))? {
            return Err(fault(ODD.to_owned()));
        }
        Ok(row)
    }
}

const ODD: &str = "a character in it cannot be seen, or steers a terminal";

/// Whether an entry holds a character that no command of this program lets through. A
/// prescription's file is read as strictly by itself.
///
/// # Errors
/// What is wrong, where the body is not one whole value.
fn is_odd<'a>(
    names: impl Iterator<Item = &'a String>,
    kind: &str,
    body: &str,
) -> Result<bool, serde_json::Error> {
    let mut names = names.flat_map(|name| name.chars());
    let odd_name = names.any(is_unseen);
    // Most bodies are plain letters without anything written in code, and need no closer look.
    let plain = |b: u8| (b' '..=b'~').contains(&b) && b != b'\\';
    if kind == "prescription" || body.bytes().all(plain) {
        serde_json::from_str::<IgnoredAny>(body)?;
        return Ok(odd_name);
    }
    let body: serde_json::Value = serde_json::from_str(body)?;
    Ok(odd_name || holds_unseen(&body))
}

fn holds_unseen(value: &serde_json::Value) -> bool {
    match value {
        serde_json::Value::String(text) => text.chars().any(is_unseen),
        serde_json::Value::Array(items) => items.iter().any(holds_unseen),
        serde_json::Value::Object(fields) => fields.values().any(holds_unseen),
        _ => false,
    }
}

impl Entry {
    /// Understands a row.
    ///
    /// # Errors
    /// [`EntryError`]
    pub fn read(row: &Row) -> Result<Entry, EntryError> {
        // What is wrong may repeat what stands in the entry, of any length.
        let fault = |why: String| EntryError {
            seq: row.seq,
            why: why.chars().filter(|c| !is_unseen(*c)).take(300).collect(),
        };
        let subject = Subject::from_key(&row.subject)
            .ok_or_else(|| fault(format!("its subject is '{}'", row.subject)))?;
        // The body is one whole value by itself, so that it can be read in its place at once.
        let says = |error: serde_json::Error| {
            let text = error.to_string();
            let why = text.split(" at line ").next().unwrap_or_default();
            fault(why.to_owned())
        };
        let names = [&row.subject, &row.zone].into_iter().chain(&row.course);
        if is_odd(names, &row.kind, &row.body).map_err(says)? {
            return Err(fault(ODD.to_owned()));
        }
        let kind = serde_json::to_string(&row.kind).map_err(says)?;
        let tagged = format!("{{\"kind\":{kind},\"body\":{}}}", row.body);
        let what = serde_json::from_str(&tagged).map_err(says)?;
        Ok(Entry {
            seq: row.seq,
            subject,
            course: row.course.clone(),
            happened_at: row.happened_at,
            recorded_at: row.recorded_at,
            clock_given: row.clock_given,
            zone: row.zone.clone(),
            what,
        })
    }
}
