//! The tasks of a plan with their work and what they follow.
//!
//! ```text
//! mark ─ test holes ─ sleeves ─ dig ─ lay ─ set ─ test ─ fill ─ restore
//!                               └── by part and method ──┘
//! ```
//!
//! A stretch is dug with the first part that lies in it and filled when the last one is tested. What is
//! pulled in or pinned on the surface is laid by that same task.

use crate::TaskKind;
use crate::list::Spec;
use crate::parts::{self, Part, PartKind, SUPPLY};
use digging::{Dig, Digging};
use job::prices::MethodKind;
use job::{Job, MethodId};
use quantity::{Duration, Length};
use routes::{Network, StretchId};
use std::collections::{BTreeMap, BTreeSet};

/// Machines go first, then the work in its order.
const AFTER_MACHINES: u32 = 1_000_000;

/// A task that is not placed in time yet.
pub struct Planned {
    pub kind: TaskKind,
    pub what: String,
    pub part: String,
    /// Trench that it opens, each stretch with its share of the task's time.
    pub opens: Vec<(StretchId, f64)>,
    /// Trench that it closes, likewise.
    pub closes: Vec<(StretchId, f64)>,
    pub spec: Spec,
}

/// All tasks, each after those that it follows.
pub fn of(job: &Job, network: &Network, digging: &Digging, crew: u32) -> Vec<Planned> {
    let parts = parts::of(network);
    let mut plan = Plan {
        of_stretch: parts::in_stretches(network, &parts),
        laid: vec![Vec::new(); parts.len()],
        tested: vec![Vec::new(); parts.len()],
        opened: vec![None; network.stretches.len()],
        ahead: Vec::new(),
        machines: Vec::new(),
        tasks: Vec::new(),
        job,
        network,
        digging,
        crew,
        parts,
    };
    plan.go_ahead();
    for part in 0..plan.parts.len() {
        plan.do_part(part);
    }
    plan.restore();
    plan.set_controller();
    plan.tasks
}

struct Plan<'a> {
    job: &'a Job,
    network: &'a Network,
    digging: &'a Digging,
    crew: u32,
    parts: Vec<Part>,
    /// Parts in each stretch.
    of_stretch: Vec<Vec<usize>>,
    /// Tasks before any digging.
    ahead: Vec<usize>,
    /// Tasks after which a part is laid.
    laid: Vec<Vec<usize>>,
    /// Tasks after which a part may be covered.
    tested: Vec<Vec<usize>>,
    /// The task that digs each stretch.
    opened: Vec<Option<usize>>,
    machines: Vec<MethodId>,
    tasks: Vec<Planned>,
}

impl<'a> Plan<'a> {
    fn add(&mut self, mut task: Planned) -> usize {
        let after: BTreeSet<usize> = task.spec.after.into_iter().collect();
        task.spec.after = after.into_iter().collect();
        self.tasks.push(task);
        self.tasks.len() - 1
    }

    /// A task without machine that one up to all of the crew can do.
    fn by_hand(
        &mut self,
        kind: TaskKind,
        what: String,
        part: &str,
        work: Duration,
        after: Vec<usize>,
    ) -> usize {
        let spec = Spec {
            work,
            least: 1,
            most: self.crew,
            machine: None,
            rank: AFTER_MACHINES,
            not_before: Duration::ZERO,
            after,
        };
        self.add(Planned {
            kind,
            what,
            part: part.to_owned(),
            opens: Vec::new(),
            closes: Vec::new(),
            spec,
        })
    }

    fn alone(&mut self, task: usize) {
        self.tasks[task].spec.most = 1;
    }

