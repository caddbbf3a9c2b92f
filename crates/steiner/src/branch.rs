//! Branch and bound: splitting the problem on whether a group's tree passes through a node, and on
//! whether an edge is paid for at all, with a dual ascent as the bound of every part.

use crate::ascent::{Dual, Plan, ascend};
use crate::bits::Bits;
use crate::fix::fix;
use crate::instance::Instance;
use crate::many::{Division, Party};
use crate::search::{Search, along, better};
use crate::state::{State, polish};
use crate::unit::round_up;
use std::collections::BTreeMap;
use std::rc::Rc;

/// One choice on the way to a part of the problem.
#[derive(Clone, Copy, Debug)]
enum Choice {
    /// The group's tree passes through the node.
    Through(usize, u32),
    /// It does not.
    Around(usize, u32),
    /// The edge is paid for.
    Paid(u32),
    /// No group uses the edge.
    Unused(u32),
}

/// A part of the problem still to be looked at.
struct Part {
    bound: f64,
    choices: Vec<Choice>,
    /// Parts of the shared costs to begin with; empty with a single group.
    share: Rc<Vec<Party>>,
    /// Bans found on the way here; empty at the top.
    banned: Rc<Vec<Bits>>,
}

/// What looking at a part gave.
enum Seen {
    /// Nothing better in it.
    Closed,
    /// Nothing below this bound; split here.
    Open(f64, [Choice; 2], Rc<Vec<Party>>, Rc<Vec<Bits>>),
}

/// A search that can be laid aside and taken up again.
pub(crate) struct Branching {
    open: Open,
}

impl Branching {
    /// Nothing split yet.
    pub fn new(search: &Search) -> Branching {
        let share = search
            .division
            .as_ref()
            .map(Division::best_parts)
            .unwrap_or_default();
        let mut open = Open::default();
        open.push(Part {
            bound: search.bound,
            choices: Vec::new(),
            share: Rc::new(share),
            banned: Rc::default(),
        });
        Branching { open }
    }

    /// Splits until the bound meets the best cost, the work is used up, or `stop` says so.
    pub fn run(&mut self, search: &mut Search, until: u64, mut stop: impl FnMut(&Search) -> bool) {
        let limit = until.min(search.work.limit);
        while let Some(part) = self.open.pop() {
            search.lift(part.bound);
            if search.closed() || search.work.done >= limit || stop(search) {
                self.open.push(part);
                return;
            }
            if let Seen::Open(bound, split, share, banned) = look(search, &part) {
                let bound = bound.max(part.bound);
                for choice in split {
                    let mut choices = part.choices.clone();
                    choices.push(choice);
                    let (share, banned) = (share.clone(), banned.clone());
                    self.open.push(Part {
                        bound,
                        choices,
                        share,
                        banned,
                    });
                }
            }
        }
        let best = search.best.cost;
        search.lift(best);
    }
}

/// Parts by bound, lowest first; among equals the latest, so that the search goes deep.
#[derive(Default)]
struct Open {
    parts: BTreeMap<(u64, std::cmp::Reverse<u64>), Part>,
    count: u64,
}

impl Open {
    fn push(&mut self, part: Part) {
        self.count += 1;
        let key = (part.bound.max(0.0).to_bits(), std::cmp::Reverse(self.count));
        self.parts.insert(key, part);
    }

    fn pop(&mut self) -> Option<Part> {
        self.parts.pop_first().map(|(_, part)| part)
    }
}

fn look(search: &mut Search, part: &Part) -> Seen {
    let mut inst = search.inst.clone();
    if !part.banned.is_empty() {
        inst.banned.clone_from(&part.banned);
    }
    for choice in &part.choices {
        apply(&mut inst, *choice);
    }
    let mut bound = part.bound;
    let mut last = None;
    let mut share: Vec<Party> = part.share.to_vec();
    for round in 0..3 {
        let mut plan = Plan::new(&inst);
        if round > 0 {
            for (root, terminals) in plan.roots.iter_mut().zip(&inst.terminals) {
                *root = terminals[search.dice.below(terminals.len())];
            }
            search.dice.shuffle(&mut plan.order);
        }
        if let Some(division) = divide(search, &inst, &share) {
            bound = bound.max(round_up(division.bound + inst.offset, search.unit));
            if bound > search.most() {
                return Seen::Closed;
            }
            plan.share = division.dense(&inst);
            share = division.best_parts();
        }
        let dual = ascend(&inst, &plan, &mut search.work);
        bound = bound.max(round_up(dual.bound + inst.offset, search.unit));
        if bound > search.most() {
            return Seen::Closed;
        }
        if round == 0 {
            try_along(search, &inst, &dual);
        }
        let most = better(search.best.cost, search.unit) - inst.offset;
        let bans = fix(
            &mut inst,
            &dual,
            most,
            &mut search.desk.reach,
            &mut search.work,
        );
        last = Some(dual);
        if bans * 50 < inst.edges() || search.work.out() {
            break;
        }
    }
    let dual = last.expect("the loop runs at least once");
    match split(search, &inst, &dual) {
        Some(choices) => Seen::Open(bound, choices, Rc::new(share), Rc::new(inst.banned)),
        None => finish(search, &inst),
    }
}

