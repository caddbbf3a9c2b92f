//! Ways that were measured before, kept from one search to the next on the same ground.
//!
//! What a straight trench goes through depends on the ground and the rules alone, neither on prices nor
//! on what else is built. A way that is remembered is the very one that would be measured, so that what
//! is found with a memory is what is found without it, only sooner.

use crate::roadmap::{End, Through};
use geo::Coord;
use ground::{Class, Ground, StretchGround};
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Searches after which ways that none of them asked for are forgotten, at the earliest.
const SEARCHES: u32 = 16;

/// What a straight trench would go through.
#[derive(Debug)]
pub(crate) struct Measured {
    /// Metres.
    pub length: f64,
    /// The parts, the classes of ground as numbers of the memory, and the middle of each.
    pub parts: Vec<(Through, Coord)>,
    /// How many buried services it crosses.
    pub crossings: usize,
}

/// A way that was asked for; nothing where no trench may run.
pub(crate) type Way = Option<Arc<Measured>>;

/// What tells a way from others: its ends in the order in which it was measured.
pub(crate) type Key = [[u64; 3]; 2];

/// Looked up and never walked: their order shows nowhere.
type Ways = FxHashMap<Key, Way>;

/// A class by its number, with the place at which it is described.
pub(crate) type Described = (u32, [u64; 2]);

/// Ways that were measured on one ground under the same rules and corridors. It is for whoever keeps it
/// to see that these are the same; a memory of another ground gives wrong trenches.
#[derive(Debug, Default)]
pub struct Memory {
    ways: Ways,
    earlier: Ways,
    searches: u32,
    classes: BTreeMap<Class, u32>,
    names: Vec<Class>,
    /// Classes in the words of the job.
    described: BTreeMap<Described, Arc<StretchGround>>,
    /// What a metre of trench costs in them; nothing if prices are not remembered.
    units: Option<BTreeMap<Described, f64>>,
}

impl Memory {
    /// Remembers what a metre of trench costs as well, from search to search as long as they have the
    /// `same` prices. Every search with it has to have one price for each ground.
    #[must_use]
    pub fn with_prices(mut self, same: bool) -> Self {
        self.units = self
            .units
            .filter(|_| same)
            .or_else(|| Some(BTreeMap::new()));
        self
    }

    pub(crate) fn unit(&self, described: &Described) -> Option<f64> {
        self.units.as_ref()?.get(described).copied()
    }

    pub(crate) fn put_unit(&mut self, described: Described, unit: f64) {
        if let Some(units) = &mut self.units {
            units.insert(described, unit);
        }
    }

    pub(crate) fn key(a: &End, b: &End) -> Key {
        [a.key(), b.key()]
    }

    /// A way that was asked for lately; [`Self::get`] finds all others that are remembered.
    pub(crate) fn recent(&self, key: &Key) -> Option<&Way> {
        self.ways.get(key)
    }

    /// A way, if it is remembered.
    pub(crate) fn get(&mut self, key: &Key) -> Option<Way> {
        if let Some(way) = self.ways.get(key) {
            return Some(way.clone());
        }
        let way = self.earlier.remove(key)?;
        self.ways.insert(*key, way.clone());
        Some(way)
    }

    pub(crate) fn put(&mut self, key: Key, way: Way) {
        self.ways.insert(key, way);
    }

    /// The number of a class.
    pub(crate) fn number(&mut self, class: Class) -> u32 {
        if let Some(number) = self.classes.get(&class) {
            return *number;
        }
        let number = self.names.len() as u32;
        self.names.push(class.clone());
        self.classes.insert(class, number);
        number
    }

    pub(crate) fn class(&self, number: u32) -> &Class {
        &self.names[number as usize]
    }

    /// A class in the words of the job, as it is at a place, and what tells it from others.
    pub(crate) fn described(
        &mut self,
        ground: &Ground,
        class: u32,
        at: Coord,
    ) -> (Described, Arc<StretchGround>) {
        let key = (class, [at.x.to_bits(), at.y.to_bits()]);
        let names = &self.names;
        let known = self.described.entry(key);
        let known = known.or_insert_with(|| Arc::new(ground.describe(&names[class as usize], at)));
        (key, known.clone())
    }

    /// Ends a search: from time to time what was not asked for any more is forgotten.
    pub(crate) fn rested(mut self) -> Self {
        self.searches += 1;
        if self.searches >= SEARCHES {
            self.searches = 0;
            self.described.clear();
            self.units = self.units.map(|_| BTreeMap::new());
            self.earlier = std::mem::take(&mut self.ways);
        }
        self
    }
}
