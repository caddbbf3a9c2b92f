//! Whether a network is what it promises to be, from its geometry and the job alone.
//!
//! Shares nothing with the search: it has its own plane geometry and its own view of what is forbidden.
//! Plans are held against it in debug builds, and in every test of routes and plans.

mod forbidden;
mod geometry;

use crate::{Line, LineKind, Network, NodeId, NodeKind, Stretch, StretchId};
use forbidden::{Cover, Thing, things};
use geometry::{angle, apart, crossing_share, line_parts, off_part, samples};
use job::{Job, Place};
use std::collections::BTreeSet;

/// Metres that count as nothing.
const SLACK: f64 = 1e-3;
/// How far inside an outline a component at a wall may stand, and the trench to it with it, metres.
const AT_THE_WALL: f64 = 0.011;
/// Places along a trench that are looked at are this far apart, metres.
const STEP: f64 = 0.01;

/// Everything that is wrong with a network, in words.
pub fn faults(job: &Job, network: &Network) -> Vec<String> {
    let mut faults = Vec::new();
    for (i, line) in network.lines.iter().enumerate() {
        tree(network, i, line, &mut faults);
    }
    components(job, network, &mut faults);
    for (id, stretch) in network.iter() {
        path(network, id, stretch, &mut faults);
    }
    ground(job, network, &mut faults);
    paving(job, network, &mut faults);
    services(job, network, &mut faults);
    turns(job, network, &mut faults);
    if network.bound > network.cost * (1.0 + 1e-9) {
        faults.push(format!(
            "bound {} above cost {}",
            network.bound, network.cost
        ));
    }
    faults
}

/// Bends, junctions and what takes one more bend, counted from the centre lines: a place is a bend if no
/// trench runs through it straighter than the practice's least bend, and a junction if three meet there;
/// each trench beyond the third and each neighbouring pair that is too sharp takes one more.
pub fn turning(job: &Job, network: &Network) -> [usize; 3] {
    let rules = &job.practice.trench;
    let (straight, least) = (
        rules.bend_from.value.to_rad(),
        rules.least_angle.value.to_rad(),
    );
    let mut counts = [0; 3];
    for arms in places_with_arms(network) {
        let bearings: Vec<f64> = arms
            .iter()
            .map(|(a, b)| (b.y - a.y).atan2(b.x - a.x))
            .collect();
        let pairs = || (0..arms.len()).flat_map(|i| (i + 1..arms.len()).map(move |j| (i, j)));
        let through = |(i, j): (usize, usize)| {
            apart(bearings[i], bearings[j]) > std::f64::consts::PI - straight
        };
        // Two are neighbours if no third lies in the smaller angle between them.
        let neighbours = |(i, j): (usize, usize)| {
            let wide = apart(bearings[i], bearings[j]);
            (0..arms.len()).filter(|k| *k != i && *k != j).all(|k| {
                let sum = apart(bearings[i], bearings[k]) + apart(bearings[k], bearings[j]);
                sum > wide + 1e-9
            })
        };
        counts[0] += usize::from(arms.len() > 1 && !pairs().any(through));
        counts[1] += usize::from(arms.len() > 2);
        let sharp = |p: &(usize, usize)| {
            apart(bearings[p.0], bearings[p.1]) < least - 1e-6 && neighbours(*p)
        };
        counts[2] += arms.len().saturating_sub(3) + pairs().filter(sharp).count();
    }
    counts
}

/// For each place of the network, the straight parts that leave it.
fn places_with_arms(network: &Network) -> Vec<Vec<(Place, Place)>> {
    let mut places = vec![Vec::new(); network.nodes.len()];
    for (_, stretch) in network.iter() {
        let path = &stretch.path;
        for at in path.windows(3) {
            places.push(vec![(at[1], at[0]), (at[1], at[2])]);
        }
        if let ([a, b, ..], [.., y, z]) = (path.as_slice(), path.as_slice()) {
            places[stretch.from.index()].push((*a, *b));
            places[stretch.to.index()].push((*z, *y));
        }
    }
    places
}

