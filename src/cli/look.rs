//! `scruple` alone: the morning look.
//!
//! Promises: it only reads; where there is no book yet it says how to begin.

use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::round::morning;
use crate::{json, terminal};

/// Looks at what waits.
pub(super) fn look(desk: &mut Desk) -> Result<Done, Failure> {
    if !desk.book_path()?.exists() {
        return no_book(desk);
    }
    let open = desk.open_for_today()?;
    let demonstration = open.settings.demonstration;
    let seen = morning(&open.ledger, &open.settings, open.zone, open.now);
    let seen = seen.map_err(Failure::failed)?;
    if desk.json() {
        let common = desk.common();
        desk.say(json::morning(&seen, demonstration, &common))?;
        return Ok(Done::Well);
    }
    desk.banner(demonstration)?;
    desk.say(terminal::morning(&seen, &desk.common()))?;
    Ok(Done::Well)
}

fn no_book(desk: &mut Desk) -> Result<Done, Failure> {
    let common = desk.common();
    let begin = format!("scruple begin{common}");
    let words = format!("There is no book yet at {}", desk.book_path()?.display());
    if desk.json() {
        desk.say(json::no_book(&words, &[begin]))?;
        return Ok(Done::Well);
    }
    desk.say(format!("{words}."))?;
    desk.say("To begin one, with your scale's smallest step:")?;
    desk.say(format!("  {begin} --scale WEIGHT"))?;
    desk.say("To try scruple out first, in an invented room:")?;
    desk.say("  scruple demo")?;
    Ok(Done::Well)
}
