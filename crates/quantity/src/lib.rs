//! Quantities with their unit in the type, and how they are read and written.
//!
//! Inside, everything is SI. A quantity is made by a constructor that names the unit
//! ([`Length::ft`]) and left by an accessor that names it again ([`Length::to_in`]); a text such as
//! `"18 in"` is read with [`std::str::FromStr`]. [`Amount`] carries a number together with the
//! [`Style`] in which a person reads it, and [`Amount::show`] writes it in US customary or SI units.
//!
//! # Units
//! Serialised quantities are plain SI numbers: m, m², m³, m³/s, Pa, m/s, s. Money is integer cents.
//!
//! This crate does no I/O and knows nothing of the trade.

mod amount;
mod money;
mod text;

pub use amount::{Amount, Style, Units, group_thousands};
pub use money::Money;
pub use text::{Quantity, ReadError, UnitName};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $style:expr, { $($unit:ident / $to:ident = $factor:expr, [$($text:literal),+];)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize, JsonSchema)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);
            $(
                #[doc = concat!("From a number of ", stringify!($unit), ".")]
                pub const fn $unit(value: f64) -> Self { Self(value * $factor) }
                #[doc = concat!("As a number of ", stringify!($unit), ".")]
                pub const fn $to(self) -> f64 { self.0 / $factor }
            )+
            /// The number in the SI unit.
            pub const fn si(self) -> f64 { self.0 }
            /// The smaller of the two; a NaN loses.
            pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
            /// The larger of the two; a NaN loses.
            pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
            /// Total order, for sorting without a panic.
            pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering { self.0.total_cmp(&other.0) }
            /// As an [`Amount`] in the style usual for this quantity.
            pub fn amount(self) -> Amount { Amount::new(self.0, $style) }
        }

        impl Quantity for $name {
            const NAME: &'static str = stringify!($name);
            const UNITS: &'static [UnitName] = &[$(UnitName { texts: &[$($text),+], factor: $factor },)+];
            fn from_si(value: f64) -> Self { Self(value) }
            fn si(self) -> f64 { self.0 }
        }

        impl std::str::FromStr for $name {
            type Err = ReadError;
            fn from_str(text: &str) -> Result<Self, ReadError> { text::read(text) }
        }

        impl std::ops::Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl std::ops::Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl std::ops::Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl std::ops::AddAssign for $name { fn add_assign(&mut self, o: Self) { self.0 += o.0; } }
        impl std::ops::SubAssign for $name { fn sub_assign(&mut self, o: Self) { self.0 -= o.0; } }
        impl std::ops::Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl std::ops::Mul<$name> for f64 { type Output = $name; fn mul(self, q: $name) -> $name { $name(self * q.0) } }
        impl std::ops::Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl std::ops::Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
        impl std::iter::Sum for $name { fn sum<I: Iterator<Item = Self>>(i: I) -> Self { Self(i.fold(0.0, |sum, q| sum + q.0)) } }
    };
}

