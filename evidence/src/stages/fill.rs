//! How a trench is filled: volumes from bank to crown, lifts, water.

use anyhow::{Context, Result, bail};
use digging::section::{self, Cut};
use digging::{Earthwork, Fill, FillMoisture, earth, fill};
use job::{Moisture, Practice, Soil, SurfaceKind, Texture};
use quantity::{Area, Length, Ratio, Volume};

use super::Quantities;
use super::digging::{soil, soil_class, with_pipe};
use crate::inputs::Inputs;
use crate::value::Value;

pub const QUANTITIES: Quantities = &[
    ("volume to make a fill", borrowed),
    ("dry density", dry_density),
    ("settling of loose fill", settling),
    ("delivered over placed", delivered_over_placed),
    ("moisture of fill", moisture),
    ("water to add", water_to_add),
    ("earthwork of a trench", earthwork),
    ("tamping of a trench", tamping),
];

fn borrowed(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(fill::borrowed(
        inputs.get("fill")?,
        inputs.get("in_fill")?,
        inputs.get("from")?,
        inputs.get("loss")?,
    )))
}

fn dry_density(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(fill::dry_density(
        inputs.get("total")?,
        inputs.get("water")?,
    )))
}

/// Of a trench with upright sides, filled level and not tamped.
fn settling(inputs: &Inputs) -> Result<Value> {
    let practice = Practice::embedded();
    let class = soil_class(&practice, inputs.text("soil")?)?;
    let at_grade = Area::m2(1.0);
    let spoil = at_grade * inputs.get::<Length>("depth")?;
    Ok(Value::of(fill::settles(
        spoil,
        class.bank_to_loose.value,
        at_grade,
    )))
}

/// Of fill of a soil class that is brought in.
fn delivered_over_placed(inputs: &Inputs) -> Result<Value> {
    let mut practice = Practice::embedded();
    let name = inputs.text("soil")?;
    soil_class(&practice, name)?;
    name.clone_into(&mut practice.fill.import_class.value);
    Ok(Value::number(fill::delivered_over_placed(&practice)))
}

/// By the window of the practice.
fn moisture(inputs: &Inputs) -> Result<Value> {
    let window = Practice::embedded().fill.moisture_window.value;
    let found = fill::moisture_of(inputs.get("optimum")?, window, inputs.get("present")?);
    Ok(Value::word(match found {
        FillMoisture::Near => "near",
        FillMoisture::Dry => "dry",
        FillMoisture::Wet => "wet",
    }))
}

fn water_to_add(inputs: &Inputs) -> Result<Value> {
    Ok(Value::of(fill::water_to_add(
        inputs.get("fill")?,
        inputs.get("dry_density")?,
        inputs.get("optimum")?,
        inputs.get("present")?,
    )))
}

/// A trench with upright sides and one pipe on its floor under lawn that is redone.
struct Trench {
    earth: Earthwork,
    fill: Fill,
}

fn trench(inputs: &Inputs) -> Result<Trench> {
    let practice = Practice::embedded();
    let mut soil = textured(inputs)?;
    if inputs.optional("coarse").is_some() {
        soil.coarse = inputs.get("coarse")?;
    }
    soil.moisture = match inputs.optional("moisture") {
        None | Some("moist") => Moisture::Moist,
        Some("dry") => Moisture::Dry,
        Some("wet") => Moisture::Wet,
        Some(other) => bail!("moisture is dry, moist or wet, not \"{other}\""),
    };
    let (depth, width): (Length, Length) = (inputs.get("depth")?, inputs.get("width")?);
    let length = inputs.get("length")?;
    let bed = section::bedding(&practice, &soil);
    let outside = inputs.get("outside")?;
    Ok(with_pipe(&practice, depth - bed, outside, |layout| {
        let cut: Cut = section::trench(&practice, &soil, layout, width);
        let ground = (&soil, SurfaceKind::LawnRedone);
        let earth = earth::earthwork(&practice, ground, layout, &cut, length);
        let fill = fill::fill(&practice, ground, layout, &cut, &earth, length);
        Trench { earth, fill }
    }))
}

/// Of a texture that the practice digs like a soil class.
fn textured(inputs: &Inputs) -> Result<Soil> {
    let texture = match inputs.text("soil")? {
        "sand" => Texture::Sand,
        "earth" => Texture::Loam,
        "clay" => Texture::Clay,
        other => bail!("there is no soil \"{other}\"; one of sand, earth, clay"),
    };
    Ok(soil(texture, Ratio::ZERO))
}

fn earthwork(inputs: &Inputs) -> Result<Value> {
    let what = inputs.text("what")?;
    let Trench { earth, fill } = trench(inputs)?;
    let volume: Volume = match what {
        "bank" => earth.bank,
        "loose" => earth.loose,
        "taken up by pipe" => earth.displaced,
        "backfill" => earth.backfill,
        "left over" => earth.surplus,
        "hauled off" => earth.haul,
        "placed" => fill.placed,
        "bedding" => fill.bedding,
        "clean" => fill.clean,
        "delivered" => fill.delivered,
        "spread" => fill.spread,
        "water" => fill.water,
        "water per lift" => fill.water_per_lift,
        "crown" => return Ok(Value::of(earth.crown)),
        "least crown" => return Ok(Value::of(fill.crown_low)),
        "most crown" => return Ok(Value::of(fill.crown_high)),
        "settling" => return Ok(Value::of(fill.settles)),
        other => bail!("there is no \"{other}\""),
    };
    Ok(Value::of(volume))
}

fn tamping(inputs: &Inputs) -> Result<Value> {
    let what = inputs.text("what")?;
    let practice = Practice::embedded();
    let soil = textured(inputs)?;
    let (depth, width): (Length, Length) = (inputs.get("depth")?, inputs.get("width")?);
    with_pipe(&practice, depth, Length::inch(1.0), |layout| {
        let cut = section::trench(&practice, &soil, layout, width);
        let tamping = fill::tamping(&practice, &soil, &cut);
        let tamping = tamping.context("nothing tamps such a trench")?;
        Ok(match what {
            "tool" => Value::word(tamping.compactor.label.as_str()),
            "greatest lift" => Value::of(tamping.most),
            "lifts" => Value::number(f64::from(tamping.lifts)),
            "passes" => Value::number(f64::from(tamping.passes)),
            other => bail!("there is no \"{other}\""),
        })
    })
}
