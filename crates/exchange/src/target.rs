//! What features go into, how a file is to be read, and what came of it.

use job::{Anchor, Document, Finding, LengthUnit};
use quantity::Length;
use serde_json::{Map, Value};
use std::collections::BTreeSet;

use crate::Report;

/// What the features of a file go into.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// The unit of its coordinates.
    pub length_unit: LengthUnit,
    /// Where on the Earth its plane lies, if that is known.
    pub anchor: Option<Anchor>,
    /// Ids that are used already.
    pub taken: BTreeSet<String>,
}

impl Target {
    /// An empty job in this unit.
    pub fn new(length_unit: LengthUnit) -> Self {
        Self {
            length_unit,
            anchor: None,
            taken: BTreeSet::new(),
        }
    }

    /// Metres in one unit of its coordinates.
    pub fn metres(&self) -> f64 {
        self.length_unit.to_m()
    }
}

/// The unit of a job that is written.
pub(crate) fn unit_of(document: &Document) -> Result<LengthUnit, Vec<Finding>> {
    document.length_unit().ok_or_else(|| {
        vec![Finding::error(
            "wrong-type",
            "spadework.length_unit",
            "is no unit",
            "write \"m\" or \"ft\"",
        )]
    })
}

/// How a file is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Ends of lines nearer than this are one place where an area is wanted.
    pub close_within: Length,
    /// How far a chord may lie from the curve that it stands for.
    pub flatten_within: Length,
    /// How far places of a track that are left out may lie from the line that is kept.
    pub thin_within: Length,
    /// The easting and northing, in the file's unit, that become the origin of the plane.
    pub origin: Option<(f64, f64)>,
    /// The unit of the file, where it does not say it, or says it wrongly.
    pub unit: Option<Unit>,
}

impl Default for Options {
    /// 100 mm to close, 10 mm for curves, 0.5 m for tracks; origin and unit as the file has them.
    fn default() -> Self {
        Self {
            close_within: Length::mm(100.0),
            flatten_within: Length::mm(10.0),
            thin_within: Length::m(0.5),
            origin: None,
            unit: None,
        }
    }
}

/// A unit of coordinates in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unit {
    /// Inches.
    Inch,
    /// International feet.
    Foot,
    /// US survey feet, 1200/3937 m.
    SurveyFoot,
    /// Yards.
    Yard,
    /// Millimetres.
    Millimetre,
    /// Centimetres.
    Centimetre,
    /// Decimetres.
    Decimetre,
    /// Metres.
    Metre,
}

impl Unit {
    /// All units.
    pub const ALL: [Self; 8] = [
        Self::Inch,
        Self::Foot,
        Self::SurveyFoot,
        Self::Yard,
        Self::Millimetre,
        Self::Centimetre,
        Self::Decimetre,
        Self::Metre,
    ];

    /// How it is written: `in`, `ft`, `us-ft`, `yd`, `mm`, `cm`, `dm`, `m`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Inch => "in",
            Self::Foot => "ft",
            Self::SurveyFoot => "us-ft",
            Self::Yard => "yd",
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Decimetre => "dm",
            Self::Metre => "m",
        }
    }

    /// Metres in one of it.
    pub fn metres(self) -> f64 {
        match self {
            Self::Inch => Length::inch(1.0).to_m(),
            Self::Foot => Length::ft(1.0).to_m(),
            // NIST Special Publication 811, appendix B.6: 1 US survey foot = 1200/3937 m.
            Self::SurveyFoot => 1200.0 / 3937.0,
            Self::Yard => Length::yd(1.0).to_m(),
            Self::Millimetre => 0.001,
            Self::Centimetre => 0.01,
            Self::Decimetre => 0.1,
            Self::Metre => 1.0,
        }
    }

    /// The unit of a job's coordinates.
    pub const fn of(unit: LengthUnit) -> Self {
        match unit {
            LengthUnit::M => Self::Metre,
            LengthUnit::Ft => Self::Foot,
        }
    }
}

impl std::str::FromStr for Unit {
    type Err = Finding;

    fn from_str(text: &str) -> Result<Self, Finding> {
        let named = Self::ALL.into_iter().find(|unit| unit.name() == text);
        named.ok_or_else(|| {
            let names: Vec<&str> = Self::ALL.iter().map(|unit| unit.name()).collect();
            Finding::error(
                "unknown-unit",
                crate::report::shown(text),
                "is no unit of a drawing",
                format!("write one of {}", names.join(", ")),
            )
        })
    }
}

/// What was read from a file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Imported {
    /// The members of `spadework` of the job that the file holds, where it is one of our own.
    pub header: Option<Map<String, Value>>,
    /// Features of a job file: in the local plane and the target's length unit, each with an id that is
    /// neither taken nor used twice.
    pub features: Vec<Value>,
    /// Where the plane lies: the target's anchor, the file's own, or one that the reader had to choose.
    pub anchor: Option<Anchor>,
    /// What was taken and what was left.
    pub report: Report,
}
