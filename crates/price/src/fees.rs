//! Permits, the locate, looking for private lines.

use crate::CostGroup;
use crate::lines::{Entry, Lines, worked};
use job::{Job, TaxClass};

pub fn add(job: &Job, lines: &mut Lines) {
    let fees = &job.prices.fee;
    for (id, what, fee) in [
        ("permit", "Permits and inspections", &fees.permit),
        ("locate", "Locate request", &fees.locate),
        (
            "private_locate",
            "Allowance: looking for private lines",
            &fees.private_locate,
        ),
    ] {
        lines.add(
            Entry::new(CostGroup::Fee, TaxClass::Fees, format!("fee.{id}"), what),
            fee.value,
            worked("once").with("fee", fee.value.amount(), fee.origin()),
        );
    }
}
