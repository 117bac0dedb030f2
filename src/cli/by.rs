//! The initials of whoever records something.
//!
//! Promises: they are kept as typed, without anything that cannot be seen. They prove nothing.

use crate::cli::animal::clean;
use crate::cli::failure::Failure;

/// Who records it.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct By {
    /// Your initials
    #[arg(long, value_name = "INITIALS")]
    by: Option<String>,
}

impl By {
    /// The initials, if any were given.
    pub fn initials(&self) -> Result<Option<String>, Failure> {
        self.by
            .as_deref()
            .map(|by| clean("the initials", by))
            .transpose()
    }
}
