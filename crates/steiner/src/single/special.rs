//! Special distances: the longest part between terminals on a way between two nodes, at its least
//! (C. W. Duin and A. Volgenant, "Reduction tests for the Steiner problem in graphs", Networks 19,
//! 1989). Found by short searches that begin anew at each terminal, so they may be overstated.

use crate::grow::{NONE, Reach};
use crate::single::graph::Graph;
use crate::single::watch::Watch;

/// Edges looked at in one search.
const MOST: u64 = 400;

/// Room for the searches.
pub(crate) struct Special {
    reach: Reach,
}

impl Special {
    pub fn new(nodes: usize) -> Special {
        Special {
            reach: Reach::new(nodes),
        }
    }

    /// Whether there is a way from `a` to `b` no part of which is longer than `most`, without the
    /// given edge and node.
    pub fn way(
        &mut self,
        graph: &Graph,
        a: u32,
        b: u32,
        most: f64,
        without: (u32, u32),
        watch: &mut Watch,
    ) -> bool {
        let reach = &mut self.reach;
        reach.clear();
        reach.offer(a, 0.0, NONE);
        let mut left = MOST;
        while let Some((dist, node)) = reach.next() {
            let list = &graph.near[node as usize];
            left = left.saturating_sub(list.len() as u64);
            for line in list.iter().filter(|line| **line != without.0) {
                let to = graph.other(*line, node);
                let far = dist + graph.cost(*line);
                if far > most || to == without.1 {
                    continue;
                }
                if to == b {
                    watch.tick(MOST - left);
                    return true;
                }
                let far = if graph.terminal[to as usize] {
                    0.0
                } else {
                    far
                };
                reach.offer(to, far, NONE);
            }
            if left == 0 {
                break;
            }
        }
        watch.tick(MOST - left);
        false
    }

    /// The least special distance up to `most`, without a node; infinite if there is none.
    pub fn length(
        &mut self,
        graph: &Graph,
        a: u32,
        b: u32,
        most: f64,
        without: u32,
        watch: &mut Watch,
    ) -> f64 {
        let reach = &mut self.reach;
        let mut longest = 0.0f64;
        reach.clear();
        reach.offer(a, 0.0, NONE);
        let mut left = MOST;
        // A way that begins anew at terminals costs its longest part: nodes are taken in the order
        // of that cost, which never falls.
        while let Some((dist, node)) = reach.next() {
            longest = longest.max(dist);
            if node == b {
                watch.tick(MOST - left);
                return longest;
            }
            let dist = if graph.terminal[node as usize] {
                0.0
            } else {
                dist
            };
            left = left.saturating_sub(spread(graph, reach, node, dist, (without, most)));
            if left == 0 {
                break;
            }
        }
        watch.tick(MOST - left);
        f64::INFINITY
    }

    /// Whether some terminal other than `without` is within reach of a node.
    pub fn terminal_within(
        &mut self,
        graph: &Graph,
        node: u32,
        without: u32,
        most: f64,
        watch: &mut Watch,
    ) -> bool {
        let reach = &mut self.reach;
        reach.clear();
        reach.offer(node, 0.0, NONE);
        let mut left = MOST;
        while let Some((dist, node)) = reach.next() {
            if graph.terminal[node as usize] {
                watch.tick(MOST - left);
                return true;
            }
            left = left.saturating_sub(spread(graph, reach, node, dist, (without, most)));
            if left == 0 {
                break;
            }
        }
        watch.tick(MOST - left);
        false
    }
}

/// Offers what lies beside a node and within `most`, one node left out; gives how many lines were
/// looked at.
fn spread(
    graph: &Graph,
    reach: &mut Reach,
    node: u32,
    dist: f64,
    (without, most): (u32, f64),
) -> u64 {
    let list = &graph.near[node as usize];
    for line in list {
        let to = graph.other(*line, node);
        let far = dist + graph.cost(*line);
        if far <= most && to != without {
            reach.offer(to, far, NONE);
        }
    }
    list.len() as u64
}
