//! Hands that try to change what was written, with SQLite's own tools and without this program.
//! Each is refused by the book itself, or noticed when it is next opened or walked.

use std::fs;
use std::path::Path;

use rusqlite::Connection;
use rusqlite::config::DbConfig;
use scruple::book::{Book, BookError, Fault, verify};

use crate::room::{Folder, append, entry, small_book};

/// What is wrong with the book at `path`, whether opening says it or walking it.
fn noticed(path: &Path) -> Vec<Fault> {
    let opened = match Book::open(path) {
        Ok(_) => None,
        Err(BookError::Damaged(damage)) => Some(damage.fault),
        Err(error) => panic!("{error}"),
    };
    let verdict = verify(path, |_, _| {}).unwrap();
    let faults: Vec<Fault> = verdict
        .damage
        .into_iter()
        .map(|found| found.fault)
        .collect();
    if let Some(fault) = opened {
        assert!(faults.contains(&fault), "{fault:?} is not in {faults:?}");
    }
    faults
}

const INSERT: &str = "INTO entry(seq, subject, n, course, kind, happened_at, recorded_at, \
                      clock_given, zone, body, link)";

#[test]
fn every_statement_around_append_only_is_refused() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let before = small_book(&path, 30).read_all().unwrap();
    let bytes = fs::read(&path).unwrap();
    let values = |seq: &str, n: &str| {
        format!(
            "VALUES ({seq}, 'animal:Thimblo', {n}, NULL, 'given', '2027-03-22T07:00:00Z', \
             '2027-03-22T07:00:00Z', 0, 'UTC', '{{}}', '{}')",
            "0".repeat(64)
        )
    };
    let mut statements = vec![
        "UPDATE entry SET body = '{}' WHERE seq = 3".into(),
        "UPDATE OR REPLACE entry SET seq = 4 WHERE seq = 3".into(),
        "UPDATE OR IGNORE entry SET body = '{}' WHERE seq = 3".into(),
        "UPDATE entry SET body = body".into(),
        "DELETE FROM entry WHERE seq = 30".into(),
        "DELETE FROM entry".into(),
        format!("INSERT OR REPLACE {INSERT} {}", values("3", "2")),
        format!("REPLACE {INSERT} {}", values("3", "2")),
        format!("INSERT OR REPLACE {INSERT} {}", values("31", "2")),
        format!("INSERT OR IGNORE {INSERT} {}", values("3", "2")),
        format!(
            "INSERT {INSERT} {} ON CONFLICT DO UPDATE SET body = '[]'",
            values("3", "2")
        ),
        format!(
            "INSERT {INSERT} {} ON CONFLICT(seq) DO UPDATE SET body = '[]'",
            values("3", "1000")
        ),
        format!(
            "INSERT {INSERT} {} ON CONFLICT(subject, n) DO UPDATE SET body = '[]'",
            values("31", "2")
        ),
        format!(
            "INSERT {INSERT} {} ON CONFLICT DO NOTHING",
            values("3", "2")
        ),
        // Not in turn: a gap, the same number again, none at all, before the first.
        format!("INSERT {INSERT} {}", values("33", "31")),
        format!("INSERT {INSERT} {}", values("31", "1000")),
        format!("INSERT {INSERT} {}", values("NULL", "31")),
        format!("INSERT {INSERT} {}", values("0", "0")),
        format!("INSERT {INSERT} {}", values("-1", "31")),
        "UPDATE head SET n = 1 WHERE subject = 'animal:Thimblo'".into(),
        "UPDATE head SET subject = 'animal:Other'".into(),
        "UPDATE head SET link = seal".into(),
        "DELETE FROM head".into(),
        "INSERT OR REPLACE INTO head SELECT subject, 1, link, 0, seal FROM head".into(),
        "INSERT INTO head SELECT 'animal:Other', 1, link, 0, seal FROM head".into(),
        "INSERT INTO head SELECT * FROM head WHERE TRUE ON CONFLICT DO UPDATE SET n = 1".into(),
        "UPDATE top SET seq = 1".into(),
        "UPDATE top SET link = replace(link, '0', '1')".into(),
        "DELETE FROM top".into(),
        "INSERT OR REPLACE INTO top SELECT * FROM top".into(),
        "UPDATE book SET zone = 'UTC'".into(),
        "DELETE FROM book".into(),
        "INSERT OR REPLACE INTO book SELECT 1, id, 'UTC', made, version FROM book".into(),
    ];
    let elsewhere: Vec<String> = statements
        .iter()
        .map(|statement| {
            ["entry", "head", "top", "book"]
                .iter()
                .fold(statement.clone(), |text, table| {
                    text.replace(&format!("INTO {table}"), &format!("INTO other.{table}"))
                        .replace(&format!("FROM {table}"), &format!("FROM other.{table}"))
                        .replace(&format!("UPDATE {table}"), &format!("UPDATE other.{table}"))
                        .replace(
                            &format!("REPLACE {table}"),
                            &format!("REPLACE other.{table}"),
                        )
                        .replace(&format!("IGNORE {table}"), &format!("IGNORE other.{table}"))
                })
        })
        .collect();
    statements.push("INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE seq = 3".into());

    // As SQLite comes, with the setting that hides replaced rows from guards on DELETE.
    let direct = Connection::open(&path).unwrap();
    for statement in &statements {
        let result = direct.execute(statement, []);
        assert!(result.is_err(), "{statement} did {result:?}");
    }
    // The same as another schema of a connection to another file.
    let through = Connection::open_in_memory().unwrap();
    through
        .execute("ATTACH ?1 AS other", [path.to_str().unwrap()])
        .unwrap();
    for statement in &elsewhere {
        assert!(statement.contains("other."), "{statement}");
        let error = through.execute(statement, []).unwrap_err();
        assert!(
            !error.to_string().contains("no such"),
            "{statement}: {error}"
        );
    }
    // A table of the same name in the temporary schema hides the book's from its own connection
    // alone.
    direct
        .execute_batch("CREATE TEMP TABLE entry AS SELECT * FROM main.entry; DELETE FROM entry")
        .unwrap();
    drop((direct, through));
    assert_eq!(fs::read(&path).unwrap(), bytes);
    assert_eq!(Book::open(&path).unwrap().read_all().unwrap(), before);
    assert_eq!(noticed(&path), []);
}

