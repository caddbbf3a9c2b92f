//! What two jobs say differently, by the values that were read from them.

use super::{InputChange, Variant};
use job::{
    Cable, Carried, Circuit, Controller, Corridor, Curve, FixedTrench, Gate, Job, KeepOut,
    Manifold, Obstacle, Outlet, Place, Settings, Shape, Sleeve, SoilArea, Source, Spot, Steep,
    Surface, Tree, Utility, Valve,
};
use quantity::{
    Amount, Angle, Conductivity, Current, DegreeDays, Density, DigRate, Duration, Flow, Length,
    LinearResistance, Pressure, Quantity, Ratio, Velocity, Voltage,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A value of a job.
#[derive(Debug, Clone, PartialEq)]
pub enum Stated {
    /// A number with its style.
    Amount(Amount),
    /// A word, or a value as it is written.
    Word(String),
    /// Where it lies.
    Places(Vec<Place>),
}

/// Coordinates that differ by less are the same, in metres: the two files may use different units.
const SAME_PLACE: f64 = 1e-6;

/// Numbers that differ by a smaller share are the same.
const SAME_NUMBER: f64 = 1e-9;

impl Stated {
    fn same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Amount(a), Self::Amount(b)) => a.style == b.style && near(a.value, b.value),
            (Self::Word(a), Self::Word(b)) => a == b,
            (Self::Places(a), Self::Places(b)) => {
                let mut pairs = a.iter().zip(b);
                a.len() == b.len() && pairs.all(|(a, b)| a.distance(*b) <= SAME_PLACE)
            }
            _ => false,
        }
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME_NUMBER * a.abs().max(b.abs())
}

/// Everything that differs: features by id, then rules and prices by name.
pub fn changes(both: [&Variant; 2]) -> Vec<InputChange> {
    let [before, after] = both.map(|variant| Said::of(variant.job).0);
    let subjects: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let mut changes = Vec::new();
    for subject in subjects {
        match (before.get(subject), after.get(subject)) {
            (Some(before), Some(after)) => changes.extend(of_feature(subject, before, after)),
            (before, after) => changes.push(InputChange {
                subject: subject.clone(),
                field: String::new(),
                before: before.and_then(kind),
                after: after.and_then(kind),
            }),
        }
    }
    changes.extend(of_settings(both.map(|variant| variant.settings)));
    changes
}

type Fields = BTreeMap<&'static str, Stated>;

const KIND: &str = "kind";

fn kind(fields: &Fields) -> Option<Stated> {
    fields.get(KIND).cloned()
}

fn of_feature(subject: &str, before: &Fields, after: &Fields) -> Vec<InputChange> {
    let names: BTreeSet<&str> = before.keys().chain(after.keys()).copied().collect();
    let differing = names.into_iter().filter_map(|field| {
        let (before, after) = (before.get(field), after.get(field));
        let same = match (before, after) {
            (Some(before), Some(after)) => before.same(after),
            _ => false,
        };
        (!same).then(|| InputChange {
            subject: subject.to_owned(),
            field: field.to_owned(),
            before: before.cloned(),
            after: after.cloned(),
        })
    });
    differing.collect()
}

fn of_settings([before, after]: [&Settings; 2]) -> Vec<InputChange> {
    let names: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let differing = names.into_iter().filter_map(|name| {
        let (before, after) = (before.get(name), after.get(name));
        let same = match (before, after) {
            (Some(before), Some(after)) => same_text(before, after),
            _ => false,
        };
        let stated = |text: Option<&String>| text.cloned().map(Stated::Word);
        (!same).then(|| InputChange {
            subject: name.clone(),
            field: String::new(),
            before: stated(before),
            after: stated(after),
        })
    });
    differing.collect()
}

/// Whether two values as written are the same: letter by letter, or as one quantity in two units.
fn same_text(a: &str, b: &str) -> bool {
    a == b
        || same_as::<Ratio>(a, b)
        || same_as::<Length>(a, b)
        || same_as::<Duration>(a, b)
        || same_as::<Velocity>(a, b)
        || same_as::<Pressure>(a, b)
        || same_as::<Flow>(a, b)
        || same_as::<Angle>(a, b)
        || same_as::<DigRate>(a, b)
        || same_as::<Density>(a, b)
        || same_as::<Current>(a, b)
        || same_as::<Voltage>(a, b)
        || same_as::<LinearResistance>(a, b)
        || same_as::<Conductivity>(a, b)
        || same_as::<DegreeDays>(a, b)
}

fn same_as<Q: Quantity>(a: &str, b: &str) -> bool {
    match (a.parse::<Q>(), b.parse::<Q>()) {
        (Ok(a), Ok(b)) => near(a.si(), b.si()),
        _ => false,
    }
}

/// What a job says, by subject and property.
struct Said(BTreeMap<String, Fields>);

impl Said {
    fn of(job: &Job) -> Self {
        let mut said = Self(BTreeMap::new());
        said.whole(job);
        said.survey(job);
        said.system(job);
        said.decisions(job);
        said
    }

