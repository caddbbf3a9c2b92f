//! What is not known, as far as it bears on a job: the uncertain quantities and how each may come out.

use crate::spread::Spread;
use digging::Digging;
use ground::Zone;
use job::practice::{Points, Shape};
use job::prices::MethodKind;
use job::{Job, Sourced};
use quantity::Ratio;
use routes::Network;
use std::collections::{BTreeMap, BTreeSet};

/// How an uncertain quantity may come out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Law {
    /// A number over three points.
    Spread(Spread),
    /// A step down, none, or a step up.
    Step { down: f64, up: f64 },
    /// Where among all cases the trial stands, from 0 to 1.
    Standing,
}

/// Standings of a poor and of a lucky draw.
const LUCK: (f64, f64) = (0.1, 0.9);

impl Law {
    /// The value at a standing from 0 to 1.
    pub fn value(self, standing: f64) -> f64 {
        match self {
            Self::Spread(spread) => spread.quantile(standing),
            Self::Step { down, .. } if standing < down => -1.0,
            Self::Step { up, .. } if standing >= 1.0 - up => 1.0,
            Self::Step { .. } => 0.0,
            Self::Standing => standing,
        }
    }

    /// Low end, likeliest value, high end.
    pub fn points(self) -> [f64; 3] {
        match self {
            Self::Spread(spread) => [spread.low, spread.likely, spread.high],
            Self::Step { down, up } => [
                if down > 0.0 { -1.0 } else { 0.0 },
                0.0,
                if up > 0.0 { 1.0 } else { 0.0 },
            ],
            Self::Standing => [LUCK.0, 0.5, LUCK.1],
        }
    }
}

/// An uncertain quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// In words.
    pub what: String,
    /// How it may come out.
    pub law: Law,
    /// What the plan takes it for.
    pub planned: f64,
    /// Where its points come from.
    pub origin: String,
}

/// Factors that are told as one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Stable id.
    pub id: String,
    /// In words.
    pub what: String,
    /// Places of its factors.
    pub factors: Vec<usize>,
}

/// All that is uncertain about a job, and the place of each factor.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Causes {
    pub factors: Vec<Factor>,
    pub groups: Vec<Group>,
    /// Pace of the crew.
    pub crew: usize,
    /// Pace of each kind of method that is used; test holes are dug by hand.
    pub pace: BTreeMap<MethodKind, usize>,
    /// Coarse fragments, by the id of the soil.
    pub coarse: BTreeMap<String, usize>,
    pub stones: usize,
    pub moisture: usize,
    /// Depth, by the id of the service.
    pub service: BTreeMap<String, usize>,
    pub rock_share: usize,
    pub rock_slow: usize,
    pub lost: usize,
    pub luck: usize,
    pub material: usize,
}

impl Causes {
    /// Those of a job.
    pub fn of(job: &Job, network: &Network, digging: &Digging) -> Self {
        let mut causes = Self::default();
        let risk = &job.practice.risk;
        let shape = risk.shape.value;
        causes.add_paces(job, network, digging, shape);
        causes.add_stones(job, network);
        let (drier, wetter) = (&risk.moisture.drier, &risk.moisture.wetter);
        let law = Law::Step {
            down: drier.value.to_one(),
            up: wetter.value.to_one(),
        };
        let origin = format!("{}; {}", drier.origin(), wetter.origin());
        let wet = factor("drier or wetter than surveyed", law, 0.0, origin);
        causes.moisture = causes.alone("moisture", "how wet the soil is", wet);
        causes.add_services(job, network, shape);
        let share = over(&risk.rock.share, "share of the trench", shape, 0.0);
        let slow = over(&risk.rock.slow, "digging time in rock", shape, 1.0);
        [causes.rock_share, causes.rock_slow] =
            causes.pair("rock", "rock in the trench", [share, slow]);
        let lost = over(&risk.weather.lost, "chance of a lost day", shape, 0.0);
        let luck = factor(
            "luck with the days",
            Law::Standing,
            0.5,
            lost.origin.clone(),
        );
        [causes.lost, causes.luck] =
            causes.pair("weather", "days lost to the weather", [lost, luck]);
        let price = over(&risk.material, "prices over those planned", shape, 1.0);
        causes.material = causes.alone("material", "material prices", price);
        causes
    }

