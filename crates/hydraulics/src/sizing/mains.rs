//! The service and the main, chosen together with the laterals behind them.

use super::{Lateral, NO_LACK, NO_MONEY, allowed, prices, section};
use crate::friction::FLOW_EXPONENT;
use crate::least::{self, Answer, End, Front, Offer, Tree};
use crate::model::{Model, Sizes};
use crate::piping::Way;
use quantity::{Flow, Pressure};

/// Service and main as a tree with the circuits at its ends.
pub(super) struct Mains {
    /// The sections of the model that it is made of.
    sections: Vec<usize>,
    /// Where each section of the model stands among these.
    places: Vec<Option<usize>>,
    /// The circuits that draw through each run of the model.
    through: Vec<Vec<usize>>,
    /// Those that run together, both through it.
    together: Vec<Vec<(usize, usize)>>,
    /// Losses at the best of the circuits behind a section, and at the worst.
    best: Tree,
    worst: Tree,
    /// The largest flow of a circuit; losses are told as if it ran.
    unit: Flow,
    /// Labels kept of one section and size.
    few: Option<usize>,
}

/// What was found.
pub(super) struct Found {
    pub best: Option<Sized>,
    pub bound: f64,
}

/// Sizes of everything and their price.
pub(super) struct Sized {
    pub sizes: Sizes,
    pub cost: f64,
}

impl Mains {
    pub fn new(model: &Model, allowed: &[Vec<bool>], few: Option<usize>) -> Self {
        let piping = &model.piping;
        let reached = || piping.ways.iter().filter(|w| w.valve_node.is_some());
        let unit = reached().map(|w| w.flow).fold(Flow::ZERO, Flow::max);
        let mut sections: Vec<usize> = (0..piping.sections.len())
            .filter(|s| !is_lateral(model, *s))
            .collect();
        // Service and main stand in any order in the network; here a section follows what feeds it.
        let depth =
            |s: usize| std::iter::successors(Some(s), |s| piping.sections[*s].above).count();
        sections.sort_by_cached_key(|s| (depth(*s), *s));
        let mut places = vec![None; piping.sections.len()];
        for (place, section) in sections.iter().enumerate() {
            places[*section] = Some(place);
        }
        let mut mains = Self {
            best: Tree::default(),
            worst: Tree::default(),
            sections,
            places,
            through: allowed::through(model),
            together: together(model),
            unit,
            few,
        };
        for best in [true, false] {
            let tree = Tree {
                sections: mains.tree_sections(model, allowed, best),
                ends: Vec::new(),
                limit: 0.0,
                spread: None,
                most_cost: f64::INFINITY,
            };
            if best {
                mains.best = tree;
            } else {
                mains.worst = tree;
            }
        }
        mains
    }

    fn tree_sections(
        &self,
        model: &Model,
        allowed: &[Vec<bool>],
        best: bool,
    ) -> Vec<least::Section> {
        let one = |s: &usize| {
            let weighed = |run: &usize| {
                let flows = self.flows(model, *run, best).into_iter();
                let flows = flows.map(|(flow, of)| (flow, self.weight(of)));
                (*run, flows.collect::<Vec<(Flow, f64)>>())
            };
            let runs = &model.piping.sections[*s].runs;
            let flows: Vec<(usize, Vec<(Flow, f64)>)> = runs.iter().map(weighed).collect();
            let loss = |run: usize, size: usize, changes: bool| {
                let through = flows.iter().find(|(of, _)| *of == run);
                let through = through.into_iter().flat_map(|(_, flows)| flows);
                let shares = through.map(|(flow, weight)| {
                    let lost = model.loss_in(run, size, changes, *flow).total().to_pa();
                    lost / weight
                });
                if best {
                    shares.reduce(f64::min).unwrap_or(0.0)
                } else {
                    shares.reduce(f64::max).unwrap_or(0.0)
                }
            };
            let mut made = section(model, *s, 0, &allowed[*s], loss);
            let above = model.piping.sections[*s].above;
            made.above = above.and_then(|s| self.places[s]);
            made
        };
        self.sections.iter().map(one).collect()
    }

