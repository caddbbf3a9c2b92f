//! The chosen trenches as they are being tidied: changes are tried, and kept or undone.

use super::pricer::Pricer;
use crate::candidates::length;
use crate::roadmap::{End, Roadmap};
use geo::Coord;

/// A change has to gain this much to be kept, in currency units; less is rounding.
const LEAST: f64 = 1e-3;

/// A place where trenches end, turn or meet.
#[derive(Debug, Clone)]
pub struct Spot {
    /// The place as the map knows it.
    pub end: End,
    /// Whether it stays where it is: components, ends of sleeves, and places along fixed trenches.
    pub fixed: bool,
}

/// A straight trench.
#[derive(Debug, Clone)]
pub struct Trench {
    /// One end.
    pub a: u32,
    /// The other end.
    pub b: u32,
    /// The lines in it, ascending; never empty while it is there.
    pub carries: Vec<u32>,
    /// Metres.
    pub length: f64,
    /// Cost of digging it once.
    pub dig: f64,
    /// As in the map.
    pub sleeve: Option<Option<String>>,
    /// Whether people have fixed it: it stays, and so do the lines in it; others may join them.
    fixed: bool,
    there: bool,
}

enum Before {
    Spot(u32, Spot),
    NewSpot,
    Trench(u32, Trench),
    NewTrench,
    Turning(u32, f64),
}

/// The trenches of a network.
pub struct Draft {
    /// Places; the first ones are the sites.
    pub spots: Vec<Spot>,
    /// Trenches, removed ones among them.
    pub trenches: Vec<Trench>,
    /// For each line, the spots that it has to reach.
    pub ends: Vec<Vec<u32>>,
    arms: Vec<Vec<u32>>,
    turning: Vec<f64>,
    cost: f64,
    log: Vec<Before>,
    start: f64,
    touched: Vec<u32>,
    unpriced: Vec<u32>,
    placed: Vec<u32>,
}

impl Draft {
    /// The trenches of trees on a map, with the sites that each line has to reach.
    pub fn new(
        map: &Roadmap<'_>,
        trees: &[Vec<u32>],
        ends: Vec<Vec<u32>>,
        pricer: &Pricer<'_, '_>,
    ) -> Self {
        let mut draft = Self {
            spots: Vec::new(),
            trenches: Vec::new(),
            ends,
            arms: Vec::new(),
            turning: Vec::new(),
            cost: 0.0,
            log: Vec::new(),
            start: 0.0,
            touched: Vec::new(),
            unpriced: Vec::new(),
            placed: Vec::new(),
        };
        let mut known = std::collections::BTreeMap::new();
        for site in 0..map.sites() {
            known.insert(site, draft.push_spot(map.end(site), true));
        }
        let mut carried = std::collections::BTreeMap::<u32, Vec<u32>>::new();
        for (line, tree) in trees.iter().enumerate() {
            for edge in tree {
                carried.entry(*edge).or_default().push(line as u32);
            }
        }
        for (edge, carries) in carried {
            let e = &map.edges[edge as usize];
            let mut spot = |node: u32, fixed: bool| {
                let id = *known
                    .entry(node)
                    .or_insert_with(|| draft.push_spot(map.end(node), false));
                draft.spots[id as usize].fixed |= fixed;
                id
            };
            let stays = e.fixed || e.sleeve.is_some();
            let (a, b) = (spot(e.a, stays), spot(e.b, stays));
            let (there, sleeve) = (true, e.sleeve.clone());
            let (length, dig) = (e.length, e.dig);
            draft.push_trench(Trench {
                a,
                b,
                carries,
                length,
                dig,
                sleeve,
                fixed: e.fixed,
                there,
            });
        }
        draft.recount(pricer);
        draft
    }

    /// Everything: digging, lines, turning.
    pub fn cost(&self) -> f64 {
        self.cost
    }

    /// Digging and lines.
    pub fn laying(&self) -> f64 {
        self.cost - self.turning.iter().sum::<f64>()
    }

    /// Where a spot is.
    pub fn at(&self, spot: u32) -> Coord {
        self.spots[spot as usize].end.at
    }

    /// The trenches at a spot.
    pub fn arms(&self, spot: u32) -> &[u32] {
        &self.arms[spot as usize]
    }

    /// A trench.
    pub fn trench(&self, trench: u32) -> &Trench {
        &self.trenches[trench as usize]
    }

    /// Whether a trench has not been removed.
    pub fn is_there(&self, trench: u32) -> bool {
        self.trenches[trench as usize].there
    }

    /// The end of a trench that is not this spot.
    pub fn beyond(&self, trench: u32, spot: u32) -> u32 {
        let t = &self.trenches[trench as usize];
        if t.a == spot { t.b } else { t.a }
    }

