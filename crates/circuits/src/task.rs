//! From a job to the scheme that is solved.

use crate::GroupCosts;
use crate::land::apart;
use crate::limits::{Limits, Most};
use crate::scheme::{Bore, Head, Prices, Scheme, Set};
use geo::Coord;
use ground::Ground;
use hydraulics::friction::flow_at;
use job::{Job, Outlet, OutletKind, Place};

/// A place where valves may stand.
#[derive(Debug, Clone)]
pub(crate) struct Spot {
    /// The manifold's id, or the name that given valves share.
    pub name: String,
    pub at: Place,
}

/// Heads to be grouped, and all that is known of them.
pub(crate) struct Task<'a> {
    pub outlets: Vec<&'a Outlet>,
    pub most: Vec<Most>,
    pub spots: Vec<Spot>,
    pub scheme: Scheme,
    /// Whether some places could not be joined by ways, so that straight lines stand for them.
    pub broken: bool,
}

impl<'a> Task<'a> {
    pub fn new(
        job: &'a Job,
        ground: &Ground,
        costs: &GroupCosts,
        outlets: Vec<&'a Outlet>,
        spots: Vec<Spot>,
    ) -> Self {
        let limits = Limits::new(job, ground);
        let most: Vec<Most> = outlets.iter().map(|o| limits.most(o)).collect();
        let system = &job.system;
        let mut places: Vec<Coord> = outlets.iter().map(|o| o.at.into()).collect();
        places.push(system.backflow.at.into());
        places.extend(system.controller.iter().map(|c| Coord::from(c.at)));
        places.extend(spots.iter().map(|s| Coord::from(s.at)));
        let apart = apart(job, ground, costs, &places);
        let head = |(outlet, most): (&&Outlet, &Most)| Head {
            flow: outlet.flow.to_m3s(),
            most: most.flow.to_m3s(),
            class: class(outlet),
            rate: outlet.precipitation.map(|p| p.to_mps()),
        };
        let mut scheme = Scheme {
            heads: outlets.iter().zip(&most).map(head).collect(),
            wired: system.controller.is_some(),
            manifolds: spots.len(),
            trench: apart.cost,
            length: apart.length,
            bores: bores(job, costs),
            prices: Prices {
                valve: costs.valve,
                valve_box: costs.valve_box,
                valves_per_box: job.practice.takeoff.valves_per_box.value,
                main: (costs.pipe)(&system.source.main_pipe, &system.source.service_size),
                wire: costs.wire,
                conductor: costs.conductor,
            },
            tolerance: job.practice.circuits.rate_tolerance.value.to_one(),
        };
        scheme.round();
        scheme.part_classes();
        Self {
            outlets,
            most,
            spots,
            scheme,
            broken: apart.broken,
        }
    }

    /// Of the heads of a circuit the one that sets its greatest flow.
    pub fn binding(&self, set: &Set) -> usize {
        let by_flow = |a: &&usize, b: &&usize| {
            let flow = |h: usize| self.most[h].flow;
            flow(**a).total_cmp(&flow(**b)).then(a.cmp(b))
        };
        set.heads.iter().min_by(by_flow).copied().unwrap_or(0)
    }

    /// For each head whether the nearest that it may run with is in its circuit; nothing if it may run
    /// with none.
    pub fn neighbours_together(&self, sets: &[Set]) -> Vec<Option<bool>> {
        let count = self.outlets.len();
        let mut of = vec![usize::MAX; count];
        for (i, set) in sets.iter().enumerate() {
            set.heads.iter().for_each(|h| of[*h] = i);
        }
        let nearest = |h: usize| {
            let fits = |o: &usize| *o != h && self.scheme.may_run([h, *o]);
            let away = |o: usize| self.scheme.far(h, o);
            (0..count)
                .filter(fits)
                .min_by(|a, b| away(*a).total_cmp(&away(*b)).then(a.cmp(b)))
        };
        (0..count).map(|h| Some(of[nearest(h)?] == of[h])).collect()
    }
}

/// Heads of one kind that state a rate, or that state none, run together.
fn class(outlet: &Outlet) -> u32 {
    let kind = match outlet.kind {
        OutletKind::Head => 0,
        OutletKind::Drip => 2,
    };
    kind + u32::from(outlet.precipitation.is_some())
}

/// The sizes of the laterals; where a larger one is cheaper, its price counts for the smaller too.
fn bores(job: &Job, costs: &GroupCosts) -> Vec<Bore> {
    let key = &job.practice.circuits.pipe.value;
    let velocity = job.practice.water.velocity.lateral.value;
    let sizes = job.practice.pipe.get(key).map(|f| f.sizes.as_slice());
    let bore = |size: &job::practice::PipeSize| Bore {
        most: flow_at(velocity, size.inside).to_m3s(),
        price: (costs.pipe)(key, &size.name),
    };
    let mut bores: Vec<Bore> = sizes.unwrap_or_default().iter().map(bore).collect();
    bores.sort_by(|a, b| a.most.total_cmp(&b.most));
    for i in (1..bores.len()).rev() {
        bores[i - 1].price = bores[i - 1].price.min(bores[i].price);
    }
    bores
}
