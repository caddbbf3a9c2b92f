//! How large a file may be. All are limits of ours: beyond them a file is no plan of a garden, but an accident.

use job::Finding;

/// Largest file that is read, bytes.
pub const LARGEST_FILE: usize = 256 << 20;
/// Most things that are looked at in a file, copies of blocks included.
pub const MOST_ENTITIES: usize = 2_000_000;
/// Most features that are taken from a file.
pub const MOST_FEATURES: usize = 200_000;
/// Most places in all features that are taken.
pub const MOST_PLACES: usize = 1_000_000;
/// Most places in one ring or line, as in a job file.
pub const MOST_PLACES_IN_LINE: usize = 5_000;
/// How deep blocks may hold blocks.
pub const DEEPEST_BLOCK: usize = 32;
/// Most findings that are handed back.
pub const MOST_FINDINGS: usize = 200;
/// Farthest place from the origin of the plane, metres, as in a job file.
pub const FARTHEST: f64 = 1e7;

/// What stands against a file for its size alone.
pub(crate) fn size(bytes: &[u8], subject: &str) -> Result<(), Vec<Finding>> {
    if bytes.len() > LARGEST_FILE {
        let (is, may) = (bytes.len() >> 20, LARGEST_FILE >> 20);
        return Err(vec![Finding::error(
            "file-too-large",
            subject,
            format!("is {is} MiB large; {may} MiB are the most"),
            "export only the part of the drawing that concerns the property",
        )]);
    }
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(vec![Finding::error(
            "empty-file",
            subject,
            "has nothing in it",
            "export it again and look at its size",
        )]);
    }
    Ok(())
}

/// A file that holds more than is taken.
pub(crate) fn too_many(subject: &str, what: &str, most: usize) -> Vec<Finding> {
    vec![Finding::error(
        "too-much-in-file",
        subject,
        format!("holds more than {most} {what}"),
        "export or map only what concerns the property",
    )]
}