    /// Whether a spot may be moved or left out.
    pub fn is_free(&self, spot: u32) -> bool {
        !self.spots[spot as usize].fixed
    }

    /// What a metre of a trench costs, its lines included.
    pub fn weight(&self, trench: u32, pricer: &Pricer<'_, '_>) -> f64 {
        let t = &self.trenches[trench as usize];
        t.dig / t.length.max(f64::MIN_POSITIVE) + pricer.rate(&t.carries)
    }

    /// The spots that the change under way has touched.
    pub fn touched(&self) -> &[u32] {
        &self.touched
    }

    /// What everything cost before the change under way.
    pub fn begun_at(&self) -> f64 {
        self.start
    }

    /// Begins a change.
    pub fn begin(&mut self) {
        self.log.clear();
        self.touched.clear();
        self.unpriced.clear();
        self.placed.clear();
        self.start = self.cost;
    }

    /// Ends a change: keeps it if it gains more than `-allowed`, else undoes it. Gives whether it was
    /// kept.
    pub fn settle(&mut self, pricer: &mut Pricer<'_, '_>, allowed: f64) -> bool {
        let most = self.start - LEAST + allowed;
        self.touched.sort_unstable();
        self.touched.dedup();
        for i in 0..self.touched.len() {
            self.turn(self.touched[i], pricer);
        }
        // Until here new trenches cost no more than they will: most changes end without a look at the
        // ground.
        let mut kept = self.cost < most && self.leaves_fixed();
        for i in 0..self.unpriced.len() {
            let trench = self.unpriced[i];
            if !kept {
                break;
            }
            if self.is_there(trench) {
                kept = self.price(trench, pricer) && self.cost < most;
            }
        }
        // Last, since it is slow: trenches that may run straight to a place lie in open ground there, but
        // for what rounding allows at its edge.
        kept = kept && self.placed.iter().all(|spot| pricer.holds(self.at(*spot)));
        if !kept {
            self.undo();
        }
        kept
    }

    /// Whether the change under way leaves fixed trenches where they are, with their lines.
    fn leaves_fixed(&self) -> bool {
        self.log.iter().all(|before| match before {
            Before::Trench(i, before) if before.fixed => {
                let now = self.trench(*i);
                now.there && before.carries.iter().all(|line| now.carries.contains(line))
            }
            _ => true,
        })
    }

    /// Puts everything back as it was when the change began.
    pub fn undo(&mut self) {
        while let Some(before) = self.log.pop() {
            match before {
                Before::Spot(i, spot) => self.spots[i as usize] = spot,
                Before::NewSpot => {
                    self.spots.pop();
                    self.arms.pop();
                    self.turning.pop();
                }
                Before::Trench(i, trench) => {
                    let now = &self.trenches[i as usize];
                    match (now.there, trench.there) {
                        (true, false) => self.detach(i),
                        (false, true) => self.attach(i),
                        _ => {}
                    }
                    self.trenches[i as usize] = trench;
                }
                Before::NewTrench => {
                    let last = self.trenches.len() as u32 - 1;
                    if self.is_there(last) {
                        self.detach(last);
                    }
                    self.trenches.pop();
                }
                Before::Turning(i, cost) => self.turning[i as usize] = cost,
            }
        }
        self.cost = self.start;
    }

    /// A new place where trenches may turn or meet.
    pub fn add_spot(&mut self, at: Coord) -> u32 {
        self.log.push(Before::NewSpot);
        let spot = self.push_spot(End::open(at), false);
        self.placed.push(spot);
        self.touched.push(spot);
        spot
    }

    /// Takes a trench out.
    pub fn remove(&mut self, trench: u32, pricer: &Pricer<'_, '_>) {
        self.note(trench);
        self.cost -= self.cost_of(trench, pricer);
        self.detach(trench);
        self.trenches[trench as usize].there = false;
    }

    /// Puts lines into a straight trench between two spots; into the one that is there, if any.
    pub fn link(&mut self, a: u32, b: u32, carries: &[u32], pricer: &Pricer<'_, '_>) {
        if a == b || carries.is_empty() {
            return;
        }
        if let Some(there) = self.between(a, b) {
            let all = union(&self.trench(there).carries, carries);
            return self.carry(there, all, pricer);
        }
        let length = length(self.at(a) - self.at(b));
        self.log.push(Before::NewTrench);
        let trench = self.push_trench(Trench {
            a,
            b,
            carries: carries.to_vec(),
            length,
            dig: length * pricer.least(),
            sleeve: None,
            fixed: false,
            there: true,
        });
        self.touched.extend([a, b]);
        self.unpriced.push(trench);
        self.cost += self.cost_of(trench, pricer);
    }

