//! All groups and unions lifting cuts side by side, again and again, each giving up what it can spare.
//!
//! An ascent holds more of the shared costs than its bound needs: round a terminal it loads edges on
//! all sides, where only those towards the root keep a tree from coming cheaper. So each group gives
//! up a part of what an edge lies above the cheapest way through it, ascends anew at the prices that
//! are left, and goes most of the way to the outcome; what was given up is then free for whoever comes
//! to it first. Giving up reduced costs for others to use is known from message passing in graphical
//! models (T. Werner, "A linear programming approach to max-sum problem: a review", IEEE
//! Transactions on Pattern Analysis and Machine Intelligence 29, 2007; from memory). Before that,
//! everybody lowers all cuts by a share and lifts others in another order, so that the outcome is a
//! mean of orders.
//!
//! Lifted cuts stay feasible together throughout, so that the sum of the lifts is a bound at any time.

use super::parts::{self, Party};
use super::pool::{Cut, Pool, Start, usual};
use super::slate::{Part, Slate};
use crate::ascent::{Book, Plan, go_on};
use crate::bits::Bits;
use crate::guide::{Guide, guides};
use crate::instance::{Dice, Instance, Work};
use rayon::prelude::*;
use std::sync::Mutex;

/// What one group or union has lifted.
#[derive(Clone, Default)]
struct Lifted {
    start: Start,
    /// Edges of whose shared cost it holds some, ascending, and how much.
    edges: Vec<u32>,
    held: Vec<f64>,
}

/// Cuts of all groups and unions that are feasible together.
pub(crate) struct Joint {
    sides: Vec<Lifted>,
    /// Per edge, shared cost that nobody holds.
    left: Vec<f64>,
    guides: Vec<Guide>,
    /// Per group, edges of whose shared cost it should hold nothing.
    barred: Vec<Bits>,
    desk: Mutex<Vec<Slate>>,
    /// The best so far, and its bound without the instance's offset.
    best: Vec<Lifted>,
    pub bound: f64,
    /// Rounds so far.
    pub rounds: u32,
    dice: Dice,
    /// Trees of the groups along what the last ascents left without slack.
    pub trees: Vec<Vec<u32>>,
    /// If cuts are to be kept, the least lift of one.
    grain: Option<f64>,
    /// The latest of each group and union.
    cuts: Vec<Vec<Cut>>,
    /// All cuts so far; only once they are wanted.
    pool: Option<Pool>,
    /// Rounds by the cuts so far.
    gathered: u32,
}

/// How much of what it could do without a group gives up at once.
const GIVEN_UP: f64 = 0.3;
/// How far to go towards an ascent at the prices that are left.
const TOWARDS: f64 = 0.7;
/// How far a cut may outgrow the next smallest one, as a part of its size. Measured: with many
/// rounds, more of them gain more than careful ones.
const LOOSE: f64 = 1.0;
/// By how much all cuts are lowered in the first rounds, to mix orders.
const MIXED: [f64; 2] = [0.5, 0.33];
/// Rounds of giving up between two loosenings.
const CYCLE: u32 = 8;
/// By how much all cuts are lowered then.
const LOOSENED: f64 = 0.2;
/// Steps along the cuts between ascents.
const STEPS: usize = 100;
/// Rounds by the cuts between two that look for broken ones, which takes about as long as all
/// the rest.
const SEPARATED: u32 = 4;
/// Cuts that are kept are lifted by whole grains of this part of a usual price. Measured: with less there
/// are so many cuts that rounds take long; from twice as much on, the bound suffers.
const GRAIN: f64 = 0.03;
/// Sums of lifts are told lower by this part, for what was lost in rounding.
const ROUNDING: f64 = 1e-11;

impl Joint {
    /// Nothing lifted; trees guide the cuts.
    pub fn new(inst: &Instance, trees: &[Vec<u32>], place: &mut [u32], keeps: bool) -> Joint {
        Joint {
            sides: vec![Lifted::default(); inst.parties()],
            left: inst.shared.clone(),
            guides: guides(inst, trees, place),
            barred: barred(inst, trees),
            desk: Mutex::default(),
            best: Vec::new(),
            bound: 0.0,
            rounds: 0,
            dice: Dice::new(1),
            trees: Vec::new(),
            grain: keeps.then(|| usual(inst) * GRAIN),
            cuts: vec![Vec::new(); inst.parties()],
            pool: None,
            gathered: 0,
        }
    }

