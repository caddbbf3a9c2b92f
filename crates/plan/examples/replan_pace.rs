//! Prints how long each stage of a plan after a small change takes: single heads moved by a metre, in
//! all demo jobs and in samples of 300 and 1,000 heads.
//!
//! `cargo run --release -p plan --example replan_pace [-- NAME [MOVES]]`

#[path = "../src/costs.rs"]
mod costs;
#[path = "../src/grouping.rs"]
#[expect(dead_code, reason = "only some of it is timed")]
mod grouping;

use costs::LineRates;
use crew::Effort;
use ground::{Ground, StretchGround};
use grouping::Circuits;
use job::{Job, ReadOptions};
use plan::{Desk, Plan};
use plan::{crew, digging, hydraulics, price, risk, routes, staking, takeoff};
use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::time::Instant;
use working::Ledger;

const NAMES: [&str; 7] = [
    "house",
    "courtyard",
    "hillside",
    "park",
    "garden",
    "s300",
    "s1000",
];

fn main() {
    let mut arguments = std::env::args().skip(1);
    let only = arguments.next();
    let moves = arguments.next().and_then(|m| m.parse().ok()).unwrap_or(12);
    let chosen = NAMES
        .iter()
        .filter(|n| only.as_deref().is_none_or(|o| o == **n));
    for name in chosen {
        let job = job_named(name);
        let begin = Instant::now();
        let pauses = Pauses::default();
        let last =
            plan::plan(&job, &|words| pauses.asked(words)).expect("the demo jobs can be planned");
        let full = begin.elapsed().as_secs_f64() * 1e3;
        println!(
            "\n{name}: {} outlets, a whole plan {full:.0} ms",
            job.system.outlets.len()
        );
        let (most, words) = pauses.longest();
        println!("  longest pause of a whole plan {most:.0} ms, at: {words}");
        let mut desk = Desk::new();
        let mut stages = Stages::default();
        for change in 0..moves {
            let Some(job) = moved(&job, change) else {
                continue;
            };
            stages.begin();
            by_stages(&job, &last, &mut stages);
            whole(&job, &last, &mut desk, &mut stages);
        }
        stages.print();
    }
}

fn going_on(_: &str) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn job_named(name: &str) -> Job {
    let sample;
    let text = match name {
        "house" => job::DEMO,
        "courtyard" => job::DEMO_COURTYARD,
        "hillside" => job::DEMO_HILLSIDE,
        "park" => job::DEMO_PARK,
        "garden" => job::DEMO_GARDEN,
        size => {
            let heads = size.trim_start_matches('s').parse().unwrap_or(300);
            sample = job::sample(heads, 1);
            &sample
        }
    };
    let reading = job::read(text, &ReadOptions::default());
    reading.expect("the demo jobs are good").job
}

/// The job with one head moved by a metre; nothing if it would no longer be reached.
fn moved(job: &Job, change: usize) -> Option<Job> {
    let mut job = job.clone();
    let count = job.system.outlets.len();
    let at = &mut job.system.outlets[(change * 7 + 3) % count].at;
    let [x, y] = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0], [0.7, 0.7]][change % 5];
    (at.x, at.y) = (at.x + x, at.y + y);
    plan::check(&job).is_empty().then_some(job)
}

#[derive(Default)]
struct Stages {
    last: Option<Instant>,
    names: Vec<String>,
    took: Vec<Vec<f64>>,
}

impl Stages {
    fn begin(&mut self) {
        self.last = Some(Instant::now());
    }

    fn end(&mut self, name: &str) {
        let now = Instant::now();
        let took = now - self.last.unwrap_or(now);
        self.note(name, took.as_secs_f64() * 1e3);
        self.last = Some(Instant::now());
    }

    fn note(&mut self, name: impl Into<String>, took: f64) {
        let name = name.into();
        let number = self
            .names
            .iter()
            .position(|n| *n == name)
            .unwrap_or_else(|| {
                self.names.push(name.clone());
                self.took.push(Vec::new());
                self.names.len() - 1
            });
        self.took[number].push(took);
    }

    fn print(&mut self) {
        println!(
            "  {:44} {:>8} {:>8} {:>8} {:>8}  ms",
            "stage", "least", "median", "p95", "most"
        );
        for (name, took) in self.names.iter().zip(&mut self.took) {
            took.sort_by(f64::total_cmp);
            let at = |share: f64| took[((took.len() as f64 * share).ceil() as usize).max(1) - 1];
            let [least, median, p95, most] = [0.0, 0.5, 0.95, 1.0].map(at);
            println!("  {name:44} {least:8.1} {median:8.1} {p95:8.1} {most:8.1}");
        }
    }
}

