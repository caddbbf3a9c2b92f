//! How far cost and days may be from the plan: the curve of chances, the days, and what moves the cost.
//!
//! Told by length and line alone, so that it reads in black and white.

use crate::style::{INK, SMALL_TEXT, TEXT};
use crate::svg::{Anchor, Point, Svg, Text, open_path};
use plan::Plan;
use plan::risk::Cause;
use quantity::Money;

const WIDTH: f64 = 190.0;
const LEFT: f64 = 22.0;
const RIGHT: f64 = 182.0;

/// The plot of the curve of chances.
const CURVE_TOP: f64 = 30.0;
const CURVE_BOTTOM: f64 = 95.0;

/// The plot of the days.
const DAYS_TOP: f64 = 128.0;
const DAYS_BOTTOM: f64 = 158.0;

/// Where the list of causes begins, and what one takes.
const CAUSES_TOP: f64 = 178.0;
const CAUSE: f64 = 6.0;
const TOLD: usize = 8;
const BARS_FROM: f64 = 84.0;

const FINE: f64 = 0.2;
const BROAD: f64 = 0.7;

/// The picture as the text of an SVG file in millimetres; nothing where no trials were drawn.
pub fn svg(plan: &Plan) -> Option<String> {
    let risk = &plan.risk;
    let (first, last) = (*risk.quantiles.first()?, *risk.quantiles.last()?);
    let causes: Vec<&Cause> = risk.causes.iter().take(TOLD).collect();
    let height = CAUSES_TOP + CAUSE * (causes.len() as f64 + 1.0) + 4.0;
    let mut svg = Svg::new(WIDTH, height);
    let axis = Axis::over(plan, first, last);
    write_head(&mut svg, plan);
    draw_curve(&mut svg, plan, &axis);
    draw_marks(&mut svg, plan, &axis);
    draw_days(&mut svg, plan);
    draw_causes(&mut svg, &causes);
    Some(svg.finish())
}

/// Costs along the sheet.
struct Axis {
    from: f64,
    to: f64,
    step: f64,
}

impl Axis {
    /// From the least to the greatest cost of the trials, the plan's among them, in round steps.
    fn over(plan: &Plan, first: Money, last: Money) -> Self {
        let cost = plan.price.direct_cost().to_units();
        let low = (cost + first.to_units()).min(cost);
        let high = (cost + last.to_units()).max(cost);
        let rough = ((high - low) / 5.0).max(0.01);
        let decade = 10.0_f64.powi(rough.log10().floor() as i32);
        let round = [1.0, 2.0, 5.0, 10.0].map(|times| times * decade);
        let step = round.into_iter().find(|s| *s >= rough).unwrap_or(rough);
        Self {
            from: (low / step).floor() * step,
            to: ((high / step).ceil() * step).max((low / step).floor() * step + step),
            step,
        }
    }

    fn x(&self, cost: f64) -> f64 {
        LEFT + (cost - self.from) / (self.to - self.from) * (RIGHT - LEFT)
    }
}

/// The height of a chance on the curve's plot.
fn chance(p: f64) -> f64 {
    CURVE_BOTTOM - p * (CURVE_BOTTOM - CURVE_TOP)
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.005 {
        return "<1 %".to_owned();
    }
    format!("{:.0} %", share * 100.0)
}

fn stroke(width: f64) -> String {
    format!("stroke=\"{INK}\" stroke-width=\"{width}\"")
}

fn write(svg: &mut Svg, at: Point, size: f64, anchor: Anchor, words: &str) {
    svg.text(&Text {
        at,
        turn: 0.0,
        size,
        anchor,
        attributes: &format!("fill=\"{INK}\""),
        words,
    });
}

fn write_head(svg: &mut Svg, plan: &Plan) {
    let risk = &plan.risk;
    let name = if plan.invented {
        format!("{} — INVENTED PROPERTY", plan.job)
    } else {
        plan.job.clone()
    };
    write(svg, Point::new(8.0, 9.0), 1.3 * TEXT, Anchor::Start, &name);
    let words = format!(
        "Cost before overhead and contingency, {}: chance that it is not exceeded, of {} trials, seed {}",
        plan.price.currency,
        quantity::group_thousands(&risk.trials.to_string()),
        risk.seed,
    );
    write(svg, Point::new(8.0, 16.0), TEXT, Anchor::Start, &words);
}

fn draw_curve(svg: &mut Svg, plan: &Plan, axis: &Axis) {
    for tenth in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let y = chance(tenth);
        svg.line(Point::new(LEFT, y), Point::new(RIGHT, y), &stroke(FINE));
        let words = percent(tenth);
        write(
            svg,
            Point::new(9.0, y + 1.0),
            SMALL_TEXT,
            Anchor::Start,
            &words,
        );
    }
    let ticks = ((axis.to - axis.from) / axis.step).round() as u32;
    for tick in 0..=ticks {
        let cost = axis.from + f64::from(tick) * axis.step;
        let x = axis.x(cost);
        let foot = Point::new(x, CURVE_BOTTOM + 1.5);
        svg.line(Point::new(x, CURVE_BOTTOM), foot, &stroke(FINE));
        let words = quantity::group_thousands(&format!("{cost:.0}"));
        let at = Point::new(x, CURVE_BOTTOM + 5.0);
        write(svg, at, SMALL_TEXT, Anchor::Middle, &words);
    }
    let quantiles = &plan.risk.quantiles;
    let steps = quantiles.len().saturating_sub(1).max(1) as f64;
    let points: Vec<Point> = quantiles
        .iter()
        .enumerate()
        .map(|(step, change)| {
            let cost = (plan.price.direct_cost() + *change).to_units();
            Point::new(axis.x(cost), chance(step as f64 / steps))
        })
        .collect();
    svg.path(&open_path(&points), &stroke(BROAD));
}

