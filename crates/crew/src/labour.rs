//! The workings of labour, days and notice.

use crate::{Schedule, TaskKind};
use digging::Digging;
use job::practice::First;
use job::{Job, Sourced};
use quantity::{Amount, Duration, Ratio, Style};
use working::{Ledger, Working};

/// Puts `crew.labour`, its kinds, those of days, people, open trench,
/// weather and notice into the ledger.
pub fn put_workings(job: &Job, digging: &Digging, schedule: &Schedule, ledger: &mut Ledger) {
    if ledger.is_closed() {
        return;
    }
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
    ledger.put("crew.fewest_days", fewest_days(job, schedule));
    ledger.put("crew.open", open(schedule));
    ledger.put("crew.most_open", most_open(schedule));
    ledger.put("crew.weather", weather(job, schedule));
    ledger.put("crew.notice", notice(job, schedule));
}

fn labour_of(job: &Job, kind: TaskKind, labour: Duration, schedule: &Schedule) -> Working {
    let (formula, rates) = rule(job, kind);
    let label = format!("Labour of {}", kind.label());
    let mut working = Working::new(label, labour.amount(), formula, "arithmetic");
    for (name, amount, from) in rates {
        working = working.with(name, amount, from);
    }
    for one in schedule.ahead.iter().filter(|one| one.kind == kind) {
        let value = (one.hours * f64::from(one.people)).amount();
        working = working.with(one.what.clone(), value, "before the first day on site");
    }
    for task in &schedule.tasks {
        let value = task.labour_of(kind);
        if value > Duration::ZERO {
            let from = format!(
                "task {}: {} people for {:.2} h in all",
                task.id,
                task.people,
                task.hours.to_h()
            );
            working = working.with(task.what.clone(), value.amount(), from);
        }
    }
    working
}

type Rates = Vec<(&'static str, Amount, String)>;

/// How the labour of a kind comes about, and its rates.
fn rule(job: &Job, kind: TaskKind) -> (&'static str, Rates) {
    let book = &job.prices.labour;
    let rate =
        |name: &'static str, rate: &Sourced<Duration>| (name, rate.value.amount(), rate.origin());
    let along = |time| {
        (
            "length of all trench × time per metre",
            vec![rate("time per metre", time)],
        )
    };
    let each = |time| {
        (
            "one for the main and one for each circuit or cable × time for one",
            vec![rate("time for one", time)],
        )
    };
    match kind {
        TaskKind::WhiteLine => along(&book.white_line_per_m),
        TaskKind::Mark => along(&book.mark_per_m),
        TaskKind::CleanUp => along(&book.clean_up_per_m),
        TaskKind::Inspect => each(&book.inspect_each),
        TaskKind::Flush => each(&book.flush_each),
        TaskKind::Test => each(&book.test_each),
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
            "length of trench × time per metre for each pipe line; nothing where it is pulled in or pinned, \
             which lays it",
            vec![rate("time per metre", &book.lay_pipe_per_m)],
        ),
        TaskKind::Wire => (
            "length of trench × time per metre for valve wire with all conductors at one go, and for each \
             cable; nothing where it is pulled in or pinned, which lays it",
            vec![rate("time per metre", &book.lay_wire_per_m)],
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
        TaskKind::Fill => (
            "bank volume of the open trenches × time per cubic metre × (1 − part that is tamping)",
            filling(job),
        ),
        TaskKind::Compact => (
            "bank volume of the open trenches × time per cubic metre × part that is tamping",
            filling(job),
        ),
        TaskKind::Restore => (
            "area to make good of each surface × its time per square metre",
            book.restore_per_m2
                .iter()
                .map(|(surface, time)| rate(surface.label(), time))
                .collect(),
        ),
        TaskKind::Request | TaskKind::Locate | TaskKind::Cure | TaskKind::Hold => {
            ("nobody is bound", Vec::new())
        }
    }
}

fn filling(job: &Job) -> Rates {
    let (time, tamp) = (
        &job.prices.labour.fill_per_m3,
        &job.prices.labour.tamp_share,
    );
    vec![
        ("time per cubic metre", time.value.amount(), time.origin()),
        (
            "part that is tamping",
            Amount::new(tamp.value.to_one(), Style::Percent),
            tamp.origin(),
        ),
    ]
}

fn hours(ratio: &Sourced<Ratio>) -> Amount {
    Duration::h(ratio.value.to_one()).amount()
}

fn people(job: &Job, digging: &Digging, schedule: &Schedule) -> Working {
    let at_digs = digging.digs.iter().map(|dig| dig.crew).max().unwrap_or(0);
    let start = Working::new(
        "People on site",
        Amount::count(schedule.crew as usize),
        "sum over the crews; the largest that digs has at least as many as the largest dig needs",
        "common practice",
    );
    let crews = job.practice.crew.values();
    crews
        .fold(start, |working, crew| {
            let people = Amount::count(crew.people.value as usize);
            working.with(crew.label.clone(), people, crew.people.origin())
        })
        .with(
            "most at one dig",
            Amount::count(at_digs as usize),
            "stage digging",
        )
}

fn in_days(days: u32) -> Amount {
    Amount::new(f64::from(days), Style::Days)
}

fn days(job: &Job, schedule: &Schedule) -> Working {
    let last = schedule.tasks.iter().map(|task| task.end);
    let last = last.fold(Duration::ZERO, Duration::max);
    let day = &job.practice.day.hours;
    Working::new(
        "Working days on site",
        in_days(schedule.days.len() as u32),
        "end of the last task / hours of a day, rounded up; orders of the work are tried for least trench \
         open at evening, hire and finish, in the order that the practice gives",
        "local search over serial schedules, late where trench would stand open",
    )
    .with("end of the last task", last.amount(), "worked out here, nights left out")
    .with("hours of a day", hours(day), day.origin())
    .with("people", Amount::count(schedule.crew as usize), "figure crew.people")
    .with("no order takes fewer than", in_days(schedule.fewest_days), "figure crew.fewest_days")
    .with("what comes first", first(job), job.practice.day.first.origin())
    .approximately("not proved to be the best order; weather is left out: figure crew.weather")
}

fn first(job: &Job) -> &'static str {
    match job.practice.day.first.value {
        First::OpenTrench => "least open trench",
        First::Cost => "least cost",
    }
}