quantity!(
    /// A length, in metres inside.
    Length, Style::Length, {
    m / to_m = 1.0, ["m"];
    mm / to_mm = 1e-3, ["mm"];
    cm / to_cm = 1e-2, ["cm"];
    ft / to_ft = 0.3048, ["ft"];
    inch / to_in = 0.0254, ["in"];
    yd / to_yd = 0.9144, ["yd"];
});
quantity!(
    /// An area, in square metres inside.
    Area, Style::Area, {
    m2 / to_m2 = 1.0, ["m2", "m²"];
    ft2 / to_ft2 = 0.3048 * 0.3048, ["ft2", "ft²"];
});
quantity!(
    /// A volume, in cubic metres inside.
    Volume, Style::Volume, {
    m3 / to_m3 = 1.0, ["m3", "m³"];
    l / to_l = 1e-3, ["L", "l"];
    yd3 / to_yd3 = 0.9144 * 0.9144 * 0.9144, ["yd3", "yd³"];
    ft3 / to_ft3 = 0.3048 * 0.3048 * 0.3048, ["ft3", "ft³"];
    gal / to_gal = 231.0 * 0.0254 * 0.0254 * 0.0254, ["gal"];
});
quantity!(
    /// A volume of water in a time, in cubic metres per second inside.
    Flow, Style::Flow, {
    m3s / to_m3s = 1.0, ["m3/s", "m³/s"];
    gpm / to_gpm = 231.0 * 0.0254 * 0.0254 * 0.0254 / 60.0, ["gpm", "gal/min"];
    lpm / to_lpm = 1e-3 / 60.0, ["L/min", "l/min"];
    lps / to_lps = 1e-3, ["L/s", "l/s"];
    lph / to_lph = 1e-3 / 3600.0, ["L/h", "l/h"];
    gph / to_gph = 231.0 * 0.0254 * 0.0254 * 0.0254 / 3600.0, ["gph", "gal/h"];
    m3h / to_m3h = 1.0 / 3600.0, ["m3/h", "m³/h"];
});
quantity!(
    /// A pressure, in pascals inside. Gauge pressure unless a name says otherwise.
    Pressure, Style::Pressure, {
    pa / to_pa = 1.0, ["Pa"];
    kpa / to_kpa = 1e3, ["kPa"];
    mpa / to_mpa = 1e6, ["MPa"];
    bar / to_bar = 1e5, ["bar"];
    psi / to_psi = 4.448_221_615_260_5 / (0.0254 * 0.0254), ["psi"];
});
quantity!(
    /// A force, in newtons inside.
    Force, Style::Force, {
    n / to_n = 1.0, ["N"];
    kn / to_kn = 1e3, ["kN"];
    lbf / to_lbf = 4.448_221_615_260_5, ["lbf"];
});
quantity!(
    /// A speed, in metres per second inside.
    Velocity, Style::Velocity, {
    mps / to_mps = 1.0, ["m/s"];
    fps / to_fps = 0.3048, ["ft/s"];
    mph / to_mph = 1.0 / 3600.0, ["m/h"];
    fph / to_fph = 0.3048 / 3600.0, ["ft/h"];
});
quantity!(
    /// A depth of water in a time, in metres per second inside.
    Precipitation, Style::Precipitation, {
    mps / to_mps = 1.0, ["m/s"];
    mm_per_h / to_mm_per_h = 1e-3 / 3600.0, ["mm/h"];
    in_per_h / to_in_per_h = 0.0254 / 3600.0, ["in/h"];
});
quantity!(
    /// A span of time, in seconds inside.
    Duration, Style::Hours, {
    s / to_s = 1.0, ["s"];
    minutes / to_minutes = 60.0, ["min"];
    h / to_h = 3600.0, ["h"];
});
quantity!(
    /// A plane angle, in radians inside.
    Angle, Style::Angle, {
    rad / to_rad = 1.0, ["rad"];
    deg / to_deg = std::f64::consts::PI / 180.0, ["deg", "°"];
});
quantity!(
    /// An electric current, in amperes.
    Current, Style::Current, {
    a / to_a = 1.0, ["A"];
    ma / to_ma = 1e-3, ["mA"];
});
quantity!(
    /// An electric potential difference, in volts.
    Voltage, Style::Voltage, {
    v / to_v = 1.0, ["V"];
});
quantity!(
    /// Electric resistance of a conductor by its length, in ohms per metre inside.
    LinearResistance, Style::LinearResistance, {
    ohm_per_m / to_ohm_per_m = 1.0, ["ohm/m"];
    ohm_per_km / to_ohm_per_km = 1e-3, ["ohm/km"];
    ohm_per_kft / to_ohm_per_kft = 1e-3 / 0.3048, ["ohm/1000ft", "ohm/kft"];
});
quantity!(
    /// A temperature on the Celsius scale.
    Celsius, Style::Celsius, {
    c / to_c = 1.0, ["C", "°C"];
});
quantity!(
    /// A plain ratio; `"12 %"` reads as 0.12 and `"0.9"` as 0.9.
    Ratio, Style::Ratio, {
    one / to_one = 1.0, ["", "x"];
    percent / to_percent = 0.01, ["%"];
});
quantity!(
    /// A mass by volume, in kilograms per cubic metre inside.
    Density, Style::Density, {
    kg_per_m3 / to_kg_per_m3 = 1.0, ["kg/m3", "kg/m³"];
    pcf / to_pcf = 0.453_592_37 / (0.3048 * 0.3048 * 0.3048), ["lb/ft3", "lb/ft³", "pcf"];
});
quantity!(
    /// What a length grows by for a degree, as a share of itself, per kelvin inside.
    Expansion, Style::Expansion, {
    per_c / to_per_c = 1.0, ["/C", "/°C"];
    per_f / to_per_f = 1.8, ["/F", "/°F"];
});
quantity!(
    /// An output of work by volume, in cubic metres per second inside.
    DigRate, Style::DigRate, {
    m3_per_h / to_m3_per_h = 1.0 / 3600.0, ["m3/h", "m³/h"];
    yd3_per_h / to_yd3_per_h = 0.9144 * 0.9144 * 0.9144 / 3600.0, ["yd3/h", "yd³/h"];
});

