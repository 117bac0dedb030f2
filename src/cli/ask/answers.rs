//! The answers so far, in the order in which they were given.
//!
//! Promises: an answer that was taken back is remembered, to be offered again, and counts for
//! nothing until it is given again. Whether an answer is any good is judged in `draft`.

use crate::cli::ask::plan::Key;
use std::collections::BTreeMap;

/// Every answer given and not taken back.
#[derive(Clone, Debug, Default)]
pub(super) struct Answers {
    given: Vec<(Key, String)>,
    taken_back: BTreeMap<Key, String>,
}

impl Answers {
    /// The answer to a question; empty where the vet wrote nothing about it.
    pub fn get(&self, key: Key) -> Option<&str> {
        let mut given = self.given.iter();
        given
            .find(|(answered, _)| *answered == key)
            .map(|(_, answer)| answer.as_str())
    }

    /// The answer to a question, if there was one and it was not empty.
    pub fn filled(&self, key: Key) -> Option<&str> {
        self.get(key).filter(|answer| !answer.is_empty())
    }

    /// Takes the answer to the next question.
    pub fn give(&mut self, key: Key, answer: String) {
        self.given.push((key, answer));
    }

    /// Takes the latest answer back; nothing where there is none.
    pub fn take_back(&mut self) -> Option<Key> {
        let (key, answer) = self.given.pop()?;
        self.taken_back.insert(key, answer);
        Some(key)
    }

    /// Forgets the latest answer, which was not accepted.
    pub fn drop_last(&mut self) {
        self.given.pop();
    }

    /// What was answered before it was taken back.
    pub fn before(&self, key: Key) -> Option<&str> {
        self.taken_back.get(&key).map(String::as_str)
    }

    /// The animals, by their full names.
    pub fn animals(&self) -> Vec<&str> {
        // Names are kept with a line break between them, which no name can hold.
        let names = self.get(Key::Animals).unwrap_or_default();
        names.lines().collect()
    }

    /// Every answer that is not empty, with its question.
    pub fn all(&self) -> impl Iterator<Item = (Key, &str)> {
        let given = self
            .given
            .iter()
            .map(|(key, answer)| (*key, answer.as_str()));
        given.filter(|(_, answer)| !answer.is_empty())
    }
}
