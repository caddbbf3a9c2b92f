//! Pulled stretches with their pits: first as if a method did all that it can, then as chosen.

use super::pits::{Divided, Laid, Run};
use super::strength::{self, Strand};
use super::track::Track;
use super::{Pit, PitKind, Pull, PulledPipe, area, least_pull, precautions, scoring};
use crate::contents::Layout;
use crate::offers::{Book, Site, Way, way};
use crate::section::{self, Cut};
use crate::{Earthwork, earth, hire, runs, work};
use job::prices::MethodKind;
use job::{Method, Place};
use quantity::{Angle, Duration, Force, Length, Money, Ratio};
use routes::{Network, NodeId, Stretch, StretchId};
use std::collections::BTreeMap;

/// For every stretch, the method by which it is pulled in, if it is.
type Pulled = Vec<Option<usize>>;

/// Puts pulls and pits into all ways by which something is pulled in, each method as if it did all
/// that it can, and rejects what is too hard for the pipe.
pub(crate) fn offer(book: &Book, network: &Network, sites: &mut [Site]) {
    for method in (0..book.len()).filter(|m| is_pull(book, *m)) {
        loop {
            let pulled: Pulled = sites
                .iter()
                .map(|s| s.ways.iter().any(|w| w.method == method).then_some(method))
                .collect();
            let laid = Lay::new(book, network, sites, &pulled);
            let hard: Vec<(usize, String)> = (0..sites.len())
                .filter_map(|i| Some((i, laid.too_hard(i)?)))
                .collect();
            if hard.is_empty() {
                put(book, sites, &pulled, &laid);
                break;
            }
            for (i, why) in hard {
                sites[i].ways.retain(|w| w.method != method);
                sites[i].rejected.push((method, vec![why]));
            }
        }
    }
}

/// Works the pulled stretches out anew with the neighbours that are pulled in as chosen, so that every
/// pit counts once, and their machines' hours with them. The choice itself stands.
pub(crate) fn settle(
    book: &Book,
    network: &Network,
    sites: &mut [Site],
    choice: &mut hire::Choice,
) {
    let pulled: Pulled = choice
        .methods
        .iter()
        .map(|m| m.filter(|m| is_pull(book, *m)))
        .collect();
    if pulled.iter().all(Option::is_none) {
        return;
    }
    let before = cost(sites, choice);
    let laid = Lay::new(book, network, sites, &pulled);
    put(book, sites, &pulled, &laid);
    for hired in &mut choice.hires {
        let rental = &book.rentals[hired.machine];
        let ways = sites.iter().zip(&choice.methods).filter_map(chosen);
        let own = ways.filter(|w| rental.methods.contains(book.id(w.method)));
        hired.hours = own.map(|w| w.hours).sum();
        hired.step = rental.tariff.charge(hired.hours);
    }
    choice.total += cost(sites, choice) - before;
}

fn is_pull(book: &Book, method: usize) -> bool {
    book.method(method).kind == MethodKind::Pull
}

fn chosen<'a>((site, method): (&'a Site, &Option<usize>)) -> Option<&'a Way> {
    let method = (*method)?;
    site.ways.iter().find(|w| w.method == method)
}

fn cost(sites: &[Site], choice: &hire::Choice) -> Money {
    let ways = sites.iter().zip(&choice.methods).filter_map(chosen);
    let hires = choice.hires.iter().map(|h| h.step.cost);
    ways.map(|w| w.total).chain(hires).sum()
}

/// The ways of the pulled stretches, each with its pull.
fn put(book: &Book, sites: &mut [Site], pulled: &Pulled, laid: &Lay) {
    for (i, site) in sites.iter_mut().enumerate() {
        let Some(method) = pulled[i] else { continue };
        let next = laid.way(book, site, method);
        if let Some(way) = site.ways.iter_mut().find(|w| w.method == method) {
            *way = next;
        }
    }
}

/// One pull as far as it concerns a stretch.
#[derive(Debug, Clone)]
pub(super) struct Passing {
    pub(super) legs: Vec<Length>,
    pub(super) turns: Vec<Angle>,
}

