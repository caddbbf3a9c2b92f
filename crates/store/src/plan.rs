//! The latest plan: its own text, and its layers as tables that any geographic information system shows.

use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use job::{Document, ReadOptions};
use layers::{Cell, Holds, Layer, Shape, Sort};
use rusqlite::types::{ToSqlOutput, Value as Sql};
use rusqlite::{OptionalExtension, ToSql, Transaction};
use std::io::{self, Read, Write};

use crate::geometry::{Extent, PLANE, extent, line, point, polygon};
use crate::save::{insert_into, put_extent, quoted};
use crate::settings::Settings;
use crate::{Store, StoreError};

/// How the names of the tables of a plan begin.
const PREFIX: &str = "plan_";

/// Most bytes that the text of a plan takes, in a job file once it is inflated.
pub const LARGEST_PLAN: u64 = 1 << 29;

/// A plan as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredPlan {
    /// What it was made from, in whatever words its user compares by.
    pub basis: String,
    /// The text of the plan.
    pub plan: String,
}

/// Everything that a plan rests on: the job, and the user's own rules and prices laid under it.
pub fn basis(document: &Document, own: &ReadOptions) -> String {
    let texts = [&own.practice, &own.prices].into_iter().flatten();
    texts.fold(document.text(), |all, text| all + "\n" + text)
}

impl Store {
    /// Keeps a plan and its layers in place of the one before.
    ///
    /// # Errors
    /// If the file is in use or cannot be written; it is then as it was before.
    pub fn put_plan(&mut self, plan: &StoredPlan, layers: &[Layer]) -> Result<(), StoreError> {
        let (unit, _) = Settings::plane(&self.document()?);
        let packed = deflated(&plan.basis).and_then(|basis| Ok((basis, deflated(&plan.plan)?)));
        let (basis, text) = packed.map_err(|source| StoreError::System {
            path: self.path.clone(),
            doing: "written",
            source,
        })?;
        self.change(|to, _| {
            to.execute(
                "INSERT OR REPLACE INTO spadework_plan VALUES (1, ?1, ?2)",
                (basis, text),
            )?;
            drop_layers(to)?;
            for layer in layers {
                put_layer(to, layer, 1.0 / unit.to_m())?;
            }
            Ok(())
        })
    }

    /// The plan that was kept last, if any.
    ///
    /// # Errors
    /// If it cannot be read.
    pub fn plan(&self) -> Result<Option<StoredPlan>, StoreError> {
        let found = self.connection.query_row(
            "SELECT basis, plan FROM spadework_plan WHERE only_row = 1",
            [],
            |row| Ok((row.get::<_, Vec<u8>>(0)?, row.get::<_, Vec<u8>>(1)?)),
        );
        let found = found.optional().map_err(|error| self.unread(error))?;
        let Some((basis, plan)) = found else {
            return Ok(None);
        };
        let texts = inflated(&basis).and_then(|basis| Ok((basis, inflated(&plan)?)));
        let (basis, plan) = texts.map_err(|error| StoreError::Damaged {
            path: self.path.clone(),
            what: vec![format!("the plan in it cannot be read: {error}")],
        })?;
        Ok(Some(StoredPlan { basis, plan }))
    }
}

fn deflated(text: &str) -> io::Result<Vec<u8>> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(text.as_bytes())?;
    encoder.finish()
}

fn inflated(bytes: &[u8]) -> io::Result<String> {
    let mut text = String::new();
    let most = LARGEST_PLAN + 1;
    ZlibDecoder::new(bytes)
        .take(most)
        .read_to_string(&mut text)?;
    match text.len() as u64 > LARGEST_PLAN {
        true => Err(io::Error::other("it is too large")),
        false => Ok(text),
    }
}

