//! What the price would be if the cost came out otherwise, and what a metre of rock is sold for.

use crate::{Price, Ranged, add};
use job::Job;
use quantity::{Amount, Money, Style};
use working::{Ledger, Working};

/// Changes of cost against the plan, as trials of the ground found them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Changes {
    /// Not exceeded with chances of 10 %, 50 % and 90 %.
    pub cost: [Money; 3],
    /// Of a metre of trench that turns out to be rock.
    pub rock_per_m: Money,
}

/// The chances, as ids and in words.
const CHANCES: [(&str, &str); 3] = [("p10", "10 %"), ("p50", "50 %"), ("p90", "90 %")];

/// What these costs sell for with overhead and profit, the contingency left out: it is set aside for just
/// such changes. Puts `price.p10`, `price.p50`, `price.p90` and `price.rock_per_m` into the ledger.
pub fn range(job: &Job, price: &Price, changes: &Changes, ledger: &mut Ledger) -> Ranged {
    let sold = |cost: Money| {
        let book = &job.prices;
        let profit = &book.profit;
        add(
            cost,
            book.overhead.value,
            profit.by.value,
            profit.share.value,
        )
        .total
    };
    let direct = price.direct_cost();
    let prices = changes.cost.map(|change| sold(direct + change));
    for (((id, chance), change), at) in CHANCES.iter().zip(changes.cost).zip(prices) {
        let working = Working::new(
            format!("Price before tax of the cost that is not exceeded with {chance}"),
            at.amount(),
            "(cost without contingency + change) × (1 + overhead) × (1 + markup), each step to the cent",
            "arithmetic",
        )
        .with("cost without contingency", direct.amount(), "sum of the cost lines but the contingency")
        .with("change", change.amount(), format!("figure risk.cost.{id}"));
        ledger.put(format!("price.{id}"), with_shares(job, working));
    }
    let rock = sold(changes.rock_per_m);
    let per_m = |money: Money| Amount::new(money.to_units(), Style::MoneyPerLength);
    let working = Working::new(
        "A length of trench in rock, as it is offered",
        per_m(rock),
        "change of cost × (1 + overhead) × (1 + markup), each step to the cent",
        "arithmetic",
    )
    .with(
        "change of cost",
        per_m(changes.rock_per_m),
        "figure risk.rock_per_m",
    );
    ledger.put("price.rock_per_m", with_shares(job, working));
    let [p10, p50, p90] = prices;
    Ranged {
        p10,
        p50,
        p90,
        rock_per_m: rock,
    }
}

fn with_shares(job: &Job, working: Working) -> Working {
    let overhead = &job.prices.overhead;
    working
        .with(
            "overhead",
            crate::workings::share(overhead.value),
            overhead.origin(),
        )
        .with("markup", "as there", "figure price.markup")
}
