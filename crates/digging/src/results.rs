//! How each stretch goes in: the result of this stage.

use crate::MachineId;
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
    /// Machines to hire.
    pub hires: Vec<Hire>,
    /// Machines that are not hired and that could be of use.
    pub not_hired: Vec<NotHired>,
    /// No choice of machines and methods on these trenches costs less; the cost of digging where the
    /// search for it came to its end.
    pub least: Money,
    /// Sets of machines that are accounted for, by working them out or by a bound.
    pub sets_compared: u64,
    /// Stretches without a feasible method, and other conflicts.
    pub findings: Vec<Finding>,
}

impl Digging {
    /// What all the stretches cost, hire left out.
    pub fn stretch_cost(&self) -> Money {
        self.digs.iter().map(|d| d.cost).sum()
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
    /// What is moved.
    pub earth: Earthwork,
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
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
    /// How much dearer these trenches would be if it were hired.
    pub extra: Money,
}
