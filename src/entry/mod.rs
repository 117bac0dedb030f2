//! What happened, as data.
//!
//! Promises that an entry is a plain value which can be compared and printed. Deliberately knows
//! nothing of files or databases: keeping entries is the book's work, and making sense of them
//! together is the ledger's.

pub mod code;
pub mod row;

pub use code::short_code;
pub use row::{NewRow, Row};
