//! Something with the initials of whoever recorded it.
//!
//! Promises: the initials stand beside the thing in its text, so that an entry without any reads as
//! it always did. They are what a person typed, no proof of who it was.

use serde::{Deserialize, Serialize};

/// A thing and who recorded it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signed<T> {
    /// The thing.
    #[serde(flatten)]
    pub what: T,
    /// Initials, where they were given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

impl<T> Signed<T> {
    /// The thing, recorded by whoever has these initials.
    pub const fn new(what: T, by: Option<String>) -> Signed<T> {
        Signed { what, by }
    }
}
