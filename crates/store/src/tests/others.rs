//! Files of other programs, of other versions and damaged ones: each is told apart, and none is touched.

use super::names;
use crate::{Store, StoreError, schema};
use job::Document;
use rusqlite::Connection;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

fn demo() -> Document {
    Document::of(job::DEMO).unwrap()
}

/// A folder with a job file in it.
fn home() -> (TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    Store::create(&path, &demo()).unwrap().close().unwrap();
    (folder, path)
}

/// What opening says, after making sure that neither way of opening changed a byte or left a file.
fn refused(path: &Path) -> StoreError {
    let folder = path.parent().unwrap();
    let contents = || -> Vec<(String, Vec<u8>)> {
        let read = |name: String| {
            let bytes = fs::read(folder.join(&name)).unwrap();
            (name, bytes)
        };
        names(folder).into_iter().map(read).collect()
    };
    let before = contents();
    let first = Store::look(path).unwrap_err();
    let second = Store::open(path).unwrap_err();
    assert_eq!(first.to_string(), second.to_string());
    assert!(contents() == before, "{first}");
    second
}

#[test]
fn other_files_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("other");
    fs::write(&path, "").unwrap();
    assert!(matches!(refused(&path), StoreError::NotADatabase(_)));
    fs::write(&path, "{ \"type\": \"FeatureCollection\" }").unwrap();
    assert!(matches!(refused(&path), StoreError::NotADatabase(_)));
    fs::write(&path, b"SQLite format 3\0").unwrap();
    assert!(matches!(refused(&path), StoreError::NotADatabase(_)));
    fs::remove_file(&path).unwrap();
    let database = Connection::open(&path).unwrap();
    database.execute_batch("CREATE TABLE mine (a)").unwrap();
    database.close().unwrap();
    assert!(matches!(
        refused(&path),
        StoreError::Foreign {
            what: "an SQLite database",
            ..
        }
    ));
}

#[test]
fn a_geopackage_of_another_program_is_left_alone() {
    for mode in ["DELETE", "WAL"] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("theirs.gpkg");
        let database = Connection::open(&path).unwrap();
        database.pragma_update(None, "journal_mode", mode).unwrap();
        database
            .execute_batch(
                "PRAGMA application_id = 1196444487; CREATE TABLE roads (fid INTEGER PRIMARY KEY)",
            )
            .unwrap();
        database.close().unwrap();
        let refused = refused(&path);
        assert!(
            matches!(
                refused,
                StoreError::Foreign {
                    what: "a GeoPackage",
                    ..
                }
            ),
            "{refused}"
        );
        assert!(refused.mend().contains("GeoJSON"));
    }
}

#[test]
fn a_newer_file_is_left_alone() {
    let (_folder, path) = home();
    let database = Connection::open(&path).unwrap();
    database
        .execute("UPDATE spadework_file SET migration = 99", [])
        .unwrap();
    database.close().unwrap();
    let refused = refused(&path);
    assert!(
        matches!(refused, StoreError::Newer { found: 99, .. }),
        "{refused}"
    );
    assert!(refused.mend().contains("newer version"));
}

#[test]
fn a_form_that_never_was_is_damage() {
    for form in [-3, 0, 1] {
        let (_folder, path) = home();
        let database = Connection::open(&path).unwrap();
        database
            .execute("UPDATE spadework_file SET migration = ?1", [form])
            .unwrap();
        database.close().unwrap();
        assert!(matches!(refused(&path), StoreError::Damaged { .. }));
    }
}

#[test]
fn an_older_file_is_read_as_it_is_and_brought_up_when_changed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("older.gpkg");
    let mut database = Connection::open(&path).unwrap();
    schema::migrate_to(&mut database, None, 2).unwrap();
    database
        .execute_batch(
            "INSERT INTO setting (part, name, value) VALUES ('job', 'name', '\"Old\"');
             INSERT INTO circuit (id, name, position) VALUES ('C1', 'Lawn', 0);",
        )
        .unwrap();
    database.close().unwrap();
    let before = fs::read(&path).unwrap();
    let looked = Store::look(&path).unwrap();
    let read = looked.document().unwrap();
    assert_eq!(read.header["name"], "Old");
    assert_eq!(read.features[0]["id"], "C1");
    assert_eq!(looked.plan().unwrap(), None);
    drop(looked);
    assert!(fs::read(&path).unwrap() == before);
    let opened = Store::open(&path).unwrap();
    assert_eq!(opened.document().unwrap(), read);
    opened.close().unwrap();
    let database = Connection::open(&path).unwrap();
    assert_eq!(schema::form(&database).unwrap(), Some(schema::NEWEST));
}

