//! What may be done where few stones lie, what it costs and what risk it leaves.

use super::scoring::{Scoring, of_stretch};
use super::strength::scratch_limit;
use crate::contents::{Thing, Tube};
use crate::offers::{Book, Site, Way};
use crate::work;
use job::Job;
use job::practice::PipeSize;
use quantity::{Length, Money};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Something that may be done about stones beside pulled pipe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Precaution {
    /// What is done.
    pub what: String,
    /// Whether it can be done when pipe is pulled.
    pub possible: bool,
    /// What it costs on this stretch, not contained in the stretch's cost.
    pub cost: Money,
    /// What risk is left.
    pub left: String,
}

/// The precautions of a stretch; none where hardly a stone lies or no pipe.
pub(crate) fn of(book: &Book, site: &Site, way: &Way) -> Vec<Precaution> {
    let scoring = of_stretch(book.job, &site.stretch.ground, &site.layout);
    if scoring == Scoring::Clean || !site.layout.has_pipe() {
        return Vec::new();
    }
    let mut list = vec![first_pass(book, site, way)];
    let things = site.layout.placed.iter();
    list.extend(things.filter_map(|(thing, _)| heavier_wall(book, site, way, thing)));
    list.push(Precaution {
        what: "bedding of sand".to_owned(),
        possible: false,
        cost: Money::ZERO,
        left: "pulled pipe cannot be bedded; only an open trench can".to_owned(),
    });
    list
}

/// The blade goes through once without pipe: time and fuel of the machine once more.
fn first_pass(book: &Book, site: &Site, way: &Way) -> Precaution {
    let (job, method) = (book.job, book.method(way.method));
    let (stretch, cut) = (site.stretch, &way.cut);
    let bank = quantity::Volume::ZERO;
    let time = work::time_at_work(job, method, &stretch.ground, stretch.length, cut, bank);
    let labour = job.prices.labour.hour();
    let people = f64::from(method.crew.value);
    Precaution {
        what: "first pass with the blade and no pipe".to_owned(),
        possible: true,
        cost: labour.times(time.to_h() * people) + method.fuel_hour.value.times(time.to_h()),
        left:
            "finds and shifts stones in the way of the blade; those beside it stay, and how deep \
               they scratch is not known"
                .to_owned(),
    }
}

/// The same pipe of the family with the next heavier wall.
fn heavier_wall(book: &Book, site: &Site, way: &Way, thing: &Thing) -> Option<Precaution> {
    let (job, tube) = (book.job, thing.tube?);
    let most = book
        .method(way.method)
        .max_outside
        .as_ref()
        .map(|m| m.value);
    let (family, size) = heavier(job, thing.outside, tube, most)?;
    let price = |family: &str, size: &str| job.prices.pipe.get(family)?.get(size);
    let now = price(tube.family, tube.size)?.value;
    let then = price(family, &size.name)?.value;
    let rules = &job.practice.pull;
    let show = |wall: Length| scratch_limit(rules, wall).thickness().show(job.units);
    Some(Precaution {
        what: format!(
            "heavier wall for {}: {} {}",
            thing.what, job.practice.pipe[family].label, size.name
        ),
        possible: true,
        cost: (then - now).times(site.stretch.length.to_m()),
        left: format!(
            "stands a scratch of {} instead of {}; whether one is deeper is not known",
            show(size.wall()),
            show(tube.wall(thing.outside))
        ),
    })
}

/// Of the other families of the same material, the size with the least wall above this one's whose
/// bore is not smaller and that still goes through the machine.
fn heavier<'a>(
    job: &'a Job,
    outside: Length,
    tube: Tube,
    most: Option<Length>,
) -> Option<(&'a str, &'a PipeSize)> {
    let material = job.practice.pipe.get(tube.family)?.material;
    let wall = tube.wall(outside);
    job.practice
        .pipe
        .iter()
        .filter(|(name, f)| f.material == material && *name != tube.family)
        .flat_map(|(name, f)| f.sizes.iter().map(move |s| (name.as_str(), s)))
        .filter(|(_, s)| s.inside >= tube.inside && s.wall() > wall)
        .filter(|(_, s)| most.is_none_or(|most| s.outside <= most))
        .min_by(|(_, a), (_, b)| {
            a.wall()
                .total_cmp(&b.wall())
                .then(a.outside.total_cmp(&b.outside))
        })
}