/// The plan's cost, the three quantiles and the contingency.
fn draw_marks(svg: &mut Svg, plan: &Plan, axis: &Axis) {
    let (risk, cost) = (&plan.risk, plan.price.direct_cost());
    let x = axis.x(cost.to_units());
    let heavy = stroke(0.5);
    svg.line(
        Point::new(x, CURVE_TOP - 7.0),
        Point::new(x, CURVE_BOTTOM),
        &heavy,
    );
    let words = format!("plan {cost}, kept in {} of them", percent(risk.within_plan));
    let at = Point::new(x + 1.0, CURVE_TOP - 4.5);
    write(svg, at, SMALL_TEXT, Anchor::Start, &words);
    let end = axis.x((cost + risk.contingency).to_units());
    let y = chance(risk.confidence.to_one());
    let (from, to) = (Point::new(x, y), Point::new(end, y));
    svg.line(from, to, &format!("{heavy} stroke-dasharray=\"3 1\""));
    for (row, (name, change, p)) in [
        ("P10", risk.cost.p10, 0.1),
        ("P50", risk.cost.p50, 0.5),
        ("P90", risk.cost.p90, 0.9),
    ]
    .into_iter()
    .enumerate()
    {
        let at = Point::new(axis.x((cost + change).to_units()), chance(p));
        let foot = Point::new(at.x, CURVE_BOTTOM);
        let dashes = format!("{} stroke-dasharray=\"1 1\"", stroke(0.3));
        svg.line(at, foot, &dashes);
        svg.circle(at, 1.1, &format!("fill=\"#ffffff\" {}", stroke(0.4)));
        let words = format!("{name} {}", cost + change);
        let place = Point::new(LEFT + 54.0 * row as f64, CURVE_BOTTOM + 11.0);
        write(svg, place, TEXT, Anchor::Start, &words);
    }
    let words = format!(
        "Dashed: contingency {} for {:.0} %, standard error {}",
        risk.contingency,
        risk.confidence.to_percent(),
        risk.contingency_error,
    );
    write(
        svg,
        Point::new(LEFT, CURVE_BOTTOM + 17.0),
        TEXT,
        Anchor::Start,
        &words,
    );
}

fn draw_days(svg: &mut Svg, plan: &Plan) {
    let shares = &plan.risk.day_shares;
    let days = &plan.risk.days;
    let words = format!(
        "Working days on site: plan {}, P10 {}, P50 {}, P90 {}",
        plan.schedule.days.len(),
        days.p10,
        days.p50,
        days.p90,
    );
    write(
        svg,
        Point::new(8.0, DAYS_TOP - 5.0),
        TEXT,
        Anchor::Start,
        &words,
    );
    let base = [
        Point::new(LEFT, DAYS_BOTTOM),
        Point::new(RIGHT, DAYS_BOTTOM),
    ];
    svg.line(base[0], base[1], &stroke(FINE));
    let (Some(first), Some(last)) = (shares.first(), shares.last()) else {
        return;
    };
    let most = shares.iter().map(|one| one.share).fold(0.0, f64::max);
    let room = (RIGHT - LEFT) / f64::from(last.days - first.days + 1);
    let bar = (room * 0.8).min(16.0);
    let every = (9.0 / room).ceil().max(1.0) as u32;
    for one in shares {
        let middle = LEFT + room * (f64::from(one.days - first.days) + 0.5);
        let high = one.share / most * (DAYS_BOTTOM - DAYS_TOP - 5.0);
        let corner = Point::new(middle - bar / 2.0, DAYS_BOTTOM - high);
        svg.rect(
            corner,
            bar,
            high,
            &format!("fill=\"#d9d9d9\" {}", stroke(0.3)),
        );
        if (one.days - first.days) % every == 0 {
            let words = one.days.to_string();
            let at = Point::new(middle, DAYS_BOTTOM + 4.0);
            write(svg, at, SMALL_TEXT, Anchor::Middle, &words);
            let at = Point::new(middle, corner.y - 1.0);
            write(svg, at, SMALL_TEXT, Anchor::Middle, &percent(one.share));
        }
    }
}

fn draw_causes(svg: &mut Svg, causes: &[&Cause]) {
    let words = "What moves the cost: share of its variance; from the low end to the high";
    write(
        svg,
        Point::new(8.0, CAUSES_TOP - 5.0),
        TEXT,
        Anchor::Start,
        words,
    );
    let most = causes.iter().map(|cause| cause.share).fold(1e-9, f64::max);
    for (row, cause) in causes.iter().enumerate() {
        let y = CAUSES_TOP + CAUSE * row as f64;
        let line = y + 3.6;
        write(
            svg,
            Point::new(8.0, line),
            TEXT,
            Anchor::Start,
            &short(&cause.what),
        );
        let wide = cause.share / most * 40.0;
        let look = format!("fill=\"#d9d9d9\" {}", stroke(0.3));
        svg.rect(Point::new(BARS_FROM, y + 0.6), wide, CAUSE - 1.6, &look);
        let words = format!("{:.1} %", cause.share * 100.0);
        let at = Point::new(BARS_FROM + wide + 1.5, line);
        write(svg, at, SMALL_TEXT, Anchor::Start, &words);
        let words = format!("{} to {}", cause.at_low, cause.at_high);
        write(
            svg,
            Point::new(142.0, line),
            SMALL_TEXT,
            Anchor::Start,
            &words,
        );
    }
}

/// Ids of a job may be long.
fn short(words: &str) -> String {
    const MOST: usize = 44;
    if words.chars().count() <= MOST {
        return words.to_owned();
    }
    words.chars().take(MOST - 1).chain(['…']).collect()
}
