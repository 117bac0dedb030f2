//! Where things stand in a ledger, so that none is looked for from end to end.
//!
//! Promises: it finds just what a look at each thing in turn would find, in the same order.
//! Deliberately knows names and places alone.

use crate::ledger::Script;
use crate::notation::fold::{SLIP_LETTERS, alike, fold};
use std::collections::{BTreeMap, HashMap};

/// Where animals and prescriptions stand.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    /// Animals by their names as they stand; of two of one name the first.
    animals: HashMap<String, usize>,
    /// Prescriptions by the folded name of each animal they name.
    for_animal: HashMap<String, Vec<usize>>,
    /// Prescriptions by reference.
    by_reference: HashMap<String, Vec<usize>>,
    names: Names,
}

impl Index {
    /// Notes an animal that comes next.
    pub(super) fn animal(&mut self, name: &str, place: usize) {
        self.animals.entry(name.to_owned()).or_insert(place);
        self.names.add(name);
    }

    /// Notes a prescription that comes next.
    pub(super) fn script(&mut self, script: &Script, place: usize) {
        let prescription = &script.prescription;
        for name in &prescription.animals {
            let places = self.for_animal.entry(fold(name)).or_default();
            if places.last() != Some(&place) {
                places.push(place);
            }
        }
        let reference = prescription.reference.clone();
        self.by_reference.entry(reference).or_default().push(place);
    }

    /// The place of the animal of just this name.
    pub(super) fn place_of(&self, name: &str) -> Option<usize> {
        self.animals.get(name).copied()
    }

    /// The places of the prescriptions that name an animal, in order.
    pub(super) fn scripts_for(&self, animal: &str) -> &[usize] {
        self.for_animal
            .get(&fold(animal))
            .map_or(&[], Vec::as_slice)
    }

    /// The places of the prescriptions of this reference, in order.
    pub(super) fn scripts_called(&self, reference: &str) -> &[usize] {
        self.by_reference.get(reference).map_or(&[], Vec::as_slice)
    }

    /// The places of the animals whose names are easily taken for this one, in order.
    pub(super) fn alike(&self, name: &str) -> Vec<usize> {
        self.names.alike(name)
    }
}

/// Names by what rules most of them out at a glance.
#[derive(Clone, Debug, Default)]
pub struct Names {
    known: Vec<Known>,
    /// By the folded name.
    sorted: BTreeMap<String, Vec<usize>>,
}

#[derive(Clone, Debug)]
struct Known {
    name: String,
    folded: String,
    length: usize,
    letters: Letters,
}

/// How often each letter is there, a few letters to a place.
type Letters = [u8; 32];

impl Known {
    fn new(name: &str) -> Known {
        let folded = fold(name);
        let mut letters = [0_u8; 32];
        let mut length = 0;
        for c in folded.chars() {
            length += 1;
            if let Some(count) = letters.get_mut(u32::from(c) as usize % 32) {
                *count = count.saturating_add(1);
            }
        }
        Known {
            name: name.to_owned(),
            folded,
            length,
            letters,
        }
    }

    /// Whether the letters leave it open that one is a slip for the other: each letter that is
    /// changed takes one away and brings one in.
    fn may_be_near(&self, other: &Known) -> bool {
        let apart = self.letters.iter().zip(&other.letters);
        let apart: u32 = apart.map(|(a, b)| u32::from(a.abs_diff(*b))).sum();
        apart as usize <= 2 * SLIP_LETTERS && self.length.abs_diff(other.length) <= SLIP_LETTERS
    }

    fn may_begin_alike(&self, other: &Known) -> bool {
        let (a, b) = (self.folded.as_str(), other.folded.as_str());
        a.starts_with(b) || b.starts_with(a)
    }
}

impl Names {
    /// Notes the name that comes next.
    pub fn add(&mut self, name: &str) {
        let known = Known::new(name);
        let places = self.sorted.entry(known.folded.clone()).or_default();
        places.push(self.known.len());
        self.known.push(known);
    }

    /// The places of the names that are easily taken for this one, in order.
    #[must_use]
    pub fn alike(&self, name: &str) -> Vec<usize> {
        let own = Known::new(name);
        let near = self.known.iter().enumerate();
        let near = near.filter(|(_, known)| known.may_be_near(&own));
        let mut places: Vec<usize> = near.map(|(place, _)| place).collect();
        let longer = self.sorted.range(own.folded.clone()..);
        let longer = longer.take_while(|(other, _)| other.starts_with(&own.folded));
        places.extend(longer.flat_map(|(_, places)| places));
        for (end, _) in own.folded.char_indices() {
            let beginning = own.folded.get(..end).unwrap_or_default();
            places.extend(self.sorted.get(beginning).into_iter().flatten());
        }
        places.sort_unstable();
        places.dedup();
        let is_alike = |place: &usize| {
            let known = self.known.get(*place);
            known.is_some_and(|known| alike(&known.name, name))
        };
        places.retain(is_alike);
        places
    }

    /// Whether any of them is easily taken for this one; quicker where they are few.
    #[must_use]
    pub fn any_alike(&self, name: &str) -> bool {
        let own = Known::new(name);
        let mut all = self.known.iter();
        all.any(|known| {
            (known.may_be_near(&own) || known.may_begin_alike(&own)) && alike(&known.name, name)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::Names;
    use crate::notation::fold::alike;

    /// One is the beginning of the other, and too much shorter to be a slip for it.
    #[test]
    fn a_beginning_is_alike_whichever_came_first() {
        for (known, name) in [("Nubbetina", "Nub"), ("Nub", "Nubbetina")] {
            let mut index = Names::default();
            index.add(known);
            assert!(index.any_alike(name), "{name}");
            assert_eq!(index.alike(name), [0], "{name}");
            assert!(!index.any_alike("Quillo"));
        }
    }

    #[test]
    fn the_names_found_are_those_that_a_look_at_each_finds() {
        let names = [
            "Thimblo",
            "Thimbla",
            "Thimb",
            "Thimblos",
            "Nubbet",
            "Nubet",
            "Quillo",
            "Quill",
            "Qilul",
            "",
            "T",
            "ŧhimblo",
            "Thímblo",
            "Ihtmblo",
            "Thimble Longer",
            "Thinble Lonmer",
            "Thom",
            "Abcdefghijkl",
            "Xbcdefyhijkz",
            "Xbcdefyhijkl",
            "bcdefghijklmno",
            "Ąbcdęfghijkl",
        ];
        let mut index = Names::default();
        names.iter().for_each(|name| index.add(name));
        for name in names.iter().chain(&["Thimblö", "Nub", "quil"]) {
            let each = names.iter().enumerate();
            let wanted: Vec<usize> = each
                .filter(|(_, other)| alike(other, name))
                .map(|(place, _)| place)
                .collect();
            assert_eq!(index.alike(name), wanted, "{name}");
            assert_eq!(index.any_alike(name), !wanted.is_empty(), "{name}");
        }
    }
}