    /// The flows that go through a run, each with the flow by which it is weighed; what runs together
    /// only where the worst is asked for.
    fn flows(&self, model: &Model, run: usize, best: bool) -> Vec<(Flow, Flow)> {
        let flow = |way: &usize| model.piping.ways[*way].flow;
        let alone = self.through[run].iter().map(flow);
        let mut flows: Vec<(Flow, Flow)> = alone.map(|flow| (flow, flow)).collect();
        if !best {
            let both = self.together[run].iter().map(|(a, b)| flow(a) + flow(b));
            flows.extend(both.map(|both| (both, both)));
        }
        flows
    }

    /// How losses at a flow stand to those at the unit.
    fn weight(&self, flow: Flow) -> f64 {
        (flow / self.unit)
            .powf(FLOW_EXPONENT)
            .max(f64::MIN_POSITIVE)
    }

    /// The least that main and laterals together cost, were pressure no matter.
    pub fn floor(&self, laterals: &[Lateral]) -> f64 {
        let behind: f64 = laterals.iter().map(|l| least::floor(&l.tree)).sum();
        least::floor(&self.best) + behind
    }

    /// The least costly sizes with one of the answers of each lateral's front; only those that cost less
    /// than `most`.
    pub fn best(&self, model: &Model, laterals: &[Lateral], fronts: &[&Front], most: f64) -> Found {
        let optimistic = self.front(model, laterals, fronts, most, true);
        let bound = match optimistic.complete {
            true => optimistic.answers.first().map_or(most, |a| a.cost),
            false => 0.0,
        };
        let offers = self.offers_of(model, laterals);
        let of = |answer: &Answer| self.sized(model, (laterals, fronts, &offers), answer);
        // What holds at the best of the circuits may well hold for all of them.
        let lucky = optimistic
            .answers
            .iter()
            .map(of)
            .find(|s| self.holds(model, s));
        let best = match lucky {
            Some((sized, _)) if sized.cost <= bound + NO_MONEY => Some(sized),
            lucky => {
                let pessimistic = self.front(model, laterals, fronts, most, false);
                let sure = pessimistic.answers.first().map(of).map(|(sized, _)| sized);
                let lucky = lucky.map(|(sized, _)| sized);
                lucky
                    .into_iter()
                    .chain(sure)
                    .min_by(|a, b| a.cost.total_cmp(&b.cost))
            }
        };
        Found { best, bound }
    }

    fn front(
        &self,
        model: &Model,
        laterals: &[Lateral],
        fronts: &[&Front],
        most: f64,
        best: bool,
    ) -> Front {
        let mut tree = if best {
            self.best.clone()
        } else {
            self.worst.clone()
        };
        tree.most_cost = most;
        for (lateral, front) in laterals.iter().zip(fronts) {
            let way = &model.piping.ways[lateral.way];
            let end = self.end(model, lateral.way, front, best);
            match self.place_before(model, way) {
                Some(place) => tree.sections[place].ends.push(end),
                None => tree.ends.push(end),
            }
        }
        least::front(&tree, self.few)
    }

    /// A circuit at the end of its main: one offer for each answer of its lateral, its need told as what
    /// the pipes in front may take at the unit's flow.
    fn end(&self, model: &Model, w: usize, front: &Front, best: bool) -> End {
        let way = &model.piping.ways[w];
        let alone = self.weight(way.flow);
        let left = available(model, way, way.flow, way.flow).to_pa();
        let together = |(a, b): &(usize, usize)| {
            let other = if *a == w { *b } else { *a };
            let both = way.flow + model.piping.ways[other].flow;
            (
                available(model, way, both, way.flow).to_pa(),
                self.weight(both),
            )
        };
        let pairs = model
            .piping
            .pairs
            .iter()
            .filter(|(a, b)| !best && (*a == w || *b == w));
        let pairs: Vec<(f64, f64)> = pairs.map(together).collect();
        let offer = |answer: &Answer| {
            let need = |(left, weight): &(f64, f64)| (answer.least - left) / weight;
            let least = pairs.iter().map(need).fold(need(&(left, alone)), f64::max);
            Offer {
                cost: answer.cost,
                least,
                most: f64::INFINITY,
            }
        };
        let last = way.upstream.last().map(|r| model.piping.runs[*r].section);
        let sizes = last.map_or(0, |s| model.piping.sections[s].family.sizes.len());
        let tee = |size| model.valve_tee_loss_in(way, way.flow, size).to_pa() / alone;
        End {
            offers: front.answers.iter().map(offer).collect(),
            extra: (0..sizes).map(tee).collect(),
        }
    }

