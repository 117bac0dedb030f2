//! One prescription for one animal, through time: what became of each slot, whether a dose may be
//! drawn now, and the verdict.
//!
//! Promises: [`judge`] looks at facts alone, so the same facts and the same `now` always give the
//! same answer, in whatever order they were written down. Nothing here says "missed" of its own
//! accord, moves a dose unless the vet chose that, or lets a dose through that is too soon after
//! the last one of that medicine to that animal in any course. What was recorded is never dropped:
//! it is tied to a slot or listed as extra. It computes no volume and knows no weight.

mod facts;
mod gate;
mod gather;
mod replay;
#[cfg(test)]
mod tests;
mod verdict;
mod words;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use crate::schedule::{Count, Due, MOST_SLOTS, Schedule, ScheduleError, Slot, Zone};
use replay::Replay;

pub use crate::entry::{Ending, Outcome};
pub use facts::{Ended, Facts, Instruction, Order, OtherDose, Record};
pub use gather::judge_in;

/// Where a slot stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum State {
    /// Its window has not come, and nothing has pushed it.
    Planned,
    /// The last dose has pushed its opening later, and it has not opened.
    TooSoon,
    /// It may be given.
    Open,
    /// Its window has passed; nobody has said what became of it.
    Late,
    /// So long past that somebody must say what became of it.
    NotRecorded,
    /// It would open after it closes: a matter for the vet.
    Held,
    /// Given.
    Given,
    /// Partly given.
    PartlyGiven,
    /// Given and brought up.
    BroughtUp,
    /// Refused by the animal until its window closed.
    Refused,
    /// A person said it was not given.
    Missed,
    /// Left out, as the vet said.
    Withheld,
    /// A person said nobody knows.
    Unsure,
    /// The course ended before it.
    Gone,
}

impl From<Outcome> for State {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Given => State::Given,
            Outcome::PartlyGiven => State::PartlyGiven,
            Outcome::BroughtUp => State::BroughtUp,
            Outcome::Refused => State::Refused,
            Outcome::Missed => State::Missed,
            Outcome::Withheld => State::Withheld,
            Outcome::Unsure => State::Unsure,
        }
    }
}

impl State {
    /// Whether a person has said what became of the slot.
    #[must_use]
    pub fn is_answered(self) -> bool {
        use State::{BroughtUp, Given, Missed, PartlyGiven, Refused, Unsure, Withheld};
        matches!(
            self,
            Given | PartlyGiven | BroughtUp | Refused | Missed | Withheld | Unsure
        )
    }

    /// Whether it waits for a dose or an answer.
    #[must_use]
    pub fn is_pending(self) -> bool {
        !self.is_answered() && self != Self::Gone
    }

    /// Whether a person must say what became of the slot before any later one has a mark.
    #[must_use]
    pub fn blocks_later(self) -> bool {
        matches!(self, Self::Late | Self::NotRecorded)
    }
}

/// Whether a mark may be shown for a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkGate {
    /// Yes, now.
    Allowed,
    /// Yes, now, saying LATE.
    AllowedLate,
    /// Yes, for the day's card, saying that it is not to be given before this moment: while the
    /// slot before it is still to be given, the moment that holds whenever that happens.
    NotBefore(DateTime<Utc>),
    /// No: too soon after the last dose, until this moment.
    TooSoonUntil(DateTime<Utc>),
    /// No: it would open after it closes, or no gap is known. Ask the vet.
    Held,
    /// No: an earlier slot comes first or waits for somebody to say what became of it.
    BlockedBy(u32),
    /// No: it is late, and the vet wants a call.
    LateCall,
    /// No: somebody must say what became of it.
    NotRecorded,
    /// No: a person has said what became of it.
    Answered,
    /// No: the vet was to look again on this day.
    ReviewPassed(NaiveDate),
    /// No: the prescription is valid up to this day.
    ValidUntilPassed(NaiveDate),
    /// No: the course has ended.
    Ended,
}

