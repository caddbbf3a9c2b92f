//! A unit of which every cost is a whole multiple, if there is one. Every solution then costs a
//! whole number of units too, and a bound may be rounded up to the next one.

use crate::problem::Problem;

/// Costs may be off a multiple by this part of a unit; a tree of 10^5 edges then stays within the
/// slack of [`round_up`].
const EXACT: f64 = 1e-9;
/// Units finer than this part of the largest cost gain nothing.
const FINEST: f64 = 1e-9;
/// With more costs than this, looking for a unit costs more than it gains.
const MOST: usize = 4_000_000;

/// The largest such unit, or 0 if there is none worth using.
pub(crate) fn unit(problem: &Problem) -> f64 {
    let mut rates: Vec<f64> = problem.groups.iter().map(|group| group.rate).collect();
    rates.sort_unstable_by(f64::total_cmp);
    rates.dedup();
    if problem.edges.len() * (rates.len() + 1) > MOST {
        return 0.0;
    }
    let shared = problem.edges.iter().map(|edge| edge.shared);
    let own = problem
        .edges
        .iter()
        .flat_map(|edge| rates.iter().map(|rate| rate * edge.length));
    let mut costs: Vec<f64> = shared.chain(own).filter(|cost| *cost > 0.0).collect();
    costs.sort_unstable_by(f64::total_cmp);
    costs.dedup();
    let Some(most) = costs.last().copied() else {
        return 0.0;
    };
    let mut unit = 0.0;
    for cost in &costs {
        unit = common(*cost, unit, most * 1e-12);
        if unit < most * FINEST {
            return 0.0;
        }
    }
    let whole = |cost: &f64| (cost - unit * (cost / unit).round()).abs() <= unit * EXACT;
    if costs.iter().all(whole) { unit } else { 0.0 }
}

fn common(mut a: f64, mut b: f64, tiny: f64) -> f64 {
    while b > tiny {
        let rest = a % b;
        // A remainder just below the divisor is a multiple spoilt by rounding.
        (a, b) = (b, if b - rest <= tiny { 0.0 } else { rest });
    }
    a
}

/// The least cost a solution can have, given that none is below `bound`.
pub(crate) fn round_up(bound: f64, unit: f64) -> f64 {
    if unit <= 0.0 || !bound.is_finite() {
        return bound;
    }
    bound.max(unit * (bound / unit - 1e-4).ceil())
}
