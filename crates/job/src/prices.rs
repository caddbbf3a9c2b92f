//! Prices, production rates and machines. All defaults are invented or custom: a contractor replaces
//! them with their own (`data/prices.toml`).

use crate::practice::PipeMaterial;
use crate::{Sourced, SurfaceKind};
use quantity::{Amount, Density, Duration, Length, Money, Ratio, Style, Units, Velocity, Volume};
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// Work that others do.
    pub subtrade: Subtrades,
    /// Permits, and asking where services lie.
    pub fee: Fees,
    /// What is set aside for what cannot be seen beforehand.
    pub contingency: SetAside,
    /// Share of cost added for overhead.
    pub overhead: Sourced<Ratio>,
    /// What is earned.
    pub profit: Profit,
    /// Taxes by the class of what is paid for.
    pub tax: Taxes,
    /// The offer to the customer.
    pub offer: OfferTerms,
}

impl PriceBook {
    /// A square metre of a surface put back: material, and what a sub-trade takes for it.
    pub fn restored(&self, surface: SurfaceKind) -> Money {
        let of = |prices: &BTreeMap<SurfaceKind, Sourced<Money>>| {
            prices
                .get(&surface)
                .map_or(Money::ZERO, |price| price.value)
        };
        of(&self.restore) + of(&self.subtrade.paving)
    }

    /// A metre of a new sleeve under paving: its pipe and the boring; the crew's own time apart.
    pub fn new_sleeve(&self) -> Money {
        self.item.sleeve.value + self.subtrade.boring.value
    }
}

/// Labour.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Labour {
    /// What one person is paid for an hour.
    pub wage: Sourced<Money>,
    /// What an employer pays on top of the wage, as a share of it: payroll taxes, insurance, paid leave.
    pub burden: Sourced<Ratio>,
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
    /// Time to white-line a metre of trench before the locate request.
    pub white_line_per_m: Sourced<Duration>,
    /// Time to mark a metre of route on the ground.
    pub mark_per_m: Sourced<Duration>,
    /// Time to fill and tamp a cubic metre of trench, one person.
    pub fill_per_m3: Sourced<Duration>,
    /// The part of filling that is tamping.
    pub tamp_share: Sourced<Ratio>,
    /// Time to look over the main or one circuit before water comes on.
    pub inspect_each: Sourced<Duration>,
    /// Time to flush the main or one circuit.
    pub flush_each: Sourced<Duration>,
    /// Time to clean up along a metre of trench.
    pub clean_up_per_m: Sourced<Duration>,
    /// Time to put back a square metre of a surface, one person.
    pub restore_per_m2: BTreeMap<SurfaceKind, Sourced<Duration>>,
    /// Time to fill, bleed and bring to pressure the main or one circuit, without the hold.
    pub test_each: Sourced<Duration>,
}

impl Labour {
    /// What an hour of one person costs: wage and burden, to the cent.
    pub fn hour(&self) -> Money {
        self.wage.value.times(1.0 + self.burden.value.to_one())
    }

    /// Where that comes from, in one line.
    pub fn hour_origin(&self) -> String {
        let share = Amount::new(self.burden.value.to_one(), Style::Percent);
        format!(
            "wage {} × (1 + burden {}); {}; {}",
            self.wage.value,
            share.show(Units::Si),
            self.wage.origin(),
            self.burden.origin()
        )
    }
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
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
    /// Pipe for a sleeve that no family is wide enough for, per metre; also what the choice of routes counts
    /// for any sleeve's pipe.
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Earth {
    /// Bedding delivered, per cubic metre.
    pub bedding: Sourced<Money>,
    /// Hauling spoil off, per loose cubic metre.
    pub haul: Sourced<Money>,
    /// Tipping it, per loose cubic metre.
    pub tipping: Sourced<Money>,
    /// Tipping it, per tonne as it is found; beside what is paid by volume.
    pub tipping_by_mass: Sourced<Money>,
    /// Shoring, per square metre of trench side; sloping is paid for by the earth that it moves.
    pub shoring: Sourced<Money>,
    /// Boards or mats under a machine's way, laid and lifted, per square metre of way.
    pub ground_protection: Sourced<Money>,
}

impl Earth {
    /// What being rid of spoil costs: hauling, and tipping by volume and by mass.
    pub fn away(&self, loose: Volume, density: Density) -> Money {
        let by_volume = self.haul.value + self.tipping.value;
        let tonnes = loose.to_m3() * density.to_kg_per_m3() / KG_PER_TONNE;
        by_volume.times(loose.to_m3()) + self.tipping_by_mass.value.times(tonnes)
    }
}

/// Kilograms in a tonne.
pub const KG_PER_TONNE: f64 = 1000.0;

/// Work that others do.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Subtrades {
    /// Boring or jacking a new sleeve under paving, per metre; nothing if the crew does it itself.
    pub boring: Sourced<Money>,
    /// The boring crew's coming and going, once, if anything is bored.
    pub boring_visit: Sourced<Money>,
    /// Putting paving back, per square metre, beside the crew's own work and material.
    pub paving: BTreeMap<SurfaceKind, Sourced<Money>>,
}