    /// The sizes of an answer, and what each circuit needs behind its valve.
    fn sized(
        &self,
        model: &Model,
        (laterals, fronts, offers): (&[Lateral], &[&Front], &[usize]),
        answer: &Answer,
    ) -> (Sized, Vec<(usize, f64)>) {
        let mut sizes = vec![0; model.piping.sections.len()];
        for (place, section) in self.sections.iter().enumerate() {
            sizes[*section] = answer.sizes[place];
        }
        let mut needs = Vec::with_capacity(laterals.len());
        for (number, (lateral, front)) in laterals.iter().zip(fronts).enumerate() {
            let taken = answer.offers[offers[number]];
            let of = &front.answers[taken];
            for (i, section) in lateral.sections.clone().enumerate() {
                sizes[section] = of.sizes[i];
            }
            needs.push((lateral.way, of.least));
        }
        let cost = prices::cost(model, &sizes);
        (Sized { sizes, cost }, needs)
    }

    /// Where an answer tells the offer taken by each lateral: ends stand in the order of the sections
    /// that they hang at, those of the root first.
    fn offers_of(&self, model: &Model, laterals: &[Lateral]) -> Vec<usize> {
        let key =
            |number: usize| self.place_before(model, &model.piping.ways[laterals[number].way]);
        let mut order: Vec<usize> = (0..laterals.len()).collect();
        order.sort_by_key(|number| (key(*number), *number));
        let mut offers = vec![0; order.len()];
        for (offer, number) in order.into_iter().enumerate() {
            offers[number] = offer;
        }
        offers
    }

    /// The section of the main that a circuit hangs at; none for one at the root.
    fn place_before(&self, model: &Model, way: &Way) -> Option<usize> {
        let last = way.upstream.last()?;
        self.places[model.piping.runs[*last].section]
    }

    /// Whether every circuit has what it needs behind its valve.
    fn holds(&self, model: &Model, (sized, needs): &(Sized, Vec<(usize, f64)>)) -> bool {
        let enough = |(w, need): &(usize, f64)| {
            let way = &model.piping.ways[*w];
            let alone = model.behind_valve(way, way.flow, &sized.sizes);
            let paired = model.piping.pairs.iter().filter(|(a, b)| a == w || b == w);
            let least = paired
                .map(|(a, b)| {
                    behind_valve_with(model, *w, if a == w { *b } else { *a }, &sized.sizes)
                })
                .fold(alone, Pressure::min);
            least >= Pressure::pa(*need) - NO_LACK
        };
        needs.iter().all(enough)
    }
}

/// The circuits that run together and both draw through a run, for each run.
fn together(model: &Model) -> Vec<Vec<(usize, usize)>> {
    let piping = &model.piping;
    let mut together = vec![Vec::new(); piping.runs.len()];
    for pair in &piping.pairs {
        for run in piping.shared(pair.0, pair.1) {
            together[run].push(*pair);
        }
    }
    together
}

/// Whether a section lies behind a valve.
fn is_lateral(model: &Model, section: usize) -> bool {
    let line = model.piping.sections[section].line;
    matches!(model.network.lines[line].kind, routes::LineKind::Lateral(_))
}

/// Behind a valve that passes `own` of the `total` that the source gives, with nothing lost in pipes.
fn available(model: &Model, way: &Way, total: Flow, own: Flow) -> Pressure {
    model.before_pipes(way, total) - model.valve_loss(way, own)
}

/// Behind a circuit's valve while another circuit runs too.
pub(crate) fn behind_valve_with(model: &Model, w: usize, other: usize, sizes: &Sizes) -> Pressure {
    let way = &model.piping.ways[w];
    let both = way.flow + model.piping.ways[other].flow;
    let shared = model.piping.shared(w, other);
    let lost = way.upstream.iter().map(|run| {
        let flow = if shared.contains(run) { both } else { way.flow };
        model.loss(*run, flow, sizes).total()
    });
    let lost: Pressure = lost.sum();
    available(model, way, both, way.flow) - lost - model.valve_tee_loss(way, way.flow, sizes)
}
