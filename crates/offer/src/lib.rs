//! The offer to the customer, in plain words: scope, price, allowances, what is not included, cautions.
//!
//! Takes a job with its plan and gives [`Offer`], headings with paragraphs and rows, so that a text and a
//! sheet show the same words; [`Offer::text`] writes it as a text of [`WIDTH`] columns.
//!
//! What always holds: every figure stands in the plan or the job; the parts of the price sum to the price
//! before tax, and with the taxes to the price. Computes nothing of the trade and does no I/O.

mod scope;
mod terms;
mod text;
mod words;

use job::Job;
use plan::Plan;
use quantity::{Amount, Money, Units};

pub use text::WIDTH;

/// An offer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// What is offered.
    pub title: String,
    /// Headings with what stands under them, in order.
    pub sections: Vec<Section>,
}

/// A heading with what stands under it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// The heading.
    pub heading: &'static str,
    /// What stands under it.
    pub blocks: Vec<Block>,
}

/// A part of a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// A paragraph.
    Words(String),
    /// Points of a list.
    Points(Vec<String>),
    /// Names with what belongs to them, such as amounts.
    Rows(Vec<(String, String)>),
}

impl Offer {
    /// The offer for a job as it was planned. `rock_per_m` is what a metre of trench in rock is sold for on top,
    /// if that was worked out.
    pub fn of(job: &Job, plan: &Plan, units: Units, rock_per_m: Option<Money>) -> Self {
        let told = Told { job, plan, units };
        Self {
            title: format!("Offer: {}", job.name),
            sections: vec![
                scope::head(&told),
                scope::system(&told),
                scope::ground(&told),
                terms::price(&told),
                terms::allowances(&told),
                terms::not_included(&told, rock_per_m),
                terms::cautions(&told),
            ],
        }
    }
}

/// What every part is written from.
#[derive(Clone, Copy)]
struct Told<'a> {
    job: &'a Job,
    plan: &'a Plan,
    units: Units,
}

impl Told<'_> {
    fn show(&self, amount: Amount) -> String {
        amount.show(self.units)
    }

    fn money(&self, money: Money) -> String {
        format!("{money} {}", self.plan.price.currency)
    }
}
