//! Pipe sizes: the smallest that keep the velocity, then larger ones where an outlet lacks
//! pressure, always the one that gains most pressure for its price, then back where nothing needs
//! them.
//!
//! What always holds: in a line no pipe is smaller than one it feeds, and the service is not
//! smaller than the main nor than the size given for it. The result is good, not proven least in
//! price.

use crate::friction::velocity;
use crate::model::{Model, Sizes, State, worst};
use quantity::{Length, Pressure};
use routes::LineKind;

/// A lack smaller than this is none.
const NO_LACK: Pressure = Pressure::pa(1.0);

/// The sizes of all sections.
pub(crate) fn choose(model: &Model) -> Sizes {
    let least = by_velocity(model);
    let mut sizes = least.clone();
    let wanted = reachable(model);
    while let Some((circuit, tap)) = worst_lack(model, &sizes, &wanted) {
        match best_step(model, &sizes, circuit, tap) {
            Some(next) => sizes = next,
            None => break,
        }
    }
    trim(model, &least, &mut sizes);
    sizes
}

/// The smallest sizes that keep the velocity and the order of sizes; the largest where none does.
pub(crate) fn by_velocity(model: &Model) -> Sizes {
    let sections = &model.piping.sections;
    let limit = model.job.practice.water.velocity_limit.value;
    let mut sizes: Sizes = sections
        .iter()
        .map(|section| {
            let fits = |s: &job::practice::PipeSize| velocity(section.flow, s.inside) <= limit;
            let all = &section.family.sizes;
            all.iter().position(fits).unwrap_or(all.len() - 1)
        })
        .collect();
    for (i, section) in sections.iter().enumerate() {
        if model.network.lines[section.line].kind == LineKind::Service {
            sizes[i] = sizes[i].max(service_size(model, i));
        }
    }
    // Sections stand behind the ones that feed them within a line; the service may stand anywhere,
    // so each is carried all the way up.
    for i in 0..sections.len() {
        raise_above(model, &mut sizes, i);
    }
    sizes
}

/// The place of the given service size in its family; the smallest if it has no such size.
fn service_size(model: &Model, section: usize) -> usize {
    let name = &model.job.system.source.service_size;
    let all = &model.piping.sections[section].family.sizes;
    all.iter().position(|s| s.name == *name).unwrap_or(0)
}

/// Makes every pipe above a section at least as large as the section.
fn raise_above(model: &Model, sizes: &mut Sizes, section: usize) {
    let sections = &model.piping.sections;
    let way = std::iter::successors(sections[section].above, |s| sections[*s].above);
    for above in way {
        sizes[above] = sizes[above].max(sizes[section]);
    }
}

/// The sizes with everything at its largest.
pub(crate) fn largest(model: &Model) -> Sizes {
    let sections = model.piping.sections.iter();
    sections.map(|s| s.family.sizes.len() - 1).collect()
}

/// For every circuit and tap, whether the largest pipes would give it its pressure: only such lacks
/// are worth larger pipe.
fn reachable(model: &Model) -> Vec<Vec<bool>> {
    let sizes = largest(model);
    let ways = model.piping.ways.iter();
    ways.map(|way| {
        let state = model.state(way, &sizes, 1.0);
        let enough = |(tap, p): (usize, &Option<Pressure>)| {
            p.is_some_and(|p| p >= way.taps[tap].outlet.pressure)
        };
        state.outlets.iter().enumerate().map(enough).collect()
    })
    .collect()
}

/// The circuit and tap that lack most among those that larger pipe can help.
fn worst_lack(model: &Model, sizes: &Sizes, wanted: &[Vec<bool>]) -> Option<(usize, usize)> {
    let mut worst: Option<(Pressure, usize, usize)> = None;
    for (c, way) in model.piping.ways.iter().enumerate() {
        let state = model.state(way, sizes, 1.0);
        for (t, pressure) in state.outlets.iter().enumerate() {
            let Some(pressure) = pressure.filter(|_| wanted[c][t]) else {
                continue;
            };
            let lack = way.taps[t].outlet.pressure - pressure;
            if lack > NO_LACK && worst.is_none_or(|(most, _, _)| lack > most) {
                worst = Some((lack, c, t));
            }
        }
    }
    worst.map(|(_, c, t)| (c, t))
}

/// The sizes after the one step up on the way to a tap that gains most pressure for its price; the
/// one nearest the source in a tie.
fn best_step(model: &Model, sizes: &Sizes, circuit: usize, tap: usize) -> Option<Sizes> {
    let way = &model.piping.ways[circuit];
    let runs = model.way_to_tap(way, tap);
    let lost = |sizes: &Sizes| -> Pressure {
        let losses = runs.iter().map(|run| {
            let flow = model.flow_in(*run, way);
            model.loss(*run, flow, sizes).total()
        });
        losses.sum::<Pressure>() + model.valve_tee_loss(way, way.flow, sizes)
    };
    let before = lost(sizes);
    let mut sections: Vec<usize> = runs.iter().map(|r| model.piping.runs[*r].section).collect();
    sections.dedup();
    let mut best: Option<(f64, usize)> = None;
    for section in sections {
        let Some(next) = step_up(model, sizes, section) else {
            continue;
        };
        let gain = (before - lost(&next)).to_pa();
        let worth = gain / extra_price(model, sizes, &next, section).max(1e-6);
        if gain > 0.0 && best.is_none_or(|(most, _)| worth > most) {
            best = Some((worth, section));
        }
    }
    best.and_then(|(_, section)| step_up(model, sizes, section))
}