quantity!(
    /// What heat ground or a wall lets through, in watts per metre and kelvin inside.
    Conductivity, Style::Conductivity, {
    w_per_mk / to_w_per_mk = 1.0, ["W/(m.K)", "W/(m·K)", "W/m.K"];
    btu_per_hftf / to_btu_per_hftf = 1_055.055_852_62 * 1.8 / (3600.0 * 0.3048), ["Btu/(h.ft.F)", "Btu/h.ft.F"];
});
quantity!(
    /// Degrees below freezing summed over days, in °C·days inside.
    DegreeDays, Style::DegreeDays, {
    c_days / to_c_days = 1.0, ["C.days", "C·days", "°C·days"];
    f_days / to_f_days = 1.0 / 1.8, ["F.days", "F·days", "°F·days"];
});

impl Length {
    /// The length as an amount written in inches or millimetres.
    pub fn small(self) -> Amount {
        Amount::new(self.0, Style::SmallLength)
    }

    /// The length as an amount written to a hundredth of a millimetre, as of a pipe's wall.
    pub fn thickness(self) -> Amount {
        Amount::new(self.0, Style::Thickness)
    }
}

impl Volume {
    /// The volume as an amount of liquid, in gallons or litres.
    pub fn liquid(self) -> Amount {
        Amount::new(self.0, Style::Liquid)
    }
}

impl std::ops::Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area(self.0 * other.0)
    }
}

impl std::ops::Mul<Length> for Area {
    type Output = Volume;
    fn mul(self, other: Length) -> Volume {
        Volume(self.0 * other.0)
    }
}

impl std::ops::Mul<Area> for Pressure {
    type Output = Force;
    fn mul(self, area: Area) -> Force {
        Force(self.0 * area.0)
    }
}

impl std::ops::Div<Area> for Flow {
    type Output = Velocity;
    fn div(self, other: Area) -> Velocity {
        Velocity(self.0 / other.0)
    }
}

impl std::ops::Div<Velocity> for Length {
    type Output = Duration;
    fn div(self, other: Velocity) -> Duration {
        Duration(self.0 / other.0)
    }
}

impl std::ops::Div<DigRate> for Volume {
    type Output = Duration;
    fn div(self, other: DigRate) -> Duration {
        Duration(self.0 / other.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_with_units_are_read() {
        assert!(("18 in".parse::<Length>().unwrap().to_m() - 0.4572).abs() < 1e-12);
        assert!(("2.5gpm".parse::<Flow>().unwrap().to_gpm() - 2.5).abs() < 1e-12);
        assert!(("15 %".parse::<Ratio>().unwrap().to_one() - 0.15).abs() < 1e-12);
        let winter = "540 F.days".parse::<DegreeDays>().unwrap();
        assert!((winter.to_c_days() - 300.0).abs() < 1e-9);
        let frozen = "0.72 Btu/h.ft.F".parse::<Conductivity>().unwrap();
        assert!((frozen.to_w_per_mk() - 1.246_129).abs() < 1e-6);
        assert!(("1.11".parse::<Ratio>().unwrap().to_one() - 1.11).abs() < 1e-12);
    }

    #[test]
    fn a_number_without_unit_is_refused_with_the_units_that_would_do() {
        let message = "18".parse::<Length>().unwrap_err().to_string();
        assert!(
            message.contains("in") && message.contains("18"),
            "{message}"
        );
        assert!("NaN m".parse::<Length>().is_err());
        assert!("1e999 m".parse::<Length>().is_err());
        assert!("3 gpm".parse::<Length>().is_err());
    }

    #[test]
    fn one_psi_is_the_pressure_of_a_pound_force_on_a_square_inch() {
        assert!((Pressure::psi(1.0).to_pa() - 6894.757).abs() < 1e-3);
    }

    #[test]
    fn amounts_are_written_in_the_units_of_the_reader() {
        assert_eq!(Length::ft(12.3).amount().show(Units::Us), "12.3 ft");
        assert_eq!(Length::inch(18.0).small().show(Units::Us), "18 in");
        assert_eq!(Length::m(0.45).small().show(Units::Si), "450 mm");
        assert_eq!(
            Money::cents(1_234_567).amount().show(Units::Us),
            "12,345.67"
        );
        assert_eq!(Money::cents(-5).to_string(), "-0.05");
    }

    #[test]
    fn money_rounds_half_away_from_zero() {
        assert_eq!(Money::from_units(1.005_000_1).to_cents(), 101);
        assert_eq!(Money::from_units(-0.005_000_1).to_cents(), -1);
    }
}
