//! Pictures of a plan to draw over, kept as tiles, so that other programs show them under the layers.

use rusqlite::Transaction;

use crate::geometry::{Extent, PLANE};
use crate::save::{put_extent, quoted};
use crate::{Store, StoreError};

/// How the names of their tables begin.
const PREFIX: &str = "underlay_";

/// A picture in the plane of the job, its sides along the axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// What it is called: letters a to z, digits and `_`.
    pub name: String,
    /// A PNG or a JPEG.
    pub bytes: Vec<u8>,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Least x and y, greatest x and y, in the length unit of the job.
    pub bounds: [f64; 4],
}

impl Store {
    /// Keeps a picture, in place of one of the same name.
    ///
    /// # Errors
    /// If the file is in use or cannot be written; it is then as it was before.
    pub fn put_picture(&mut self, picture: &Picture) -> Result<(), StoreError> {
        let name = format!("{PREFIX}{}", picture.name);
        self.change(|to, _| {
            drop_picture(to, &name)?;
            put(to, &name, picture)
        })
    }

    /// Takes a picture out; whether there was one.
    ///
    /// # Errors
    /// If the file is in use or cannot be written; it is then as it was before.
    pub fn drop_picture(&mut self, name: &str) -> Result<bool, StoreError> {
        let name = format!("{PREFIX}{name}");
        self.change(|to, _| drop_picture(to, &name))
    }

    /// All pictures, by name.
    ///
    /// # Errors
    /// If one cannot be read.
    pub fn pictures(&self) -> Result<Vec<Picture>, StoreError> {
        self.read_pictures().map_err(|error| self.unread(error))
    }

    fn read_pictures(&self) -> rusqlite::Result<Vec<Picture>> {
        let mut statement = self.connection.prepare(
            "SELECT s.table_name, m.tile_width, m.tile_height, s.min_x, s.min_y, s.max_x, s.max_y
             FROM gpkg_tile_matrix_set AS s JOIN gpkg_tile_matrix AS m USING (table_name)
             WHERE m.zoom_level = 0 AND m.matrix_width = 1 AND m.matrix_height = 1
               AND substr(s.table_name, 1, length(?1)) = ?1
             ORDER BY s.table_name",
        )?;
        let rows = statement.query_map([PREFIX], |row| {
            let name: String = row.get(0)?;
            Ok(Picture {
                name,
                bytes: Vec::new(),
                width: row.get(1)?,
                height: row.get(2)?,
                bounds: [row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?],
            })
        })?;
        let mut pictures: Vec<Picture> = rows.collect::<Result<_, _>>()?;
        for picture in &mut pictures {
            let query = format!("SELECT tile_data FROM {}", quoted(&[&picture.name]));
            picture.bytes = self.connection.query_row(&query, [], |row| row.get(0))?;
            picture.name = picture.name.split_off(PREFIX.len());
        }
        Ok(pictures)
    }
}

fn put(to: &Transaction<'_>, name: &str, picture: &Picture) -> rusqlite::Result<()> {
    let table = quoted(&[name]);
    // The form of the table is the standard's: OGC 12-128r18, clause 2.2.8.
    to.execute_batch(&format!(
        "CREATE TABLE {table} (
           id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
           zoom_level INTEGER NOT NULL,
           tile_column INTEGER NOT NULL,
           tile_row INTEGER NOT NULL,
           tile_data BLOB NOT NULL,
           UNIQUE (zoom_level, tile_column, tile_row)
         )"
    ))?;
    let [min_x, min_y, max_x, max_y] = picture.bounds;
    to.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
         VALUES (?1, 'tiles', ?1, 'A plan to draw over', ?2)",
        (name, PLANE),
    )?;
    let extent = Extent {
        min_x,
        max_x,
        min_y,
        max_y,
    };
    put_extent(to, name, &extent)?;
    to.execute(
        "INSERT INTO gpkg_tile_matrix_set VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        (name, PLANE, min_x, min_y, max_x, max_y),
    )?;
    to.execute(
        "INSERT INTO gpkg_tile_matrix VALUES (?1, 0, 1, 1, ?2, ?3, ?4, ?5)",
        (
            name,
            picture.width,
            picture.height,
            (max_x - min_x) / f64::from(picture.width.max(1)),
            (max_y - min_y) / f64::from(picture.height.max(1)),
        ),
    )?;
    to.execute(
        &format!(
            "INSERT INTO {table} (zoom_level, tile_column, tile_row, tile_data) VALUES (0, 0, 0, ?1)"
        ),
        [&picture.bytes],
    )?;
    Ok(())
}

fn drop_picture(to: &Transaction<'_>, name: &str) -> rusqlite::Result<bool> {
    to.execute_batch(&format!("DROP TABLE IF EXISTS {}", quoted(&[name])))?;
    to.execute("DELETE FROM gpkg_tile_matrix WHERE table_name = ?1", [name])?;
    to.execute(
        "DELETE FROM gpkg_tile_matrix_set WHERE table_name = ?1",
        [name],
    )?;
    let dropped = to.execute("DELETE FROM gpkg_contents WHERE table_name = ?1", [name])?;
    Ok(dropped > 0)
}
