//! The families of instances: where they lie, how they are run, and what they are compared with.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use serde_json::Value;

use super::peers::Peers;
use crate::run::{cargo, output, program, root};

/// How a family is run.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A graph, as it stands in the file.
    Graph,
    /// A site plan, first turned into a grid.
    Grid,
    /// Several trees in one graph.
    Sharing,
    /// A tree in the plane.
    Plane,
    /// Shortest ways in the plane.
    Ways,
}

/// Instances of one sort.
pub struct Family {
    pub name: &'static str,
    pub kind: Kind,
    folder: &'static str,
    /// Column of `optima.csv` with the value to compare with.
    column: &'static str,
    /// Whether that value is a proven optimum, or only the best known.
    pub proven: bool,
    /// Seconds that each instance gets.
    seconds: u32,
}

#[rustfmt::skip]
pub const FAMILIES: &[Family] = &[
    family("siteplan", Kind::Grid, "siteplan", "grid_optimum", true, 15),
    family("sharing", Kind::Sharing, "sharing", "optimum", true, 30),
    family("vlsi-holes", Kind::Graph, "steiner-graph", "optimum", true, 5),
    family("streets", Kind::Graph, "steiner-graph", "optimum", true, 5),
    family("or-b", Kind::Graph, "steiner-graph", "optimum", true, 5),
    family("or-e", Kind::Graph, "steiner-graph", "optimum", true, 5),
    family("oars", Kind::Graph, "steiner-graph", "optimum", true, 5),
    family("rect-fst", Kind::Graph, "steiner-graph", "optimum", true, 5),
    family("incidence", Kind::Graph, "steiner-graph", "optimum", true, 30),
    family("hard-puc", Kind::Graph, "steiner-graph", "optimum", true, 30),
    family("wire-groups", Kind::Graph, "steiner-graph", "optimum", true, 30),
    family("siteplan-free", Kind::Plane, "siteplan", "fine_reference", false, 15),
    family("oaesmt", Kind::Plane, "oaesmt", "best_known", false, 10),
    family("euclid", Kind::Plane, "euclid", "optimum", true, 15),
    family("polypath", Kind::Ways, "polypath", "shortest", true, 10),
];

const fn family(
    name: &'static str,
    kind: Kind,
    folder: &'static str,
    column: &'static str,
    proven: bool,
    seconds: u32,
) -> Family {
    Family {
        name,
        kind,
        folder,
        column,
        proven,
        seconds,
    }
}

/// One file, and what is known of it.
pub struct Instance {
    pub name: String,
    pub file: PathBuf,
    /// The value to compare with; for shortest ways, the sum over all queries.
    pub reference: Option<f64>,
}

/// What a run came to.
pub struct Outcome {
    pub name: String,
    pub reference: Option<f64>,
    pub proven_reference: bool,
    pub cost: f64,
    pub bound: Option<f64>,
    pub optimal: bool,
    pub seconds: f64,
    pub peak_bytes: Option<f64>,
    /// Microseconds a query; shortest ways only.
    pub query: Option<f64>,
    /// Costs of other methods, by name.
    pub peers: BTreeMap<&'static str, f64>,
}

/// The programs that solve an instance.
pub struct Solvers {
    pub graph: PathBuf,
    pub plane: PathBuf,
    pub textbook: PathBuf,
}

/// Builds them in the release profile.
pub fn build() -> Result<Solvers> {
    let paths: Vec<PathBuf> = [
        ("steiner", "solve"),
        ("routes", "solve"),
        ("steiner", "textbook"),
    ]
    .into_iter()
    .map(|(package, example)| built(package, example))
    .collect::<Result<_>>()?;
    let mut paths = paths.into_iter();
    let mut next = || paths.next().expect("three programs were built");
    Ok(Solvers {
        graph: next(),
        plane: next(),
        textbook: next(),
    })
}

/// Builds an example in the release profile, and says where it is.
pub(super) fn built(package: &str, example: &str) -> Result<PathBuf> {
    cargo([
        "build",
        "--release",
        "--quiet",
        "-p",
        package,
        "--example",
        example,
    ])?;
    // Two packages have an example of the same name: each is taken away before the next.
    let built = target().join("release/examples").join(with_suffix(example));
    let kept = target()
        .join("release/examples")
        .join(with_suffix(&format!("{package}-{example}")));
    fs::copy(&built, &kept).with_context(|| format!("cannot copy {}", built.display()))?;
    Ok(kept)
}

fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from)
}

fn with_suffix(name: &str) -> String {
    format!("{name}{}", std::env::consts::EXE_SUFFIX)
}

