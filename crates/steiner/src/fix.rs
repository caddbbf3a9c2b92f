//! Banning edges that no better solution can use, from the slacks of a dual ascent (T. Polzin and
//! S. Vahdati Daneshmand, "Improved algorithms for the Steiner problem in networks", Discrete
//! Applied Mathematics 112, 2001).

use crate::ascent::Dual;
use crate::grow::{NONE, Reach};
use crate::instance::{Instance, Work};

/// With a bound below this part of the best cost, hardly an edge can be ruled out.
const TOO_FAR: f64 = 0.75;
/// The same with several groups, each of which costs only a part.
const TOO_FAR_TOGETHER: f64 = 0.95;

/// Bans, per group, every edge whose use would cost more than `most` (without the instance's
/// offset); returns how many bans are new.
pub(crate) fn fix(
    inst: &mut Instance,
    dual: &Dual,
    most: f64,
    reach: &mut Reach,
    work: &mut Work,
) -> usize {
    let least = if inst.groups() > 1 {
        TOO_FAR_TOGETHER
    } else {
        TOO_FAR
    };
    if dual.slack.is_empty() || !dual.bound.is_finite() || dual.bound < most * least {
        return 0;
    }
    let mut bans = 0;
    let room = most - dual.bound;
    for group in (0..inst.parties()).filter(|group| !dual.slack[*group].is_empty()) {
        let root = dual.roots[group];
        let from_root = spread(inst, dual, group, &[root], (false, room), reach, work);
        let rest: Vec<u32> = inst.terminals[group]
            .iter()
            .copied()
            .filter(|node| *node != root)
            .collect();
        let to_rest = spread(inst, dual, group, &rest, (true, room), reach, work);
        for edge in 0..inst.edges() as u32 {
            if !inst.open(group, edge) {
                continue;
            }
            let through = [2 * edge, 2 * edge + 1].map(|arc| {
                let (from, to) = (inst.tail(arc) as usize, inst.tail(arc ^ 1) as usize);
                from_root[from] + dual.slack[group][arc as usize] + to_rest[to]
            });
            if through[0].min(through[1]) > room {
                inst.banned[group].set(edge);
                bans += 1;
            }
        }
    }
    bans
}

/// Least slack from the starts to every node, or from every node to the starts if `back`; infinite
/// beyond `room`.
fn spread(
    inst: &Instance,
    dual: &Dual,
    group: usize,
    starts: &[u32],
    (back, room): (bool, f64),
    reach: &mut Reach,
    work: &mut Work,
) -> Vec<f64> {
    reach.clear();
    for node in starts {
        reach.offer(*node, 0.0, NONE);
    }
    while let Some((dist, node)) = reach.next() {
        if dist > room {
            break;
        }
        let links = inst.links.of(node);
        work.done += links.len() as u64;
        for link in links {
            let arc = if back { link.arc ^ 1 } else { link.arc };
            let slack = dual.slack[group][arc as usize];
            if slack.is_finite() {
                reach.offer(link.to, dist + slack, link.arc);
            }
        }
    }
    reach.dist.clone()
}
