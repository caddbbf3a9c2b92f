//! What trenches cost that are not on the map.

use crate::roadmap::{End, Roadmap, Tried};
use crate::turning::TurningRule;
use crate::{RouteCosts, turning};
use geo::Coord;
use ground::{Class, Ground};
use std::collections::BTreeMap;

/// Prices trenches by the map's rules.
pub struct Pricer<'a, 'm> {
    map: &'m Roadmap<'a>,
    ground: &'a Ground,
    costs: &'m RouteCosts<'m>,
    rule: TurningRule,
    rates: Vec<f64>,
    least: f64,
    new: BTreeMap<Class, f64>,
    tried: &'m mut Tried,
}

impl<'a, 'm> Pricer<'a, 'm> {
    /// With a rate for each line.
    pub fn new(
        map: &'m Roadmap<'a>,
        ground: &'a Ground,
        costs: &'m RouteCosts<'m>,
        rule: TurningRule,
        rates: Vec<f64>,
        tried: &'m mut Tried,
    ) -> Self {
        Self {
            map,
            ground,
            costs,
            rule,
            rates,
            least: map.least_price(),
            new: BTreeMap::new(),
            tried,
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
            tried,
            ..
        } = self;
        map.trial(a, b, tried, |class, at| {
            if let Some(known) = new.get(class) {
                return *known;
            }
            let price = (costs.trench)(&ground.describe(class, at));
            new.insert(class.clone(), price);
            price
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