impl Family {
    /// The instances of this family in a set; none if the set does not have them.
    pub fn instances(&self, set: &Path) -> Result<Vec<Instance>> {
        let folder = set.join(self.folder);
        if !folder.is_dir() {
            return Ok(Vec::new());
        }
        let known = Known::read(&folder.join("optima.csv"))?;
        let mut files: Vec<PathBuf> = fs::read_dir(&folder)
            .with_context(|| format!("cannot read {}", folder.display()))?
            .filter_map(|entry| entry.ok().map(|entry| entry.path()))
            .filter(|path| {
                path.extension()
                    .is_some_and(|e| e == "gr" || e == "txt" || e == "json")
            })
            .collect();
        files.sort();
        let of_family = |name: &str| {
            self.folder != "steiner-graph" || known.text(name, "family") == Some(self.name)
        };
        let instances = files.into_iter().map(|file| {
            let name = file
                .file_stem()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned();
            let reference = known.sum(&name, self.column);
            Instance {
                name,
                file,
                reference,
            }
        });
        Ok(instances
            .filter(|instance| of_family(&instance.name))
            .collect())
    }

    /// Runs one instance, and the peers where there are any.
    pub fn run(&self, instance: &Instance, solvers: &Solvers, peers: &Peers) -> Result<Outcome> {
        let grid;
        let file = if self.kind == Kind::Grid {
            grid = peers.expand(&instance.file, &instance.name)?;
            &grid
        } else {
            &instance.file
        };
        let solver = match self.kind {
            Kind::Graph | Kind::Grid | Kind::Sharing => &solvers.graph,
            Kind::Plane | Kind::Ways => &solvers.plane,
        };
        let answer = ask(solver, file, Some(self.seconds))?;
        let number = |key: &str| answer.get(key).and_then(Value::as_f64);
        let mut others = BTreeMap::new();
        if matches!(self.kind, Kind::Graph | Kind::Grid) {
            let textbook = ask(&solvers.textbook, file, None)?;
            if let Some(cost) = textbook.get("cost").and_then(Value::as_f64) {
                others.insert("nearest first, 20 roots", cost);
            }
            others.extend(peers.costs(file)?);
        }
        Ok(Outcome {
            name: instance.name.clone(),
            reference: instance.reference,
            proven_reference: self.proven,
            cost: number("cost").with_context(|| format!("{} gave no cost", instance.name))?,
            bound: number("bound"),
            optimal: answer
                .get("optimal")
                .and_then(Value::as_bool)
                .unwrap_or(false),
            seconds: number("seconds").unwrap_or(f64::NAN),
            peak_bytes: number("memory"),
            query: number("microseconds_per_query"),
            peers: others,
        })
    }
}

/// Asks a program that answers with a line of JSON.
pub(super) fn ask(solver: &Path, file: &Path, seconds: Option<u32>) -> Result<Value> {
    let mut command = program(solver);
    command.arg(file);
    if let Some(seconds) = seconds {
        command.args(["--seconds", &seconds.to_string()]);
    }
    let answer = output(&mut command)?;
    serde_json::from_slice(&answer)
        .with_context(|| format!("the answer for {} is no line of JSON", file.display()))
}

/// A small table: a header, then rows whose first field names the instance.
pub(super) struct Known {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Known {
    pub(super) fn read(path: &Path) -> Result<Known> {
        let text =
            fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
        let fields = |line: &str| line.split(',').map(str::to_owned).collect();
        let mut rows: Vec<Vec<String>> = text.lines().map(fields).collect();
        let header = if rows.is_empty() {
            Vec::new()
        } else {
            rows.remove(0)
        };
        Ok(Known { header, rows })
    }

    fn of<'a>(&'a self, name: &'a str, column: &str) -> impl Iterator<Item = &'a str> {
        let at = self.header.iter().position(|title| title == column);
        let rows = self
            .rows
            .iter()
            .filter(move |row| row.first().is_some_and(|first| first == name));
        rows.filter_map(move |row| row.get(at?).map(String::as_str))
    }

    fn text(&self, name: &str, column: &str) -> Option<&str> {
        self.rows
            .iter()
            .find(|row| row.first().is_some_and(|first| first == name))
            .and_then(|row| row.get(self.header.iter().position(|title| title == column)?))
            .map(String::as_str)
    }

    /// The sum over all rows of an instance; nothing if a field is empty.
    pub(super) fn sum(&self, name: &str, column: &str) -> Option<f64> {
        let values: Option<Vec<f64>> = self
            .of(name, column)
            .map(|field| field.parse().ok())
            .collect();
        values
            .filter(|values| !values.is_empty())
            .map(|values| values.iter().sum())
    }
}
