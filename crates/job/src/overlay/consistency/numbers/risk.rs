//! Where the numbers of the risk have to stay.

use super::{Faults, Range, Row, ordered, row};
use crate::practice::{Points, Risk};

/// Fewer trials say nothing of a tail, more take minutes.
const TRIALS: (f64, f64) = (100.0, 1_000_000.0);

/// A pace, a depth or a price is not out by more.
const MOST_FACTOR: Range = Range::AboveZeroUpTo(100.0, "100");

pub(super) fn rows(risk: &Risk) -> Vec<Row> {
    let mut rows = vec![
        (
            risk.trials.path.clone(),
            f64::from(risk.trials.value),
            Range::Between(TRIALS.0, TRIALS.1, "100 and 1000000"),
        ),
        row(&risk.confidence, Range::Between(0.01, 0.99, "1 % and 99 %")),
        row(&risk.stones.coarse_less, Range::Share),
        row(&risk.stones.coarse_more, Range::Share),
        row(&risk.service.zone_follows, Range::Share),
        row(&risk.weather.paid, Range::Share),
    ];
    rows.extend(factors(risk).flat_map(|points| points_in(points, MOST_FACTOR)));
    let shares = [&risk.rock.share, &risk.weather.lost];
    rows.extend(
        shares
            .iter()
            .flat_map(|points| points_in(points, Range::Share)),
    );
    rows.extend(points_in(&risk.rock.slow, Range::FromOne));
    let times = risk
        .moisture
        .dig
        .values()
        .chain(risk.moisture.fill.values());
    rows.extend(times.map(|time| row(time, MOST_FACTOR)));
    let (drier, wetter) = (&risk.moisture.drier, &risk.moisture.wetter);
    let sum = drier.value.to_one() + wetter.value.to_one();
    rows.push(row(drier, Range::Share));
    rows.push(row(wetter, Range::Share));
    rows.push((
        drier.path.clone(),
        sum,
        Range::UpTo(1.0, "100 % with wetter"),
    ));
    rows
}

fn factors(risk: &Risk) -> impl Iterator<Item = &Points> {
    let pace = &risk.pace;
    [
        &pace.crew,
        &pace.hand,
        &pace.trench,
        &pace.pull,
        &pace.sleeve,
        &risk.stones.slow,
        &risk.service.located,
        &risk.service.unlocated,
        &risk.material,
    ]
    .into_iter()
}

fn points_in(points: &Points, range: Range) -> [Row; 3] {
    [&points.low, &points.likely, &points.high].map(|value| row(value, range))
}

/// Lowest, likeliest and highest stand in this order.
pub(super) fn ascending(risk: &Risk, faults: &mut Faults) {
    let others = [&risk.rock.share, &risk.rock.slow, &risk.weather.lost];
    for points in factors(risk).chain(others) {
        ordered(&[&points.low, &points.likely, &points.high], faults);
    }
}
