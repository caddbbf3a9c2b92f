//! The workings of labour, days and notice.

use crate::{Schedule, TaskKind};
use digging::Digging;
use job::{Job, Sourced};
use quantity::{Amount, Duration, Ratio, Style};
use working::{Ledger, Working};

/// Puts `crew.labour`, its kinds, `crew.days`, `crew.people` and `crew.notice` into the ledger.
pub fn put_workings(job: &Job, digging: &Digging, schedule: &Schedule, ledger: &mut Ledger) {
    let mut total = Working::new(
        "Labour",
        schedule.labour.amount(),
        "sum of people × hours over all tasks",
        "arithmetic",
    );
    for kind in TaskKind::ALL {
        let labour = schedule.labour_of(kind);
        let id = format!("crew.labour.{}", kind.word());
        if labour > Duration::ZERO {
            total = total.with(kind.label(), labour.amount(), format!("figure {id}"));
            ledger.put(id, labour_of(job, kind, labour, schedule));
        }
    }
    ledger.put("crew.labour", total);
    ledger.put("crew.people", people(job, digging, schedule));
    ledger.put("crew.days", days(job, schedule));
    ledger.put("crew.notice", notice(job, schedule));
}

fn labour_of(job: &Job, kind: TaskKind, labour: Duration, schedule: &Schedule) -> Working {
    let (formula, rates) = rule(job, kind);
    let label = format!("Labour of {}", kind.label());
    let mut working = Working::new(label, labour.amount(), formula, "arithmetic");
    for (name, amount, from) in rates {
        working = working.with(name, amount, from);
    }
    for task in schedule.tasks.iter().filter(|task| task.kind == kind) {
        let value = (task.hours * f64::from(task.people)).amount();
        let from = format!(
            "task {}: {} people for {:.2} h",
            task.id,
            task.people,
            task.hours.to_h()
        );
        working = working.with(task.what.clone(), value, from);
    }
    working
}

type Rates = Vec<(&'static str, Amount, String)>;

/// How the labour of a kind comes about, and its rates.
fn rule(job: &Job, kind: TaskKind) -> (&'static str, Rates) {
    let book = &job.prices.labour;
    let rate =
        |name: &'static str, rate: &Sourced<Duration>| (name, rate.value.amount(), rate.origin());
    match kind {
        TaskKind::Mark => (
            "length of all trench × time per metre",
            vec![rate("time per metre", &book.mark_per_m)],
        ),
        TaskKind::TestHole => {
            let each = &job.practice.utility.test_hole_hours;
            (
                "crossings × hours for one",
                vec![("hours for one", hours(each), each.origin())],
            )
        }
        TaskKind::Sleeve | TaskKind::Dig => (
            "sum over the stretches of hours × people at the dig (figures stretch.*.hours)",
            Vec::new(),
        ),
        TaskKind::Lay => (
            "length of trench × time per metre for each pipe line, and for wire and cable with all conductors \
             at one go; nothing where it is pulled in or pinned, which lays it",
            vec![
                rate("time per metre of pipe", &book.lay_pipe_per_m),
                rate("time per metre of wire or cable", &book.lay_wire_per_m),
            ],
        ),
        TaskKind::Set => (
            "heads and drip points × time for one + valves × time for one + backflow assembly and tie-in + \
             controller",
            vec![
                rate("time for a head", &book.set_head),
                rate("time for a valve", &book.set_valve),
                rate("backflow assembly and tie-in", &book.tie_in),
                rate("controller", &book.set_controller),
            ],
        ),
        TaskKind::Test => (
            "one test of the main and one of each circuit × time for one",
            vec![rate("time for one", &book.test_each)],
        ),
        TaskKind::Fill => (
            "bank volume of the open trenches × time per cubic metre",
            vec![rate("time per cubic metre", &book.fill_per_m3)],
        ),
        TaskKind::Restore => (
            "area to make good of each surface × its time per square metre",
            book.restore_per_m2
                .iter()
                .map(|(surface, time)| rate(surface.label(), time))
                .collect(),
        ),
    }
}

fn hours(ratio: &Sourced<Ratio>) -> Amount {
    Duration::h(ratio.value.to_one()).amount()
}

fn people(job: &Job, digging: &Digging, schedule: &Schedule) -> Working {
    let at_digs = digging.digs.iter().map(|dig| dig.crew).max().unwrap_or(0);
    let crew = &job.practice.day.crew;
    Working::new(
        "People in the crew",
        Amount::count(schedule.crew as usize),
        "the practice's crew, or as many as the largest dig needs if that is more",
        "common practice",
    )
    .with("crew", Amount::count(crew.value as usize), crew.origin())
    .with(
        "most at one dig",
        Amount::count(at_digs as usize),
        "stage digging",
    )
}

fn days(job: &Job, schedule: &Schedule) -> Working {
    let end = schedule.tasks.iter().map(|task| task.start + task.hours);
    let last = end.fold(Duration::ZERO, Duration::max);
    let day = &job.practice.day.hours;
    Working::new(
        "Working days on site",
        Amount::new(schedule.days.len() as f64, Style::Days),
        "end of the last task / hours of a day, rounded up; tasks start in the order of the work as soon as \
         what they follow is done and people and machine are free, machines first",
        "list scheduling",
    )
    .with("end of the last task", last.amount(), "worked out here, nights left out")
    .with("hours of a day", hours(day), day.origin())
    .with("people", Amount::count(schedule.crew as usize), "figure crew.people")
    .approximately("not proved to be the fewest days; weather and drying times are left out")
}

fn notice(job: &Job, schedule: &Schedule) -> Working {
    let notice = &job.practice.utility.notice_days;
    Working::new(
        "Days of notice before the first cut",
        Amount::new(f64::from(schedule.notice_days), Style::Days),
        "as the practice says; the locate request is due whether or not the survey shows a service",
        "common practice",
    )
    .with(
        "notice",
        Amount::new(f64::from(notice.value), Style::Days),
        notice.origin(),
    )
}
