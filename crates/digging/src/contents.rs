//! What lies in a stretch, how deep each thing has to lie, and how they lie together.
//!
//! ```text
//!   grade ───────────────────────
//!               (c)                cable above, at its own cover
//!
//!           ( P )  ( L )  ::       pipes and wire side by side on the floor
//!          ▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒       bedding
//! ```

use hydraulics::{Hydraulics, Pipe};
use job::practice::{Cover, PipeMaterial, Role, Winter, nominal};
use job::{Job, Practice, Sourced, SurfaceKind};
use quantity::{Area, Length};
use routes::{LineKind, Network, StretchId};
use std::collections::BTreeMap;

/// One thing that lies in a stretch, before it has its place.
#[derive(Debug, Clone)]
pub struct Thing<'a> {
    /// Index into the network's lines.
    pub line: usize,
    /// What kind of line it is.
    pub kind: &'a LineKind,
    /// The material, if it is pipe.
    pub material: Option<PipeMaterial>,
    /// In words, such as `main 1-1/4 in` or `4 wires`.
    pub what: String,
    /// Outside diameter of one.
    pub outside: Length,
    /// Family, size and bore, if it is pipe and they are known.
    pub tube: Option<Tube<'a>>,
    /// How many there are; more than one lie in a bundle.
    pub count: u32,
    /// The cover that it needs.
    pub cover: &'a Sourced<Length>,
}

/// What is known of a pipe's make.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tube<'a> {
    /// The pipe family's key in the practice file.
    pub family: &'a str,
    /// The nominal size.
    pub size: &'a str,
    /// Inside diameter.
    pub inside: Length,
}

impl Tube<'_> {
    /// Wall thickness of a pipe of this make with an outside diameter.
    pub fn wall(&self, outside: Length) -> Length {
        (outside - self.inside) * 0.5
    }
}

impl Thing<'_> {
    /// Width of the bundle, as [`bundle`] has it.
    pub fn across(&self) -> Length {
        bundle(self.outside, self.count).0
    }

    /// Height of the bundle, as [`bundle`] has it.
    pub fn high(&self) -> Length {
        bundle(self.outside, self.count).1
    }
}

/// Width and height of `count` equal round things laid in rows, as near square as they go.
///
/// Packing in rows takes a little more room than a tight bundle. Nothing for a count of nought.
pub fn bundle(outside: Length, count: u32) -> (Length, Length) {
    if count == 0 {
        return (Length::ZERO, Length::ZERO);
    }
    let columns = f64::from(count).sqrt().ceil();
    let rows = (f64::from(count) / columns).ceil();
    (outside * columns, outside * rows)
}

/// What a kind of line is for, as the practice calls it.
pub fn role(kind: &LineKind) -> Role {
    match kind {
        LineKind::Service => Role::Service,
        LineKind::Main => Role::Main,
        LineKind::Lateral(_) => Role::Lateral,
        LineKind::Wire => Role::Wire,
        LineKind::Cable(_) => Role::Cable,
    }
}

/// The cover rule for a kind of line of a nominal size under a kind of surface: of all the rules that
/// hold there, the one that asks for most, of equal ones the first.
///
/// They are the role's own; for pipe, that of its size; where vehicles may stand, that for traffic;
/// and for pipe that is not drained in winter, the depth of frost. The size means nothing for wire
/// and cable.
pub fn cover_rule<'a>(
    cover: &'a Cover,
    kind: &LineKind,
    size: Length,
    surface: SurfaceKind,
) -> &'a Sourced<Length> {
    let (own, by_size) = match role(kind) {
        Role::Service | Role::Main => (&cover.main, Some(&cover.exposed_from)),
        Role::Lateral => (&cover.lateral, Some(&cover.quiet_from)),
        Role::Wire => (&cover.wire, None),
        Role::Cable => (&cover.cable, None),
    };
    let mut more: Vec<&Sourced<Length>> = Vec::new();
    more.extend(by_size.and_then(|table| Cover::by_size(table, size)));
    if surface.bears_traffic() && kind.is_pipe() {
        more.push(&cover.pipe_under_traffic);
        more.extend(Cover::by_size(&cover.exposed_from, size));
    } else if surface.bears_traffic() {
        more.push(&cover.cable_under_traffic);
    }
    if kind.is_pipe() && cover.winter.value == Winter::BelowFrost {
        more.push(&cover.frost_depth);
    }
    let deeper = |best: &'a Sourced<Length>, rule: &'a Sourced<Length>| {
        if rule.value > best.value { rule } else { best }
    };
    more.into_iter().fold(own, deeper)
}

