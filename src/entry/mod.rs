//! What happened, as data.
//!
//! Promises that an entry is a plain value which can be compared and printed. Deliberately knows
//! nothing of files or databases: keeping entries is the book's work, and making sense of them
//! together is the ledger's.

pub mod code;
mod happening;
mod observation;
mod outcome;
pub mod row;
mod signed;

pub use code::short_code;
pub use happening::{
    BottleEnd, Confirmation, Correction, DoseRecord, End, Entered, Entry, EntryError, FollowUpDone,
    Happening, Instruction, Left, MarkThen, Order, Stamp, Subject, Thaw, Weighed,
};
pub use observation::{About, Observation};
pub use outcome::{Ending, Outcome};
pub use row::{NewRow, Row, Stretch};
pub use signed::Signed;