    /// One round. `None` if a terminal cannot be reached.
    pub fn round(&mut self, inst: &Instance, work: &mut Work) -> Option<()> {
        // A round takes work even where there is nothing to lift.
        work.done += 1;
        let mut order: Vec<usize> = (0..inst.parties()).rev().collect();
        let mixed = MIXED.len() as u32;
        let loosened = match self.rounds {
            0 => None,
            round if round <= mixed => Some(MIXED[round as usize - 1]),
            round => ((round - mixed).is_multiple_of(CYCLE + 1)).then_some(LOOSENED),
        };
        if self.rounds == 0 {
            // Unions first, which need most of what is shared.
            self.climb(inst, &order, work)?;
        } else if let Some(share) = loosened {
            self.dice.shuffle(&mut order);
            self.lower(inst, 1.0 - share);
            self.climb_together(inst, order, work)?;
        } else {
            self.dice.shuffle(&mut order);
            self.give_up(inst, work)?;
            self.climb(inst, &order, work)?;
        }
        self.rounds += 1;
        self.note();
        Some(())
    }

    /// Takes note of what is lifted, if it is the most so far; returns its bound.
    fn note(&mut self) -> f64 {
        let bound: f64 = self.sides.iter().map(|side| side.start.bound).sum();
        let bound = bound * (1.0 - ROUNDING);
        if bound > self.bound {
            self.bound = bound;
            self.best.clone_from(&self.sides);
        }
        bound
    }

    /// One round by the cuts seen so far: steps along them, then ascents from where they lead.
    pub fn gather(&mut self, inst: &Instance, work: &mut Work) -> Option<()> {
        let mut pool = match self.pool.take() {
            Some(pool) => pool,
            None => {
                let rows = self
                    .best
                    .iter()
                    .map(|side| side.row(inst.edges()))
                    .collect();
                let mut pool = Pool::new(inst, &self.guides, rows);
                self.hand_over(&mut pool);
                pool
            }
        };
        work.done += pool.run(inst, STEPS);
        self.gathered += 1;
        if self.gathered.is_multiple_of(SEPARATED) {
            work.done += pool.separate(inst);
        }
        self.sides = (pool.starts(inst).into_iter().enumerate())
            .map(|(party, start)| Lifted::new(inst, party, start))
            .collect();
        self.settle(inst);
        let mut order: Vec<usize> = (0..inst.parties()).collect();
        self.dice.shuffle(&mut order);
        self.climb(inst, &order, work)?;
        self.hand_over(&mut pool);
        let mut bound = self.note();
        // Once the steps are good there is little to give up, but fresh ascents find fresh cuts.
        self.give_up(inst, work)?;
        self.climb(inst, &order, work)?;
        // The steps know about as much already.
        let cuts = self.cuts.iter_mut().flatten();
        cuts.for_each(|cut| cut.lift *= 1.0 - TOWARDS);
        self.hand_over(&mut pool);
        bound = bound.max(self.note());
        pool.note(bound);
        self.pool = Some(pool);
        Some(())
    }

    fn hand_over(&mut self, pool: &mut Pool) {
        for (party, cuts) in self.cuts.iter_mut().enumerate() {
            pool.add(party, std::mem::take(cuts));
        }
    }

    /// Whether rounds by the cuts hardly gain any more.
    pub fn stalls(&self) -> bool {
        self.pool.as_ref().is_some_and(Pool::stalls)
    }

    /// How far the steps use an edge for a group.
    pub fn used(&self, group: usize, edge: u32) -> f64 {
        self.pool
            .as_ref()
            .map_or(0.0, |pool| pool.used(group, edge))
    }

    /// Lets other trees guide the cuts from now on.
    pub fn follow(&mut self, inst: &Instance, trees: &[Vec<u32>], place: &mut [u32]) {
        self.guides = guides(inst, trees, place);
        self.barred = barred(inst, trees);
    }

    /// The best division of the shared costs, with the lifted cuts that fit it.
    pub fn parties(&self, inst: &Instance) -> Vec<Party> {
        let lifted = self.best.iter();
        let starts = lifted.map(|side| {
            let mut start = side.start.clone();
            start.bound *= 1.0 - ROUNDING;
            (&*side.edges, &*side.held, start)
        });
        parts::of_lifted(inst, starts)
    }