    fn add_paces(&mut self, job: &Job, network: &Network, digging: &Digging, shape: Shape) {
        let pace = &job.practice.risk.pace;
        let of = |points| over(points, "pace over that planned", shape, 1.0);
        self.crew = self.alone("pace.crew", "pace of the whole crew", of(&pace.crew));
        let methods = &job.prices.method;
        let mut used: BTreeSet<MethodKind> = digging
            .digs
            .iter()
            .filter_map(|dig| methods.get(&dig.method).map(|method| method.kind))
            .collect();
        if !network.crossings.is_empty() {
            used.insert(MethodKind::Hand);
        }
        let kinds = [
            (
                MethodKind::Hand,
                "hand",
                "pace of digging by hand",
                &pace.hand,
            ),
            (
                MethodKind::Trench,
                "trench",
                "pace of trenching machines",
                &pace.trench,
            ),
            (MethodKind::Pull, "pull", "pace of pulling in", &pace.pull),
            (
                MethodKind::Sleeve,
                "sleeve",
                "pace of putting sleeves in",
                &pace.sleeve,
            ),
        ];
        for (kind, word, what, points) in kinds {
            if used.contains(&kind) {
                let place = self.alone(&format!("pace.{word}"), what, of(points));
                self.pace.insert(kind, place);
            }
        }
    }

    /// One share of stones for each soil of the survey, wherever it is dug.
    fn add_stones(&mut self, job: &Job, network: &Network) {
        let risk = &job.practice.risk;
        let stones = &risk.stones;
        for stretch in &network.stretches {
            let id = &stretch.ground.soil_id;
            if self.coarse.contains_key(id) {
                continue;
            }
            let surveyed = stretch.ground.soil.coarse.to_one();
            let low = (surveyed - stones.coarse_less.value.to_one()).max(0.0);
            let high = (surveyed + stones.coarse_more.value.to_one())
                .min(1.0)
                .max(surveyed);
            let spread = Spread::new(low, surveyed, high, risk.shape.value);
            let origin = format!(
                "survey; {}; {}",
                stones.coarse_less.origin(),
                stones.coarse_more.origin()
            );
            let (word, what) = if id.is_empty() {
                ("unsurveyed", "stones in the soil".to_owned())
            } else {
                (id.as_str(), format!("stones in soil {id}"))
            };
            let coarse = factor("coarse fragments", Law::Spread(spread), surveyed, origin);
            let place = self.alone(&format!("stones.{word}"), &what, coarse);
            self.coarse.insert(id.clone(), place);
        }
        let slow = over(&stones.slow, "time that stones add", risk.shape.value, 1.0);
        self.stones = self.alone("stones.slow", "how much stones slow the digging", slow);
    }

    /// The services that are crossed or in whose zone a trench runs.
    fn add_services(&mut self, job: &Job, network: &Network, shape: Shape) {
        let crossed = network.crossings.iter().map(|c| c.utility.as_str());
        let near = network
            .stretches
            .iter()
            .flat_map(|s| services(&s.ground.zones));
        let met: BTreeSet<&str> = crossed.chain(near).collect();
        let risk = &job.practice.risk.service;
        for id in met {
            let known = job.survey.utilities.iter().find(|utility| utility.id == id);
            let located = known.is_some_and(|utility| utility.located);
            let points = if located {
                &risk.located
            } else {
                &risk.unlocated
            };
            let depth = over(points, "depth over that surveyed", shape, 1.0);
            let what = format!("depth of service {id}");
            let place = self.alone(&format!("service.{id}"), &what, depth);
            self.service.insert(id.to_owned(), place);
        }
    }

    fn push(&mut self, factor: Factor) -> usize {
        self.factors.push(factor);
        self.factors.len() - 1
    }

    fn alone(&mut self, id: &str, what: &str, factor: Factor) -> usize {
        let [place] = self.group(id, what, [factor]);
        place
    }

    fn pair(&mut self, id: &str, what: &str, factors: [Factor; 2]) -> [usize; 2] {
        self.group(id, what, factors)
    }

    fn group<const N: usize>(&mut self, id: &str, what: &str, factors: [Factor; N]) -> [usize; N] {
        let places = factors.map(|factor| self.push(factor));
        self.groups.push(Group {
            id: id.to_owned(),
            what: what.to_owned(),
            factors: places.to_vec(),
        });
        places
    }

    /// Everything as the plan takes it.
    #[cfg(test)]
    pub fn planned(&self) -> Vec<f64> {
        self.factors.iter().map(|factor| factor.planned).collect()
    }

    /// Everything as is likeliest.
    pub fn likely(&self) -> Vec<f64> {
        self.factors
            .iter()
            .map(|factor| factor.law.points()[1])
            .collect()
    }
}

/// The services in whose tolerance zone something lies.
pub fn services(zones: &[Zone]) -> impl Iterator<Item = &str> {
    zones.iter().filter_map(|zone| match zone {
        Zone::Utility(id) => Some(id.as_str()),
        Zone::Roots(_) | Zone::Structure(_) => None,
    })
}

fn factor(what: &str, law: Law, planned: f64, origin: String) -> Factor {
    Factor {
        what: what.to_owned(),
        law,
        planned,
        origin,
    }
}

fn over(points: &Points, what: &str, shape: Shape, planned: f64) -> Factor {
    let origin = |point: &Sourced<Ratio>| point.origin();
    let origins = [&points.low, &points.likely, &points.high].map(origin);
    factor(
        what,
        Law::Spread(Spread::of(points, shape)),
        planned,
        origins.join("; "),
    )
}
