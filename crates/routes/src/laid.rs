//! The trenches that were decided on: places, straight trenches between them, and each line's own.

use crate::tidy::Draft;
use geo::Coord;

/// Trenches decided on, before they are cut into stretches.
#[derive(Debug, Clone)]
pub struct Laid {
    /// Places; the first ones are the sites.
    pub nodes: Vec<Coord>,
    /// Straight trenches.
    pub edges: Vec<LaidEdge>,
    /// For each line, its edges.
    pub trees: Vec<Vec<u32>>,
    sites: usize,
}

/// A straight trench.
#[derive(Debug, Clone)]
pub struct LaidEdge {
    /// One end.
    pub a: u32,
    /// The other end.
    pub b: u32,
    /// Set if it is a sleeve under paving: the feature id of an existing one, or none.
    pub sleeve: Option<Option<String>>,
}

impl Laid {
    /// What a draft has come to.
    pub fn new(draft: &Draft, sites: usize) -> Self {
        let mut nodes = Vec::new();
        let mut number = vec![u32::MAX; draft.spots.len()];
        for spot in 0..draft.spots.len() as u32 {
            if (spot as usize) < sites || !draft.arms(spot).is_empty() {
                number[spot as usize] = nodes.len() as u32;
                nodes.push(draft.at(spot));
            }
        }
        let mut edges = Vec::new();
        let mut trees = vec![Vec::new(); draft.ends.len()];
        for t in (0..draft.trenches.len() as u32).filter(|t| draft.is_there(*t)) {
            let t = draft.trench(t);
            for line in &t.carries {
                trees[*line as usize].push(edges.len() as u32);
            }
            let (a, b) = (number[t.a as usize], number[t.b as usize]);
            let sleeve = t.sleeve.clone();
            edges.push(LaidEdge { a, b, sleeve });
        }
        Self {
            nodes,
            edges,
            trees,
            sites,
        }
    }

    /// Whether a node is a component's.
    pub fn is_site(&self, node: u32) -> bool {
        (node as usize) < self.sites
    }
}
