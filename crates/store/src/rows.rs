//! Features as rows of the table of their kind, and back.
//!
//! Nothing of a feature is lost: what a row cannot hold stands in its column `more`, and a feature that would
//! not come back from a row as it was is kept as JSON.

use job::{KindParts, number};
use rusqlite::types::{ToSqlOutput, Value as Sql, ValueRef};
use rusqlite::{Connection, ToSql};
use serde_json::{Map, Value, json};

use crate::geometry;

/// The table of a kind of feature.
#[derive(Debug)]
pub(crate) struct Table {
    pub kind: KindParts,
    /// Whether its features have shapes at all.
    pub shaped: bool,
    /// For each property of the kind, whether its column holds yes or no.
    flags: Vec<bool>,
}

/// A value in the column of a property.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cell {
    Text(String),
    Flag(bool),
}

/// A feature as it stands in the table of its kind.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Row {
    pub position: Option<i64>,
    pub id: Option<String>,
    pub geometry: Option<Vec<u8>>,
    pub cells: Vec<Option<Cell>>,
    pub note: Option<String>,
    pub more: Option<String>,
}

/// Where a feature is kept.
#[derive(Debug, PartialEq)]
pub(crate) enum Filed {
    /// In the table of this number, among all kinds.
    Row(usize, Row),
    /// As JSON, since no row holds it.
    Unfiled(String),
}

impl ToSql for Cell {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(match self {
            Self::Text(text) => ToSqlOutput::Borrowed(ValueRef::Text(text.as_bytes())),
            Self::Flag(flag) => ToSqlOutput::Owned(Sql::Integer(i64::from(*flag))),
        })
    }
}

impl Table {
    /// The tables of all kinds of a file, in the order of the kinds.
    pub fn all(connection: &Connection) -> rusqlite::Result<Vec<Self>> {
        job::kinds()
            .map(|kind| Self::of(connection, kind))
            .collect()
    }

    fn of(connection: &Connection, kind: KindParts) -> rusqlite::Result<Self> {
        let mut statement =
            connection.prepare_cached("SELECT type FROM pragma_table_info(?1) WHERE name = ?2")?;
        let mut flags = Vec::new();
        for property in kind.properties {
            let holds: String = statement.query_row([kind.name, property], |row| row.get(0))?;
            flags.push(holds.eq_ignore_ascii_case("BOOLEAN"));
        }
        Ok(Self {
            kind,
            shaped: kind.geometry != ["null"],
            flags,
        })
    }

