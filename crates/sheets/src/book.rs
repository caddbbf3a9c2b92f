//! Sheets as one document.

use crate::block::number;
use crate::told::Told;
use crate::world::SheetWorld;
use crate::{Page, SheetError};
use serde::Serialize;

/// What a document is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// For the crew and the inspector.
    Sheets,
    /// For the customer.
    Offer,
}

/// What the templates are given.
#[derive(Serialize)]
struct Data<'a> {
    kind: Kind,
    job: String,
    invented: bool,
    begins: Option<&'a str>,
    version: Option<String>,
    foot: &'static str,
    pages: Vec<Page>,
}

const FOOT: &str = "Local codes, permits and the owners of buried services come before these sheets. No \
                    digging before every service is marked or cleared; dig by hand near every mark. These \
                    sheets know only the services that the survey names.";
const OFFER_FOOT: &str =
    "Local codes, permits and the water supplier's rules come before this offer.";

/// Letters of a job's name for which the head of a sheet has room.
const LONGEST_JOB: usize = 48;
/// Letters of a version's.
const LONGEST_VERSION: usize = 20;

fn short(words: &str, most: usize) -> String {
    if words.chars().count() <= most {
        return words.to_owned();
    }
    words.chars().take(most - 1).chain(['…']).collect()
}

/// The world in which pages are typeset in their order.
pub fn of(told: &Told, kind: Kind, mut pages: Vec<Page>) -> Result<SheetWorld, SheetError> {
    let mut files = Vec::new();
    for page in &mut pages {
        number(&mut page.blocks, &mut files);
    }
    let data = Data {
        kind,
        job: short(&told.job.name, LONGEST_JOB),
        invented: told.job.invented,
        begins: told.begins(),
        version: told.version.map(|version| short(version, LONGEST_VERSION)),
        foot: match kind {
            Kind::Sheets => FOOT,
            Kind::Offer => OFFER_FOOT,
        },
        pages,
    };
    let data = serde_json::to_string(&data).map_err(|e| SheetError::Typesetting(e.to_string()))?;
    SheetWorld::of(data, files)
}
