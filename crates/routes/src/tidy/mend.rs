//! Makes lines trees again after a change has joined their trenches.

use super::draft::Draft;
use super::pricer::Pricer;
use std::collections::{BTreeMap, BTreeSet};

/// Takes each of these lines out of trenches that close a ring or lead nowhere, the dearest first.
pub fn mend(draft: &mut Draft, lines: &[u32], pricer: &Pricer<'_, '_>) {
    for line in lines {
        let carriers = carriers(draft, *line);
        let kept = without_rings(draft, *line, &carriers, pricer);
        let kept = without_dead_ends(draft, *line, kept);
        for trench in carriers {
            if !kept.contains(&trench) {
                drop_line(draft, trench, *line, pricer);
            }
        }
    }
}

/// The trenches that carry a line, from its root on: a change may close rings but never parts it.
fn carriers(draft: &Draft, line: u32) -> Vec<u32> {
    let root = draft.ends[line as usize][0];
    let mut found = Vec::new();
    let mut seen = BTreeSet::from([root]);
    let mut ahead = vec![root];
    while let Some(spot) = ahead.pop() {
        for trench in draft.arms(spot) {
            if draft.trench(*trench).carries.binary_search(&line).is_ok() {
                found.push(*trench);
                let far = draft.beyond(*trench, spot);
                if seen.insert(far) {
                    ahead.push(far);
                }
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

fn drop_line(draft: &mut Draft, trench: u32, line: u32, pricer: &Pricer<'_, '_>) {
    let mut left = draft.trench(trench).carries.clone();
    left.retain(|l| *l != line);
    draft.carry(trench, left, pricer);
}

/// A cheapest spanning tree by Kruskal's algorithm; what counts is what the line alone adds.
fn without_rings(draft: &Draft, line: u32, carriers: &[u32], pricer: &Pricer<'_, '_>) -> Vec<u32> {
    let adds = |t: u32| {
        let trench = draft.trench(t);
        let dig = if trench.carries.len() == 1 {
            trench.dig
        } else {
            0.0
        };
        dig + trench.length * pricer.rate(&[line])
    };
    let mut sorted: Vec<(f64, u32)> = carriers.iter().map(|t| (adds(*t), *t)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut above: BTreeMap<u32, u32> = BTreeMap::new();
    let mut kept = Vec::with_capacity(carriers.len());
    for (_, trench) in sorted {
        let t = draft.trench(trench);
        let (a, b) = (top(&mut above, t.a), top(&mut above, t.b));
        if a != b {
            above.insert(a.max(b), a.min(b));
            kept.push(trench);
        }
    }
    kept.sort_unstable();
    kept
}

fn top(above: &mut BTreeMap<u32, u32>, spot: u32) -> u32 {
    let mut root = spot;
    while let Some(next) = above.get(&root) {
        root = *next;
    }
    let mut here = spot;
    while here != root {
        here = above.insert(here, root).unwrap_or(root);
    }
    root
}

/// Without trenches to spots that the line need not reach.
fn without_dead_ends(draft: &Draft, line: u32, mut kept: Vec<u32>) -> Vec<u32> {
    let mut degree: BTreeMap<u32, usize> = BTreeMap::new();
    for t in &kept {
        let t = draft.trench(*t);
        *degree.entry(t.a).or_default() += 1;
        *degree.entry(t.b).or_default() += 1;
    }
    let needed = &draft.ends[line as usize];
    loop {
        let dead = |spot: u32| degree[&spot] == 1 && !needed.contains(&spot);
        let found = kept.iter().position(|t| {
            let t = draft.trench(*t);
            dead(t.a) || dead(t.b)
        });
        let Some(found) = found else {
            return kept;
        };
        let t = draft.trench(kept.remove(found));
        for end in [t.a, t.b] {
            if let Some(degree) = degree.get_mut(&end) {
                *degree -= 1;
            }
        }
    }
}