impl MarkGate {
    /// Whether the dose may be drawn at the moment of judging.
    #[must_use]
    pub fn is_open(self) -> bool {
        matches!(self, Self::Allowed | Self::AllowedLate)
    }
}

/// When a dose was given, against its slot's window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Timing {
    /// Between opening and closing.
    InWindow,
    /// Before it opened.
    TooSoon,
    /// After it closed.
    Late,
    /// Outside its window, on the vet's instruction to give it then.
    Instructed,
}

/// What to do about a dose of which only part, or perhaps nothing, stayed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TopUp {
    /// Nothing of the kind happened.
    NoNeed,
    /// No more of it is given; ask the vet.
    Never,
    /// The vet wrote what to do, or has said to give it now.
    AsTheVetSays,
}

/// One slot as it stands at the moment of judging.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// The slot as planned.
    pub slot: Slot,
    /// When it is due, as moved by a late dose where the vet wants that.
    pub due: Due,
    /// The first moment at which it may be given, as it was when it was given. `None` where no gap
    /// to the last dose is known.
    pub opens: Option<DateTime<Utc>>,
    /// The last moment of its window.
    pub closes: DateTime<Utc>,
    /// From when it counts as not recorded; `None` where it can be late without end.
    pub not_recorded_from: Option<DateTime<Utc>>,
    /// Where it stands.
    pub state: State,
    /// Whether a mark may be shown.
    pub gate: MarkGate,
    /// Of a dose that was given, or may have been: when, against the window.
    pub timing: Option<Timing>,
    /// The record that filled it.
    pub filled_by: Option<Record>,
    /// Every record tied to it, in the order in which they happened.
    pub records: Vec<Record>,
    /// Whether more may follow a dose that did not all stay in.
    pub top_up: TopUp,
}

impl Standing {
    /// Whether it still waits for a dose or an answer: after the animal's stay has ended, nothing
    /// does, whatever was left unanswered.
    #[must_use]
    pub fn waits(&self) -> bool {
        self.state.is_pending() && self.gate != MarkGate::Ended
    }

    /// Whether the last dose holds it until after its window has closed.
    #[must_use]
    pub fn never_opens(&self) -> bool {
        self.opens.is_some_and(|opens| opens > self.closes)
    }
}

/// A dose that was recorded but belongs to no free slot: kept, flagged, and it moves nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Extra {
    /// The record.
    pub record: Record,
    /// The slot that it came nearest to, or was said to be for.
    pub nearest: u32,
    /// Why it has no slot.
    pub why: What,
}

/// Something to know about a course.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Remark {
    /// The slot in question.
    pub slot: Option<u32>,
    /// The record in question.
    pub record: Option<u64>,
    /// What it is.
    pub what: What,
    /// Whether somebody has to do something about it. A record stops needing attention when the
    /// vet has spoken about it.
    pub needs_attention: bool,
}

/// What can be remarked on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum What {
    /// A slot is late now.
    LateNow,
    /// Nobody has said what became of a slot.
    NotRecorded,
    /// A slot would open after it closes.
    Held,
    /// A dose was given before its slot opened, too soon after the one before it.
    GivenTooSoon,
    /// A dose was given before its slot opened, with none before it that it would be too close to.
    GivenBeforeItsWindow,
    /// A dose was given after its slot closed.
    GivenLate,
    /// A dose was given outside its window as the vet said.
    GivenAsInstructed,
    /// A dose was given that the vet had said to leave out.
    AgainstInstruction,
    /// Nobody knows whether a dose was given that the vet had said to leave out.
    UnsureAgainstInstruction,
    /// What was drawn was not the mark.
    NotAtMark,
    /// Only part of a dose was given.
    PartlyGiven,
    /// A dose was brought up.
    BroughtUp,
    /// The animal would not take a dose.
    Refused,
    /// A dose was not given.
    Missed,
    /// A dose was left out on the vet's instruction.
    Withheld,
    /// A person recorded that the vet had said to leave a dose out; the book holds no instruction.
    RecordedAsWithheld,
    /// Nobody knows whether a dose was given.
    Unsure,
    /// A dose was given beside those of the schedule.
    Extra,
    /// Nobody knows whether a dose was given beside those of the schedule.
    UnsureExtra,
    /// A dose was recorded for a time after the course had ended.
    AfterTheEnd,
    /// The review date has passed and the vet has not spoken.
    ReviewPassed,
    /// The prescription is no longer valid and slots are left.
    ValidUntilPassed,
}

