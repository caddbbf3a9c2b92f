//! Parts of the work, and which of them each stretch belongs to.

use routes::{LineKind, Network, StretchId};

/// The supply's place among the parts.
pub const SUPPLY: usize = 0;

/// What is laid and tested at one go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// `main` for the supply with its wire, else the line's name.
    pub name: String,
    /// Indices of its lines.
    pub lines: Vec<usize>,
    pub kind: PartKind,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PartKind {
    /// Service, main and valve wire.
    Supply,
    /// The laterals of a circuit.
    Circuit(String),
    /// A cable of another service.
    Cable,
}

/// The supply, the circuits and the cables in the order of the network's lines.
pub fn of(network: &Network) -> Vec<Part> {
    let mut parts = vec![Part {
        name: "main".to_owned(),
        lines: Vec::new(),
        kind: PartKind::Supply,
    }];
    let mut cables = Vec::new();
    for (index, line) in network.lines.iter().enumerate() {
        let part = |kind| Part {
            name: line.name.clone(),
            lines: vec![index],
            kind,
        };
        match &line.kind {
            LineKind::Service | LineKind::Main | LineKind::Wire => parts[SUPPLY].lines.push(index),
            LineKind::Lateral(circuit) => parts.push(part(PartKind::Circuit(circuit.clone()))),
            LineKind::Cable(_) => cables.push(part(PartKind::Cable)),
        }
    }
    parts.extend(cables);
    parts
}

/// For each stretch the parts that lie in it, in the order in which they are taken.
pub fn in_stretches(network: &Network, parts: &[Part], order: &[usize]) -> Vec<Vec<usize>> {
    let mut turn = vec![0; parts.len()];
    for (at, part) in order.iter().enumerate() {
        turn[*part] = at;
    }
    let mut of_line = vec![SUPPLY; network.lines.len()];
    for (index, part) in parts.iter().enumerate() {
        for line in &part.lines {
            of_line[*line] = index;
        }
    }
    let in_one = |lines: &[usize]| {
        let mut parts: Vec<usize> = lines.iter().map(|line| of_line[*line]).collect();
        parts.sort_unstable_by_key(|part| turn[*part]);
        parts.dedup();
        parts
    };
    network
        .stretches
        .iter()
        .map(|s| in_one(&s.carries))
        .collect()
}

/// Stretches of which this part is the first, which digs them.
pub fn dug_with(part: usize, of_stretch: &[Vec<usize>]) -> Vec<StretchId> {
    which(of_stretch, |parts| parts.first() == Some(&part))
}

/// Stretches of which this part is the last, after which they are filled.
pub fn filled_with(part: usize, of_stretch: &[Vec<usize>]) -> Vec<StretchId> {
    which(of_stretch, |parts| parts.last() == Some(&part))
}

/// Stretches in which this part lies.
pub fn with(part: usize, of_stretch: &[Vec<usize>]) -> Vec<StretchId> {
    which(of_stretch, |parts| parts.contains(&part))
}

fn which(of_stretch: &[Vec<usize>], is_one: impl Fn(&[usize]) -> bool) -> Vec<StretchId> {
    let found = of_stretch
        .iter()
        .enumerate()
        .filter(|(_, parts)| is_one(parts));
    found.map(|(index, _)| StretchId(index as u32)).collect()
}
