//! Sections, earthwork, time by hand, cover.

use anyhow::{Context, Result, bail};
use digging::contents::{Layout, Thing, arrange, cover_rule, round_area};
use digging::section::{self, Cut};
use digging::{earth, hire, work};
use job::practice::{PipeMaterial, SoilClass, nominal};
use job::{Basis, Moisture, Practice, Soil, Sourced, SurfaceKind, Texture};
use quantity::{Angle, Length, Money, Ratio, Volume};
use routes::LineKind;

use super::Quantities;
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("trench volume", trench_volume),
    ("trench top width", top_width),
    ("side angle", side_angle),
    ("way out of a trench", egress),
    ("protection of a trench", protection),
    ("loose volume", loose_volume),
    ("compacted over loose", compacted_over_loose),
    ("loose over compacted", loose_over_compacted),
    ("bedding under pipe", bedding),
    ("cover", cover),
    ("time by hand", hand_time),
    ("labour by hand", hand_labour),
    ("lifts", lifts),
    ("section of pipe", pipe_section),
    ("days of hire", hire_days),
];

fn trench_volume(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(section::volume(
        inputs.get("bottom")?,
        Ratio::one(inputs.number("side_slope")?),
        inputs.get("depth")?,
        inputs.get("length")?,
    )))
}

fn top_width(inputs: &Inputs) -> Result<Value> {
    let slope = Ratio::one(inputs.number("side_slope")?);
    let (bottom, depth) = (inputs.get("bottom")?, inputs.get("depth")?);
    Ok(Value::of(section::top_width(bottom, slope, depth)))
}

/// From the horizontal, of the steepest side that the practice allows in soil of a type.
fn side_angle(inputs: &Inputs) -> Result<Value> {
    let practice = Practice::embedded();
    let mut class = soil_class(&practice, "earth")?.clone();
    inputs
        .text("type")?
        .clone_into(&mut class.excavation_type.value);
    let rule = section::slope_rule(&practice.excavation, &class)
        .context("the practice has no slopes of sides")?;
    Ok(Value::of(Angle::rad(1.0_f64.atan2(rule.value.to_one()))))
}

fn egress(inputs: &Inputs) -> Result<Value> {
    Ok(needed(cut_of(inputs.get("depth")?).egress))
}

fn protection(inputs: &Inputs) -> Result<Value> {
    Ok(needed(cut_of(inputs.get("depth")?).protection))
}

fn needed(yes: bool) -> Value {
    Value::word(if yes { "needed" } else { "not needed" })
}

/// A trench of a depth with one pipe on its floor, in loam without stones.
fn cut_of(depth: Length) -> Cut {
    let practice = Practice::embedded();
    let soil = soil(Texture::Loam, Ratio::ZERO);
    with_pipe(&practice, depth, Length::inch(1.0), |layout| {
        section::trench(&practice, &soil, layout, Length::inch(12.0))
    })
}

/// What comes of one pipe whose underside lies at a depth.
pub(super) fn with_pipe<T>(
    practice: &Practice,
    underside: Length,
    outside: Length,
    then: impl FnOnce(&Layout) -> T,
) -> T {
    let cover = Sourced {
        value: underside - outside,
        source: String::new(),
        basis: Basis::Given,
        path: String::new(),
    };
    let pipe = Thing {
        line: 0,
        kind: &LineKind::Main,
        material: Some(PipeMaterial::Pvc),
        what: "pipe".to_owned(),
        outside,
        tube: None,
        count: 1,
        cover: &cover,
    };
    then(&arrange(practice, vec![pipe]))
}

pub(super) fn soil(texture: Texture, coarse: Ratio) -> Soil {
    Soil {
        texture,
        coarse,
        stone: None,
        moisture: Moisture::Moist,
    }
}

pub(super) fn soil_class<'a>(practice: &'a Practice, name: &str) -> Result<&'a SoilClass> {
    practice
        .soil_class
        .get(name)
        .with_context(|| format!("the practice has no soil class \"{name}\""))
}