/// The word on a course.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing was recorded and nothing is late.
    NotStarted,
    /// So far as it should be.
    OnTrack,
    /// Somebody has to do something; each remark says why.
    NeedsAttention(Vec<Remark>),
    /// Every slot given, in its window, at its mark.
    Complete,
    /// Over, with these exceptions.
    CompleteWithExceptions(Vec<Remark>),
    /// Ended before its last slot.
    EndedEarly(Ending),
}

/// How closely the schedule was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Adherence {
    /// Slots given in their window, or when the vet said so.
    pub in_window: u32,
    /// Slots given late.
    pub late: u32,
    /// Slots given too soon.
    pub too_soon: u32,
    /// Slots of which only part stayed in.
    pub in_part: u32,
    /// Slots of which nobody knows, and what may have been given beside them.
    pub unsure: u32,
    /// Slots refused, missed or withheld, as a person said.
    pub not_given: u32,
    /// Slots that nobody has spoken of.
    pub not_recorded: u32,
    /// Doses beside those of the schedule.
    pub extra: u32,
    /// The longest time between two doses of this course that went in.
    pub longest_gap: Option<TimeDelta>,
}

/// A course, judged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Course {
    /// Every slot, in order.
    pub slots: Vec<Standing>,
    /// Doses that belong to no free slot, in the order in which they happened.
    pub extras: Vec<Extra>,
    /// The one slot that may be given now.
    pub actionable: Option<u32>,
    /// The first slot that waits for a dose or an answer.
    pub next: Option<u32>,
    /// When the first dose went in, which sets the start weight.
    pub first_dose: Option<DateTime<Utc>>,
    /// Everything to know, needing attention or not.
    pub remarks: Vec<Remark>,
    /// The word on it.
    pub verdict: Verdict,
    /// How closely the schedule was kept.
    pub adherence: Adherence,
}

impl Course {
    /// A slot by its number.
    #[must_use]
    pub fn slot(&self, number: u32) -> Option<&Standing> {
        self.slots
            .iter()
            .find(|standing| standing.slot.number == number)
    }

    /// The slot that something at this moment belongs to: the nearest by due time, the later of
    /// two; what was brought up belongs to the dose given shortly before, and a dose that the vet
    /// has said to give now is that one. Of a course judged at that moment.
    #[must_use]
    pub fn belongs_to(&self, outcome: Outcome, at: DateTime<Utc>, zone: Zone) -> Option<&Standing> {
        let new = Record {
            id: u64::MAX,
            happened: at,
            outcome,
            at_mark: false,
            slot_asked: None,
        };
        let given = self.slots.iter().filter(|standing| {
            let filled = standing.filled_by;
            filled.is_some_and(|given| is_about(&new, &given, &standing.slot))
        });
        let apart = |standing: &&Standing| standing.due.apart(at, zone);
        // Open outside its window: the vet has said so.
        let told = self.slots.iter().find(|standing| {
            let in_its_window = matches!(standing.state, State::Open | State::Late);
            standing.gate.is_open() && !in_its_window && outcome.went_in()
        });
        given
            .max_by_key(|standing| standing.filled_by.map(|given| given.happened))
            .or(told)
            .or_else(|| self.slots.iter().rev().min_by_key(apart))
    }

