//! The features of a file as far as they could be read, for the checks to look at.
//!
//! A feature with a wrong member still stands here with its other members, so that one mistake is not
//! reported as several.

use geo::{LineString, Polygon};
use quantity::Units;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

use crate::field::{Fault, Stored, shown};
use crate::file::{
    BackflowMembers, Bare, CableMembers, CircuitMembers, CorridorMembers, FixedTrenchMembers,
    GateMembers, KeepOutMembers, ObstacleMembers, OutletMembers, SleeveMembers, SoilMembers,
    SourceMembers, SpotMembers, SteepMembers, SurfaceMembers, TreeMembers, UtilityMembers,
    ValveMembers,
};
use crate::finding::on_line;
use crate::kind::{KINDS, Kind, KindRow};
use crate::nearest::nearest;
use crate::{Finding, OutletKind, Place, Shape, shape};

/// Members that any feature may have among its properties.
const COMMON: [&str; 2] = ["kind", "note"];

/// A feature: its shape (if it could be read) and its members.
#[derive(Debug, Clone)]
pub(crate) struct Item<G, M> {
    pub id: String,
    pub line: usize,
    pub shape: Option<G>,
    pub has: M,
}

/// A head or a drip point.
#[derive(Debug, Clone)]
pub(crate) struct OutletItem {
    pub kind: OutletKind,
    pub item: Item<Place, OutletMembers>,
}

/// All features by kind, in the order of the file.
#[derive(Debug, Default)]
pub(crate) struct Draft {
    /// The units in which the job is read, if it says so.
    pub units: Option<Units>,
    /// Every id with the lines on which it stands.
    pub ids: BTreeMap<String, Vec<usize>>,
    /// Ids of features that are no feature of a known kind; what names them names something.
    pub unread: BTreeSet<String>,
    pub boundaries: Vec<Item<Polygon, Bare>>,
    pub surfaces: Vec<Item<Option<Polygon>, SurfaceMembers>>,
    pub obstacles: Vec<Item<Shape, ObstacleMembers>>,
    pub trees: Vec<Item<Place, TreeMembers>>,
    pub utilities: Vec<Item<LineString, UtilityMembers>>,
    pub soils: Vec<Item<Option<Polygon>, SoilMembers>>,
    pub steeps: Vec<Item<Polygon, SteepMembers>>,
    pub spots: Vec<Item<Place, SpotMembers>>,
    pub gates: Vec<Item<(Place, Place), GateMembers>>,
    pub accesses: Vec<Item<Place, Bare>>,
    pub marks: Vec<Item<Place, Bare>>,
    pub baselines: Vec<Item<(Place, Place), Bare>>,
    pub sources: Vec<Item<Place, SourceMembers>>,
    pub backflows: Vec<Item<Place, BackflowMembers>>,
    pub controllers: Vec<Item<Place, Bare>>,
    pub circuits: Vec<Item<(), CircuitMembers>>,
    pub valves: Vec<Item<Place, ValveMembers>>,
    pub manifolds: Vec<Item<Place, Bare>>,
    pub outlets: Vec<OutletItem>,
    pub cables: Vec<Item<Vec<Place>, CableMembers>>,
    pub sleeves: Vec<Item<(Place, Place), SleeveMembers>>,
    pub keep_outs: Vec<Item<Polygon, KeepOutMembers>>,
    pub corridors: Vec<Item<Polygon, CorridorMembers>>,
    pub fixed_trenches: Vec<Item<LineString, FixedTrenchMembers>>,
}

impl<G, M> Item<G, M> {
    /// An error about this feature.
    pub fn error(&self, rule: &str, what: &str, mend: impl Into<String>) -> Finding {
        Finding::error(rule, &self.id, on_line(what, self.line), mend)
    }

    /// A warning about this feature.
    pub fn warning(&self, rule: &str, what: &str, mend: impl Into<String>) -> Finding {
        Finding::warning(rule, &self.id, on_line(what, self.line), mend)
    }
}

impl Draft {
    /// Reads every feature; `unit` is the metres in one unit of the coordinates.
    pub fn of(features: &[Value], lines: &[usize], unit: f64, out: &mut Vec<Finding>) -> Self {
        let mut draft = Self::default();
        for (n, feature) in features.iter().enumerate() {
            let line = lines.get(n).copied().unwrap_or(0);
            if let Some(mut entry) = Entry::of(feature, n, line, unit, out) {
                if entry.has_id {
                    let lines = draft.ids.entry(entry.id.clone()).or_default();
                    lines.push(line);
                }
                draft.take(&mut entry);
            } else if let Ok(id) = read_id(feature.get("id")) {
                draft.unread.insert(id);
            }
        }
        draft
    }