fn loose_volume(inputs: &Inputs) -> Result<Value> {
    let bank: Volume = inputs.get("bank")?;
    let factor = match inputs.optional("soil") {
        Some(name) => soil_class(&Practice::embedded(), name)?.bank_to_loose.value,
        None => Ratio::one(inputs.number("factor")?),
    };
    Ok(Value::of(earth::loose(bank, factor)))
}

/// From the two factors of the practice.
fn compacted_over_loose(inputs: &Inputs) -> Result<Value> {
    let practice = Practice::embedded();
    let class = soil_class(&practice, inputs.text("soil")?)?;
    Ok(Value::number(
        class.bank_to_compacted.value / class.bank_to_loose.value,
    ))
}

fn loose_over_compacted(inputs: &Inputs) -> Result<Value> {
    let practice = Practice::embedded();
    let class = soil_class(&practice, inputs.text("soil")?)?;
    Ok(Value::number(
        class.bank_to_loose.value / class.bank_to_compacted.value,
    ))
}

fn bedding(inputs: &Inputs) -> Result<Value> {
    let soil = soil(Texture::Loam, inputs.get("coarse")?);
    Ok(Value::of(section::bedding(&Practice::embedded(), &soil)))
}

fn cover(inputs: &Inputs) -> Result<Value> {
    let kind = match inputs.text("line")? {
        "main" => LineKind::Main,
        "lateral" => LineKind::Lateral(String::new()),
        "wire" => LineKind::Wire,
        "cable" => LineKind::Cable(String::new()),
        other => bail!("there is no line \"{other}\"; one of main, lateral, wire, cable"),
    };
    let surface = inputs.text("surface")?;
    let surface = SurfaceKind::ALL
        .into_iter()
        .find(|kind| kind.label() == surface)
        .with_context(|| format!("there is no surface \"{surface}\""))?;
    let size = match inputs.optional("size") {
        Some(name) => nominal(name).with_context(|| format!("\"{name}\" is no nominal size"))?,
        None => Length::ZERO,
    };
    let practice = Practice::embedded();
    Ok(Value::of(
        cover_rule(&practice.cover, &kind, size, surface).value,
    ))
}

/// By the output of the practice, without stones and roots.
fn hand_time(inputs: &Inputs) -> Result<Value> {
    let practice = Practice::embedded();
    let output = soil_class(&practice, inputs.text("soil")?)?
        .hand_output
        .value;
    let bank = section::volume(
        inputs.get("bottom")?,
        Ratio::ZERO,
        inputs.get("depth")?,
        inputs.get("length")?,
    );
    let people = inputs.number("people")?;
    Ok(Value::of(work::hand_time(bank, output, people, 1.0, 1.0)))
}

fn hand_labour(inputs: &Inputs) -> Result<Value> {
    let practice = Practice::embedded();
    let output = soil_class(&practice, inputs.text("soil")?)?
        .hand_output
        .value;
    Ok(Value::of(work::hand_time(
        inputs.get("bank")?,
        output,
        1,
        1.0,
        1.0,
    )))
}

/// By the thickness of a lift of the practice.
fn lifts(inputs: &Inputs) -> Result<Value> {
    let lift = Practice::embedded().fill.lift.value;
    Ok(Value::number(f64::from(earth::lifts(
        inputs.get("depth")?,
        lift,
    ))))
}

fn pipe_section(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(round_area(inputs.get("outside")?)))
}

fn hire_days(inputs: &Inputs) -> Result<Value> {
    let tariff = hire::Tariff {
        hour: None,
        least_hours: 1,
        day: Money::ZERO,
        day_length: inputs.get("day")?,
        week: None,
        week_days: 5,
        mobilisation: Money::ZERO,
    };
    let days = tariff.days(inputs.get("hours")?);
    Ok(Value::number(f64::from(days)))
}
