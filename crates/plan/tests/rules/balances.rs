//! What goes in comes out: earth, pipe, water, money, time.

use crate::support::{cases, yard};
use crate::{plan_of, read};
use job::Job;
use plan::Plan;
use proptest::prelude::*;
use quantity::{Flow, Length, Money};
use routes::{LineKind, NodeId};
use std::collections::BTreeMap;

fn near(a: f64, b: f64, share: f64) -> bool {
    (a - b).abs() <= share * a.abs().max(b.abs()) + 1e-9
}

fn balances(text: &str) {
    let job = read(text);
    let Some(plan) = plan_of(&job) else { return };
    let network = &plan.network;
    assert!(network.bound > 0.0 && network.bound <= network.least_laying);
    assert!(network.least_laying <= network.laying());
    assert!(network.search_gap() <= network.gap());
    assert!(network.refinement.is_some_and(|gained| gained >= 0.0));
    earth(&plan);
    pipe(&job, &plan);
    water(&job, &plan);
    money(&plan);
    time(&plan);
    workings(&plan);
}

/// What is dug is what goes back and what is left over, by its section, stretch by stretch and in
/// all.
fn earth(plan: &Plan) {
    assert_eq!(plan.digging.digs.len(), plan.network.stretches.len());
    for dig in &plan.digging.digs {
        let (earth, section) = (&dig.earth, &dig.section);
        let bank = earth.bank.to_m3();
        let out = earth.backfill.to_m3() + earth.surplus.to_m3();
        assert!(near(bank, out, 1e-6), "{dig:?}");
        assert!(earth.loose >= earth.bank && earth.surplus.to_m3() >= 0.0);
        let length = plan.network.stretch(dig.stretch).length.to_m();
        let width = section.width.to_m().midpoint(section.top_width.to_m());
        let cut = section.depth.to_m() * width * length;
        let open = section.width > Length::ZERO;
        let pits = dig.pull.iter().flat_map(|pull| &pull.pits);
        let pits: f64 = pits.map(|p| p.bank.to_m3() * p.share.to_one()).sum();
        assert!(
            near(bank, if open { cut } else { pits }, 1e-6),
            "{dig:?} {cut} {pits}"
        );
    }
    let total = |figure: &str| number(plan, &format!("dig.{figure}"));
    let sum = |of: &dyn Fn(&digging::Earthwork) -> f64| -> f64 {
        plan.digging.digs.iter().map(|d| of(&d.earth)).sum()
    };
    assert!(near(total("bank"), sum(&|e| e.bank.to_m3()), 1e-9));
    assert!(near(total("loose"), sum(&|e| e.loose.to_m3()), 1e-9));
    assert!(near(
        total("backfill") + total("surplus"),
        total("bank"),
        1e-6
    ));
}

/// The number of a figure of the ledger.
fn number(plan: &Plan, id: &str) -> f64 {
    let ledger = serde_json::to_value(&plan.workings).unwrap();
    let value = &ledger[id]["value"]["value"];
    value
        .as_f64()
        .unwrap_or_else(|| panic!("no number in figure {id}"))
}

/// The pipe of each family and size, with slack, is what the list needs; sticks are cut without
/// loss.
fn pipe(job: &Job, plan: &Plan) {
    let slack = 1.0 + job.practice.cut.pipe_slack.value.to_one();
    let mut laid: BTreeMap<String, f64> = BTreeMap::new();
    for pipe in &plan.hydraulics.pipes {
        let size = pipe.size.to_lowercase().replace(' ', "-");
        let length = plan.network.stretch(pipe.stretch).length.to_m();
        *laid
            .entry(format!("pipe.{}.{size}", pipe.family))
            .or_default() += length * slack;
    }
    let listed: BTreeMap<String, f64> = plan
        .takeoff
        .items
        .iter()
        .filter(|item| item.id.starts_with("pipe."))
        .map(|item| (item.id.clone(), item.net.map_or(0.0, |net| net.value)))
        .collect();
    let mut between: BTreeMap<&str, f64> = BTreeMap::new();
    for cutting in &plan.takeoff.cutting {
        let lengths = cutting.pieces.iter().flatten();
        for (length, place) in lengths.zip(cutting.places.iter().flatten()) {
            if place != "between fittings" && !place.starts_with("sleeve") {
                *between.entry(&cutting.item).or_default() += length.to_m();
            }
        }
    }
    assert_eq!(
        laid.keys().map(String::as_str).collect::<Vec<_>>(),
        between.keys().copied().collect::<Vec<_>>()
    );
    for (id, length) in &laid {
        let cut = between[id.as_str()];
        assert!(near(*length, cut, 1e-5), "{id}: {length} {cut}");
    }
    for joints in &plan.takeoff.joints {
        assert_eq!(
            2 * joints.pieces,
            joints.sockets + joints.open,
            "{joints:?}"
        );
    }
    for cutting in &plan.takeoff.cutting {
        let cut: Length = cutting.pieces.iter().flatten().copied().sum();
        let bought = cutting.piece * cutting.pieces.len() as f64;
        assert!(near(
            bought.to_m(),
            (cut + cutting.kerf + cutting.waste).to_m(),
            1e-9
        ));
        assert!(
            near(cut.to_m(), listed[&cutting.item], 1e-9),
            "{}",
            cutting.item
        );
    }
}

