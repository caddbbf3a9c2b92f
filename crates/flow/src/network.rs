//! Nodes and links, and what may be wrong with them.

use crate::law::{Law, Outlet};
use std::fmt;

/// A node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Node {
    /// Its head is held, as at a tank.
    Held {
        /// The head.
        head: f64,
    },
    /// Its head follows from the flows.
    Free {
        /// Its height.
        height: f64,
        /// What is drawn there whatever the head.
        demand: f64,
        /// What is drawn there as the head gives it.
        outlet: Option<Outlet>,
    },
}

/// A link between two nodes, by their indices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link<L> {
    /// Where a positive flow comes from.
    pub from: usize,
    /// Where it goes.
    pub to: usize,
    /// How the head falls along it.
    pub law: L,
}

/// Nodes and links.
#[derive(Debug, Clone, PartialEq)]
pub struct Network<L> {
    /// The nodes.
    pub nodes: Vec<Node>,
    /// The links.
    pub links: Vec<Link<L>>,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// A link names a node that is not there.
    NoSuchNode {
        /// The link.
        link: usize,
        /// The node.
        node: usize,
    },
    /// A number is none, or the law of a link gives none at a small flow.
    NotANumber {
        /// The node, or else the link.
        node: Option<usize>,
        /// The link.
        link: Option<usize>,
    },
    /// No held head is joined to a node: nothing says how high its head is.
    Adrift {
        /// The first such node.
        node: usize,
    },
    /// The flows did not settle.
    NotSettled {
        /// Rounds that were tried.
        rounds: usize,
        /// The link whose heads disagree most.
        link: usize,
        /// By how much.
        head_error: f64,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSuchNode { link, node } => {
                write!(f, "link {link} names node {node}, and there is none")
            }
            Self::NotANumber {
                node: Some(node), ..
            } => {
                write!(f, "a value of node {node} is not a finite number")
            }
            Self::NotANumber { link, .. } => {
                let link = link.unwrap_or_default();
                write!(f, "the loss of link {link} is not a finite number")
            }
            Self::Adrift { node } => {
                write!(f, "node {node} is joined to no held head")
            }
            Self::NotSettled {
                rounds,
                link,
                head_error,
            } => write!(
                f,
                "the flows did not settle in {rounds} rounds; the heads at link {link} disagree by \
                 {head_error:.3e}"
            ),
        }
    }
}

impl std::error::Error for Fault {}

impl<L: Law> Network<L> {
    /// The first thing that is wrong.
    pub(crate) fn check(&self) -> Result<(), Fault> {
        for (link, of) in self.links.iter().enumerate() {
            for node in [of.from, of.to] {
                if node >= self.nodes.len() {
                    return Err(Fault::NoSuchNode { link, node });
                }
            }
            let sound = |flow: f64| {
                let (loss, slope) = of.law.at(flow);
                loss.is_finite() && slope.is_finite() && slope >= 0.0
            };
            if ![-1e-3, 0.0, 1e-3].into_iter().all(sound) {
                return Err(Fault::NotANumber {
                    node: None,
                    link: Some(link),
                });
            }
        }
        for (node, of) in self.nodes.iter().enumerate() {
            let sound = match of {
                Node::Held { head } => head.is_finite(),
                Node::Free {
                    height,
                    demand,
                    outlet,
                } => height.is_finite() && demand.is_finite() && outlet.is_none_or(is_sound),
            };
            if !sound {
                return Err(Fault::NotANumber {
                    node: Some(node),
                    link: None,
                });
            }
        }
        self.adrift()
            .map_or(Ok(()), |node| Err(Fault::Adrift { node }))
    }

    /// The first node without a way to a held head.
    fn adrift(&self) -> Option<usize> {
        let mut links: Vec<Vec<usize>> = vec![Vec::new(); self.nodes.len()];
        for link in &self.links {
            links[link.from].push(link.to);
            links[link.to].push(link.from);
        }
        let is_held = |node: &Node| matches!(node, Node::Held { .. });
        let mut known: Vec<bool> = self.nodes.iter().map(is_held).collect();
        let mut open: Vec<usize> = (0..known.len()).filter(|i| known[*i]).collect();
        while let Some(node) = open.pop() {
            for next in &links[node] {
                if !std::mem::replace(&mut known[*next], true) {
                    open.push(*next);
                }
            }
        }
        known.iter().position(|known| !known)
    }
}

fn is_sound(outlet: Outlet) -> bool {
    let above_zero = |value: f64| value > 0.0 && value.is_finite();
    above_zero(outlet.factor)
        && above_zero(outlet.exponent)
        && outlet.regulated.is_none_or(above_zero)
}
