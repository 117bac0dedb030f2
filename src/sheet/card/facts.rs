//! What a dose card prints, already in words.
//!
//! Promises: only what is printed, each field saying where; numbers only for the drawn barrel.
//! Does not: compute, round or translate anything. Words come in safe notation; the vet's own
//! words come as the vet wrote them.

use std::fmt;

use chrono::{DateTime, FixedOffset};

use crate::sheet::barrel::Scale;

pub use crate::round::say::Phrase;

/// Everything on the dose card of one day.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Head of every page, title and bookmarks: "Thursday 8 March 2001".
    pub day: String,
    /// Foot of every page: "Thu 8 March 2001".
    pub day_short: String,
    /// When the card was made; printed in the file's particulars only.
    pub made: DateTime<FixedOffset>,
    /// Foot of every page: "scruple 0.1".
    pub version: String,
    /// Foot of every page: "K7M4-R2".
    pub book_code: String,
    /// Prints DEMONSTRATION at head and foot of every page.
    pub demonstration: bool,
    /// Head of the first page, and the number in every foot.
    pub vets: Vec<Vet>,
    /// The first page.
    pub prepare: Prepare,
    /// One panel per dose, in order of work.
    pub panels: Vec<Panel>,
}

/// A vet whose prescriptions stand on the card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vet {
    /// "Dr A. Example".
    pub name: String,
    /// "Example Practice (invented)".
    pub practice: Option<String>,
    /// As the prescription has it: "555 0134 (not a number)". What stands in brackets at its end
    /// is printed smaller.
    pub phone: String,
    /// The out-of-hours number, if the prescription has one.
    pub out_of_hours: Option<String>,
}

/// The first page: what to ask, what to set out, in which order to work.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Prepare {
    /// Black bar above everything: what is wrong with the book that the card was made from.
    pub warning: Option<String>,
    /// Section "Call before you start", one line with a box to tick each, the animal or the
    /// bottle in bold: "**Nubbet** weighs 12 percent less than on Mon 5 March: give at all?".
    pub calls: Vec<Phrase>,
    /// Section "Set out": the bottles.
    pub bottles: Vec<Bottle>,
    /// Section "Set out", below the bottles, one line with a box to tick each: syringes, scale,
    /// gloves. "**1** syringe of 0.3 mL, fixed needle, a line every 0.005 mL".
    pub things: Vec<Phrase>,
    /// Section "Order of work": each animal once; quarantine last, or the keeper's order.
    pub turns: Vec<Turn>,
    /// Section "Already answered for", a line each: "Thimblo, DEMO-0001, dose 2: given at 07:40".
    pub done: Vec<String>,
}

/// A bottle to set out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bottle {
    /// "Madeup Amber".
    pub medicine: String,
    /// Which of the bottles it is, and how it is given: "bottle 1, for injection".
    pub which: String,
    /// What its label must read: "8 mg/mL". None for what has no strength.
    pub must_read: Option<String>,
    /// What it is known to read, where that differs; else the box is left to write into.
    pub it_reads: Option<String>,
    /// What is drawn from it.
    pub needed: Needed,
    /// "Sat 10 March"; none if it has no such date.
    pub discard_after: Option<String>,
    /// Below the date: "set aside, closed".
    pub remark: Option<String>,
}

/// What is drawn from a bottle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Needed {
    /// Draws from it.
    Draws {
        /// "1 draw, after the call".
        words: String,
        /// The sum, only where several draws are made from it: "0.105 mL in all; hubs keep 0.07 mL
        /// more". The card adds "not a mark".
        total: Option<String>,
    },
    /// Nothing: no mark from this bottle.
    NoMark,
}

/// One animal in the order of work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turn {
    /// "Thimblo".
    pub animal: String,
    /// What tells it from the others: "tub 4, white spot on left shoulder".
    pub identification: String,
    /// What it gets, without marks, and its weight: "Madeup Amber, under the skin".
    pub lines: Vec<String>,
    /// What is cleaned, changed or thrown away after it, a box to tick each: "new gloves".
    pub then: Vec<String>,
}