    /// The doses of this course as another course of the same medicine must see them. They do not
    /// depend on that other course.
    #[must_use]
    pub fn doses(&self) -> Vec<OtherDose> {
        let gap = |number| {
            self.slot(number)
                .and_then(|standing| own_gap(&standing.slot))
        };
        let tied = self.slots.iter().flat_map(|standing| {
            doses_among(&standing.records).map(|record| (*record, own_gap(&standing.slot)))
        });
        let extra = self
            .extras
            .iter()
            .map(|extra| (extra.record, gap(extra.nearest)));
        tied.chain(extra)
            .filter(|(record, _)| record.outcome.closes_the_gate())
            .map(
                |(
                    Record {
                        happened, outcome, ..
                    },
                    gap,
                )| OtherDose {
                    happened,
                    gap,
                    outcome,
                },
            )
            .collect()
    }
}

/// Judges a course at a moment. Facts that lie after it are left aside, so a history can
/// be looked at as it stood.
///
/// # Errors
/// A [`ScheduleError`] where the schedule cannot be laid out from that start.
pub fn judge(facts: &Facts<'_>, now: DateTime<Utc>) -> Result<Course, ScheduleError> {
    let schedule = match latest_review(facts, now) {
        Some(date) => &facts.schedule.clone().reviewed_on(date),
        None => facts.schedule,
    };
    let mut course = judge_with(facts, schedule, 0, now)?;
    let mut added = 0;
    while schedule.count() == Count::Given {
        let not_given = course
            .slots
            .iter()
            .filter(|standing| adds_a_slot(standing.state))
            .count();
        let wanted = u32::try_from(not_given).unwrap_or(MOST_SLOTS);
        if wanted <= added {
            break;
        }
        // A course as long as a course can be gets no longer.
        let Ok(longer) = judge_with(facts, schedule, wanted, now) else {
            break;
        };
        (course, added) = (longer, wanted);
    }
    Ok(course)
}

fn judge_with(
    facts: &Facts<'_>,
    schedule: &Schedule,
    added: u32,
    now: DateTime<Utc>,
) -> Result<Course, ScheduleError> {
    let slots = schedule.expand_with(facts.start, facts.laid_out_in, added)?;
    Ok(verdict::course(Replay::new(facts, schedule, slots, now)))
}

/// Whether a slot in this state adds one at the end of a course that counts doses given.
fn adds_a_slot(state: State) -> bool {
    matches!(state, State::Refused | State::Missed | State::Withheld)
}

fn latest_review(facts: &Facts<'_>, now: DateTime<Utc>) -> Option<NaiveDate> {
    let said = facts.instructions.iter().filter(|said| said.at <= now);
    said.filter_map(|said| match said.order {
        Order::Review { on } => Some((said.at, on)),
        _ => None,
    })
    .max()
    .map(|(_, on)| on)
}

/// Whether a record says that a dose was brought up which had been given no longer ago than half
/// its slot's gap; of a single slot, than 12 hours.
fn is_about(record: &Record, given: &Record, slot: &Slot) -> bool {
    let reach = own_gap(slot).map_or(TimeDelta::hours(12), |gap| gap / 2);
    record.outcome == Outcome::BroughtUp
        && given.outcome == Outcome::Given
        && given.happened <= record.happened
        && record.happened - given.happened <= reach
}

/// The records of a slot at whose moment something went in or may have: that a dose was brought
/// up after it was given is no dose of its own.
fn doses_among(records: &[Record]) -> impl Iterator<Item = &Record> {
    let given = |before: &[Record]| before.iter().any(|r| r.outcome == Outcome::Given);
    let each = records.iter().enumerate();
    each.filter(move |(index, record)| {
        let before = records.get(..*index).unwrap_or_default();
        record.outcome.closes_the_gate() && !(record.outcome == Outcome::BroughtUp && given(before))
    })
    .map(|(_, record)| record)
}

/// The gap by which a dose in this slot keeps others away: the next one, else the one before.
fn own_gap(slot: &Slot) -> Option<TimeDelta> {
    slot.gap_after.or(slot.gap_before)
}
