//! The workings of the risk's figures.

use crate::causes::{Causes, Group, Law};
use crate::results::{Cause, Risk};
use crate::rock::Rock;
use crew::Schedule;
use job::Job;
use quantity::{Amount, Money, Style};
use working::{Ledger, Working};

/// What is not modelled.
const LEFT_OUT: &str = "routes, methods and quantities stay as planned whatever the ground turns out to be; a \
     method that the ground stops, stony spoil hauled off and bedding in rock are left out; setting up is \
     scaled with the digging";

const SAMPLING: &str = "Latin hypercube sampling, M. D. McKay, R. J. Beckman and W. J. Conover, \
     Technometrics 21 (1979) 239–245 (from memory); trials and the curve of chances as in the cost estimating guide of \
     the US Government Accountability Office, GAO-20-195G";

/// Puts `risk.cost.*`, `risk.days.*`, `risk.contingency`, `risk.within_plan`, `risk.cause.*` and
/// `risk.rock_per_m` into the ledger.
pub fn put(
    job: &Job,
    causes: &Causes,
    risk: &Risk,
    rock: &Rock,
    schedule: &Schedule,
    ledger: &mut Ledger,
) {
    put_cost(job, risk, ledger);
    put_days(job, risk, schedule, ledger);
    for cause in &risk.causes {
        let group = causes.groups.iter().find(|group| group.id == cause.id);
        if let Some(group) = group {
            let id = format!("risk.cause.{}", cause.id);
            ledger.put(id, of_cause(causes, group, cause, risk));
        }
    }
    ledger.put("risk.rock_per_m", of_rock(job, causes, rock));
}

/// A working of the trials, with their number and seed.
fn drawn(job: &Job, risk: &Risk, label: &str, value: Amount, formula: &str) -> Working {
    let practice = &job.practice.risk;
    Working::new(label, value, formula, SAMPLING)
        .with(
            "trials",
            Amount::count(risk.trials as usize),
            practice.trials.origin(),
        )
        .with("seed", risk.seed.to_string(), "job file, member seed")
        .with(
            "spread between the three points",
            practice.shape.value.label(),
            practice.shape.origin(),
        )
}

fn put_cost(job: &Job, risk: &Risk, ledger: &mut Ledger) {
    let cost = &risk.cost;
    let quantiles = [
        ("p10", "10 %", cost.p10),
        ("p50", "50 %", cost.p50),
        ("p90", "90 %", cost.p90),
    ];
    for ((word, chance, value), error) in quantiles.into_iter().zip(cost.errors) {
        let label = format!("Change of cost not exceeded with a chance of {chance}");
        let formula = format!(
            "the least change that at least {chance} of the trials do not exceed; a trial's change is labour × \
             hours more + fuel + hire by the days on site + material prices, less that of the plan"
        );
        let working = drawn(job, risk, &label, value.amount(), &formula);
        ledger.put(format!("risk.cost.{word}"), with_error(working, error));
    }
    let moments = [
        (
            "mean",
            "Mean change of cost",
            cost.mean,
            "sum of the changes / trials",
        ),
        (
            "deviation",
            "Standard deviation of the change of cost",
            cost.deviation,
            "√(sum of squared distances from the mean / (trials − 1))",
        ),
    ];
    for (word, label, value, formula) in moments {
        let working = drawn(job, risk, label, value.amount(), formula);
        ledger.put(format!("risk.cost.{word}"), working.approximately(LEFT_OUT));
    }
    let confidence = &job.practice.risk.confidence;
    let contingency = drawn(
        job,
        risk,
        "Contingency",
        risk.contingency.amount(),
        "the least change of cost that at least the chosen share of the trials do not exceed, not below 0; \
         before overhead and margin",
    )
    .with(
        "chance with which it does",
        Amount::new(confidence.value.to_one(), Style::Percent),
        confidence.origin(),
    );
    let contingency = with_error(contingency, risk.contingency_error);
    ledger.put("risk.contingency", contingency);
    let within = drawn(
        job,
        risk,
        "Chance that the cost is not above the plan's",
        Amount::new(risk.within_plan, Style::Percent),
        "trials whose change of cost is not above 0 / trials",
    );
    ledger.put("risk.within_plan", within.approximately(LEFT_OUT));
}

fn with_error(working: Working, error: Money) -> Working {
    working.approximately(format!(
        "standard error {error}: half the distance between the sorted trials √(n p (1 − p)) ranks below and \
         above, as if they were independent, which says too much of layered ones; {LEFT_OUT}"
    ))
}

