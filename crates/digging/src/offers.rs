//! Every method on every stretch: what it would cut, move, take and cost, or why it cannot.

use crate::contents::{Inventory, Layout, arrange};
use crate::hire::{Machine, Offer};
use crate::rental::{MachineId, Rental, rentals};
use crate::section::Cut;
use crate::work::{self, Cost};
use crate::{Earthwork, decided, earth, feasible, pull, runs};
use hydraulics::Hydraulics;
use job::practice::Sides;
use job::prices::MethodKind;
use job::{Job, Method, MethodId};
use quantity::{Duration, Length, Money};
use rayon::prelude::*;
use routes::{Network, Stretch, StretchId};

/// The methods of a price book in the order of their ids.
pub(crate) struct Book<'a> {
    pub(crate) job: &'a Job,
    methods: Vec<(&'a MethodId, &'a Method)>,
    /// The machines that would have to be hired.
    pub(crate) rentals: Vec<Rental<'a>>,
    /// What a stretch falls back to where nothing is feasible.
    pub(crate) fallback: usize,
}

impl<'a> Book<'a> {
    /// `None` if the price book holds no method at all.
    pub(crate) fn new(job: &'a Job) -> Option<Self> {
        let methods: Vec<_> = job.prices.method.iter().collect();
        let hand = methods.iter().position(|(_, m)| m.kind == MethodKind::Hand);
        (!methods.is_empty()).then(|| Self {
            job,
            methods,
            rentals: rentals(job),
            fallback: hand.unwrap_or(0),
        })
    }

    pub(crate) fn id(&self, method: usize) -> &'a MethodId {
        self.methods[method].0
    }

    pub(crate) fn method(&self, method: usize) -> &'a Method {
        self.methods[method].1
    }

    pub(crate) fn len(&self) -> usize {
        self.methods.len()
    }

    /// The machines that would have to be hired, as the choice of them needs to know.
    pub(crate) fn machines(&self) -> Vec<Machine> {
        let index = |id: &MethodId| self.methods.iter().position(|(known, _)| *known == id);
        let machine = |rental: &Rental| Machine {
            methods: rental.methods.iter().filter_map(index).collect(),
            tariff: rental.tariff,
        };
        self.rentals.iter().map(machine).collect()
    }

    /// Whether a method has all that it needs when these machines are hired.
    pub(crate) fn is_at_hand(&self, method: usize, hired: impl Fn(&MachineId) -> bool) -> bool {
        let needs = |rental: &&Rental| rental.methods.contains(self.id(method));
        self.rentals
            .iter()
            .filter(needs)
            .all(|rental| hired(&rental.id))
    }
}

/// One method on one stretch.
#[derive(Debug, Clone)]
pub(crate) struct Way {
    pub(crate) method: usize,
    pub(crate) cut: Cut,
    pub(crate) earth: Earthwork,
    /// Length of the run over which setting up is shared.
    pub(crate) run: Length,
    pub(crate) hours: Duration,
    pub(crate) cost: Cost,
    pub(crate) total: Money,
    /// Pulls and pits, where it is pulled in.
    pub(crate) pull: Option<pull::Pull>,
    /// The cheapest other way of keeping the sides, and what the stretch would cost with it.
    pub(crate) other_sides: Option<(Money, Sides)>,
}

/// A stretch with all its ways.
pub(crate) struct Site<'a> {
    pub(crate) id: StretchId,
    pub(crate) stretch: &'a Stretch,
    pub(crate) layout: Layout<'a>,
    /// Feasible ones, in the order of the methods.
    pub(crate) ways: Vec<Way>,
    /// The rest with all that speaks against them, in the order of the methods.
    pub(crate) rejected: Vec<(usize, Vec<String>)>,
}

impl Site<'_> {
    /// What the choice of machines needs to know.
    pub(crate) fn priced(&self) -> Vec<Offer> {
        self.ways
            .iter()
            .map(|way| Offer {
                method: way.method,
                cost: way.total,
                hours: way.hours,
            })
            .collect()
    }
}

/// All stretches with all their ways.
pub(crate) fn sites<'a>(
    book: &Book<'a>,
    network: &'a Network,
    water: &'a Hydraulics,
) -> Vec<Site<'a>> {
    let inventory = Inventory::new(book.job, network, water);
    let stretches: Vec<(StretchId, &Stretch)> = network.iter().collect();
    let mut sites: Vec<Site> = stretches
        .into_par_iter()
        .map(|(id, stretch)| tried(book, id, stretch, &inventory))
        .collect();
    let chains = runs::chains(network, book.job.practice.takeoff.elbow_from.value);
    for method in 0..book.len() {
        offer(book, network, &chains, method, &mut sites);
    }
    pull::lay::offer(book, network, &mut sites);
    for site in &mut sites {
        site.rejected.sort_by_key(|(method, _)| *method);
    }
    sites
}

