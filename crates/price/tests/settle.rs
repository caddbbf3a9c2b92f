//! From any cost lines to a price: identities and balances.

use job::{PriceBook, ProfitBy, TaxClass};
use price::{CostGroup, CostLine, Settled, Terms, add, allocate, margin_of, markup_of, settle};
use proptest::prelude::*;
use quantity::{Money, Ratio};

fn line(place: usize, amount: i64, group: CostGroup, class: Option<TaxClass>) -> CostLine {
    CostLine {
        id: place.to_string(),
        group,
        class,
        what: String::new(),
        amount: Money::cents(amount),
    }
}

fn lines() -> impl Strategy<Value = Vec<CostLine>> {
    let group = prop::sample::select(CostGroup::ALL.to_vec());
    let class = prop::sample::select(TaxClass::ALL.to_vec());
    let one = (0i64..5_000_000, group, class).prop_map(|(amount, group, class)| {
        let class = (!group.is_spread()).then_some(class);
        line(0, amount, group, class)
    });
    prop::collection::vec(one, 0..30)
}

fn terms() -> impl Strategy<Value = Terms> {
    let by = prop::sample::select(vec![ProfitBy::Margin, ProfitBy::Markup]);
    let class = prop::sample::subsequence(TaxClass::ALL.to_vec(), 0..=TaxClass::ALL.len());
    let rates = prop::collection::vec(0.0f64..0.3, TaxClass::ALL.len());
    (0.0f64..0.5, by, 0.0f64..0.9, class, rates).prop_map(
        |(overhead, by, profit, classes, rates)| {
            let taxes = classes.into_iter().zip(rates.into_iter().map(Ratio::one));
            Terms {
                overhead: Ratio::one(overhead),
                by,
                profit: Ratio::one(profit),
                taxes: taxes.collect(),
            }
        },
    )
}

fn sum(of: impl Iterator<Item = Money>) -> Money {
    of.sum()
}

fn balances(lines: &[CostLine], settled: &Settled) {
    let added = settled.added;
    assert_eq!(sum(lines.iter().map(|line| line.amount)), settled.cost);
    assert_eq!(settled.cost + added.overhead + added.profit, added.total);
    let taxes = sum(settled.taxes.iter().map(|tax| tax.amount));
    assert_eq!(added.total + taxes, settled.with_tax);
    assert_eq!(
        sum(settled.parts.iter().map(|part| part.amount)),
        added.total
    );
}

proptest! {
    #[test]
    fn everything_sums_to_the_cent(lines in lines(), terms in terms()) {
        let settled = settle(&lines, &terms);
        balances(&lines, &settled);
        prop_assert!(settled.parts.iter().all(|part| !part.group.is_spread() || settled.parts.len() == 1));
        for tax in &settled.taxes {
            prop_assert_eq!(tax.amount, tax.base.times(tax.rate.to_one()));
        }
        let bases = sum(settled.taxes.iter().map(|tax| tax.base));
        prop_assert!(bases <= settled.added.total);
    }

    #[test]
    fn the_order_of_the_lines_does_not_matter(
        (lines, mixed) in lines().prop_flat_map(|lines| (Just(lines.clone()), Just(lines).prop_shuffle())),
        terms in terms(),
    ) {
        prop_assert_eq!(settle(&lines, &terms), settle(&mixed, &terms));
    }

    #[test]
    fn a_line_cut_in_two_is_the_same_price(lines in lines(), terms in terms(), at in 0.0f64..1.0) {
        let mut cut: Vec<CostLine> = Vec::new();
        for whole in &lines {
            let first = whole.amount.times(at);
            let halves = [first, whole.amount - first];
            cut.extend(halves.map(|amount| CostLine { amount, ..whole.clone() }));
        }
        prop_assert_eq!(settle(&lines, &terms), settle(&cut, &terms));
    }

    #[test]
    fn a_dearer_line_never_makes_a_lower_price(lines in lines(), terms in terms(), more in 1i64..10_000) {
        let mut dearer = lines.clone();
        dearer.push(line(99, more, CostGroup::Labour, Some(TaxClass::Labour)));
        let (before, after) = (settle(&lines, &terms), settle(&dearer, &terms));
        prop_assert!(before.added.total < after.added.total);
    }

    /// m = k / (1 + k) and k = m / (1 − m) are each other's inverse, and make the same price.
    #[test]
    fn margin_and_markup_are_two_names_of_one_profit(
        cost in 0i64..100_000_000,
        overhead in 0.0f64..0.5,
        margin in 0.0f64..0.95,
    ) {
        let (cost, overhead, margin) = (Money::cents(cost), Ratio::one(overhead), Ratio::one(margin));
        let markup = markup_of(margin).unwrap();
        prop_assert!((margin_of(markup).to_one() - margin.to_one()).abs() < 1e-12);
        let by_margin = add(cost, overhead, ProfitBy::Margin, margin);
        let by_markup = add(cost, overhead, ProfitBy::Markup, markup);
        prop_assert_eq!(by_margin.total, by_markup.total);
        let share = by_margin.total.to_cents() as f64 * margin.to_one();
        // The profit is rounded once, and so is the price that it is a share of.
        prop_assert!((share - by_margin.profit.to_cents() as f64).abs() <= 0.5 + 1e-6);
        let on_cost = (cost + by_margin.overhead).to_cents() as f64 * markup.to_one();
        prop_assert!((on_cost - by_margin.profit.to_cents() as f64).abs() <= 0.5 + 1e-6);
    }

    #[test]
    fn the_largest_remainder_divides_exactly_and_fairly(
        whole in 0i64..1_000_000_000_000,
        weights in prop::collection::vec(0i64..1_000_000_000, 1..12),
    ) {
        let money: Vec<Money> = weights.iter().copied().map(Money::cents).collect();
        let parts = allocate(Money::cents(whole), &money);
        prop_assert_eq!(parts.len(), weights.len());
        prop_assert_eq!(sum(parts.iter().copied()), Money::cents(whole));
        let all: i128 = weights.iter().map(|w| i128::from(*w)).sum();
        for (part, weight) in parts.iter().zip(&weights).filter(|_| all > 0) {
            let off = i128::from(part.to_cents()) * all - i128::from(whole) * i128::from(*weight);
            prop_assert!(off.abs() < all, "{part} is a cent off its share");
        }
        for (a, b) in weights.iter().zip(&parts) {
            for (c, d) in weights.iter().zip(&parts).filter(|_| all > 0) {
                prop_assert!(a <= c || b >= d, "more weight, less money");
            }
        }
    }
}

#[test]
fn a_margin_of_the_whole_price_leaves_no_price() {
    let added = add(
        Money::cents(100),
        Ratio::ZERO,
        ProfitBy::Margin,
        Ratio::one(1.0),
    );
    assert_eq!(
        (added.profit, added.total),
        (Money::ZERO, Money::cents(100))
    );
    assert_eq!(markup_of(Ratio::one(1.0)), None);
}

#[test]
fn the_default_margin_and_its_markup() {
    let terms = Terms::of(&PriceBook::embedded());
    let added = add(Money::cents(10_000_00), Ratio::ZERO, terms.by, terms.profit);
    assert_eq!(terms.by, ProfitBy::Margin);
    assert!((added.margin.to_percent() - 18.0).abs() < 1e-9);
    // 18 / 82.
    assert!((added.markup.to_percent() - 21.951_219_512).abs() < 1e-6);
    assert_eq!(added.total, Money::cents(12_195_12));
}