/// Runs statements on a fresh book with all guards asleep, and returns what is noticed.
fn behind_the_guards(statements: &str) -> Vec<Fault> {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(small_book(&path, 30));
    let conn = Connection::open(&path).unwrap();
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false)
        .unwrap();
    conn.execute_batch(statements).unwrap();
    drop(conn);
    noticed(&path)
}

#[test]
fn what_is_done_with_the_guards_asleep_is_noticed() {
    let changed = |subject: &str| format!("UPDATE entry SET {subject} WHERE seq = 5");
    for column in [
        "body = body || ' '",
        "course = ''",
        "course = 'DEMO-0002'",
        "kind = 'partly'",
        "happened_at = '2027-03-22T07:04:00.0Z'",
        "recorded_at = '2027-03-22T07:07:00Z'",
        "clock_given = 1 - clock_given",
        "zone = 'UTC'",
        "link = replace(link, substr(link, 1, 1), '-')",
        "subject = 'animal:Somebody'",
        "n = 1000",
        "seq = 1000",
    ] {
        let faults = behind_the_guards(&changed(column));
        assert!(!faults.is_empty(), "{column} was not noticed");
    }
    // Two columns whose texts run together the same way.
    let faults = behind_the_guards(
        "UPDATE entry SET kind = kind || substr(zone, 1, 1), zone = substr(zone, 2) WHERE seq = 5",
    );
    assert!(faults.contains(&Fault::EntryChanged), "{faults:?}");
    // Two whole entries that change places.
    let faults = behind_the_guards(
        "UPDATE entry SET body = (SELECT body FROM entry WHERE seq = 7) WHERE seq = 5",
    );
    assert!(faults.contains(&Fault::EntryChanged), "{faults:?}");

    let newest = "DELETE FROM entry WHERE seq = (SELECT max(seq) FROM entry)";
    let faults = behind_the_guards(newest);
    assert!(faults.contains(&Fault::TopChanged), "{faults:?}");
    let faults = behind_the_guards("DELETE FROM entry WHERE seq = 7");
    assert!(faults.contains(&Fault::EntryMissing), "{faults:?}");
    let faults = behind_the_guards("DELETE FROM entry");
    assert!(faults.contains(&Fault::TopChanged), "{faults:?}");
    // A subject that vanishes with all that is said of it.
    let faults = behind_the_guards(
        "DELETE FROM entry WHERE subject = 'bottle:1'; DELETE FROM head WHERE subject = 'bottle:1'",
    );
    assert!(
        faults.contains(&Fault::SubjectsMissing { noted: 5, found: 4 }),
        "{faults:?}"
    );
    // A chain that is cut short together with its head.
    let faults = behind_the_guards(
        "DELETE FROM entry WHERE subject = 'bottle:1' AND n > 2;
         UPDATE head SET n = 2, link = (SELECT link FROM entry WHERE subject = 'bottle:1' AND n = 2)
         WHERE subject = 'bottle:1'",
    );
    assert!(faults.contains(&Fault::HeadChanged), "{faults:?}");
    // An animal whose courses are hidden.
    let faults = behind_the_guards("UPDATE head SET open_courses = 0");
    assert!(faults.contains(&Fault::HeadChanged), "{faults:?}");
    for top in [
        "UPDATE top SET newest = NULL",
        "UPDATE top SET subjects = subjects + 1",
        "UPDATE top SET seq = seq + 1",
        "DELETE FROM top",
        "UPDATE book SET zone = 'UTC'",
        "UPDATE book SET made = '2027-03-22T07:00:01Z'",
        "UPDATE book SET version = 3",
        "UPDATE book SET id = replace(id, substr(id, 1, 1), '-')",
        "DELETE FROM book",
    ] {
        let faults = behind_the_guards(top);
        assert!(
            faults
                .iter()
                .any(|fault| matches!(fault, Fault::TopChanged | Fault::File(_))),
            "{top}: {faults:?}"
        );
    }
}