fn put_days(job: &Job, risk: &Risk, schedule: &Schedule, ledger: &mut Ledger) {
    let days = &risk.days;
    let whole = |days: u32| Amount::new(f64::from(days), Style::Days);
    for (word, chance, value) in [
        ("p10", "10 %", days.p10),
        ("p50", "50 %", days.p50),
        ("p90", "90 %", days.p90),
    ] {
        let label = format!("Working days not exceeded with a chance of {chance}");
        let formula = format!(
            "the least days that at least {chance} of the trials do not exceed; the plan's tasks in their order, \
             each as soon as those before it and those that it has people or machine from are done, and the days \
             lost to the weather"
        );
        let working = drawn(job, risk, &label, whole(value), &formula)
            .with(
                "days of the plan",
                whole(schedule.days.len() as u32),
                "figure crew.days",
            )
            .approximately(format!("nobody is moved to catch up; {LEFT_OUT}"));
        ledger.put(format!("risk.days.{word}"), working);
    }
    for (word, label, value) in [
        ("mean", "Mean of the working days", days.mean),
        (
            "deviation",
            "Standard deviation of the working days",
            days.deviation,
        ),
    ] {
        let working = drawn(
            job,
            risk,
            label,
            Amount::ratio(value),
            "over the trials, days",
        );
        ledger.put(format!("risk.days.{word}"), working.approximately(LEFT_OUT));
    }
}

fn of_cause(causes: &Causes, group: &Group, cause: &Cause, risk: &Risk) -> Working {
    let start = Working::new(
        format!("Share of the variance of cost: {}", cause.what),
        Amount::new(cause.share, Style::Percent),
        "1 − (1 − η²)(n − 1)/(n − c), where η² is the variance of the means of the trials in c layers of equal chance of \
         this cause over the variance of all trials: how much smaller it would be if this alone were known",
        "first-order index of variance, A. Saltelli and others, Global Sensitivity Analysis: The Primer, Wiley 2008; \
         correction of η² by T. L. Kelley 1935 (both from memory)",
    )
    .with("trials", Amount::count(risk.trials as usize), "practice risk.trials")
    .with("cost at its low end, all else likeliest", cause.at_low.amount(), "one trial, change against the plan")
    .with("cost at its high end, all else likeliest", cause.at_high.amount(), "one trial, change against the plan")
    .with(
        "share of the variance of days",
        Amount::new(cause.share_of_days, Style::Percent),
        "the same of the days",
    );
    let factors = group.factors.iter().map(|place| &causes.factors[*place]);
    let working = factors.fold(start, |working, factor| {
        let words = match factor.law {
            Law::Spread(s) => format!(
                "{} to {}, likeliest {}",
                digits(s.low),
                digits(s.high),
                digits(s.likely)
            ),
            Law::Step { down, up } => {
                format!("a step down {}, a step up {}", digits(down), digits(up))
            }
            Law::Standing => "by chance alone".to_owned(),
        };
        working.with(factor.what.clone(), words, factor.origin.clone())
    });
    working.approximately(
        "what only causes together move belongs to none; means of layers see a little less than single values; low \
         and high end of luck are taken at 10 % and 90 %",
    )
}

fn digits(value: f64) -> String {
    format!("{}", (value * 1000.0).round() / 1000.0)
}

fn of_rock(job: &Job, causes: &Causes, rock: &Rock) -> Working {
    let labour = &job.prices.labour;
    Working::new(
        "A metre of trench in rock beyond the plan",
        Amount::new(rock.per_m.to_units(), Style::MoneyPerLength),
        "sum over the stretches that are dug or pulled of (time in rock / planned factor of stones − 1) × (labour + \
         fuel + a day's hire by the hour) / their length",
        "arithmetic",
    )
    .with(
        "digging time in rock over that in soil without stones",
        Amount::ratio(rock.slow),
        causes.factors[causes.rock_slow].origin.clone(),
    )
    .with("length of trench", rock.length.amount(), "route")
    .with(
        "an hour of one person",
        Amount::new(labour.hour().to_units(), Style::MoneyPerHour),
        labour.hour_origin(),
    )
    .approximately(
        "the mean over all trench, by the machines that are there; a breaker, bedding in the rock and hauling it off \
         are left out, and so is the rest that a job stands still",
    )
}
