//! Features gathered from a file: fitted, joined, named, and counted in the report.

use job::Finding;
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};

use crate::fit::{Fit, fit, joined};
use crate::limits::{FARTHEST, MOST_FEATURES, MOST_PLACES, MOST_PLACES_IN_LINE, too_many};
use crate::mapping::{Rule, class_of};
use crate::report::shown;
use crate::shape::{FINE, Piece};
use crate::{Imported, Options, Target, Unit, Xy, thin};

/// Something in a file that a rule speaks of.
pub(crate) struct Found<'a> {
    /// Where it is, for the report.
    pub place: &'a str,
    /// What it is called in the file.
    pub name: Option<&'a str>,
    pub rule: &'a Rule,
    /// Properties of its own, beside those of the rule.
    pub own: Map<String, Value>,
    /// Its shape in metres.
    pub piece: Piece,
}

/// A feature before it has its place in the plane.
struct Ready {
    id: String,
    properties: Map<String, Value>,
    piece: Piece,
}

/// Lines or points that wait for others of the same sort.
struct Waiting {
    place: String,
    rule: Rule,
    own: Map<String, Value>,
    open: Vec<Vec<Xy>>,
    loose: Vec<Xy>,
}

/// What was gathered so far.
pub(crate) struct Gather<'a> {
    subject: &'static str,
    target: &'a Target,
    options: &'a Options,
    pub report: crate::Report,
    ids: Ids,
    ready: Vec<Ready>,
    waiting: BTreeMap<String, Waiting>,
    places: usize,
    /// What a unit is divided into.
    pub steps: f64,
    /// Set where the file's coordinates are those of the plane already.
    pub fixed: bool,
    /// Whether features of ours were taken in: they lie where they lay, unless an origin is given.
    holds_own: bool,
}

type Held = Result<(), Vec<Finding>>;

impl<'a> Gather<'a> {
    /// Nothing yet, of a file that findings call `subject`.
    pub fn new(subject: &'static str, target: &'a Target, options: &'a Options) -> Self {
        Self {
            subject,
            target,
            options,
            report: crate::Report::default(),
            ids: Ids::new(&target.taken),
            ready: Vec::new(),
            waiting: BTreeMap::new(),
            places: 0,
            steps: FINE,
            fixed: false,
            holds_own: false,
        }
    }

    /// Metres within which ends are one place.
    fn close(&self) -> f64 {
        self.options.close_within.to_m().max(0.0)
    }

    /// Takes something in.
    pub fn add(&mut self, found: Found<'_>) -> Held {
        let what = found.piece.name();
        let Some(kind) = found.rule.kind else {
            self.report
                .leave(found.place, what, 1, "the mapping says so");
            return Ok(());
        };
        let too_far = |at: &Xy| !(at.0.abs() <= FARTHEST * 10.0 && at.1.abs() <= FARTHEST * 10.0);
        if found.piece.places().any(too_far) {
            let why = "it lies over 100,000 km from the origin";
            self.report.leave(found.place, what, 1, why);
            return Ok(());
        }
        if found.piece.places().nth(MOST_PLACES).is_some() {
            return Err(too_many(self.subject, "places in one line", MOST_PLACES));
        }
        let mut properties = found.rule.properties.clone();
        properties.extend(found.own);
        let was_open = matches!(found.piece, Piece::Line(_));
        match fit(found.piece, &kind, &properties, self.close()) {
            Fit::Not(why) => self.report.leave(found.place, what, 1, why),
            Fit::Open(line) => {
                self.places += line.len();
                self.waiting(found.place, found.rule, properties)
                    .open
                    .push(line);
            }
            Fit::Loose(points) => {
                self.places += points.len();
                self.waiting(found.place, found.rule, properties)
                    .loose
                    .extend(points);
            }
            Fit::Ready(pieces) => {
                for piece in pieces {
                    if was_open && matches!(piece, Piece::Area(_)) {
                        let millimetres = self.close() * 1000.0;
                        let note =
                            format!("lines whose ends were within {millimetres:.0} mm were closed");
                        self.report.note(note);
                    }
                    self.feature(
                        found.place,
                        what,
                        found.name,
                        kind.name,
                        properties.clone(),
                        piece,
                    )?;
                }
            }
        }
        self.held()
    }

    fn waiting(&mut self, place: &str, rule: &Rule, own: Map<String, Value>) -> &mut Waiting {
        let kind = rule.kind.map_or("", |kind| kind.name);
        let key = format!("{place}\n{kind}\n{}", Value::from(own.clone()));
        self.waiting.entry(key).or_insert_with(|| Waiting {
            place: place.to_owned(),
            rule: rule.clone(),
            own,
            open: Vec::new(),
            loose: Vec::new(),
        })
    }

