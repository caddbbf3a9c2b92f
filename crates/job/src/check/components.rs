//! Everything that pipe, wire or cable has to reach, whatever its kind.

use crate::Place;
use crate::draft::{Draft, Item};

/// A place that has to be reached.
pub(super) struct Component<'a> {
    pub id: &'a str,
    pub line: usize,
    /// What it is, in words.
    pub label: &'static str,
    pub at: Place,
}

/// All of them whose place could be read, and the accesses, in the order of the kinds.
pub(super) fn components(draft: &Draft) -> Vec<Component<'_>> {
    let mut all = Vec::new();
    add(&mut all, "access", &draft.accesses);
    add(&mut all, "source", &draft.sources);
    add(&mut all, "backflow assembly", &draft.backflows);
    add(&mut all, "controller", &draft.controllers);
    add(&mut all, "valve", &draft.valves);
    add(&mut all, "manifold", &draft.manifolds);
    for outlet in &draft.outlets {
        let label = match outlet.kind {
            crate::OutletKind::Head => "head",
            crate::OutletKind::Drip => "drip point",
        };
        add(&mut all, label, std::slice::from_ref(&outlet.item));
    }
    for cable in &draft.cables {
        for &at in cable.shape.iter().flatten() {
            all.push(component(cable, "end of a cable", at));
        }
    }
    all
}

fn add<'a, M>(all: &mut Vec<Component<'a>>, label: &'static str, items: &'a [Item<Place, M>]) {
    for item in items {
        all.extend(item.shape.map(|at| component(item, label, at)));
    }
}

fn component<'a, G, M>(item: &'a Item<G, M>, label: &'static str, at: Place) -> Component<'a> {
    Component {
        id: &item.id,
        line: item.line,
        label,
        at,
    }
}
