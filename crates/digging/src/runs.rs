//! Runs: stretches that continue one another in line, so that a machine goes on without setting up
//! again.

use job::{MethodId, Place};
use quantity::{Angle, Length};
use routes::{Lack, Network, NodeId, Stretch, StretchId};

/// Partition of the stretches into chains, each in the order along it. Two stretches that share a
/// node are in one chain where the turn between them is at most `limit`; of several candidates at a
/// node the straightest pair comes first, ties by number.
pub fn chains(network: &Network, limit: Angle) -> Vec<Vec<StretchId>> {
    let next = links(network, limit);
    let mut seen = vec![false; network.stretches.len()];
    let mut chains = Vec::new();
    let mut walk = |start: usize, from_end: usize, seen: &mut Vec<bool>| {
        let mut chain = Vec::new();
        let (mut at, mut entered) = (start, from_end);
        while !seen[at] {
            seen[at] = true;
            chain.push(StretchId(at as u32));
            let Some((stretch, end)) = next[at][1 - entered] else {
                break;
            };
            (at, entered) = (stretch, end);
        }
        chains.push(chain);
    };
    // Chains with a loose end first, from that end; what is left then are rings.
    for ring in [false, true] {
        for start in 0..next.len() {
            let loose = next[start].iter().position(Option::is_none);
            if !seen[start] && (ring || loose.is_some()) {
                walk(start, loose.unwrap_or(0), &mut seen);
            }
        }
    }
    chains
}

/// The longest pieces of chains in which `fits` holds throughout, each stretch of them in one.
pub fn runs(chains: &[Vec<StretchId>], fits: impl Fn(StretchId) -> bool) -> Vec<&[StretchId]> {
    let pieces = chains.iter().flat_map(|chain| chain.split(|id| !fits(*id)));
    pieces.filter(|run| !run.is_empty()).collect()
}

/// Length of the stretches of a run.
pub fn length(network: &Network, run: &[StretchId]) -> Length {
    run.iter().map(|id| network.stretch(*id).length).sum()
}

/// What is left of a run for a method that stands beyond one of its ends, and what it lacks beyond an
/// end of the whole. All is left where there is room beyond an end; else the stretches at the ends go,
/// the shorter one first, until there is.
pub fn with_room<'a>(
    network: &Network,
    mut run: &'a [StretchId],
    method: &MethodId,
) -> (&'a [StretchId], Option<Lack>) {
    let mut lacks = None;
    while let (Some(first), Some(last)) = (run.first(), run.last()) {
        let begin = loose_end(network, *first, run.get(1), 0);
        let end = loose_end(network, *last, run.iter().rev().nth(1), 1);
        let before = lack(network, *first, begin, method);
        let after = lack(network, *last, end, method);
        let (Some(before), Some(_)) = (before, after) else {
            break;
        };
        lacks.get_or_insert(before);
        let length = |id: &StretchId| network.stretch(*id).length;
        run = if length(first) <= length(last) {
            &run[1..]
        } else {
            &run[..run.len() - 1]
        };
    }
    (run, lacks)
}

/// The end (0 `from`, 1 `to`) of a stretch that it does not share with its neighbour in a run.
fn loose_end(network: &Network, id: StretchId, next: Option<&StretchId>, alone: usize) -> usize {
    let stretch = network.stretch(id);
    next.map_or(alone, |next| {
        let next = network.stretch(*next);
        usize::from(next.from == stretch.from || next.to == stretch.from)
    })
}

/// What a method lacks beyond an end (0 `from`, 1 `to`) of a stretch.
fn lack(network: &Network, id: StretchId, end: usize, method: &MethodId) -> Option<Lack> {
    let tight = &network.stretch(id).ground.tight;
    let tight = tight.iter().find(|tight| tight.method == *method)?;
    tight.ends[end].clone()
}

/// For each stretch and each of its ends (0 `from`, 1 `to`), the stretch and its end that continue
/// it.
type Links = Vec<[Option<(usize, usize)>; 2]>;

fn links(network: &Network, limit: Angle) -> Links {
    let mut at_node: Vec<Vec<(usize, usize)>> = vec![Vec::new(); network.nodes.len()];
    for (id, stretch) in network.iter() {
        at_node[stretch.from.index()].push((id.index(), 0));
        at_node[stretch.to.index()].push((id.index(), 1));
    }
    let mut next: Links = vec![[None; 2]; network.stretches.len()];
    for ends in &at_node {
        for (_, a, b) in pairs(network, ends, limit) {
            if next[a.0][a.1].is_none() && next[b.0][b.1].is_none() {
                next[a.0][a.1] = Some(b);
                next[b.0][b.1] = Some(a);
            }
        }
    }
    next
}

type End = (usize, usize);

