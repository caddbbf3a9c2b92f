//! What every sheet is written from.

use crate::Paper;
use job::Job;
use plan::Plan;
use quantity::{Amount, Money, Style, Units};

/// What every sheet is written from.
#[derive(Clone, Copy)]
pub struct Told<'a> {
    pub job: &'a Job,
    pub plan: &'a Plan,
    pub units: Units,
    pub version: Option<&'a str>,
    /// Whether drawings of the property are wanted; tables do without.
    pub drawn: bool,
}

impl<'a> Told<'a> {
    pub fn of(job: &'a Job, plan: &'a Plan, units: Units, version: Option<&'a str>) -> Self {
        Self {
            job,
            plan,
            units,
            version,
            drawn: true,
        }
    }

    /// The same without drawings of the property.
    pub fn undrawn(self) -> Self {
        Self {
            drawn: false,
            ..self
        }
    }

    /// A figure with its unit.
    pub fn show(&self, amount: Amount) -> String {
        amount.show(self.units)
    }

    /// The sign of the unit in which such figures are read.
    pub fn unit(&self, style: Style) -> &'static str {
        Amount::new(0.0, style).parts(self.units).1
    }

    /// Money with the currency's code.
    pub fn money(&self, money: Money) -> String {
        format!("{money} {}", self.plan.price.currency)
    }

    /// The paper of the office printer.
    pub fn paper(&self) -> Paper {
        Paper::usual(self.units)
    }

    /// The first day on site in the calendar, where the job gives one.
    pub fn begins(&self) -> Option<&'a str> {
        self.plan.schedule.days.first()?.date.as_deref()
    }
}

/// A number of things in words.
pub fn many(n: usize, one: &str, more: &str) -> String {
    let count = quantity::group_thousands(&n.to_string());
    format!("{count} {}", if n == 1 { one } else { more })
}
