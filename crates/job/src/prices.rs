//! Prices, production rates and machines. All defaults are invented or custom: a contractor replaces
//! them with their own (`data/prices.toml`).

use crate::practice::PipeMaterial;
use crate::{Sourced, SurfaceKind};
use quantity::{Duration, Length, Money, Ratio, Velocity};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The key of a method in the price book, such as `walk_trencher`.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct MethodId(pub String);

impl std::fmt::Display for MethodId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// Prices, production rates and machines.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PriceBook {
    /// ISO 4217 code of the currency.
    pub currency: Sourced<String>,
    /// Labour.
    pub labour: Labour,
    /// Ways to put a stretch in.
    pub method: BTreeMap<MethodId, Method>,
    /// What carries the attachments that some methods work with.
    pub carrier: BTreeMap<String, Carrier>,
    /// Depth down to which a machine keeps the pace of its method; deeper it slows in proportion.
    pub pace_depth: Sourced<Length>,
    /// Pipe by family and nominal size, per metre.
    pub pipe: BTreeMap<String, BTreeMap<String, Sourced<Money>>>,
    /// Fittings.
    pub fitting: Fittings,
    /// Wire by gauge, per metre of one conductor.
    pub wire: BTreeMap<String, Sourced<Money>>,
    /// Other material.
    pub item: Items,
    /// Putting a surface back, per square metre.
    pub restore: BTreeMap<SurfaceKind, Sourced<Money>>,
    /// Earth.
    pub earth: Earth,
    /// Share of cost added for overhead.
    pub overhead: Sourced<Ratio>,
    /// Share of the price that is margin.
    pub margin: Sourced<Ratio>,
}

/// Labour.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Labour {
    /// An hour of one person, all-in.
    pub hour: Sourced<Money>,
    /// Minutes to lay and join a metre of pipe.
    pub lay_pipe_per_m: Sourced<Duration>,
    /// Minutes to lay a metre of wire or cable.
    pub lay_wire_per_m: Sourced<Duration>,
    /// Time to set a head or drip point.
    pub set_head: Sourced<Duration>,
    /// Time to set and wire a valve.
    pub set_valve: Sourced<Duration>,
    /// Time to set the backflow assembly and tie in at the source.
    pub tie_in: Sourced<Duration>,
    /// Time to set and wire the controller.
    pub set_controller: Sourced<Duration>,
    /// Time that a bend of a trench takes beyond its length.
    pub turn_trench: Sourced<Duration>,
    /// Time that a branch from a trench takes beyond its length.
    pub branch_trench: Sourced<Duration>,
    /// Time to mark a metre of route on the ground.
    pub mark_per_m: Sourced<Duration>,
    /// Time to fill and tamp a cubic metre of trench, one person.
    pub fill_per_m3: Sourced<Duration>,
    /// Time to put back a square metre of a surface, one person.
    pub restore_per_m2: BTreeMap<SurfaceKind, Sourced<Duration>>,
    /// Time to fill, bleed and pressure-test the main or one circuit.
    pub test_each: Sourced<Duration>,
}

/// What kind of work a method is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum MethodKind {
    /// A trench dug by hand.
    Hand,
    /// A trench cut by a machine.
    Trench,
    /// Pipe pulled in by a vibratory plow; no open trench.
    Pull,
    /// Pipe or cable pinned on the surface.
    Surface,
    /// Through a sleeve under paving.
    Sleeve,
}

/// One way to put a stretch in.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Method {
    /// In words.
    pub label: String,
    /// What kind of work it is.
    pub kind: MethodKind,
    /// Width of machine or person that has to get through.
    pub body_width: Sourced<Length>,
    /// Diameter of the circle in which it turns about; as wide as the body if none is given.
    pub turning_room: Option<Sourced<Length>>,
    /// Room that it needs at work beyond half its body, on one side; none if none is given.
    pub side_room: Option<Sourced<Length>>,
    /// Room that it needs beyond each end of a run, in line with it; none if none is given.
    pub end_room: Option<Sourced<Length>>,
    /// Widths it cuts, from the narrowest on, separated by commas in the file.
    pub cut_width: Sourced<Widths>,
    /// Greatest depth of the cut.
    pub max_depth: Sourced<Length>,
    /// Least depth of the cut, if the method limits it.
    pub min_depth: Option<Sourced<Length>>,
    /// Greatest outside diameter of pipe, if the method limits it.
    pub max_outside: Option<Sourced<Length>>,
    /// Least radius at which it pulls pipe round a bend, if it pulls; sharper bends are pits.
    pub bend_radius: Option<Sourced<Length>>,
    /// Most pipes and cables it puts in at once, if the method limits it.
    pub max_together: Option<Sourced<u32>>,
    /// Pipe materials it can put in.
    pub materials: Vec<PipeMaterial>,
    /// Coarse fragments it copes with, by volume.
    pub max_coarse: Sourced<Ratio>,
    /// Largest stone that it copes with, if the method limits it.
    pub max_stone: Option<Sourced<Length>>,
    /// Steepest ground it works on and drives up, down or along.
    pub max_slope: Sourced<Ratio>,
    /// Steepest slope across its way on which it drives; as up and down if none is given.
    pub max_cross_slope: Option<Sourced<Ratio>>,
    /// Least slope for which it is meant, if any (pinning on the surface).
    pub min_slope: Option<Sourced<Ratio>>,
    /// People at work.
    pub crew: Sourced<u32>,
    /// Pace along the ground by soil class down to [`PriceBook::pace_depth`]; none for digging by hand,
    /// which goes by volume.
    #[serde(default)]
    pub pace: BTreeMap<String, Sourced<Velocity>>,
    /// Time to set up at each stretch.
    pub setup: Sourced<Duration>,
    /// Shorter runs it does not start.
    pub shortest_run: Sourced<Length>,
    /// What its machine costs, if it needs one.
    pub hire: Option<Hire>,
    /// Key of the carrier that its machine is an attachment of, if it is one.
    pub carrier: Option<String>,
    /// Fuel for an hour.
    pub fuel_hour: Sourced<Money>,
    /// Width of surface that it spoils, for making good.
    pub spoils_width: Sourced<Length>,
}