    fn dig(&self, stretch: StretchId) -> Option<&'a Dig> {
        self.digging.digs.get(stretch.index())
    }

    fn kind_of(&self, stretch: StretchId) -> Option<MethodKind> {
        let method = self.job.prices.method.get(&self.dig(stretch)?.method)?;
        Some(method.kind)
    }

    fn is_open(&self, stretch: StretchId) -> bool {
        matches!(
            self.kind_of(stretch),
            Some(MethodKind::Hand | MethodKind::Trench)
        )
    }

    /// Whether what lies there is laid by a task of its own.
    fn is_laid_apart(&self, stretch: StretchId) -> bool {
        !matches!(
            self.kind_of(stretch),
            Some(MethodKind::Pull | MethodKind::Surface)
        )
    }

    /// Marking, test holes, sleeves.
    fn go_ahead(&mut self) {
        if self.network.stretches.is_empty() {
            return;
        }
        let work = self.job.prices.labour.mark_per_m.value * self.network.length().to_m();
        let mark = self.by_hand(
            TaskKind::Mark,
            "mark routes and components".to_owned(),
            "",
            work,
            Vec::new(),
        );
        self.ahead = vec![mark];
        let mut crossings: BTreeMap<&str, usize> = BTreeMap::new();
        for crossing in &self.network.crossings {
            *crossings.entry(&crossing.utility).or_default() += 1;
        }
        let each = Duration::h(self.job.practice.utility.test_hole_hours.value.to_one());
        for (utility, count) in crossings {
            let what = format!("expose {utility} by hand where it is crossed ({count})");
            let hole = self.by_hand(
                TaskKind::TestHole,
                what,
                "",
                each * count as f64,
                vec![mark],
            );
            self.alone(hole);
            self.ahead.push(hole);
        }
        self.put_sleeves_in();
    }

    fn put_sleeves_in(&mut self) {
        let digs: Vec<&Dig> = self
            .digging
            .digs
            .iter()
            .filter(|dig| self.kind_of(dig.stretch) == Some(MethodKind::Sleeve))
            .collect();
        let Some(people) = digs.iter().map(|dig| dig.crew).max() else {
            return;
        };
        let work = digs.iter().map(|dig| work_of(dig)).sum();
        let what = format!("put in or open up sleeves ({})", digs.len());
        let after = self.ahead.clone();
        let task = self.by_hand(TaskKind::Sleeve, what, "", work, after);
        self.tasks[task].spec.least = people;
        self.tasks[task].spec.most = people;
        for dig in digs {
            self.opened[dig.stretch.index()] = Some(task);
        }
        self.ahead.push(task);
    }

    fn do_part(&mut self, part: usize) {
        self.dig_part(part);
        self.lay(part);
        self.set(part);
        self.test(part);
        self.fill(part);
    }

    /// One task for each method with which the part digs.
    fn dig_part(&mut self, part: usize) {
        let mut by_method: BTreeMap<(MethodId, u32), Vec<&'a Dig>> = BTreeMap::new();
        for stretch in parts::dug_with(part, &self.of_stretch) {
            if let Some(dig) = self
                .dig(stretch)
                .filter(|_| self.opened[stretch.index()].is_none())
            {
                let group = (dig.method.clone(), dig.crew);
                by_method.entry(group).or_default().push(dig);
            }
        }
        for ((method, people), digs) in by_method {
            self.dig_by(part, &method, people, &digs);
        }
    }

    fn dig_by(&mut self, part: usize, method: &MethodId, people: u32, digs: &[&'a Dig]) {
        let known = self.job.prices.method.get(method);
        let label = known.map_or(method.0.as_str(), |m| &m.label);
        let kind = known.map_or(MethodKind::Hand, |m| m.kind);
        let verb = match kind {
            MethodKind::Pull => "pull in",
            MethodKind::Surface => "pin",
            MethodKind::Hand | MethodKind::Trench | MethodKind::Sleeve => "dig",
        };
        let name = self.parts[part].name.clone();
        let what = format!("{verb} {name}, {label}");
        let work = digs.iter().map(|dig| work_of(dig)).sum();
        let task = self.by_hand(TaskKind::Dig, what, &name, work, self.ahead.clone());
        let rank =
            matches!(kind, MethodKind::Trench | MethodKind::Pull).then(|| self.rank_of(method));
        let planned = &mut self.tasks[task];
        planned.spec.least = people.max(1);
        if kind != MethodKind::Hand {
            planned.spec.most = people.max(1);
        }
        if let Some(rank) = rank {
            planned.spec.machine = Some(method.clone());
            planned.spec.rank = rank;
        }
        if matches!(kind, MethodKind::Hand | MethodKind::Trench) {
            planned.opens = shares(digs.iter().map(|dig| (dig.stretch, dig.hours.to_s())));
        }
        for dig in digs {
            self.opened[dig.stretch.index()] = Some(task);
        }
    }

    /// Machines by their first use: all tasks of one come before those of the next.
    fn rank_of(&mut self, method: &MethodId) -> u32 {
        let known = self.machines.iter().position(|machine| machine == method);
        known.unwrap_or_else(|| {
            self.machines.push(method.clone());
            self.machines.len() - 1
        }) as u32
    }

    fn lay(&mut self, part: usize) {
        let stretches = parts::with(part, &self.of_stretch);
        let dug: Vec<usize> = stretches
            .iter()
            .filter_map(|s| self.opened[s.index()])
            .collect();
        // What lies deeper goes in first.
        let deeper: BTreeSet<usize> = stretches
            .iter()
            .flat_map(|s| self.of_stretch[s.index()].iter().copied())
            .filter(|other| *other < part)
            .collect();
        let mut after = dug;
        after.extend(
            deeper
                .into_iter()
                .flat_map(|other| self.laid[other].iter().copied()),
        );
        let work = self.laying(part);
        self.laid[part] = if work > Duration::ZERO {
            let name = self.parts[part].name.clone();
            let what = match self.parts[part].kind {
                PartKind::Supply => "lay main and valve wire".to_owned(),
                PartKind::Circuit(_) | PartKind::Cable => format!("lay {name}"),
            };
            vec![self.by_hand(TaskKind::Lay, what, &name, work, after)]
        } else {
            after
        };
    }

    /// Work of laying a part's pipe, wire or cable, by the length of trench it lies in.
    fn laying(&self, part: usize) -> Duration {
        let rates = &self.job.prices.labour;
        let lines = self.parts[part]
            .lines
            .iter()
            .map(|&line| &self.network.lines[line]);
        lines
            .map(|line| {
                let by_hand: Length = line
                    .branches
                    .iter()
                    .filter(|branch| self.is_laid_apart(branch.stretch))
                    .map(|branch| self.network.stretch(branch.stretch).length)
                    .sum();
                let rate = if line.kind.is_pipe() {
                    &rates.lay_pipe_per_m
                } else {
                    &rates.lay_wire_per_m
                };
                rate.value * by_hand.to_m()
            })
            .sum()
    }

    fn set(&mut self, part: usize) {
        let rates = &self.job.prices.labour;
        let name = self.parts[part].name.clone();
        let after = self.laid[part].clone();
        let mut set = Vec::new();
        match self.parts[part].kind.clone() {
            PartKind::Supply if !after.is_empty() => {
                let what = "set the backflow assembly and tie in".to_owned();
                let tie_in = self.by_hand(
                    TaskKind::Set,
                    what,
                    &name,
                    rates.tie_in.value,
                    after.clone(),
                );
                self.alone(tie_in);
                let count = self.job.system.valves.len();
                let work = rates.set_valve.value * count as f64;
                let what = format!("set valves and boxes ({count})");
                set.push(tie_in);
                set.push(self.by_hand(TaskKind::Set, what, &name, work, after));
            }
            PartKind::Circuit(circuit) => {
                let count = self.job.outlets_of(&circuit).count();
                let work = rates.set_head.value * count as f64;
                let what = format!("set heads of {circuit} ({count})");
                set.push(self.by_hand(TaskKind::Set, what, &name, work, after));
            }
            PartKind::Supply | PartKind::Cable => {}
        }
        self.tested[part] = self.laid[part].iter().copied().chain(set).collect();
    }

    /// The supply is tested before any circuit, which needs its water.
    fn test(&mut self, part: usize) {
        if self.parts[part].kind == PartKind::Cable || self.tested[part].is_empty() {
            return;
        }
        let name = self.parts[part].name.clone();
        let work = self.job.prices.labour.test_each.value;
        let mut after = self.tested[part].clone();
        if part != SUPPLY {
            after.extend(self.tested[SUPPLY].iter().copied());
        }
        let test = self.by_hand(
            TaskKind::Test,
            format!("inspect and test {name}"),
            &name,
            work,
            after,
        );
        self.alone(test);
        self.tested[part] = vec![test];
    }

    fn fill(&mut self, part: usize) {
        let stretches: Vec<StretchId> = parts::filled_with(part, &self.of_stretch)
            .into_iter()
            .filter(|stretch| self.is_open(*stretch))
            .collect();
        if stretches.is_empty() {
            return;
        }
        let bank = |s: &StretchId| self.dig(*s).map_or(0.0, |dig| dig.earth.bank.to_m3());
        let total: f64 = stretches.iter().map(bank).sum();
        let work = self.job.prices.labour.fill_per_m3.value * total;
        let closes = shares(stretches.iter().map(|s| (*s, bank(s))));
        let after: Vec<usize> = stretches
            .iter()
            .flat_map(|s| &self.of_stretch[s.index()])
            .flat_map(|part| self.tested[*part].iter().copied())
            .collect();
        let name = self.parts[part].name.clone();
        let task = self.by_hand(
            TaskKind::Fill,
            format!("fill and tamp {name}"),
            &name,
            work,
            after,
        );
        self.tasks[task].closes = closes;
    }

    fn restore(&mut self) {
        let times = &self.job.prices.labour.restore_per_m2;
        let work = self.digging.digs.iter().map(|dig| {
            let surface = self.network.stretch(dig.stretch).ground.surface;
            let time = times.get(&surface).map_or(Duration::ZERO, |t| t.value);
            time * dig.earth.restore.to_m2()
        });
        let work: Duration = work.sum();
        if work <= Duration::ZERO {
            return;
        }
        let after = (0..self.tasks.len())
            .filter(|&task| {
                let kind = self.tasks[task].kind;
                matches!(kind, TaskKind::Dig | TaskKind::Test | TaskKind::Fill)
            })
            .collect();
        self.by_hand(
            TaskKind::Restore,
            "make surfaces good".to_owned(),
            "",
            work,
            after,
        );
    }

    fn set_controller(&mut self) {
        if let Some(controller) = &self.job.system.controller {
            let what = format!("set and wire controller {}", controller.id);
            let work = self.job.prices.labour.set_controller.value;
            let after = self.laid[SUPPLY].clone();
            let task = self.by_hand(TaskKind::Set, what, "", work, after);
            self.alone(task);
        }
    }
}

/// Times of a task's stretches as shares of the whole; equal shares if none takes time.
fn shares(times: impl Iterator<Item = (StretchId, f64)> + Clone) -> Vec<(StretchId, f64)> {
    let total: f64 = times.clone().map(|(_, time)| time).sum();
    let count = times.clone().count() as f64;
    times
        .map(|(stretch, time)| {
            let share = if total > 0.0 {
                time / total
            } else {
                1.0 / count
            };
            (stretch, share)
        })
        .collect()
}

/// People times hours of a dig.
fn work_of(dig: &Dig) -> Duration {
    dig.hours * f64::from(dig.crew)
}