/// The sizes with a section one size larger and what feeds it at least as large.
fn step_up(model: &Model, sizes: &Sizes, section: usize) -> Option<Sizes> {
    let more = sizes[section] + 1;
    (more < model.piping.sections[section].family.sizes.len()).then(|| {
        let mut next = sizes.clone();
        next[section] = more;
        raise_above(model, &mut next, section);
        next
    })
}

/// What a step costs in the section and in those that feed it; nothing else has changed.
fn extra_price(model: &Model, before: &Sizes, after: &Sizes, section: usize) -> f64 {
    let sections = &model.piping.sections;
    std::iter::successors(Some(section), |s| sections[*s].above)
        .filter(|s| before[*s] != after[*s])
        .map(|s| section_price(model, s, after[s]) - section_price(model, s, before[s]))
        .sum()
}

/// Price of a section in a size. Where the price book has none, the inside diameter stands for it,
/// so that larger pipe still costs more.
fn section_price(model: &Model, section: usize, size: usize) -> f64 {
    let section = &model.piping.sections[section];
    let size = &section.family.sizes[size];
    let book = model.job.prices.pipe.get(section.key);
    let per_m = book
        .and_then(|sizes| sizes.get(&size.name))
        .map_or(size.inside.to_m(), |price| price.value.to_units());
    per_m * section.length.to_m()
}

/// Takes back every size that nothing needs, where it saves most first, until none is left.
fn trim(model: &Model, least: &Sizes, sizes: &mut Sizes) {
    let floor = floors(model, sizes);
    loop {
        let mut changed = false;
        for section in by_saving(model, least, sizes) {
            sizes[section] -= 1;
            if in_order(model, sizes, section) && holds(model, sizes, section, &floor) {
                changed = true;
            } else {
                sizes[section] += 1;
            }
        }
        if !changed {
            break;
        }
    }
}

/// The sections that are larger than the velocity asks for, by what a size less saves.
fn by_saving(model: &Model, least: &Sizes, sizes: &Sizes) -> Vec<usize> {
    let saving =
        |s: usize| section_price(model, s, sizes[s]) - section_price(model, s, sizes[s] - 1);
    let mut order: Vec<(f64, usize)> = (0..sizes.len())
        .filter(|s| sizes[*s] > least[*s])
        .map(|s| (saving(s), s))
        .collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    order.into_iter().map(|(_, section)| section).collect()
}

/// What each tap must keep: what it needs, or what it has if that is less.
fn floors(model: &Model, sizes: &Sizes) -> Vec<Vec<Option<Pressure>>> {
    let ways = model.piping.ways.iter();
    ways.map(|way| {
        let state = model.state(way, sizes, 1.0);
        let floor = |(tap, p): (usize, &Option<Pressure>)| {
            p.map(|p| p.min(way.taps[tap].outlet.pressure) - NO_LACK)
        };
        state.outlets.iter().enumerate().map(floor).collect()
    })
    .collect()
}

/// Whether a section is still no smaller than what it feeds.
fn in_order(model: &Model, sizes: &Sizes, section: usize) -> bool {
    model
        .piping
        .sections
        .iter()
        .enumerate()
        .all(|(i, s)| s.above != Some(section) || sizes[i] <= sizes[section])
}

fn holds(model: &Model, sizes: &Sizes, section: usize, floor: &[Vec<Option<Pressure>>]) -> bool {
    let touched = |way: &crate::piping::Way| {
        let runs = &model.piping.sections[section].runs;
        runs.iter()
            .any(|r| way.laterals.contains(r) || way.upstream.contains(r))
    };
    model.piping.ways.iter().zip(floor).all(|(way, floor)| {
        !touched(way) || {
            let state = model.state(way, sizes, 1.0);
            state.outlets.iter().zip(floor).all(|(p, least)| p >= least)
        }
    })
}

/// The share of its flow at which a circuit would give all its outlets their pressure with these
/// sizes; `None` if even the least flow would not.
pub(crate) fn workable_share(model: &Model, circuit: usize, sizes: &Sizes) -> Option<f64> {
    let way = &model.piping.ways[circuit];
    let works = |share: f64| {
        worst(way, &model.state(way, sizes, share))
            .is_none_or(|(tap, p)| p >= way.taps[tap].outlet.pressure)
    };
    let (mut low, mut high) = (0.0, 1.0);
    if !works(low) {
        return None;
    }
    // Forty halvings are finer than any flow can be set.
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if works(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}

/// Highest less lowest pressure among the outlets of a circuit.
pub(crate) fn spread(state: &State) -> Pressure {
    let reached = || state.outlets.iter().flatten().copied();
    let most = reached().reduce(Pressure::max);
    let least = reached().reduce(Pressure::min);
    most.zip(least).map_or(Pressure::ZERO, |(m, l)| m - l)
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
