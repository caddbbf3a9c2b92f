//! The values of the default practice, as the reader of a job loads them.

use anyhow::{Result, bail};
use job::Practice;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[("practice value", value), ("practice basis", basis)];

/// The values that rows may ask for, by their dotted name in the file.
macro_rules! named {
    ($practice:expr, $name:expr, $show:ident, [$($($part:ident).+,)+]) => {
        match $name {
            $(name if name == stringify!($($part).+).replace(' ', "") => {
                $show(&$practice.$($part).+)
            })+
            name => return from_tables($practice, name),
        }
    };
}

trait Shown {
    fn shown(&self) -> Value;
}

macro_rules! shown {
    ($($quantity:ident),+) => {$(
        impl Shown for quantity::$quantity {
            fn shown(&self) -> Value {
                Value::of(*self)
            }
        }
    )+};
}
shown!(
    Angle, Celsius, Current, Density, DigRate, Expansion, Length, Pressure, Ratio, Velocity,
    Voltage
);

impl Shown for u32 {
    fn shown(&self) -> Value {
        Value::number(f64::from(*self))
    }
}

impl Shown for String {
    fn shown(&self) -> Value {
        Value::word(self.as_str())
    }
}

/// A value and what it rests on.
struct Entry {
    value: Value,
    basis: job::Basis,
}

fn entry<T: Shown>(sourced: &job::Sourced<T>) -> Entry {
    Entry {
        value: sourced.value.shown(),
        basis: sourced.basis,
    }
}

fn value(inputs: &Inputs) -> Result<Value> {
    Ok(find(&Practice::embedded(), inputs.text("name")?)?.value)
}

fn basis(inputs: &Inputs) -> Result<Value> {
    let found = find(&Practice::embedded(), inputs.text("name")?)?;
    Ok(Value::word(found.basis.to_string()))
}

fn find(practice: &Practice, name: &str) -> Result<Entry> {
    Ok(named!(
        practice,
        name,
        entry,
        [
            clearance.building,
            clearance.wall,
            clearance.pool,
            clearance.paving,
            clearance.boundary,
            roots.radius_per_trunk,
            roots.hand_factor,
            utility.tolerance,
            utility.crossing_angle,
            utility.vertical_clearance,
            utility.horizontal_clearance,
            utility.notice_days,
            paving.crossing_angle,
            paving.sleeve_beyond_edge,
            paving.sleeve_over_bundle,
            cover.main,
            cover.lateral,
            cover.wire,
            cover.cable,
            cover.pipe_under_traffic,
            cover.cable_under_traffic,
            cut.bedding,
            cut.bedding_from_coarse,
            cut.pipe_slack,
            cut.wire_slack,
            expansion.pvc,
            expansion.pe,
            expansion.bend_pvc,
            expansion.bend_pe,
            fill.lift,
            fill.tamped_share,
            fill.moisture_window,
            fill.sod_margin,
            excavation.egress_depth,
            excavation.egress_travel,
            excavation.protection_depth,
            excavation.engineer_depth,
            excavation.spoil_setback,
            water.velocity.service,
            water.velocity.main,
            water.velocity.lateral,
            water.pressure_spread,
            water.flow_spread,
            water.exponent,
            water.valve_loss,
            water.backflow_loss,
            water.temperature,
            water.bulk_modulus,
            minor_loss.elbow_90,
            minor_loss.elbow_45,
            minor_loss.tee_run,
            minor_loss.tee_branch,
            minor_loss.entrance,
            wire.inrush,
            wire.voltage_drop,
            stones.gravelly,
            stones.very,
            stones.extremely,
            pull.yield_factor,
            pull.time_factor,
            pull.bend_with_fitting,
            pull.scratch,
            pull.pe.tensile_yield,
            takeoff.wire_tail,
            takeoff.valves_per_box,
            takeoff.sod_waste,
            takeoff.bedding_waste,
            takeoff.kerf,
            takeoff.corner_cut,
            takeoff.head_thread,
            takeoff.unions_at_valve,
            takeoff.unions_at_backflow,
            joining.primer,
            joining.flux,
            joining.tape_turns,
            day.hours,
        ]
    ))
}

/// The values under keys of their own: `soil_class.clay.bank_to_loose`, `pipe.pvc_sch40.c`,
/// `excavation.slope.A`, `cover.quiet_from.4 in`.
fn from_tables(practice: &Practice, name: &str) -> Result<Entry> {
    let parts: Vec<&str> = name.split('.').collect();
    let found = match parts.as_slice() {
        ["soil_class", class, what] => practice.soil_class.get(*class).and_then(|class| {
            Some(match *what {
                "bank_to_loose" => entry(&class.bank_to_loose),
                "bank_to_compacted" => entry(&class.bank_to_compacted),
                "hand_output" => entry(&class.hand_output),
                "excavation_type" => entry(&class.excavation_type),
                "loose_low" => entry(&class.loose_low),
                "loose_high" => entry(&class.loose_high),
                "dry_density" => entry(&class.dry_density),
                "optimum" => entry(&class.optimum),
                "repose" => entry(&class.repose),
                _ => return None,
            })
        }),
        ["pipe", family, what] => practice.pipe.get(*family).and_then(|family| {
            Some(match *what {
                "c" => entry(&family.c),
                "modulus" => entry(&family.modulus),
                "piece" => entry(&family.piece),
                "roughness" => entry(&family.roughness),
                _ => return None,
            })
        }),
        ["excavation", "slope", kind] => practice.excavation.slope.get(*kind).map(entry),
        ["excavation", "bench", kind] => practice.excavation.bench.get(*kind).map(entry),
        ["joining", "solder", size] => practice.joining.solder.get(*size).map(entry),
        ["joining", "cement_joints", size] => practice.joining.cement_joints.get(*size).map(entry),
        ["joining", "clamps", size] => practice.joining.clamps.get(*size).map(entry),
        ["cover", "exposed_from", size] => practice.cover.exposed_from.get(*size).map(entry),
        ["cover", "quiet_from", size] => practice.cover.quiet_from.get(*size).map(entry),
        _ => None,
    };
    match found {
        Some(entry) => Ok(entry),
        None => bail!("the practice has no value \"{name}\", or rows cannot ask for it yet"),
    }
}
