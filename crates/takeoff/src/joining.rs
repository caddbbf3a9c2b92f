//! What joints use up: cement and primer, clamps, solder and flux, sealing tape.
//!
//! A joint is one end of pipe in one socket; each is counted once, by the socket. Threads are sealed
//! where an adapter, a union or a threaded branch meets what it serves, at both ends of a swing joint,
//! and at every end of threaded pipe.

use crate::ItemGroup;
use crate::bill::{Allowance, Bill, Packed, order_of};
use crate::fittings::{Counts, Kind, sockets};
use crate::pipe::known;
use job::practice::{Joint, PipeSize, by_size};
use job::{Job, OutletKind};
use quantity::{Amount, Length, Ratio};
use std::f64::consts::PI;
use working::Working;

/// Joints of one size, made one way.
struct Made<'j> {
    family: &'j str,
    size: &'j PipeSize,
    joint: Joint,
    count: usize,
}

/// Puts everything on the list.
pub fn add(job: &Job, counts: &Counts, bill: &mut Bill) {
    let sockets = sockets(counts);
    let made: Vec<Made> = sockets
        .iter()
        .filter_map(|((family, rank), count)| {
            let (style, size) = known(job, family, *rank)?;
            Some(Made {
                family: &style.label,
                size,
                joint: style.joined_by(),
                count: *count,
            })
        })
        .collect();
    add_cement(job, &made, bill);
    add_clamps(job, &made, bill);
    add_solder(job, &made, bill);
    add_sealing_tape(job, counts, &made, bill);
}

fn of<'m, 'j>(made: &'m [Made<'j>], joint: Joint) -> impl Iterator<Item = &'m Made<'j>> {
    made.iter().filter(move |m| m.joint == joint)
}

/// The working with the joints of each size.
fn with_joints<'m>(working: Working, made: impl Iterator<Item = &'m Made<'m>>) -> Working {
    made.fold(working, |working, m| {
        working.with(
            format!("joints of {} {}", m.family, m.size.name),
            Amount::count(m.count),
            "sockets of the fittings",
        )
    })
}

fn add_cement(job: &Job, made: &[Made], bill: &mut Bill) {
    let (rules, prices) = (&job.practice.joining, &job.prices.item);
    let waste = &job.practice.takeoff.waste.joining;
    let mut quarts = 0.0;
    let formula = "Σ joints / joints of the size that a quart makes, × (1 + waste), in whole cans";
    let mut working = with_joints(order_of("cement", formula), of(made, Joint::Solvent));
    for m in of(made, Joint::Solvent) {
        let Some(of_quart) = by_size(&rules.cement_joints, m.size.nominal()) else {
            continue;
        };
        quarts += m.count as f64 / of_quart.value.to_one();
        working = working.with(
            format!("a quart makes, {}", m.size.name),
            Amount::ratio(of_quart.value.to_one()),
            of_quart.origin(),
        );
    }
    let with_quarts = |working: Working, quarts: f64| {
        working.with("quarts", Amount::ratio(quarts), "before waste")
    };
    bill.add_packed(Packed {
        id: "joining.cement",
        group: ItemGroup::Fitting,
        what: "cement for PVC".to_owned(),
        net: Amount::ratio(quarts),
        waste: Allowance(waste),
        content: rules.cement_can.value.to_one(),
        sold_as: format!("cans of {} quart", rules.cement_can.value.to_one()),
        price: &prices.cement,
        working: with_quarts(working, quarts),
    });
    let of_primer = quarts * rules.primer.value.to_one();
    let working = order_of(
        "primer",
        "cement × primer over cement × (1 + waste), in whole cans",
    )
    .with(
        "quarts of cement",
        Amount::ratio(quarts),
        "figure material.joining.cement",
    )
    .with(
        "primer over cement",
        Amount::ratio(rules.primer.value.to_one()),
        rules.primer.origin(),
    );
    bill.add_packed(Packed {
        id: "joining.primer",
        group: ItemGroup::Fitting,
        what: "primer for PVC".to_owned(),
        net: Amount::ratio(of_primer),
        waste: Allowance(waste),
        content: rules.primer_can.value.to_one(),
        sold_as: format!("cans of {} quart", rules.primer_can.value.to_one()),
        price: &prices.primer,
        working: with_quarts(working, of_primer),
    });
}

fn add_clamps(job: &Job, made: &[Made], bill: &mut Bill) {
    let rules = &job.practice.joining;
    let mut count = 0;
    let formula = "Σ joints × clamps of one of that size, × (1 + waste), in whole bags";
    let mut working = with_joints(order_of("clamps", formula), of(made, Joint::Insert));
    for m in of(made, Joint::Insert) {
        let Some(each) = by_size(&rules.clamps, m.size.nominal()) else {
            continue;
        };
        count += m.count * each.value as usize;
        working = working.with(
            format!("clamps of a joint, {}", m.size.name),
            Amount::count(each.value as usize),
            each.origin(),
        );
    }
    bill.add_packed(Packed {
        id: "joining.clamps",
        group: ItemGroup::Fitting,
        what: "clamps for insert fittings".to_owned(),
        net: Amount::count(count),
        waste: Allowance(&job.practice.takeoff.waste.joining),
        content: f64::from(rules.clamp_bag.value),
        sold_as: format!("bags of {}", rules.clamp_bag.value),
        price: &job.prices.item.clamps,
        working,
    });
}