/// Conductors in every stretch of the wire: one for each valve behind it and the common one.
pub fn conductors(network: &Network) -> BTreeMap<StretchId, u32> {
    let mut counts = BTreeMap::new();
    for line in network.lines.iter().filter(|l| l.kind == LineKind::Wire) {
        let mut behind = vec![0_u32; network.nodes.len()];
        for terminal in &line.terminals {
            behind[terminal.index()] += 1;
        }
        // Every branch follows the one that feeds it, so backwards all that lies behind is counted.
        for branch in line.branches.iter().rev() {
            let valves = behind[branch.to.index()];
            behind[branch.from.index()] += valves;
            counts.insert(branch.stretch, valves + 1);
        }
    }
    counts
}

/// What is known of the whole network's contents.
pub(crate) struct Inventory<'a> {
    job: &'a Job,
    network: &'a Network,
    pipes: BTreeMap<(usize, StretchId), &'a Pipe>,
    conductors: BTreeMap<StretchId, u32>,
}

impl<'a> Inventory<'a> {
    pub(crate) fn new(job: &'a Job, network: &'a Network, water: &'a Hydraulics) -> Self {
        let pipes = water.pipes.iter().map(|p| ((p.line, p.stretch), p));
        Self {
            job,
            network,
            pipes: pipes.collect(),
            conductors: conductors(network),
        }
    }

    /// What lies in a stretch, in the order of its lines.
    pub(crate) fn things(&self, id: StretchId) -> Vec<Thing<'a>> {
        let stretch = self.network.stretch(id);
        let surface = stretch.ground.surface;
        stretch
            .carries
            .iter()
            .map(|line| self.thing(*line, id, surface))
            .collect()
    }

    fn thing(&self, line: usize, id: StretchId, surface: SurfaceKind) -> Thing<'a> {
        let Line { kind, name } = self.line(line);
        let wire = &self.job.practice.wire;
        let pipe = self.pipes.get(&(line, id));
        let size = pipe.map_or(Length::ZERO, |p| nominal(&p.size).unwrap_or(p.outside));
        let cover = cover_rule(&self.job.practice.cover, kind, size, surface);
        let (what, outside, count) = match kind {
            LineKind::Wire => {
                let count = self.conductors.get(&id).copied().unwrap_or(2);
                (format!("{count} wires"), wire.outside.value, count)
            }
            LineKind::Cable(_) => (name.to_owned(), wire.cable_outside.value, 1),
            _ => match pipe {
                Some(pipe) => (format!("{name} {}", pipe.size), pipe.outside, 1),
                None => (format!("{name} without a size"), Length::ZERO, 1),
            },
        };
        Thing {
            line,
            kind,
            material: pipe
                .and_then(|p| self.job.practice.pipe.get(&p.family))
                .map(|f| f.material),
            what,
            outside,
            tube: pipe.map(|p| Tube {
                family: &p.family,
                size: &p.size,
                inside: p.inside,
            }),
            count,
            cover,
        }
    }

    fn line(&self, index: usize) -> Line<'a> {
        let line = &self.network.lines[index];
        Line {
            kind: &line.kind,
            name: &line.name,
        }
    }
}

struct Line<'a> {
    kind: &'a LineKind,
    name: &'a str,
}

/// How the things in a stretch lie together.
#[derive(Debug, Clone)]
pub struct Layout<'a> {
    /// From the deepest on, each with its real cover: from grade to its top.
    pub placed: Vec<(Thing<'a>, Length)>,
    /// From grade to the underside of the deepest thing, bedding left out.
    pub underside: Length,
    /// Index into `placed` of the thing whose cover decides the depth.
    pub governs: usize,
    /// Width that the things with their gaps need.
    pub width: Length,
    /// How many lie side by side where the width is decided.
    pub abreast: usize,
    /// Of each of `placed`, how far its middle is from one side of the needed width.
    pub middles: Vec<Length>,
}

impl Layout<'_> {
    /// Whether any pipe lies in it.
    pub fn has_pipe(&self) -> bool {
        self.placed.iter().any(|(thing, _)| thing.kind.is_pipe())
    }

    /// Cross-section taken up by all the things.
    pub fn displaced(&self) -> Area {
        self.placed
            .iter()
            .map(|(t, _)| round_area(t.outside) * f64::from(t.count))
            .sum()
    }

    /// Cross-section taken up by the things that begin below a height over the underside of the
    /// deepest.
    pub fn displaced_below(&self, height: Length) -> Area {
        self.placed
            .iter()
            .filter(|(t, cover)| self.underside - *cover - t.high() < height)
            .map(|(t, _)| round_area(t.outside) * f64::from(t.count))
            .sum()
    }

    /// Height of the highest pipe above the underside of the deepest thing.
    pub fn pipe_height(&self) -> Length {
        self.placed
            .iter()
            .filter(|(t, _)| t.kind.is_pipe())
            .map(|(_, cover)| self.underside - *cover)
            .fold(Length::ZERO, Length::max)
    }
}