/// Betters the parts of the shared costs for this part of the problem.
fn divide(search: &mut Search, inst: &Instance, share: &[Party]) -> Option<Division> {
    if share.is_empty() {
        return None;
    }
    let mut division = Division::resume(inst, share);
    for _ in 0..ROUNDS {
        let target = search.best.cost - inst.offset;
        let trees = division.round(inst, target, &mut search.work);
        if trees.is_none() {
            division.bound = f64::INFINITY;
        }
        if search.work.out() || division.bound + inst.offset > search.most() {
            break;
        }
    }
    Some(division)
}

/// Rounds of dividing the shared costs anew per part.
const ROUNDS: usize = 12;

fn apply(inst: &mut Instance, choice: Choice) {
    match choice {
        Choice::Through(group, node) => {
            inst.terminals[group].push(node);
            // What the tree passes through, the union does too, if it is not a terminal of another
            // group anyway: a root that is a terminal twice would spoil the bound.
            if let Some(union) = inst.union_of[group]
                && !inst.terminals[union].contains(&node)
            {
                inst.terminals[union].push(node);
            }
        }
        Choice::Around(group, node) => {
            for link in inst.links.of(node) {
                inst.banned[group].set(link.edge());
            }
        }
        Choice::Paid(edge) => {
            inst.offset += inst.shared[edge as usize];
            inst.shared[edge as usize] = 0.0;
        }
        Choice::Unused(edge) => {
            for bans in &mut inst.banned {
                bans.set(edge);
            }
        }
    }
}

/// Looks for trees in this part; they are trees of the whole problem too.
fn try_along(search: &mut Search, inst: &Instance, dual: &Dual) {
    let found = along(
        inst,
        dual,
        &mut search.dice,
        &mut search.desk,
        &mut search.work,
    );
    if let Some(state) = found {
        let mut state = State::of(&search.inst, state.trees);
        if state.cost < search.best.cost * 1.02 {
            let mut work = search.work;
            polish(
                &search.inst,
                &mut state,
                &mut search.dice,
                &mut search.desk,
                &mut work,
            );
            search.work.done = work.done;
        }
        search.offer(state);
    }
}

/// A node where the best tree branches counts for more than any number of arcs without slack: going
/// around it spoils that tree, and going through it fixes what the tree is made of.
const BRANCHING: usize = 100;

/// Where to split: a node that is no terminal, where the best tree branches most or that has the
/// most arcs without slack; if there is no such node, an edge whose shared cost is still open
/// between groups.
fn split(search: &Search, inst: &Instance, dual: &Dual) -> Option<[Choice; 2]> {
    let tiny = 1e-9 * dual.bound;
    let mut best = (0usize, 0usize, NO_NODE);
    for group in 0..inst.groups() {
        let mut degree = vec![0usize; inst.nodes()];
        for edge in &search.best.trees[group] {
            let (a, b) = inst.ends(*edge);
            degree[a as usize] += 1;
            degree[b as usize] += 1;
        }
        let mut terminals = inst.terminals[group].clone();
        terminals.sort_unstable();
        for node in 0..inst.nodes() as u32 {
            if terminals.binary_search(&node).is_ok() {
                continue;
            }
            let links = inst
                .links
                .of(node)
                .iter()
                .filter(|link| inst.open(group, link.edge()));
            let (mut near, mut any) = (0, 0);
            for link in links {
                any += 1;
                let slack = |arc: u32| dual.slack[group][arc as usize];
                near += usize::from(slack(link.arc ^ 1) <= tiny || slack(link.arc) <= tiny);
            }
            let score = 1 + 2 * near + BRANCHING * degree[node as usize].saturating_sub(2);
            if any > 0 && score > best.0 {
                best = (score, group, node);
            }
        }
    }
    if best.2 != NO_NODE {
        return Some([
            Choice::Around(best.1, best.2),
            Choice::Through(best.1, best.2),
        ]);
    }
    let shared = |edge: &u32| {
        let users = (0..inst.groups())
            .filter(|group| inst.open(*group, *edge))
            .count();
        users > 1 && inst.shared[*edge as usize] > 0.0
    };
    let edge = (0..inst.edges() as u32).find(shared)?;
    Some([Choice::Unused(edge), Choice::Paid(edge)])
}

const NO_NODE: u32 = u32::MAX;

/// Every node and every shared edge is decided: cheapest spanning trees are exact.
fn finish(search: &mut Search, inst: &Instance) -> Seen {
    let state = State::new(inst);
    let mut trees = Vec::new();
    for group in 0..inst.groups() {
        let price = state.prices(inst, group, &[]);
        let terminals = &inst.terminals[group];
        let mut nodes = terminals.clone();
        nodes.sort_unstable();
        let place = &mut search.desk.place;
        let tree = crate::tidy::tidy(inst, &price, &nodes, terminals, place, &mut search.work);
        match tree {
            Some(tree) => trees.push(tree),
            None => return Seen::Closed,
        }
    }
    search.offer(State::of(&search.inst, trees));
    Seen::Closed
}
