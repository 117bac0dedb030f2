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
    letters: u64,
    length: usize,
}

impl Names {
    /// Notes the name that comes next.
    pub fn add(&mut self, name: &str) {
        let folded = fold(name);
        self.known.push(Known {
            name: name.to_owned(),
            folded: folded.clone(),
            letters: letters(&folded),
            length: folded.chars().count(),
        });
        let places = self.sorted.entry(folded).or_default();
        places.push(self.known.len() - 1);
    }

    /// The places of the names that are easily taken for this one, in order.
    #[must_use]
    pub fn alike(&self, name: &str) -> Vec<usize> {
        let folded = fold(name);
        let (own, length) = (letters(&folded), folded.chars().count());
        let near = self.known.iter().enumerate().filter(|(_, known)| {
            // Each letter changed takes one kind away and brings one in.
            known.length.abs_diff(length) <= SLIP_LETTERS
                && (known.letters ^ own).count_ones() as usize <= 2 * SLIP_LETTERS
        });
        let mut places: Vec<usize> = near.map(|(place, _)| place).collect();
        let longer = self.sorted.range(folded.clone()..);
        let longer = longer.take_while(|(other, _)| other.starts_with(&folded));
        places.extend(longer.flat_map(|(_, places)| places));
        for (end, _) in folded.char_indices() {
            let beginning = folded.get(..end).unwrap_or_default();
            places.extend(self.sorted.get(beginning).into_iter().flatten());
        }
        places.sort_unstable();
        places.dedup();
        places
            .retain(|place| (self.known.get(*place)).is_some_and(|known| alike(&known.name, name)));
        places
    }
}

impl Names {
    /// Whether any of them is easily taken for this one; quicker where they are few.
    #[must_use]
    pub fn any_alike(&self, name: &str) -> bool {
        let folded = fold(name);
        let (own, length) = (letters(&folded), folded.chars().count());
        self.known.iter().any(|known| {
            let near = known.length.abs_diff(length) <= SLIP_LETTERS
                && (known.letters ^ own).count_ones() as usize <= 2 * SLIP_LETTERS;
            let begins = || {
                folded.starts_with(known.folded.as_str())
                    || known.folded.starts_with(folded.as_str())
            };
            (near || begins()) && alike(&known.name, name)
        })
    }
}

/// A bit for each letter that is there.
fn letters(folded: &str) -> u64 {
    folded
        .chars()
        .fold(0, |letters, c| letters | 1 << (u32::from(c) % 64))
}

#[cfg(test)]
mod tests {
    use super::Names;
    use crate::notation::fold::alike;

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
