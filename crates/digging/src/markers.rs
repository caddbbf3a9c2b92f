//! Marking tape and tracer wire.

use crate::contents::{Layout, Thing, role};
use crate::{Marker, MarkerKind};
use job::Practice;
use job::practice::{Role, Roles};
use job::prices::MethodKind;
use quantity::Length;

/// What marks the things in a stretch that goes in by a kind of work: tape in open trench only, tracer
/// wire along everything but what lies on the surface.
pub(crate) fn markers(practice: &Practice, layout: &Layout, kind: MethodKind) -> Vec<Marker> {
    let open = matches!(kind, MethodKind::Hand | MethodKind::Trench);
    let mut markers = Vec::new();
    if open {
        markers.extend(tape(practice, layout));
    }
    if kind != MethodKind::Surface {
        markers.extend(tracer(practice, layout));
    }
    markers
}

/// One tape over the highest of what it marks, at its own depth or, where that is less, half the cover,
/// so that it always lies between grade and the thing.
fn tape(practice: &Practice, layout: &Layout) -> Option<Marker> {
    let (thing, cover) =
        marked(layout, &practice.marking.tape_over.value).min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(Marker {
        kind: MarkerKind::Tape,
        marks: thing.what.clone(),
        cover: practice.marking.tape_depth.value.min(cover * 0.5),
    })
}

/// One tracer wire on the first pipe that wants it, unless valve wire lies there, which does as well.
fn tracer(practice: &Practice, layout: &Layout) -> Option<Marker> {
    if layout
        .placed
        .iter()
        .any(|(t, _)| role(t.kind) == Role::Wire)
    {
        return None;
    }
    let (thing, cover) = marked(layout, &practice.marking.tracer_along.value).next()?;
    Some(Marker {
        kind: MarkerKind::Tracer,
        marks: thing.what.clone(),
        cover,
    })
}

fn marked<'l, 'a>(
    layout: &'l Layout<'a>,
    roles: &'l Roles,
) -> impl Iterator<Item = (&'l Thing<'a>, Length)> {
    layout
        .placed
        .iter()
        .filter(|(t, _)| roles.0.contains(&role(t.kind)))
        .map(|(t, cover)| (t, *cover))
}
