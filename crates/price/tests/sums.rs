//! The price of a yard drawn by hand, and what holds for any yard.

#[path = "../../takeoff/tests/common/mod.rs"]
mod common;

use common::{METHODS, Yard, comb, small_yard};
use crew::{Effort, Schedule, schedule};
use job::practice::Sides;
use price::{Changes, Contingency, CostGroup, Planned, Price, price, range};
use proptest::prelude::*;
use quantity::{Money, Ratio, Volume};
use takeoff::{Takeoff, take_off};
use working::{Ledger, Working};

struct Priced {
    material: Takeoff,
    days: Schedule,
    price: Price,
    ledger: Ledger,
}

fn priced(yard: &Yard) -> Priced {
    priced_with(yard, &Contingency::Share)
}

fn priced_with(yard: &Yard, contingency: &Contingency) -> Priced {
    let Yard {
        job,
        network,
        water,
        digging,
    } = yard;
    let mut ledger = Ledger::new();
    let material = take_off(job, network, water, digging, &mut ledger);
    let days = schedule(
        job,
        network,
        water,
        digging,
        &material,
        Effort::Quick,
        &mut ledger,
    );
    let planned = Planned {
        network,
        digging,
        takeoff: &material,
        schedule: &days,
    };
    let price = price(job, &planned, contingency, &mut ledger);
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
    let labour = Money::cents(47_88).times(days.labour.to_h());
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
            if let Some(figure) = named.filter(|f| !f.starts_with("stretch.")) {
                assert!(ledger.get(figure).is_some(), "{id} names {figure}");
            }
        }
    }
}

#[test]
fn others_bore_haul_and_are_paid_once() {
    let mut yard = small_yard();
    for dig in &mut yard.digging.digs {
        dig.earth.haul = Volume::ZERO;
    }
    yard.digging.digs[0].earth.haul = Volume::m3(2.0);
    yard.job.prices.earth.tipping_by_mass.value = Money::cents(10_00);
    let Priced { price, .. } = priced(&yard);
    assert_eq!(amount(&price, "disposal.haul"), Money::cents(2 * 38_00));
    assert_eq!(amount(&price, "disposal.tipping"), Money::cents(2 * 12_00));
    let soil = yard.network.stretches[0].ground.soil;
    let class = yard.job.practice.soil_class_of(soil.texture);
    let by_hand = 2.0
        * class.dry_density.value.to_kg_per_m3()
        * (1.0 + class.moisture[&soil.moisture].value.to_one())
        / class.bank_to_loose.value.to_one();
    assert_eq!(
        amount(&price, "disposal.tipping_by_mass"),
        Money::cents(10_00).times(by_hand / 1000.0)
    );
    assert_eq!(amount(&price, "fee.permit"), Money::cents(90_00));
    let no_locate = price.lines.iter().all(|line| line.id != "fee.locate");
    assert!(no_locate, "a line of no money is left out");
}

#[test]
fn a_new_sleeve_is_bored_and_one_that_is_there_is_not() {
    let mut yard = small_yard();
    let paved = routes::SleeveUse {
        existing: None,
        paving: "drive".to_owned(),
        angle: quantity::Angle::deg(90.0),
    };
    for stretch in &mut yard.network.stretches {
        stretch.sleeve = None;
    }
    yard.network.stretches[0].sleeve = Some(paved.clone());
    let length = yard.network.stretches[0].length;
    let Priced { price, .. } = priced(&yard);
    let boring = Money::cents(58_00).times(length.to_m());
    assert_eq!(amount(&price, "subtrade.boring"), boring);
    assert_eq!(
        amount(&price, "subtrade.boring_visit"),
        Money::cents(16_000)
    );
    let there = routes::SleeveUse {
        existing: Some("SL1".to_owned()),
        ..paved
    };
    yard.network.stretches[0].sleeve = Some(there);
    let Priced { price, .. } = priced(&yard);
    assert_eq!(group(&price, CostGroup::Subtrade), Money::ZERO);
}

