//! What a course is judged from: plain facts, put in by the rooms that keep them.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use crate::entry::{Ending, Outcome};
use crate::schedule::{Schedule, Start, Zone};

/// Everything a course is judged from.
#[derive(Debug, Clone, Copy)]
pub struct Facts<'a> {
    /// What the vet wrote about when.
    pub schedule: &'a Schedule,
    /// Where the course begins.
    pub start: Start,
    /// The zone in which its start and its clock times were meant when it was entered: its slots
    /// are laid out there, so that a move to another zone moves no dose.
    pub laid_out_in: Zone,
    /// The zone that the animal is in, in which dates and "today" are read.
    pub zone: Zone,
    /// The last local day on which the prescription is valid.
    pub valid_until: Option<NaiveDate>,
    /// Whether the vet wrote what to do if a dose is brought up.
    pub if_brought_up: bool,
    /// What people recorded for this course, in any order.
    pub records: &'a [Record],
    /// Records of other courses of the same medicine for the same animal, in any order.
    pub other_doses: &'a [OtherDose],
    /// What the vet said afterwards, in any order.
    pub instructions: &'a [Instruction],
    /// How and when the course was ended, if it was.
    pub ended: Option<Ended>,
}

/// One thing that happened in this course.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Record {
    /// Which entry it is.
    pub id: u64,
    /// When it happened; of an unsure dose, the latest moment at which it could have been given.
    pub happened: DateTime<Utc>,
    /// What became of the dose.
    pub outcome: Outcome,
    /// Whether what was drawn is the mark computed then.
    pub at_mark: bool,
    /// The slot it was said to be for, where the person named one.
    pub slot_asked: Option<u32>,
}

/// One record of another course of the same medicine for the same animal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OtherDose {
    /// When it happened.
    pub happened: DateTime<Utc>,
    /// That course's own gap around it, where it has one.
    pub gap: Option<TimeDelta>,
    /// What became of it.
    pub outcome: Outcome,
}

/// What the vet said, from this moment on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Instruction {
    /// When it was said.
    pub at: DateTime<Utc>,
    /// What was said.
    pub order: Order,
}

/// The vet's instructions that change which doses are given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// No dose from this slot on.
    Stop {
        /// The first slot that is not to be given.
        from: u32,
    },
    /// Doses again from this slot on, after a stop.
    Resume {
        /// The first slot that is to be given again; those stopped before it stay out.
        from: u32,
    },
    /// Leave this slot out.
    Skip {
        /// The slot to leave out.
        slot: u32,
    },
    /// Give this slot now, whatever its window says. It lapses with the next dose that is given,
    /// or after half the slot's gap; of a single slot, after 12 hours.
    DoseNow {
        /// The slot to give.
        slot: u32,
    },
    /// The vet knows about this record and has said how to go on.
    Settled {
        /// The entry in question.
        record: u64,
    },
    /// A course that runs until the vet says stop goes on, to be reviewed on this day.
    Review {
        /// The new review date.
        on: NaiveDate,
    },
}

/// The end of a course, and when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ended {
    /// How it ended.
    pub how: Ending,
    /// When.
    pub at: DateTime<Utc>,
}
