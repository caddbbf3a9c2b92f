//! What came out, as tables.

use super::families::{Family, Kind, Outcome};

/// A cost this far below a proven optimum is more than rounding of the published value.
const ROUNDING: f64 = 1e-6;

/// One instance in a line, for whoever waits.
pub fn line(outcome: &Outcome) -> String {
    let above = above(outcome).map_or_else(|| "no reference".to_owned(), |a| format!("{a:+.4} %"));
    let bound = gap(outcome).map_or_else(String::new, |gap| format!(", gap {gap:.3} %"));
    let proven = if outcome.optimal { ", proven" } else { "" };
    format!(
        "{}: {} ({above}{bound}{proven}), {:.2} s",
        outcome.name, outcome.cost, outcome.seconds
    )
}

/// Percent above the reference.
fn above(outcome: &Outcome) -> Option<f64> {
    outcome
        .reference
        .map(|reference| percent(outcome.cost, reference))
}

pub(super) fn percent(cost: f64, reference: f64) -> f64 {
    (cost / reference - 1.0) * 100.0
}

/// Percent of the cost that the bound leaves open.
fn gap(outcome: &Outcome) -> Option<f64> {
    let bound = outcome.bound?;
    (outcome.cost > 0.0).then(|| (1.0 - bound / outcome.cost).max(0.0) * 100.0)
}

/// Instances whose cost lies below a proven optimum.
pub fn impossible(outcomes: &[Outcome]) -> Vec<String> {
    let is_below = |outcome: &&Outcome| {
        outcome.proven_reference
            && outcome
                .reference
                .is_some_and(|optimum| outcome.cost < optimum * (1.0 - ROUNDING))
    };
    outcomes.iter().filter(is_below).map(line).collect()
}

/// All tables.
pub fn tables(results: &[(&Family, Vec<Outcome>)]) -> String {
    let in_graphs =
        |family: &Family| matches!(family.kind, Kind::Graph | Kind::Grid | Kind::Sharing);
    let mut text = String::new();
    let (graphs, plane): (Vec<_>, Vec<_>) =
        results.iter().partition(|(family, _)| in_graphs(family));
    if !graphs.is_empty() {
        text.push_str(&graph_table(&graphs));
    }
    if !plane.is_empty() {
        text.push('\n');
        text.push_str(&plane_table(&plane));
    }
    text
}

fn graph_table(results: &[&(&Family, Vec<Outcome>)]) -> String {
    let mut text = String::from(
        "| family | instances | above the optimum, mean (most) | proven optimal | bound leaves open, mean (most) | \
         seconds, mean (most) | peak memory | nearest first, 20 roots | networkx Mehlhorn | networkx Kou |\n\
         | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n",
    );
    for (family, outcomes) in results {
        let proven = outcomes.iter().filter(|outcome| outcome.optimal).count();
        let peer = |name: &str| {
            mean_only(
                outcomes
                    .iter()
                    .filter_map(|o| Some(percent(*o.peers.get(name)?, o.reference?))),
            )
        };
        text.push_str(&format!(
            "| {} | {} | {} | {proven} | {} | {} | {} | {} | {} | {} |\n",
            family.name,
            outcomes.len(),
            mean_and_most(outcomes.iter().filter_map(above), 3, " %"),
            mean_and_most(outcomes.iter().filter_map(gap), 2, " %"),
            mean_and_most(outcomes.iter().map(|o| o.seconds), 2, ""),
            memory(outcomes),
            peer("nearest first, 20 roots"),
            peer("networkx mehlhorn"),
            peer("networkx kou"),
        ));
    }
    text
}

fn plane_table(results: &[&(&Family, Vec<Outcome>)]) -> String {
    let mut text = String::from(
        "| family in the plane | instances | above the reference, mean (most) | below it | seconds, mean (most) | \
         microseconds a query |\n| --- | ---: | ---: | ---: | ---: | ---: |\n",
    );
    for (family, outcomes) in results {
        let below = outcomes
            .iter()
            .filter(|o| above(o).is_some_and(|a| a < -1e-6))
            .count();
        let below = if family.proven {
            "–".to_owned()
        } else {
            below.to_string()
        };
        text.push_str(&format!(
            "| {} | {} | {} | {below} | {} | {} |\n",
            family.name,
            outcomes.len(),
            mean_and_most(outcomes.iter().filter_map(above), 4, " %"),
            mean_and_most(outcomes.iter().map(|o| o.seconds), 2, ""),
            mean_only_with(outcomes.iter().filter_map(|o| o.query), 1, ""),
        ));
    }
    text
}

fn memory(outcomes: &[Outcome]) -> String {
    let most = outcomes
        .iter()
        .filter_map(|o| o.peak_bytes)
        .fold(f64::NAN, f64::max);
    if most.is_nan() {
        "–".to_owned()
    } else {
        format!("{:.0} MB", most / 1e6)
    }
}

pub(super) fn mean_and_most(
    values: impl Iterator<Item = f64>,
    digits: usize,
    unit: &str,
) -> String {
    let values: Vec<f64> = values.collect();
    let Some(mean) = mean(&values) else {
        return "–".to_owned();
    };
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    format!("{mean:.digits$}{unit} ({most:.digits$}{unit})")
}

pub(super) fn mean_only(values: impl Iterator<Item = f64>) -> String {
    mean_only_with(values, 1, " %")
}

fn mean_only_with(values: impl Iterator<Item = f64>, digits: usize, unit: &str) -> String {
    let values: Vec<f64> = values.collect();
    mean(&values).map_or_else(|| "–".to_owned(), |mean| format!("{mean:.digits$}{unit}"))
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    fn outcome(cost: f64, proven_reference: bool) -> Outcome {
        Outcome {
            name: "a".to_owned(),
            reference: Some(100.0),
            proven_reference,
            cost,
            bound: Some(90.0),
            optimal: false,
            seconds: 1.0,
            peak_bytes: None,
            query: None,
            peers: BTreeMap::new(),
        }
    }

    #[test]
    fn only_a_cost_below_a_proven_optimum_is_impossible() {
        assert!(impossible(&[outcome(100.0, true), outcome(99.0, false)]).is_empty());
        assert_eq!(impossible(&[outcome(99.0, true)]).len(), 1);
    }

    #[test]
    fn a_line_tells_cost_distance_and_gap() {
        let line = line(&outcome(101.0, true));
        assert!(
            line.contains("+1.0000 %") && line.contains("gap 10.891 %"),
            "{line}"
        );
    }
}
