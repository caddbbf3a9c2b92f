//! The days as bars: parts of the work, machines, people, and the trench open at each evening.
//!
//! ```text
//!            day 1            day 2
//!  main      [dig ][lay][..]  [test]
//!  C1              [dig     ] [lay ]
//!  machines  [=====|========]
//!  people    ▂▂█▃             ▂▃
//!  open           ▌ 12 m          ▌ 0
//! ```

mod look;
mod pages;

use crate::style::{self, FINE_TEXT, INK, SMALL_TEXT, TEXT};
use crate::svg::{Anchor, Point, Svg, Text};
use job::Job;
use look::look;
pub use pages::{DaysPicture, pictures};
use plan::Plan;
use plan::crew::{Schedule, Task, TaskKind};
use quantity::{Duration, Length, Units};
use std::ops::Range;

/// Millimetres.
const LEFT: f64 = 44.0;
const MARGIN: f64 = 8.0;
const LANE: f64 = 6.4;
const GAP: f64 = 2.2;
const DAY_LEAST: f64 = 30.0;
const DAYS_WIDTH: f64 = 340.0;
const TOP: f64 = 34.0;
const PEOPLE_HEIGHT: f64 = 11.0;
const OPEN_HEIGHT: f64 = 17.0;
const LEGEND_LINE: f64 = 5.5;

/// What the bars mean.
const LEGEND: [(TaskKind, &str); 7] = [
    (TaskKind::Mark, "staking, test holes, sleeves"),
    (TaskKind::Dig, "digging, pulling"),
    (TaskKind::Lay, "laying, setting"),
    (TaskKind::Cure, "joints stand, pressure holds"),
    (TaskKind::Test, "inspecting, flushing, testing"),
    (TaskKind::Fill, "filling, tamping"),
    (TaskKind::Restore, "making good, cleaning up"),
];

/// Paper that an entry of the legend takes.
fn legend_width(words: &str) -> f64 {
    11.0 + 0.55 * FINE_TEXT * words.chars().count() as f64
}

/// A bar shorter than this has no word in it.
const WORD_ROOM: f64 = 1.55;

/// The chart as an SVG; lengths in `units`.
pub fn svg(job: &Job, plan: &Plan, units: Units) -> String {
    let days = plan.schedule.days.len();
    let width = (DAYS_WIDTH / days.max(1) as f64).max(DAY_LEAST);
    let chart = Chart::new(job, plan, units, 0..days, width);
    let rows = chart.rows();
    let height = TOP + chart.height(&rows, true) + MARGIN;
    let mut svg = Svg::new(chart.width(), height);
    look::define(&mut svg);
    chart.head(&mut svg);
    chart.draw(&mut svg, &rows, TOP, true);
    svg.finish()
}

/// The bars of a part, in lanes so that none covers another.
struct Row<'a> {
    name: String,
    lanes: Vec<Vec<&'a Task>>,
}

impl Row<'_> {
    fn height(&self) -> f64 {
        self.lanes.len() as f64 * LANE + GAP
    }
}

/// The chart of some of the days.
struct Chart<'a> {
    job: &'a Job,
    plan: &'a Plan,
    schedule: &'a Schedule,
    units: Units,
    /// The days shown, counted from 0.
    days: Range<usize>,
    /// Hours of a day.
    day: Duration,
    /// Width of a day on the sheet.
    day_width: f64,
}

impl<'a> Chart<'a> {
    fn new(job: &'a Job, plan: &'a Plan, units: Units, days: Range<usize>, day_width: f64) -> Self {
        Self {
            day: Duration::h(job.practice.day.hours.value.to_one()),
            schedule: &plan.schedule,
            days,
            day_width,
            job,
            plan,
            units,
        }
    }

    fn width(&self) -> f64 {
        LEFT + self.day_width * self.days.len().max(1) as f64 + 2.0 * MARGIN
    }

    /// Paper for some rows, and at the end for what all of them share.
    fn height(&self, rows: &[Row], ends: bool) -> f64 {
        let rows: f64 = rows.iter().map(Row::height).sum();
        let shared = match ends {
            true => self.machines_height() + PEOPLE_HEIGHT + OPEN_HEIGHT + 3.0 * GAP,
            false => 0.0,
        };
        rows + shared + self.legend_height()
    }

