//! What each task's work goes by: the stretches, soils and services that make it longer or shorter.

use crate::causes::{Causes, services};
use crew::{Schedule, Task, TaskKind};
use digging::{Dig, Digging};
use job::practice::MoistureRisk;
use job::prices::MethodKind;
use job::{Job, Moisture, Practice, Sourced};
use quantity::Ratio;
use routes::{Network, StretchId};
use std::collections::BTreeMap;

/// A part of a task's work that gets longer or shorter as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// People times seconds.
    pub work: f64,
    pub by: By,
}

/// What it goes by.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct By {
    /// Factor of the pace of its kind of method, besides that of the crew.
    pub pace: Option<usize>,
    /// The soil, and what is done in it.
    pub soil: Option<(usize, In)>,
    /// Factors of the services whose depth it follows.
    pub services: Vec<usize>,
}

/// What is done in a soil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum In {
    /// A trench or a slot is dug, in rock too.
    Dig,
    /// A sleeve is put in.
    Sleeve,
    /// Trenches are filled.
    Fill,
}

/// A soil as surveyed.
#[derive(Debug, Clone, PartialEq)]
pub struct Soil {
    /// The survey's id; empty where there is none.
    pub id: String,
    /// Factor of its coarse fragments.
    pub coarse: usize,
    /// The practice's time factor of its stones as surveyed.
    pub stones: f64,
    /// Time of digging and of filling over that of the plan a step drier, as surveyed, a step wetter.
    pub moisture: [[f64; 2]; 3],
}

/// A task as far as the trials go.
#[derive(Debug, Clone, PartialEq)]
pub struct Effort {
    pub people: f64,
    /// Seconds.
    pub time: f64,
    /// Nothing where its time is held to be certain.
    pub loads: Vec<Load>,
    /// People times seconds of all loads together.
    pub work: f64,
    /// Seconds of the machine itself.
    pub machine: f64,
    /// Cents for an hour of it.
    pub fuel: f64,
}

/// The soils that are dug, and every task.
pub fn of(
    job: &Job,
    network: &Network,
    digging: &Digging,
    schedule: &Schedule,
    causes: &Causes,
) -> (Vec<Soil>, Vec<Effort>) {
    let surveyed = |id: &String| {
        let stretch = network.stretches.iter().find(|s| s.ground.soil_id == *id)?;
        Some(stretch.ground.soil)
    };
    let soils: Vec<Soil> = causes
        .coarse
        .iter()
        .filter_map(|(id, factor)| {
            let soil = surveyed(id)?;
            Some(Soil {
                id: id.clone(),
                coarse: *factor,
                stones: stones(&job.practice, soil.coarse.to_one(), 1.0),
                moisture: wetter(&job.practice.risk.moisture, soil.moisture),
            })
        })
        .collect();
    let site = Site {
        job,
        network,
        digging,
        causes,
        soils: &soils,
    };
    let efforts = schedule
        .tasks
        .iter()
        .map(|task| site.effort(task))
        .collect();
    (soils, efforts)
}

/// The practice's time factor of stones, with what they add taken so many times.
pub fn stones(practice: &Practice, coarse: f64, times: f64) -> f64 {
    let slowed = practice.slowed_by_stones(Ratio::one(coarse));
    1.0 + slowed.map_or(0.0, |factor| factor.value.to_one() - 1.0) * times
}

fn wetter(risk: &MoistureRisk, surveyed: Moisture) -> [[f64; 2]; 3] {
    const RISING: [Moisture; 3] = [Moisture::Dry, Moisture::Moist, Moisture::Wet];
    let now = RISING.iter().position(|one| *one == surveyed).unwrap_or(1);
    let time = |table: &BTreeMap<Moisture, Sourced<Ratio>>, at: usize| {
        table
            .get(&RISING[at])
            .map_or(1.0, |time| time.value.to_one())
    };
    [now.saturating_sub(1), now, (now + 1).min(2)]
        .map(|then| [&risk.dig, &risk.fill].map(|table| time(table, then) / time(table, now)))
}

struct Site<'a> {
    job: &'a Job,
    network: &'a Network,
    digging: &'a Digging,
    causes: &'a Causes,
    soils: &'a [Soil],
}

