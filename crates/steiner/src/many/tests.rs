//! What the steps along cuts must keep to, on small random problems.

use super::parts::trim;
use super::pool::{Cut, Pool, usual};
use super::slate::{Part, Slate};
use crate::instance::{Dice, Instance};
use crate::problem::{Edge, Group, Problem};

/// A ring with chords, and three groups.
fn problem(dice: &mut Dice) -> Problem {
    let nodes = 12;
    let mut edge = |a: usize, b: usize| Edge {
        a: a as u32,
        b: (b % nodes) as u32,
        shared: (dice.part() * 8.0 - 1.0).max(0.0),
        length: dice.part() * 3.0,
    };
    let ring = (0..nodes).map(|node| (node, node + 1));
    let chords = (0..nodes).map(|node| (node, node + 5));
    let edges = ring.chain(chords).map(|(a, b)| edge(a, b)).collect();
    let groups = [vec![0, 4, 7], vec![0, 2], vec![3, 6, 9, 11]];
    let group = |terminals: &Vec<u32>| Group {
        terminals: terminals.clone(),
        rate: 0.5,
    };
    Problem::new(nodes, edges, groups.iter().map(group).collect()).expect("all is in range")
}

#[test]
fn trimmed_parts_are_the_nearest_within_the_total() {
    let mut dice = Dice::new(1);
    for _ in 0..2_000 {
        let before: Vec<f64> = (0..1 + dice.below(6))
            .map(|_| (dice.part() * 5.0 - 1.0).max(0.0))
            .collect();
        let total = dice.part() * 6.0;
        let mut parts = before.clone();
        trim(&mut parts, total);
        let sum: f64 = parts.iter().sum();
        assert!(sum <= total && parts.iter().all(|part| *part >= 0.0));
        if before.iter().sum::<f64>() <= total {
            assert_eq!(parts, before);
            continue;
        }
        assert!(sum >= total * (1.0 - 1e-12), "{before:?} {total} {parts:?}");
        // The same is taken from each that keeps anything, and no less than all from the others.
        let taken = (before.iter().zip(&parts))
            .find(|(_, part)| **part > 0.0)
            .map_or(f64::INFINITY, |(before, part)| before - part);
        for (before, part) in before.iter().zip(&parts) {
            let kept = *part > 0.0;
            assert!(if kept {
                (before - part - taken).abs() < 1e-9
            } else {
                *before <= taken + 1e-9
            });
        }
    }
}

#[test]
fn lowered_cuts_are_feasible_together() {
    let mut dice = Dice::new(2);
    for _ in 0..200 {
        let problem = problem(&mut dice);
        let inst = Instance::new(&problem);
        let rows = vec![vec![0.0; inst.edges()]; inst.parties()];
        let mut pool = Pool::new(&inst, &[], rows);
        for party in 0..inst.parties() {
            let cuts = (0..6).map(|_| {
                let arcs = (0..2 * inst.edges() as u32)
                    .filter(|_| dice.below(4) == 0)
                    .collect();
                let mut cut = Cut::new(arcs, 1.0);
                cut.mean = dice.part() * 4.0;
                cut
            });
            let cuts = cuts.collect();
            pool.add(party, cuts);
        }
        let starts = pool.starts(&inst);
        let mut left = inst.shared.clone();
        for (party, start) in starts.iter().enumerate() {
            let mut held = vec![0.0; inst.edges()];
            for (arc, load) in &start.loads {
                let over = load - inst.own(party, arc / 2);
                held[*arc as usize / 2] = f64::max(held[*arc as usize / 2], over);
            }
            left.iter_mut()
                .zip(held)
                .for_each(|(left, held)| *left -= held);
        }
        assert!(left.iter().all(|left| *left >= -1e-12), "{left:?}");
        assert!(starts.iter().any(|start| start.bound > 0.0));
    }
}

#[test]
fn cuts_of_whole_grains_lead_as_far_as_the_loads_say() {
    let mut dice = Dice::new(3);
    for _ in 0..200 {
        let problem = problem(&mut dice);
        let inst = Instance::new(&problem);
        let mut slate = Slate::new(&inst);
        let edges: Vec<u32> = (0..inst.edges() as u32).collect();
        let part = Part {
            edges: &edges,
            part: &inst.shared,
            guide: &[],
            start: &super::pool::Start::default(),
        };
        let grain = usual(&inst) * 0.1;
        let (bound, cuts) = slate.ascend_noting(&inst, 0, part, 0.5, Some(grain));
        let bound = bound.expect("a ring reaches everywhere");
        let lifted: f64 = cuts.iter().map(|cut| cut.lift).sum();
        assert!(cuts.iter().all(|cut| cut.lift >= grain * 0.999));
        assert!(0.0 < lifted && lifted <= bound + 1e-9, "{lifted} {bound}");
        let mut loads = vec![0.0; 2 * inst.edges()];
        for cut in &cuts {
            cut.arcs
                .iter()
                .for_each(|arc| loads[*arc as usize] += cut.lift);
        }
        for (arc, load) in (0u32..).zip(loads) {
            let price = inst.own(0, arc / 2) + inst.shared[arc as usize / 2];
            assert!(load <= price + 1e-9, "arc {arc}: {load} of {price}");
        }
    }
}
