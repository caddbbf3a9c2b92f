//! What the plane of a job is to a geographic information system, in well-known text.
//!
//! Without an anchor it is an engineering plane. With one it is a projection that touches the Earth at the
//! anchor: transverse Mercator, or oblique Mercator where the plane is turned against north, whose scale brings
//! the ellipsoid up to the height of the plane. Within the 100 km of a job both are the same plane to a part in
//! a million of the distance.
//!
//! Source of the forms: OGC 01-009 (well-known text 1) and OGC 18-010r7 (well-known text 2); of the methods and
//! their numbers: IOGP Guidance Note 7-2 and the EPSG dataset, methods 9807 and 9815 (from memory).

use job::LengthUnit;

/// Semi-major axis of WGS 84, metres, by definition.
const SEMI_MAJOR: f64 = 6_378_137.0;

/// Azimuth of the initial line of the oblique projection, degrees: half-way, since it may be neither along a
/// meridian nor square to one. Which it is, changes nothing near the anchor.
const INITIAL_LINE: f64 = 45.0;

/// The oblique projection is not defined on the equator and at the poles; so near to them, degrees, the plane
/// is given as one without a place on the Earth.
const DEGENERATE: f64 = 0.5;

/// A reference system in both forms of well-known text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Definition {
    pub first: String,
    pub second: String,
}

const GEOGCS: &str = r#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]"#;
const BASE: &str = r#"BASEGEOGCRS["WGS 84",DATUM["World Geodetic System 1984",ELLIPSOID["WGS 84",6378137,298.257223563,LENGTHUNIT["metre",1]]],PRIMEM["Greenwich",0,ANGLEUNIT["degree",0.0174532925199433]]]"#;
const DEGREE: &str = r#"ANGLEUNIT["degree",0.0174532925199433]"#;
const NAME: &str = "Plane of the job";

