//! What has been learned: of each clause at least one literal holds.

use super::state::Lit;

pub(crate) struct Clause {
    from: u32,
    until: u32,
    /// On how many levels its literals lay when it was learned.
    pub(crate) spread: u32,
    pub(crate) activity: f32,
}

#[derive(Default)]
pub(crate) struct Clauses {
    lits: Vec<Lit>,
    pub(crate) list: Vec<Clause>,
    /// By literal: the clauses that watch it, with another literal of each.
    pub(crate) watches: Vec<Vec<(u32, Lit)>>,
    step: f32,
}

const LARGE: f32 = 1e20;

impl Clauses {
    pub(crate) fn new(atoms: usize) -> Clauses {
        Clauses {
            watches: vec![Vec::new(); 2 * atoms],
            step: 1.0,
            ..Clauses::default()
        }
    }

    pub(crate) fn get(&self, clause: u32) -> &[Lit] {
        let clause = &self.list[clause as usize];
        &self.lits[clause.from as usize..clause.until as usize]
    }

    pub(crate) fn get_mut(&mut self, clause: u32) -> &mut [Lit] {
        let clause = &self.list[clause as usize];
        &mut self.lits[clause.from as usize..clause.until as usize]
    }

    /// Adds a clause of two literals or more and watches the first two.
    pub(crate) fn add(&mut self, lits: &[Lit], spread: u32) -> u32 {
        let at = self.list.len() as u32;
        let from = self.lits.len() as u32;
        self.lits.extend_from_slice(lits);
        self.list.push(Clause {
            from,
            until: self.lits.len() as u32,
            spread,
            activity: self.step,
        });
        self.watches[lits[0] as usize].push((at, lits[1]));
        self.watches[lits[1] as usize].push((at, lits[0]));
        at
    }

    pub(crate) fn bump(&mut self, clause: u32) {
        let activity = &mut self.list[clause as usize].activity;
        *activity += self.step;
        if *activity > LARGE {
            self.list.iter_mut().for_each(|c| c.activity /= LARGE);
            self.step /= LARGE;
        }
    }

    pub(crate) fn decay(&mut self) {
        self.step *= 1.001;
    }

    /// Forgets the less active half of the clauses that lie on many levels, and those that are of
    /// no more use. Only while nothing has a clause as its reason that may still be asked for it.
    pub(crate) fn reduce(&mut self, useless: impl Fn(&[Lit]) -> bool) {
        let mut order: Vec<f32> = self
            .list
            .iter()
            .filter(|clause| clause.spread > KEEP)
            .map(|clause| clause.activity)
            .collect();
        order.sort_by(f32::total_cmp);
        let middle = order.get(order.len() / 2).copied().unwrap_or(0.0);
        let (old_lits, old) = (
            std::mem::take(&mut self.lits),
            std::mem::take(&mut self.list),
        );
        self.watches.iter_mut().for_each(Vec::clear);
        for clause in old {
            let lits = &old_lits[clause.from as usize..clause.until as usize];
            if clause.spread > KEEP && clause.activity < middle || useless(lits) {
                continue;
            }
            let at = self.add(lits, clause.spread);
            self.list[at as usize].activity = clause.activity;
        }
    }
}

/// Clauses on no more levels are kept for good.
const KEEP: u32 = 3;