fn drop_layers(to: &Transaction<'_>) -> rusqlite::Result<()> {
    let names: Vec<String> = {
        let mut statement = to.prepare(
            "SELECT table_name FROM gpkg_contents WHERE substr(table_name, 1, length(?1)) = ?1",
        )?;
        let rows = statement.query_map([PREFIX], |row| row.get(0))?;
        rows.collect::<Result<_, _>>()?
    };
    for name in names {
        // A spatial index that another program made goes with its table.
        to.execute_batch(&format!(
            "DROP TABLE IF EXISTS {}",
            quoted(&[&format!("rtree_{name}_geom")])
        ))?;
        to.execute("DELETE FROM gpkg_extensions WHERE table_name = ?1", [&name])?;
        to.execute(
            "DELETE FROM gpkg_geometry_columns WHERE table_name = ?1",
            [&name],
        )?;
        to.execute("DELETE FROM gpkg_contents WHERE table_name = ?1", [&name])?;
        to.execute_batch(&format!("DROP TABLE IF EXISTS {}", quoted(&[&name])))?;
    }
    Ok(())
}

fn put_layer(to: &Transaction<'_>, layer: &Layer, scale: f64) -> rusqlite::Result<()> {
    let name = match layer.name.starts_with(PREFIX) {
        true => layer.name.clone(),
        false => format!("{PREFIX}{}", layer.name),
    };
    let sort = match layer.sort {
        Sort::Point => "POINT",
        Sort::Line => "LINESTRING",
        Sort::Area => "POLYGON",
    };
    let mut columns = vec![
        "fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL".to_owned(),
        format!("geom {sort}"),
        "id TEXT".to_owned(),
    ];
    columns.extend(layer.columns.iter().map(|column| {
        let holds = match column.holds {
            Holds::Text => "TEXT",
            Holds::Whole => "INTEGER",
            Holds::Real => "DOUBLE",
            Holds::Flag => "BOOLEAN",
        };
        format!("{} {holds}", quoted(&[&column.name]))
    }));
    to.execute_batch(&format!(
        "CREATE TABLE {} ({})",
        quoted(&[&name]),
        columns.join(", ")
    ))?;
    to.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
         VALUES (?1, 'features', ?1, ?2, ?3)",
        (&name, &layer.title, PLANE),
    )?;
    to.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 0, 0)",
        (&name, sort, PLANE),
    )?;
    put_extent(to, &name, &put_rows(to, &name, layer, scale)?)
}

/// Writes the rows and tells their extent.
fn put_rows(
    to: &Transaction<'_>,
    name: &str,
    layer: &Layer,
    scale: f64,
) -> rusqlite::Result<Extent> {
    let mut columns = vec!["geom", "id"];
    columns.extend(layer.columns.iter().map(|column| column.name.as_str()));
    let mut insert = to.prepare(&insert_into(name, &columns))?;
    let mut all = Extent::NOTHING;
    for row in &layer.rows {
        let blob = blob(&row.shape, scale);
        if let Ok(one) = extent(&blob) {
            all.join(&one);
        }
        let cells: Vec<Value<'_>> = row.cells.iter().map(Value).collect();
        let mut values: Vec<&dyn ToSql> = vec![&blob, &row.id];
        values.extend(cells.iter().map(|cell| cell as &dyn ToSql));
        insert.execute(values.as_slice())?;
    }
    Ok(all)
}

fn blob(shape: &Shape, scale: f64) -> Vec<u8> {
    let place = |at: &geo::Coord| [at.x * scale, at.y * scale];
    let places = |line: &geo::LineString| line.0.iter().map(place).collect::<Vec<_>>();
    match shape {
        Shape::Point(at) => point(place(&at.0)),
        Shape::Line(path) => line(&places(path)),
        Shape::Area(area) => {
            let rings = std::iter::once(area.exterior()).chain(area.interiors());
            polygon(&rings.map(places).collect::<Vec<_>>())
        }
    }
}

struct Value<'a>(&'a Cell);

impl ToSql for Value<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(match self.0 {
            Cell::Empty => ToSqlOutput::Owned(Sql::Null),
            Cell::Text(text) => text.to_sql()?,
            Cell::Whole(number) => ToSqlOutput::Owned(Sql::Integer(*number)),
            Cell::Real(number) => ToSqlOutput::Owned(Sql::Real(*number)),
            Cell::Flag(flag) => ToSqlOutput::Owned(Sql::Integer(i64::from(*flag))),
        })
    }
}