/// The definition of the plane of a job.
pub(crate) fn definition(unit: LengthUnit, anchor: Option<job::Anchor>) -> Definition {
    let unit = match unit {
        LengthUnit::M => r#""metre",1"#,
        LengthUnit::Ft => r#""foot",0.3048"#,
    };
    let axes = |x: &str, y: &str| {
        format!(
            r#"CS[Cartesian,2],AXIS["{x}",east,ORDER[1],LENGTHUNIT[{unit}]],AXIS["{y}",north,ORDER[2],LENGTHUNIT[{unit}]]"#
        )
    };
    let Some(method) = anchor.and_then(Method::of) else {
        return Definition {
            first: format!(
                r#"LOCAL_CS["{NAME}",LOCAL_DATUM["Local",32767],UNIT[{unit}],AXIS["x",EAST],AXIS["y",NORTH]]"#
            ),
            second: format!(r#"ENGCRS["{NAME}",EDATUM["Local"],{}]"#, axes("x", "y")),
        };
    };
    Definition {
        first: format!(
            r#"PROJCS["{NAME}",{GEOGCS},PROJECTION["{}"],{},UNIT[{unit}],AXIS["Easting",EAST],AXIS["Northing",NORTH]]"#,
            method.first,
            method.first_parameters()
        ),
        second: format!(
            r#"PROJCRS["{NAME}",{BASE},CONVERSION["{NAME}",METHOD["{}",ID["EPSG",{}]],{}],{}]"#,
            method.second,
            method.number,
            method.second_parameters(),
            axes("easting (E)", "northing (N)")
        ),
    }
}

/// A method of projection with its parameters.
struct Method {
    first: &'static str,
    second: &'static str,
    number: u32,
    parameters: Vec<Parameter>,
}

struct Parameter {
    first: &'static str,
    second: &'static str,
    number: u32,
    value: f64,
    of: Of,
}

#[derive(Clone, Copy)]
enum Of {
    Angle,
    Scale,
    Length,
}

impl Method {
    fn of(anchor: job::Anchor) -> Option<Self> {
        let scale = 1.0 + anchor.height.to_m() / SEMI_MAJOR;
        if anchor.rotation % 360.0 == 0.0 {
            return Some(Self::upright(anchor, scale));
        }
        let latitude = anchor.latitude.abs();
        (DEGENERATE..90.0 - DEGENERATE)
            .contains(&latitude)
            .then(|| Self::turned(anchor, scale))
    }

    fn upright(anchor: job::Anchor, scale: f64) -> Self {
        Self {
            first: "Transverse_Mercator",
            second: "Transverse Mercator",
            number: 9807,
            parameters: vec![
                parameter(
                    "latitude_of_origin",
                    "Latitude of natural origin",
                    8801,
                    anchor.latitude,
                    Of::Angle,
                ),
                parameter(
                    "central_meridian",
                    "Longitude of natural origin",
                    8802,
                    anchor.longitude,
                    Of::Angle,
                ),
                parameter(
                    "scale_factor",
                    "Scale factor at natural origin",
                    8805,
                    scale,
                    Of::Scale,
                ),
                parameter("false_easting", "False easting", 8806, 0.0, Of::Length),
                parameter("false_northing", "False northing", 8807, 0.0, Of::Length),
            ],
        }
    }

    /// The grid's north lies at the azimuth of the initial line less the angle from the rectified grid.
    fn turned(anchor: job::Anchor, scale: f64) -> Self {
        let rectified = INITIAL_LINE - anchor.rotation;
        Self {
            first: "Hotine_Oblique_Mercator_Azimuth_Center",
            second: "Hotine Oblique Mercator (variant B)",
            number: 9815,
            parameters: vec![
                parameter(
                    "latitude_of_center",
                    "Latitude of projection centre",
                    8811,
                    anchor.latitude,
                    Of::Angle,
                ),
                parameter(
                    "longitude_of_center",
                    "Longitude of projection centre",
                    8812,
                    anchor.longitude,
                    Of::Angle,
                ),
                parameter(
                    "azimuth",
                    "Azimuth at projection centre",
                    8813,
                    INITIAL_LINE,
                    Of::Angle,
                ),
                parameter(
                    "rectified_grid_angle",
                    "Angle from Rectified to Skew Grid",
                    8814,
                    rectified,
                    Of::Angle,
                ),
                parameter(
                    "scale_factor",
                    "Scale factor at projection centre",
                    8815,
                    scale,
                    Of::Scale,
                ),
                parameter(
                    "false_easting",
                    "Easting at projection centre",
                    8816,
                    0.0,
                    Of::Length,
                ),
                parameter(
                    "false_northing",
                    "Northing at projection centre",
                    8817,
                    0.0,
                    Of::Length,
                ),
            ],
        }
    }

    fn first_parameters(&self) -> String {
        self.joined(|p| format!(r#"PARAMETER["{}",{}]"#, p.first, p.value))
    }

    fn second_parameters(&self) -> String {
        self.joined(|p| {
            let unit = match p.of {
                Of::Angle => DEGREE,
                Of::Scale => r#"SCALEUNIT["unity",1]"#,
                Of::Length => r#"LENGTHUNIT["metre",1]"#,
            };
            format!(
                r#"PARAMETER["{}",{},{unit},ID["EPSG",{}]]"#,
                p.second, p.value, p.number
            )
        })
    }

    fn joined(&self, one: impl Fn(&Parameter) -> String) -> String {
        let all: Vec<String> = self.parameters.iter().map(one).collect();
        all.join(",")
    }
}

fn parameter(
    first: &'static str,
    second: &'static str,
    number: u32,
    value: f64,
    of: Of,
) -> Parameter {
    Parameter {
        first,
        second,
        number,
        value,
        of,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn anchor(value: serde_json::Value) -> Option<job::Anchor> {
        serde_json::from_value(value).ok()
    }

    #[test]
    fn a_plane_without_a_place_is_an_engineering_plane() {
        let plane = definition(LengthUnit::Ft, None);
        assert!(plane.second.starts_with("ENGCRS["));
        assert!(plane.second.contains(r#"LENGTHUNIT["foot",0.3048]"#));
        let equator = anchor(json!({ "longitude": 9, "latitude": 0.1, "rotation": 20 }));
        assert!(
            definition(LengthUnit::M, equator)
                .second
                .starts_with("ENGCRS[")
        );
    }

    #[test]
    fn the_scale_brings_the_ellipsoid_up_to_the_plane() {
        let high = anchor(json!({ "longitude": -105, "latitude": 40, "height": "6378.137 m" }));
        let plane = definition(LengthUnit::M, high);
        assert!(
            plane.first.contains(r#"PARAMETER["scale_factor",1.001]"#),
            "{}",
            plane.first
        );
    }

    #[test]
    fn brackets_and_quotes_are_closed() {
        for at in [
            json!({ "longitude": -105, "latitude": 40 }),
            json!({ "longitude": -105, "latitude": 40, "rotation": 12.5 }),
        ] {
            let plane = definition(LengthUnit::Ft, anchor(at));
            for text in [&plane.first, &plane.second] {
                let count = |c: char| text.matches(c).count();
                assert_eq!(count('['), count(']'));
                assert_eq!(count('"') % 2, 0);
            }
        }
    }
}
