//! What pipe costs.

use super::length;
use crate::model::{Model, Sizes};

/// Price of a section in a size. Where the price book has none, the inside diameter stands for it,
/// so that larger pipe still costs more.
pub(super) fn of(model: &Model, section: usize, size: usize) -> f64 {
    let this = &model.piping.sections[section];
    let size = &this.family.sizes[size];
    let book = model.job.prices.pipe.get(this.key);
    let per_m = book
        .and_then(|sizes| sizes.get(&size.name))
        .map_or(size.inside.to_m(), |price| price.value.to_units());
    per_m * length(model, section).to_m()
}

/// Price of all pipe.
pub(crate) fn cost(model: &Model, sizes: &Sizes) -> f64 {
    (0..sizes.len()).map(|s| of(model, s, sizes[s])).sum()
}
