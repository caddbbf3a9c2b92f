//! Which sizes a section may have, whatever the pressures.

use crate::closing;
use crate::friction::velocity;
use crate::model::{Model, Sizes};
use crate::piping::Way;
use quantity::Length;
use rayon::prelude::*;
use routes::LineKind;
use std::collections::BTreeSet;

/// For every section and size of its family whether it may be taken: it keeps the velocity, bears rest
/// and surge, and is not below the given service size. Where no size does all of that, surge counts no
/// more; where none keeps the velocity, the largest is taken.
pub(super) fn all(model: &Model) -> Vec<Vec<bool>> {
    let count = model.piping.sections.len();
    let through = through(model);
    let alone = |section: usize| {
        let slow = keeping_velocity(model, section);
        let passing = passing(model, &through, section);
        let bears = |size: usize| bears_surge(model, section, &passing, size);
        let both: Vec<bool> = slow
            .iter()
            .enumerate()
            .map(|(s, ok)| *ok && bears(s))
            .collect();
        if both.contains(&true) { both } else { slow }
    };
    let mut allowed: Vec<Vec<bool>> = (0..count).into_par_iter().map(alone).collect();
    // A pipe is not smaller than one it feeds: where nothing of that size is allowed above, the largest
    // there has to do below too.
    for section in 0..count {
        let Some(above) = model.piping.sections[section].above else {
            continue;
        };
        let least = allowed[section].iter().position(|a| *a).unwrap_or(0);
        if !allowed[above][least.min(allowed[above].len() - 1)..].contains(&true) {
            let way = std::iter::successors(Some(above), |s| model.piping.sections[*s].above);
            for above in way {
                for size in &mut allowed[above][least..] {
                    *size = true;
                }
            }
        }
    }
    allowed
}

fn keeping_velocity(model: &Model, section: usize) -> Vec<bool> {
    let this = &model.piping.sections[section];
    let limit = model.velocity_limit(section).value;
    let least = least_by_service(model, section);
    let keeps = |(i, s): (usize, &job::practice::PipeSize)| {
        i >= least && velocity(this.flow, s.inside) <= limit
    };
    let mut slow: Vec<bool> = this.family.sizes.iter().enumerate().map(keeps).collect();
    if !slow.contains(&true) {
        slow[this.family.sizes.len() - 1] = true;
    }
    slow
}

/// The place of the given service size in its family for the service, else of the smallest.
fn least_by_service(model: &Model, section: usize) -> usize {
    let this = &model.piping.sections[section];
    if model.network.lines[this.line].kind != LineKind::Service {
        return 0;
    }
    let name = &model.job.system.source.service_size;
    this.family
        .sizes
        .iter()
        .position(|s| s.name == *name)
        .unwrap_or(0)
}

/// The circuits that draw through each run on the way to their valves, in their order.
pub(super) fn through(model: &Model) -> Vec<Vec<usize>> {
    let piping = &model.piping;
    let mut through = vec![Vec::new(); piping.runs.len()];
    let ways = piping.ways.iter().enumerate();
    for (number, way) in ways.filter(|(_, way)| way.valve_node.is_some()) {
        for run in &way.upstream {
            through[*run].push(number);
        }
    }
    through
}

/// The circuits that draw through any of a section's runs.
fn passing<'m>(model: &'m Model<'_>, through: &[Vec<usize>], section: usize) -> Vec<&'m Way<'m>> {
    let runs = model.piping.sections[section].runs.iter();
    let ways: BTreeSet<usize> = runs.flat_map(|run| &through[*run]).copied().collect();
    ways.into_iter().map(|w| &model.piping.ways[w]).collect()
}

fn bears_surge(model: &Model, section: usize, passing: &[&Way], size: usize) -> bool {
    let runs = &model.piping.sections[section].runs;
    passing.iter().all(|way| {
        runs.iter()
            .all(|run| closing::may_bear(model, way, *run, size))
    })
}

/// The smallest allowed sizes, every pipe at least as large as what it feeds.
pub(super) fn smallest(model: &Model, allowed: &[Vec<bool>]) -> Sizes {
    let first = |sizes: &Vec<bool>| sizes.iter().position(|a| *a).unwrap_or(0);
    in_order(model, allowed.iter().map(first).collect())
}

/// The smallest sizes that keep the velocity, every pipe at least as large as what it feeds: what the
/// plain rule of velocity buys.
pub(super) fn by_velocity(model: &Model) -> Sizes {
    let sections = 0..model.piping.sections.len();
    let first = |s: usize| {
        keeping_velocity(model, s)
            .iter()
            .position(|a| *a)
            .unwrap_or(0)
    };
    in_order(model, sections.map(first).collect())
}

fn in_order(model: &Model, mut sizes: Sizes) -> Sizes {
    let sections = &model.piping.sections;
    for section in 0..sections.len() {
        let way = std::iter::successors(sections[section].above, |s| sections[*s].above);
        for above in way {
            let most = sections[above].family.sizes.len() - 1;
            sizes[above] = sizes[above].max(sizes[section]).min(most);
        }
    }
    sizes
}

/// The inside diameter of the given service size, if its family has it.
pub(crate) fn given_service(model: &Model) -> Option<Length> {
    let source = &model.job.system.source;
    let family = model.job.practice.pipe.get(&source.main_pipe)?;
    let size = family
        .sizes
        .iter()
        .find(|s| s.name == source.service_size)?;
    Some(size.inside)
}