/// Pairs of ends at a node that continue one another, the straightest first.
fn pairs(network: &Network, ends: &[End], limit: Angle) -> Vec<(f64, End, End)> {
    let mut pairs = Vec::new();
    for (i, a) in ends.iter().enumerate() {
        for b in ends[i + 1..].iter().filter(|b| b.0 != a.0) {
            let turn = turn(&network.stretches[a.0], a.1, &network.stretches[b.0], b.1);
            if let Some(turn) = turn.filter(|t| *t <= limit) {
                pairs.push((turn.to_rad(), *a, *b));
            }
        }
    }
    pairs.sort_by(|x, y| x.0.total_cmp(&y.0).then((x.1, x.2).cmp(&(y.1, y.2))));
    pairs
}

/// Turn from one stretch into another at a node they share; none where a path has no direction.
fn turn(a: &Stretch, a_end: usize, b: &Stretch, b_end: usize) -> Option<Angle> {
    let (ax, ay) = outward(a, a_end)?;
    let (bx, by) = outward(b, b_end)?;
    let cosine = -(ax * bx + ay * by);
    Some(Angle::rad(cosine.clamp(-1.0, 1.0).acos()))
}

/// Unit vector from an end into the stretch.
fn outward(stretch: &Stretch, end: usize) -> Option<(f64, f64)> {
    let node: NodeId = if end == 0 { stretch.from } else { stretch.to };
    let path = stretch.path_from(node);
    let first: Place = *path.first()?;
    let second = path.iter().find(|p| p.distance(first) > 0.0)?;
    let distance = first.distance(*second);
    Some((
        (second.x - first.x) / distance,
        (second.y - first.y) / distance,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn stretches_in_line_make_one_run_and_a_bend_ends_it() {
        let net = fixture::polyline(&[(0.0, 0.0), (3.0, 0.0), (7.0, 0.1), (7.0, 9.0)]);
        let chains = chains(&net, Angle::deg(22.5));
        assert_eq!(
            chains,
            [vec![StretchId(0), StretchId(1)], vec![StretchId(2)]]
        );
        let all = runs(&chains, |_| true);
        assert!((length(&net, all[0]).to_m() - 7.0).abs() < 0.01);
        let broken = runs(&chains, |id| id.0 != 0);
        assert_eq!(broken, [[StretchId(1)], [StretchId(2)]]);
        assert!((length(&net, broken[0]).to_m() - 4.0).abs() < 0.01);
    }

    fn tight(method: &str, ends: [bool; 2]) -> routes::Tight {
        let lack = |is: bool| {
            is.then(|| Lack {
                clear: Length::m(0.4),
                needed: Length::m(2.0),
                by: "building B1".to_owned(),
                at: Place::new(0.0, 0.0),
            })
        };
        routes::Tight {
            method: MethodId(method.to_owned()),
            ends: ends.map(lack),
            side: None,
        }
    }

    #[test]
    fn a_machine_stands_beyond_one_end_or_the_end_is_left_to_others() {
        let mut net = fixture::polyline(&[(0.0, 0.0), (3.0, 0.0), (7.0, 0.0), (12.0, 0.0)]);
        let ids = [StretchId(0), StretchId(1), StretchId(2)];
        let of = |net: &Network, name: &str| {
            let (left, lack) = with_room(net, &ids, &MethodId(name.to_owned()));
            (left.to_vec(), lack.map(|l| l.by))
        };
        let all = (ids.to_vec(), None);
        assert_eq!(of(&net, "walk_trencher"), all);
        net.stretches[0].ground.tight = vec![tight("walk_trencher", [true, false])];
        assert_eq!(of(&net, "walk_trencher"), all);
        // At both ends: the shorter of the outer stretches goes, and then there is room.
        net.stretches[2].ground.tight = vec![tight("walk_trencher", [false, true])];
        let wall = Some("building B1".to_owned());
        assert_eq!(of(&net, "walk_trencher"), (ids[1..].to_vec(), wall.clone()));
        // Nor is there room at the next one.
        net.stretches[1].ground.tight = vec![tight("walk_trencher", [true, true])];
        net.stretches[2].ground.tight = vec![tight("walk_trencher", [true, true])];
        assert_eq!(of(&net, "walk_trencher"), (Vec::new(), wall));
        assert_eq!(of(&net, "walk_plow"), all);
    }

    #[test]
    fn a_stretch_drawn_backward_has_its_ends_where_they_are() {
        let mut net = fixture::polyline(&[(0.0, 0.0), (3.0, 0.0), (7.0, 0.0)]);
        let first = &mut net.stretches[0];
        std::mem::swap(&mut first.from, &mut first.to);
        first.path.reverse();
        first.ground.tight = vec![tight("walk_trencher", [false, true])];
        net.stretches[1].ground.tight = vec![tight("walk_trencher", [false, true])];
        let run = [StretchId(0), StretchId(1)];
        let (left, _) = with_room(&net, &run, &MethodId("walk_trencher".to_owned()));
        assert_eq!(left, [StretchId(1)]);
    }
}
