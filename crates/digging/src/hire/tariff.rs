//! What having a machine on site costs, by the time it is at work.

use quantity::{Duration, Money};

/// What having a machine on site costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tariff {
    /// An hour, if it is let by the hour.
    pub hour: Option<Money>,
    /// Hours charged at least where it is let by the hour.
    pub least_hours: u32,
    /// A day.
    pub day: Money,
    /// Working time of a day.
    pub day_length: Duration,
    /// A week, if it is let by the week.
    pub week: Option<Money>,
    /// Working days of a week.
    pub week_days: u32,
    /// Bringing it and taking it away, once.
    pub mobilisation: Money,
}

/// Weeks, days and hours of hire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Term {
    /// Weeks.
    pub weeks: u32,
    /// Days beyond them.
    pub days: u32,
    /// Hours beyond these.
    pub hours: u32,
}

/// A term with how much work it covers and what it costs, mobilisation included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Weeks, days and hours.
    pub term: Term,
    /// Work that it covers.
    pub covers: Duration,
    /// Hire and mobilisation.
    pub cost: Money,
}

/// A hair of rounding must not add an hour or a day.
const HAIR: f64 = 1e-9;

/// Steps that are told apart.
const MOST_STEPS: usize = 4000;

impl Tariff {
    /// The terms worth taking, from the cheapest on, up to one that covers `most`: each costs more
    /// than the one before it and covers more. Never empty.
    ///
    /// Beyond some years of hire the terms between are left out.
    pub fn steps(&self, most: Duration) -> Vec<Step> {
        let mut steps: Vec<Step> = Vec::new();
        let mut work = Duration::ZERO;
        while steps.len() < MOST_STEPS {
            let step = self.charge(work);
            // A dearer term may cover no more than a cheaper one that was rounded up.
            match steps.last_mut() {
                Some(last) if last.cost == step.cost => *last = step,
                _ => steps.push(step),
            }
            if covers(step.covers, most) {
                return steps;
            }
            work = step.covers * (1.0 + 2.0 * HAIR);
        }
        steps.push(self.charge(most));
        steps
    }

    /// The cheapest term that covers some work.
    pub fn charge(&self, work: Duration) -> Step {
        let week = self.day_length * f64::from(self.week_days.max(1));
        let most = whole(work, week).max(1);
        let counts = match self.week {
            Some(_) => vec![0, most.saturating_sub(1), most],
            None => vec![0],
        };
        let terms = counts.into_iter().flat_map(|weeks| {
            let left = (work - week * f64::from(weeks)).max(Duration::ZERO);
            self.beyond_weeks(weeks, left)
        });
        terms
            .map(|term| self.step(term))
            .min_by(|a, b| a.cost.cmp(&b.cost).then(b.covers.total_cmp(&a.covers)))
            .unwrap_or_else(|| {
                self.step(Term {
                    days: 1,
                    ..Term::default()
                })
            })
    }

    /// Days, or days and hours, that cover what weeks leave over.
    fn beyond_weeks(&self, weeks: u32, left: Duration) -> Vec<Term> {
        let days = whole(left, self.day_length);
        let days = if weeks == 0 { days.max(1) } else { days };
        let mut terms = vec![Term {
            weeks,
            days,
            hours: 0,
        }];
        if self.hour.is_some() && days > 0 {
            let over = (left - self.day_length * f64::from(days - 1)).max(Duration::ZERO);
            let hours = whole(over, Duration::h(1.0)).max(self.least_hours).max(1);
            terms.push(Term {
                weeks,
                days: days - 1,
                hours,
            });
        }
        terms
    }

    /// The cheapest term for a machine that is on site for some days: by the week and the day, or by
    /// the hour where one day's work is all.
    pub fn charge_days(&self, on_site: u32, work: Duration) -> Step {
        let on_site = on_site.max(1);
        let whole = self.day_length * f64::from(on_site);
        if on_site == 1 {
            return self.charge(work.min(whole));
        }
        Self {
            hour: None,
            ..*self
        }
        .charge(whole)
    }

    /// Working days that some work takes; at least one.
    pub fn days(&self, work: Duration) -> u32 {
        whole(work, self.day_length).max(1)
    }

    fn step(&self, term: Term) -> Step {
        let times =
            |price: Option<Money>, count: u32| price.unwrap_or(Money::ZERO).times(f64::from(count));
        let days = f64::from(term.weeks * self.week_days.max(1) + term.days);
        let hours = Duration::h(f64::from(term.hours)).min(self.day_length);
        Step {
            term,
            covers: self.day_length * days + hours,
            cost: times(self.week, term.weeks)
                + times(Some(self.day), term.days)
                + times(self.hour, term.hours)
                + self.mobilisation,
        }
    }
}

fn whole(time: Duration, unit: Duration) -> u32 {
    if unit > Duration::ZERO {
        (time / unit - HAIR).ceil().max(0.0) as u32
    } else {
        0
    }
}

/// Whether a term covers some work, but for a hair of rounding.
pub(super) fn covers(term: Duration, work: Duration) -> bool {
    work <= term * (1.0 + HAIR)
}

impl std::fmt::Display for Term {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let parts = [
            (self.weeks, "week"),
            (self.days, "day"),
            (self.hours, "hour"),
        ];
        let told = parts.iter().filter(|(count, _)| *count > 0);
        let told: Vec<String> = told
            .map(|(count, word)| format!("{count} {word}{}", if *count == 1 { "" } else { "s" }))
            .collect();
        f.write_str(&told.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tariff() -> Tariff {
        Tariff {
            hour: Some(Money::cents(5_000)),
            least_hours: 2,
            day: Money::cents(20_000),
            day_length: Duration::h(8.0),
            week: Some(Money::cents(70_000)),
            week_days: 5,
            mobilisation: Money::cents(6_000),
        }
    }

    #[test]
    fn the_cheapest_term_is_taken() {
        let cost = |hours: f64| {
            let step = tariff().charge(Duration::h(hours));
            (step.term.to_string(), step.cost.to_cents())
        };
        assert_eq!(cost(0.5), ("2 hours".into(), 16_000));
        assert_eq!(cost(2.5), ("3 hours".into(), 21_000));
        assert_eq!(cost(4.0), ("1 day".into(), 26_000));
        assert_eq!(cost(10.0), ("1 day, 2 hours".into(), 36_000));
        assert_eq!(cost(26.0), ("1 week".into(), 76_000));
        assert_eq!(cost(41.0), ("1 week, 2 hours".into(), 86_000));
    }

    #[test]
    fn steps_rise_and_cover() {
        let most = Duration::h(100.0);
        let steps = tariff().steps(most);
        assert!(
            steps
                .windows(2)
                .all(|w| w[0].cost < w[1].cost && w[0].covers < w[1].covers)
        );
        assert!(steps.last().is_some_and(|s| covers(s.covers, most)));
        for hours in 1..=100 {
            let work = Duration::h(f64::from(hours));
            let step = steps.iter().find(|s| covers(s.covers, work));
            assert_eq!(step.map(|s| s.cost), Some(tariff().charge(work).cost));
        }
    }

    #[test]
    fn two_days_on_site_are_two_days_of_hire() {
        let step = tariff().charge_days(2, Duration::h(3.0));
        assert_eq!(step.cost.to_cents(), 46_000);
        assert_eq!(
            tariff().charge_days(1, Duration::h(1.0)).cost.to_cents(),
            16_000
        );
    }
}
