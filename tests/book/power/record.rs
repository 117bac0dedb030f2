//! What a child process did to the files of one folder, as `strace` saw it.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::child::command;

/// One step, in the order the system was asked for it. A file is named by a number that it keeps
/// when its name changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// A new empty file got a name.
    Made { name: String, file: usize },
    /// A file that was there before is known by this number.
    Met { name: String, file: usize },
    /// Bytes were given to the system for a file.
    Wrote {
        file: usize,
        at: usize,
        bytes: Vec<u8>,
    },
    /// A file was cut or stretched.
    Sized { file: usize, to: usize },
    /// A file's content was made durable.
    Synced { file: usize },
    /// The folder's names were made durable.
    FolderSynced,
    /// A name was taken away.
    Removed { name: String },
    /// A file changed its name, over another if there was one.
    Renamed { from: String, to: String },
    /// The child said that an entry was kept.
    Said(String),
}

/// Every call that can change a file or make it durable; calls among them that the model does not
/// know are an error, not a gap.
const CALLS: &str = "openat,open,creat,close,write,writev,pwrite64,pwritev,pwritev2,truncate,\
                     ftruncate,fallocate,fsync,fdatasync,sync,syncfs,sync_file_range,unlink,\
                     unlinkat,rename,renameat,renameat2,link,linkat,symlink,dup,dup2,dup3,\
                     copy_file_range,sendfile,splice,msync";

/// Runs a job on the book at `path` and returns what it did in that folder; none, and a word on
/// it, where there is no strace.
pub fn record(job: &str, path: &Path, who: u64, count: u64) -> Option<Vec<Event>> {
    let child = command(job, path, who, count);
    let log = path.with_extension("strace");
    let mut strace = Command::new("strace");
    strace
        .args(["-f", "-qq", "-xx", "-s", "1000000", "-e"])
        .arg(format!("trace={CALLS}"))
        .arg("-o")
        .arg(&log)
        .arg(child.get_program())
        .args(child.get_args())
        .stdin(Stdio::null());
    for (name, value) in child.get_envs() {
        strace.env(name, value.unwrap());
    }
    let output = match strace.output() {
        Ok(output) if log.exists() => output,
        other => {
            println!("NOT RUN: strace cannot record here ({other:?})");
            return None;
        }
    };
    assert!(output.status.success(), "{output:?}");
    let text = fs::read_to_string(&log).unwrap();
    fs::remove_file(&log).unwrap();
    Some(read(&text, path.parent().unwrap().to_str().unwrap()))
}

/// What a file descriptor stands for.
enum Target {
    File(usize),
    Folder,
}

fn read(text: &str, folder: &str) -> Vec<Event> {
    let mut events = Vec::new();
    let mut open: BTreeMap<u64, Target> = BTreeMap::new();
    let mut names: BTreeMap<String, usize> = BTreeMap::new();
    let mut files = 0;
    for line in text.lines() {
        let call = line.split_once(' ').unwrap().1.trim_start();
        if call.starts_with("+++") || call.starts_with("---") {
            continue;
        }
        assert!(
            !call.contains("<unfinished"),
            "two threads at once: {line:.200}"
        );
        let (name, rest) = call.split_once('(').unwrap();
        let (args, result) = rest.rsplit_once(") ").unwrap();
        let result = result.trim_start().trim_start_matches("= ");
        if result.starts_with('-') {
            continue;
        }
        let result = result.split(' ').next().unwrap();
        let args: Vec<&str> = args.split(", ").collect();
        let paths: Vec<Option<String>> = args
            .iter()
            .filter(|arg| arg.starts_with('"'))
            .map(|arg| String::from_utf8(bytes(arg)).ok())
            .collect();
        let inside = |place: usize| -> Option<String> {
            let path = paths.get(place)?.as_ref()?;
            let name = path.strip_prefix(folder)?;
            Some(name.trim_start_matches('/').to_owned())
        };
        let number = |place: usize| args[place].parse::<u64>().ok();
        let file = |open: &BTreeMap<u64, Target>| match open.get(&number(0)?)? {
            Target::File(file) => Some(*file),
            Target::Folder => None,
        };
        match name {
            "openat" => {
                let handle: u64 = result.parse().unwrap();
                open.remove(&handle);
                let Some(name) = inside(0) else { continue };
                if name.is_empty() {
                    open.insert(handle, Target::Folder);
                    continue;
                }
                let number = *names.entry(name.clone()).or_insert_with(|| {
                    files += 1;
                    let file = files - 1;
                    // Without O_EXCL a file may have been there; the disk knows.
                    events.push(if line.contains("O_CREAT") {
                        Event::Made { name, file }
                    } else {
                        Event::Met { name, file }
                    });
                    file
                });
                assert!(!line.contains("O_TRUNC"), "{line:.200}");
                open.insert(handle, Target::File(number));
            }
            "close" => {
                open.remove(&number(0).unwrap());
            }
            "pwrite64" => {
                if let Some(file) = file(&open) {
                    let bytes = bytes(args[1]);
                    assert_eq!(bytes.len().to_string(), result, "a write fell short");
                    let at = usize::try_from(number(3).unwrap()).unwrap();
                    events.push(Event::Wrote { file, at, bytes });
                }
            }
            "ftruncate" => {
                if let Some(file) = file(&open) {
                    let to = usize::try_from(number(1).unwrap()).unwrap();
                    events.push(Event::Sized { file, to });
                }
            }
            "fsync" | "fdatasync" => match open.get(&number(0).unwrap()) {
                Some(Target::File(file)) => events.push(Event::Synced { file: *file }),
                Some(Target::Folder) => events.push(Event::FolderSynced),
                None => {}
            },
            "unlink" => {
                if let Some(name) = inside(0) {
                    names.remove(&name);
                    events.push(Event::Removed { name });
                }
            }
            "rename" => {
                if let (Some(from), Some(to)) = (inside(0), inside(1)) {
                    if let Some(file) = names.remove(&from) {
                        names.insert(to.clone(), file);
                    }
                    events.push(Event::Renamed { from, to });
                }
            }
            "write" if number(0) == Some(1) => {
                let text = String::from_utf8_lossy(&bytes(args[1])).into_owned();
                if let Some((_, said)) = text.split_once("kept ") {
                    events.push(Event::Said(said.trim().to_owned()));
                }
            }
            "write" => assert!(
                file(&open).is_none(),
                "the model does not know: {line:.200}"
            ),
            _ => assert!(
                number(0).is_none_or(|handle| !open.contains_key(&handle))
                    && (0..paths.len()).all(|path| inside(path).is_none()),
                "the model does not know: {line:.200}"
            ),
        }
    }
    events
}

/// The bytes of a text that strace printed in hexadecimal, whole.
fn bytes(printed: &str) -> Vec<u8> {
    assert!(!printed.ends_with("..."), "strace left something out");
    printed
        .trim_matches('"')
        .split("\\x")
        .skip(1)
        .map(|digits| u8::from_str_radix(digits, 16).unwrap())
        .collect()
}