/// Turning is counted as the geometry shows it, it is the rest of the cost, and sharp junctions are
/// told.
fn turns(job: &Job, network: &Network, faults: &mut Vec<String>) {
    let t = &network.turning;
    let counted = turning(job, network);
    if counted != [t.bends, t.junctions, t.more] {
        faults.push(format!("turning is {counted:?}, but says {t:?}"));
    }
    if t.cost < 0.0 || network.bound > (network.cost - t.cost) * (1.0 + 1e-9) + 1e-9 {
        faults.push(format!("bound {} above digging and lines", network.bound));
    }
    let least = job.practice.trench.least_angle.value.to_rad() - 1e-6;
    for (i, node) in network.nodes.iter().enumerate() {
        if node.what != NodeKind::Junction {
            continue;
        }
        let meets =
            |s: &&(StretchId, &Stretch)| s.1.from == NodeId(i as u32) || s.1.to == NodeId(i as u32);
        let here: Vec<(StretchId, &Stretch)> = network.iter().collect();
        let here: Vec<_> = here.iter().filter(meets).collect();
        let bearing = |s: &Stretch| {
            let path = s.path_from(NodeId(i as u32));
            (path[1].y - path[0].y).atan2(path[1].x - path[0].x)
        };
        let told = |id: &StretchId| {
            let of = |f: &job::Finding| f.rule == "sharp-junction" && f.subject == id.to_string();
            network.findings.iter().any(of)
        };
        for (k, (first, a)) in here.iter().enumerate() {
            for (second, b) in &here[k + 1..] {
                let sharp = apart(bearing(a), bearing(b)) < least;
                if sharp && !told(first) && !told(second) {
                    faults.push(format!("{first} and {second} part sharply without a word"));
                }
            }
        }
    }
}

/// The stretches of a line form a tree that contains root and terminals, and its branches are these
/// stretches, each after the one that feeds it.
fn tree(network: &Network, index: usize, line: &Line, faults: &mut Vec<String>) {
    let carried: BTreeSet<StretchId> = network
        .iter()
        .filter(|(_, s)| s.carries.contains(&index))
        .map(|(id, _)| id)
        .collect();
    let listed: BTreeSet<StretchId> = line.branches.iter().map(|b| b.stretch).collect();
    if carried != listed || listed.len() != line.branches.len() {
        faults.push(format!(
            "{}: branches are not the stretches that carry it",
            line.name
        ));
    }
    let mut reached = BTreeSet::from([line.root]);
    for branch in &line.branches {
        let stretch = network.stretch(branch.stretch);
        let ends = BTreeSet::from([stretch.from, stretch.to]);
        if ends != BTreeSet::from([branch.from, branch.to]) {
            faults.push(format!("{}: {} has other ends", line.name, branch.stretch));
        }
        if !reached.contains(&branch.from) {
            faults.push(format!("{}: {} follows nothing", line.name, branch.stretch));
        }
        if !reached.insert(branch.to) {
            faults.push(format!("{}: {} closes a ring", line.name, branch.stretch));
        }
    }
    for terminal in line.terminals.iter().filter(|t| !reached.contains(t)) {
        faults.push(format!("{}: {terminal} is not reached", line.name));
    }
}

/// Every component of the job is on the line that it belongs to.
fn components(job: &Job, network: &Network, faults: &mut Vec<String>) {
    let system = &job.system;
    let valves: Vec<Place> = system.valves.iter().map(|v| v.at).collect();
    let mut wanted = vec![
        (
            LineKind::Service,
            vec![system.source.at, system.backflow.at],
        ),
        (
            LineKind::Main,
            [vec![system.backflow.at], valves.clone()].concat(),
        ),
    ];
    for circuit in &system.circuits {
        let mut places: Vec<Place> = job
            .valve_of(&circuit.id)
            .map(|v| v.at)
            .into_iter()
            .collect();
        places.extend(job.outlets_of(&circuit.id).map(|o| o.at));
        wanted.push((LineKind::Lateral(circuit.id.clone()), places));
    }
    if let Some(controller) = &system.controller {
        wanted.push((LineKind::Wire, [vec![controller.at], valves].concat()));
    }
    for cable in &system.cables {
        wanted.push((LineKind::Cable(cable.id.clone()), cable.points.clone()));
    }
    for (kind, places) in wanted {
        let apart = places.iter().any(|p| p.distance(places[0]) > SLACK);
        match network.lines.iter().find(|line| line.kind == kind) {
            Some(line) => on_line(network, line, &places, faults),
            None if apart => faults.push(format!("no line for {kind:?}")),
            None => {}
        }
    }
}

