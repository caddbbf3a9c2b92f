//! Cost, price, material, and how far they may be off.

use layers::words::cost_group;
use quantity::Money;
use serde::Serialize;
use utoipa::ToSchema;

use super::Fig;
use super::figures::Reader;

/// Cost and price.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct MoneyView {
    /// ISO 4217 code.
    pub currency: String,
    /// The price before tax by groups.
    pub parts: Vec<PartView>,
    /// Cost lines.
    pub lines: Vec<LineView>,
    /// Sum of the lines.
    pub cost: Fig,
    /// Added for overhead.
    pub overhead: Fig,
    /// What is earned.
    pub profit: Fig,
    /// The price before tax.
    pub total: Fig,
    /// What the customer pays.
    pub with_tax: Fig,
}

/// A part of the price.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PartView {
    /// Its group.
    pub name: String,
    /// Cents.
    pub amount: i64,
    /// In words.
    pub fig: Fig,
}

/// A cost line.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct LineView {
    /// Its group.
    pub group: String,
    /// In words.
    pub what: String,
    /// Cents.
    pub amount: i64,
    /// In words.
    pub fig: Fig,
}

/// A line of the material list.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct MaterialView {
    /// At which counter it is bought.
    pub counter: String,
    /// What it is.
    pub what: String,
    /// How much to order.
    pub order: Fig,
    /// What that costs.
    pub cost: Fig,
}

/// How far cost and days may be from the plan, by trials of the ground.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RiskView {
    /// Cost.
    pub cost: CostChances,
    /// Days.
    pub days: DaysChances,
    /// Cost not exceeded with chances of 0 to 100 % in equal steps, cents.
    pub quantiles: Vec<i64>,
    /// The same in words.
    pub quantile_texts: Vec<String>,
    /// The plan's own cost without contingency, cents.
    pub plan: i64,
    /// Share of the trials that cost no more than the plan.
    pub within_plan: f64,
    /// What to set aside.
    pub contingency: Fig,
    /// How many trials.
    pub trials: u32,
    /// What moves the cost, the most first.
    pub causes: Vec<CauseView>,
}

/// Cost that is not exceeded with a chance.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CostChances {
    /// Of 10 %.
    pub p10: Fig,
    /// Of 50 %.
    pub p50: Fig,
    /// Of 90 %.
    pub p90: Fig,
}

/// Days that are not exceeded with a chance.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DaysChances {
    /// Of 10 %.
    pub p10: u32,
    /// Of 50 %.
    pub p50: u32,
    /// Of 90 %.
    pub p90: u32,
}

/// Something that is not known and moves the cost.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CauseView {
    /// In words.
    pub what: String,
    /// Share of the variance of the cost that it explains by itself.
    pub share: f64,
    /// Change of cost at its low end.
    pub low: Fig,
    /// Change of cost at its high end.
    pub high: Fig,
    /// The same, cents.
    #[schema(value_type = Vec<i64>)]
    pub ends: [i64; 2],
}

pub fn money(reader: Reader<'_>) -> MoneyView {
    let price = &reader.plan.price;
    let parts = price.parts.iter().map(|part| PartView {
        name: cost_group(part.group).to_owned(),
        amount: part.amount.to_cents(),
        fig: reader.money(part.amount, &format!("price.part.{}", part.group.word())),
    });
    let lines = price.lines.iter().map(|line| LineView {
        group: cost_group(line.group).to_owned(),
        what: line.what.clone(),
        amount: line.amount.to_cents(),
        fig: reader.money(line.amount, &format!("price.{}", line.id)),
    });
    MoneyView {
        currency: price.currency.clone(),
        parts: parts.collect(),
        lines: lines.collect(),
        cost: reader.money(price.cost, "price.cost"),
        overhead: reader.money(price.overhead, "price.overhead"),
        profit: reader.money(price.profit, "price.profit"),
        total: reader.money(price.total, "price.total"),
        with_tax: reader.money(price.with_tax, "price.with_tax"),
    }
}

pub fn materials(reader: Reader<'_>) -> Vec<MaterialView> {
    let items = reader.plan.takeoff.items.iter().map(|item| {
        let id = format!("material.{}", item.id);
        let sold = match item.sold_as.as_str() {
            "" => String::new(),
            sold => format!(" ({sold})"),
        };
        MaterialView {
            counter: item.counter.label().to_owned(),
            what: item.what.clone(),
            order: Fig {
                text: reader.show(item.order) + &sold,
                ..reader.fig(item.order, &id)
            },
            cost: reader.money(item.cost, &id),
        }
    });
    items.collect()
}

/// Nothing while no trials were drawn.
pub fn risk(reader: Reader<'_>) -> Option<RiskView> {
    let risk = &reader.plan.risk;
    if risk.trials == 0 {
        return None;
    }
    let plan = reader.plan.price.direct_cost();
    let cost = |change: Money, id: &str| reader.money(plan + change, id);
    let quantiles = risk.quantiles.iter().map(|&change| plan + change);
    let causes = risk.causes.iter().map(|cause| {
        let id = format!("risk.cause.{}", cause.id);
        CauseView {
            what: cause.what.clone(),
            share: cause.share,
            low: reader.money(cause.at_low, &id),
            high: reader.money(cause.at_high, &id),
            ends: [cause.at_low.to_cents(), cause.at_high.to_cents()],
        }
    });
    Some(RiskView {
        cost: CostChances {
            p10: cost(risk.cost.p10, "risk.cost.p10"),
            p50: cost(risk.cost.p50, "risk.cost.p50"),
            p90: cost(risk.cost.p90, "risk.cost.p90"),
        },
        days: DaysChances {
            p10: risk.days.p10,
            p50: risk.days.p50,
            p90: risk.days.p90,
        },
        quantile_texts: quantiles
            .clone()
            .map(|money| reader.show(money.amount()))
            .collect(),
        quantiles: quantiles.map(Money::to_cents).collect(),
        plan: plan.to_cents(),
        within_plan: risk.within_plan,
        contingency: reader.money(risk.contingency, "risk.contingency"),
        trials: risk.trials,
        causes: causes.collect(),
    })
}
