//! Where a dose went in, as a person types it, held against the vet's sites.
//!
//! Promises: a site that the vet named is kept in the vet's words, so that the turn of the sites
//! goes on from it; one that is none of them is kept as typed, and that is said, since what has
//! happened can always be recorded.

use crate::cli::failure::Failure;
use crate::notation::fold::{near_miss, same};
use crate::prescription::{Prescription, Route};
use crate::round::say;

/// The site to record, and what is to be said about it first.
pub(super) fn site(
    prescription: &Prescription,
    typed: &str,
) -> Result<(String, Option<String>), Failure> {
    if !matches!(prescription.route, Route::Injection(_)) {
        return Err(Failure::not_accepted(format!(
            "{} is given {}, so it has no site: leave --site out, and use --note for anything to add",
            prescription.medicine.name,
            prescription.route.words()
        )));
    }
    let known: Vec<String> = prescription.sites.iter().map(|site| site.words()).collect();
    let wanted = plain(typed);
    let whole = known.iter().find(|site| same_words(&plain(site), &wanted));
    // A part is enough where it can only be one of them.
    let part: Vec<&String> = known
        .iter()
        .filter(|site| {
            let site = plain(site);
            wanted.iter().all(|word| site.iter().any(|w| same(w, word)))
        })
        .collect();
    if let Some(site) = whole {
        return Ok((site.clone(), None));
    }
    match part.as_slice() {
        _ if known.is_empty() => Ok((typed.to_owned(), None)),
        [only] => Ok(((*only).clone(), None)),
        [] => {
            let near: Vec<&String> = known.iter().filter(|site| near_miss(site, typed)).collect();
            match near.first() {
                Some(near) => Err(Failure::not_accepted(format!(
                    "'{typed}' is none of your vet's sites; did you mean {near}? Write it as your vet did"
                ))),
                None => Ok((typed.to_owned(), Some(other(&known, typed)))),
            }
        }
        several => Err(Failure::not_accepted(format!(
            "'{typed}' could be {}: write which one",
            several
                .iter()
                .map(|site| site.as_str())
                .collect::<Vec<_>>()
                .join(" or ")
        ))),
    }
}

fn other(known: &[String], typed: &str) -> String {
    let sites: Vec<String> = known.iter().map(|known| say::site(known)).collect();
    format!(
        "'{typed}' is none of your vet's sites ({}); it is recorded as you wrote it. If it went in where it should not have, call.",
        sites.join("; ")
    )
}

/// The words of a site, without what only joins them.
fn plain(site: &str) -> Vec<String> {
    site.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty() && !same(word, "site") && !same(word, "side"))
        .map(str::to_owned)
        .collect()
}

fn same_words(one: &[String], other: &[String]) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
}
