//! Waiting for one's turn at the book.
//!
//! Promises: whoever waits looks again often and at odd moments for as long as the patience lasts,
//! so that nobody is passed over for long by others who come and go. SQLite's own wait soon looks
//! ten times a second only, and of eight people who type without a pause somebody then finds the
//! book taken each time, for ten seconds on end. Deliberately keeps no queue: none could be kept
//! across machines that share a folder.

use std::collections::hash_map::RandomState;
use std::hash::BuildHasher;
use std::thread;
use std::time::Duration;

use rusqlite::Connection;

/// The longest pause between two looks, in milliseconds. A writing takes about as long.
const LONGEST_PAUSE: u64 = 20;

/// Has a connection wait so long for someone else who is using the book.
pub(super) fn wait(conn: &mut Connection, patience: Duration) -> rusqlite::Result<()> {
    // The keys of a hash are the one source of chance that comes with the language. A book reads no
    // clock: what counts is how long was paused.
    let chance = RandomState::new();
    let mut waited = Duration::ZERO;
    conn.busy_handler(Some(move |looks: i32| {
        if looks == 0 {
            waited = Duration::ZERO;
        }
        let left = patience.saturating_sub(waited);
        let pause = Duration::from_millis(1 + chance.hash_one((looks, waited)) % LONGEST_PAUSE);
        thread::sleep(pause.min(left));
        waited += pause;
        !left.is_zero()
    }))
}