/// An entry in its turn passes the guards; without this program nothing else agrees with it.
#[test]
fn an_entry_that_another_program_appends_is_noticed() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(small_book(&path, 30));
    let conn = Connection::open(&path).unwrap();
    let statement = format!(
        "INSERT {INSERT} SELECT 31, subject, n + 1, course, kind, happened_at, recorded_at, \
         clock_given, zone, body, link FROM entry ORDER BY n DESC LIMIT 1"
    );
    assert_eq!(conn.execute(&statement, []).unwrap(), 1);
    drop(conn);
    let faults = noticed(&path);
    assert!(faults.contains(&Fault::TopChanged), "{faults:?}");
}

#[test]
fn a_changed_plan_is_noticed_and_named() {
    let plans = [
        ("DROP TRIGGER entry_stay", "entry_stay"),
        ("DROP TRIGGER top_once", "top_once"),
        ("DROP TRIGGER head_follow", "head_follow"),
        ("ALTER TABLE entry ADD COLUMN extra TEXT", "entry"),
        ("ALTER TABLE entry RENAME COLUMN body TO text", "entry"),
        ("CREATE TABLE alongside(a)", "alongside"),
        ("CREATE INDEX quicker ON entry(kind)", "quicker"),
        ("CREATE VIEW looks AS SELECT * FROM entry", "looks"),
        (
            "CREATE TRIGGER also AFTER INSERT ON entry BEGIN SELECT 1; END",
            "also",
        ),
        (
            "PRAGMA writable_schema = ON;
             UPDATE sqlite_schema SET sql = replace(sql, 'BEFORE', 'AFTER') \
             WHERE name = 'entry_keep'",
            "entry_keep",
        ),
        (
            "PRAGMA writable_schema = ON; DELETE FROM sqlite_schema WHERE name = 'entry_next'",
            "entry_next",
        ),
        (
            "PRAGMA writable_schema = ON;
             UPDATE sqlite_schema SET sql = replace(sql, ' STRICT', '') WHERE name = 'entry'",
            "entry",
        ),
        ("DROP TABLE head", "head"),
        ("PRAGMA user_version = 0", "user_version"),
    ];
    for (statements, wanted) in plans {
        let folder = Folder::new();
        let path = folder.at("a.book");
        let mut book = small_book(&path, 10);
        let conn = Connection::open(&path).unwrap();
        conn.execute_batch(statements).unwrap();
        drop(conn);
        let is_it = |error: &BookError| {
            matches!(error, BookError::Damaged(damage)
                if damage.fault == Fault::PlanChanged(wanted.into()))
        };
        let error = Book::open(&path).unwrap_err();
        assert!(is_it(&error), "{statements}: {error}");
        if wanted != "user_version" {
            // One that is open at the time notices before it writes.
            let error = append(&mut book, vec![entry("settings", 50)]).unwrap_err();
            assert!(is_it(&error), "{statements}: {error}");
            let found = noticed(&path);
            assert!(
                found.contains(&Fault::PlanChanged(wanted.into())),
                "{statements}: {found:?}"
            );
        }
    }
}

/// Taking a guard away, changing an entry and putting the guard back leaves the plan as it was.
#[test]
fn a_guard_that_was_away_for_a_while_is_no_cover() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(small_book(&path, 30));
    let conn = Connection::open(&path).unwrap();
    let guard: String = conn
        .query_row(
            "SELECT sql FROM sqlite_schema WHERE name = 'entry_stay'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    conn.execute_batch("DROP TRIGGER entry_stay; UPDATE entry SET body = '{}' WHERE seq = 5")
        .unwrap();
    conn.execute_batch(&guard).unwrap();
    drop(conn);
    Book::open(&path).unwrap();
    assert_eq!(noticed(&path), [Fault::EntryChanged]);
}

/// What harmless tools leave behind does not shut a keeper out.
#[test]
fn statistics_and_another_journal_mode_are_let_be() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let before = small_book(&path, 30).read_all().unwrap();
    let conn = Connection::open(&path).unwrap();
    conn.execute_batch("ANALYZE").unwrap();
    let mode: String = conn
        .query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))
        .unwrap();
    assert_eq!(mode, "wal");
    drop(conn);
    assert_eq!(
        Book::open_read_only(&path).unwrap().read_all().unwrap(),
        before
    );
    let mut book = Book::open(&path).unwrap();
    append(&mut book, vec![entry("settings", 50)]).unwrap();
    assert_eq!(book.read_all().unwrap()[..30], before[..]);
    drop(book);
    assert!(!folder.at("a.book-wal").exists());
    assert_eq!(noticed(&path), []);
}
