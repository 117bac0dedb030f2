//! What is said of a command line that cannot be read: a command, a flag or a value that does not
//! exist, or one that is wanting.
//!
//! Promises: one breath, in the words of the other messages, with the nearest name or where to look
//! next. It reads nothing itself: what is wrong was found by whoever read the line.

use clap::error::{ContextKind, ContextValue, ErrorKind};

/// What is wrong and what to do next; nothing where there are no words of our own for it.
pub(super) fn said(error: &clap::Error) -> Option<String> {
    let words = match error.kind() {
        ErrorKind::InvalidSubcommand => {
            let typed = first(error, ContextKind::InvalidSubcommand)?;
            let next = nearest(error, ContextKind::SuggestedSubcommand)
                .unwrap_or_else(|| format!("'{} --help' lists them", command(error)));
            format!("there is no command '{typed}' here: {next}")
        }
        ErrorKind::UnknownArgument => {
            let typed = first(error, ContextKind::InvalidArg)?;
            if typed.starts_with('-') {
                let next = nearest(error, ContextKind::SuggestedArg)
                    .unwrap_or_else(|| format!("'{} --help' lists them", command(error)));
                format!("there is no '{typed}' here: {next}")
            } else {
                format!(
                    "'{typed}' is a word too many: put what belongs together in quotation marks, as in \"34.5 g\"; '{} --help' has examples",
                    command(error)
                )
            }
        }
        ErrorKind::InvalidValue => {
            let (typed, to) = (
                first(error, ContextKind::InvalidValue)?,
                first(error, ContextKind::InvalidArg)?,
            );
            let known = all(error, ContextKind::ValidValue);
            match (typed.is_empty(), known.is_empty()) {
                (true, true) => format!("nothing stands after {to}: write it there"),
                (true, false) => {
                    format!("nothing stands after {to}: write {}", any(&known))
                }
                (false, _) => format!("'{typed}' is not accepted for {to}: write {}", any(&known)),
            }
        }
        ErrorKind::ValueValidation => format!(
            "'{}' is not accepted for {}: write a whole number, such as the command's --help names",
            first(error, ContextKind::InvalidValue)?,
            first(error, ContextKind::InvalidArg)?
        ),
        ErrorKind::MissingRequiredArgument
        | ErrorKind::TooFewValues
        | ErrorKind::WrongNumberOfValues => format!(
            "something is missing: {}. '{} --help' has examples",
            all(error, ContextKind::InvalidArg).join(", "),
            command(error)
        ),
        ErrorKind::ArgumentConflict => {
            let (one, other) = (
                first(error, ContextKind::InvalidArg)?,
                all(error, ContextKind::PriorArg),
            );
            if other.is_empty() || other.contains(&one) {
                format!("{one} is written more than once: write it once")
            } else {
                format!(
                    "{one} does not go together with {}: write one without the other",
                    other.join(", ")
                )
            }
        }
        ErrorKind::InvalidUtf8 => {
            "what was typed cannot be read as text: type it afresh instead of pasting it".to_owned()
        }
        _ => return None,
    };
    Some(words)
}

/// What the line was found to hold of this kind, as it is typed: without the brackets of a manual.
fn all(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    let plain = |text: &String| text.replace(['<', '>', '[', ']'], "").replace("...", "");
    match error.get(kind) {
        Some(ContextValue::String(text)) => vec![plain(text)],
        Some(ContextValue::Strings(texts)) => texts.iter().map(plain).collect(),
        _ => Vec::new(),
    }
}

fn first(error: &clap::Error, kind: ContextKind) -> Option<String> {
    all(error, kind).into_iter().next()
}

/// "did you mean 'weigh'?"
fn nearest(error: &clap::Error, kind: ContextKind) -> Option<String> {
    let near = first(error, kind)?;
    Some(format!("did you mean '{near}'?"))
}

/// "just-fed, gravid or wet"
fn any(known: &[String]) -> String {
    match known.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} or {last}", before.join(", ")),
        None => "what its help says".to_owned(),
    }
}

/// The command that was typed, "scruple bottle open", from its usage.
fn command(error: &clap::Error) -> String {
    let Some(ContextValue::StyledStr(usage)) = error.get(ContextKind::Usage) else {
        return "scruple".to_owned();
    };
    let usage = usage.to_string();
    let words = usage
        .split_whitespace()
        .skip_while(|word| *word != "scruple");
    let names: Vec<&str> = words
        .take_while(|word| word.starts_with(|c: char| c.is_ascii_lowercase()))
        .collect();
    if names.is_empty() {
        "scruple".to_owned()
    } else {
        names.join(" ")
    }
}
