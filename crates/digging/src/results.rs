//! How each stretch goes in: the result of this stage.

use crate::MachineId;
use crate::crossings::{CrossingCheck, HandZone, NearService};
pub use crate::fill::{Fill, FillMoisture};
use crate::pull::{self, Pit, Pull};
use crate::section::Cut;
pub use crate::slack::Slack;
use crate::{MethodUse, Narrow};
use job::practice::Sides;
use job::{Finding, MethodId};
use quantity::{Area, Duration, Length, Money, Ratio, Volume};
use routes::StretchId;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the whole network goes in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Digging {
    /// One for every stretch of the network, in its order.
    pub digs: Vec<Dig>,
    /// What each method of the price book does here, and why it does no more.
    #[serde(default)]
    pub methods: Vec<MethodUse>,
    /// Machines to hire.
    pub hires: Vec<Hire>,
    /// Machines that are not hired and that could be of use.
    pub not_hired: Vec<NotHired>,
    /// How much less another choice of machines and methods might cost on these trenches; nothing
    /// where the search came to its end. Pits count as if each method did all that it can.
    pub gap: Money,
    /// Sets of machines that are accounted for, by working them out or by a bound.
    pub sets_compared: u64,
    /// Where stretches cross buried services or run in their tolerance zones.
    #[serde(default)]
    pub crossings: Vec<CrossingCheck>,
    /// Components in the tolerance zones of buried services.
    #[serde(default)]
    pub near_services: Vec<NearService>,
    /// Zones in which one digs by hand, with their length.
    #[serde(default)]
    pub hand_zones: Vec<HandZone>,
    /// Gaps that keep machines away from stretches.
    #[serde(default)]
    pub narrows: Vec<Narrow>,
    /// Stretches without a feasible method, and other conflicts.
    pub findings: Vec<Finding>,
}

impl Digging {
    /// What all the stretches cost, hire left out.
    pub fn stretch_cost(&self) -> Money {
        self.digs.iter().map(|d| d.cost).sum()
    }

    /// The pits of pulled pipe, each once.
    pub fn pits(&self) -> Vec<&Pit> {
        pull::distinct(&self.digs)
    }

    /// Volume in place of all these pits.
    pub fn pits_bank(&self) -> Volume {
        pull::figures::volume(&self.pits())
    }

    /// What all the machines cost.
    pub fn hire_cost(&self) -> Money {
        self.hires.iter().map(|h| h.cost).sum()
    }
}

/// How one stretch goes in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Dig {
    /// The stretch.
    pub stretch: StretchId,
    /// The method; digging by hand with a finding where nothing is feasible.
    pub method: MethodId,
    /// Why this one.
    pub reason: String,
    /// Labour, fuel and making good of this stretch by this method, without hire.
    pub cost: Money,
    /// The next best method on this stretch with its extra cost, hire left out.
    pub next_best: Option<NextBest>,
    /// Methods that cannot do it, and why.
    pub rejected: Vec<Rejected>,
    /// Machine or digging time.
    pub hours: Duration,
    /// People at it.
    pub crew: u32,
    /// The cut.
    pub section: Section,
    /// What is moved; of pulled pipe, its share of the pits.
    pub earth: Earthwork,
    /// How it is filled and tamped.
    pub fill: Fill,
    /// How each pipe is laid for its growing and shrinking; none where no trench is opened.
    pub slack: Vec<Slack>,
    /// Tension, bends, stones and pits, where pipe is pulled in.
    #[serde(default)]
    pub pull: Option<Pull>,
}

impl Dig {
    /// Time of the machine itself: that of the stretch without its pits, which are dug by hand.
    pub fn machine_hours(&self) -> Duration {
        let pits = self.pull.as_ref().map_or(Duration::ZERO, |p| p.pit_hours);
        self.hours - pits
    }
}

/// A method that was not chosen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NextBest {
    /// The method.
    pub method: MethodId,
    /// How much more it costs here.
    pub extra: Money,
}

/// A method that cannot do a stretch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Rejected {
    /// The method.
    pub method: MethodId,
    /// Why not.
    pub why: String,
}

