//! Trenches: where they run, how each is put in, what they meet.

use ::job::Job;
use ::plan::Plan;
use ::plan::digging::{CrossingCheck, Dig, Meeting, Narrow, Passes, Verdict};
use ::plan::routes::{Stretch, StretchId};
use layers::words;
use quantity::Style;
use serde::Serialize;
use std::collections::BTreeSet;
use utoipa::ToSchema;

use super::figures::Reader;
use super::{Fig, PlaceView, Plane};

/// A method with how its trenches are drawn.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct MethodView {
    /// Its key in the price book.
    pub id: String,
    /// What people call it.
    pub label: String,
    /// How its trenches are drawn, here as on paper.
    pub style: StyleView,
    /// What it puts in.
    pub length: Fig,
    /// What that costs, hire left out.
    pub cost: Fig,
    /// Whether it puts anything in.
    pub used: bool,
}

/// How a line is drawn.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct StyleView {
    /// A colour, as CSS writes it.
    pub colour: String,
    /// Width of the line, mm on paper.
    pub weight: f64,
    /// Lengths of its dashes and gaps, mm on paper; empty for a whole line.
    pub dashes: Vec<f64>,
    /// Whether a light line runs along its middle.
    pub hollow: bool,
}

/// A stretch of trench.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct StretchView {
    /// Its id, such as `S12`.
    pub id: String,
    /// Where it runs.
    pub path: Vec<PlaceView>,
    /// Key of the method that puts it in.
    pub method: String,
    /// Why that one.
    pub reason: String,
    /// The next best, and what it costs more.
    #[schema(required)]
    pub runner_up: Option<String>,
    /// Methods that cannot, and why.
    pub rejected: Vec<RejectedView>,
    /// What stands at its one end.
    pub from: String,
    /// What stands at its other end.
    pub to: String,
    /// Its length.
    pub length: Fig,
    /// How deep it is.
    pub depth: Fig,
    /// How wide it is.
    pub width: Fig,
    /// What it costs, hire left out.
    pub cost: Fig,
    /// How long it takes.
    pub hours: Fig,
    /// What lies in it.
    pub contents: String,
    /// Where one digs by hand; empty if nowhere.
    pub zones: String,
    /// Surface and soil.
    pub ground: String,
    /// Across it.
    pub section: SectionView,
    /// The first working day at whose evening it stands open.
    #[schema(required)]
    pub opened: Option<u32>,
    /// The last one.
    #[schema(required)]
    pub closed: Option<u32>,
    /// Whether an error or a warning of the plan names it.
    pub conflict: bool,
}

/// A method that cannot do a stretch.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RejectedView {
    /// What people call it.
    pub method: String,
    /// Why it cannot.
    pub why: String,
}

/// A trench across, in metres: 0 is the surface, down is positive.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SectionView {
    /// Whether the pipe is pulled in and no trench is open.
    pub pulled: bool,
    /// Whether it lies in a sleeve under paving.
    pub sleeve: bool,
    /// How deep it is.
    pub depth: f64,
    /// Width at the bottom.
    pub width: f64,
    /// Width at the surface.
    pub top_width: f64,
    /// Bedding below the pipe.
    pub bedding: f64,
    /// How high the fill is left above the surface.
    pub crown: f64,
    /// In how many lifts it is filled.
    pub lifts: u32,
    /// What lies in it.
    pub contents: Vec<ContentView>,
    /// Tape and tracer above it.
    pub markers: Vec<MarkerView>,
}

/// What lies in a trench.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ContentView {
    /// What it is.
    pub what: String,
    /// Outside diameter.
    pub outside: f64,
    /// How many lie there.
    pub count: u32,
    /// Depth of its middle.
    pub middle: f64,
    /// From the surface to its top.
    pub cover: Fig,
}

/// Tape or tracer.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct MarkerView {
    /// What it marks.
    pub what: String,
    /// From the surface to it.
    pub cover: f64,
}

/// Where a trench meets a service of others.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CrossingView {
    /// The stretch.
    pub stretch: String,
    /// The service's id.
    pub utility: String,
    /// What it is.
    pub service: String,
    /// Where.
    pub at: PlaceView,
    /// How, and what is to be done first.
    pub words: String,
    /// Whether the separation is enough.
    pub verdict: VerdictView,
    /// Whether it is exposed by hand first.
    pub expose: bool,
}

