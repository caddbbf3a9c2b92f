//! A document into its rows, all at once: what did not change is not written again.

use job::Document;
use rusqlite::{Connection, ToSql, Transaction, TransactionBehavior};
use std::collections::BTreeMap;
use std::collections::VecDeque;

use crate::geometry::{Extent, PLANE, extent};
use crate::rows::{Filed, Row, Table};
use crate::settings::{Line, Settings};
use crate::{Store, StoreError, crs};

impl Store {
    /// Saves a document in one transaction. Rows of features that are there already under their id keep their
    /// number, and columns that another program added keep their values.
    ///
    /// # Errors
    /// If the file is in use or cannot be written; it is then as it was before.
    pub fn save(&mut self, document: &Document) -> Result<(), StoreError> {
        self.change(|to, tables| put(to, tables, document))
    }

    /// A change that is made as a whole or not at all.
    pub(crate) fn change<T>(
        &mut self,
        make: impl FnOnce(&Transaction<'_>, &[Table]) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        let made = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .and_then(|to| {
                let made = make(&to, &self.tables)?;
                to.commit()?;
                Ok(made)
            });
        made.map_err(|error| self.unwritten(error))
    }
}

/// Puts a document in place of what is there.
pub(crate) fn put(
    to: &Transaction<'_>,
    tables: &[Table],
    document: &Document,
) -> rusqlite::Result<()> {
    put_settings(to, document)?;
    let mut wanted: Vec<Vec<Row>> = tables.iter().map(|_| Vec::new()).collect();
    let mut unfiled = Vec::new();
    for (position, feature) in document.features.iter().enumerate() {
        match Filed::of(tables, position, feature) {
            Filed::Row(table, row) => wanted[table].push(row),
            Filed::Unfiled(text) => unfiled.push((position as i64, text)),
        }
    }
    for (table, rows) in tables.iter().zip(wanted) {
        put_rows(to, table, rows)?;
    }
    put_unfiled(to, unfiled)
}

/// The rows of a table with their numbers, each read or with what is wrong with it.
pub(crate) fn rows(
    from: &Connection,
    table: &Table,
) -> rusqlite::Result<Vec<(i64, Result<Row, String>)>> {
    let query = format!(
        "SELECT fid, {} FROM {} ORDER BY fid",
        quoted(&table.columns()),
        quoted(&[table.kind.name])
    );
    let mut statement = from.prepare_cached(&query)?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, table.read(row))))?;
    rows.collect()
}

/// Number, position and JSON of features that no row holds.
pub(crate) fn unfiled(from: &Connection) -> rusqlite::Result<Vec<(i64, Option<i64>, String)>> {
    let mut statement =
        from.prepare_cached("SELECT fid, position, feature FROM unfiled ORDER BY fid")?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    rows.collect()
}

fn put_settings(to: &Transaction<'_>, document: &Document) -> rusqlite::Result<()> {
    let (wanted, found) = (Settings::of(document), Settings::read(to)?);
    put_lines(to, "setting", "name", &wanted.settings, &found.settings)?;
    put_lines(to, "override", "path", &wanted.overrides, &found.overrides)?;
    let (unit, anchor) = Settings::plane(document);
    let plane = crs::definition(unit, anchor);
    to.execute(
        "UPDATE gpkg_spatial_ref_sys SET definition = ?1, definition_12_063 = ?2 WHERE srs_id = ?3",
        (plane.first, plane.second, PLANE),
    )?;
    Ok(())
}

fn put_lines(
    to: &Transaction<'_>,
    table: &str,
    name: &str,
    wanted: &[Line],
    found: &[Line],
) -> rusqlite::Result<()> {
    if wanted == found {
        return Ok(());
    }
    to.execute(&format!("DELETE FROM {table}"), [])?;
    let insert = format!("INSERT INTO {table} (part, {name}, value) VALUES (?1, ?2, ?3)");
    let mut insert = to.prepare_cached(&insert)?;
    for line in wanted {
        insert.execute((&line.0, &line.1, &line.2))?;
    }
    touch(to, table)
}

