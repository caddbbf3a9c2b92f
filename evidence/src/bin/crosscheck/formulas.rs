//! Head lost to friction, and the volume of a trench.

use anyhow::{Context, Result, bail};
use digging::section;
use hydraulics::{Water, friction};
use quantity::{Flow, Length, Ratio};
use serde_json::{Value, json};

use crate::json::number;

pub fn friction(question: &Value) -> Result<Value> {
    let inside = Length::m(number(&question["diameter_m"])?);
    let flow = Flow::m3s(number(&question["flow_m3s"])?);
    let length = Length::m(number(&question["length_m"])?);
    let law = question["law"]
        .as_str()
        .context("the question has no `law`")?;
    let head = match law {
        "hazen_williams" => {
            let c = Ratio::one(number(&question["c"])?);
            friction::hazen_williams(length, flow, inside, c)
        }
        "darcy_weisbach" => {
            let roughness = Length::m(number(&question["roughness_m"])?);
            let water = Water {
                density_kg_m3: number(&question["density_kg_m3"])?,
                viscosity_pa_s: number(&question["viscosity_pa_s"])?,
            };
            friction::darcy_weisbach(length, flow, inside, roughness, water)
        }
        other => bail!("there is no law `{other}`"),
    };
    Ok(json!({"head_m": head.to_m()}))
}

pub fn volume(question: &Value) -> Result<Value> {
    let bank = section::volume(
        Length::m(number(&question["bottom_width_m"])?),
        Ratio::one(number(&question["side_slope_h_per_v"])?),
        Length::m(number(&question["depth_m"])?),
        Length::m(number(&question["length_m"])?),
    );
    Ok(json!({"bank_m3": bank.to_m3()}))
}