    fn machines_height(&self) -> f64 {
        self.windows().count() as f64 * LANE + 2.0 * GAP
    }

    /// Rows, and at the end what all of them share, from a height on.
    fn draw(&self, svg: &mut Svg, rows: &[Row], top: f64, ends: bool) {
        let height = top + self.height(rows, ends);
        self.grid(svg, top, height - self.legend_height());
        let mut y = top;
        for row in rows {
            self.row(svg, row, y);
            y += row.height();
        }
        if ends {
            y = self.machines(svg, y);
            y = self.people(svg, y);
            y = self.open(svg, y);
        }
        self.legend(svg, y + 1.0);
    }

    /// Where a time is; what lies outside the days shown ends at their edge.
    fn x(&self, time: Duration) -> f64 {
        let days = (time / self.day - self.days.start as f64).clamp(0.0, self.days.len() as f64);
        LEFT + MARGIN + days * self.day_width
    }

    /// Whether some of a time is in the days shown.
    fn shows(&self, from: Duration, to: Duration) -> bool {
        to > self.day * self.days.start as f64 && from < self.day * self.days.end as f64
    }

    fn windows(&self) -> impl Iterator<Item = &'a plan::crew::Window> {
        let of_day = |day: u32| self.day * f64::from(day);
        let windows = self.schedule.windows.iter();
        windows.filter(move |window| self.shows(of_day(window.first - 1), of_day(window.last)))
    }

    fn shown_days(&self) -> impl Iterator<Item = (usize, &'a plan::crew::WorkDay)> {
        let days = self.schedule.days.iter().enumerate();
        days.skip(self.days.start).take(self.days.len())
    }

    fn text(&self, svg: &mut Svg, at: (f64, f64), size: f64, words: &str, attributes: &str) {
        svg.text(&Text {
            at: Point::new(at.0, at.1),
            turn: 0.0,
            size,
            anchor: Anchor::Start,
            attributes,
            words,
        });
    }

    fn head(&self, svg: &mut Svg) {
        let invented = if self.plan.invented {
            ", an invented job"
        } else {
            ""
        };
        let title = format!("Days: {}{invented}", self.plan.job);
        let ink = format!("fill=\"{INK}\"");
        self.text(svg, (MARGIN, MARGIN + 4.0), TEXT * 1.3, &title, &ink);
        let ahead = self.schedule.ahead.iter().map(|ahead| {
            let when = ahead.dates.as_ref().map_or_else(
                || format!("day {} to {}", ahead.days.0, ahead.days.1),
                |(first, last)| {
                    if first == last {
                        first.clone()
                    } else {
                        format!("{first} to {last}")
                    }
                },
            );
            format!("{when}: {}", ahead.what)
        });
        let before = ahead.collect::<Vec<_>>().join("   ·   ");
        self.text(svg, (MARGIN, MARGIN + 9.5), SMALL_TEXT, &before, &ink);
        let rules = "Nothing is covered before all in its trench is inspected and tested. \
                     Days lost to the weather are not in the bars. Guard what stands open overnight.";
        self.text(svg, (MARGIN, MARGIN + 14.0), SMALL_TEXT, rules, &ink);
    }

    fn grid(&self, svg: &mut Svg, top: f64, bottom: f64) {
        let ink = format!("fill=\"{INK}\"");
        for (index, day) in self.shown_days() {
            let x = self.x(self.day * index as f64);
            let edge = "stroke=\"#555555\" stroke-width=\"0.3\"";
            svg.line(Point::new(x, top - 8.0), Point::new(x, bottom), edge);
            let name = match &day.date {
                Some(date) => format!("day {} · {date}", day.day),
                None => format!("day {}", day.day),
            };
            self.text(svg, (x + 1.0, top - 4.5), SMALL_TEXT, &name, &ink);
            let hours = self.day.to_h().floor() as u32;
            for hour in 1..hours {
                let x = self.x(self.day * index as f64 + Duration::h(f64::from(hour)));
                let fine = "stroke=\"#cccccc\" stroke-width=\"0.15\"";
                svg.line(Point::new(x, top - 2.0), Point::new(x, bottom), fine);
            }
        }
        let x = self.x(self.day * self.days.end as f64);
        let edge = "stroke=\"#555555\" stroke-width=\"0.3\"";
        svg.line(Point::new(x, top - 8.0), Point::new(x, bottom), edge);
    }

    fn row(&self, svg: &mut Svg, row: &Row, y: f64) {
        let ink = format!("fill=\"{INK}\"");
        self.text(svg, (MARGIN, y + LANE * 0.72), SMALL_TEXT, &row.name, &ink);
        for (lane, tasks) in row.lanes.iter().enumerate() {
            for task in tasks {
                self.bar(svg, task, y + lane as f64 * LANE);
            }
        }
        let edge = y + row.height() - GAP * 0.5;
        let (left, right) = (
            Point::new(MARGIN, edge),
            Point::new(self.width() - MARGIN, edge),
        );
        svg.line(left, right, "stroke=\"#dddddd\" stroke-width=\"0.2\"");
    }

    fn bar(&self, svg: &mut Svg, task: &Task, y: f64) {
        let (from, to) = (self.x(task.start), self.x(task.end));
        let width = (to - from).max(0.4);
        let look = look(task.kind);
        let corner = Point::new(from, y + 0.4);
        svg.rect(corner, width, LANE - 0.8, &look.attributes());
        let word = task.kind.word();
        if width >= WORD_ROOM * word.len() as f64 {
            let attributes = format!("fill=\"{}\"", look.words);
            self.text(
                svg,
                (from + 0.6, y + LANE * 0.68),
                FINE_TEXT,
                word,
                &attributes,
            );
        }
    }

    fn machines(&self, svg: &mut Svg, y: f64) -> f64 {
        let ink = format!("fill=\"{INK}\"");
        for (index, window) in self.windows().enumerate() {
            let y = y + GAP + index as f64 * LANE;
            let name = style::method_label(self.job, &window.machine);
            self.text(svg, (MARGIN, y + LANE * 0.72), SMALL_TEXT, name, &ink);
            let from = self.x(self.day * f64::from(window.first - 1));
            let to = self.x(self.day * f64::from(window.last));
            let there = "fill=\"#f0f0f0\" stroke=\"#555555\" stroke-width=\"0.25\" stroke-dasharray=\"1.2 0.7\"";
            svg.rect(Point::new(from, y + 0.6), to - from, LANE - 1.2, there);
            let at_work = self
                .tasks()
                .filter(|task| task.machine.as_ref() == Some(&window.machine));
            for task in at_work {
                let (from, to) = (self.x(task.start), self.x(task.end));
                let dark = look(TaskKind::Dig).attributes();
                svg.rect(Point::new(from, y + 1.6), to - from, LANE - 3.2, &dark);
            }
        }
        y + self.machines_height()
    }

    /// People at work, from moment to moment.
    fn people(&self, svg: &mut Svg, y: f64) -> f64 {
        let ink = format!("fill=\"{INK}\"");
        let label = format!("people at work, of {}", self.schedule.crew);
        let floor = y + PEOPLE_HEIGHT;
        self.text(svg, (MARGIN, floor - 1.0), SMALL_TEXT, &label, &ink);
        let tasks: Vec<&Task> = self.tasks().filter(|task| task.people > 0).collect();
        let mut moments: Vec<f64> = tasks
            .iter()
            .flat_map(|task| [task.start.to_s(), task.end.to_s()])
            .collect();
        moments.sort_by(f64::total_cmp);
        moments.dedup();
        let unit = (PEOPLE_HEIGHT - 2.0) / f64::from(self.schedule.crew.max(1));
        for span in moments.windows(2) {
            let at = f64::midpoint(span[0], span[1]);
            let there = tasks
                .iter()
                .filter(|t| t.start.to_s() <= at && t.end.to_s() > at);
            let people: u32 = there.map(|task| task.people).sum();
            let (from, to) = (self.x(Duration::s(span[0])), self.x(Duration::s(span[1])));
            let high = unit * f64::from(people);
            if people > 0 {
                let grey = "fill=\"#9aa3ab\"";
                svg.rect(Point::new(from, floor - high), to - from, high, grey);
            }
        }
        let (left, right) = (
            Point::new(MARGIN, floor),
            Point::new(self.width() - MARGIN, floor),
        );
        svg.line(left, right, "stroke=\"#555555\" stroke-width=\"0.25\"");
        floor + GAP
    }

    fn open(&self, svg: &mut Svg, y: f64) -> f64 {
        let ink = format!("fill=\"{INK}\"");
        let floor = y + OPEN_HEIGHT;
        self.text(
            svg,
            (MARGIN, floor - 1.0),
            SMALL_TEXT,
            "trench open at evening",
            &ink,
        );
        let lengths = self.schedule.days.iter().map(|day| day.open);
        let most = lengths.fold(Length::ZERO, Length::max);
        for (index, day) in self.shown_days() {
            let evening = self.x(self.day * (index + 1) as f64);
            let share = if most > Length::ZERO {
                day.open / most
            } else {
                0.0
            };
            let (wide, high) = (4.0, share * (OPEN_HEIGHT - 7.0));
            if high > 0.0 {
                let dark = "fill=\"#3a2a10\"";
                let corner = Point::new(evening - wide - 0.3, floor - high);
                svg.rect(corner, wide, high, dark);
            }
            let words = day.open.amount().show(self.units);
            let size = SMALL_TEXT;
            let at = evening - 0.3 - 0.52 * size * words.chars().count() as f64;
            self.text(svg, (at, floor - high - 1.0), size, &words, &ink);
        }
        let (left, right) = (
            Point::new(MARGIN, floor),
            Point::new(self.width() - MARGIN, floor),
        );
        svg.line(left, right, "stroke=\"#555555\" stroke-width=\"0.25\"");
        floor + GAP
    }

    fn legend(&self, svg: &mut Svg, y: f64) {
        let ink = format!("fill=\"{INK}\"");
        let mut y = y;
        for line in self.legend_lines() {
            let mut x = MARGIN;
            for (kind, words) in line {
                svg.rect(Point::new(x, y), 6.0, 4.0, &look(kind).attributes());
                self.text(svg, (x + 7.2, y + 3.1), FINE_TEXT, words, &ink);
                x += legend_width(words);
            }
            y += LEGEND_LINE;
        }
    }

    /// What the bars mean, in lines as wide as the chart.
    fn legend_lines(&self) -> Vec<Vec<(TaskKind, &'static str)>> {
        let room = self.width() - MARGIN;
        let mut lines: Vec<Vec<(TaskKind, &str)>> = Vec::new();
        let mut x = room;
        for (kind, words) in LEGEND {
            let width = legend_width(words);
            match lines.last_mut() {
                Some(line) if x + width <= room => line.push((kind, words)),
                _ => {
                    x = MARGIN;
                    lines.push(vec![(kind, words)]);
                }
            }
            x += width;
        }
        lines
    }

    fn legend_height(&self) -> f64 {
        self.legend_lines().len() as f64 * LEGEND_LINE + 2.0
    }

    fn tasks(&self) -> impl Iterator<Item = &'a Task> {
        let tasks = self.schedule.tasks.iter();
        tasks.filter(|task| self.shows(task.start, task.end))
    }

    /// The parts in the order in which they are begun, work for all of them first.
    fn rows(&self) -> Vec<Row<'a>> {
        let mut rows: Vec<Row> = Vec::new();
        for task in self.tasks() {
            let name = if task.part.is_empty() {
                "whole site"
            } else {
                &task.part
            };
            let at = rows.iter().position(|row| row.name == name);
            let at = at.unwrap_or_else(|| {
                rows.push(Row {
                    name: name.to_owned(),
                    lanes: Vec::new(),
                });
                rows.len() - 1
            });
            let lanes = &mut rows[at].lanes;
            let free = |lane: &Vec<&Task>| lane.last().is_none_or(|last| last.end <= task.start);
            match lanes.iter().position(free) {
                Some(lane) => lanes[lane].push(task),
                None => lanes.push(vec![task]),
            }
        }
        rows
    }
}