fn add_solder(job: &Job, made: &[Made], bill: &mut Bill) {
    let (rules, prices) = (&job.practice.joining, &job.prices.item);
    let waste = &job.practice.takeoff.waste.joining;
    let mut pounds = 0.0;
    let formula =
        "Σ joints / 100 × pounds for a hundred of that size, × (1 + waste), in whole spools";
    let mut working = with_joints(order_of("solder", formula), of(made, Joint::Solder));
    for m in of(made, Joint::Solder) {
        let Some(of_hundred) = by_size(&rules.solder, m.size.nominal()) else {
            continue;
        };
        pounds += m.count as f64 / 100.0 * of_hundred.value.to_one();
        working = working.with(
            format!("pounds for a hundred, {}", m.size.name),
            Amount::ratio(of_hundred.value.to_one()),
            of_hundred.origin(),
        );
    }
    bill.add_packed(Packed {
        id: "joining.solder",
        group: ItemGroup::Fitting,
        what: "solder".to_owned(),
        net: Amount::ratio(pounds),
        waste: Allowance(waste),
        content: rules.solder_spool.value.to_one(),
        sold_as: format!("spools of {} lb", rules.solder_spool.value.to_one()),
        price: &prices.solder,
        working,
    });
    let flux = pounds * rules.flux.value.to_one();
    let over = Amount::ratio(rules.flux.value.to_one());
    bill.add_packed(Packed {
        id: "joining.flux",
        group: ItemGroup::Fitting,
        what: "flux".to_owned(),
        net: Amount::ratio(flux),
        waste: Allowance(waste),
        content: rules.flux_jar.value.to_one(),
        sold_as: format!("jars of {} lb", rules.flux_jar.value.to_one()),
        price: &prices.flux,
        working: order_of(
            "flux",
            "solder × flux over solder × (1 + waste), in whole jars",
        )
        .with(
            "pounds of solder",
            Amount::ratio(pounds),
            "figure material.joining.solder",
        )
        .with("flux over solder", over, rules.flux.origin()),
    });
}

/// Threads of an outside diameter that are sealed, with why.
type Threads = (usize, Length, String);

fn threads(job: &Job, counts: &Counts, made: &[Made]) -> Vec<Threads> {
    let rules = &job.practice.takeoff;
    let head = rules.head_thread.value;
    let mut threads = Vec::new();
    for (fitting, count) in counts {
        let Some((_, size)) = known(job, &fitting.family, fitting.rank) else {
            continue;
        };
        let outside = match fitting.kind {
            Kind::Adapter | Kind::Union => size.outside,
            Kind::ThreadedTee | Kind::ThreadedElbow => head,
            _ => continue,
        };
        let why = match fitting.kind {
            Kind::Adapter | Kind::Union => format!("adapters and unions {}", size.name),
            _ => "threaded branches and ends under heads and drip feeds".to_owned(),
        };
        threads.push((*count, outside, why));
    }
    let heads = job
        .system
        .outlets
        .iter()
        .filter(|o| o.kind == OutletKind::Head);
    let swing = heads.count() * rules.swing_joints.value as usize;
    threads.push((swing, head, "swing joints at their far ends".to_owned()));
    for m in of(made, Joint::Thread) {
        let why = format!("ends of threaded pipe {}", m.size.name);
        threads.push((m.count, m.size.outside, why));
    }
    threads.retain(|(count, _, _)| *count > 0);
    threads
}

fn add_sealing_tape(job: &Job, counts: &Counts, made: &[Made], bill: &mut Bill) {
    let rules = &job.practice.joining;
    let turns: Ratio = rules.tape_turns.value;
    let threads = threads(job, counts, made);
    let around = |outside: Length| outside.to_m() * PI * turns.to_one();
    let length: f64 = threads
        .iter()
        .map(|(n, outside, _)| *n as f64 * around(*outside))
        .sum();
    let formula = "Σ threads × turns × π × outside diameter, × (1 + waste), in whole rolls";
    let mut working = order_of("sealing tape", formula).with(
        "turns",
        Amount::ratio(turns.to_one()),
        rules.tape_turns.origin(),
    );
    for (count, outside, why) in &threads {
        let from = format!("outside diameter {}", outside.small().show(bill.units));
        working = working.with(why.clone(), Amount::count(*count), from);
    }
    let roll = rules.tape_roll.value;
    bill.add_packed(Packed {
        id: "joining.sealing-tape",
        group: ItemGroup::Fitting,
        what: "sealing tape for threads".to_owned(),
        net: Length::m(length).amount(),
        waste: Allowance(&job.practice.takeoff.waste.joining),
        content: roll.to_m(),
        sold_as: format!("rolls of {}", crate::bill::short(roll, bill.units)),
        price: &job.prices.item.sealing_tape,
        working: working
            .with(
                "thread under heads",
                job.practice.takeoff.head_thread.value.small(),
                job.practice.takeoff.head_thread.origin(),
            )
            .approximately("threads of adapters and unions are taken to be as wide as their pipe"),
    });
}