    /// The columns of a row, in the order in which [`Row`] gives them.
    pub fn columns(&self) -> Vec<&'static str> {
        let shape = self.shaped.then_some("geom");
        let ends = ["note", "more"];
        ["position", "id"]
            .into_iter()
            .chain(shape)
            .chain(self.kind.properties.iter().copied())
            .chain(ends)
            .collect()
    }

    /// The values of a row for its columns.
    pub fn values<'a>(&self, row: &'a Row) -> Vec<&'a dyn ToSql> {
        let mut values: Vec<&dyn ToSql> = vec![&row.position, &row.id];
        if self.shaped {
            values.push(&row.geometry);
        }
        values.extend(row.cells.iter().map(|cell| cell as &dyn ToSql));
        values.push(&row.note);
        values.push(&row.more);
        values
    }

    /// Reads a row whose first column is something else and whose others are [`Table::columns`].
    pub fn read(&self, row: &rusqlite::Row<'_>) -> Result<Row, String> {
        let mut at = 0;
        let mut next = || {
            at += 1;
            row.get_ref(at).map_err(|error| error.to_string())
        };
        let position = match next()? {
            ValueRef::Integer(position) => Some(position),
            _ => None,
        };
        let id = text(next()?)?;
        let geometry = match self.shaped.then(&mut next).transpose()? {
            None | Some(ValueRef::Null) => None,
            Some(ValueRef::Blob(blob)) => Some(blob.to_vec()),
            Some(_) => return Err("has a shape that is no shape".to_owned()),
        };
        let mut cells = Vec::new();
        for &flag in &self.flags {
            cells.push(match next()? {
                ValueRef::Integer(number) if flag => Some(Cell::Flag(number != 0)),
                other => text(other)?.map(Cell::Text),
            });
        }
        Ok(Row {
            position,
            id,
            geometry,
            cells,
            note: text(next()?)?,
            more: text(next()?)?,
        })
    }

    /// The feature of a row.
    pub fn feature(&self, row: &Row) -> Result<Value, String> {
        let mut properties = Map::new();
        properties.insert("kind".to_owned(), Value::from(self.kind.name));
        for (name, cell) in self.kind.properties.iter().zip(&row.cells) {
            let value = match cell {
                None => continue,
                Some(Cell::Text(text)) => Value::from(text.as_str()),
                Some(Cell::Flag(flag)) => Value::from(*flag),
            };
            properties.insert((*name).to_owned(), value);
        }
        if let Some(note) = &row.note {
            properties.insert("note".to_owned(), Value::from(note.as_str()));
        }
        if let Some(more) = &row.more {
            let more: Map<String, Value> = serde_json::from_str(more)
                .map_err(|error| format!("has a column `more` that is no JSON: {error}"))?;
            properties.extend(more);
        }
        let geometry = match &row.geometry {
            None => Value::Null,
            Some(blob) => {
                geometry::to_json(blob).map_err(|what| format!("has a shape that {what}"))?
            }
        };
        let mut feature = json!({ "type": "Feature" });
        if let Some(id) = &row.id {
            feature["id"] = Value::from(id.as_str());
        }
        feature["geometry"] = geometry;
        feature["properties"] = Value::from(properties);
        Ok(feature)
    }

    /// The row of a feature of this kind, if a row can hold it.
    fn row(&self, position: usize, feature: &Value) -> Option<Row> {
        let id = match feature.get("id") {
            None => None,
            Some(id) => Some(id.as_str()?.to_owned()),
        };
        let geometry = match feature.get("geometry")? {
            Value::Null => None,
            shape if self.takes(shape) => Some(geometry::from_json(shape)?),
            _ => return None,
        };
        let mut more = feature.get("properties")?.as_object()?.clone();
        more.shift_remove("kind");
        let mut row = Row {
            position: Some(position as i64),
            id,
            geometry,
            ..Row::default()
        };
        for (name, &flag) in self.kind.properties.iter().zip(&self.flags) {
            let cell = match more.get(*name) {
                Some(Value::String(text)) if !flag => Some(Cell::Text(text.clone())),
                Some(Value::Bool(value)) if flag => Some(Cell::Flag(*value)),
                _ => None,
            };
            if cell.is_some() {
                more.shift_remove(*name);
            }
            row.cells.push(cell);
        }
        if let Some(Value::String(note)) = more.get("note") {
            row.note = Some(note.clone());
            more.shift_remove("note");
        }
        row.more = (!more.is_empty()).then(|| Value::from(more).to_string());
        Some(row)
    }

    fn takes(&self, shape: &Value) -> bool {
        let sort = shape.get("type").and_then(Value::as_str);
        self.shaped && sort.is_some_and(|sort| self.kind.geometry.contains(&sort))
    }
}

impl Filed {
    /// Where the feature at a position is kept.
    pub fn of(tables: &[Table], position: usize, feature: &Value) -> Self {
        let kind = feature.pointer("/properties/kind").and_then(Value::as_str);
        let at = tables.iter().position(|t| Some(t.kind.name) == kind);
        let row = at.and_then(|at| tables[at].row(position, feature).map(|row| (at, row)));
        match row {
            // What comes back may differ in how numbers of places are written, and in nothing else.
            Some((at, row))
                if tables[at]
                    .feature(&row)
                    .is_ok_and(|back| back == plain(feature)) =>
            {
                Self::Row(at, row)
            }
            _ => Self::Unfiled(feature.to_string()),
        }
    }
}

/// A feature with the numbers of its places written in one way.
pub(crate) fn plain(feature: &Value) -> Value {
    let mut feature = feature.clone();
    if let Some(coordinates) = feature.pointer_mut("/geometry/coordinates") {
        rewrite(coordinates);
    }
    feature
}

fn rewrite(value: &mut Value) {
    match value {
        Value::Array(values) => values.iter_mut().for_each(rewrite),
        Value::Number(n) => {
            if let Some(float) = n.as_f64() {
                *value = number(float);
            }
        }
        _ => {}
    }
}

/// A text, whatever another program made of it.
fn text(value: ValueRef<'_>) -> Result<Option<String>, String> {
    Ok(match value {
        ValueRef::Null => None,
        ValueRef::Integer(number) => Some(number.to_string()),
        ValueRef::Real(number) => Some(number.to_string()),
        ValueRef::Text(bytes) => {
            let text = std::str::from_utf8(bytes).map_err(|_| "has a text that is not UTF-8")?;
            Some(text.to_owned())
        }
        ValueRef::Blob(_) => return Err("has bytes where a text has to be".to_owned()),
    })
}
