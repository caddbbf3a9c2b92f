//! How much pressure heads have to spare: a ring around each, told by shape and not by colour.

use crate::Scene;
use crate::style::INK;
use crate::svg::{Point, Svg, open_path};
use quantity::{Pressure, Units};
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, TAU};

/// How an outlet stands; the classes are a reading aid, cut by the job's own heads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stand {
    /// Less than it needs.
    Lacks,
    /// What it needs: in this quarter of the outlets, 0 with the least to spare.
    Quarter(u8),
}

/// Radius of the ring.
const RING: f64 = 1.65;
/// Half the frame around the outlet with the least to spare.
const FRAME: f64 = 2.2;

/// The mark of one outlet.
pub struct Mark {
    pub stand: Stand,
    /// Whether it has the least to spare of its circuit.
    pub is_worst: bool,
    /// What is written beside it.
    pub note: Option<String>,
}

impl Mark {
    pub fn radius(&self) -> f64 {
        if self.is_worst || self.stand == Stand::Lacks {
            FRAME + 0.2
        } else {
            RING + 0.3
        }
    }

    pub fn draw(&self, svg: &mut Svg, at: Point) {
        draw_stand(svg, self.stand, at);
        if self.is_worst {
            draw_worst(svg, at);
        }
    }
}

/// An arc that is the longer, the more there is to spare; a heavy cross where pressure lacks.
pub fn draw_stand(svg: &mut Svg, stand: Stand, at: Point) {
    let heavy = format!("stroke=\"{INK}\" stroke-width=\"0.6\"");
    match stand {
        Stand::Lacks => {
            let (near, far) = (1.0, FRAME);
            let cross: String = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)]
                .map(|(x, y)| {
                    let on = |r: f64| Point::new(at.x + x * r, at.y + y * r);
                    open_path(&[on(near), on(far)])
                })
                .concat();
            let wide = format!("stroke=\"{INK}\" stroke-width=\"0.9\"");
            svg.path(&cross, &wide);
        }
        Stand::Quarter(0) => {}
        Stand::Quarter(3) => svg.circle(at, RING, &heavy),
        Stand::Quarter(quarters) => {
            let share = f64::from(quarters) / 4.0;
            let arc: Vec<Point> = (0..=12)
                .map(|i| at.off(f64::from(i) / 12.0 * share * TAU - FRAC_PI_2, RING))
                .collect();
            svg.path(&open_path(&arc), &heavy);
        }
    }
}

/// A square frame.
pub fn draw_worst(svg: &mut Svg, at: Point) {
    let corner = Point::new(at.x - FRAME, at.y - FRAME);
    let edge = format!("stroke=\"{INK}\" stroke-width=\"0.3\"");
    svg.rect(corner, 2.0 * FRAME, 2.0 * FRAME, &edge);
}

/// Where one quarter of the outlets that have what they need ends and the next begins.
fn cuts(scene: &Scene) -> Option<[Pressure; 3]> {
    let outlets = scene.plan.hydraulics.outlets.iter();
    let mut margins: Vec<Pressure> = outlets
        .map(|outlet| outlet.margin)
        .filter(|margin| *margin >= Pressure::pa(0.0))
        .collect();
    margins.sort_by(|a, b| a.to_pa().total_cmp(&b.to_pa()));
    let count = margins.len();
    (count > 0).then(|| [1, 2, 3].map(|quarter| margins[(count * quarter / 4).min(count - 1)]))
}

fn stand(margin: Pressure, cuts: Option<[Pressure; 3]>) -> Stand {
    if margin < Pressure::pa(0.0) {
        return Stand::Lacks;
    }
    let below = cuts.map_or(0, |cuts| cuts.iter().filter(|cut| margin >= **cut).count());
    Stand::Quarter(below as u8)
}

/// The marks of all outlets, by id.
pub fn marks<'a>(scene: &Scene<'a>) -> BTreeMap<&'a str, Mark> {
    let hydraulics = &scene.plan.hydraulics;
    let cuts = cuts(scene);
    let worst: BTreeMap<&str, &str> = hydraulics
        .circuits
        .iter()
        .map(|circuit| (circuit.circuit.as_str(), circuit.worst_outlet.as_str()))
        .collect();
    let outlets = hydraulics.outlets.iter();
    outlets
        .map(|outlet| {
            let stand = stand(outlet.margin, cuts);
            let is_worst = worst.get(outlet.circuit.as_str()) == Some(&outlet.outlet.as_str());
            let show = |pressure: Pressure| pressure.amount().show(scene.units);
            let note = match stand {
                Stand::Lacks => Some(show(outlet.margin).replace('-', "−")),
                Stand::Quarter(_) if is_worst => {
                    let spare = outlet.margin.amount().parts(scene.units).0;
                    Some(format!("{}, {spare} to spare", show(outlet.pressure)))
                }
                Stand::Quarter(_) => None,
            };
            let mark = Mark {
                stand,
                is_worst,
                note,
            };
            (outlet.outlet.as_str(), mark)
        })
        .collect()
}

/// What a class means, with its numbers.
pub fn words(scene: &Scene, stand: Stand) -> String {
    let number = |pressure: Pressure, units: Units| pressure.amount().parts(units).0;
    let unit = Pressure::pa(0.0).amount().parts(scene.units).1;
    let Some(cuts) = cuts(scene) else {
        return "lacks pressure".to_owned();
    };
    let cut = cuts.map(|cut| number(cut, scene.units));
    match stand {
        Stand::Lacks => "lacks pressure: by how much".to_owned(),
        Stand::Quarter(0) => format!("less than {} {unit} to spare", cut[0]),
        Stand::Quarter(1) => format!("{} to {} {unit} to spare", cut[0], cut[1]),
        Stand::Quarter(2) => format!("{} to {} {unit} to spare", cut[1], cut[2]),
        Stand::Quarter(_) => format!("{} {unit} or more to spare", cut[2]),
    }
}