    fn feature(
        &mut self,
        place: &str,
        what: &str,
        name: Option<&str>,
        kind: &'static str,
        mut properties: Map<String, Value>,
        piece: Piece,
    ) -> Held {
        let class = class_of(kind)
            .and_then(|class| properties.get(class))
            .and_then(Value::as_str);
        let fate = class.map_or_else(|| kind.to_owned(), |class| format!("{kind} {class}"));
        self.report.take(place, what, &fate);
        let id = self.ids.next(name, kind);
        properties.shift_insert(0, "kind".to_owned(), Value::from(kind));
        self.keep(id, properties, piece)
    }

    /// Takes in a feature of a job as it was written by us, and gives the id that it has now.
    pub fn own(
        &mut self,
        id: &str,
        properties: Map<String, Value>,
        piece: Piece,
    ) -> Result<String, Vec<Finding>> {
        self.holds_own = true;
        let id = self.ids.next(Some(id), "feature");
        self.keep(id.clone(), properties, piece)?;
        Ok(id)
    }

    fn keep(&mut self, id: String, properties: Map<String, Value>, piece: Piece) -> Held {
        let piece = self.short(piece);
        self.places += piece.places().count();
        self.ready.push(Ready {
            id,
            properties,
            piece,
        });
        self.held()
    }

    fn held(&self) -> Held {
        if self.ready.len() > MOST_FEATURES {
            return Err(too_many(
                self.subject,
                "features that are mapped",
                MOST_FEATURES,
            ));
        }
        if self.places > MOST_PLACES {
            return Err(too_many(
                self.subject,
                "places in what is mapped",
                MOST_PLACES,
            ));
        }
        Ok(())
    }

    /// With lines no longer than a job file may have.
    fn short(&mut self, piece: Piece) -> Piece {
        if piece.places().nth(MOST_PLACES_IN_LINE).is_none() {
            return piece;
        }
        let tolerance = self.options.flatten_within.to_m();
        let mut off = 0.0_f64;
        let mut one = |line: Vec<Xy>| {
            let (line, by) = thin::within_limit(&line, tolerance);
            off = off.max(by);
            line
        };
        let piece = match piece {
            Piece::Line(places) => Piece::Line(one(places)),
            Piece::Area(rings) => Piece::Area(rings.into_iter().map(one).collect()),
            other => other,
        };
        if off > 0.0 {
            let most = MOST_PLACES_IN_LINE;
            let note =
                format!("lines of more than {most} places were thinned, to within {off:.3} m");
            self.report.note(note);
        }
        piece
    }

    /// Joins what waits, moves all to the origin of the plane, and writes the features.
    ///
    /// # Errors
    /// If it is too much.
    pub fn done(mut self, unit: Unit) -> Result<Imported, Vec<Finding>> {
        self.join()?;
        let shift = self.shift(unit);
        let (metres, steps) = (self.target.metres(), self.steps);
        let mut far = 0;
        let mut features = Vec::with_capacity(self.ready.len());
        for Ready {
            id,
            properties,
            piece,
        } in std::mem::take(&mut self.ready)
        {
            let piece = piece.moved(&|at| (at.0 - shift.0, at.1 - shift.1));
            if piece
                .places()
                .any(|at| at.0.abs() > FARTHEST || at.1.abs() > FARTHEST)
            {
                far += 1;
                continue;
            }
            features.push(json!({
                "type": "Feature", "id": id, "geometry": piece.geometry(metres, steps),
                "properties": properties,
            }));
        }
        if far > 0 {
            let why = "it lies over 10,000 km from the origin; give an origin near the property";
            self.report.leave("the whole file", "feature", far, why);
        }
        Ok(Imported {
            header: None,
            features,
            anchor: self.target.anchor,
            report: self.report,
        })
    }

    fn join(&mut self) -> Held {
        let close = self.close();
        for (_, waiting) in std::mem::take(&mut self.waiting) {
            let Waiting {
                place,
                rule,
                own,
                open,
                loose,
            } = waiting;
            let Some(kind) = rule.kind else { continue };
            let (rings, over) = joined(open, close);
            for ring in rings {
                self.report.note(format!(
                    "lines on {place} that meet in their ends were joined to areas"
                ));
                let area = Piece::Area(vec![ring]);
                self.feature(&place, "ring of lines", None, kind.name, own.clone(), area)?;
            }
            if over > 0 {
                let millimetres = close * 1000.0;
                let why = format!(
                    "{} needs a closed line, and their ends are over {millimetres:.0} mm apart; close them, \
                     or allow more",
                    kind.name
                );
                self.report.leave(&place, "open line", over, &why);
            }
            match loose.len() {
                0 => {}
                1 => self
                    .report
                    .leave(&place, "point", 1, "a cable needs two points or more"),
                _ => self.feature(
                    &place,
                    "group of points",
                    None,
                    kind.name,
                    own,
                    Piece::Points(loose),
                )?,
            }
        }
        Ok(())
    }

