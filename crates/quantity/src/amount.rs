//! A number together with the style in which a person reads it.

use crate::{
    Area, Conductivity, DegreeDays, Density, Expansion, Flow, Force, Length, LinearResistance,
    Precipitation, Pressure, Velocity, Volume,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The system of units in which a person reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// US customary units.
    Us,
    /// SI units.
    Si,
}

/// What kind of number it is, and so in which unit and with how many digits it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Style {
    /// A distance on the ground: ft or m.
    Length,
    /// A depth, a width, a diameter: in or mm.
    SmallLength,
    /// The thickness of a wall, the depth of a scratch: in or mm, with more decimals.
    Thickness,
    /// ft² or m².
    Area,
    /// A volume of earth: yd³ or m³.
    Volume,
    /// A mass of earth: short tons or tonnes; the number is kilograms.
    Mass,
    /// A volume of water: gal or L.
    Liquid,
    /// gpm or L/min.
    Flow,
    /// psi or kPa.
    Pressure,
    /// lbf or N.
    Force,
    /// A head of water: ft or m, with two decimals.
    Head,
    /// ft/s or m/s.
    Velocity,
    /// A pace of work along the ground: ft/h or m/h.
    Pace,
    /// A depth of water in a time: in/h or mm/h.
    Precipitation,
    /// yd³/h or m³/h.
    DigRate,
    /// Hours.
    Hours,
    /// Seconds.
    Seconds,
    /// Working days.
    Days,
    /// Degrees.
    Angle,
    /// Amperes.
    Current,
    /// Volts.
    Voltage,
    /// ohm/1000 ft or ohm/km.
    LinearResistance,
    /// °F or °C.
    Celsius,
    /// A difference of temperatures: °F or °C.
    Warming,
    /// lb/ft³ or kg/m³.
    Density,
    /// Growth in length by a degree, in millionths: per °F or per °C.
    Expansion,
    /// Btu/(h·ft·°F) or W/(m·K).
    Conductivity,
    /// °F·days or °C·days.
    DegreeDays,
    /// A plain number with up to four significant decimals.
    Ratio,
    /// A ratio written as a percentage.
    Percent,
    /// A share of a price, as a percentage with two decimals.
    PriceShare,
    /// A whole number of things.
    Count,
    /// Money in currency units, two decimals.
    Money,
    /// Money per length: per ft or per m; the number is currency units per metre.
    MoneyPerLength,
    /// Money per area: per ft² or per m²; the number is currency units per square metre.
    MoneyPerArea,
    /// Money per volume: per yd³ or per m³; the number is currency units per cubic metre.
    MoneyPerVolume,
    /// Money per mass: per short ton or per tonne; the number is currency units per tonne.
    MoneyPerMass,
    /// Money per hour.
    MoneyPerHour,
}

/// Kilograms in a tonne.
const TONNE: f64 = 1000.0;
/// Kilograms in a short ton of 2000 lb.
const SHORT_TON: f64 = 2000.0 * 0.453_592_37;

/// A number in SI units (money in currency units) with its [`Style`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Amount {
    /// The number, in the SI unit of the style.
    pub value: f64,
    /// How it is read.
    pub style: Style,
}

impl Amount {
    /// An amount of `value` (SI; money in currency units) in a style.
    pub const fn new(value: f64, style: Style) -> Self {
        Self { value, style }
    }

    /// A whole number of things.
    pub fn count(n: usize) -> Self {
        Self::new(n as f64, Style::Count)
    }

    /// A plain number.
    pub fn ratio(value: f64) -> Self {
        Self::new(value, Style::Ratio)
    }