/// Whether a separation is enough.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum VerdictView {
    /// As far apart as the practice asks, if the survey is right.
    Enough,
    /// The survey does not know enough to tell.
    Unknown,
    /// Closer than the practice allows.
    TooClose,
}

/// A gap too narrow for some machine.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct NarrowView {
    /// Its one side.
    pub from: PlaceView,
    /// Its other side.
    pub to: PlaceView,
    /// How wide it is.
    pub clear: Fig,
    /// Between what.
    pub words: String,
    /// Whom it keeps away.
    pub keeps_away: Vec<KeepsAway>,
}

/// How far the roots of a tree are protected.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RootsView {
    /// The tree.
    pub tree: String,
    /// The radius, in the job's length unit.
    pub radius: f64,
}

/// A method that a gap keeps away.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct KeepsAway {
    /// What people call it.
    pub method: String,
    /// The width that it needs.
    pub needed: Fig,
}

pub fn methods(job: &Job, reader: Reader<'_>) -> Vec<MethodView> {
    let uses = reader.plan.digging.methods.iter();
    let views = uses.map(|used| {
        let style = drawing::trench_style(job, &used.method);
        let dashes = style.dashes.split_whitespace();
        MethodView {
            id: used.method.to_string(),
            label: used.label.clone(),
            style: StyleView {
                colour: style.colour.to_owned(),
                weight: style.weight,
                dashes: dashes.filter_map(|dash| dash.parse().ok()).collect(),
                hollow: style.hollow,
            },
            length: reader.fig(
                used.puts_in.amount(),
                &format!("method.{}.length", used.method),
            ),
            cost: reader.money(used.cost, &format!("method.{}.cost", used.method)),
            used: used.stretches > 0,
        }
    });
    views.collect()
}

pub fn stretches(job: &Job, plane: Plane, reader: Reader<'_>) -> Vec<StretchView> {
    let named: BTreeSet<&str> = reader
        .plan
        .findings
        .iter()
        .filter(|finding| finding.severity != ::job::Severity::Caution)
        .map(|finding| finding.subject.as_str())
        .collect();
    let digs = reader.plan.digging.digs.iter();
    digs.map(|dig| {
        let stretch = reader.plan.network.stretch(dig.stretch);
        let conflict = named.contains(dig.stretch.to_string().as_str());
        let (opened, closed) = open(reader.plan, dig.stretch);
        let of = |figure: &str| format!("stretch.{}.{figure}", dig.stretch);
        let section = &dig.section;
        StretchView {
            id: dig.stretch.to_string(),
            path: plane.path(&stretch.path),
            method: dig.method.to_string(),
            reason: dig.reason.clone(),
            runner_up: dig.next_best.as_ref().map(|next| {
                let method = words::method(job, &next.method);
                format!("{method}, {} more", reader.show(next.extra.amount()))
            }),
            rejected: rejected(job, dig),
            from: words::node(job, reader.plan, stretch.from),
            to: words::node(job, reader.plan, stretch.to),
            length: reader.fig(stretch.length.amount(), &of("length")),
            depth: reader.styled(section.depth.si(), Style::SmallLength, &of("depth")),
            width: reader.styled(section.width.si(), Style::SmallLength, &of("width")),
            cost: reader.money(dig.cost, &of("cost")),
            hours: reader.fig(dig.hours.amount(), &of("hours")),
            contents: words::contents(dig),
            zones: words::zones(stretch),
            ground: format!(
                "{} on {}",
                stretch.ground.surface.label(),
                stretch.ground.soil.texture.label()
            ),
            section: section_view(dig, stretch, reader),
            opened,
            closed,
            conflict,
        }
    })
    .collect()
}

fn rejected(job: &Job, dig: &Dig) -> Vec<RejectedView> {
    let rejected = dig.rejected.iter().map(|other| RejectedView {
        method: words::method(job, &other.method),
        why: other.why.clone(),
    });
    rejected.collect()
}

