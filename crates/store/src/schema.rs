//! The tables of a job file, made by numbered migrations.

use rusqlite::{Connection, Transaction, TransactionBehavior};

/// Each migration takes a file from the form before it to its own; none is ever changed.
const MIGRATIONS: [&str; 6] = [
    include_str!("../sql/001_geopackage.sql"),
    include_str!("../sql/002_job.sql"),
    include_str!("../sql/003_plan.sql"),
    include_str!("../sql/004_underlay.sql"),
    include_str!("../sql/005_history.sql"),
    include_str!("../sql/006_fixed_method.sql"),
];

/// The newest form of file that this program knows.
pub(crate) const NEWEST: i64 = MIGRATIONS.len() as i64;

/// The oldest form that can be told from other programs' files: the one that has `spadework_file`.
const OLDEST: i64 = 2;

/// Brings a file of a form to the newest, all at once or not at all. A file without any form is new.
pub(crate) fn migrate(connection: &mut Connection, from: Option<i64>) -> rusqlite::Result<()> {
    migrate_to(connection, from, NEWEST)
}

/// Brings a file of a form to a later one.
pub(crate) fn migrate_to(
    connection: &mut Connection,
    from: Option<i64>,
    to: i64,
) -> rusqlite::Result<()> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let (from, to) = (from.unwrap_or(0) as usize, to as usize);
    for script in &MIGRATIONS[from..to] {
        transaction.execute_batch(script)?;
    }
    mark(&transaction, to as i64)?;
    transaction.commit()
}

/// Writes what is there already: a journal that a killed program left, and that holds nothing to take back, goes
/// with it.
pub(crate) fn settle(connection: &Connection) -> rusqlite::Result<()> {
    // A row that stays as it is would not be written; the header always is.
    let version: i64 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    connection.pragma_update(None, "user_version", version)
}

fn mark(transaction: &Transaction<'_>, form: i64) -> rusqlite::Result<()> {
    transaction.execute("UPDATE spadework_file SET migration = ?1", [form])?;
    Ok(())
}

/// The form of a file; nothing if it is none of ours.
pub(crate) fn form(connection: &Connection) -> rusqlite::Result<Option<i64>> {
    let ours: bool = connection.query_row(
        "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'spadework_file'",
        [],
        |row| row.get(0),
    )?;
    if !ours {
        return Ok(None);
    }
    let form = connection.query_row(
        "SELECT migration FROM spadework_file WHERE only_row = 1",
        [],
        |row| row.get(0),
    )?;
    Ok(Some(form))
}

/// Whether there is such a form.
pub(crate) fn is_known(form: i64) -> bool {
    (OLDEST..=NEWEST).contains(&form)
}

/// Tables and columns that a file of the newest form has and this one lacks, in words.
pub(crate) fn missing(connection: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut fresh = Connection::open_in_memory()?;
    migrate(&mut fresh, None)?;
    let (wanted, found) = (columns(&fresh)?, columns(connection)?);
    Ok(wanted
        .into_iter()
        .filter(|column| !found.contains(column))
        .map(|(table, column)| format!("the table `{table}` has no column `{column}`"))
        .collect())
}

/// Every table with every column of it, sorted; views are none.
fn columns(
    connection: &Connection,
) -> rusqlite::Result<std::collections::BTreeSet<(String, String)>> {
    let mut statement = connection.prepare(
        "SELECT m.name, c.name FROM sqlite_master AS m JOIN pragma_table_info(m.name) AS c
         WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%'",
    )?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    rows.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_feature_has_its_table_and_every_property_its_column() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection, None).unwrap();
        let columns = columns(&connection).unwrap();
        for kind in job::kinds() {
            for column in kind
                .properties
                .iter()
                .chain(&["id", "position", "note", "more"])
            {
                let wanted = (kind.name.to_owned(), (*column).to_owned());
                assert!(columns.contains(&wanted), "{wanted:?}: write a migration");
            }
            let shaped = kind.geometry != ["null"];
            let has = columns.contains(&(kind.name.to_owned(), "geom".to_owned()));
            assert_eq!(has, shaped, "{}", kind.name);
        }
    }

    #[test]
    fn a_file_of_an_older_form_becomes_the_newest() {
        for older in OLDEST..NEWEST {
            let mut connection = Connection::open_in_memory().unwrap();
            migrate_to(&mut connection, None, older).unwrap();
            assert_eq!(form(&connection).unwrap(), Some(older));
            assert!(!missing(&connection).unwrap().is_empty());
            migrate(&mut connection, Some(older)).unwrap();
            assert_eq!(form(&connection).unwrap(), Some(NEWEST));
            assert_eq!(missing(&connection).unwrap(), Vec::<String>::new());
        }
    }
}