/// At every node of a circuit as much flows out as in, less what a head there takes; the main
/// carries the largest circuit behind it.
fn water(job: &Job, plan: &Plan) {
    for result in &plan.hydraulics.circuits {
        let outlets = plan.hydraulics.outlets.iter();
        let own = outlets.filter(|o| o.circuit == result.circuit);
        let drawn: Flow = own.map(|o| o.flow).sum();
        assert!(
            near(drawn.to_lpm(), result.flow.to_lpm(), 1e-9),
            "{result:?}"
        );
    }
    let drawn = |id: &str| {
        let outlets = plan.hydraulics.outlets.iter();
        outlets
            .filter(|o| o.outlet == id)
            .map(|o| o.flow.to_lpm())
            .sum::<f64>()
    };
    let flow_of = |circuit: &str| job.outlets_of(circuit).map(|o| drawn(&o.id)).sum::<f64>();
    for (i, line) in plan.network.lines.iter().enumerate() {
        let behind: BTreeMap<NodeId, f64> = match &line.kind {
            LineKind::Lateral(circuit) => {
                let taken = |node: &NodeId| {
                    let at = plan.network.node(*node).at;
                    let here = job.outlets_of(circuit).filter(|o| o.at.distance(at) < 1e-3);
                    here.map(|o| drawn(&o.id)).sum::<f64>()
                };
                line.terminals
                    .iter()
                    .map(|node| (*node, taken(node)))
                    .collect()
            }
            LineKind::Service | LineKind::Main => line
                .terminals
                .iter()
                .map(|node| {
                    let at = plan.network.node(*node).at;
                    let here = job
                        .system
                        .valves
                        .iter()
                        .filter(|v| v.at.distance(at) < 1e-3);
                    (*node, here.map(|v| flow_of(&v.circuit)).fold(0.0, f64::max))
                })
                .collect(),
            LineKind::Wire | LineKind::Cable(_) => continue,
        };
        let largest = job.system.circuits.iter().map(|c| flow_of(&c.id));
        let largest = largest.fold(0.0, f64::max);
        let sums = matches!(line.kind, LineKind::Lateral(_));
        let mut through: BTreeMap<NodeId, f64> = behind;
        for branch in line.branches.iter().rev() {
            let mut out = through.get(&branch.to).copied().unwrap_or(0.0);
            if line.kind == LineKind::Service {
                out = largest;
            }
            let pipe = plan.hydraulics.pipes.iter();
            let pipe = pipe.filter(|p| p.line == i && p.stretch == branch.stretch);
            let flows: Vec<f64> = pipe.map(|p| p.flow.to_lpm()).collect();
            assert_eq!(flows.len(), 1, "{}: {}", line.name, branch.stretch);
            assert!(
                near(flows[0], out, 1e-9),
                "{} {}: {flows:?} {out}",
                line.name,
                branch.stretch
            );
            let up = through.entry(branch.from).or_default();
            *up = if sums { *up + out } else { up.max(out) };
        }
    }
}

/// Cost lines sum to the cost, with overhead and profit to the price, with taxes to what the customer pays;
/// the parts of the price sum to it.
fn money(plan: &Plan) {
    let price = &plan.price;
    let lines: Money = price.lines.iter().map(|line| line.amount).sum();
    assert_eq!(lines, price.cost);
    assert_eq!(price.cost + price.overhead + price.profit, price.total);
    let taxes: Money = price.taxes.iter().map(|tax| tax.amount).sum();
    assert_eq!(price.total + taxes, price.with_tax);
    let parts: Money = price.parts.iter().map(|part| part.amount).sum();
    assert_eq!(parts, price.total);
    assert!(price.lines.iter().all(|line| line.amount >= Money::ZERO));
    let ids: std::collections::BTreeSet<_> = price.lines.iter().map(|l| &l.id).collect();
    assert_eq!(ids.len(), price.lines.len());
}

/// No task begins before those that it waits for are done.
fn time(plan: &Plan) {
    let tasks = &plan.schedule.tasks;
    for task in tasks {
        for before in task.after.iter().map(|i| &tasks[*i]) {
            let done = before.start.to_h() + before.hours.to_h();
            assert!(
                task.start.to_h() >= done - 1e-6,
                "{} before {}",
                task.what,
                before.what
            );
        }
    }
}

/// A working that rests on another figure names one that there is.
fn workings(plan: &Plan) {
    let ledger = serde_json::to_value(&plan.workings).unwrap();
    let figures = ledger.as_object().unwrap();
    assert!(figures.len() > 50);
    for (id, working) in figures {
        for input in working["inputs"].as_array().unwrap() {
            if let Some(named) = input["from"].as_str().unwrap().strip_prefix("figure ") {
                let named = named.split([';', ',', ' ']).next().unwrap();
                assert!(
                    figures.contains_key(named),
                    "{id} rests on {named}, which is not there"
                );
            }
        }
    }
}

#[test]
fn the_demo_jobs_balance() {
    balances(job::DEMO);
    balances(job::DEMO_COURTYARD);
}

proptest! {
    #![proptest_config(cases(12))]

    #[test]
    fn yards_balance(yard in yard::yards()) {
        balances(&yard.text());
    }
}

proptest! {
    #![proptest_config(cases(8))]

    #[test]
    fn samples_balance(heads in 1u32..40, seed in 0u64..1000) {
        balances(&job::sample(heads, seed));
    }
}
