//! The search against trying everything.

use super::*;
use proptest::prelude::*;

const DAY: f64 = 8.0;
const WEEK_DAYS: u32 = 5;

/// Cost in cents and hours by method.
type Costs = [Vec<(i64, f64)>];

fn offers(costs: &Costs, missing: &[bool]) -> Vec<Vec<Offer>> {
    let is_missing = |stretch: usize, method: usize| {
        method > 0 && missing.get(stretch * 4 + method).copied().unwrap_or(false)
    };
    let offer = |(method, (cost, hours)): (usize, &(i64, f64))| Offer {
        method,
        cost: Money::cents(*cost),
        hours: Duration::h(*hours),
    };
    let rows = costs.iter().enumerate();
    rows.map(|(i, row)| {
        let kept = row.iter().enumerate().filter(|(m, _)| !is_missing(i, *m));
        kept.map(offer).collect()
    })
    .collect()
}

/// Method 0 is by hand, each other one has a machine of its own.
fn by_the_day(hire: &[(i64, i64)]) -> Vec<Machine> {
    let machine = |(i, (day, mobilisation)): (usize, &(i64, i64))| Machine {
        methods: vec![i + 1],
        tariff: Tariff {
            hour: None,
            least_hours: 1,
            day: Money::cents(*day),
            day_length: Duration::h(DAY),
            week: None,
            week_days: WEEK_DAYS,
            mobilisation: Money::cents(*mobilisation),
        },
    };
    hire.iter().enumerate().map(machine).collect()
}

/// The cheapest hire for some hours by trying weeks, days and hours.
fn hire(tariff: &Tariff, hours: f64) -> i64 {
    let mut best = i64::MAX;
    let price = |money: Option<Money>| money.map(Money::to_cents);
    let most = (hours / DAY).ceil() as u32 + 1;
    let weeks = if tariff.week.is_some() { most } else { 0 };
    for weeks in 0..=weeks {
        for days in 0..=most {
            for by_hour in 0..=8_u32 {
                let allowed = by_hour == 0 || by_hour >= tariff.least_hours;
                if !allowed || tariff.hour.is_none() && by_hour > 0 || weeks + days + by_hour == 0 {
                    continue;
                }
                let covers = f64::from(weeks * WEEK_DAYS + days) * DAY + f64::from(by_hour);
                if covers + 1e-6 < hours {
                    continue;
                }
                let cost = price(tariff.week).unwrap_or(0) * i64::from(weeks)
                    + tariff.day.to_cents() * i64::from(days)
                    + price(tariff.hour).unwrap_or(0) * i64::from(by_hour);
                best = best.min(cost);
            }
        }
    }
    best + tariff.mobilisation.to_cents()
}

/// The total of an assignment, worked out from scratch.
fn total(offers: &[Vec<Offer>], machines: &[Machine], methods: &[Option<usize>]) -> i64 {
    let picked: Vec<&Offer> = offers
        .iter()
        .zip(methods)
        .filter_map(|(row, m)| row.iter().find(|o| Some(o.method) == *m))
        .collect();
    let mut total: i64 = picked.iter().map(|o| o.cost.to_cents()).sum();
    for machine in machines {
        let own = picked
            .iter()
            .filter(|o| machine.methods.contains(&o.method));
        let hours: Vec<f64> = own.map(|o| o.hours.to_h()).collect();
        if !hours.is_empty() {
            total += hire(&machine.tariff, hours.iter().sum());
        }
    }
    total
}

/// The least total over all assignments, with or without a machine as `allowed` says.
fn exhaustive(
    offers: &[Vec<Offer>],
    machines: &[Machine],
    allowed: impl Fn(&[Option<usize>]) -> bool,
) -> Option<i64> {
    let mut best: Option<i64> = None;
    let mut picks = vec![0_usize; offers.len()];
    loop {
        let pairs = picks.iter().zip(offers);
        let methods: Vec<Option<usize>> = pairs.map(|(i, row)| Some(row[*i].method)).collect();
        if allowed(&methods) {
            let now = total(offers, machines, &methods);
            best = Some(best.map_or(now, |b| b.min(now)));
        }
        let Some(place) = (0..picks.len()).find(|i| picks[*i] + 1 < offers[*i].len()) else {
            return best;
        };
        picks[place] += 1;
        picks[..place].fill(0);
    }
}

fn costs(hours: std::ops::Range<f64>) -> impl Strategy<Value = Vec<Vec<(i64, f64)>>> {
    let offer = (0_i64..400, hours);
    prop::collection::vec(prop::collection::vec(offer, 4), 1..6)
}

