//! The text of a calendar: properties, escapes, folds.
//!
//! Promises: lines end with CR and LF and are at most 75 octets long, folded between characters
//! (RFC 5545, 3.1); text is escaped (3.3.11); every event has UID and DTSTAMP (3.6.1); the same
//! events and moment give the same bytes. Does not: know what an event is about.

use crate::round::say::DEFERRAL;
use crate::schedule::Due;
use chrono::{DateTime, Days, Utc};

/// One thing on a calendar.
pub(super) struct Event {
    pub uid: String,
    pub sequence: u64,
    pub due: Due,
    pub summary: String,
    pub call: String,
    pub reference: String,
    pub kind: Kind,
}

/// Where it stands.
pub(super) enum Kind {
    /// To come: with an alarm.
    Ahead,
    /// Somebody has said what became of it, in words: without one.
    Answered(String),
    /// Not to be done any more.
    Cancelled,
}

/// A whole calendar.
pub(super) fn calendar(events: &[Event], now: DateTime<Utc>) -> String {
    let mut out = String::new();
    let version = env!("CARGO_PKG_VERSION");
    line(&mut out, "BEGIN:VCALENDAR");
    line(&mut out, "VERSION:2.0");
    line(
        &mut out,
        &format!("PRODID:-//scruple//scruple {version}//EN"),
    );
    line(&mut out, "CALSCALE:GREGORIAN");
    line(&mut out, "METHOD:PUBLISH");
    for each in events {
        event(&mut out, each, now);
    }
    line(&mut out, "END:VCALENDAR");
    out
}

fn event(out: &mut String, event: &Event, now: DateTime<Utc>) {
    let look = "Look at today's card first: whether it is still to be given, and how much, stands there and not here.";
    line(out, "BEGIN:VEVENT");
    line(out, &format!("UID:{}", event.uid));
    line(out, &format!("DTSTAMP:{}", utc(now)));
    line(out, &format!("SEQUENCE:{}", event.sequence));
    match event.due {
        Due::At(at) => line(out, &format!("DTSTART:{}", utc(at))),
        Due::On(day) => {
            line(out, &format!("DTSTART;VALUE=DATE:{}", day.format("%Y%m%d")));
            let next = day + Days::new(1);
            line(out, &format!("DTEND;VALUE=DATE:{}", next.format("%Y%m%d")));
        }
    }
    let (status, more) = match &event.kind {
        Kind::Ahead => ("CONFIRMED", String::new()),
        Kind::Answered(what) => ("CONFIRMED", format!(": {what}")),
        Kind::Cancelled => ("CANCELLED", ": not to be given or done any more".to_owned()),
    };
    line(
        out,
        &format!("SUMMARY:{}", text(&format!("{}{more}", event.summary))),
    );
    let description = format!(
        "{look}\n{DEFERRAL}\n{}\nPrescription {}.",
        event.call, event.reference
    );
    line(out, &format!("DESCRIPTION:{}", text(&description)));
    line(out, &format!("STATUS:{status}"));
    line(out, "TRANSP:TRANSPARENT");
    if matches!(event.kind, Kind::Ahead) {
        line(out, "BEGIN:VALARM");
        line(out, "ACTION:DISPLAY");
        // Of a date, at eight in the morning of the reader's own day.
        let trigger = match event.due {
            Due::At(_) => "TRIGGER:PT0S",
            Due::On(_) => "TRIGGER:PT8H",
        };
        line(out, trigger);
        let alarm = format!("{look} {}", event.summary);
        line(out, &format!("DESCRIPTION:{}", text(&alarm)));
        line(out, "END:VALARM");
    }
    line(out, "END:VEVENT");
}

fn utc(at: DateTime<Utc>) -> String {
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

/// Escaped (RFC 5545, 3.3.11); other control characters are left out.
fn text(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// One content line, folded; a line that goes on begins with a space, which counts.
fn line(out: &mut String, content: &str) {
    const MOST: usize = 75;
    let mut octets = 0;
    for c in content.chars() {
        if octets + c.len_utf8() > MOST {
            out.push_str("\r\n ");
            octets = 1;
        }
        out.push(c);
        octets += c.len_utf8();
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_folded_between_characters_at_75_octets() {
        let mut out = String::new();
        line(&mut out, &format!("SUMMARY:{}", "ž".repeat(80)));
        let lines: Vec<&str> = out.split_terminator("\r\n").collect();
        // 8 octets and 33 letters of 2 are 74; one more would be 76.
        assert_eq!(lines.first().map(|line| line.len()), Some(74));
        assert!(lines.iter().all(|line| line.len() <= 75), "{lines:?}");
        assert!(lines.iter().skip(1).all(|line| line.starts_with(' ')));
        assert_eq!(out.replace("\r\n ", "").matches('ž').count(), 80);
    }

    /// RFC 5545, 3.3.11: backslash, semicolon and comma are escaped, a line break is a backslash
    /// and an n.
    #[test]
    fn text_is_escaped() {
        assert_eq!(text("a, b; c\\d\ne\u{7}"), "a\\, b\\; c\\\\d\\ne");
    }
}