fn by_stages(job: &Job, last: &Plan, stages: &mut Stages) {
    let ground = Ground::new(job);
    stages.end("Ground::new");
    let circuits = Circuits::kept(job, &ground, last).expect("circuits hold");
    stages.end("Circuits::kept");
    let job = circuits.job();
    let mut router = routes::Router::new(job, &ground);
    stages.end("Router::new");
    router.recall(&last.network);
    stages.end("recall");
    let rates = LineRates::of(job, &last.network, &last.hydraulics);
    let hires = last.digging.hires.iter();
    let hired: BTreeSet<digging::MachineId> = hires.map(|hire| hire.machine.clone()).collect();
    let trench = |ground: &StretchGround| digging::unit_cost(job, ground, Some(&hired));
    let line = |kind: &routes::LineKind| rates.of_line(kind);
    let costs = routes::RouteCosts {
        trench: &trench,
        line: &line,
        sleeve_new: costs::sleeve_new(job),
        sleeve_existing: costs::sleeve_existing(job),
        crossing: costs::crossing(job),
        bend: costs::bend(job),
        junction: costs::junction(job),
    };
    let network = router
        .route(&costs, false, &going_on)
        .expect("it was checked");
    stages.end("route");
    let mut ledger = Ledger::new();
    let water = hydraulics::size(job, &network, &mut ledger);
    stages.end("hydraulics::size");
    let digging = digging::dig(job, &network, &water, &mut ledger);
    stages.end("digging::dig");
    let takeoff = takeoff::take_off(job, &network, &water, &digging, &mut ledger);
    stages.end("takeoff");
    let days = |effort, ledger: &mut Ledger| {
        crew::schedule(job, &network, &water, &digging, &takeoff, effort, ledger)
    };
    let quick = days(Effort::Quick, &mut ledger);
    stages.end("crew Quick");
    let full = days(Effort::Full, &mut ledger);
    stages.end("crew Full");
    let risk = risk::assess(job, &network, &digging, &takeoff, &full, &mut ledger);
    stages.end("risk");
    let planned = price::Planned {
        network: &network,
        digging: &digging,
        takeoff: &takeoff,
        schedule: &quick,
    };
    let price = price::price(job, &planned, &price::Contingency::Share, &mut ledger);
    stages.end("price");
    let staking = staking::stake(job, &network, None, &mut ledger);
    stages.end("staking");
    drop((price, risk, staking));
    stages.end("dropping");
}

fn whole(job: &Job, last: &Plan, desk: &mut Desk, stages: &mut Stages) {
    stages.begin();
    plan::replan(job, last, &going_on).expect("it was checked");
    stages.end("plan::replan");
    let alone = plan::draft(job, last, &going_on).expect("it was checked");
    stages.end("plan::draft");
    let pauses = Pauses::default();
    let kept = desk
        .draft(job, last, &|words| pauses.asked(words))
        .expect("it was checked");
    stages.end("Desk::draft");
    stages.note("  longest pause of Desk::draft", pauses.longest().0);
    assert!(kept == alone, "what lies on the desk changes nothing");
    let parts = pauses.parts.take();
    for (name, took) in parts {
        stages.note(name, took);
    }
}

/// How long work goes on without asking whether to stop.
struct Pauses {
    last: Cell<Instant>,
    longest: RefCell<(f64, String)>,
    words: RefCell<String>,
    parts: RefCell<Vec<(String, f64)>>,
}

impl Default for Pauses {
    fn default() -> Self {
        Self {
            last: Cell::new(Instant::now()),
            longest: RefCell::default(),
            words: RefCell::default(),
            parts: RefCell::default(),
        }
    }
}

impl Pauses {
    fn asked(&self, words: &str) -> ControlFlow<()> {
        let now = Instant::now();
        let took = (now - self.last.replace(now)).as_secs_f64() * 1e3;
        let mut parts = self.parts.borrow_mut();
        if let Some(part) = parts.last_mut() {
            part.1 += took;
        }
        if took > self.longest.borrow().0 {
            *self.longest.borrow_mut() = (took, self.words.borrow().clone());
        }
        if !words.is_empty() {
            *self.words.borrow_mut() = words.to_owned();
            let name = words.split([',', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9']);
            let name = name.take(1).collect::<String>();
            parts.push((format!("  {}", name.trim_start_matches("draft: ")), 0.0));
        }
        ControlFlow::Continue(())
    }

    fn longest(&self) -> (f64, String) {
        let _ = self.asked("");
        self.longest.borrow().clone()
    }
}
