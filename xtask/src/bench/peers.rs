//! General-purpose libraries run on the same graphs, in the Python environment of the cross-check.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use serde_json::Value;

use crate::crosscheck;
use crate::run::{output, program, root};

/// The environment in which they run.
pub struct Peers {
    python: PathBuf,
    grids: PathBuf,
}

impl Peers {
    /// Prepares the environment.
    pub fn ready() -> Result<Peers> {
        let grids = root().join("target").join("bench-routes");
        fs::create_dir_all(&grids).with_context(|| format!("cannot make {}", grids.display()))?;
        let python = crosscheck::environment()?;
        Ok(Peers { python, grids })
    }

    /// Turns a site plan into its grid, and says where that is.
    pub fn expand(&self, plan: &Path, name: &str) -> Result<PathBuf> {
        let grid = self.grids.join(format!("{name}.gr"));
        let script = root().join("benchmarks/siteplan/siteplan.py");
        let text = output(program(&self.python).arg(script).arg("expand").arg(plan))?;
        fs::write(&grid, text).with_context(|| format!("cannot write {}", grid.display()))?;
        Ok(grid)
    }

    /// The costs of the library's two methods; a method that would need too much memory is left out.
    pub fn costs(&self, graph: &Path) -> Result<BTreeMap<&'static str, f64>> {
        let script = root().join("benchmarks/peers.py");
        let answer = output(program(&self.python).arg(script).arg(graph))?;
        let answer: Value = serde_json::from_slice(&answer).context("the peers gave no JSON")?;
        let cost = |key: &str| answer.get(key).and_then(Value::as_f64);
        let named = [
            ("networkx kou", cost("kou")),
            ("networkx mehlhorn", cost("mehlhorn")),
        ];
        Ok(named
            .into_iter()
            .filter_map(|(name, cost)| Some((name, cost?)))
            .collect())
    }
}
