//! The ways around append-only, tried with SQLite alone on a room's book: each is refused, or the
//! commands notice it.

use crate::program::long_course;
use crate::room::Room;
use rusqlite::Connection;
use rusqlite::config::DbConfig;

/// What a way led to.
#[derive(Debug, PartialEq, Eq)]
enum Way {
    Refused,
    Noticed,
}

/// Runs the statements one by one on the room's book; where all were taken, the commands must say
/// that the book is damaged, and give no mark to the animal that was touched.
fn tried(room: &mut Room, statements: &[&str], guards: bool) -> Way {
    let before = room.book();
    let marks = room.run("today").out;
    let conn = Connection::open(room.path("room.scruple")).unwrap();
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, guards)
        .unwrap();
    let all = statements
        .iter()
        .try_for_each(|sql| conn.execute_batch(sql));
    drop(conn);
    let way = match all {
        Err(_) => {
            assert_eq!(room.run("today").out, marks, "{statements:?}");
            room.run("verify").ends(0);
            Way::Refused
        }
        Ok(()) => {
            let verdict = room.run("verify --format json");
            verdict.ends(3);
            let card = room.run("today");
            if card.code == 0 {
                card.says("Part of the book is damaged");
                assert_eq!(
                    room.dose_of("Thimblo")["worked"]["mark"],
                    serde_json::Value::Null
                );
            } else {
                card.ends(3);
            }
            let give = room.run("give Thimblo DEMO-0001");
            assert!(give.code >= 2, "{statements:?}: {give}");
            Way::Noticed
        }
    };
    room.write("room.scruple", before);
    let _ = std::fs::remove_file(room.path("room.scruple-journal"));
    way
}

/// Each with the guards in place, then with the guards asleep or taken away.
#[test]
fn the_seven_ways_around_append_only_are_refused_or_noticed_by_commands() {
    let mut room = long_course("guards");
    let lighter = "replace(body, '\"31 g\"', '\"13 g\"')";
    let columns = "seq, subject, n, course, kind, happened_at, recorded_at, clock_given, zone";
    let weighing = "FROM entry WHERE subject = 'animal:Thimblo' AND kind = 'weighing'";
    let update = format!("UPDATE entry SET body = {lighter} WHERE kind = 'weighing'");
    let delete = format!("DELETE {weighing}");
    let replace = format!(
        "INSERT OR REPLACE INTO entry({columns}, body, link) SELECT {columns}, {lighter}, link {weighing}"
    );
    let upsert = format!(
        "INSERT INTO entry({columns}, body, link) SELECT {columns}, {lighter}, link {weighing} \
         ON CONFLICT(seq) DO UPDATE SET body = excluded.body"
    );
    let other_schema = format!(
        "ATTACH '{}' AS other; UPDATE other.entry SET body = {lighter} WHERE kind = 'weighing'",
        room.path("room.scruple")
    );
    // The guards in place.
    for sql in [&update, &delete, &replace, &upsert, &other_schema] {
        assert_eq!(tried(&mut room, &[sql], true), Way::Refused, "{sql}");
    }
    // A temporary table of the same name is nobody's but that hand's.
    let conn = Connection::open(room.path("room.scruple")).unwrap();
    conn.execute_batch("CREATE TEMP TABLE entry AS SELECT * FROM main.entry; DELETE FROM entry")
        .unwrap();
    drop(conn);
    room.run("verify").ends(0);
    // The guards asleep.
    for sql in [&update, &delete, &replace, &upsert] {
        assert_eq!(tried(&mut room, &[sql], false), Way::Noticed, "{sql}");
    }
    // The guards taken away, for good or for a while.
    let drop_it = "DROP TRIGGER entry_stay";
    assert_eq!(tried(&mut room, &[drop_it], true), Way::Noticed);
    assert_eq!(tried(&mut room, &[drop_it, &update], true), Way::Noticed);
    let again: String = Connection::open(room.path("room.scruple"))
        .unwrap()
        .query_row(
            "SELECT sql FROM sqlite_schema WHERE name = 'entry_stay'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    assert_eq!(
        tried(&mut room, &[drop_it, &update, &again], true),
        Way::Noticed
    );
    // The plan itself rewritten.
    let writable = [
        "PRAGMA writable_schema = on",
        "UPDATE sqlite_schema SET sql = replace(sql, 'BEFORE UPDATE', 'AFTER UPDATE') WHERE name = 'entry_stay'",
        "PRAGMA writable_schema = off",
    ];
    assert_eq!(tried(&mut room, &writable, true), Way::Noticed);
    // And the book is what it was.
    room.run("verify").ends(0);
    room.run("give Thimblo DEMO-0001").ends(0);
}
