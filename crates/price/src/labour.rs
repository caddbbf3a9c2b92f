//! Labour lines, by kind of work, from the schedule's people and hours.

use crate::CostGroup;
use crate::lines::{Entry, Lines, worked};
use crate::workings::share;
use crew::{Schedule, TaskKind};
use job::{Job, TaxClass};
use quantity::{Amount, Style};
use working::Working;

pub fn add(job: &Job, schedule: &Schedule, lines: &mut Lines) {
    let labour = &job.prices.labour;
    let per_hour = Amount::new(labour.hour().to_units(), Style::MoneyPerHour);
    let (wage, burden) = (&labour.wage, &labour.burden);
    let hour = Working::new(
        "An hour of one person",
        per_hour,
        "wage × (1 + burden), to the cent",
        "arithmetic",
    )
    .with(
        "wage",
        Amount::new(wage.value.to_units(), Style::MoneyPerHour),
        wage.origin(),
    )
    .with("burden", share(burden.value), burden.origin());
    lines.put("price.labour_hour", hour);
    for kind in TaskKind::ALL {
        let time = schedule.labour_of(kind);
        let working = worked("people × hours × an hour of one person")
            .with(
                "people × hours",
                time.amount(),
                format!("figure crew.labour.{}", kind.word()),
            )
            .with(
                "an hour of one person",
                per_hour,
                "figure price.labour_hour",
            );
        let entry = Entry::new(
            CostGroup::Labour,
            TaxClass::Labour,
            format!("labour.{}", kind.word()),
            format!("Labour: {}", kind.label()),
        );
        lines.add(entry, labour.hour().times(time.to_h()), working);
    }
}
