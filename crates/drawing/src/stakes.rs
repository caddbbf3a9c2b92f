//! The points to mark with their numbers, the line along which stations count, and what tapes are held at.

use crate::Scene;
use crate::area::{FIXED, draw_fixed};
use crate::labels::{Label, Placing, Weight};
use crate::style::{INK, SMALL_TEXT, TEXT};
use crate::svg::{Point, Svg, closed_path, open_path};
use crate::tags::at_point;
use plan::staking::{Baseline, Role};
use std::collections::BTreeSet;

/// Half the mark of a point.
const STAKE: f64 = 1.0;
const LINE: &str = "stroke=\"#111111\" stroke-width=\"0.45\" stroke-dasharray=\"6 1.2 1 1.2\"";

pub fn draw(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    let staking = &scene.plan.staking;
    if let Some(line) = &staking.baseline {
        draw_baseline(svg, scene, line, placing);
    }
    for (at, _) in held(scene)
        .into_iter()
        .filter(|(at, _)| scene.window.holds(*at))
    {
        draw_fixed(svg, at);
        placing.keep_off(at, FIXED);
    }
    for point in &staking.points {
        let at = scene.view.point(point.at);
        // A component has a symbol already.
        if scene.window.holds(at) && point.roles.iter().all(|role| is_bare(*role)) {
            draw_stake(svg, at);
            placing.keep_off(at, STAKE);
        }
    }
}

/// Whether nothing is set there that has a symbol of its own.
fn is_bare(role: Role) -> bool {
    matches!(
        role,
        Role::Junction | Role::End | Role::Bend | Role::Crossing | Role::SleeveEnd
    )
}

/// A cross that lies.
pub fn draw_stake(svg: &mut Svg, at: Point) {
    let r = STAKE;
    let arms = [(r, r), (r, -r)].map(|(x, y)| {
        open_path(&[
            Point::new(at.x - x, at.y - y),
            Point::new(at.x + x, at.y + y),
        ])
    });
    svg.path(&arms.concat(), "stroke=\"#ffffff\" stroke-width=\"1.3\"");
    svg.path(
        &arms.concat(),
        &format!("stroke=\"{INK}\" stroke-width=\"0.5\""),
    );
}

fn draw_baseline(svg: &mut Svg, scene: &Scene, line: &Baseline, placing: &mut Placing) {
    let [from, to] = [line.from, line.to].map(|at| scene.view.point(at));
    draw_line(svg, from, to);
    placing.avoid_line(&[from, to], 0.8);
}

/// A line of dashes and dots with a head at its end.
pub fn draw_line(svg: &mut Svg, from: Point, to: Point) {
    svg.line(from, to, LINE);
    let back = (from.y - to.y).atan2(from.x - to.x);
    let head = [to, to.off(back + 0.35, 3.2), to.off(back - 0.35, 3.2)];
    svg.path(&closed_path(&head), &format!("fill=\"{INK}\""));
}

/// The fixed points of ties and checks, each once, with its name.
fn held<'a>(scene: &Scene<'a>) -> Vec<(Point, &'a str)> {
    let staking = &scene.plan.staking;
    let ties = staking.points.iter().filter_map(|point| point.tie.as_ref());
    let used: BTreeSet<usize> = ties
        .flat_map(|tie| [Some(tie.first), Some(tie.second), tie.check])
        .flatten()
        .map(|distance| distance.fixed)
        .collect();
    named(scene, used)
}

/// Fixed points by their index in the plan, with their names.
pub fn named<'a>(scene: &Scene<'a>, used: BTreeSet<usize>) -> Vec<(Point, &'a str)> {
    let all = &scene.plan.staking.fixed;
    let fixed = used.into_iter().filter_map(|i| all.get(i));
    fixed
        .map(|fixed| (scene.view.point(fixed.at), fixed.name.as_str()))
        .collect()
}

pub fn labels(scene: &Scene) -> Vec<Label> {
    let fixed = held(scene).into_iter().map(|(at, name)| {
        let mut label = at_point(
            vec![name.to_owned()],
            SMALL_TEXT,
            Weight::Warning,
            at,
            FIXED,
        );
        label.bold = true;
        label
    });
    let stakes = scene.plan.staking.points.iter().map(|point| {
        let number = point.id.trim_start_matches("STK").to_owned();
        let at = scene.view.point(point.at);
        at_point(vec![number], TEXT, Weight::Head, at, STAKE)
    });
    let start = scene.plan.staking.baseline.iter().map(|line| {
        let at = scene.view.point(line.from);
        at_point(
            vec!["station 0".to_owned()],
            SMALL_TEXT,
            Weight::Component,
            at,
            1.0,
        )
    });
    fixed.chain(start).chain(stakes).collect()
}