/// The first and the last evening at which a stretch stands open.
fn open(plan: &Plan, id: StretchId) -> (Option<u32>, Option<u32>) {
    let days = plan.schedule.days.iter();
    let mut open = days.filter(|day| day.open_stretches.contains(&id));
    let first = open.next().map(|day| day.day);
    (first, open.next_back().map(|day| day.day).or(first))
}

fn section_view(dig: &Dig, stretch: &Stretch, reader: Reader<'_>) -> SectionView {
    let section = &dig.section;
    let contents = section.contents.iter().map(|content| ContentView {
        what: content.what.clone(),
        outside: content.outside.si(),
        count: content.count,
        middle: content.middle.si(),
        cover: reader.styled(content.cover.si(), Style::SmallLength, ""),
    });
    let markers = section.markers.iter().map(|marker| MarkerView {
        what: marker.marks.clone(),
        cover: marker.cover.si(),
    });
    SectionView {
        pulled: dig.pull.is_some(),
        sleeve: stretch.sleeve.is_some(),
        depth: section.depth.si(),
        width: section.width.si(),
        top_width: section.top_width.si(),
        bedding: section.bedding.si(),
        crown: dig.earth.crown.si(),
        lifts: dig.earth.lifts,
        contents: contents.collect(),
        markers: markers.collect(),
    }
}

pub fn crossings(plane: Plane, reader: Reader<'_>) -> Vec<CrossingView> {
    let checks = reader.plan.digging.crossings.iter();
    let views = checks.map(|check| CrossingView {
        stretch: check.stretch.to_string(),
        utility: check.utility.clone(),
        service: check.service.clone(),
        at: plane.place(check.at),
        words: crossing_words(check, reader),
        verdict: match check.verdict {
            Verdict::Enough => VerdictView::Enough,
            Verdict::Unknown => VerdictView::Unknown,
            Verdict::TooClose => VerdictView::TooClose,
        },
        expose: check.expose,
    });
    views.collect()
}

fn crossing_words(check: &CrossingCheck, reader: Reader<'_>) -> String {
    let meets = match check.meeting {
        Meeting::Crosses => format!("crosses it at {}", reader.show(check.angle.amount())),
        Meeting::Along => "runs along it".to_owned(),
    };
    let vertical = check.vertical.as_ref().map(|vertical| {
        let side = match vertical.passes {
            Passes::Over => "over",
            Passes::Under => "under",
        };
        format!("{} {side} it", reader.show(vertical.clear.small()))
    });
    let beside = check
        .horizontal
        .map(|beside| format!("{} beside it", reader.show(beside.small())));
    let known = vertical
        .into_iter()
        .chain(beside)
        .collect::<Vec<_>>()
        .join(", ");
    let known = match known.is_empty() {
        true => "how far apart is not known".to_owned(),
        false => format!("{known}, if the survey is right"),
    };
    let expose = match check.expose {
        true => "expose it by hand first",
        false => "need not be exposed first",
    };
    format!("{meets}; {known}; {expose}: {}", check.expose_why)
}

pub fn narrows(job: &Job, plane: Plane, reader: Reader<'_>) -> Vec<NarrowView> {
    let narrows = reader.plan.digging.narrows.iter();
    narrows
        .map(|narrow| NarrowView {
            from: plane.place(narrow.from),
            to: plane.place(narrow.to),
            clear: reader.fig(narrow.clear.amount(), ""),
            words: between(narrow),
            keeps_away: narrow
                .keeps_away
                .iter()
                .map(|kept| KeepsAway {
                    method: words::method(job, &kept.method),
                    needed: reader.fig(kept.needed.amount(), ""),
                })
                .collect(),
        })
        .collect()
}

pub fn roots(job: &Job, plane: Plane) -> Vec<RootsView> {
    let trees = job.survey.trees.iter().map(|tree| RootsView {
        tree: tree.id.clone(),
        radius: plane.length(job.root_radius(tree)),
    });
    trees.collect()
}

fn between(narrow: &Narrow) -> String {
    match &narrow.gate {
        Some(gate) => format!("gate {gate}"),
        None => format!("between {} and {}", narrow.between[0], narrow.between[1]),
    }
}
