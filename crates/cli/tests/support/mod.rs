//! Runs the real binary in a folder of its own.
#![allow(dead_code)] // every test file uses its part
#![allow(clippy::unwrap_used)] // a helper of tests fails where a test would

use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

/// A folder of its own, and the binary run in it.
pub struct Yard {
    pub home: TempDir,
}

/// What a run said.
pub struct Said {
    pub out: String,
    pub err: String,
    pub code: i32,
}

impl Said {
    /// Both streams, for looking for words.
    pub fn all(&self) -> String {
        format!("{}{}", self.out, self.err)
    }
}

impl From<Output> for Said {
    fn from(output: Output) -> Self {
        Self {
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
            code: output.status.code().expect("it ended by itself"),
        }
    }
}

impl Yard {
    pub fn new() -> Self {
        Self {
            home: tempfile::tempdir().unwrap(),
        }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.home.path().join(name)
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, bytes).unwrap();
        path
    }

    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_spadework"));
        command.current_dir(self.home.path()).args(args);
        command
    }

    pub fn run(&self, args: &[&str]) -> Said {
        self.command(args).output().unwrap().into()
    }

    /// Runs what must work.
    pub fn ok(&self, args: &[&str]) -> String {
        let said = self.run(args);
        assert_eq!(said.code, 0, "{args:?}: {}", said.all());
        said.out
    }

    /// Runs what has to be refused as wrong, and gives what it says.
    pub fn refused(&self, args: &[&str]) -> String {
        let said = self.run(args);
        assert_eq!(said.code, 2, "{args:?}: {}", said.all());
        said.err
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    pub fn has(&self, name: &str) -> bool {
        self.path(name).exists()
    }

    /// Names in the folder, sorted.
    pub fn names(&self) -> Vec<String> {
        names(self.home.path())
    }
}

pub fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn feature(id: &str, geometry: &Value, properties: &Value) -> Value {
    json!({"type": "Feature", "id": id, "geometry": geometry, "properties": properties})
}

fn point(id: &str, x: f64, y: f64, properties: &Value) -> Value {
    feature(
        id,
        &json!({"type": "Point", "coordinates": [x, y]}),
        properties,
    )
}

fn polygon(id: &str, ring: &Value, properties: &Value) -> Value {
    let geometry = json!({"type": "Polygon", "coordinates": [ring]});
    feature(id, &geometry, properties)
}

/// A small invented job with one circuit, as a value to be spoilt.
pub fn small_job() -> Value {
    let head = json!({"kind": "head", "circuit": "C1", "flow": "2 gpm", "pressure": "30 psi"});
    let features = json!([
        polygon(
            "P1",
            &json!([[0, 0], [60, 0], [60, 40], [0, 40], [0, 0]]),
            &json!({"kind": "boundary"}),
        ),
        feature(
            "G1",
            &Value::Null,
            &json!({"kind": "surface", "surface": "lawn_kept"})
        ),
        feature(
            "E1",
            &Value::Null,
            &json!({"kind": "soil", "texture": "loam", "coarse": "5 %", "moisture": "moist"}),
        ),
        polygon(
            "B1",
            &json!([[20, 25], [40, 25], [40, 36], [20, 36], [20, 25]]),
            &json!({"kind": "obstacle", "obstacle": "building"}),
        ),
        point("A1", 2.0, 2.0, &json!({"kind": "access"})),
        point(
            "SRC",
            5.0,
            5.0,
            &json!({"kind": "source", "static_pressure": "70 psi", "test_flow": "15 gpm",
                "residual_pressure": "60 psi", "service_size": "1 in", "main_pipe": "pvc_sch40"}),
        ),
        point("BF", 8.0, 5.0, &json!({"kind": "backflow"})),
        point("CTL", 18.0, 22.0, &json!({"kind": "controller"})),
        feature(
            "C1",
            &Value::Null,
            &json!({"kind": "circuit", "name": "lawn", "pipe": "pvc_sch40"})
        ),
        point("V1", 12.0, 8.0, &json!({"kind": "valve", "circuit": "C1"})),
        point("H1", 20.0, 10.0, &head),
        point("H2", 35.0, 10.0, &head),
        point("H3", 50.0, 10.0, &head),
    ]);
    json!({
        "type": "FeatureCollection",
        "spadework": {"format": 1, "name": "A small invented yard", "invented": true,
            "length_unit": "ft", "display": "us", "seed": 1},
        "features": features,
    })
}

/// The feature of an id.
pub fn feature_mut<'a>(job: &'a mut Value, id: &str) -> &'a mut Value {
    let features = job["features"].as_array_mut().unwrap();
    features.iter_mut().find(|f| f["id"] == id).unwrap()
}

/// Takes a feature away.
pub fn remove(job: &mut Value, id: &str) {
    let features = job["features"].as_array_mut().unwrap();
    features.retain(|f| f["id"] != id);
}