#[test]
fn paving_put_back_by_others_is_a_line_beside_its_material() {
    let mut yard = small_yard();
    yard.network.stretches[0].ground.surface = job::SurfaceKind::Asphalt;
    yard.digging.digs[0].earth.restore = quantity::Area::m2(3.0);
    let Priced { price, .. } = priced(&yard);
    let line = amount(&price, "restoration.paving.asphalt");
    assert_eq!(line, Money::cents(3 * 85_00));
    assert_eq!(
        amount(&price, "restoration.asphalt"),
        Money::cents(3 * 14_00)
    );
    assert_eq!(
        yard.job.prices.restored(job::SurfaceKind::Asphalt),
        Money::cents(99_00)
    );
}

#[test]
fn taxes_are_a_cost_or_on_top_as_the_price_book_says() {
    let mut yard = small_yard();
    let Priced { price, .. } = priced(&yard);
    let of = |price: &Price, class| -> Money {
        let of = price.lines.iter().filter(|line| line.class == Some(class));
        of.map(|line| line.amount).sum()
    };
    let material = of(&price, job::TaxClass::Material);
    assert_eq!(
        amount(&price, "purchase_tax.material"),
        material.times(0.06)
    );
    assert_eq!((price.taxes.len(), price.with_tax), (0, price.total));
    let tax = &mut yard.job.prices.tax;
    for tax in [
        &mut tax.labour,
        &mut tax.machines,
        &mut tax.material,
        &mut tax.subtrades,
        &mut tax.disposal,
        &mut tax.fees,
    ] {
        tax.rate.value = Ratio::percent(20.0);
        tax.on.value = job::TaxOn::Price;
    }
    let Priced { price, ledger, .. } = priced(&yard);
    assert_eq!(group(&price, CostGroup::Tax), Money::ZERO);
    let bases: Money = price.taxes.iter().map(|tax| tax.base).sum();
    assert_eq!(bases, price.total, "each cent of the price is taxed once");
    let off = (price.with_tax - price.total) - price.total.times(0.2);
    assert!(off.to_cents().abs() <= price.taxes.len() as i64);
    for tax in &price.taxes {
        assert!(
            ledger
                .get(&format!("price.tax.{}", tax.class.word()))
                .is_some()
        );
    }
}

#[test]
fn the_contingency_is_a_share_of_the_other_lines_or_comes_from_elsewhere() {
    let yard = small_yard();
    let Priced { price, .. } = priced(&yard);
    let others = price.direct_cost();
    assert_eq!(others + amount(&price, "contingency"), price.cost);
    assert_eq!(amount(&price, "contingency"), others.times(0.05));
    let given = Contingency::Amount(
        Money::cents(12_345),
        Working::new("", "", "the risk at 80 %", "arithmetic"),
    );
    let Priced { price, ledger, .. } = priced_with(&yard, &given);
    assert_eq!(amount(&price, "contingency"), Money::cents(12_345));
    assert_eq!(price.cost, others + Money::cents(12_345));
    assert_eq!(
        ledger.get("price.contingency").unwrap().formula,
        "the risk at 80 %"
    );
}

#[test]
fn the_price_of_another_cost_has_overhead_and_profit_and_no_contingency() {
    let yard = small_yard();
    let Priced {
        price, mut ledger, ..
    } = priced(&yard);
    let changes = Changes {
        cost: [Money::cents(-10_000), Money::ZERO, Money::cents(30_000)],
        rock_per_m: Money::cents(10_000),
    };
    let ranged = range(&yard.job, &price, &changes, &mut ledger);
    assert!(ranged.p10 < ranged.p50 && ranged.p50 < ranged.p90);
    assert!(ranged.p50 < price.total, "the contingency is left out");
    // 100.00 × 1.12 / 0.82.
    assert_eq!(ranged.rock_per_m, Money::cents(13_659));
    let mut none = yard;
    none.job.prices.contingency.share.value = Ratio::ZERO;
    assert_eq!(priced(&none).price.total, ranged.p50);
    for id in ["p10", "p50", "p90", "rock_per_m"] {
        assert!(ledger.get(&format!("price.{id}")).is_some());
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
        prop_assert_eq!(price.cost + price.overhead + price.profit, price.total);
        let taxes: Money = price.taxes.iter().map(|tax| tax.amount).sum();
        prop_assert_eq!(price.total + taxes, price.with_tax);
        let parts: Money = price.parts.iter().map(|part| part.amount).sum();
        prop_assert_eq!(parts, price.total);
        prop_assert_eq!(price, priced(&yard).price);
    }

}