impl Passing {
    pub(super) fn length(&self) -> Length {
        self.legs.iter().copied().sum()
    }
}

/// All pulls and pits of a set of pulled stretches.
struct Lay {
    /// Pulls that pass each stretch.
    pulls: Vec<Vec<Passing>>,
    /// The pipes of each stretch.
    strands: Vec<Vec<Strand>>,
    /// Length of the run that each belongs to.
    runs: Vec<Length>,
    /// Pits of each stretch.
    pits: Vec<Vec<Pit>>,
    units: quantity::Units,
}

impl Lay {
    fn new(book: &Book, network: &Network, sites: &[Site], pulled: &Pulled) -> Self {
        let of = |site: &Site| strength::strands(book.job, site.stretch.ground.slope, &site.layout);
        let mut lay = Self {
            pulls: vec![Vec::new(); sites.len()],
            strands: sites.iter().map(of).collect(),
            runs: sites.iter().map(|s| s.stretch.length).collect(),
            pits: vec![Vec::new(); sites.len()],
            units: book.job.units,
        };
        let mut at_nodes: BTreeMap<NodeId, (PitKind, Place)> = BTreeMap::new();
        let limit = book.job.practice.takeoff.elbow_from.value;
        for chain in runs::chains(network, limit) {
            for run in chain.chunk_by(|a, b| pulled[a.index()] == pulled[b.index()]) {
                if let Some(method) = pulled[run[0].index()] {
                    lay.run(book, network, sites, (run, method), &mut at_nodes);
                }
            }
        }
        for (node, (kind, at)) in at_nodes {
            lay.shared_pit(book, sites, pulled, (node, kind, at));
        }
        lay
    }

    fn run(
        &mut self,
        book: &Book,
        network: &Network,
        sites: &[Site],
        (run, method): (&[StretchId], usize),
        at_nodes: &mut BTreeMap<NodeId, (PitKind, Place)>,
    ) {
        let by = book.method(method);
        let track = Track::new(network, run);
        let laid: Vec<Laid> = run
            .iter()
            .map(|id| Laid {
                strands: self.strands[id.index()].clone(),
                least_radius: least_radius(by, &self.strands[id.index()]),
            })
            .collect();
        let run = Run {
            job: book.job,
            network,
            track: &track,
            laid: &laid,
            least: least_pull(book.job, by),
        };
        let Divided { halts, pulls } = run.divide();
        for id in &track.ids {
            self.runs[id.index()] = track.length();
        }
        for pull in pulls {
            let (legs, turns) = run.path(pull);
            for i in run.stretches(pull.0, pull.1) {
                let (legs, turns) = (legs.clone(), turns.clone());
                self.pulls[track.ids[i].index()].push(Passing { legs, turns });
            }
        }
        for halt in halts {
            if let Some(node) = halt.node {
                let entry = at_nodes.entry(node).or_insert((halt.kind, halt.at));
                entry.0 = entry.0.max(halt.kind);
            } else {
                let index = track.ids[halt.stretch].index();
                let depth = sites[index].layout.underside;
                let share = Ratio::one(1.0);
                let pit = pit(book, (halt.at, None), halt.kind, depth, share);
                self.pits[index].push(pit);
            }
        }
    }

    /// A pit at a node, shared evenly by the pulled stretches that meet there.
    fn shared_pit(
        &mut self,
        book: &Book,
        sites: &[Site],
        pulled: &Pulled,
        (node, kind, at): (NodeId, PitKind, Place),
    ) {
        let meets = |s: &Stretch| s.from == node || s.to == node;
        let sharers: Vec<usize> = (0..sites.len())
            .filter(|i| pulled[*i].is_some() && meets(sites[*i].stretch))
            .collect();
        let depths = sharers.iter().map(|i| sites[*i].layout.underside);
        let depth = depths.fold(Length::ZERO, Length::max);
        let share = Ratio::one(1.0 / sharers.len().max(1) as f64);
        for i in sharers {
            let pit = pit(book, (at, Some(node)), kind, depth, share);
            self.pits[i].push(pit);
        }
    }

