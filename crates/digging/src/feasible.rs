//! Whether a method can do a stretch, and if not, why, in numbers.

use crate::contents::{Layout, Thing};
use crate::{pull, section};
use job::prices::MethodKind;
use job::{Job, Method, MethodId};
use quantity::{Amount, Length, Ratio, Style};
use routes::{Lack, LineKind, StretchGround, Zone};

/// Everything that speaks against a method on a stretch, apart from the length of its run; empty if
/// it can do it.
///
/// Under paving there is only the sleeve, and the sleeve is only for paving; these and a slope
/// below what a method is meant for stand alone, since the rest says nothing then.
pub fn objections(
    job: &Job,
    id: &MethodId,
    method: &Method,
    ground: &StretchGround,
    sleeved: bool,
    layout: &Layout,
) -> Vec<String> {
    if let Some(why) = misplaced(job, method, ground, sleeved) {
        return vec![why];
    }
    let mut why = zones(job, method, ground);
    why.extend(
        ground
            .blocked
            .iter()
            .filter(|b| b.method == *id)
            .map(|b| b.why.clone()),
    );
    why.extend(no_room_beside(job, id, ground));
    why.extend(slope(method, ground.slope));
    why.extend(stones(job, method, ground));
    why.extend(pace(job, method, ground));
    why.extend(pipes(job, method, layout));
    why.extend(depth(job, method, ground, layout));
    why.extend(shallow(job, method, ground, layout));
    why.extend(width(job, method, layout));
    why.extend(pull::objections(job, method, ground, layout));
    why
}

/// Why a run is too short for a method, if it is.
pub fn short_run(job: &Job, method: &Method, run: Length) -> Option<String> {
    let least = method.shortest_run.value;
    (run < least).then(|| {
        format!(
            "starts no run under {}; here {}",
            least.amount().show(job.units),
            run.amount().show(job.units)
        )
    })
}

/// Why a method starts nowhere on a run: something stands beyond both its ends.
pub fn no_room_beyond(job: &Job, lack: &Lack) -> String {
    format!(
        "stands beyond an end of its run; {} to {}, {} needed",
        lack.clear.amount().show(job.units),
        lack.by,
        lack.needed.amount().show(job.units)
    )
}

/// Room beside the run, on the roomier side.
fn no_room_beside(job: &Job, id: &MethodId, ground: &StretchGround) -> Option<String> {
    let tight = ground.tight.iter().find(|tight| tight.method == *id)?;
    let lack = tight.side.as_ref()?;
    Some(format!(
        "works with {} on one side of the trench's middle; {} to {}",
        lack.needed.small().show(job.units),
        lack.clear.small().show(job.units),
        lack.by
    ))
}

fn misplaced(job: &Job, method: &Method, ground: &StretchGround, sleeved: bool) -> Option<String> {
    let is_sleeve = method.kind == MethodKind::Sleeve;
    if sleeved && !is_sleeve {
        return Some(format!(
            "{} is crossed only through a sleeve",
            ground.surface.label()
        ));
    }
    if !sleeved && is_sleeve {
        return Some("only under paving".to_owned());
    }
    if !sleeved && ground.surface.is_paved() {
        return Some(format!(
            "{} is not opened, and no sleeve is planned here",
            ground.surface.label()
        ));
    }
    let least = method.min_slope.as_ref()?.value;
    (ground.slope < least).then(|| {
        format!(
            "meant for slopes from {}; here {}",
            percent(job, least),
            percent(job, ground.slope)
        )
    })
}

/// In a hand-dig zone only hand work and sleeves are left.
fn zones(job: &Job, method: &Method, ground: &StretchGround) -> Vec<String> {
    if matches!(method.kind, MethodKind::Hand | MethodKind::Sleeve) {
        return Vec::new();
    }
    ground.zones.iter().map(|z| zone_reason(job, z)).collect()
}

/// Why a zone keeps machines out, with its measure.
pub fn zone_reason(job: &Job, zone: &Zone) -> String {
    let practice = &job.practice;
    match zone {
        Zone::Utility(id) => {
            let class = job.survey.utilities.iter().find(|u| u.id == *id);
            let class = class.map_or("buried service", |u| u.class.label());
            format!(
                "within {} of {class} line {id} one digs by hand",
                small(job, practice.utility.tolerance.value)
            )
        }
        Zone::Roots(id) => {
            let tree = job.survey.trees.iter().find(|t| t.id == *id);
            match tree {
                Some(tree) => format!(
                    "inside the {} root zone of tree {id} one digs by hand",
                    job.root_radius(tree).amount().show(job.units)
                ),
                None => format!("in the root zone of tree {id} one digs by hand"),
            }
        }
        Zone::Structure(id) => format!(
            "within {} of {id} one digs by hand",
            small(job, practice.clearance.hand_reach.value)
        ),
    }
}