    /// The number and the unit's sign, separately, as in a table with the unit in its head.
    pub fn parts(self, units: Units) -> (String, &'static str) {
        let us = units == Units::Us;
        let v = self.value;
        let (number, decimals, unit) = match self.style {
            Style::Length if us => (Length::m(v).to_ft(), 1, "ft"),
            Style::Length => (v, 2, "m"),
            Style::SmallLength if us => (Length::m(v).to_in(), 2, "in"),
            Style::SmallLength => (Length::m(v).to_mm(), 0, "mm"),
            Style::Thickness if us => (Length::m(v).to_in(), 4, "in"),
            Style::Thickness => (Length::m(v).to_mm(), 2, "mm"),
            Style::Area if us => (Area::m2(v).to_ft2(), 0, "ft²"),
            Style::Area => (v, 1, "m²"),
            Style::Volume if us => (Volume::m3(v).to_yd3(), 2, "yd³"),
            Style::Volume => (v, 2, "m³"),
            Style::Mass if us => (v / SHORT_TON, 2, "ton"),
            Style::Mass => (v / TONNE, 2, "t"),
            Style::Liquid if us => (Volume::m3(v).to_gal(), 1, "gal"),
            Style::Liquid => (Volume::m3(v).to_l(), 1, "L"),
            Style::Flow if us => (Flow::m3s(v).to_gpm(), 2, "gpm"),
            Style::Flow => (Flow::m3s(v).to_lpm(), 1, "L/min"),
            Style::Pressure if us => (Pressure::pa(v).to_psi(), 1, "psi"),
            Style::Pressure => (Pressure::pa(v).to_kpa(), 1, "kPa"),
            Style::Force if us => (Force::n(v).to_lbf(), 0, "lbf"),
            Style::Force => (v, 0, "N"),
            Style::Head if us => (Length::m(v).to_ft(), 2, "ft"),
            Style::Head => (v, 3, "m"),
            Style::Velocity if us => (Velocity::mps(v).to_fps(), 2, "ft/s"),
            Style::Velocity => (v, 2, "m/s"),
            Style::Pace if us => (Velocity::mps(v).to_fph(), 0, "ft/h"),
            Style::Pace => (Velocity::mps(v).to_mph(), 1, "m/h"),
            Style::Precipitation if us => (Precipitation::mps(v).to_in_per_h(), 2, "in/h"),
            Style::Precipitation => (Precipitation::mps(v).to_mm_per_h(), 1, "mm/h"),
            Style::DigRate if us => (v * 3600.0 / Volume::yd3(1.0).to_m3(), 2, "yd³/h"),
            Style::DigRate => (v * 3600.0, 2, "m³/h"),
            Style::Hours => (v / 3600.0, 2, "h"),
            Style::Seconds => (v, 2, "s"),
            Style::Days => (v, 0, "d"),
            Style::Angle => (v.to_degrees(), 0, "°"),
            Style::Current => (v, 3, "A"),
            Style::Voltage => (v, 2, "V"),
            Style::LinearResistance if us => (
                LinearResistance::ohm_per_m(v).to_ohm_per_kft(),
                3,
                "ohm/1000 ft",
            ),
            Style::LinearResistance => (v * 1e3, 3, "ohm/km"),
            Style::Celsius if us => (v * 1.8 + 32.0, 0, "°F"),
            Style::Celsius => (v, 0, "°C"),
            Style::Warming if us => (v * 1.8, 0, "°F"),
            Style::Warming => (v, 0, "°C"),
            Style::Density if us => (Density::kg_per_m3(v).to_pcf(), 1, "lb/ft³"),
            Style::Density => (v, 0, "kg/m³"),
            Style::Expansion if us => {
                (Expansion::per_c(v).to_per_f() * 1e6, 1, "millionths per °F")
            }
            Style::Expansion => (v * 1e6, 1, "millionths per °C"),
            Style::Conductivity if us => (
                Conductivity::w_per_mk(v).to_btu_per_hftf(),
                2,
                "Btu/(h·ft·°F)",
            ),
            Style::Conductivity => (v, 2, "W/(m·K)"),
            Style::DegreeDays if us => (DegreeDays::c_days(v).to_f_days(), 0, "°F·days"),
            Style::DegreeDays => (v, 0, "°C·days"),
            Style::Ratio => (v, 4, ""),
            Style::Percent => (v * 100.0, 1, "%"),
            Style::PriceShare => (v * 100.0, 2, "%"),
            Style::Count => (v, 0, ""),
            Style::Money => (v, 2, ""),
            Style::MoneyPerLength if us => (v * 0.3048, 2, "per ft"),
            Style::MoneyPerLength => (v, 2, "per m"),
            Style::MoneyPerArea if us => (v * Area::ft2(1.0).to_m2(), 2, "per ft²"),
            Style::MoneyPerArea => (v, 2, "per m²"),
            Style::MoneyPerVolume if us => (v * Volume::yd3(1.0).to_m3(), 2, "per yd³"),
            Style::MoneyPerVolume => (v, 2, "per m³"),
            Style::MoneyPerMass if us => (v * SHORT_TON / TONNE, 2, "per ton"),
            Style::MoneyPerMass => (v, 2, "per t"),
            Style::MoneyPerHour => (v, 2, "per h"),
        };
        let fixed = format!("{number:.decimals$}");
        (group_thousands(&trim(fixed, self.style)), unit)
    }

    /// The number with its unit.
    pub fn show(self, units: Units) -> String {
        let (number, unit) = self.parts(units);
        match unit {
            "" => number,
            "%" | "°" => format!("{number}{unit}"),
            _ => format!("{number} {unit}"),
        }
    }
}

/// Drops zeros behind the point where they say nothing, and the sign of a rounded nought.
fn trim(fixed: String, style: Style) -> String {
    let mut text = fixed;
    if matches!(style, Style::SmallLength | Style::Ratio) && text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text.starts_with('-') && text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.')) {
        text.remove(0);
    }
    text
}

/// Commas between the thousands of a decimal number.
pub fn group_thousands(number: &str) -> String {
    let (sign, rest) = match number.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", number),
    };
    let (whole, fraction) = rest
        .split_once('.')
        .map_or((rest, None), |(w, f)| (w, Some(f)));
    let mut grouped = String::new();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    match fraction {
        Some(fraction) => format!("{sign}{grouped}.{fraction}"),
        None => format!("{sign}{grouped}"),
    }
}