    /// Why the hardest pull past a stretch is too hard, if it is.
    fn too_hard(&self, index: usize) -> Option<String> {
        let (pipe, strand) = self
            .pipes(index)
            .into_iter()
            .find(|(pipe, strand)| pipe.tension > strand.allowable * (1.0 + 1e-9))?;
        Some(format!(
            "the pull round the turns here puts {} on {}, which stands {}, with pits as near as the \
             machine works",
            pipe.tension.amount().show(self.units),
            pipe.what,
            strand.allowable.amount().show(self.units)
        ))
    }

    /// The pipes of a stretch, from the one that is nearest to its allowable tension on.
    fn pipes(&self, index: usize) -> Vec<(PulledPipe, &Strand)> {
        let mut pipes: Vec<(PulledPipe, &Strand)> = self.strands[index]
            .iter()
            .map(|strand| (pulled_pipe(strand, &self.pulls[index]), strand))
            .collect();
        let used = |p: &PulledPipe| p.tension.to_n() / p.allowable.to_n();
        pipes.sort_by(|(a, _), (b, _)| used(b).total_cmp(&used(a)).then(a.line.cmp(&b.line)));
        pipes
    }

    /// The way of a stretch with its pull and its share of the pits.
    fn way(&self, book: &Book, site: &Site, method: usize) -> Way {
        let index = site.id.index();
        let mut way = way(book, site.stretch, &site.layout, method, self.runs[index]);
        let (job, by) = (book.job, book.method(method));
        let pipes: Vec<PulledPipe> = self.pipes(index).into_iter().map(|p| p.0).collect();
        let scoring = scoring::of_stretch(job, &site.stretch.ground, &site.layout);
        let lengths = self.pulls[index].iter().map(Passing::length);
        let mut pull = Pull {
            longest_pull: pipes
                .iter()
                .map(|p| p.longest_pull)
                .min_by(Length::total_cmp),
            least_radius: least_radius(by, &self.strands[index]),
            pipes,
            length: lengths.fold(Length::ZERO, Length::max),
            scoring,
            scoring_words: scoring_words(book, site, scoring),
            precautions: precautions::of(book, site, &way),
            pits: self.pits[index].clone(),
            pit_hours: Duration::ZERO,
            pit_cost: Money::ZERO,
        };
        let here = (site.stretch, &site.layout);
        (pull.pit_hours, pull.pit_cost) = dig_pits(book, here, &pull.pits, &mut way);
        way.pull = Some(pull);
        way
    }
}

fn scoring_words(book: &Book, site: &Site, scoring: scoring::Scoring) -> String {
    let coarse = site.stretch.ground.soil.coarse;
    format!(
        "{} stones by volume, their size not known: {}; a table of custom, not a model",
        scoring::percent(book.job, coarse),
        scoring.words()
    )
}

fn pulled_pipe(strand: &Strand, pulls: &[Passing]) -> PulledPipe {
    let tensions = pulls.iter().map(|p| strand.tension(&p.legs, &p.turns));
    PulledPipe {
        line: strand.line,
        what: strand.what.clone(),
        tension: tensions.fold(Force::ZERO, Force::max),
        allowable: strand.allowable,
        longest_pull: strand.longest(),
        bend_radius: strand.bend_radius.unwrap_or(Length::ZERO),
        wall: strand.wall,
        scratch: strand.scratch,
    }
}

fn least_radius(method: &Method, strands: &[Strand]) -> Length {
    let machine = method
        .bend_radius
        .as_ref()
        .map_or(Length::ZERO, |r| r.value);
    let pipes = strands.iter().filter_map(|s| s.bend_radius);
    pipes.fold(machine, Length::max)
}

