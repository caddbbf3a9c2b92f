//! What winter and low heads ask for.

use super::{Cold, LowLateral};
use job::practice::DrainDown;
use job::{Finding, Job};
use quantity::{Length, Pressure};

pub(super) fn findings(job: &Job, cold: &Cold) -> Vec<Finding> {
    let laterals = cold.low_laterals.iter();
    let mut findings: Vec<Finding> = laterals.map(|lateral| low_heads(job, lateral)).collect();
    findings.extend(blow_out(job, cold));
    findings
}

fn low_heads(job: &Job, lateral: &LowLateral) -> Finding {
    let show = |length: Length| length.amount().show(job.units);
    let hold = job.practice.cold.check_valve.value;
    let held = if hold > Length::ZERO {
        format!("a check valve in a head holds {}", show(hold))
    } else {
        "no check valve holds the water".to_owned()
    };
    let heads = match lateral.heads {
        1 => format!("{} lies", lateral.lowest),
        n => format!("{n} heads, {} the lowest, lie up to", lateral.lowest),
    };
    Finding::caution(
        "low-head-drainage",
        lateral.circuit.as_str(),
        format!(
            "{heads} {} below the highest place of the lateral, and {held}: up to {} run out after each \
             run",
            show(lateral.below),
            lateral.drains.liquid().show(job.units),
        ),
        format!(
            "heads with check valves that hold more than {}, a check valve in the lateral above them, or \
             a circuit of their own",
            show(lateral.below),
        ),
    )
}

fn blow_out(job: &Job, cold: &Cold) -> Option<Finding> {
    if cold.emptied != Some(DrainDown::BlownOut) {
        return None;
    }
    let caps = cold.volumes.iter().filter_map(|v| v.air_cap);
    let cap = caps.reduce(Pressure::min)?.amount().show(job.units);
    Some(Finding::caution(
        "blow-out",
        Finding::WHOLE_JOB,
        format!(
            "the pipes are blown out before the frost, with air of not more than {cap}: compressed air \
             bursts pipe and throws parts"
        ),
        format!(
            "a person who knows compressed air does it, with a regulator set to not more than {cap}, one \
             circuit at a time with its valve open; that person wears eye protection and nobody stands \
             over heads or valves; the other way is pipes that drain, a rule of the practice (cold.drain_down)"
        ),
    ))
}