/// Permits, and asking where services lie.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fees {
    /// Permits and inspections, once.
    pub permit: Sourced<Money>,
    /// The locate request, once.
    pub locate: Sourced<Money>,
    /// Looking for private lines that the locate service does not mark: an allowance.
    pub private_locate: Sourced<Money>,
}

/// What is set aside for what cannot be seen beforehand.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SetAside {
    /// What it goes by.
    pub by: Sourced<SetAsideBy>,
    /// As a share of all other cost, where it goes by that.
    pub share: Sourced<Ratio>,
}

/// What a contingency goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SetAsideBy {
    /// What covers the cost with the practice's chance in trials of the ground.
    Risk,
    /// A share of all other cost.
    Share,
}

impl crate::sourced::FromScalar for SetAsideBy {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "risk" => Ok(Self::Risk),
            "share" => Ok(Self::Share),
            other => Err(format!(
                "\"{other}\" is neither \"risk\" (trials of the ground) nor \"share\" (of all other cost)"
            )),
        }
    }
}

/// What is earned.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Profit {
    /// What the share is a share of.
    pub by: Sourced<ProfitBy>,
    /// The share.
    pub share: Sourced<Ratio>,
}

/// What profit is a share of.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ProfitBy {
    /// Of the price before tax.
    Margin,
    /// Of the cost with overhead.
    Markup,
}

impl ProfitBy {
    /// Its word in the file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Margin => "margin",
            Self::Markup => "markup",
        }
    }
}

impl crate::sourced::FromScalar for ProfitBy {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "margin" => Ok(Self::Margin),
            "markup" => Ok(Self::Markup),
            other => Err(format!(
                "\"{other}\" is neither \"margin\" (a share of the price) nor \"markup\" (a share of the cost)"
            )),
        }
    }
}

/// The class of what is paid for, by which it is taxed.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum TaxClass {
    /// The crew's work.
    Labour,
    /// Machines: hire, bringing, fuel.
    Machines,
    /// Material.
    Material,
    /// Work of others.
    Subtrades,
    /// Hauling and tipping.
    Disposal,
    /// Permits and locates.
    Fees,
}

impl TaxClass {
    /// All classes, in the order in which they are told.
    pub const ALL: [Self; 6] = [
        Self::Labour,
        Self::Machines,
        Self::Material,
        Self::Subtrades,
        Self::Disposal,
        Self::Fees,
    ];

    /// Its key in the file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Labour => "labour",
            Self::Machines => "machines",
            Self::Material => "material",
            Self::Subtrades => "subtrades",
            Self::Disposal => "disposal",
            Self::Fees => "fees",
        }
    }
}

/// Taxes by class.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Taxes {
    /// On the crew's work.
    pub labour: Tax,
    /// On machines.
    pub machines: Tax,
    /// On material.
    pub material: Tax,
    /// On work of others.
    pub subtrades: Tax,
    /// On hauling and tipping.
    pub disposal: Tax,
    /// On permits and locates.
    pub fees: Tax,
}

impl Taxes {
    /// The tax of a class.
    pub fn of(&self, class: TaxClass) -> &Tax {
        match class {
            TaxClass::Labour => &self.labour,
            TaxClass::Machines => &self.machines,
            TaxClass::Material => &self.material,
            TaxClass::Subtrades => &self.subtrades,
            TaxClass::Disposal => &self.disposal,
            TaxClass::Fees => &self.fees,
        }
    }
}

/// A tax on one class.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tax {
    /// The rate.
    pub rate: Sourced<Ratio>,
    /// What it is charged on.
    pub on: Sourced<TaxOn>,
}

/// What a tax is charged on, and so who pays it over.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum TaxOn {
    /// On what the contractor buys: a cost.
    Purchase,
    /// On the price: the customer pays it on top.
    Price,
}

impl crate::sourced::FromScalar for TaxOn {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "purchase" => Ok(Self::Purchase),
            "price" => Ok(Self::Price),
            other => Err(format!(
                "\"{other}\" is neither \"purchase\" (a cost) nor \"price\" (the customer pays it on top)"
            )),
        }
    }
}

/// The offer to the customer.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OfferTerms {
    /// Days for which it stands.
    pub valid_days: Sourced<u32>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_hour_is_wage_and_burden_to_the_cent() {
        let labour = PriceBook::embedded().labour;
        assert_eq!(labour.hour(), Money::cents(47_88));
        assert!(
            labour
                .hour_origin()
                .starts_with("wage 36.00 × (1 + burden 33.0%)")
        );
    }

    #[test]
    fn spoil_is_paid_for_by_volume_and_by_mass() {
        let mut earth = PriceBook::embedded().earth;
        earth.haul.value = Money::cents(10_00);
        earth.tipping.value = Money::cents(5_00);
        earth.tipping_by_mass.value = Money::cents(7_00);
        let away = earth.away(Volume::m3(2.0), Density::kg_per_m3(1_500.0));
        assert_eq!(away, Money::cents(30_00 + 21_00));
    }
}
