//! The functions that the triggers of a spatial index call: another program may have added one to a layer, and
//! its rows could not be changed without them.
//!
//! Source: OGC 12-128r18 (GeoPackage 1.3.1), annex F.3, extension `gpkg_rtree_index`.

use rusqlite::Connection;
use rusqlite::functions::{Context, FunctionFlags};
use rusqlite::types::ValueRef;

use crate::geometry::{Extent, extent};

type Side = fn(&Extent) -> f64;

/// Makes them known to a connection.
pub(crate) fn register(connection: &Connection) -> rusqlite::Result<()> {
    // Triggers of the file are not trusted, and may call only what can do no harm.
    let flags = FunctionFlags::SQLITE_UTF8
        | FunctionFlags::SQLITE_DETERMINISTIC
        | FunctionFlags::SQLITE_INNOCUOUS;
    let sides: [(&str, Side); 4] = [
        ("ST_MinX", |e| e.min_x),
        ("ST_MaxX", |e| e.max_x),
        ("ST_MinY", |e| e.min_y),
        ("ST_MaxY", |e| e.max_y),
    ];
    for (name, side) in sides {
        connection.create_scalar_function(name, 1, flags, move |context| {
            Ok(of(context).filter(|e| !e.is_nothing()).map(|e| side(&e)))
        })?;
    }
    connection.create_scalar_function("ST_IsEmpty", 1, flags, |context| {
        Ok(of(context).map(|e| e.is_nothing()))
    })
}

/// The extent of the shape that a function is asked about.
fn of(context: &Context<'_>) -> Option<Extent> {
    match context.get_raw(0) {
        ValueRef::Blob(blob) => extent(blob).ok(),
        _ => None,
    }
}