    fn feature(&mut self, id: &str, kind: &str) -> Told<'_> {
        let mut told = Told(self.0.entry(id.to_owned()).or_default());
        told.word(KIND, kind);
        told
    }

    fn whole(&mut self, job: &Job) {
        let mut told = self.feature("job", "job");
        told.word("name", &job.name);
        told.word("display", word(&job.units));
        told.word("seed", job.seed.to_string());
        told.word("invented", yes(job.invented));
        if let Some(anchor) = job.anchor {
            told.word("anchor", word(&anchor));
        }
    }

    fn survey(&mut self, job: &Job) {
        let survey = &job.survey;
        let boundary = &survey.boundary;
        self.feature(&boundary.id, "boundary")
            .ring(Some(&boundary.polygon));
        for Surface { id, kind, polygon } in &survey.surfaces {
            let mut told = self.feature(id, "surface");
            told.ring(polygon.as_ref());
            told.word("surface", word(kind));
        }
        for Obstacle { id, kind, shape } in &survey.obstacles {
            let mut told = self.feature(id, "obstacle");
            told.word("obstacle", word(kind));
            match shape {
                Shape::Area(polygon) => told.ring(Some(polygon)),
                Shape::Line(line) => told.places(line.coords().copied().map(Place::from)),
            }
        }
        for tree in &survey.trees {
            let Tree {
                id,
                at,
                trunk,
                root_radius,
            } = tree;
            let mut told = self.feature(id, "tree");
            told.place(*at);
            told.amount("trunk", Some(trunk.small()));
            told.amount("root_radius", root_radius.map(Length::amount));
        }
        for utility in &survey.utilities {
            self.utility(utility);
        }
        for SoilArea { id, soil, polygon } in &survey.soils {
            let mut told = self.feature(id, "soil");
            told.ring(polygon.as_ref());
            told.word("texture", word(&soil.texture));
            told.amount("coarse", Some(soil.coarse.amount()));
            told.amount("stone", soil.stone.map(Length::small));
            told.word("moisture", word(&soil.moisture));
        }
        for Steep { id, slope, polygon } in &survey.steeps {
            let mut told = self.feature(id, "steep");
            told.ring(Some(polygon));
            told.amount("slope", Some(slope.amount()));
        }
        for Spot { id, at, elevation } in &survey.spots {
            let mut told = self.feature(id, "spot");
            told.place(*at);
            told.amount("elevation", Some(elevation.amount()));
        }
        for gate in &survey.gates {
            let Gate {
                id,
                from,
                to,
                clear_width,
            } = gate;
            let mut told = self.feature(id, "gate");
            told.places([*from, *to]);
            told.amount("clear_width", Some(clear_width.small()));
        }
        for access in &survey.accesses {
            self.feature(&access.id, "access").place(access.at);
        }
    }

    fn utility(&mut self, utility: &Utility) {
        let Utility {
            id,
            class,
            line,
            width,
            depth,
            located,
            marked,
        } = utility;
        let mut told = self.feature(id, "utility");
        told.places(line.coords().copied().map(Place::from));
        told.word("class", word(class));
        told.amount("width", Some(width.small()));
        told.amount("depth", depth.map(Length::small));
        told.word("located", yes(*located));
        told.word("marked", yes(*marked));
    }

    fn system(&mut self, job: &Job) {
        let system = &job.system;
        self.source(&system.source);
        let mut told = self.feature(&system.backflow.id, "backflow");
        told.place(system.backflow.at);
        told.curve("loss", system.backflow.loss.as_ref());
        if let Some(Controller { id, at }) = &system.controller {
            self.feature(id, "controller").place(*at);
        }
        for circuit in &system.circuits {
            let Circuit {
                id,
                name,
                pipe,
                runs_with,
            } = circuit;
            let mut told = self.feature(id, "circuit");
            told.word("name", name);
            told.word("pipe", pipe);
            told.maybe("runs_with", runs_with.as_deref());
        }
        for valve in &system.valves {
            let Valve {
                id,
                at,
                circuit,
                manifold,
                loss,
            } = valve;
            let mut told = self.feature(id, "valve");
            told.place(*at);
            told.word("circuit", circuit);
            told.maybe("manifold", manifold.as_deref());
            told.curve("loss", loss.as_ref());
        }
        for Manifold { id, at } in &system.manifolds {
            self.feature(id, "manifold").place(*at);
        }
        for outlet in &system.outlets {
            self.outlet(outlet);
        }
        for Cable {
            id,
            service,
            points,
        } in &system.cables
        {
            let mut told = self.feature(id, "cable");
            told.places(points.iter().copied());
            told.word("service", service);
        }
        for sleeve in &system.sleeves {
            let Sleeve {
                id,
                from,
                to,
                inside,
            } = sleeve;
            let mut told = self.feature(id, "sleeve");
            told.places([*from, *to]);
            told.amount("inside", Some(inside.small()));
        }
    }

    fn source(&mut self, source: &Source) {
        let Source {
            id,
            at,
            static_pressure,
            test_flow,
            residual_pressure,
            service_size,
            main_pipe,
            pump,
            meter_loss,
            filter_loss,
            regulated,
        } = source;
        let mut told = self.feature(id, "source");
        told.place(*at);
        told.amount("static_pressure", Some(static_pressure.amount()));
        told.amount("test_flow", Some(test_flow.amount()));
        told.amount("residual_pressure", Some(residual_pressure.amount()));
        told.word("service_size", service_size);
        told.word("main_pipe", main_pipe);
        told.curve("pump", pump.as_ref());
        told.curve("meter_loss", meter_loss.as_ref());
        told.curve("filter_loss", filter_loss.as_ref());
        told.amount("regulated", regulated.map(Pressure::amount));
    }

    fn outlet(&mut self, outlet: &Outlet) {
        let Outlet {
            id,
            kind,
            at,
            circuit,
            flow,
            pressure,
            exponent,
            compensating,
            precipitation,
        } = outlet;
        let mut told = self.feature(id, &word(kind));
        told.place(*at);
        told.maybe("circuit", Some(circuit.as_str()).filter(|c| !c.is_empty()));
        told.amount("flow", Some(flow.amount()));
        told.amount("pressure", Some(pressure.amount()));
        told.amount("exponent", exponent.map(Ratio::amount));
        told.word("compensating", yes(*compensating));
        told.amount("precipitation", precipitation.map(|rate| rate.amount()));
    }

    fn decisions(&mut self, job: &Job) {
        let decisions = &job.decisions;
        for KeepOut {
            id,
            polygon,
            reason,
        } in &decisions.keep_outs
        {
            let mut told = self.feature(id, "keep_out");
            told.ring(Some(polygon));
            told.maybe("reason", reason.as_deref());
        }
        for Corridor {
            id,
            polygon,
            favour,
        } in &decisions.corridors
        {
            let mut told = self.feature(id, "corridor");
            told.ring(Some(polygon));
            told.amount("favour", Some(favour.amount()));
        }
        for FixedTrench {
            id,
            line,
            carries,
            method,
        } in &decisions.fixed
        {
            let mut told = self.feature(id, "fixed_trench");
            told.places(line.coords().copied().map(Place::from));
            let carries: Vec<String> = carries.iter().map(carried).collect();
            told.word("carries", carries.join(", "));
            if let Some(method) = method {
                told.word("method", method.to_string());
            }
        }
    }
}