    /// What the origin of the plane is in the file, metres.
    fn shift(&mut self, unit: Unit) -> Xy {
        /// Coordinates beyond this are those of a country, not of a garden; metres.
        const HUGE: f64 = 20_000.0;
        /// What an origin of ours is rounded to, in the file's unit.
        const ROUND: f64 = 1_000.0;
        let metres = unit.metres();
        if self.fixed {
            return (0.0, 0.0);
        }
        if let Some((east, north)) = self.options.origin {
            return finite((east * metres, north * metres));
        }
        if self.holds_own {
            return (0.0, 0.0);
        }
        let places = self.ready.iter().flat_map(|ready| ready.piece.places());
        let least = places.fold((f64::INFINITY, f64::INFINITY), |least, at| {
            (least.0.min(at.0), least.1.min(at.1))
        });
        if !least.0.is_finite() || (least.0.abs() < HUGE && least.1.abs() < HUGE) {
            return (0.0, 0.0);
        }
        let down = |value: f64| (value / metres / ROUND).floor() * ROUND;
        let (east, north) = (down(least.0), down(least.1));
        let name = unit.name();
        self.report.note(format!(
            "its coordinates are far from 0; the origin of the plane was put at easting {east} {name}, northing \
             {north} {name}. Give the same origin with every file of this property"
        ));
        finite((east * metres, north * metres))
    }
}

fn finite(at: Xy) -> Xy {
    if at.0.is_finite() && at.1.is_finite() {
        at
    } else {
        (0.0, 0.0)
    }
}

/// A line of points as an area, closed from its last place to its first, where its kind is always one.
pub(crate) fn closed_where_needed(
    rule: &Rule,
    mut places: Vec<Xy>,
    report: &mut crate::Report,
) -> Piece {
    let areas_only = rule.kind.is_some_and(|kind| {
        !kind.geometry.contains(&"LineString") && kind.geometry.contains(&"Polygon")
    });
    let sort = rule.properties.get("obstacle").and_then(Value::as_str);
    let solid = sort.is_some_and(|sort| crate::fit::SOLID.contains(&sort));
    if !(areas_only || solid) || places.len() < 3 {
        return Piece::Line(places);
    }
    if places.first() != places.last() {
        report
            .note("outlines of areas were closed from their last point to their first".to_owned());
        places.extend(places.first().copied());
    }
    Piece::Area(vec![places])
}

/// A layer or the like as a report names it.
pub(crate) fn named(sort: &str, name: &str) -> String {
    format!("{sort} `{}`", shown(name))
}

/// Ids that are used.
struct Ids {
    used: BTreeSet<String>,
    counts: BTreeMap<String, usize>,
}

impl Ids {
    /// Longest id of a job file.
    const LONGEST: usize = 64;

    fn new(taken: &BTreeSet<String>) -> Self {
        Self {
            used: taken.clone(),
            counts: BTreeMap::new(),
        }
    }

    /// The id that is wished for, as a job file allows it, or the next of a kind.
    fn next(&mut self, wish: Option<&str>, kind: &str) -> String {
        let wish = wish.map(clean).filter(|wish| !wish.is_empty());
        if let Some(wish) = &wish
            && self.used.insert(wish.clone())
        {
            return wish.clone();
        }
        let stem = wish.map_or_else(
            || kind.to_owned(),
            |wish| wish[..wish.len().min(Self::LONGEST - 10)].to_owned(),
        );
        let count = self.counts.entry(stem.clone()).or_default();
        loop {
            *count += 1;
            let id = format!("{stem}-{count}");
            if self.used.insert(id.clone()) {
                return id;
            }
        }
    }
}

/// A name with only what an id may have.
fn clean(name: &str) -> String {
    let letter = |c: char| {
        if c.is_ascii_alphanumeric() || c == '_' {
            c
        } else {
            '-'
        }
    };
    let letters: String = name.trim().chars().take(Ids::LONGEST).map(letter).collect();
    letters.trim_matches('-').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_what_a_job_file_allows_and_never_twice() {
        let mut ids = Ids::new(&BTreeSet::from(["A".to_owned(), "head-1".to_owned()]));
        assert_eq!(ids.next(Some("A"), "head"), "A-1");
        assert_eq!(ids.next(None, "head"), "head-2");
        assert_eq!(ids.next(Some("Süd 1/2"), "head"), "S-d-1-2");
        assert_eq!(ids.next(Some("///"), "head"), "head-3");
        assert!(ids.next(Some(&"x".repeat(500)), "head").len() <= 64);
    }
}