fn any_tariff() -> impl Strategy<Value = Tariff> {
    let hour = prop::option::of(1_i64..60);
    let week = prop::option::of(100_i64..900);
    (hour, 1_u32..5, 20_i64..300, week, 0_i64..100).prop_map(
        |(hour, least_hours, day, week, mobilisation)| Tariff {
            hour: hour.map(Money::cents),
            least_hours,
            day: Money::cents(day),
            day_length: Duration::h(DAY),
            week: week.map(Money::cents),
            week_days: WEEK_DAYS,
            mobilisation: Money::cents(mobilisation),
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_charge_is_the_cheapest_term(tariff in any_tariff(), hours in 0.01..90.0) {
        let charge = tariff.charge(Duration::h(hours));
        prop_assert_eq!(charge.cost.to_cents(), hire(&tariff, hours));
        let steps = tariff.steps(Duration::h(90.0));
        let step = steps.iter().find(|s| s.covers.to_h() + 1e-6 >= hours);
        prop_assert_eq!(step.map(|s| s.cost), Some(charge.cost));
    }

    #[test]
    fn the_search_equals_trying_everything(
        costs in costs(0.05..12.0),
        missing in prop::collection::vec(any::<bool>(), 24),
        tariffs in prop::collection::vec(any_tariff(), 3),
        carried in any::<bool>(),
    ) {
        let offers = offers(&costs, &missing);
        let mut machines: Vec<Machine> = tariffs
            .iter()
            .enumerate()
            .map(|(i, tariff)| Machine { methods: vec![i + 1], tariff: *tariff })
            .collect();
        if carried {
            // The third machine carries what the first two work with.
            machines[2].methods = vec![1, 2];
        }
        let choice = choose(&offers, &machines);
        let best = exhaustive(&offers, &machines, |_| true).unwrap();
        prop_assert_eq!(choice.total.to_cents(), best);
        prop_assert_eq!(choice.least, choice.total);
        prop_assert_eq!(total(&offers, &machines, &choice.methods), best);
        let hire: Money = choice.hires.iter().map(|h| h.step.cost).sum();
        let work: i64 = offers
            .iter()
            .zip(&choice.methods)
            .map(|(row, m)| row.iter().find(|o| Some(o.method) == *m).unwrap().cost.to_cents())
            .sum();
        prop_assert_eq!(hire.to_cents() + work, best);
        for change in &choice.changes {
            let methods = &machines[change.machine].methods;
            let hired = choice.hires.iter().any(|h| h.machine == change.machine);
            let uses = |picks: &[Option<usize>]| picks.iter().flatten().any(|m| methods.contains(m));
            if hired {
                let without = exhaustive(&offers, &machines, |picks| !uses(picks)).unwrap();
                prop_assert_eq!(change.extra.unwrap().to_cents(), without - best);
            } else {
                prop_assert!(change.extra.is_none_or(|extra| extra >= Money::ZERO));
            }
        }
    }

    #[test]
    fn cheaper_hire_never_raises_the_total(
        costs in costs(0.05..9.0),
        hire in prop::collection::vec((0_i64..300, 0_i64..100), 3),
        cheaper in 0.0..1.0,
    ) {
        let offers = offers(&costs, &[]);
        let dear = by_the_day(&hire);
        let mut cheap = dear.clone();
        for machine in &mut cheap {
            machine.tariff.day = machine.tariff.day.times(cheaper);
        }
        prop_assert!(choose(&offers, &cheap).total <= choose(&offers, &dear).total);
    }
}

#[test]
fn a_day_of_hire_is_saved_where_moving_a_stretch_is_cheaper() {
    // Nine hours by the machine; the last one is cheaper by hand than another day of hire.
    let row = vec![(5000, 4.0), (1000, 1.0)];
    let offers = offers(&vec![row; 9], &[]);
    let choice = choose(&offers, &by_the_day(&[(20_000, 1000)]));
    assert_eq!(choice.hires[0].step.term.to_string(), "1 day");
    assert_eq!(choice.total, Money::cents(8 * 1000 + 5000 + 21_000));
}

#[test]
fn nothing_to_choose_costs_nothing() {
    let choice = choose(&[vec![]], &by_the_day(&[(100, 10)]));
    assert_eq!(choice.methods, [None]);
    assert_eq!((choice.total, choice.least), (Money::ZERO, Money::ZERO));
    assert!(choice.hires.is_empty());
}
