//! Figures in words.

use ::plan::Plan;
use quantity::{Amount, Money, Style, Units};
use serde::Serialize;
use utoipa::ToSchema;
use working::Value;

/// A figure as it is read, and the id under which its working is kept.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Fig {
    /// The figure with its unit.
    pub text: String,
    /// Asks for its working, where it has one.
    #[schema(required)]
    pub id: Option<String>,
}

/// Writes figures in units, and tells those apart that have a working.
#[derive(Clone, Copy)]
pub struct Reader<'a> {
    pub units: Units,
    pub plan: &'a Plan,
}

impl Reader<'_> {
    /// An amount in words.
    pub fn show(self, amount: Amount) -> String {
        shown(amount, self.units, &self.plan.price.currency)
    }

    /// A quantity in a style of its own.
    pub fn styled(self, si: f64, style: Style, id: &str) -> Fig {
        self.fig(Amount::new(si, style), id)
    }

    /// Money under an id.
    pub fn money(self, money: Money, id: &str) -> Fig {
        self.fig(money.amount(), id)
    }

    /// An amount under an id.
    pub fn fig(self, amount: Amount, id: &str) -> Fig {
        Fig {
            text: self.show(amount),
            id: (!id.is_empty() && self.plan.workings.may_hold(id)).then(|| id.to_owned()),
        }
    }
}

/// A value in words.
pub fn value(value: &Value, units: Units, currency: &str) -> String {
    match value {
        Value::Amount(amount) => shown(*amount, units, currency),
        Value::Word(word) => word.clone(),
    }
}

/// An amount in words, money with its currency.
pub fn shown(amount: Amount, units: Units, currency: &str) -> String {
    let text = amount.show(units);
    match amount.style {
        Style::Money => format!("{text} {currency}"),
        Style::MoneyPerLength
        | Style::MoneyPerArea
        | Style::MoneyPerVolume
        | Style::MoneyPerMass
        | Style::MoneyPerHour => text.replacen(' ', &format!(" {currency} "), 1),
        _ => text,
    }
}
