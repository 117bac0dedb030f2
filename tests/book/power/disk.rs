//! A disk that keeps what was synced, and of the rest whatever chance leaves.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::dice::Dice;
use crate::power::record::Event;

/// What the drive writes whole or not at all. SQLite and the makers of drives count on no more.
const SECTOR: usize = 512;

/// The content of one file: what is durable, and what was asked for since.
#[derive(Default)]
struct Content {
    durable: Vec<u8>,
    pending: Vec<Pending>,
}

enum Pending {
    Write { at: usize, bytes: Vec<u8> },
    Size(usize),
}

/// One folder on the disk.
pub struct Disk {
    files: BTreeMap<usize, Content>,
    names: BTreeMap<String, usize>,
    /// Changes of names since the folder was synced; those of one entry happen together.
    pending: Vec<Vec<(String, Option<usize>)>>,
    /// Files from before, until the record meets them: numbered from the other end.
    before: BTreeMap<String, usize>,
}

impl Disk {
    pub fn holding(before: &BTreeMap<String, Vec<u8>>) -> Self {
        let mut disk = Self {
            files: BTreeMap::new(),
            names: BTreeMap::new(),
            pending: Vec::new(),
            before: BTreeMap::new(),
        };
        for (i, (name, content)) in before.iter().enumerate() {
            let file = usize::MAX - i;
            let durable = content.clone();
            let pending = Vec::new();
            disk.files.insert(file, Content { durable, pending });
            disk.names.insert(name.clone(), file);
            disk.before.insert(name.clone(), file);
        }
        disk
    }

    /// Does one step.
    pub fn take(&mut self, event: &Event) {
        match event {
            Event::Made { name, file } | Event::Met { name, file } => {
                match self.before.remove(name) {
                    Some(old) => {
                        let content = self.files.remove(&old).unwrap();
                        self.files.insert(*file, content);
                        for known in self.names.values_mut().filter(|known| **known == old) {
                            *known = *file;
                        }
                        for (_, known) in self.pending.iter_mut().flatten() {
                            if *known == Some(old) {
                                *known = Some(*file);
                            }
                        }
                    }
                    None => {
                        assert!(
                            matches!(event, Event::Made { .. }),
                            "{name} came from nowhere"
                        );
                        self.files.insert(*file, Content::default());
                        self.pending.push(vec![(name.clone(), Some(*file))]);
                    }
                }
            }
            Event::Wrote { file, at, bytes } => {
                let write = Pending::Write {
                    at: *at,
                    bytes: bytes.clone(),
                };
                self.files.get_mut(file).unwrap().pending.push(write);
            }
            Event::Sized { file, to } => {
                let content = self.files.get_mut(file).unwrap();
                content.pending.push(Pending::Size(*to));
            }
            Event::Synced { file } => self.files.get_mut(file).unwrap().sync(),
            Event::FolderSynced => {
                for (name, file) in std::mem::take(&mut self.pending).into_iter().flatten() {
                    name_it(&mut self.names, name, file);
                }
            }
            Event::Removed { name } => {
                self.before.remove(name);
                self.pending.push(vec![(name.clone(), None)]);
            }
            Event::Renamed { from, to } => {
                let file = self.now_called(from);
                self.before.remove(from);
                self.before.remove(to);
                let change = vec![(from.clone(), None), (to.clone(), file)];
                self.pending.push(change);
            }
            Event::Said(_) => {}
        }
    }

    fn now_called(&self, name: &str) -> Option<usize> {
        let newest = (self.pending.iter().flatten().rev()).find(|(known, _)| known == name);
        newest.map_or_else(|| self.names.get(name).copied(), |(_, file)| *file)
    }

    /// The power goes. Puts what is then found on the disk into `folder`, and says how chance was
    /// used.
    pub fn lose_power(mut self, dice: &mut Dice, folder: &Path) -> String {
        let luck = [
            Luck::Nothing,
            Luck::Everything,
            Luck::Half,
            Luck::Half,
            Luck::Half,
        ][usize::try_from(dice.below(5)).unwrap()];
        let names =
            [Luck::Nothing, Luck::Everything, Luck::Half][usize::try_from(dice.below(3)).unwrap()];
        for change in std::mem::take(&mut self.pending) {
            if names.holds(dice) {
                for (name, file) in change {
                    name_it(&mut self.names, name, file);
                }
            }
        }
        for (name, file) in &self.names {
            let content = self.files[file].after_a_cut(luck, dice);
            fs::write(folder.join(name), content).unwrap();
        }
        format!("content {luck:?}, names {names:?}")
    }
}

fn name_it(names: &mut BTreeMap<String, usize>, name: String, file: Option<usize>) {
    match file {
        Some(file) => names.insert(name, file),
        None => names.remove(&name),
    };
}

/// How much of what was not synced reached the disk.
#[derive(Debug, Clone, Copy)]
enum Luck {
    Nothing,
    Everything,
    Half,
}

impl Luck {
    fn holds(self, dice: &mut Dice) -> bool {
        match self {
            Self::Nothing => false,
            Self::Everything => true,
            Self::Half => dice.below(2) == 0,
        }
    }
}

impl Content {
    fn sync(&mut self) {
        for pending in std::mem::take(&mut self.pending) {
            match pending {
                Pending::Write { at, bytes } => put(&mut self.durable, at, &bytes),
                Pending::Size(to) => self.durable.resize(to, 0),
            }
        }
    }

    fn after_a_cut(&self, luck: Luck, dice: &mut Dice) -> Vec<u8> {
        let mut found = self.durable.clone();
        for pending in &self.pending {
            match pending {
                Pending::Size(to) => {
                    if luck.holds(dice) {
                        found.resize(*to, 0);
                    }
                }
                Pending::Write { at, bytes } => {
                    let (mut at, mut rest) = (*at, bytes.as_slice());
                    while !rest.is_empty() {
                        let (part, after) = rest.split_at(rest.len().min(SECTOR - at % SECTOR));
                        if luck.holds(dice) {
                            put(&mut found, at, part);
                        } else if at + part.len() > found.len() && luck.holds(dice) {
                            // The file grew, and what it grew by holds what was there before.
                            let stale: Vec<u8> =
                                part.iter().map(|_| dice.below(256) as u8).collect();
                            put(&mut found, at, &stale);
                        }
                        at += part.len();
                        rest = after;
                    }
                }
            }
        }
        found
    }
}

fn put(content: &mut Vec<u8>, at: usize, bytes: &[u8]) {
    if content.len() < at + bytes.len() {
        content.resize(at + bytes.len(), 0);
    }
    content[at..at + bytes.len()].copy_from_slice(bytes);
}
