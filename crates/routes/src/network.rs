//! The network of trenches: where they run and what lies in each.

use crate::Turning;
use ground::StretchGround;
use job::{Finding, Place};
use quantity::{Angle, Length};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A stretch's number; written `S1`, `S2` …
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(into = "String", try_from = "String")]
#[schemars(with = "String")]
pub struct StretchId(pub u32);

/// A node's number; written `N1`, `N2` …
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(into = "String", try_from = "String")]
#[schemars(with = "String")]
pub struct NodeId(pub u32);

macro_rules! numbered {
    ($name:ident, $letter:literal) => {
        impl $name {
            /// Its place in the network's vector.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!($letter, "{}"), self.0 + 1)
            }
        }
        impl From<$name> for String {
            fn from(id: $name) -> Self {
                id.to_string()
            }
        }
        impl TryFrom<String> for $name {
            type Error = String;
            fn try_from(text: String) -> Result<Self, String> {
                text.strip_prefix($letter)
                    .and_then(|n| n.parse::<u32>().ok())
                    .filter(|n| *n > 0)
                    .map(|n| Self(n - 1))
                    .ok_or_else(|| format!("\"{text}\" is not a number with {} before it", $letter))
            }
        }
    };
}
numbered!(StretchId, "S");
numbered!(NodeId, "N");

/// Trenches that connect every component, and what lies in each.
///
/// What always holds: the stretches of every [`Line`] form a tree that contains its terminals; a stretch
/// lies in one kind of ground; no stretch enters forbidden ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Network {
    /// Places where stretches begin and end; `nodes[i]` is `N{i+1}`.
    pub nodes: Vec<Node>,
    /// Stretches of trench; `stretches[i]` is `S{i+1}`.
    pub stretches: Vec<Stretch>,
    /// What is laid: mains, laterals, wire, cables.
    pub lines: Vec<Line>,
    /// Crossings of buried services of others.
    pub crossings: Vec<Crossing>,
    /// Estimated cost of this network in the router's cost model, currency units: digging, lines and
    /// turning.
    pub cost: f64,
    /// Bends and junctions, and the part of the cost that is theirs.
    pub turning: Turning,
    /// Digging and lines of no network of the candidate graph cost less than this in the same model.
    /// Bends and junctions never cost less than nothing, so with them none costs less either. 0 if nothing
    /// was proven.
    pub bound: f64,
    /// What digging and lines of the least costly trees cost that the search found. This network may pay
    /// more of it for fewer bends and junctions. 0 if it is not known.
    #[serde(default)]
    pub least_laying: f64,
    /// How many candidate edges the graph had.
    pub candidates: usize,
    /// How large the error of searching a graph and not the plane may be: the share of the cost that the
    /// last step of refining the graph gained. An estimate, no bound; `None` if there was no such step.
    #[serde(default)]
    pub refinement: Option<f64>,
    /// What stands against the network.
    pub findings: Vec<Finding>,
}

/// A place where stretches begin and end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Node {
    /// Where.
    pub at: Place,
    /// Height above the job's datum; 0 m if the job has no elevations.
    pub elevation: Length,
    /// What is there.
    pub what: NodeKind,
}

/// What is at a node.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", tag = "kind", content = "feature")]
pub enum NodeKind {
    /// The water source.
    Source(String),
    /// The backflow assembly.
    Backflow(String),
    /// The controller.
    Controller(String),
    /// A valve.
    Valve(String),
    /// A head or drip point.
    Outlet(String),
    /// An end of another service's cable.
    CableEnd(String),
    /// Where three or more stretches meet, or contents part.
    Junction,
    /// Where the kind of ground changes and nothing else.
    Change,
}

impl NodeKind {
    /// The id of the component that stands there, if one does.
    pub fn component(&self) -> Option<&str> {
        match self {
            Self::Source(id)
            | Self::Backflow(id)
            | Self::Controller(id)
            | Self::Valve(id)
            | Self::Outlet(id)
            | Self::CableEnd(id) => Some(id),
            Self::Junction | Self::Change => None,
        }
    }
}