#[test]
fn a_file_that_another_program_is_writing_is_in_use() {
    let (_folder, path) = home();
    let mut store = Store::open(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN EXCLUSIVE").unwrap();
    assert!(matches!(store.save(&demo()), Err(StoreError::InUse(_))));
    other.execute_batch("ROLLBACK").unwrap();
    store.save(&demo()).unwrap();
}

/// Some programs switch a file to a write-ahead log and leave it so.
#[test]
fn a_job_with_a_write_ahead_log_becomes_one_file_again() {
    let (folder, path) = home();
    let other = Connection::open(&path).unwrap();
    other.pragma_update(None, "journal_mode", "WAL").unwrap();
    other
        .execute("UPDATE circuit SET name = 'changed'", [])
        .unwrap();
    assert!(matches!(Store::open(&path), Err(StoreError::InUse(_))));
    other.close().unwrap();
    let store = Store::open(&path).unwrap();
    let changed = store.document().unwrap();
    assert!(
        changed
            .features
            .iter()
            .any(|f| f["properties"]["name"] == "changed")
    );
    store.close().unwrap();
    assert_eq!(names(folder.path()), ["job.gpkg"]);
    assert_eq!(fs::read(&path).unwrap()[18], 1);
}

#[test]
fn a_truncated_file_is_damaged() {
    let (_folder, path) = home();
    let whole = fs::read(&path).unwrap();
    for part in 1..8 {
        fs::write(&path, &whole[..whole.len() * part / 8]).unwrap();
        let refused = refused(&path);
        assert!(
            matches!(refused, StoreError::Damaged { .. }),
            "{part}: {refused}"
        );
        assert!(refused.is_of_the_file());
    }
}

/// Whatever bytes are changed, the file is refused or read; nothing else happens.
#[test]
fn changed_bytes_are_refused_or_read() {
    let (_folder, path) = home();
    let whole = fs::read(&path).unwrap();
    let (mut refused, mut read) = (0, 0);
    for n in 0..300_usize {
        let mut bytes = whole.clone();
        for k in 0..1 + n % 7 {
            let at = (n * 7_919 + k * 104_729) % bytes.len();
            bytes[at] ^= 1 << (n % 8);
        }
        fs::write(&path, &bytes).unwrap();
        match Store::look(&path).and_then(|store| store.document().map(|_| store.plan())) {
            Ok(_) => read += 1,
            Err(error) => {
                assert!(!error.to_string().is_empty() && !error.mend().is_empty());
                refused += 1;
            }
        }
    }
    assert!(refused > 20 && read > 20, "{refused} refused, {read} read");
}

#[test]
fn a_table_that_another_program_dropped_is_named() {
    let (_folder, path) = home();
    let database = Connection::open(&path).unwrap();
    database
        .execute_batch("DROP TABLE head; CREATE VIEW head AS SELECT 1 AS fid")
        .unwrap();
    database.close().unwrap();
    let refused = refused(&path);
    assert!(refused.to_string().contains("`head`"), "{refused}");
}

#[test]
fn rows_that_cannot_be_read_are_all_named() {
    let (_folder, path) = home();
    let database = Connection::open(&path).unwrap();
    database
        .execute_batch("UPDATE valve SET geom = x'00'; UPDATE circuit SET more = '{';")
        .unwrap();
    let valves: i64 = database
        .query_row("SELECT count(*) FROM valve", [], |row| row.get(0))
        .unwrap();
    database.close().unwrap();
    let store = Store::open(&path).unwrap();
    let Err(StoreError::Damaged { what, .. }) = store.document() else {
        panic!("it was read");
    };
    let named = what.iter().filter(|line| line.contains("`valve`")).count();
    assert_eq!(named as i64, valves);
    assert!(what.iter().any(|line| line.contains("`circuit`")));
}
