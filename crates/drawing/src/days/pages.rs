//! The chart in parts that fit on paper: some days each, and some rows of them.

use super::{Chart, DAY_LEAST, LEFT, MARGIN, Row, look};
use crate::sheet::Space;
use crate::svg::Svg;
use job::Job;
use plan::Plan;
use quantity::Units;

/// Paper above the rows, for the names of the days.
const TOP: f64 = 9.0;
/// A day is not drawn wider than this, so that few days do not look like many.
const DAY_MOST: f64 = 90.0;

/// A part of the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct DaysPicture {
    /// SVG whose user unit is a millimetre of paper.
    pub svg: String,
    /// Millimetres.
    pub width: f64,
    /// Millimetres.
    pub height: f64,
    /// The first day shown, and the last.
    pub days: (u32, u32),
}

/// The chart of all days in parts of a size at most.
pub fn pictures(job: &Job, plan: &Plan, units: Units, space: Space) -> Vec<DaysPicture> {
    let room = space.width - LEFT - 2.0 * MARGIN;
    let most = ((room / DAY_LEAST).floor() as usize).max(1);
    let all = plan.schedule.days.len();
    // As many on each as can be, and no last page with a single day.
    let parts = all.div_ceil(most).max(1);
    let on_each = all.div_ceil(parts).max(1);
    let width = (room / on_each as f64).min(DAY_MOST);
    let mut pictures = Vec::new();
    for first in (0..all).step_by(on_each) {
        let days = first..(first + on_each).min(all);
        let chart = Chart::new(job, plan, units, days, width);
        let rows = chart.rows();
        let parts = fitting(&chart, &rows, space.height - TOP);
        let last = parts.len().saturating_sub(1);
        for (part, rows) in parts.into_iter().enumerate() {
            pictures.push(picture(&chart, rows, part == last));
        }
    }
    pictures
}

fn picture(chart: &Chart, rows: &[Row], ends: bool) -> DaysPicture {
    let (width, height) = (chart.width(), TOP + chart.height(rows, ends));
    let mut svg = Svg::new(width, height);
    look::define(&mut svg);
    chart.draw(&mut svg, rows, TOP, ends);
    let named = |index: usize| chart.schedule.days.get(index).map_or(0, |day| day.day);
    DaysPicture {
        svg: svg.finish(),
        width,
        height,
        days: (named(chart.days.start), named(chart.days.end - 1)),
    }
}

/// Rows in parts, none higher than the room; what all rows share has room on the last.
fn fitting<'r, 'a>(chart: &Chart<'a>, rows: &'r [Row<'a>], room: f64) -> Vec<&'r [Row<'a>]> {
    let mut parts = Vec::new();
    let mut left = rows;
    while chart.height(left, true) > room && left.len() > 1 {
        let fits = |n: &usize| chart.height(&left[..*n], false) <= room;
        let most = (1..left.len()).rev().find(fits).unwrap_or(1);
        let (now, later) = left.split_at(most);
        parts.push(now);
        left = later;
    }
    parts.push(left);
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::{assert_well_formed, yard};
    use plan::crew::{Clock, Task, TaskKind, WorkDay};
    use quantity::{Duration, Length};

    fn space(width: f64, height: f64) -> Space {
        Space { width, height }
    }

    /// The yard with work for some lines on each of some days, each task over a whole day.
    fn worked(lines: usize, days: u32) -> (Job, Plan) {
        let (job, mut plan) = yard::yard();
        let hours = job.practice.day.hours.value.to_one();
        let schedule = &mut plan.schedule;
        for day in 1..=days {
            for line in 0..lines {
                schedule.tasks.push(Task {
                    id: format!("T{}", schedule.tasks.len() + 1),
                    what: "dig".to_owned(),
                    kind: TaskKind::Dig,
                    part: format!("line {line}"),
                    crew: String::new(),
                    machine: None,
                    people: 1,
                    hours: Duration::h(hours),
                    after: Vec::new(),
                    start: Duration::h(hours * f64::from(day - 1)),
                    end: Duration::h(hours * f64::from(day)),
                    from: Clock::default(),
                    to: Clock::default(),
                    stretches: Vec::new(),
                    steps: Vec::new(),
                });
            }
            schedule.days.push(WorkDay {
                day,
                date: None,
                tasks: Vec::new(),
                machines: Vec::new(),
                open: Length::m(f64::from(day)),
                open_stretches: Vec::new(),
            });
        }
        (job, plan)
    }

    #[test]
    fn every_part_fits_and_every_day_has_one() {
        let (job, plan) = worked(4, 11);
        let days: Vec<u32> = plan.schedule.days.iter().map(|day| day.day).collect();
        for room in [
            space(250.0, 160.0),
            space(100.0, 120.0),
            space(400.0, 250.0),
        ] {
            let pictures = pictures(&job, &plan, Units::Us, room);
            for picture in &pictures {
                assert!(picture.width <= room.width + 1e-9, "{}", picture.width);
                assert!(picture.height <= room.height + 1e-9, "{}", picture.height);
                assert_well_formed(&picture.svg);
            }
            for day in &days {
                let holds = |p: &&DaysPicture| (p.days.0..=p.days.1).contains(day);
                assert!(pictures.iter().any(|p| holds(&p)), "day {day}");
            }
        }
    }

    #[test]
    fn rows_go_on_on_the_next_part() {
        let (job, plan) = worked(9, 1);
        let all = 0..plan.schedule.days.len();
        let chart = Chart::new(&job, &plan, Units::Si, all, 40.0);
        let rows = chart.rows();
        let high = chart.height(&rows, true);
        let parts = fitting(&chart, &rows, high);
        assert_eq!(parts.len(), 1);
        let parts = fitting(&chart, &rows, high - 1.0);
        assert_eq!(parts.iter().map(|part| part.len()).sum::<usize>(), 9);
        assert_eq!(parts.len(), 2);
    }
}
