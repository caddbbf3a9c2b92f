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
