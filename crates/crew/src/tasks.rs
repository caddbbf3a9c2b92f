//! The tasks of a plan with their work and what they follow.
//!
//! ```text
//! stake ─ test holes ─ sleeves ─ dig ─ lay ─ stand ─ inspect ─ flush ─ set ─ test ─ hold ─ fill ─ restore
//!                                └─────────────── by part ───────────────────┘
//! ```
//!
//! A stretch is dug with the first part that lies in it and filled when the last one is tested, first
//! and last in the order in which the parts are taken. What is pulled in or pinned on the surface is laid
//! by that same task.

use crate::parts::{self, Part, PartKind, SUPPLY};
use crate::place::{By, Spec};
use crate::site::Site;
use crate::{Step, TaskKind};
use digging::{Dig, Digging};
use job::practice::Skill;
use job::prices::MethodKind;
use job::{Job, MethodId};
use quantity::{Duration, Length};
use routes::{LineKind, Network, StretchId};
use std::collections::{BTreeMap, BTreeSet};

/// A task that is not placed in time yet.
pub struct Planned {
    pub kind: TaskKind,
    pub what: String,
    pub part: String,
    /// Stretches at which it is done.
    pub stretches: Vec<StretchId>,
    /// Trench that it opens, each stretch with its share of the task's time.
    pub opens: Vec<(StretchId, f64)>,
    /// Trench that it closes, likewise.
    pub closes: Vec<(StretchId, f64)>,
    pub steps: Vec<Step>,
    pub spec: Spec,
}

/// All tasks, each after those that it follows; the parts are taken in this order.
pub fn of(
    job: &Job,
    network: &Network,
    digging: &Digging,
    site: &Site,
    parts: &[Part],
    order: &[usize],
) -> Vec<Planned> {
    let mut plan = Plan {
        of_stretch: parts::in_stretches(network, parts, order),
        laid: vec![Vec::new(); parts.len()],
        tested: vec![Vec::new(); parts.len()],
        opened: vec![None; network.stretches.len()],
        ahead: Vec::new(),
        tasks: Vec::new(),
        job,
        network,
        digging,
        site,
        parts,
    };
    plan.go_ahead();
    for &part in order {
        plan.do_part(part);
    }
    plan.restore();
    plan.clean_up();
    plan.tasks
}

struct Plan<'a> {
    job: &'a Job,
    network: &'a Network,
    digging: &'a Digging,
    site: &'a Site,
    parts: &'a [Part],
    /// Parts in each stretch, in the order in which they are taken.
    of_stretch: Vec<Vec<usize>>,
    /// Tasks before any digging.
    ahead: Vec<usize>,
    /// Tasks after which a part is laid.
    laid: Vec<Vec<usize>>,
    /// Tasks after which a part may be covered.
    tested: Vec<Vec<usize>>,
    /// The task that digs each stretch.
    opened: Vec<Option<usize>>,
    tasks: Vec<Planned>,
}

impl<'a> Plan<'a> {
    fn push(&mut self, kind: TaskKind, what: String, part: &str, spec: Spec) -> usize {
        self.tasks.push(Planned {
            kind,
            what,
            part: part.to_owned(),
            stretches: Vec::new(),
            opens: Vec::new(),
            closes: Vec::new(),
            steps: Vec::new(),
            spec,
        });
        self.tasks.len() - 1
    }

    /// A task that one up to all of a crew can do.
    fn by_hand(
        &mut self,
        kind: TaskKind,
        what: String,
        part: &str,
        work: Duration,
        after: Vec<usize>,
    ) -> usize {
        let skill = skill_of(kind);
        let spec = Spec {
            work,
            least: 1,
            most: self.site.most(skill),
            by: By::Skill(skill),
            machine: None,
            hold: Duration::ZERO,
            early: !goes_late(kind),
            after: sorted(after),
        };
        self.push(kind, what, part, spec)
    }

    /// Something that only takes its time.
    fn wait(
        &mut self,
        (kind, by): (TaskKind, By),
        what: String,
        part: &str,
        time: Duration,
        after: Vec<usize>,
    ) -> usize {
        let spec = Spec {
            work: time,
            least: 0,
            most: 0,
            by,
            machine: None,
            hold: Duration::ZERO,
            early: false,
            after: sorted(after),
        };
        self.push(kind, what, part, spec)
    }

    fn alone(&mut self, task: usize) {
        self.tasks[task].spec.most = 1;
    }

