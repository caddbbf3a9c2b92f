//! Good trees kept, and their combination: the best tree that uses only the edges of a few of them
//! (C. C. Ribeiro, E. Uchoa and R. F. Werneck, "A hybrid GRASP with perturbations for the Steiner
//! problem in graphs", INFORMS Journal on Computing 14, 2002, keep such a pool; the combination
//! here is solved by the same reductions and cuts as the whole).

use crate::bits::Bits;
use crate::instance::Dice;
use crate::single::kernel::Kernel;
use crate::single::primal::{Best, Primal};
use crate::single::{Run, build};

/// How many good trees are kept.
const MOST: usize = 20;
/// Trees dearer than the best by this part are not kept.
const NEAR: f64 = 0.05;

/// Work for each edge of a kernel while looking on few of its edges.
const NARROW: u64 = 1000;
/// Most such work at a time.
const MOST_NARROW: u64 = 20_000_000;

/// Good and different trees, cheapest first.
#[derive(Default)]
pub(crate) struct Elite(Vec<(f64, Vec<u32>)>);

impl Elite {
    pub fn offer(&mut self, cost: f64, tree: Vec<u32>) {
        let at = self.0.partition_point(|other| other.0 < cost);
        let near = self
            .0
            .first()
            .is_none_or(|best| cost <= best.0 * (1.0 + NEAR));
        if near && at < MOST && self.0.iter().all(|other| other.1 != tree) {
            self.0.insert(at, (cost, tree));
            self.0.truncate(MOST);
        }
    }

    /// A few trees, the cheapest of them first.
    fn some(&self, dice: &mut Dice) -> Vec<&[u32]> {
        let mut chosen: Vec<usize> = (0..self.0.len()).collect();
        dice.shuffle(&mut chosen);
        chosen.truncate(2 + dice.below(4));
        chosen.sort_unstable();
        chosen.iter().map(|at| self.0[*at].1.as_slice()).collect()
    }
}

impl Run<'_, '_> {
    /// Looks for better trees until `until`: fresh ones and shaking on the kernel, then
    /// combinations of the good ones.
    pub fn improve(&mut self, kernel: &Kernel, primal: &mut Primal, until: u64) {
        while self.watch.work.done < until && !self.watch.out() {
            let left = until - self.watch.work.done;
            let turn = self.watch.work.done + (left / 2).clamp(400_000, 8_000_000);
            primal.hunt(turn.min(until), &mut self.watch);
            self.collect(kernel, primal);
            for _ in 0..2 {
                if self.watch.work.done < until && !self.watch.out() {
                    self.combine();
                }
            }
        }
        primal.harvest(&self.graph, kernel, &mut self.best, &mut self.watch);
    }

    /// Keeps the good trees of a kernel.
    fn collect(&mut self, kernel: &Kernel, primal: &mut Primal) {
        primal.harvest(&self.graph, kernel, &mut self.best, &mut self.watch);
        for edges in primal.pool(&self.graph, kernel) {
            if let Some((cost, tree)) = self.best.tidy(edges, &mut self.watch) {
                self.elite.offer(cost, tree);
            }
        }
        self.elite.offer(self.best.cost, self.best.tree.clone());
    }

    /// The best tree on the edges of a few good ones.
    fn combine(&mut self) {
        let chosen = self.elite.some(&mut self.dice);
        if chosen.len() < 2 {
            return;
        }
        let mut used = Bits::new(self.best.inst.edges());
        for edge in chosen.iter().flat_map(|tree| tree.iter()) {
            used.set(*edge);
        }
        let tree = chosen[0].to_vec();
        self.within(&used, tree, 5_000_000);
    }

    /// The best tree on some edges, among which those of a given tree are; what it costs at least,
    /// as far as it was found out.
    fn within(&mut self, used: &Bits, tree: Vec<u32>, work: u64) -> f64 {
        let mut inst = self.best.inst.clone();
        for edge in (0..inst.edges() as u32).filter(|edge| !used.get(*edge)) {
            inst.banned[0].set(edge);
        }
        let mut watch = self.watch.part(work);
        watch.tick(inst.edges() as u64 / 4);
        let best = Best::new(inst, tree, &mut watch);
        let mut part = build(best, self.unit, self.dice.next(), watch);
        part.nested = true;
        part.all();
        self.watch.resume(&part.watch);
        let (cost, tree, bound) = (part.best.cost, part.best.tree, part.watch.bound);
        self.elite.offer(cost, tree.clone());
        self.best.offer(tree, &mut self.watch);
        bound
    }

    /// Looks for a better tree on the edges that the ascents favour and those of the good trees,
    /// on more of them as long as that is done with little work.
    pub fn narrow(&mut self, kernel: &Kernel, primal: &mut Primal, least: &[f64]) {
        self.collect(kernel, primal);
        let mut order: Vec<u32> = (0..kernel.edges() as u32).collect();
        order.sort_by(|a, b| least[*a as usize].total_cmp(&least[*b as usize]));
        let work = (NARROW * kernel.edges() as u64).min(MOST_NARROW);
        let mut many = kernel.edges() / 8;
        while many > 0 && many < order.len() && !self.watch.out() {
            let chosen = order[..many].iter();
            let lines: Vec<u32> = chosen.map(|edge| kernel.line[*edge as usize]).collect();
            let mut used = Bits::new(self.best.inst.edges());
            let trees = self.elite.0.iter().flat_map(|(_, tree)| tree);
            for edge in self.graph.unfold(&lines).iter().chain(trees) {
                used.set(*edge);
            }
            let (before, start) = (self.best.cost, self.watch.work.done);
            let bound = self.within(&used, self.best.tree.clone(), work);
            // A tree beyond these edges costs at least as much as the next edge says.
            let beyond = least[order[many] as usize];
            self.lift(beyond.min(bound - self.graph.offset));
            let better = self.best.cost < before;
            if self.watch.work.done - start >= work || (!better && 4 * many > order.len()) {
                return;
            }
            many += many / 2;
        }
    }
}