/// The cross-section of a cut.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Section {
    /// From grade to the floor of the cut, bedding included; for pulled pipe, to its underside.
    pub depth: Length,
    /// Width at the floor; zero where no trench is opened.
    pub width: Length,
    /// Horizontal over vertical of the sides; zero for vertical sides.
    pub side_slope: Ratio,
    /// Width at grade.
    pub top_width: Length,
    /// Thickness of bedding under the pipe; zero if none.
    pub bedding: Length,
    /// What lies in it, from the deepest on.
    pub contents: Vec<Content>,
    /// What decides the depth, in words.
    pub depth_rule: String,
    /// What decides the width, in words.
    pub width_rule: String,
    /// Whether a way out is needed.
    pub egress: bool,
    /// Whether the sides are sloped or shored.
    pub protection: bool,
    /// How the sides stand; a competent person on site decides.
    pub sides: Sides,
    /// Steps on each side; 0 where they are not benched.
    pub benches: u32,
    /// Why the sides are kept so, in words; empty where they stand upright by themselves.
    pub sides_rule: String,
    /// Where ways out stand, as distances from the beginning of the stretch.
    pub ways_out: Vec<Length>,
    /// Width of ground taken up at grade: trench, set-back and spoil; zero where no trench is opened.
    pub worked_width: Length,
    /// Tape and tracer wire.
    pub markers: Vec<Marker>,
}

impl Section {
    /// Corners of the cut from one edge at grade round the floor to the other: across, with 0 in the
    /// middle of the floor, and depth from grade.
    pub fn outline(&self) -> Vec<(Length, Length)> {
        let cut = Cut {
            depth: self.depth,
            width: self.width,
            sides: self.sides,
            benches: self.benches,
            side_slope: self.side_slope,
            top_width: self.top_width,
            bedding: self.bedding,
            egress: self.egress,
            protection: self.protection,
        };
        cut.outline()
    }
}

/// What is laid so that pipe and wire are found again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Marker {
    /// What it is.
    pub kind: MarkerKind,
    /// What it marks, in words.
    pub marks: String,
    /// From grade to it.
    pub cover: Length,
}

/// Tape or wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MarkerKind {
    /// Marking tape in the fill above.
    Tape,
    /// Tracer wire along the pipe.
    Tracer,
}

impl MarkerKind {
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Tape => "marking tape",
            Self::Tracer => "tracer wire",
        }
    }
}

/// One thing that lies in a trench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Content {
    /// Index into the network's lines.
    pub line: usize,
    /// In words, such as `main 1-1/4 in` or `4 wires`.
    pub what: String,
    /// Outside diameter of one.
    pub outside: Length,
    /// How many side by side.
    pub count: u32,
    /// From grade to its top.
    pub cover: Length,
    /// From one side of the width that the contents need to its middle.
    pub middle: Length,
}

/// What is moved for one stretch.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Earthwork {
    /// In place, before it is dug.
    pub bank: Volume,
    /// The same, dug out.
    pub loose: Volume,
    /// Taken up by pipe and cable.
    pub displaced: Volume,
    /// Bedding brought in, in place.
    pub bedding: Volume,
    /// Bank volume of spoil that goes back.
    pub backfill: Volume,
    /// Bank volume of spoil left over: bank = backfill + surplus.
    pub surplus: Volume,
    /// Loose volume to haul off.
    pub haul: Volume,
    /// Height of fill left proud of grade, to settle.
    pub crown: Length,
    /// Number of lifts.
    pub lifts: u32,
    /// Surface to make good.
    pub restore: Area,
}

/// A machine to hire.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Hire {
    /// Its key: that of its method, or of a carrier of attachments.
    pub machine: MachineId,
    /// In words.
    pub label: String,
    /// Machine time over all its stretches.
    pub hours: Duration,
    /// Working days that these make.
    pub days: u32,
    /// Weeks, days and hours of hire, in words.
    pub term: String,
    /// Hire and mobilisation.
    pub cost: Money,
    /// Length it puts in.
    pub length: Length,
    /// How much dearer these trenches would be without it; `None` if some could not be put in.
    pub without: Option<Money>,
}

/// A machine that is not hired.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NotHired {
    /// Its key.
    pub machine: MachineId,
    /// How much dearer these trenches would be if it were hired, with what carries it.
    pub extra: Money,
}
