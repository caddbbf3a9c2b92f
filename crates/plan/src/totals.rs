//! The few figures by which plans are compared, the same for every face.

use crate::Plan;
use quantity::{Amount, Style};
use routes::Network;

/// Which of two plans is the better by a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// The one with less of it.
    Less,
    /// The one with more of it.
    More,
}

/// A figure by which plans are compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Total {
    /// Its name, the same in every plan.
    pub id: &'static str,
    /// What it is.
    pub what: &'static str,
    /// How much.
    pub amount: Amount,
    /// Which of two plans is the better by it.
    pub better: Better,
    /// Its id in the ledger.
    pub figure: &'static str,
}

/// What is proven of the routes, as a share: cut off, not rounded, so that it never claims more than was proven.
const STEPS_OF_A_SHARE: f64 = 1000.0;

/// What is proven of the routes.
pub(crate) fn proven(network: &Network) -> Amount {
    let share = (1.0 - network.gap()) * STEPS_OF_A_SHARE;
    Amount::new(share.floor() / STEPS_OF_A_SHARE, Style::Percent)
}

/// The figures by which a plan is compared, the weightiest first. A plan without heads has none of the pressure,
/// and one whose routes have no bound none of the proof.
pub fn totals(plan: &Plan) -> Vec<Total> {
    let less = |id, what, amount, figure| Total {
        id,
        what,
        amount,
        better: Better::Less,
        figure,
    };
    let (price, schedule, water) = (&plan.price, &plan.schedule, &plan.hydraulics);
    let days = Amount::new(schedule.days.len() as f64, Style::Days);
    let trench = plan.network.length().amount();
    let pipe = water.pipe_length(&plan.network).amount();
    let open = schedule.most_open().amount();
    let mut totals = vec![
        less(
            "price",
            "price before tax",
            price.total.amount(),
            "price.total",
        ),
        less("cost", "cost", price.cost.amount(), "price.cost"),
        less("trench", "trench", trench, "route.length"),
        less("days", "working days on site", days, "crew.days"),
        less("labour", "labour", schedule.labour.amount(), "crew.labour"),
        less("pipe", "pipe", pipe, "pipes.length"),
        less(
            "open",
            "most trench open at an evening",
            open,
            "crew.most_open",
        ),
    ];
    let more = |id, what, amount, figure| Total {
        id,
        what,
        amount,
        better: Better::More,
        figure,
    };
    totals.extend(water.least_to_spare().map(|outlet| {
        let what = "pressure to spare at the head with least";
        more(
            "spare",
            what,
            outlet.margin.amount(),
            "heads.least_to_spare",
        )
    }));
    if plan.network.bound > 0.0 {
        let what = "proven: share of the cost of digging and lines that no other trenches save";
        totals.push(more("bound", what, proven(&plan.network), "route.proven"));
    }
    totals
}