/// A stretch with what speaks against each method, the length of runs left out.
fn tried<'a>(
    book: &Book<'a>,
    id: StretchId,
    stretch: &'a Stretch,
    inventory: &Inventory<'a>,
) -> Site<'a> {
    let layout = arrange(&book.job.practice, inventory.things(id));
    let (ground, sleeved) = (&stretch.ground, stretch.sleeve.is_some());
    let decided = decided::on(book.job, stretch);
    let rejected = (0..book.len())
        .filter_map(|m| {
            let (id, method) = (book.id(m), book.method(m));
            let mut why = feasible::objections(book.job, id, method, ground, sleeved, &layout);
            if let Some((trench, wanted)) = decided.filter(|(_, wanted)| *wanted != id) {
                why.insert(0, decided::against(book.job, trench, wanted));
            }
            (!why.is_empty()).then_some((m, why))
        })
        .collect();
    Site {
        id,
        stretch,
        layout,
        ways: Vec::new(),
        rejected,
    }
}

/// Works out one method on all stretches where nothing speaks against it.
fn offer(
    book: &Book,
    network: &Network,
    chains: &[Vec<StretchId>],
    method: usize,
    sites: &mut [Site],
) {
    let fits: Vec<bool> = sites
        .iter()
        .map(|s| s.rejected.iter().all(|(m, _)| *m != method))
        .collect();
    let by = book.method(method);
    for run in runs::runs(chains, |id| fits[id.index()]) {
        let (left, lack) = runs::with_room(network, run, book.id(method));
        let (length, whole) = (runs::length(network, left), runs::length(network, run));
        for id in run {
            let site = &mut sites[id.index()];
            let no_room = || {
                lack.as_ref()
                    .map(|lack| feasible::no_room_beyond(book.job, lack))
            };
            let why = if left.contains(id) {
                feasible::short_run(book.job, by, length)
            } else {
                feasible::short_run(book.job, by, whole).or_else(no_room)
            };
            match why {
                Some(why) => site.rejected.push((method, vec![why])),
                None => {
                    let way = way(book, site.stretch, &site.layout, method, length);
                    site.ways.push(way);
                }
            }
        }
    }
}

/// What a method would cut, move, take and cost on a stretch, with its sides kept in the cheapest way
/// that the practice admits; of equally dear ones the first that it names.
pub(crate) fn way(
    book: &Book,
    stretch: &Stretch,
    layout: &Layout,
    method: usize,
    run: Length,
) -> Way {
    let by = book.method(method);
    let (first, others) = work::cuts_by(book.job, by, &stretch.ground, layout);
    let best = with_cut(book, stretch, layout, method, run, first);
    others
        .into_iter()
        .map(|cut| with_cut(book, stretch, layout, method, run, cut))
        .fold(best, Way::cheaper)
}

fn with_cut(
    book: &Book,
    stretch: &Stretch,
    layout: &Layout,
    method: usize,
    run: Length,
    cut: Cut,
) -> Way {
    let job = book.job;
    let by = book.method(method);
    let here = (&stretch.ground.soil, stretch.ground.surface);
    let mut earth = earth::earthwork(&job.practice, here, layout, &cut, stretch.length);
    earth.restore = earth::restored(&cut, by.spoils_width.value, stretch.length);
    let hours = work::hours(job, by, stretch, &cut, earth.bank, run);
    let cost = work::cost(job, by, stretch, &cut, &earth, hours);
    Way {
        method,
        cut,
        earth,
        run,
        hours,
        cost,
        total: cost.total(),
        pull: None,
        other_sides: None,
    }
}

impl Way {
    /// The cheaper of two that keep their sides in different ways, this one where they cost the same;
    /// it remembers the cheapest of those that were not taken.
    fn cheaper(self, other: Self) -> Self {
        let (mut taken, left) = if other.total < self.total {
            (other, self)
        } else {
            (self, other)
        };
        let known = taken.other_sides.into_iter().chain(left.other_sides);
        let left = (left.total, left.cut.sides);
        taken.other_sides = known.chain([left]).min();
        taken
    }
}