    /// Lets everybody lift what cuts it can with what is left, in the given order.
    fn climb(&mut self, inst: &Instance, order: &[usize], work: &mut Work) -> Option<()> {
        let mut slate = self.take_slate(inst);
        self.trees = vec![Vec::new(); inst.groups()];
        for party in order {
            if work.broken_off() {
                break;
            }
            let side = &mut self.sides[*party];
            let barred = &self.barred[*party];
            let (left, guide) = (std::mem::take(&mut self.left), &self.guides[*party]);
            slate.reach_for(left, barred.clone());
            let part = side.part(guide);
            let (bound, cuts) = slate.ascend_noting(inst, *party, part, LOOSE, self.grain);
            self.cuts[*party].extend(cuts);
            let loads = slate.loads();
            if *party < inst.groups() && bound.is_some() {
                self.trees[*party] = slate.tree(inst, *party)?;
            }
            self.left = slate.reach_for(Vec::new(), Bits::new(0));
            work.done += slate.work;
            let start = Start {
                bound: bound?,
                loads,
            };
            let before = std::mem::replace(side, Lifted::new(inst, *party, start));
            for (edge, held) in before.edges.iter().zip(&before.held) {
                self.left[*edge as usize] += held;
            }
            for (edge, held) in side.edges.iter().zip(&side.held) {
                let left = &mut self.left[*edge as usize];
                *left = (*left - held).max(0.0);
            }
        }
        self.put_slate(slate);
        if work.broken_off() {
            self.trees.clear();
        }
        Some(())
    }

    /// The same, the smallest cuts first, whosesoever they are.
    fn climb_together(
        &mut self,
        inst: &Instance,
        order: Vec<usize>,
        work: &mut Work,
    ) -> Option<()> {
        let plan = Plan {
            order,
            barred: self.barred.clone(),
            guides: self.guides.clone(),
            loose: LOOSE,
            ..Plan::new(inst)
        };
        let books = (self.sides.iter())
            .map(|side| Book {
                bound: side.start.bound,
                loads: side.start.loads.clone(),
                held: side
                    .edges
                    .iter()
                    .copied()
                    .zip(side.held.iter().copied())
                    .collect(),
            })
            .collect();
        self.trees.clear();
        let left = std::mem::take(&mut self.left);
        let (_, books) = go_on(inst, &plan, left, books, work)?;
        self.sides = (books.into_iter().enumerate())
            .map(|(party, book)| {
                let start = Start {
                    bound: book.bound,
                    loads: book.loads,
                };
                Lifted::new(inst, party, start)
            })
            .collect();
        self.settle(inst);
        Some(())
    }

    /// Lowers all cuts to a share.
    fn lower(&mut self, inst: &Instance, share: f64) {
        let loosened = |(party, side): (usize, &Lifted)| {
            let mut start = side.start.clone();
            start.bound *= share;
            start.loads.iter_mut().for_each(|(_, load)| *load *= share);
            Lifted::new(inst, party, start)
        };
        self.sides = self.sides.par_iter().enumerate().map(loosened).collect();
        self.cuts
            .iter_mut()
            .flatten()
            .for_each(|cut| cut.lift *= share);
        self.settle(inst);
    }

    /// Lets everybody give up some of what it could do without.
    fn give_up(&mut self, inst: &Instance, work: &mut Work) -> Option<()> {
        let sides: Option<Vec<(Lifted, Vec<Cut>, u64)>> = (self.sides.par_iter().enumerate())
            .map(|(party, side)| {
                let mut slate = self.take_slate(inst);
                let slimmer = self.slimmer(inst, party, side, &mut slate);
                self.put_slate(slate);
                slimmer
            })
            .collect();
        let sides = sides?;
        for (party, (side, cuts, done)) in sides.into_iter().enumerate() {
            work.done += done;
            self.sides[party] = side;
            let old = &mut self.cuts[party];
            old.iter_mut().for_each(|cut| cut.lift *= 1.0 - TOWARDS);
            old.retain(|cut| cut.lift > 1e-3);
            old.extend(cuts.into_iter().map(|cut| Cut {
                lift: cut.lift * TOWARDS,
                ..cut
            }));
        }
        self.settle(inst);
        Some(())
    }

