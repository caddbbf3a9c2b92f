//! Steady flow in a network.

use anyhow::{Context, Result};
use flow::{Link, Network, Node, Outlet, Power};
use serde_json::{Value, json};

use crate::json::number;

pub fn flow(question: &Value) -> Result<Value> {
    let nodes = question["nodes"]
        .as_array()
        .context("the question has no `nodes`")?;
    let links = question["links"]
        .as_array()
        .context("the question has no `links`")?;
    let network = Network {
        nodes: nodes.iter().map(node).collect::<Result<_>>()?,
        links: links.iter().map(link).collect::<Result<_>>()?,
    };
    let steady = flow::solve(&network)?;
    Ok(json!({"flows_m3s": steady.flows, "heads_m": steady.heads}))
}

fn node(of: &Value) -> Result<Node> {
    if !of["head_m"].is_null() {
        return Ok(Node::Held {
            head: number(&of["head_m"])?,
        });
    }
    let outlet = Outlet {
        factor: number(&of["factor"])?,
        exponent: number(&of["exponent"])?,
        regulated: None,
    };
    Ok(Node::Free {
        height: number(&of["height_m"])?,
        demand: number(&of["demand_m3s"])?,
        outlet: Some(outlet),
    })
}

fn link(of: &Value) -> Result<Link<Power>> {
    let end = |end: &str| -> Result<usize> {
        let node = of[end].as_u64().context("a link has no end")?;
        Ok(usize::try_from(node)?)
    };
    Ok(Link {
        from: end("from")?,
        to: end("to")?,
        law: Power {
            resistance: number(&of["resistance"])?,
            exponent: number(&of["exponent"])?,
            minor: 0.0,
        },
    })
}