/// A stretch of trench in one kind of ground with the same contents throughout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Stretch {
    /// Where it begins.
    pub from: NodeId,
    /// Where it ends.
    pub to: NodeId,
    /// Its centre line, both ends included.
    pub path: Vec<Place>,
    /// Length along the centre line.
    pub length: Length,
    /// Indices into [`Network::lines`], ascending; never empty.
    pub carries: Vec<usize>,
    /// The ground it lies in.
    pub ground: StretchGround,
    /// The sleeve it goes through, if it crosses paving.
    pub sleeve: Option<SleeveUse>,
}

/// A sleeve that a stretch goes through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SleeveUse {
    /// The feature id of the existing sleeve; `None` if a new one has to be put in.
    pub existing: Option<String>,
    /// The paving crossed.
    pub paving: String,
    /// Angle between the trench and the paving's edge, 90° is square.
    pub angle: Angle,
}

/// Where a trench crosses a buried service.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Crossing {
    /// The stretch.
    pub stretch: StretchId,
    /// The service's feature id.
    pub utility: String,
    /// Where.
    pub at: Place,
    /// Angle between trench and service, 90° is square.
    pub angle: Angle,
}

/// What a line is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", tag = "kind", content = "feature")]
pub enum LineKind {
    /// Pipe from the source to the backflow assembly.
    Service,
    /// Pipe from the backflow assembly to the valves.
    Main,
    /// Pipe from a circuit's valve to its heads; the circuit's id.
    Lateral(String),
    /// Wire from the controller to all the valves.
    Wire,
    /// Cable of another service; the cable's id.
    Cable(String),
}

impl LineKind {
    /// In words: `service`, `main`, `lateral C1`, `wire`, `cable L1`.
    pub fn in_words(&self) -> String {
        match self {
            Self::Service => "service".to_owned(),
            Self::Main => "main".to_owned(),
            Self::Lateral(circuit) => format!("lateral {circuit}"),
            Self::Wire => "wire".to_owned(),
            Self::Cable(cable) => format!("cable {cable}"),
        }
    }

    /// Whether it is pipe.
    pub fn is_pipe(&self) -> bool {
        matches!(self, Self::Service | Self::Main | Self::Lateral(_))
    }
}

/// Something that is laid as one tree.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Line {
    /// A short name: `service`, `main`, `lateral C1`, `wire`, `cable L1`.
    pub name: String,
    /// What it is.
    pub kind: LineKind,
    /// Where it begins.
    pub root: NodeId,
    /// Where it has to reach, root excluded, in the order of the job.
    pub terminals: Vec<NodeId>,
    /// Its stretches in an order in which every one follows the one that feeds it.
    pub branches: Vec<Branch>,
}

/// One stretch of a line, seen in the direction away from its root.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Branch {
    /// The stretch.
    pub stretch: StretchId,
    /// The end nearer the root.
    pub from: NodeId,
    /// The end farther from the root.
    pub to: NodeId,
}

impl Network {
    /// A stretch by its id.
    pub fn stretch(&self, id: StretchId) -> &Stretch {
        &self.stretches[id.index()]
    }

    /// A node by its id.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id.index()]
    }

    /// Stretch ids with their stretches.
    pub fn iter(&self) -> impl Iterator<Item = (StretchId, &Stretch)> {
        self.stretches
            .iter()
            .enumerate()
            .map(|(i, s)| (StretchId(i as u32), s))
    }

    /// Length of all trench.
    pub fn length(&self) -> Length {
        self.stretches.iter().map(|s| s.length).sum()
    }

    /// The part of the cost that is digging and lines.
    pub fn laying(&self) -> f64 {
        self.cost - self.turning.cost
    }

    /// How far digging and lines may lie above the bound, as a share of what they cost.
    pub fn gap(&self) -> f64 {
        self.above_bound(self.laying())
    }

    /// How far the least costly trees found may lie above the bound, as a share of what they cost: what
    /// the search may have missed, without the length that is paid for fewer bends and junctions.
    pub fn search_gap(&self) -> f64 {
        if self.least_laying > 0.0 {
            self.above_bound(self.least_laying)
        } else {
            self.gap()
        }
    }

    fn above_bound(&self, laying: f64) -> f64 {
        if laying > 0.0 {
            ((laying - self.bound) / laying).max(0.0)
        } else {
            0.0
        }
    }
}

impl Stretch {
    /// The path seen from one of its ends.
    pub fn path_from(&self, node: NodeId) -> Vec<Place> {
        let mut path = self.path.clone();
        if node != self.from {
            path.reverse();
        }
        path
    }
}
