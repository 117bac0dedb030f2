//! Processes killed while they write (SIGKILL): every entry that was acknowledged is there.
//!
//! This shows that no state is lost inside the program. It does not show what a power cut does:
//! the system goes on and writes out what the dead process had given it.

use std::io::Read;
use std::thread;
use std::time::Duration;

use scruple::book::{Book, verify};

use crate::child::{command, said};
use crate::dice::{Dice, how_many};
use crate::room::{Folder, create};

/// Until SCRUPLE_KILLED entries were acknowledged by processes that were then killed.
#[test]
fn what_was_acknowledged_outlives_a_kill() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(create(&path));
    let wanted = how_many("SCRUPLE_KILLED", 60);
    let mut dice = Dice::new();
    let (mut acknowledged, mut kept_unsaid, mut kills, mut journals) = (0, 0, 0, 0);
    let mut before = 0;
    while acknowledged < wanted {
        let mut child = command("append", &path, kills, 1_000_000).spawn().unwrap();
        let mut out = child.stdout.take().unwrap();
        // The clock of the kill starts at the first word, so that it falls among the writings.
        let mut text = vec![0; 1];
        out.read_exact(&mut text).unwrap();
        thread::sleep(Duration::from_micros(dice.below(25_000)));
        child.kill().unwrap();
        child.wait().unwrap();
        out.read_to_end(&mut text).unwrap();
        kills += 1;
        journals += u64::from(folder.at("a.book-journal").exists());
        let text = String::from_utf8(text).unwrap();
        // A last line without its end was cut off: it was not acknowledged.
        let whole = &text[..text.rfind('\n').map_or(0, |end| end + 1)];

        let book = Book::open(&path).unwrap();
        let rows = book.read_all().unwrap();
        let mut last = before;
        for line in said(whole, "kept ") {
            let (seq, link) = line.split_once(' ').unwrap();
            let seq: usize = seq.parse().unwrap();
            assert_eq!(rows[seq - 1].link, link);
            assert_eq!(seq, last + 1);
            last = seq;
            acknowledged += 1;
        }
        // At most the one writing that was going on (of three entries) was kept without a word.
        assert!(rows.len() - last <= 3, "{} after {last}", rows.len());
        kept_unsaid += rows.len() - last;
        before = rows.len();
        assert!(verify(&path, |_, _| {}).unwrap().is_sound());
    }
    println!(
        "{kills} kills, {journals} of them with a journal left behind; {acknowledged} entries \
         acknowledged and all there, {kept_unsaid} more kept that had not been acknowledged yet"
    );
}
