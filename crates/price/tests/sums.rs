//! The price of a yard drawn by hand, and what holds for any yard.

#[path = "../../takeoff/tests/common/mod.rs"]
mod common;

use common::{METHODS, Yard, comb, small_yard};
use crew::{Schedule, schedule};
use job::practice::Sides;
use price::{CostGroup, Price, price, sums};
use proptest::prelude::*;
use quantity::{Money, Ratio};
use takeoff::{Takeoff, take_off};
use working::Ledger;

struct Priced {
    material: Takeoff,
    days: Schedule,
    price: Price,
    ledger: Ledger,
}

fn priced(yard: &Yard) -> Priced {
    let Yard {
        job,
        network,
        water,
        digging,
    } = yard;
    let mut ledger = Ledger::new();
    let material = take_off(job, network, water, digging, &mut ledger);
    let days = schedule(job, network, water, digging, &material, &mut ledger);
    let price = price(job, network, water, digging, &material, &days, &mut ledger);
    Priced {
        material,
        days,
        price,
        ledger,
    }
}

fn amount(price: &Price, id: &str) -> Money {
    let line = price.lines.iter().find(|line| line.id == id);
    line.unwrap_or_else(|| panic!("no {id} among {:#?}", price.lines))
        .amount
}

fn group(price: &Price, group: CostGroup) -> Money {
    price
        .lines
        .iter()
        .filter(|line| line.group == group)
        .map(|line| line.amount)
        .sum()
}

#[test]
fn lines_are_those_of_the_stages_before() {
    let mut yard = small_yard();
    yard.digging.digs[0].section.sides = Sides::Shored;
    let Priced {
        material,
        days,
        price,
        ledger,
    } = priced(&yard);
    let of_list: Money = material.items.iter().map(|item| item.cost).sum();
    assert_eq!(
        group(&price, CostGroup::Material) + group(&price, CostGroup::Restoration),
        of_list
    );
    let labour = Money::cents(48_00).times(days.labour.to_h());
    let lines = price
        .lines
        .iter()
        .filter(|line| line.group == CostGroup::Labour)
        .count() as i64;
    let off = group(&price, CostGroup::Labour) - labour;
    assert!(
        off.to_cents().abs() <= lines,
        "{off} off by rounding each line"
    );
    // Two sides, half a metre deep, 2 m long.
    assert_eq!(amount(&price, "other.shoring"), Money::cents(55_00 * 2));
    // 20 m pulled at 2 min/m, 6 an hour.
    assert_eq!(amount(&price, "machine.walk_plow.fuel"), Money::cents(4_00));
    assert_eq!(
        amount(&price, "machine.walk_plow.mobilisation"),
        Money::cents(60_00)
    );
    // On site for one day and at work for less than the two hours that are charged at least.
    let plow = [job::MethodId("walk_plow".to_owned())];
    assert_eq!(days.days_of(&plow), 1);
    assert_eq!(
        amount(&price, "machine.walk_plow.hire"),
        Money::cents(2 * 50_00)
    );
    for line in &price.lines {
        let working = ledger.get(&format!("price.{}", line.id)).unwrap();
        assert_eq!(working.value, line.amount.amount().into());
    }
    // Every figure that a working names is there.
    for (id, working) in ledger.iter().filter(|(id, _)| id.starts_with("price")) {
        for input in &working.inputs {
            let named = input
                .from
                .strip_prefix("figure ")
                .map(|f| f.split(';').next().unwrap());
            if let Some(figure) = named.filter(|f| !f.starts_with("hire.")) {
                assert!(ledger.get(figure).is_some(), "{id} names {figure}");
            }
        }
    }
}

fn yards() -> impl Strategy<Value = Yard> {
    let place = (0.0f64..60.0, 1.0f64..40.0);
    let circuit = prop::collection::vec(place, 1..7);
    let methods = prop::collection::vec(prop::sample::select(METHODS.to_vec()), 1..6);
    (prop::collection::vec(circuit, 1..5), methods)
        .prop_map(|(heads, methods)| comb(&heads, &methods))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn lines_sum_to_the_cost_and_all_to_the_total(yard in yards()) {
        let Priced { price, .. } = priced(&yard);
        let lines: Money = price.lines.iter().map(|line| line.amount).sum();
        prop_assert_eq!(lines, price.cost);
        prop_assert_eq!(price.cost + price.overhead + price.margin, price.total);
        prop_assert_eq!(price, priced(&yard).price);
    }

    #[test]
    fn the_margin_is_its_share_of_the_price(
        cost in 0i64..100_000_000,
        overhead in 0.0f64..0.5,
        margin in 0.0f64..0.9,
    ) {
        let sums = sums(Money::cents(cost), Ratio::one(overhead), Ratio::one(margin));
        prop_assert_eq!(sums.cost + sums.overhead + sums.margin, sums.total);
        let share = sums.total.to_cents() as f64 * margin;
        // Two roundings to the cent lie between.
        prop_assert!((share - sums.margin.to_cents() as f64).abs() <= 1.0 + 1e-6);
    }
}