fn pit(
    book: &Book,
    (at, node): (Place, Option<NodeId>),
    kind: PitKind,
    underside: Length,
    share: Ratio,
) -> Pit {
    let rules = &book.job.practice.pull.pit;
    let (length, width) = match kind {
        PitKind::Tap => (rules.tap_length.value, rules.tap_width.value),
        _ => (rules.end_length.value, rules.end_width.value),
    };
    let depth = underside + rules.below.value;
    Pit {
        at,
        node,
        kind,
        length,
        width,
        depth,
        bank: length * width * depth,
        share,
    }
}

/// Adds the stretch's share of its pits to what is moved, to the time and to the cost. The machine's
/// crew digs them by hand and fills them again.
///
/// Returns the time and the cost of the pits.
fn dig_pits(
    book: &Book,
    (stretch, layout): (&Stretch, &Layout),
    pits: &[Pit],
    way: &mut Way,
) -> (Duration, Money) {
    let (job, by) = (book.job, book.method(way.method));
    let ground = &stretch.ground;
    let mut all = Earthwork::default();
    for pit in pits {
        add(&mut all, &pit_earth(book, (stretch, layout), pit, by));
    }
    let class = job.practice.soil_class_of(ground.soil.texture);
    let tamped = job.practice.fill.tamped_share.value;
    all.crown = earth::crown(all.backfill, class.bank_to_loose.value, tamped, area(pits));
    let (stones, _) = job.practice.stone_factor(ground.soil.coarse);
    let people = by.crew.value.max(1);
    let roots = work::root_factor(job, ground);
    let fill = job.prices.labour.fill_per_m3.value * (all.bank.to_m3() / f64::from(people));
    let hours = work::hand_time(all.bank, class.hand_output.value, people, stones, roots) + fill;
    let mut cost = work::cost(job, by, stretch, &way.cut, &all, hours);
    // The filling is in the hours, and the machine stands while its crew digs.
    (cost.fill, cost.fuel) = (Money::ZERO, Money::ZERO);
    add(&mut way.earth, &all);
    way.earth.crown = all.crown;
    way.hours += hours;
    way.cost = way.cost.plus(&cost);
    way.total = way.cost.total();
    (hours, cost.total())
}

/// Adds pits at heads and branches, as far apart as the practice says is usual, to a way by which
/// something is pulled in over a length of which nothing else is known.
pub(crate) fn usual_pits(book: &Book, stretch: &Stretch, layout: &Layout, way: &mut Way) {
    if is_pull(book, way.method) {
        let apart = book.job.practice.pull.pit.usual_spacing.value;
        let share = Ratio::one(stretch.length / apart);
        let nowhere = (Place::new(0.0, 0.0), None);
        let pit = pit(book, nowhere, PitKind::Tap, layout.underside, share);
        dig_pits(book, (stretch, layout), &[pit], way);
    }
}

/// What is moved for a stretch's share of a pit. Beside the strip that the machine spoils anyway, the
/// rest of the pit's area is made good.
fn pit_earth(
    book: &Book,
    (stretch, layout): (&Stretch, &Layout),
    pit: &Pit,
    by: &Method,
) -> Earthwork {
    let ground = &stretch.ground;
    let length = pit.length * pit.share.to_one();
    let cut = pit_cut(pit);
    let here = (&ground.soil, ground.surface);
    let mut earth = earth::earthwork(&book.job.practice, here, layout, &cut, length);
    let beside = (pit.width - by.spoils_width.value).max(Length::ZERO);
    earth.restore = beside * length;
    earth
}

fn pit_cut(pit: &Pit) -> Cut {
    Cut {
        width: pit.width,
        top_width: pit.width,
        ..section::unopened(pit.depth)
    }
}

fn add(sum: &mut Earthwork, more: &Earthwork) {
    sum.bank += more.bank;
    sum.loose += more.loose;
    sum.displaced += more.displaced;
    sum.bedding += more.bedding;
    sum.backfill += more.backfill;
    sum.surplus += more.surplus;
    sum.haul += more.haul;
    sum.lifts = sum.lifts.max(more.lifts);
    sum.restore += more.restore;
}