impl Site<'_> {
    fn effort(&self, task: &Task) -> Effort {
        let people = f64::from(task.people);
        // Waits and what is left of a slot of the clock stay as they are.
        let time = (task.end - task.start).to_s();
        let loads = scaled(self.loads(task), people * task.hours.to_s());
        let digs = match task.kind {
            TaskKind::Dig => self.digs_of(task),
            _ => Vec::new(),
        };
        let method = task
            .machine
            .as_ref()
            .and_then(|id| self.job.prices.method.get(id));
        Effort {
            people,
            time,
            work: loads.iter().map(|load| load.work).sum(),
            loads,
            machine: digs.iter().map(|dig| dig.machine_hours().to_s()).sum(),
            fuel: method.map_or(0.0, |m| m.fuel_hour.value.to_cents() as f64),
        }
    }

    /// What a task's work goes by, with weights. Tests and whatever else takes its time whoever does it
    /// have none.
    fn loads(&self, task: &Task) -> BTreeMap<By, f64> {
        let mut loads = BTreeMap::new();
        match task.kind {
            TaskKind::Dig | TaskKind::Sleeve => {
                for dig in self.digs_of(task) {
                    let work = dig.hours.to_s() * f64::from(dig.crew);
                    *loads.entry(self.by_dig(dig)).or_default() += work;
                }
            }
            TaskKind::Fill => {
                for dig in self.digs_of(task) {
                    let by = By {
                        pace: None,
                        soil: self.soil(dig.stretch).map(|soil| (soil, In::Fill)),
                        services: Vec::new(),
                    };
                    *loads.entry(by).or_default() += dig.earth.bank.to_m3();
                }
            }
            TaskKind::TestHole => {
                for service in self.services_of(task) {
                    let by = By {
                        pace: self.causes.pace.get(&MethodKind::Hand).copied(),
                        soil: None,
                        services: vec![service],
                    };
                    *loads.entry(by).or_default() += 1.0;
                }
            }
            TaskKind::Mark
            | TaskKind::Lay
            | TaskKind::Wire
            | TaskKind::Set
            | TaskKind::Restore
            | TaskKind::CleanUp => {
                let by = By {
                    pace: None,
                    soil: None,
                    services: Vec::new(),
                };
                loads.insert(by, 1.0);
            }
            _ => {}
        }
        loads
    }

    fn by_dig(&self, dig: &Dig) -> By {
        let kind = self.kind(dig);
        let zones = &self.network.stretch(dig.stretch).ground.zones;
        let place = |id| self.causes.service.get(id).copied();
        let what = match kind {
            MethodKind::Surface => None,
            MethodKind::Sleeve => Some(In::Sleeve),
            MethodKind::Hand | MethodKind::Trench | MethodKind::Pull => Some(In::Dig),
        };
        By {
            pace: self.causes.pace.get(&kind).copied(),
            soil: what.and_then(|what| Some((self.soil(dig.stretch)?, what))),
            services: match kind {
                MethodKind::Hand => services(zones).filter_map(place).collect(),
                _ => Vec::new(),
            },
        }
    }

    fn kind(&self, dig: &Dig) -> MethodKind {
        let method = self.job.prices.method.get(&dig.method);
        method.map_or(MethodKind::Hand, |method| method.kind)
    }

    fn soil(&self, stretch: StretchId) -> Option<usize> {
        let id = &self.network.stretch(stretch).ground.soil_id;
        self.soils.iter().position(|soil| soil.id == *id)
    }

    /// The digs that a task digs or fills.
    fn digs_of(&self, task: &Task) -> Vec<&Dig> {
        let at = task.stretches.iter();
        at.filter_map(|stretch| self.digging.digs.get(stretch.index()))
            .collect()
    }

    /// Factors of the services that a test hole exposes, one for each crossing: those that its words
    /// name, or all.
    fn services_of(&self, task: &Task) -> Vec<usize> {
        let crossings = || self.network.crossings.iter().map(|c| c.utility.as_str());
        let named = |id: &&str| task.part == **id || task.what.split(' ').any(|word| word == *id);
        let place = |id| self.causes.service.get(id).copied();
        let found: Vec<usize> = crossings().filter(named).filter_map(place).collect();
        if found.is_empty() {
            crossings().filter_map(place).collect()
        } else {
            found
        }
    }
}

/// Loads whose work comes to that of the task.
fn scaled(weights: BTreeMap<By, f64>, work: f64) -> Vec<Load> {
    let sum: f64 = weights.values().sum();
    if sum <= 0.0 || work <= 0.0 {
        return Vec::new();
    }
    let load = |(by, weight)| Load {
        work: work * weight / sum,
        by,
    };
    weights.into_iter().map(load).collect()
}
