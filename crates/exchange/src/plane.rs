//! The local plane of a job on the Earth: a transverse Mercator projection of WGS 84 centred on the anchor.
//!
//! The plane's origin is the anchor, its y axis points `rotation` degrees clockwise from true north. Its scale at
//! the anchor is 1 + height/a, so that lengths in the plane are lengths on the ground at that height; elsewhere
//! the scale grows by about x²/(2·R²): 1.2 parts in a million at 10 km, 0.12 in a thousand at 100 km.
//! There and back again is exact to a hundredth of a millimetre within 100 km (tested).

use job::{Anchor, Finding};
use proj4rs::Proj;
use proj4rs::transform::transform;
use quantity::Length;

use crate::Xy;

/// Semi-major axis of WGS 84, metres (NIMA TR8350.2, third edition, table 3.1).
const WGS84_AXIS: f64 = 6_378_137.0;
/// Inverse flattening of WGS 84 (the same table).
const WGS84_INVERSE_FLATTENING: f64 = 298.257_223_563;

/// A transverse Mercator projection with its origin at a place.
#[derive(Debug)]
pub struct TransverseMercator {
    geographic: Proj,
    projected: Proj,
}

impl TransverseMercator {
    /// On an ellipsoid of a semi-major axis (metres) and inverse flattening, about a latitude and longitude in
    /// degrees, with a scale there. Nothing if the library takes no such numbers.
    pub fn new(
        axis: f64,
        inverse_flattening: f64,
        latitude: f64,
        longitude: f64,
        scale: f64,
    ) -> Option<Self> {
        let all = [axis, inverse_flattening, latitude, longitude, scale];
        if !all.iter().all(|value| value.is_finite()) {
            return None;
        }
        let ellipsoid = format!("+a={axis} +rf={inverse_flattening} +no_defs");
        let geographic = Proj::from_proj_string(&format!("+proj=longlat {ellipsoid}")).ok()?;
        let projected = Proj::from_proj_string(&format!(
            "+proj=etmerc +lat_0={latitude} +lon_0={longitude} +k={scale} +x_0=0 +y_0=0 +units=m {ellipsoid}"
        ))
        .ok()?;
        Some(Self {
            geographic,
            projected,
        })
    }

    /// East and north of the origin in metres, of a longitude and latitude in degrees.
    pub fn forward(&self, longitude: f64, latitude: f64) -> Option<Xy> {
        let mut place = (longitude.to_radians(), latitude.to_radians(), 0.0);
        transform(&self.geographic, &self.projected, &mut place).ok()?;
        finite((place.0, place.1))
    }

    /// Longitude and latitude in degrees, of metres east and north of the origin.
    pub fn inverse(&self, east: f64, north: f64) -> Option<Xy> {
        let mut place = (east, north, 0.0);
        transform(&self.projected, &self.geographic, &mut place).ok()?;
        finite((place.0.to_degrees(), place.1.to_degrees()))
    }
}

fn finite(place: Xy) -> Option<Xy> {
    (place.0.is_finite() && place.1.is_finite()).then_some(place)
}

/// The plane of a job with an anchor.
#[derive(Debug)]
pub struct Plane {
    projection: TransverseMercator,
    /// Sine and cosine of the rotation.
    turn: (f64, f64),
}

impl Plane {
    /// The plane of an anchor.
    ///
    /// # Errors
    /// If the anchor is not on the Earth.
    pub fn of(anchor: &Anchor) -> Result<Self, Vec<Finding>> {
        let scale = 1.0 + anchor.height.to_m() / WGS84_AXIS;
        let on_earth = anchor.longitude.abs() <= 180.0
            && anchor.latitude.abs() < 90.0
            && anchor.rotation.is_finite()
            && scale > 0.0;
        let projection = TransverseMercator::new(
            WGS84_AXIS,
            WGS84_INVERSE_FLATTENING,
            anchor.latitude,
            anchor.longitude,
            scale,
        );
        match projection.filter(|_| on_earth) {
            Some(projection) => Ok(Self {
                projection,
                turn: anchor.rotation.to_radians().sin_cos(),
            }),
            None => Err(vec![Finding::error(
                "anchor-out-of-range",
                "spadework.anchor",
                "is no place on the Earth at which a plane can be laid",
                "give longitude and latitude in degrees, away from the poles, and the rotation in degrees",
            )]),
        }
    }