fn put_unfiled(to: &Transaction<'_>, wanted: Vec<(i64, String)>) -> rusqlite::Result<()> {
    let found: Vec<(Option<i64>, String)> = unfiled(to)?
        .into_iter()
        .map(|(_, position, text)| (position, text))
        .collect();
    let same = |(w, f): (&(i64, String), &(Option<i64>, String))| Some(w.0) == f.0 && w.1 == f.1;
    if wanted.len() == found.len() && wanted.iter().zip(&found).all(same) {
        return Ok(());
    }
    to.execute("DELETE FROM unfiled", [])?;
    let mut insert =
        to.prepare_cached("INSERT INTO unfiled (position, feature) VALUES (?1, ?2)")?;
    for line in wanted {
        insert.execute(line)?;
    }
    touch(to, "unfiled")
}

fn put_rows(to: &Transaction<'_>, table: &Table, wanted: Vec<Row>) -> rusqlite::Result<()> {
    let mut known: BTreeMap<Option<String>, VecDeque<(i64, Option<Row>)>> = BTreeMap::new();
    for (fid, row) in rows(to, table)? {
        let row = row.ok();
        let id = row.as_ref().and_then(|row| row.id.clone());
        known.entry(id).or_default().push_back((fid, row));
    }
    let mut changed = false;
    let mut new = Vec::new();
    let mut update = to.prepare_cached(&update_of(table))?;
    for row in &wanted {
        match known.get_mut(&row.id).and_then(VecDeque::pop_front) {
            None => new.push(row),
            Some((_, Some(found))) if found == *row => {}
            Some((fid, _)) => {
                let mut values = table.values(row);
                values.push(&fid as &dyn ToSql);
                update.execute(values.as_slice())?;
                changed = true;
            }
        }
    }
    let name = quoted(&[table.kind.name]);
    let mut delete = to.prepare_cached(&format!("DELETE FROM {name} WHERE fid = ?1"))?;
    for (fid, _) in known.values().flatten() {
        delete.execute([fid])?;
        changed = true;
    }
    let mut insert = to.prepare_cached(&insert_of(table))?;
    for row in new {
        insert.execute(table.values(row).as_slice())?;
        changed = true;
    }
    if changed {
        touch(to, table.kind.name)?;
    }
    if changed && table.shaped {
        put_extent(to, table.kind.name, &extent_of(&wanted))?;
    }
    Ok(())
}

fn extent_of(rows: &[Row]) -> Extent {
    let mut all = Extent::NOTHING;
    for blob in rows.iter().filter_map(|row| row.geometry.as_ref()) {
        if let Ok(one) = extent(blob) {
            all.join(&one);
        }
    }
    all
}

/// States the extent of a table's shapes; of none, nothing.
pub(crate) fn put_extent(to: &Transaction<'_>, table: &str, all: &Extent) -> rusqlite::Result<()> {
    let side = |value: f64| (!all.is_nothing()).then_some(value);
    to.execute(
        "UPDATE gpkg_contents SET min_x = ?1, min_y = ?2, max_x = ?3, max_y = ?4 WHERE table_name = ?5",
        (side(all.min_x), side(all.min_y), side(all.max_x), side(all.max_y), table),
    )?;
    Ok(())
}

/// Notes when a table was changed.
fn touch(to: &Transaction<'_>, table: &str) -> rusqlite::Result<()> {
    to.execute(
        "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ', 'now') WHERE table_name = ?1",
        [table],
    )?;
    Ok(())
}

fn update_of(table: &Table) -> String {
    let columns = table.columns();
    let set: Vec<String> = columns
        .iter()
        .enumerate()
        .map(|(n, column)| format!("{} = ?{}", quoted(&[column]), n + 1))
        .collect();
    let (name, last) = (quoted(&[table.kind.name]), columns.len() + 1);
    format!("UPDATE {name} SET {} WHERE fid = ?{last}", set.join(", "))
}

fn insert_of(table: &Table) -> String {
    insert_into(table.kind.name, &table.columns())
}

/// An insertion of one row.
pub(crate) fn insert_into(table: &str, columns: &[&str]) -> String {
    let marks: Vec<String> = (1..=columns.len()).map(|n| format!("?{n}")).collect();
    format!(
        "INSERT INTO {} ({}) VALUES ({})",
        quoted(&[table]),
        quoted(columns),
        marks.join(", ")
    )
}

/// Names as SQL writes them, with commas between.
pub(crate) fn quoted(names: &[&str]) -> String {
    let quoted: Vec<String> = names
        .iter()
        .map(|name| format!("\"{}\"", name.replace('"', "\"\"")))
        .collect();
    quoted.join(", ")
}