    fn take(&mut self, e: &mut Entry) {
        match e.kind.kind {
            Kind::Boundary => self.boundaries.push(e.item(shape::polygon)),
            Kind::Surface => self.surfaces.push(e.item(shape::polygon_or_elsewhere)),
            Kind::Obstacle => self.obstacles.push(e.item(shape::area_or_line)),
            Kind::Tree => self.trees.push(e.item(shape::point)),
            Kind::Utility => self.utilities.push(e.item(shape::line)),
            Kind::Soil => self.soils.push(e.item(shape::polygon_or_elsewhere)),
            Kind::Steep => self.steeps.push(e.item(shape::polygon)),
            Kind::Spot => self.spots.push(e.item(shape::point)),
            Kind::Gate => self.gates.push(e.item(shape::two_ends)),
            Kind::Access => self.accesses.push(e.item(shape::point)),
            Kind::Mark => self.marks.push(e.item(shape::point)),
            Kind::Baseline => self.baselines.push(e.item(shape::two_ends)),
            Kind::Source => self.sources.push(e.item(shape::point)),
            Kind::Backflow => self.backflows.push(e.item(shape::point)),
            Kind::Controller => self.controllers.push(e.item(shape::point)),
            Kind::Circuit => self.circuits.push(e.item(shape::nowhere)),
            Kind::Valve => self.valves.push(e.item(shape::point)),
            Kind::Manifold => self.manifolds.push(e.item(shape::point)),
            Kind::Head => self.outlets.push(e.outlet(OutletKind::Head)),
            Kind::Drip => self.outlets.push(e.outlet(OutletKind::Drip)),
            Kind::Cable => self.cables.push(e.item(shape::several)),
            Kind::Sleeve => self.sleeves.push(e.item(shape::two_ends)),
            Kind::KeepOut => self.keep_outs.push(e.item(shape::polygon)),
            Kind::Corridor => self.corridors.push(e.item(shape::polygon)),
            Kind::FixedTrench => self.fixed_trenches.push(e.item(shape::line)),
        }
    }
}

/// A feature of a known kind while it is read.
struct Entry<'a> {
    id: String,
    /// Whether the id is the feature's own, not one put in its place.
    has_id: bool,
    line: usize,
    unit: f64,
    kind: &'static KindRow,
    geometry: &'a Value,
    properties: &'a Map<String, Value>,
    out: &'a mut Vec<Finding>,
}

impl<'a> Entry<'a> {
    /// The feature, if it is one and its kind is known.
    fn of(
        feature: &'a Value,
        n: usize,
        line: usize,
        unit: f64,
        out: &'a mut Vec<Finding>,
    ) -> Option<Self> {
        let given_id = read_id(feature.get("id"));
        let has_id = given_id.is_ok();
        let id = match &given_id {
            Ok(id) => id.clone(),
            Err(_) => format!("feature {}", n + 1),
        };
        let mut say = |fault: Fault| out.push(finding(&id, line, fault));
        let Some(object) = feature.as_object().filter(|o| is_feature(o)) else {
            say(Fault::new(
                "not-a-feature",
                "is not a feature",
                "write { \"type\": \"Feature\", \"id\": …, \"geometry\": …, \"properties\": … }",
            ));
            return None;
        };
        given_id.err().into_iter().for_each(&mut say);
        foreign(object).into_iter().for_each(&mut say);
        let Some(properties) = object.get("properties").and_then(Value::as_object) else {
            say(Fault::new(
                "no-kind",
                "has no properties",
                "add \"properties\": { \"kind\": … }",
            ));
            return None;
        };
        let kind = match kind_of(properties) {
            Ok(kind) => kind,
            Err(fault) => {
                say(fault);
                return None;
            }
        };
        strange(properties, kind).into_iter().for_each(&mut say);
        Some(Self {
            id,
            has_id,
            line,
            unit,
            kind,
            geometry: object.get("geometry").unwrap_or(&Value::Null),
            properties,
            out,
        })
    }

