//! Gaps that keep machines away from trenches, each with the machines that it keeps away.

use job::{MethodId, Place};
use quantity::Length;
use routes::{Network, StretchId};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Ends of gaps nearer than this are the same, in metres.
const SAME: f64 = 0.01;

/// A gap or gate that is too narrow for a machine on its way to a stretch, or too narrow to turn in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Narrow {
    /// One end of the gap; of a gate, a post.
    pub from: Place,
    /// The other end.
    pub to: Place,
    /// How wide it is; a gate, as it was measured.
    pub clear: Length,
    /// The gate's feature id, if it is a gate.
    pub gate: Option<String>,
    /// What lies at either end, such as "building B1".
    pub between: [String; 2],
    /// Whom it keeps away, by method.
    pub keeps_away: Vec<KeptAway>,
}

/// A method whose machine does not pass a gap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct KeptAway {
    /// The method.
    pub method: MethodId,
    /// How wide the gap would have to be.
    pub needed: Length,
    /// The stretches that it does not get to for this.
    pub stretches: Vec<StretchId>,
    /// Their length together.
    pub length: Length,
}

/// All gaps that keep a machine away from a stretch, those with the most length behind them first.
pub(crate) fn narrows(network: &Network) -> Vec<Narrow> {
    let mut found: Vec<Narrow> = Vec::new();
    for (id, stretch) in network.iter() {
        for blocked in &stretch.ground.blocked {
            let Some(pinch) = &blocked.pinch else {
                continue;
            };
            let alike = |n: &Narrow| {
                n.gate == pinch.gate
                    && (n.from.distance(pinch.from) < SAME && n.to.distance(pinch.to) < SAME
                        || n.from.distance(pinch.to) < SAME && n.to.distance(pinch.from) < SAME)
            };
            let at = found.iter().position(alike).unwrap_or_else(|| {
                found.push(Narrow {
                    from: pinch.from,
                    to: pinch.to,
                    clear: pinch.clear,
                    gate: pinch.gate.clone(),
                    between: pinch.between.clone(),
                    keeps_away: Vec::new(),
                });
                found.len() - 1
            });
            let keeps = &mut found[at].keeps_away;
            match keeps.iter_mut().find(|k| k.method == blocked.method) {
                Some(kept) => {
                    kept.stretches.push(id);
                    kept.length += stretch.length;
                }
                None => keeps.push(KeptAway {
                    method: blocked.method.clone(),
                    needed: pinch.needed,
                    stretches: vec![id],
                    length: stretch.length,
                }),
            }
        }
    }
    for narrow in &mut found {
        narrow.keeps_away.sort_by(|a, b| {
            let needed = a.needed.to_m().total_cmp(&b.needed.to_m());
            needed.then_with(|| a.method.cmp(&b.method))
        });
    }
    let behind = |n: &Narrow| {
        let lengths = n.keeps_away.iter().map(|k| k.length.to_m());
        lengths.fold(0.0, f64::max)
    };
    found.sort_by(|a, b| behind(b).total_cmp(&behind(a)));
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use routes::{Blocked, Pinch};

    fn blocked(method: &str, from: f64, to: f64, needed: f64) -> Blocked {
        Blocked {
            method: MethodId(method.to_owned()),
            why: String::new(),
            pinch: Some(Pinch {
                from: Place::new(from, 0.0),
                to: Place::new(to, 0.0),
                clear: Length::m((to - from).abs()),
                needed: Length::m(needed),
                gate: None,
                between: ["building B1".to_owned(), "fence F1".to_owned()],
            }),
        }
    }

    #[test]
    fn a_gap_is_listed_once_with_all_that_it_keeps_away() {
        let mut net = fixture::polyline(&[(0.0, 0.0), (3.0, 0.0), (7.0, 0.0)]);
        // The same gap seen from either side.
        net.stretches[0].ground.blocked = vec![blocked("ride_plow", 0.0, 1.2, 1.5)];
        net.stretches[1].ground.blocked = vec![
            blocked("backhoe", 1.2, 0.0, 2.1),
            blocked("ride_plow", 1.2, 0.0, 1.5),
            blocked("walk_plow", 0.0, 0.6, 0.8),
        ];
        let found = narrows(&net);
        assert_eq!(found.len(), 2);
        let keeps: Vec<(&str, f64, usize)> = found[0]
            .keeps_away
            .iter()
            .map(|k| (k.method.0.as_str(), k.length.to_m(), k.stretches.len()))
            .collect();
        assert_eq!(keeps, [("ride_plow", 7.0, 2), ("backhoe", 4.0, 1)]);
        assert_eq!(found[1].keeps_away[0].method.0, "walk_plow");
    }
}
