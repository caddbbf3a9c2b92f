//! What a metre of a typical lateral trench costs in some ground, for routing.

use crate::contents::{Thing, arrange, cover_rule};
use crate::feasible;
use crate::offers::{Book, Way, way};
use crate::pull;
use crate::rental::MachineId;
use job::Job;
use job::practice::PipeSize;
use quantity::Length;
use routes::{LineKind, NodeId, SleeveUse, Stretch, StretchGround};
use std::collections::{BTreeMap, BTreeSet};

/// Currency units per metre of a typical lateral trench in this ground by the cheapest feasible
/// method.
///
/// `hired` holds the machines on site; `None` allows every method. Hire, setting up and the length
/// of runs are left out, and pulled pipe has pits at the usual spacing; on paving it is the price of a new sleeve. Where nothing is feasible, the
/// price of digging by hand. The typical lateral is a single pipe of the family that most circuits
/// use, in its second smallest size.
pub fn unit_cost(job: &Job, ground: &StretchGround, hired: Option<&BTreeSet<MachineId>>) -> f64 {
    UnitCosts::new(job, hired).of(ground)
}

/// The same for many kinds of ground.
pub struct UnitCosts<'a> {
    book: Option<Book<'a>>,
    at_hand: Vec<usize>,
}

impl<'a> UnitCosts<'a> {
    /// With the machines on site; `None` allows every method.
    pub fn new(job: &'a Job, hired: Option<&BTreeSet<MachineId>>) -> Self {
        let book = Book::new(job);
        let at_hand = book.as_ref().map_or_else(Vec::new, |book| {
            let is_at_hand =
                |m: usize| book.is_at_hand(m, |id| hired.is_none_or(|set| set.contains(id)));
            (0..book.len()).filter(|m| is_at_hand(*m)).collect()
        });
        Self { book, at_hand }
    }

    /// Currency units per metre, see [`unit_cost`].
    pub fn of(&self, ground: &StretchGround) -> f64 {
        let Some(book) = &self.book else {
            return 0.0;
        };
        let kind = LineKind::Lateral(String::new());
        let stretch = sample(ground);
        let layout = arrange(&book.job.practice, vec![typical(book.job, &kind, ground)]);
        let sleeved = stretch.sleeve.is_some();
        let able = self.at_hand.iter().filter(|m| {
            let (id, method) = (book.id(**m), book.method(**m));
            feasible::objections(book.job, id, method, ground, sleeved, &layout).is_empty()
        });
        let cheapest = able
            .map(|m| {
                let mut way = way(book, &stretch, &layout, *m, endless());
                pull::lay::usual_pits(book, &stretch, &layout, &mut way);
                per_metre(&way)
            })
            .min_by(f64::total_cmp);
        cheapest
            .unwrap_or_else(|| per_metre(&way(book, &stretch, &layout, book.fallback, endless())))
    }
}

/// Length of the sample; long enough that rounding to the cent does not show.
const SAMPLE: Length = Length::m(1000.0);

/// A run so long that setting up does not count.
fn endless() -> Length {
    Length::m(f64::INFINITY)
}

fn per_metre(way: &Way) -> f64 {
    way.total.to_units() / SAMPLE.to_m()
}

fn sample(ground: &StretchGround) -> Stretch {
    Stretch {
        from: NodeId(0),
        to: NodeId(0),
        path: Vec::new(),
        length: SAMPLE,
        carries: Vec::new(),
        ground: ground.clone(),
        sleeve: ground.surface.is_paved().then(|| SleeveUse {
            existing: None,
            paving: ground.surface_id.clone(),
            angle: quantity::Angle::deg(90.0),
        }),
    }
}

fn typical<'a>(job: &'a Job, kind: &'a LineKind, ground: &StretchGround) -> Thing<'a> {
    let family = usual_family(job).and_then(|name| job.practice.pipe.get(name));
    let size = family.and_then(|f| f.sizes.get(1).or(f.sizes.first()));
    Thing {
        line: 0,
        kind,
        material: family.map(|f| f.material),
        what: "lateral".to_owned(),
        outside: size.map_or(Length::ZERO, |s| s.outside),
        tube: None,
        count: 1,
        cover: cover_rule(
            &job.practice.cover,
            kind,
            size.map_or(Length::ZERO, PipeSize::nominal),
            ground.surface,
        ),
    }
}

/// The pipe family of most circuits; of equally many, the first by name.
fn usual_family(job: &Job) -> Option<&str> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for circuit in &job.system.circuits {
        *counts.entry(&circuit.pipe).or_default() += 1;
    }
    let most = counts.values().copied().max()?;
    counts
        .into_iter()
        .find(|(_, count)| *count == most)
        .map(|(name, _)| name)
}