fn fewest_days(job: &Job, schedule: &Schedule) -> Working {
    let day = &job.practice.day.hours;
    Working::new(
        "Fewest days on site",
        in_days(schedule.fewest_days),
        "the longest of: a chain of tasks, each with the most people; earliest start + work shared by all who \
         can do it + what must follow; the same for each machine; over the hours of a day, rounded up",
        "bounds of resource-constrained scheduling: critical path, resource and head-body-tail",
    )
    .with("hours of a day", hours(day), day.origin())
}

fn open(schedule: &Schedule) -> Working {
    let sum = Working::new(
        "Trench open at evening, summed over the evenings",
        schedule.open.amount(),
        "sum over the evenings of the length dug and not yet filled",
        "arithmetic",
    );
    with_evenings(sum, schedule)
}

fn most_open(schedule: &Schedule) -> Working {
    let most = Working::new(
        "Most trench open at an evening",
        schedule.most_open().amount(),
        "the largest of the evenings' lengths dug and not yet filled",
        "arithmetic",
    );
    with_evenings(most, schedule)
}

fn with_evenings(start: Working, schedule: &Schedule) -> Working {
    schedule.days.iter().fold(start, |working, day| {
        let name = format!("evening of day {}", day.day);
        working.with(name, day.open.amount(), "stage crew")
    })
}

fn weather(job: &Job, schedule: &Schedule) -> Working {
    let share = &job.practice.day.weather;
    Working::new(
        "Days to allow for the weather",
        in_days(schedule.weather_days),
        "days on site × share, rounded up",
        "common practice",
    )
    .with(
        "days on site",
        in_days(schedule.days.len() as u32),
        "figure crew.days",
    )
    .with(
        "share",
        Amount::new(share.value.to_one(), Style::Percent),
        share.origin(),
    )
}

fn notice(job: &Job, schedule: &Schedule) -> Working {
    let notice = &job.practice.utility.notice_days;
    Working::new(
        "Days of notice before the first cut",
        in_days(schedule.notice_days),
        "as the practice says; the locate request is due whether or not the survey shows a service",
        "common practice",
    )
    .with("notice", in_days(notice.value), notice.origin())
}
