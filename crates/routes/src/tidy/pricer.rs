//! What trenches cost that are not on the map.

use crate::memory::Memory;
use crate::roadmap::{End, Roadmap};
use crate::turning::TurningRule;
use crate::{RouteCosts, turning};
use geo::Coord;
use ground::Ground;
use std::collections::BTreeMap;

/// Prices trenches by the map's rules.
pub struct Pricer<'a, 'm> {
    map: &'m Roadmap<'a>,
    ground: &'a Ground,
    costs: &'m RouteCosts<'m>,
    rule: TurningRule,
    rates: Vec<f64>,
    least: f64,
    new: BTreeMap<u32, f64>,
    memory: &'m mut Memory,
}

impl<'a, 'm> Pricer<'a, 'm> {
    /// With a rate for each line.
    pub fn new(
        map: &'m Roadmap<'a>,
        ground: &'a Ground,
        costs: &'m RouteCosts<'m>,
        rule: TurningRule,
        rates: Vec<f64>,
        memory: &'m mut Memory,
    ) -> Self {
        Self {
            map,
            ground,
            costs,
            rule,
            rates,
            least: map.least_price(),
            new: BTreeMap::new(),
            memory,
        }
    }

    /// What a metre of these lines costs.
    pub fn rate(&self, carries: &[u32]) -> f64 {
        carries.iter().map(|l| self.rates[*l as usize]).sum()
    }

    /// What a metre of trench costs at least.
    pub fn least(&self) -> f64 {
        self.least
    }

    /// What a place costs from which trenches leave in these directions.
    pub fn turning(&self, arms: &[Coord]) -> f64 {
        self.rule.cost(arms)
    }

    /// Length and cost of digging a straight trench; nothing where it may not run.
    pub fn price(&mut self, a: &End, b: &End) -> Option<(f64, f64)> {
        let Self {
            map,
            ground,
            costs,
            new,
            memory,
            ..
        } = self;
        map.trial(a, b, memory, |number, class, at| {
            *new.entry(number)
                .or_insert_with(|| (costs.trench)(&ground.describe(class, at)))
        })
    }

    /// Whether a trench may turn at a place.
    pub fn holds(&self, at: Coord) -> bool {
        at.x.is_finite() && at.y.is_finite() && self.ground.open().holds(at)
    }
}

/// The angle between two directions.
pub fn angle(u: Coord, v: Coord) -> f64 {
    turning::between(u, v)
}