fn on_line(network: &Network, line: &Line, places: &[Place], faults: &mut Vec<String>) {
    let at = |node: NodeId| network.node(node).at;
    if at(line.root).distance(places[0]) > SLACK {
        faults.push(format!("{}: begins elsewhere", line.name));
    }
    let ends: Vec<Place> = std::iter::once(line.root)
        .chain(line.terminals.iter().copied())
        .map(at)
        .collect();
    for place in places {
        if ends.iter().all(|end| end.distance(*place) > SLACK) {
            faults.push(format!("{}: does not reach {place:?}", line.name));
        }
    }
}

fn path(network: &Network, id: StretchId, stretch: &Stretch, faults: &mut Vec<String>) {
    let (Some(first), Some(last)) = (stretch.path.first(), stretch.path.last()) else {
        return faults.push(format!("{id}: no path"));
    };
    let meets = |node: NodeId, end: &Place| network.node(node).at.distance(*end) < 1e-6;
    if !meets(stretch.from, first) || !meets(stretch.to, last) {
        faults.push(format!("{id}: does not begin and end at its nodes"));
    }
    let length: f64 = stretch.path.windows(2).map(|p| p[0].distance(p[1])).sum();
    if (length - stretch.length.to_m()).abs() > 1e-6 || length <= 0.0 {
        faults.push(format!(
            "{id}: {length} m long, but says {} m",
            stretch.length.to_m()
        ));
    }
    if stretch.carries.is_empty() || !stretch.carries.is_sorted() {
        faults.push(format!("{id}: carries {:?}", stretch.carries));
    }
}

/// Which ends of a stretch a run of it within clearances comes up to.
struct Run {
    stretch: StretchId,
    things: BTreeSet<String>,
    from: bool,
    to: bool,
}

/// Nothing is entered, and clearances are kept but for the way out of a component that stands in
/// one.
fn ground(job: &Job, network: &Network, faults: &mut Vec<String>) {
    let things = things(job);
    let mut runs = Vec::new();
    for (id, stretch) in network.iter() {
        let given = stretch
            .sleeve
            .as_ref()
            .is_some_and(|s| s.existing.is_some());
        if !given {
            runs.extend(runs_of(job, &things, id, stretch, faults));
        }
    }
    let mut excused = tucked(job, network, &things, faults);
    // A run that fills its stretch hands the excuse of one end on to the other.
    loop {
        let before = excused.len();
        for run in runs.iter().filter(|r| r.from && r.to) {
            let stretch = network.stretch(run.stretch);
            let (from, to) = (stretch.from, stretch.to);
            if excused.contains(&from) || excused.contains(&to) {
                excused.extend([from, to]);
            }
        }
        if excused.len() == before {
            break;
        }
    }
    for run in &runs {
        let stretch = network.stretch(run.stretch);
        let free = (run.from && excused.contains(&stretch.from))
            || (run.to && excused.contains(&stretch.to));
        if !free {
            faults.push(format!(
                "{}: within the clearance of {:?}",
                run.stretch, run.things
            ));
        }
    }
}

fn runs_of(
    job: &Job,
    things: &[Thing],
    id: StretchId,
    stretch: &Stretch,
    faults: &mut Vec<String>,
) -> Vec<Run> {
    let parts = || stretch.path.windows(2).map(|p| (p[0], p[1]));
    let near: Vec<&Thing> = things
        .iter()
        .filter(|thing| parts().any(|part| thing.may_crowd(part, SLACK)))
        .collect();
    for thing in near.iter().filter(|t| parts().any(|part| t.is_cut(part))) {
        faults.push(format!("{id}: cuts through {}", thing.id));
    }
    if near.is_empty() {
        return Vec::new();
    }
    let places = samples(&stretch.path, STEP);
    let mut runs: Vec<Run> = Vec::new();
    let mut open = false;
    for (i, place) in places.iter().enumerate() {
        let drawn = is_fixed(job, *place);
        // A trench that people have drawn may enter a clearance, but not what the clearance is for.
        let crowds = near.iter().filter(|thing| {
            thing.crowds(*place, SLACK) && !(drawn && thing.away(*place) >= -AT_THE_WALL)
        });
        let crowding: Vec<&&Thing> = crowds.collect();
        let sleeved = stretch.sleeve.is_some();
        for thing in crowding.iter().filter(|t| !(t.paving && sleeved)) {
            if thing.away(*place) < -AT_THE_WALL && !thing.paving {
                faults.push(format!("{id}: enters {} at {place:?}", thing.id));
            }
        }
        if crowding.is_empty() {
            open = false;
            continue;
        }
        if !open {
            runs.push(Run {
                stretch: id,
                things: BTreeSet::new(),
                from: i == 0,
                to: false,
            });
            open = true;
        }
        if let Some(run) = runs.last_mut() {
            run.things.extend(crowding.iter().map(|t| t.id.clone()));
            run.to = i + 1 == places.len();
        }
    }
    let under = |run: &Run| {
        let only_paving = things
            .iter()
            .filter(|t| run.things.contains(&t.id))
            .all(|t| t.paving);
        stretch.sleeve.is_some() && only_paving && !run.from && !run.to
    };
    runs.retain(|run| !under(run));
    runs
}

