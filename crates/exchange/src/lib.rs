//! Jobs and plans in the formats of others: GeoJSON in longitude and latitude, DXF, survey points, GPX.
//!
//! A reader takes the bytes of a file, the [`Target`] that its features go into, the user's [`Mapping`] and
//! [`Options`], and gives [`Imported`] features with a [`Report`] of what was taken, what was left and why; or
//! every [`job::Finding`] that stands against the file. A writer takes a [`job::Document`] and the
//! [`layers::Layer`]s of its plan and gives text.
//!
//! Whatever the bytes, a reader ends, does not panic and keeps to its [`limits`]. What it takes is not yet held
//! against the rules of a job: [`job::Document::read`] does that. Does no I/O, computes nothing of the trade.

pub mod dxf;
pub mod geojson;
pub mod gpx;
pub mod limits;
pub mod plane;
pub mod points;

mod decode;
mod fit;
mod gather;
mod mapping;
mod report;
mod shape;
mod target;
mod thin;

pub use mapping::Mapping;
pub use report::{Entry, Report};
pub use target::{Imported, Options, Target, Unit};

/// Reads a file of some format.
pub type Reader = fn(&[u8], &Target, &Mapping, &Options) -> Result<Imported, Vec<job::Finding>>;

/// What a file's ending says that it is.
pub const READERS: [(&str, Reader); 6] = [
    ("dxf", dxf::read),
    ("geojson", geojson::read),
    ("json", geojson::read),
    ("csv", points::read),
    ("txt", points::read),
    ("gpx", gpx::read),
];

/// The reader for an ending, without its dot.
pub fn reader(ending: &str) -> Option<Reader> {
    let known = READERS
        .iter()
        .find(|(name, _)| ending.eq_ignore_ascii_case(name));
    known.map(|&(_, reader)| reader)
}

/// Coordinates of a job file: (x, y) in some unit.
pub(crate) type Xy = (f64, f64);