    /// Changes the lines in a trench; one with none is taken out.
    pub fn carry(&mut self, trench: u32, carries: Vec<u32>, pricer: &Pricer<'_, '_>) {
        if carries == self.trench(trench).carries {
            return;
        }
        if carries.is_empty() {
            return self.remove(trench, pricer);
        }
        self.note(trench);
        self.cost -= self.cost_of(trench, pricer);
        self.trenches[trench as usize].carries = carries;
        self.cost += self.cost_of(trench, pricer);
    }

    /// Moves a free spot with its trenches.
    pub fn shift(&mut self, spot: u32, to: Coord, pricer: &Pricer<'_, '_>) {
        let arms: Vec<(u32, Vec<u32>)> = self
            .arms(spot)
            .iter()
            .map(|t| (self.beyond(*t, spot), self.trench(*t).carries.clone()))
            .collect();
        for trench in self.arms(spot).to_vec() {
            self.remove(trench, pricer);
        }
        self.log
            .push(Before::Spot(spot, self.spots[spot as usize].clone()));
        self.spots[spot as usize].end = End::open(to);
        self.placed.push(spot);
        for (far, carries) in arms {
            self.link(spot, far, &carries, pricer);
        }
    }

    /// The trench between two spots that is no sleeve.
    pub fn between(&self, a: u32, b: u32) -> Option<u32> {
        let mut arms = self.arms(a).iter().copied();
        arms.find(|t| self.beyond(*t, a) == b && self.trench(*t).sleeve.is_none())
    }

    /// Directions in which trenches leave a spot.
    pub fn directions(&self, spot: u32) -> Vec<Coord> {
        let at = self.at(spot);
        let arms = self.arms(spot).iter();
        arms.map(|t| self.at(self.beyond(*t, spot)) - at).collect()
    }

    fn recount(&mut self, pricer: &Pricer<'_, '_>) {
        for spot in 0..self.spots.len() as u32 {
            self.turning[spot as usize] = pricer.turning(&self.directions(spot));
        }
        let there = (0..self.trenches.len() as u32).filter(|t| self.is_there(*t));
        let laid: f64 = there.map(|t| self.cost_of(t, pricer)).sum();
        self.cost = laid + self.turning.iter().sum::<f64>();
    }

    fn turn(&mut self, spot: u32, pricer: &Pricer<'_, '_>) {
        let now = pricer.turning(&self.directions(spot));
        let before = self.turning[spot as usize];
        if now.to_bits() != before.to_bits() {
            self.log.push(Before::Turning(spot, before));
            self.cost += now - before;
            self.turning[spot as usize] = now;
        }
    }

    fn price(&mut self, trench: u32, pricer: &mut Pricer<'_, '_>) -> bool {
        let t = &self.trenches[trench as usize];
        let (a, b) = (&self.spots[t.a as usize].end, &self.spots[t.b as usize].end);
        let Some((length, dig)) = pricer.price(a, b) else {
            return false;
        };
        self.cost -= self.cost_of(trench, pricer);
        let t = &mut self.trenches[trench as usize];
        (t.length, t.dig) = (length, dig);
        self.cost += self.cost_of(trench, pricer);
        true
    }

    fn cost_of(&self, trench: u32, pricer: &Pricer<'_, '_>) -> f64 {
        let t = &self.trenches[trench as usize];
        t.dig + t.length * pricer.rate(&t.carries)
    }

    fn note(&mut self, trench: u32) {
        let t = self.trenches[trench as usize].clone();
        self.touched.extend([t.a, t.b]);
        self.log.push(Before::Trench(trench, t));
    }

    fn push_spot(&mut self, end: End, fixed: bool) -> u32 {
        self.spots.push(Spot { end, fixed });
        self.arms.push(Vec::new());
        self.turning.push(0.0);
        self.spots.len() as u32 - 1
    }

    fn push_trench(&mut self, trench: Trench) -> u32 {
        self.trenches.push(trench);
        let number = self.trenches.len() as u32 - 1;
        self.attach(number);
        number
    }

    fn attach(&mut self, trench: u32) {
        let (a, b) = (self.trench(trench).a, self.trench(trench).b);
        for end in [a, b] {
            let arms = &mut self.arms[end as usize];
            let place = arms.partition_point(|t| *t < trench);
            arms.insert(place, trench);
        }
    }

    fn detach(&mut self, trench: u32) {
        let (a, b) = (self.trench(trench).a, self.trench(trench).b);
        for end in [a, b] {
            self.arms[end as usize].retain(|t| *t != trench);
        }
    }
}

/// All of two ascending lists.
pub fn union(a: &[u32], b: &[u32]) -> Vec<u32> {
    let mut all = [a, b].concat();
    all.sort_unstable();
    all.dedup();
    all
}