/// One dose.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Prints DEMONSTRATION in it, so that a photo of it alone still says so.
    pub demonstration: bool,
    /// Bars across the top, the gravest first.
    pub alarms: Vec<Alarm>,
    /// "Thimblo".
    pub animal: String,
    /// "tub 4, white spot on left shoulder".
    pub identification: String,
    /// Which other animals have names much like this one's: "This is Thimblo: not Thimbla."
    pub alike: Option<String>,
    /// When and where the last dose was recorded, without its volume: "given Tue 6 March 08:10,
    /// site A, right side".
    pub last_dose: String,
    /// "course DEMO-0001, dose 2 of 4".
    pub course: String,
    /// Below it, only where the card holds doses of several vets: "Dr A. Example".
    pub vet: Option<String>,
    /// "Madeup Amber".
    pub medicine: String,
    /// Beside it, which bottle: "bottle 1". None if none is in the book.
    pub bottle: Option<String>,
    /// What the label must read: "8 mg/mL". None for what has no strength.
    pub must_read: Option<String>,
    /// What it is known to read, where that differs; else the box is left to write into.
    pub it_reads: Option<String>,
    /// What it is measured with: its row's name and words, ("Syringe", "0.3 mL, fixed needle,
    /// 0.005 mL lines").
    pub measure: Option<(String, String)>,
    /// What must hold before it is given, white on black in place of the row's name.
    pub conditions: Vec<Condition>,
    /// The row's name: "Draw to", "Give", "Apply".
    pub act: String,
    /// The mark, or that there is none.
    pub action: Action,
    /// Route, site and side: "under the skin, site B, left side"; of several draws the route.
    pub place: Option<String>,
    /// Beside it, what to do when some is spat out, unless the vet wrote that.
    pub spat_out: Option<String>,
    /// Where each of several draws goes, a box to tick each: "site A, left side".
    pub sites: Vec<String>,
    /// "**46 g** on Wed 7 March, 1 day old"; a tag stands with it.
    pub weight: Phrase,
    /// "due **20:00**, from **14:10** until **02:00** Fri 9 March"; a late dose says LATE here.
    pub when: Phrase,
    /// The marks at other weights; empty where there is none to print.
    pub ladder: Vec<Rung>,
    /// The arithmetic, a sentence a line, for a second person to check.
    pub working: Vec<String>,
    /// What the checks said, the gravest first.
    pub cautions: Vec<Caution>,
    /// What the vet wrote.
    pub vet_words: Vec<VetWords>,
}

/// A bar across the top of a panel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Alarm {
    /// Black: "STOP. Wrong strength in hand: call 555 0134".
    Stop {
        /// "Wrong strength in hand".
        what: String,
        /// The vet's number, as the prescription has it.
        phone: String,
    },
    /// Black, with boxes to write the call into: "CALL FIRST 555 0134: Nubbet weighs 12 percent
    /// less".
    Call {
        /// "Nubbet weighs 12 percent less".
        what: String,
        /// The vet's number, as the prescription has it.
        phone: String,
        /// Beside the boxes: "**50 g** on Mon 5 March, **44 g** today".
        measured: Phrase,
    },
    /// White with a thick edge: "Weigh now; then read the ladder".
    First {
        /// What is to be done first.
        what: String,
    },
}

/// What to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// Measure to a mark.
    Mark(Mark),
    /// Do as the vet wrote: an application, which has no mark. Without quotation marks.
    Words(String),
    /// Nothing: no mark.
    NoMark {
        /// Beside NO MARK: "draw nothing from bottle 4".
        why: String,
        /// Prints boxes for what the vet says by phone.
        ask_vet: bool,
    },
}

/// The largest thing on the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Before the figure: "line" on an insulin scale.
    pub before: Option<String>,
    /// "0.075"; of a tablet "half".
    pub figure: String,
    /// "mL"; "tablet"; none on an insulin scale.
    pub unit: Option<String>,
    /// Below the figure, in bold: "on the U-100 syringe (0.075 mL)".
    pub below: Option<String>,
    /// Several equal draws: "4 draws, each to this mark, each at its own site".
    pub draws: Option<String>,
    /// The syringe's scale, for the drawing and the count of lines; none for a tablet or a paste.
    pub scale: Option<Scale>,
}

/// What must hold before a dose is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Condition {
    /// "only after the call", and a dashed frame round the mark.
    AfterCall,
    /// "weigh first".
    AfterWeighing,
    /// "not before 14:10".
    NotBefore(String),
    /// "LATE".
    Late,
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AfterCall => f.write_str("only after the call"),
            Self::AfterWeighing => f.write_str("weigh first"),
            Self::NotBefore(time) => write!(f, "not before {time}"),
            Self::Late => f.write_str("LATE"),
        }
    }
}

/// One row of the ladder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rung {
    /// "43 to 44 g".
    pub weights: String,
    /// "0.07 mL"; none prints "no mark".
    pub mark: Option<String>,
    /// This weight would mean CALL.
    pub call: bool,
    /// Whether it is the row of the weight in the book.
    pub here: Option<Here>,
}

impl Rung {
    /// Its lowest weight: "43 g".
    pub fn first_weight(&self) -> String {
        match self.weights.split_once(" to ") {
            Some((first, _)) => format!("{first} g"),
            None => self.weights.clone(),
        }
    }

    /// Its highest weight: "44 g".
    pub fn last_weight(&self) -> String {
        let last = self.weights.split_once(" to ").map(|(_, last)| last);
        last.unwrap_or(&self.weights).to_owned()
    }
}

/// How the row of the weight in the book is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Here {
    /// "today", and a frame round the row: it is the row of the mark.
    Today,
    /// "old weight": there is no mark by it.
    OldWeight,
}

/// How grave a caution is; the word is printed, the weight of the type repeats it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// "Stop."
    Stop,
    /// "No mark."
    NoMark,
    /// "Call."
    Call,
    /// "Caution."
    Caution,
    /// "Note."
    Note,
}

/// A check that spoke.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// How grave it is.
    pub weight: Weight,
    /// What was measured, the limit, whose limit it is, what to do next: "Discard bottle 1 after
    /// 10 March (your vet's limit)".
    pub words: String,
}

/// What the vet wrote, printed in quotation marks and in a face that nothing else uses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VetWords {
    /// The form's own words before the quotation and its colon, in plain type: "Stop and call if".
    /// May be empty.
    pub lead: String,
    /// The vet's words, without quotation marks.
    pub words: String,
}
