//! GeoJSON in longitude and latitude (RFC 7946).
//!
//! [`write`](fn@write) puts the job's features and the layers of its plan on the Earth by the job's anchor; the
//! header goes along as the member `spadework_geographic`, so that [`read`] gives the complete job again, its
//! places within 0.1 mm. GeoJSON from elsewhere is read by its property `kind` or by a mapping.

mod foreign;
mod own;
mod write;

use job::Finding;
use serde_json::Value;

use crate::{Imported, Mapping, Options, Target, decode, limits};

pub use write::write;

/// How findings call the file.
pub(crate) const SUBJECT: &str = "GeoJSON file";
/// The member that holds a job's header in a file of ours.
const HEADER: &str = "spadework_geographic";
/// The property of a feature that is a row of a plan's layer, not of the job.
const LAYER: &str = "spadework_layer";

/// Most values in a file, objects counted as several: what is parsed takes many times its size in memory.
const MOST_WEIGHT: usize = 3_000_000;

/// Reads GeoJSON.
///
/// A file of ours goes into the target's plane; if the target has neither an anchor nor ids that are taken, the
/// file's own unit and anchor hold. For other files, if the target has no anchor, one is chosen: the middle of
/// what is there.
///
/// # Errors
/// If it is not GeoJSON, not in longitude and latitude, or too large.
pub fn read(
    bytes: &[u8],
    target: &Target,
    mapping: &Mapping,
    options: &Options,
) -> Result<Imported, Vec<Finding>> {
    limits::size(bytes, SUBJECT)?;
    weigh(bytes)?;
    let mut notes = Vec::new();
    let text = decode::text(bytes, SUBJECT, &mut notes)?;
    let value: Value = serde_json::from_str(&text).map_err(|error| {
        let mend = "export it again; a file that was cut off has to be fetched anew";
        vec![Finding::error(
            "not-json",
            SUBJECT,
            format!("is not JSON: {error}"),
            mend,
        )]
    })?;
    if value.get("spadework").is_some() {
        return Err(vec![Finding::error(
            "plane-job",
            SUBJECT,
            "is a job file in plane coordinates, not in longitude and latitude",
            "open it as a job file",
        )]);
    }
    let mut imported = if value.get(HEADER).is_some() {
        own::read(value, target, options)?
    } else {
        foreign::read(value, target, mapping, options)?
    };
    imported.report.notes.extend(notes);
    Ok(imported)
}

/// Refuses a text that would flood the memory when parsed.
fn weigh(bytes: &[u8]) -> Result<(), Vec<Finding>> {
    let weight: usize = bytes
        .iter()
        .map(|byte| match byte {
            b'{' => 6,
            b',' | b'[' => 1,
            _ => 0,
        })
        .sum();
    if weight > MOST_WEIGHT {
        return Err(limits::too_many(SUBJECT, "values", MOST_WEIGHT));
    }
    Ok(())
}

/// A place of GeoJSON: two numbers, more of them are heights.
fn pair(value: &Value) -> Option<(f64, f64)> {
    let list = value.as_array()?;
    let (x, y) = (list.first()?.as_f64()?, list.get(1)?.as_f64()?);
    (x.is_finite() && y.is_finite()).then_some((x, y))
}

#[cfg(test)]
mod tests;