    fn item<G, M: Stored>(&mut self, read: fn(&Value, f64) -> Result<G, Vec<Fault>>) -> Item<G, M> {
        let has = M::read(self.properties);
        for (name, fault) in has.faults() {
            let what = format!("`{name}` {}", fault.what);
            self.say(Fault { what, ..fault });
        }
        let shape = match read(self.geometry, self.unit) {
            Ok(shape) => Some(shape),
            Err(faults) => {
                faults.into_iter().for_each(|fault| self.say(fault));
                None
            }
        };
        Item {
            id: self.id.clone(),
            line: self.line,
            shape,
            has,
        }
    }

    fn outlet(&mut self, kind: OutletKind) -> OutletItem {
        let item = self.item(shape::point);
        OutletItem { kind, item }
    }

    fn say(&mut self, fault: Fault) {
        self.out.push(finding(&self.id, self.line, fault));
    }
}

fn finding(id: &str, line: usize, fault: Fault) -> Finding {
    Finding::error(fault.rule, id, on_line(fault.what, line), fault.mend)
}

fn is_feature(object: &Map<String, Value>) -> bool {
    object.get("type").and_then(Value::as_str) == Some("Feature")
}

/// An id is part of the names of figures and is typed on the command line.
fn read_id(id: Option<&Value>) -> Result<String, Fault> {
    let mend = "give it an \"id\" of 1 to 64 letters, digits, '-' or '_', such as \"H12\"";
    let id = match id {
        Some(Value::String(id)) => id,
        Some(other) => {
            let what = format!("has the id {}, which is not a text", shown(other));
            return Err(Fault::new("bad-id", what, mend));
        }
        None => return Err(Fault::new("bad-id", "has no id", mend)),
    };
    let holds = !id.is_empty()
        && id.chars().count() <= 64
        && id
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_'));
    if holds {
        return Ok(id.clone());
    }
    let what = format!(
        "has the id {}, which cannot be used",
        shown(&Value::from(id.as_str()))
    );
    Err(Fault::new("bad-id", what, mend))
}

/// Members of a feature that GeoJSON does not know.
fn foreign(feature: &Map<String, Value>) -> Vec<Fault> {
    const KNOWN: [&str; 5] = ["type", "id", "geometry", "properties", "bbox"];
    unknown_names(feature, &KNOWN)
        .map(|name| unknown("unknown-member", "member", name, &KNOWN[..4]))
        .collect()
}

/// Properties that the kind does not have, and a note that is no text.
fn strange(properties: &Map<String, Value>, kind: &KindRow) -> Vec<Fault> {
    let known: Vec<&str> = kind.members.iter().chain(&COMMON).copied().collect();
    let mut faults: Vec<Fault> = unknown_names(properties, &known)
        .map(|name| unknown("unknown-property", "property", name, &known))
        .collect();
    if properties.get("note").is_some_and(|note| !note.is_string()) {
        let mend = "write the note as a text";
        faults.push(Fault::new("wrong-type", "`note` is not a text", mend));
    }
    faults
}

/// The names in an object that are not known.
pub(crate) fn unknown_names<'a>(
    object: &'a Map<String, Value>,
    known: &[&str],
) -> impl Iterator<Item = &'a str> {
    object
        .keys()
        .map(String::as_str)
        .filter(move |name| !known.contains(name))
}

/// A name that is not known, with the one that was probably meant.
pub(crate) fn unknown(rule: &'static str, thing: &str, name: &str, known: &[&str]) -> Fault {
    let shown = shown(&Value::from(name));
    let mend = match nearest(name, known) {
        Some(near) => format!("did you mean \"{near}\"? Known: {}", known.join(", ")),
        None => format!("take it out, or use one of {}", known.join(", ")),
    };
    Fault::new(rule, format!("has an unknown {thing} {shown}"), mend)
}

fn kind_of(properties: &Map<String, Value>) -> Result<&'static KindRow, Fault> {
    let names: Vec<&str> = KINDS.iter().map(|row| row.name).collect();
    let Some(kind) = properties.get("kind") else {
        let mend = format!(
            "add \"kind\" to its properties: one of {}",
            names.join(", ")
        );
        return Err(Fault::new("no-kind", "does not say what kind it is", mend));
    };
    let name = kind.as_str().unwrap_or_default();
    KindRow::of(name).ok_or_else(|| {
        let mend = match nearest(name, &names) {
            Some(near) => format!("did you mean \"{near}\"? Kinds: {}", names.join(", ")),
            None => format!("use one of {}", names.join(", ")),
        };
        Fault::new(
            "unknown-kind",
            format!("is of an unknown kind {}", shown(kind)),
            mend,
        )
    })
}
