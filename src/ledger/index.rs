//! Where things stand in a ledger, so that none is looked for from end to end.
//!
//! Promises: it finds just what a look at each thing in turn would find, in the same order.
//! Deliberately knows names and places alone.

use crate::ledger::Script;
use crate::notation::fold::{Sought, fold, slip_letters};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::Bound;

/// Where animals, prescriptions and bottles stand.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    /// Animals by their names as they stand; of two of one name the first.
    animals: HashMap<String, usize>,
    /// Prescriptions by the folded name of each animal they name.
    for_animal: HashMap<String, Vec<usize>>,
    /// Prescriptions by reference.
    by_reference: HashMap<String, Vec<usize>>,
    /// Bottles by the folded name of their medicine.
    of_medicine: HashMap<String, Vec<usize>>,
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

    /// Notes a bottle that comes next.
    pub(super) fn bottle(&mut self, medicine: &str, place: usize) {
        self.of_medicine
            .entry(fold(medicine))
            .or_default()
            .push(place);
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

    /// The places of the bottles of a medicine with these folded names, in order.
    pub(super) fn bottles_of(&self, folded: &[String]) -> Vec<usize> {
        let of_each = folded.iter().filter_map(|name| self.of_medicine.get(name));
        let mut places: Vec<usize> = of_each.flatten().copied().collect();
        places.sort_unstable();
        places.dedup();
        places
    }

    /// The places of the animals whose names are easily taken for this one, in order.
    pub(super) fn alike(&self, name: &str) -> Vec<usize> {
        self.names.alike(name)
    }
}

/// Names by what rules most of them out at a glance.
#[derive(Clone, Debug, Default)]
pub struct Names {
    /// The folded names.
    known: Vec<String>,
    /// By what is seen of them at a glance: numbered names have the same few letters.
    at_a_glance: BTreeMap<Glance, Vec<usize>>,
    /// By the folded name.
    sorted: BTreeMap<String, Vec<usize>>,
    /// How long the folded names are, in bytes.
    lengths: BTreeSet<usize>,
}

/// What is seen of a name at a glance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Glance {
    letters: usize,
    /// How often each letter is there, a few letters to a place: up to four bits in a place, so
    /// that a letter more or less is a bit more or less, or none.
    counts: [u64; 2],
}

impl Glance {
    fn at(folded: &str) -> Glance {
        let mut glance = Glance {
            letters: 0,
            counts: [0; 2],
        };
        for c in folded.chars() {
            glance.letters += 1;
            let (half, place) = (u32::from(c) / 16 % 2, u32::from(c) % 16 * 4);
            if let Some(counts) = glance.counts.get_mut(half as usize) {
                let count = (*counts >> place) & 0b1111;
                *counts |= (((count << 1) | 1) & 0b1111) << place;
            }
        }
        glance
    }

    /// Whether the letters leave it open that one is a slip for the other: each letter that is
    /// changed takes one away and brings one in.
    fn may_be_near(self, other: Glance) -> bool {
        let most = slip_letters(self.letters.max(other.letters));
        let mut apart = 0;
        for (a, b) in self.counts.into_iter().zip(other.counts) {
            apart += (a ^ b).count_ones();
            if apart as usize > 2 * most {
                return false;
            }
        }
        self.letters.abs_diff(other.letters) <= most
    }
}

impl Names {
    /// Notes the name that comes next.
    pub fn add(&mut self, name: &str) {
        let folded = fold(name);
        let place = self.known.len();
        self.at_a_glance
            .entry(Glance::at(&folded))
            .or_default()
            .push(place);
        self.lengths.insert(folded.len());
        self.sorted.entry(folded.clone()).or_default().push(place);
        self.known.push(folded);
    }

    /// The places of the names that are easily taken for this one, in order.
    #[must_use]
    pub fn alike(&self, name: &str) -> Vec<usize> {
        let own = fold(name);
        let mut places: Vec<usize> = self.near(&own).chain(self.beginnings(&own)).collect();
        places.sort_unstable();
        places.dedup();
        places.shrink_to_fit();
        places
    }

    /// Whether any of them is easily taken for this one.
    #[must_use]
    pub fn any_alike(&self, name: &str) -> bool {
        let own = fold(name);
        self.near(&own).next().is_some() || self.beginnings(&own).next().is_some()
    }

    /// The places of the names that may be a slip for this one.
    fn near(&self, own: &str) -> impl Iterator<Item = usize> {
        let (glance, sought) = (Glance::at(own), Sought::new(own));
        let groups = self.at_a_glance.iter();
        let groups = groups.filter(move |(other, _)| other.may_be_near(glance));
        let places = groups.flat_map(|(_, places)| places.iter().copied());
        places.filter(move |place| {
            let known = self.known.get(*place);
            known.is_some_and(|known| sought.is_alike(known))
        })
    }

    /// The places of the names that begin with this one, or that this one begins with.
    fn beginnings(&self, own: &str) -> impl Iterator<Item = usize> {
        let from = (Bound::Excluded(own), Bound::Unbounded);
        let longer = self.sorted.range::<str, _>(from);
        let longer = longer.take_while(move |(other, _)| !own.is_empty() && other.starts_with(own));
        let lengths = self.lengths.range(1..own.len().max(1));
        let shorter = lengths.filter_map(|length| self.sorted.get(own.get(..*length)?));
        let both = longer.map(|(_, places)| places).chain(shorter);
        both.flatten().copied()
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
