//! Labour lines, by kind of work, from the schedule's people and hours.

use crate::CostGroup;
use crate::lines::{Lines, worked};
use crew::{Schedule, TaskKind};
use job::Job;
use quantity::{Amount, Style};

pub fn add(job: &Job, schedule: &Schedule, lines: &mut Lines) {
    let hour = &job.prices.labour.hour;
    for kind in TaskKind::ALL {
        let labour = schedule.labour_of(kind);
        let per_hour = Amount::new(hour.value.to_units(), Style::MoneyPerHour);
        let working = worked("people × hours × an hour of one person")
            .with(
                "people × hours",
                labour.amount(),
                format!("figure crew.labour.{}", kind.word()),
            )
            .with("an hour of one person", per_hour, hour.origin());
        lines.add(
            CostGroup::Labour,
            format!("labour.{}", kind.word()),
            format!("Labour: {}", kind.label()),
            hour.value.times(labour.to_h()),
            working,
        );
    }
}