/// The properties of one feature as they are told.
struct Told<'a>(&'a mut Fields);

impl Told<'_> {
    fn put(&mut self, field: &'static str, value: Stated) {
        self.0.insert(field, value);
    }

    fn word(&mut self, field: &'static str, word: impl Into<String>) {
        self.put(field, Stated::Word(word.into()));
    }

    fn maybe(&mut self, field: &'static str, word: Option<&str>) {
        if let Some(word) = word {
            self.word(field, word);
        }
    }

    fn amount(&mut self, field: &'static str, amount: Option<Amount>) {
        if let Some(amount) = amount {
            self.put(field, Stated::Amount(amount));
        }
    }

    fn place(&mut self, at: Place) {
        self.places([at]);
    }

    fn places(&mut self, places: impl IntoIterator<Item = Place>) {
        self.put("geometry", Stated::Places(places.into_iter().collect()));
    }

    fn ring(&mut self, polygon: Option<&geo::Polygon>) {
        if let Some(polygon) = polygon {
            let holes = polygon.interiors().iter();
            let rings = std::iter::once(polygon.exterior()).chain(holes);
            self.places(rings.flat_map(|ring| ring.coords().copied().map(Place::from)));
        }
    }

    fn curve(&mut self, field: &'static str, curve: Option<&Curve>) {
        if let Some(curve) = curve {
            let points = curve.points().iter();
            let words: Vec<String> = points
                .map(|(flow, pressure)| {
                    format!("{} L/min {} kPa", flow.to_lpm(), pressure.to_kpa())
                })
                .collect();
            self.word(field, words.join(", "));
        }
    }
}

fn carried(what: &Carried) -> String {
    match what {
        Carried::Service => "service".to_owned(),
        Carried::Main => "main".to_owned(),
        Carried::Wire => "wire".to_owned(),
        Carried::Lateral(id) | Carried::Cable(id) => id.clone(),
    }
}

fn yes(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

/// A value as the job file writes it.
fn word(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        Ok(other) => other.to_string(),
        Err(_) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_in_two_units_is_the_same() {
        assert!(same_text("1 in", "25.4 mm"));
        assert!(same_text("12 %", "0.12"));
        assert!(same_text("36.0", "36"));
        assert!(!same_text("1 in", "1 ft"));
        assert!(!same_text("pvc", "pe"));
    }
}