    /// What one group or union has lifted after giving up some of what it held, and the work.
    fn slimmer(
        &self,
        inst: &Instance,
        party: usize,
        side: &Lifted,
        slate: &mut Slate,
    ) -> Option<(Lifted, Vec<Cut>, u64)> {
        let guide = &self.guides[party];
        let most = side.held.iter().copied().fold(0.0, f64::max);
        let spare = slate.above(inst, party, side.part(guide), most);
        let mut work = slate.work;
        let kept: Vec<f64> = (side.held.iter().zip(spare))
            .map(|(held, spare)| held - GIVEN_UP * spare.min(*held))
            .collect();
        let none = Start::default();
        let part = Part {
            edges: &side.edges,
            part: &kept,
            guide,
            start: &none,
        };
        let (bound, cuts) = slate.ascend_noting(inst, party, part, LOOSE, self.grain);
        let bound = bound?;
        work += slate.work;
        let fresh = Start {
            bound,
            loads: slate.loads(),
        };
        let start = between(&side.start, &fresh, TOWARDS);
        Some((Lifted::new(inst, party, start), cuts, work))
    }

    /// Counts anew what is left.
    fn settle(&mut self, inst: &Instance) {
        self.left.clone_from(&inst.shared);
        for side in &self.sides {
            for (edge, held) in side.edges.iter().zip(&side.held) {
                let left = &mut self.left[*edge as usize];
                let shared = inst.shared[*edge as usize];
                debug_assert!(
                    *left - held >= -1e-9 * (1.0 + shared),
                    "more is held than shared"
                );
                *left = (*left - held).max(0.0);
            }
        }
    }

    fn take_slate(&self, inst: &Instance) -> Slate {
        let kept = self.desk.lock().map_or(None, |mut desk| desk.pop());
        kept.unwrap_or_else(|| Slate::new(inst))
    }

    fn put_slate(&self, slate: Slate) {
        if let Ok(mut desk) = self.desk.lock() {
            desk.push(slate);
        }
    }
}

/// Per group and union, edges that others use and pay for and it does not: it should hold nothing of
/// their cost (complementary slackness, if the trees were optimal and the bound met them).
fn barred(inst: &Instance, trees: &[Vec<u32>]) -> Vec<Bits> {
    let mut used = Bits::new(inst.edges());
    trees.iter().flatten().for_each(|edge| used.set(*edge));
    let others = |party: usize| match trees.get(party) {
        Some(tree) => {
            let mut barred = used.clone();
            tree.iter().for_each(|edge| barred.unset(*edge));
            barred
        }
        None => Bits::new(inst.edges()),
    };
    (0..inst.parties()).map(others).collect()
}

impl Lifted {
    fn new(inst: &Instance, party: usize, start: Start) -> Lifted {
        let (mut edges, mut held): (Vec<u32>, Vec<f64>) = (Vec::new(), Vec::new());
        for (arc, load) in &start.loads {
            let edge = arc / 2;
            let more = load - inst.own(party, edge);
            if more <= 0.0 {
                continue;
            }
            if edges.last() == Some(&edge) {
                let held = held.last_mut().expect("as long as the edges");
                *held = f64::max(*held, more);
            } else {
                edges.push(edge);
                held.push(more);
            }
        }
        Lifted { start, edges, held }
    }

    /// What it holds as a row over all edges.
    fn row(&self, edges: usize) -> Vec<f64> {
        let mut row = vec![0.0; edges];
        for (edge, held) in self.edges.iter().zip(&self.held) {
            row[*edge as usize] = *held;
        }
        row
    }

    fn part<'a>(&'a self, guide: &'a [(u32, u32)]) -> Part<'a> {
        Part {
            edges: &self.edges,
            part: &self.held,
            guide,
            start: &self.start,
        }
    }
}

/// Lifts some way from one to another.
fn between(from: &Start, to: &Start, way: f64) -> Start {
    let mut loads = Vec::with_capacity(from.loads.len().max(to.loads.len()));
    let mut others = to.loads.iter().copied().peekable();
    for (arc, load) in &from.loads {
        while let Some((other, load)) = others.next_if(|(other, _)| other < arc) {
            loads.push((other, way * load));
        }
        let same = others.next_if(|(other, _)| other == arc);
        let more = same.map_or(0.0, |(_, load)| way * load);
        loads.push((*arc, (1.0 - way) * load + more));
    }
    loads.extend(others.map(|(other, load)| (other, way * load)));
    Start {
        bound: (1.0 - way) * from.bound + way * to.bound,
        loads,
    }
}
