//! A shape as a file has it, before it is fitted to a kind of feature.

use serde_json::{Value, json};

use crate::Xy;

/// A shape in the plane, metres.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Piece {
    Point(Xy),
    Line(Vec<Xy>),
    /// Closed lines, first place = last: the outline and its holes.
    Area(Vec<Vec<Xy>>),
    /// A circle with its outline as a closed line.
    Circle(Xy, Vec<Xy>),
    /// Several points that belong together.
    Points(Vec<Xy>),
    /// No place at all.
    Nowhere,
}

impl Piece {
    /// What a person calls it.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Point(_) => "point",
            Self::Line(_) => "line",
            Self::Area(_) => "closed line",
            Self::Circle(..) => "circle",
            Self::Points(_) => "group of points",
            Self::Nowhere => "thing without a place",
        }
    }

    /// All its places.
    pub fn places(&self) -> Box<dyn Iterator<Item = &Xy> + '_> {
        match self {
            Self::Point(at) => Box::new(std::iter::once(at)),
            Self::Line(places) | Self::Points(places) | Self::Circle(_, places) => {
                Box::new(places.iter())
            }
            Self::Area(rings) => Box::new(rings.iter().flatten()),
            Self::Nowhere => Box::new(std::iter::empty()),
        }
    }

    /// The same with every place moved.
    pub fn moved(self, to: &impl Fn(Xy) -> Xy) -> Self {
        let all = |places: Vec<Xy>| places.into_iter().map(to).collect::<Vec<_>>();
        match self {
            Self::Point(at) => Self::Point(to(at)),
            Self::Line(places) => Self::Line(all(places)),
            Self::Area(rings) => Self::Area(rings.into_iter().map(all).collect()),
            Self::Circle(centre, ring) => Self::Circle(to(centre), all(ring)),
            Self::Points(places) => Self::Points(all(places)),
            Self::Nowhere => Self::Nowhere,
        }
    }

    /// As the geometry of a feature, in units of so many metres, to one of so many `steps` of a unit.
    pub fn geometry(&self, metres: f64, steps: f64) -> Value {
        let number = |value| coordinate(value / metres, steps);
        let place = |at: &Xy| json!([number(at.0), number(at.1)]);
        let all = |places: &[Xy]| places.iter().map(place).collect::<Vec<Value>>();
        match self {
            Self::Point(at) => json!({ "type": "Point", "coordinates": place(at) }),
            Self::Line(places) => json!({ "type": "LineString", "coordinates": all(places) }),
            Self::Points(places) => json!({ "type": "MultiPoint", "coordinates": all(places) }),
            Self::Area(rings) => {
                let rings: Vec<Value> = rings.iter().map(|ring| Value::from(all(ring))).collect();
                json!({ "type": "Polygon", "coordinates": rings })
            }
            Self::Circle(_, ring) => json!({ "type": "Polygon", "coordinates": [all(ring)] }),
            Self::Nowhere => Value::Null,
        }
    }
}

/// A hundred-thousandth of a unit: no survey is better.
pub(crate) const FINE: f64 = 1e5;
/// A ten-thousandth of a unit, for what went through longitude and latitude.
pub(crate) const COARSE: f64 = 1e4;

fn coordinate(value: f64, steps: f64) -> Value {
    let rounded = (value * steps).round();
    job::number(if rounded == 0.0 { 0.0 } else { rounded / steps })
}