    fn name(&self, part: usize) -> String {
        self.parts[part].name.clone()
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

    /// Staking, test holes, sleeves.
    fn go_ahead(&mut self) {
        if self.network.stretches.is_empty() {
            return;
        }
        let work = self.job.prices.labour.mark_per_m.value * self.network.length().to_m();
        let what = "stake routes and components".to_owned();
        let mark = self.by_hand(TaskKind::Mark, what, "", work, Vec::new());
        self.ahead = vec![mark];
        let mut crossings: BTreeMap<&str, Vec<StretchId>> = BTreeMap::new();
        for crossing in &self.network.crossings {
            let at = crossings.entry(&crossing.utility).or_default();
            at.push(crossing.stretch);
        }
        let each = Duration::h(self.job.practice.utility.test_hole_hours.value.to_one());
        for (utility, at) in crossings {
            let count = at.len();
            let what = format!("expose {utility} by hand where it is crossed ({count})");
            let work = each * count as f64;
            let hole = self.by_hand(TaskKind::TestHole, what, "", work, vec![mark]);
            self.alone(hole);
            self.tasks[hole].stretches = at;
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
            self.tasks[task].stretches.push(dig.stretch);
        }
        self.ahead.push(task);
    }

    fn do_part(&mut self, part: usize) {
        self.dig_part(part);
        self.lay(part);
        match self.parts[part].kind.clone() {
            PartKind::Supply => self.finish_supply(part),
            PartKind::Circuit(circuit) => self.finish_circuit(part, &circuit),
            PartKind::Cable => self.finish_cable(part),
        }
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
        let name = self.name(part);
        let what = format!("{verb} {name}, {label}");
        let work = digs.iter().map(|dig| work_of(dig)).sum();
        let task = self.by_hand(TaskKind::Dig, what, &name, work, self.ahead.clone());
        let planned = &mut self.tasks[task];
        planned.spec.least = people.max(1);
        if kind != MethodKind::Hand {
            planned.spec.most = people.max(1);
        }
        if matches!(kind, MethodKind::Trench | MethodKind::Pull) {
            planned.spec.machine = Some(method.clone());
        }
        planned.spec.early = !matches!(kind, MethodKind::Hand | MethodKind::Trench);
        if !planned.spec.early {
            planned.opens = shares(digs.iter().map(|dig| (dig.stretch, dig.hours.to_s())));
        }
        for dig in digs {
            self.opened[dig.stretch.index()] = Some(task);
            self.tasks[task].stretches.push(dig.stretch);
        }
    }

    /// Lays a part's pipe, then its wire and cable.
    fn lay(&mut self, part: usize) {
        let stretches = parts::with(part, &self.of_stretch);
        let mut after: Vec<usize> = stretches
            .iter()
            .filter_map(|s| self.opened[s.index()])
            .collect();
        // What is taken sooner lies there already.
        let sooner: BTreeSet<usize> = stretches
            .iter()
            .map(|s| &self.of_stretch[s.index()])
            .flat_map(|all| all.iter().copied().take_while(|other| *other != part))
            .collect();
        after.extend(
            sooner
                .into_iter()
                .flat_map(|other| self.laid[other].clone()),
        );
        let name = self.name(part);
        let mut laid = Vec::new();
        for (kind, is_pipe) in [(TaskKind::Lay, true), (TaskKind::Wire, false)] {
            let (work, at) = self.laying(part, is_pipe);
            if work > Duration::ZERO {
                let what = match (&self.parts[part].kind, is_pipe) {
                    (PartKind::Supply, false) => "lay valve wire".to_owned(),
                    _ => format!("lay {name}"),
                };
                let after = after.iter().chain(&laid).copied().collect();
                let task = self.by_hand(kind, what, &name, work, after);
                self.tasks[task].stretches = at;
                laid.push(task);
            }
        }
        self.laid[part] = if laid.is_empty() { sorted(after) } else { laid };
    }

    /// Work of laying a part's pipe, or its wire and cable, by the length of trench it lies in, and where.
    fn laying(&self, part: usize, is_pipe: bool) -> (Duration, Vec<StretchId>) {
        let rates = &self.job.prices.labour;
        let rate = if is_pipe {
            &rates.lay_pipe_per_m
        } else {
            &rates.lay_wire_per_m
        };
        let lines = self.parts[part].lines.iter();
        let at: Vec<StretchId> = lines
            .map(|&line| &self.network.lines[line])
            .filter(|line| line.kind.is_pipe() == is_pipe)
            .flat_map(|line| &line.branches)
            .map(|branch| branch.stretch)
            .filter(|stretch| self.is_laid_apart(*stretch))
            .collect();
        let length: Length = at.iter().map(|s| self.network.stretch(*s).length).sum();
        let at: BTreeSet<StretchId> = at.into_iter().collect();
        (rate.value * length.to_m(), at.into_iter().collect())
    }

    /// The main's valves are set before water comes on, and its assembly tied in; circuits need its
    /// water.
    fn finish_supply(&mut self, part: usize) {
        let (rates, name) = (&self.job.prices.labour, self.name(part));
        let laid = self.laid[part].clone();
        if laid.is_empty() {
            return;
        }
        let what = "set the backflow assembly and tie in".to_owned();
        let tie_in = self.by_hand(TaskKind::Set, what, &name, rates.tie_in.value, laid.clone());
        self.alone(tie_in);
        let count = self.job.system.valves.len();
        let work = rates.set_valve.value * count as f64;
        let what = format!("set valves and boxes ({count})");
        let valves = self.by_hand(TaskKind::Set, what, &name, work, laid.clone());
        if let Some(controller) = &self.job.system.controller {
            let what = format!("set and wire controller {}", controller.id);
            let work = rates.set_controller.value;
            let task = self.by_hand(TaskKind::Set, what, "", work, laid.clone());
            self.alone(task);
            self.tasks[task].spec.by = By::Skill(Skill::Wire);
            self.tasks[task].spec.early = true;
        }
        let joined: Vec<usize> = laid.into_iter().chain([tie_in, valves]).collect();
        let flushed = self.flush(part, joined, Vec::new());
        let hold = self.job.practice.test.hold_main.value;
        self.test(part, vec![flushed], hold);
    }

    /// Heads are set when the pipe that feeds them is clean.
    fn finish_circuit(&mut self, part: usize, circuit: &str) {
        let name = self.name(part);
        let flushed = self.flush(part, self.laid[part].clone(), self.tested[SUPPLY].clone());
        let count = self.job.outlets_of(circuit).count();
        let work = self.job.prices.labour.set_head.value * count as f64;
        let what = format!("set heads of {circuit} ({count})");
        let set = self.by_hand(TaskKind::Set, what, &name, work, vec![flushed]);
        let hold = self.job.practice.test.hold_circuit.value;
        self.test(part, vec![flushed, set], hold);
    }

    fn finish_cable(&mut self, part: usize) {
        let name = self.name(part);
        let work = self.job.prices.labour.inspect_each.value;
        let what = format!("inspect {name}");
        let task = self.by_hand(
            TaskKind::Inspect,
            what,
            &name,
            work,
            self.laid[part].clone(),
        );
        self.alone(task);
        self.tested[part] = vec![task];
    }

    /// Joints stand and are looked over; then the part is flushed.
    fn flush(&mut self, part: usize, joined: Vec<usize>, water: Vec<usize>) -> usize {
        let (rates, name) = (&self.job.prices.labour, self.name(part));
        let what = format!("inspect {name}");
        let work = rates.inspect_each.value;
        let inspected = self.by_hand(TaskKind::Inspect, what, &name, work, joined.clone());
        self.alone(inspected);
        let mut after = water;
        after.push(inspected);
        let cure = self.cure(part);
        if cure > Duration::ZERO {
            let what = format!("joints of {name} stand");
            let kind = (TaskKind::Cure, By::Standing);
            after.push(self.wait(kind, what, &name, cure, joined));
        }
        let work = rates.flush_each.value;
        let what = format!("flush {name}");
        let flushed = self.by_hand(TaskKind::Flush, what, &name, work, after);
        self.alone(flushed);
        flushed
    }

    /// The longest that joints of a part's pipe stand.
    fn cure(&self, part: usize) -> Duration {
        let job = self.job;
        let lines = self.parts[part].lines.iter();
        let family = |line: &usize| match &self.network.lines[*line].kind {
            LineKind::Lateral(id) => {
                let circuits = job.system.circuits.iter();
                let mut named = circuits.filter(|circuit| circuit.id == *id);
                named.next().map(|circuit| circuit.pipe.as_str())
            }
            LineKind::Service | LineKind::Main => Some(job.system.source.main_pipe.as_str()),
            LineKind::Wire | LineKind::Cable(_) => None,
        };
        let families = lines.filter_map(family);
        families
            .filter_map(|family| job.practice.pipe.get(family))
            .map(|family| job.practice.cure.of(family.material).value)
            .fold(Duration::ZERO, Duration::max)
    }

    fn test(&mut self, part: usize, after: Vec<usize>, hold: Duration) {
        let name = self.name(part);
        let work = self.job.prices.labour.test_each.value;
        let test = self.by_hand(TaskKind::Test, format!("test {name}"), &name, work, after);
        self.alone(test);
        self.tested[part] = vec![test];
        if hold > Duration::ZERO {
            self.tasks[test].spec.hold = hold;
            let what = format!("{name} holds its pressure");
            let kind = (TaskKind::Hold, By::Holding);
            let held = self.wait(kind, what, &name, hold, vec![test]);
            self.tested[part] = vec![held];
        }
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
        let name = self.name(part);
        let what = format!("fill and tamp {name}");
        let task = self.by_hand(TaskKind::Fill, what, &name, work, after);
        self.tasks[task].closes = closes;
        self.tasks[task].steps = self.lifts(&stretches, total);
        self.tasks[task].stretches = stretches;
    }

    /// Filling and tamping, lift by lift; where stretches have fewer lifts than others, the later lifts
    /// are of those others only.
    fn lifts(&self, stretches: &[StretchId], total: f64) -> Vec<Step> {
        if total <= 0.0 {
            return Vec::new();
        }
        let tamp = self.job.prices.labour.tamp_share.value.to_one();
        let digs: Vec<&Dig> = stretches.iter().filter_map(|s| self.dig(*s)).collect();
        let most = digs
            .iter()
            .map(|dig| dig.earth.lifts)
            .max()
            .unwrap_or(1)
            .max(1);
        let mut steps = Vec::new();
        for lift in 1..=most {
            let of_lift = |dig: &&&Dig| dig.earth.lifts.max(1) >= lift;
            let volume: f64 = digs
                .iter()
                .filter(of_lift)
                .map(|dig| dig.earth.bank.to_m3() / f64::from(dig.earth.lifts.max(1)))
                .sum();
            let passes = digs.iter().filter(of_lift).map(|dig| dig.fill.passes).max();
            let share = volume / total;
            let parts = [
                (
                    TaskKind::Fill,
                    format!("lift {lift} of {most}: fill"),
                    1.0 - tamp,
                ),
                (
                    TaskKind::Compact,
                    format!(
                        "lift {lift} of {most}: tamp, up to {} passes",
                        passes.unwrap_or(0)
                    ),
                    tamp,
                ),
            ];
            steps.extend(parts.map(|(kind, what, part)| Step {
                what,
                kind,
                share: share * part,
            }));
        }
        steps
    }

    fn restore(&mut self) {
        let times = &self.job.prices.labour.restore_per_m2;
        let work = self.digging.digs.iter().map(|dig| {
            let surface = self.network.stretch(dig.stretch).ground.surface;
            let time = times.get(&surface).map_or(Duration::ZERO, |t| t.value);
            time * dig.earth.restore.to_m2()
        });
        let work: Duration = work.sum();
        if work > Duration::ZERO {
            let what = "make surfaces good".to_owned();
            let after = self.all();
            self.by_hand(TaskKind::Restore, what, "", work, after);
        }
    }

    fn clean_up(&mut self) {
        let work = self.job.prices.labour.clean_up_per_m.value * self.network.length().to_m();
        if work > Duration::ZERO {
            let after = self.all();
            self.by_hand(TaskKind::CleanUp, "clean up".to_owned(), "", work, after);
        }
    }

    /// All tasks that nothing follows yet.
    fn all(&self) -> Vec<usize> {
        let followed: BTreeSet<usize> = self
            .tasks
            .iter()
            .flat_map(|task| task.spec.after.iter().copied())
            .collect();
        (0..self.tasks.len())
            .filter(|task| !followed.contains(task))
            .collect()
    }
}

fn skill_of(kind: TaskKind) -> Skill {
    match kind {
        TaskKind::WhiteLine | TaskKind::Request | TaskKind::Locate | TaskKind::Mark => Skill::Mark,
        TaskKind::TestHole | TaskKind::Sleeve | TaskKind::Dig => Skill::Dig,
        TaskKind::Lay | TaskKind::Set | TaskKind::Cure => Skill::Pipe,
        TaskKind::Wire => Skill::Wire,
        TaskKind::Inspect | TaskKind::Flush | TaskKind::Test | TaskKind::Hold => Skill::Test,
        TaskKind::Fill | TaskKind::Compact | TaskKind::Restore | TaskKind::CleanUp => Skill::Fill,
    }
}

/// Whether a kind of work lies between the digging and the filling of a trench.
fn goes_late(kind: TaskKind) -> bool {
    matches!(
        kind,
        TaskKind::Dig
            | TaskKind::Lay
            | TaskKind::Wire
            | TaskKind::Set
            | TaskKind::Inspect
            | TaskKind::Flush
            | TaskKind::Test
    )
}

fn sorted(tasks: Vec<usize>) -> Vec<usize> {
    let tasks: BTreeSet<usize> = tasks.into_iter().collect();
    tasks.into_iter().collect()
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
