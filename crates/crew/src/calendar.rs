//! Working days in a calendar, and the clock.

use crate::site::{Site, Slot};
use crate::{Ahead, Clock, TaskKind};
use jiff::civil::Date;
use job::Job;
use quantity::Duration;

/// The dates of a job's working days, counted from its first on site.
pub struct Dates<'a> {
    job: &'a Job,
    /// The day of the locate request.
    request: Option<Date>,
    notice: i32,
}

impl<'a> Dates<'a> {
    pub fn of(job: &'a Job) -> Self {
        let mut dates = Self {
            job,
            request: None,
            notice: i32::try_from(job.practice.utility.notice_days.value).unwrap_or(i32::MAX),
        };
        let asked = job.practice.calendar.request_on.value.0;
        dates.request = asked.and_then(|day| dates.works_from(day));
        dates
    }

    /// A working day; 1 is the first on site, which comes after the full days of notice.
    pub fn on(&self, day: i32) -> Option<String> {
        let mut date = self.request?;
        for _ in 0..day.saturating_add(self.notice) {
            date = self.works_from(date.tomorrow().ok()?)?;
        }
        Some(date.strftime("%a %Y-%m-%d").to_string())
    }

    fn works_from(&self, day: Date) -> Option<Date> {
        let calendar = &self.job.practice.calendar;
        let works = |date: &Date| {
            calendar.weekdays.value.0.contains(&date.weekday())
                && calendar.holidays.value.0.binary_search(date).is_err()
        };
        let mut date = day;
        while !works(&date) {
            date = date.tomorrow().ok()?;
        }
        Some(date)
    }

    /// What comes before the first day on site.
    pub fn ahead(&self, white_lining: Duration, people: u32) -> Vec<Ahead> {
        let asks = -self.notice;
        let one = |kind, what: &str, days: (i32, i32), people: u32, hours| Ahead {
            what: what.to_owned(),
            kind,
            days,
            dates: self.on(days.0).zip(self.on(days.1)),
            people,
            hours,
        };
        let none = Duration::ZERO;
        let mut ahead = vec![
            one(
                TaskKind::WhiteLine,
                "white-line the dig area",
                (asks, asks),
                people,
                white_lining / f64::from(people.max(1)),
            ),
            one(
                TaskKind::Request,
                "make the locate request",
                (asks, asks),
                0,
                none,
            ),
        ];
        if self.notice > 0 {
            ahead.push(one(
                TaskKind::Locate,
                "wait until every service is marked or cleared; no digging before",
                (asks + 1, 0),
                0,
                none,
            ));
        }
        ahead
    }
}

/// The clock at a moment; the end of a day is its evening where something ends, the next morning where
/// something begins.
pub fn clock(job: &Job, site: &Site, slot: Slot, ends: bool) -> Clock {
    let day = &job.practice.day;
    let (mut on, mut hour) = (slot / site.day, slot % site.day);
    if ends && hour == 0 && on > 0 {
        (on, hour) = (on - 1, site.day);
    }
    let half = site.day / 2;
    // At the pause itself, what ends does so before and what begins does so after.
    let rested = if ends { hour > half } else { hour >= half };
    let mut since = site.time(hour);
    if rested {
        since += day.pause.value;
    }
    Clock {
        day: on + 1,
        minute: day.begins.value.0 + (since.to_h() * 60.0).round() as u32,
    }
}