fn slope(method: &Method, slope: Ratio) -> Option<String> {
    let most = method.max_slope.value;
    (slope > most).then(|| {
        format!(
            "works on slopes up to {:.0}%; here {:.0}%",
            most.to_percent(),
            slope.to_percent()
        )
    })
}

fn stones(job: &Job, method: &Method, ground: &StretchGround) -> Vec<String> {
    let mut why = Vec::new();
    let (most, here) = (method.max_coarse.value, ground.soil.coarse);
    if here > most {
        why.push(format!(
            "copes with {:.0}% stones by volume; here {:.0}%",
            most.to_percent(),
            here.to_percent()
        ));
    }
    if let (Some(most), Some(here)) = (&method.max_stone, ground.soil.stone)
        && here > most.value
    {
        why.push(format!(
            "copes with stones up to {}; here up to {}",
            small(job, most.value),
            small(job, here)
        ));
    }
    why
}

/// A method that goes by pace needs one for the soil.
fn pace(job: &Job, method: &Method, ground: &StretchGround) -> Option<String> {
    let texture = ground.soil.texture;
    let class = &job.practice.texture[&texture].value;
    let missing = method.kind != MethodKind::Hand
        && method
            .pace
            .get(class)
            .is_none_or(|pace| pace.value.to_mps() <= 0.0);
    missing.then(|| format!("the price book gives no pace for it in {class}"))
}

fn pipes(job: &Job, method: &Method, layout: &Layout) -> Vec<String> {
    let mut why = Vec::new();
    for (thing, _) in &layout.placed {
        why.extend(material(method, thing));
        why.extend(exposed(job, method, thing));
        why.extend(thickness(job, method, thing));
    }
    why.extend(together(method, layout));
    why
}

fn material(method: &Method, thing: &Thing) -> Option<String> {
    let material = thing.material?;
    (!method.materials.contains(&material))
        .then(|| format!("not for {} pipe ({})", material.label(), thing.what))
}

/// On the surface lies only what is not always under pressure or live.
fn exposed(job: &Job, method: &Method, thing: &Thing) -> Option<String> {
    let lateral = matches!(thing.kind, LineKind::Lateral(_));
    (method.kind == MethodKind::Surface && !lateral).then(|| {
        format!(
            "{} needs {} of cover",
            thing.what,
            small(job, thing.cover.value)
        )
    })
}

fn thickness(job: &Job, method: &Method, thing: &Thing) -> Option<String> {
    let most = method.max_outside.as_ref()?.value;
    (thing.outside > most).then(|| {
        format!(
            "takes pipe up to {} outside; {} has {}",
            small(job, most),
            thing.what,
            small(job, thing.outside)
        )
    })
}

/// A bundle of wires counts as one thing.
fn together(method: &Method, layout: &Layout) -> Option<String> {
    let most = method.max_together.as_ref()?.value as usize;
    let here = layout.placed.len();
    (here > most).then(|| format!("puts in {most} at once; here lie {here}"))
}

/// How deep a method has to go for what lies in a stretch.
pub fn depth_by(job: &Job, method: &Method, ground: &StretchGround, layout: &Layout) -> Length {
    match method.kind {
        MethodKind::Surface => Length::ZERO,
        MethodKind::Pull | MethodKind::Sleeve => layout.underside,
        MethodKind::Hand | MethodKind::Trench => {
            section::trench(&job.practice, &ground.soil, layout, layout.width).depth
        }
    }
}

fn depth(job: &Job, method: &Method, ground: &StretchGround, layout: &Layout) -> Option<String> {
    let most = method.max_depth.value;
    let here = depth_by(job, method, ground, layout);
    (here > most).then(|| {
        format!(
            "reaches {} deep; here {}",
            small(job, most),
            small(job, here)
        )
    })
}

fn shallow(job: &Job, method: &Method, ground: &StretchGround, layout: &Layout) -> Option<String> {
    let least = method.min_depth.as_ref()?.value;
    let here = depth_by(job, method, ground, layout);
    (here < least).then(|| {
        format!(
            "goes at least {} deep; here {}",
            small(job, least),
            small(job, here)
        )
    })
}

/// Only a machine that cuts a trench is bound to its widths: by hand one digs wider where needed,
/// and nothing else opens a trench.
fn width(job: &Job, method: &Method, layout: &Layout) -> Option<String> {
    let widest = method.cut_width.value.0.last().copied();
    let fits = section::cut_width(&method.cut_width.value, layout.width).is_some();
    (method.kind == MethodKind::Trench && !fits).then(|| {
        format!(
            "cuts {} wide at most; here {} is needed",
            small(job, widest.unwrap_or(Length::ZERO)),
            small(job, layout.width)
        )
    })
}

fn small(job: &Job, length: Length) -> String {
    length.small().show(job.units)
}

fn percent(job: &Job, ratio: Ratio) -> String {
    Amount::new(ratio.to_one(), Style::Percent).show(job.units)
}