/// What having a machine on site costs.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hire {
    /// Whether it stands on the site already, or is the contractor's own: then only fuel is paid.
    pub on_site: Sourced<bool>,
    /// An hour, if it is let by the hour.
    pub hour: Option<Sourced<Money>>,
    /// Hours charged at least where it is let by the hour.
    pub least_hours: Option<Sourced<u32>>,
    /// A day.
    pub day: Sourced<Money>,
    /// A week, if it is let by the week.
    pub week: Option<Sourced<Money>>,
    /// Bringing it and taking it away.
    pub mobilisation: Sourced<Money>,
}

/// A machine that carries attachments.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Carrier {
    /// In words.
    pub label: String,
    /// What it costs.
    pub hire: Hire,
}

/// Widths in ascending order.
#[derive(Debug, Clone, PartialEq)]
pub struct Widths(pub Vec<Length>);

impl crate::sourced::FromScalar for Widths {
    fn from_scalar(text: &str) -> Result<Self, String> {
        let mut widths: Vec<Length> = text
            .split(',')
            .map(|part| part.parse().map_err(|e: quantity::ReadError| e.to_string()))
            .collect::<Result<_, _>>()?;
        widths.sort_by(Length::total_cmp);
        Ok(Self(widths))
    }
}

/// Fittings: a price for the smallest size, and how much one size more adds.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fittings {
    /// A tee of the smallest size of its family.
    pub tee: Sourced<Money>,
    /// An elbow.
    pub elbow: Sourced<Money>,
    /// A reducer.
    pub reducer: Sourced<Money>,
    /// A coupling.
    pub coupling: Sourced<Money>,
    /// A tee whose branch is a thread.
    pub threaded_tee: Sourced<Money>,
    /// An elbow of 90° with a thread at one end.
    pub threaded_elbow: Sourced<Money>,
    /// An adapter from pipe to thread.
    pub adapter: Sourced<Money>,
    /// A union from pipe to thread.
    pub union: Sourced<Money>,
    /// A cap.
    pub cap: Sourced<Money>,
    /// Share added for each size above the smallest.
    pub per_size: Sourced<Ratio>,
}

/// Other material.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Items {
    /// A valve.
    pub valve: Sourced<Money>,
    /// A valve box.
    pub valve_box: Sourced<Money>,
    /// The backflow assembly.
    pub backflow: Sourced<Money>,
    /// The controller.
    pub controller: Sourced<Money>,
    /// A head with its riser.
    pub head: Sourced<Money>,
    /// The feed of a drip area: filter, regulator, connection.
    pub drip: Sourced<Money>,
    /// A waterproof wire splice.
    pub splice: Sourced<Money>,
    /// Low-voltage cable of another service, per metre.
    pub cable: Sourced<Money>,
    /// Marking tape, per metre.
    pub tape: Sourced<Money>,
    /// Tracer wire, per metre.
    pub tracer: Sourced<Money>,
    /// Putting a sleeve under paving, bored or cut, per metre; its pipe and the crew's own time apart.
    pub sleeve: Sourced<Money>,
    /// A swing joint.
    pub swing_joint: Sourced<Money>,
    /// A can of cement.
    pub cement: Sourced<Money>,
    /// A can of primer.
    pub primer: Sourced<Money>,
    /// A bag of clamps.
    pub clamps: Sourced<Money>,
    /// A spool of solder.
    pub solder: Sourced<Money>,
    /// A jar of flux.
    pub flux: Sourced<Money>,
    /// A roll of sealing tape.
    pub sealing_tape: Sourced<Money>,
    /// A can of marking paint.
    pub paint: Sourced<Money>,
    /// A bundle of flags.
    pub flags: Sourced<Money>,
    /// Pins for pipe on the surface, per metre.
    pub pins: Sourced<Money>,
}

/// Earth.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Earth {
    /// Bedding delivered, per cubic metre.
    pub bedding: Sourced<Money>,
    /// Hauling spoil off, per loose cubic metre.
    pub haul: Sourced<Money>,
    /// Shoring, per square metre of trench side; sloping is paid for by the earth that it moves.
    pub shoring: Sourced<Money>,
    /// Boards or mats under a machine's way, laid and lifted, per square metre of way.
    pub ground_protection: Sourced<Money>,
}