    /// The place in the plane, metres, of a longitude and latitude in degrees.
    pub fn from_geographic(&self, longitude: f64, latitude: f64) -> Option<Xy> {
        let (east, north) = self.projection.forward(longitude, latitude)?;
        let (sin, cos) = self.turn;
        Some((east * cos - north * sin, east * sin + north * cos))
    }

    /// The longitude and latitude in degrees of a place in the plane, metres.
    pub fn to_geographic(&self, x: f64, y: f64) -> Option<Xy> {
        let (sin, cos) = self.turn;
        self.projection
            .inverse(x * cos + y * sin, y * cos - x * sin)
    }
}

/// An anchor in the middle of the extent of longitudes and latitudes, to a millionth of a degree.
pub(crate) fn middle<'a>(places: impl Iterator<Item = &'a Xy>) -> Option<Anchor> {
    let mut first = None;
    let (mut least, mut most) = (
        (f64::INFINITY, f64::INFINITY),
        (-f64::INFINITY, -f64::INFINITY),
    );
    for at in places {
        let start = *first.get_or_insert(at.0);
        // Both sides of the meridian of 180 degrees are near to each other.
        let near = if at.0 - start > 180.0 {
            at.0 - 360.0
        } else if start - at.0 > 180.0 {
            at.0 + 360.0
        } else {
            at.0
        };
        least = (least.0.min(near), least.1.min(at.1));
        most = (most.0.max(near), most.1.max(at.1));
    }
    first?;
    let round = |value: f64| (value * 1e6).round() / 1e6;
    let longitude = round(f64::midpoint(least.0, most.0));
    let longitude = if longitude > 180.0 {
        longitude - 360.0
    } else if longitude < -180.0 {
        longitude + 360.0
    } else {
        longitude
    };
    Some(Anchor {
        longitude,
        latitude: round(f64::midpoint(least.1, most.1)).clamp(-89.9, 89.9),
        rotation: 0.0,
        height: Length::ZERO,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Distance, Geodesic, Point};
    use proptest::prelude::*;

    fn anchor(longitude: f64, latitude: f64, rotation: f64, height: f64) -> Anchor {
        Anchor {
            longitude,
            latitude,
            rotation,
            height: Length::m(height),
        }
    }

    #[test]
    fn the_y_axis_points_where_the_rotation_says() {
        let plane = Plane::of(&anchor(-105.0, 40.0, 90.0, 0.0)).unwrap();
        let (longitude, latitude) = plane.to_geographic(0.0, 100.0).unwrap();
        assert!(longitude > -105.0 && (latitude - 40.0).abs() < 1e-6);
    }

    #[test]
    fn an_anchor_off_the_earth_is_refused() {
        for (longitude, latitude, rotation) in [
            (190.0, 0.0, 0.0),
            (0.0, 90.0, 0.0),
            (0.0, f64::NAN, 0.0),
            (0.0, 0.0, f64::INFINITY),
        ] {
            assert!(Plane::of(&anchor(longitude, latitude, rotation, 0.0)).is_err());
        }
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same_place(
            longitude in -180.0..180.0, latitude in -84.0..84.0, rotation in -360.0..360.0,
            height in -400.0..5000.0, x in -1e5..1e5, y in -1e5..1e5,
        ) {
            let plane = Plane::of(&anchor(longitude, latitude, rotation, height)).unwrap();
            let (lon, lat) = plane.to_geographic(x, y).unwrap();
            let (x2, y2) = plane.from_geographic(lon, lat).unwrap();
            prop_assert!((x - x2).hypot(y - y2) < 1e-5, "{x} {y} {x2} {y2}");
        }

        #[test]
        fn lengths_near_the_anchor_are_lengths_on_the_ellipsoid(
            longitude in -179.0..179.0, latitude in -80.0..80.0, angle in 0.0..360.0_f64,
        ) {
            let plane = Plane::of(&anchor(longitude, latitude, 0.0, 0.0)).unwrap();
            let (sin, cos) = angle.to_radians().sin_cos();
            let (lon, lat) = plane.to_geographic(5000.0 * sin, 5000.0 * cos).unwrap();
            let length = Geodesic.distance(Point::new(longitude, latitude), Point::new(lon, lat));
            prop_assert!((length - 5000.0).abs() < 0.002, "{length}");
        }
    }
}
