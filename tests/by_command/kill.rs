//! Commands killed (SIGKILL) at random moments: what was acknowledged is there, and nothing else
//! became of the book.
//!
//! This shows that the program acknowledges nothing before it is kept. It does not show what a
//! power cut does: the system goes on and writes out what the dead process had given it.

use crate::dice::{Dice, how_many};
use crate::program::{acknowledged, long_course, minute, program};
use scruple::book::{Book, verify};
use scruple::entry::Row;
use std::io::Read;
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

fn rows(path: &Path) -> Vec<Row> {
    Book::open_read_only(path).unwrap().read_all().unwrap()
}

/// SCRUPLE_COMMANDS_KILLED commands, `weigh` and `give` in turn, each killed somewhere between its
/// start and a little after its end; two of three not before its journal is seen.
#[test]
fn what_a_killed_command_acknowledged_is_there() {
    let room = long_course("killed");
    let place = room.path("room.scruple");
    let path = Path::new(&place);
    let journal = room.path("room.scruple-journal");
    let commands = how_many("SCRUPLE_COMMANDS_KILLED", 40);
    let mut dice = Dice::new();
    let mut before = rows(path);
    let mut last = before.last().unwrap().seq;
    let (mut kept, mut unsaid, mut nothing) = (0_u64, 0_u64, 0_u64);
    let (mut killed, mut journals) = (0_u64, 0_u64);
    // How long a command that nobody kills takes here, in microseconds; it grows with the book.
    let mut whole = 200_000;
    for number in 0..commands {
        let now = minute(number + 1);
        // 31 to 31.4 g, so that no weighing looks like a slip.
        let weight = format!("31.{} g", number % 5);
        let words: &[&str] = if number % 2 == 0 {
            &["weigh", "Thimblo", &weight, "--by", "AK", "--yes"]
        } else {
            &["give", "Thimblo", "DEMO-0001", "--by", "AK", "--yes"]
        };
        let began = Instant::now();
        let mut child = program(&room, words, &now).spawn().unwrap();
        let way = dice.below(3);
        if number % 20 == 0 {
            // Nobody kills this one.
        } else if way == 0 {
            sleep(Duration::from_micros(dice.below(whole + whole / 4)));
            let _ = child.kill();
        } else {
            let over = Duration::from_micros(2 * whole);
            while began.elapsed() < over && !Path::new(&journal).exists() {
                sleep(Duration::from_micros(200));
            }
            let after = if way == 1 { 6_000 } else { 60_000 };
            sleep(Duration::from_micros(dice.below(after)));
            let _ = child.kill();
        }
        let ended = child.wait().unwrap();
        match ended.code() {
            Some(code) => {
                assert_eq!(code, 0, "{words:?}");
                let took = u64::try_from(began.elapsed().as_micros()).unwrap();
                whole = (7 * whole + took) / 8;
            }
            None => killed += 1,
        }
        let mut said = String::new();
        child.stdout.unwrap().read_to_string(&mut said).unwrap();
        journals += u64::from(Path::new(&journal).exists());

        // Reading all of it walks every chain.
        let after = rows(path);
        assert_eq!(
            after[..before.len()],
            before[..],
            "{words:?} changed an old entry"
        );
        let new = &after[before.len()..];
        assert!(new.len() <= 1, "{words:?} kept {} entries", new.len());
        match (new, acknowledged(&said)) {
            ([row], Some(entry)) => {
                assert_eq!(row.seq, entry);
                kept += 1;
            }
            ([_], None) => unsaid += 1,
            ([], None) => nothing += 1,
            (_, Some(entry)) => panic!("entry {entry} was acknowledged and is not there"),
            _ => unreachable!(),
        }
        for row in new {
            last += 1;
            assert_eq!(row.seq, last);
            // It is what this command was to keep, whole.
            let stands = row.recorded_at.format("%Y-%m-%d %H:%M").to_string();
            assert_eq!(stands, now);
            assert_eq!(row.subject, "animal:Thimblo");
            assert!(row.body.contains("\"by\":\"AK\""), "{}", row.body);
            let kind = if number % 2 == 0 { "weighing" } else { "dose" };
            assert_eq!(row.kind, kind, "{}", row.body);
        }
        before = after;
    }
    assert!(verify(path, |_, _| {}).unwrap().is_sound());
    let walked = program(&room, &["verify"], &minute(commands + 1))
        .output()
        .unwrap();
    assert_eq!(walked.status.code(), Some(0), "{walked:?}");
    println!(
        "{commands} commands, {killed} of them killed, {journals} with a journal left behind: \
         {kept} entries acknowledged and all there, {unsaid} kept without a word, {nothing} \
         commands kept nothing and said nothing"
    );
    assert!(killed > 0 && kept > 0 && nothing > 0);
}