/// Area of a circle: π d²/4.
pub fn round_area(diameter: Length) -> Area {
    diameter * diameter * std::f64::consts::FRAC_PI_4
}

/// Lays things together: pipes and wire side by side on the floor, which is as deep as the thing
/// that needs to lie deepest; cable above them at its own cover if there is its separation between,
/// else beside them.
pub fn arrange<'a>(practice: &Practice, things: Vec<Thing<'a>>) -> Layout<'a> {
    let need = |t: &Thing| t.cover.value + t.high();
    let underside = things.iter().map(need).fold(Length::ZERO, Length::max);
    let highest = things
        .iter()
        .filter(|t| !is_cable(t))
        .map(Thing::high)
        .fold(Length::ZERO, Length::max);
    let pipes_or_wire = things.iter().any(|t| !is_cable(t));
    let between = if things.iter().any(|t| t.kind.is_pipe()) {
        practice.separation.cable_over_pipe.value
    } else {
        practice.cut.gap_between.value
    };
    let above =
        |t: &Thing| is_cable(t) && pipes_or_wire && need(t) + between <= underside - highest;
    let (over, mut floor): (Vec<_>, Vec<_>) = things.into_iter().partition(above);
    floor.sort_by_key(rank);
    let rows = [abreast(practice, &floor), abreast(practice, &over)];
    let (width, abreast) = if rows[1].width > rows[0].width {
        (rows[1].width, over.len())
    } else {
        (rows[0].width, floor.len())
    };
    let on_floor = |t: Thing<'a>| {
        let cover = underside - t.high();
        (t, cover)
    };
    let mut placed: Vec<(Thing, Length)> = floor.into_iter().map(on_floor).collect();
    placed.extend(over.into_iter().map(|t| {
        let cover = t.cover.value;
        (t, cover)
    }));
    let governs = deepest(&placed);
    let middles = rows.iter().flat_map(|row| {
        let aside = (width - row.width) * 0.5;
        row.middles.iter().map(move |m| *m + aside)
    });
    Layout {
        middles: middles.collect(),
        placed,
        underside,
        governs,
        width,
        abreast,
    }
}

fn is_cable(thing: &Thing) -> bool {
    matches!(thing.kind, LineKind::Cable(_))
}

/// Pipes before wire before cable, each in the order of the lines.
fn rank(thing: &Thing) -> (u8, usize) {
    let group = match thing.kind {
        LineKind::Wire => 1,
        LineKind::Cable(_) => 2,
        _ => 0,
    };
    (group, thing.line)
}

fn deepest(placed: &[(Thing, Length)]) -> usize {
    let mut best = 0;
    for (i, (thing, _)) in placed.iter().enumerate() {
        let (now, so_far) = (thing, &placed[best].0);
        if now.cover.value + now.high() > so_far.cover.value + so_far.high() {
            best = i;
        }
    }
    best
}

/// Things side by side.
struct Row {
    /// With the gaps between them and at both sides; nothing for none.
    width: Length,
    /// How far the middle of each is from one side.
    middles: Vec<Length>,
}

/// Puts each thing beside those before it, with its gap or separation from every one of them.
fn abreast(practice: &Practice, things: &[Thing]) -> Row {
    let side = practice.cut.gap_at_side.value;
    let mut ends: Vec<Length> = Vec::new();
    let mut middles = Vec::new();
    for thing in things {
        let clear = |(end, other): (&Length, &Thing)| *end + apart(practice, other, thing);
        let from = ends.iter().zip(things).map(clear).fold(side, Length::max);
        middles.push(from + thing.across() * 0.5);
        ends.push(from + thing.across());
    }
    Row {
        width: ends.last().map_or(Length::ZERO, |end| *end + side),
        middles,
    }
}

/// How far two things keep from each other side by side.
fn apart(practice: &Practice, one: &Thing, other: &Thing) -> Length {
    let gap = practice.cut.gap_between.value;
    let pipe_and_cable =
        (one.kind.is_pipe() && is_cable(other)) || (is_cable(one) && other.kind.is_pipe());
    if pipe_and_cable {
        gap.max(practice.separation.cable_beside_pipe.value)
    } else {
        gap
    }
}