/// Whether a place lies on a trench that the job fixes.
fn is_fixed(job: &Job, place: Place) -> bool {
    let fixed = job.decisions.fixed.iter();
    let mut parts = fixed.flat_map(|trench| line_parts(&trench.line.0));
    parts.any(|part| off_part(place, part) < SLACK)
}

/// Nodes of components that stand within a clearance; each has its caution. Ends of sleeves that
/// the job gives count with them.
fn tucked(
    job: &Job,
    network: &Network,
    things: &[Thing],
    faults: &mut Vec<String>,
) -> BTreeSet<NodeId> {
    let mut found = BTreeSet::new();
    for (i, node) in network.nodes.iter().enumerate() {
        let id = NodeId(i as u32);
        let Some(feature) = node.what.component() else {
            let ends = job.system.sleeves.iter().flat_map(|s| [s.from, s.to]);
            if ends.into_iter().any(|end| end.distance(node.at) < SLACK) {
                found.insert(id);
            }
            continue;
        };
        if things.iter().any(|thing| thing.crowds(node.at, SLACK)) {
            found.insert(id);
            let told = |f: &&job::Finding| f.rule == "within-clearance" && f.subject == feature;
            if !network.findings.iter().any(|f| told(&f)) {
                faults.push(format!(
                    "{feature}: stands within a clearance without a caution"
                ));
            }
        }
    }
    found
}

/// The inside of paving is crossed only by stretches with a sleeve.
fn paving(job: &Job, network: &Network, faults: &mut Vec<String>) {
    let cover = Cover::of(job);
    for (id, stretch) in network.iter().filter(|(_, s)| s.sleeve.is_none()) {
        let places = samples(&stretch.path, 5.0 * STEP);
        if let Some(at) = places.iter().find(|p| cover.is_paved(**p, SLACK)) {
            faults.push(format!("{id}: under paving without a sleeve at {at:?}"));
        }
    }
}

/// Every crossing of a buried service is listed, with its angle, and flat or unmarked ones are
/// told.
fn services(job: &Job, network: &Network, faults: &mut Vec<String>) {
    let least = job.practice.utility.crossing_angle.value.to_rad();
    let told = |rule: &str, id: StretchId| {
        let of = |f: &job::Finding| f.rule == rule && f.subject == id.to_string();
        network.findings.iter().any(of)
    };
    for (id, stretch) in network.iter() {
        for utility in &job.survey.utilities {
            for part in stretch.path.windows(2).map(|p| (p[0], p[1])) {
                for service in line_parts(&utility.line.0) {
                    let Some(share) = crossing_share(part, service) else {
                        continue;
                    };
                    let at = part.0.toward(part.1, share);
                    let turn = angle(part, service);
                    let listed = network.crossings.iter().any(|c| {
                        c.stretch == id
                            && c.utility == utility.id
                            && c.at.distance(at) < SLACK
                            && (c.angle.to_rad() - turn).abs() < 1e-6
                    });
                    if !listed {
                        faults.push(format!("{id}: crosses {} at {at:?} unlisted", utility.id));
                    }
                    if turn < least - 1e-9 && !told("flat-crossing", id) {
                        faults.push(format!("{id}: flat over {} without a word", utility.id));
                    }
                    let known = utility.marked && utility.located;
                    if !known && !told("crosses-unmarked", id) {
                        faults.push(format!("{id}: {} unmarked without a word", utility.id));
                    }
                }
            }
        }
    }
    for crossing in &network.crossings {
        let on_path = network.stretch(crossing.stretch).path.windows(2);
        let on_path = on_path.map(|p| off_part(crossing.at, (p[0], p[1])));
        if on_path.fold(f64::INFINITY, f64::min) > SLACK {
            faults.push(format!(
                "{}: lists a crossing off its path",
                crossing.stretch
            ));
        }
    }
}
