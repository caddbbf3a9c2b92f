//! How a picture lies on the plane: the similarity that brings its known points nearest to their places.

use crate::refused;
use job::Finding;

/// A point of a picture whose place is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known {
    /// From the left edge and from the upper edge: pixels, or points (1/72 inch) of a PDF.
    pub pixel: [f64; 2],
    /// Where it lies.
    pub place: [f64; 2],
}

/// Two points nearer than this say too little about the scale, pixels or points.
const APART: f64 = 10.0;

/// x = a u + b v + c, y = b u − a v + d for u to the right and v down: turned, scaled, shifted, never stretched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Similarity {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
    /// Greatest distance of a known point from its place.
    pub worst: f64,
}

impl Similarity {
    /// The least squares of the distances between known points and their places: with the middle of all taken
    /// off, a = Σ(u x − v y)/Σ(u² + v²) and b = Σ(v x + u y)/Σ(u² + v²).
    pub fn of(known: &[Known]) -> Result<Self, Vec<Finding>> {
        let numbers = known
            .iter()
            .flat_map(|k| k.pixel.into_iter().chain(k.place));
        let finite = numbers
            .into_iter()
            .all(|number| number.is_finite() && number.abs() < 1e9);
        if known.len() < 2 || !finite {
            let what = "needs two points whose places are known";
            let mend = "give two corners that are far apart, each as \"PIXEL,PIXEL=X,Y\"";
            return Err(vec![refused("picture-points", what, mend)]);
        }
        let middle = |of: fn(&Known) -> [f64; 2]| {
            let sum = known
                .iter()
                .map(of)
                .fold([0.0, 0.0], |s, p| [s[0] + p[0], s[1] + p[1]]);
            sum.map(|side| side / known.len() as f64)
        };
        let (pixel, place) = (middle(|k| k.pixel), middle(|k| k.place));
        let (mut a, mut b, mut spread) = (0.0, 0.0, 0.0);
        for k in known {
            let [u, v] = [k.pixel[0] - pixel[0], k.pixel[1] - pixel[1]];
            let [x, y] = [k.place[0] - place[0], k.place[1] - place[1]];
            a += u * x - v * y;
            b += v * x + u * y;
            spread += u * u + v * v;
        }
        let (a, b) = (a / spread, b / spread);
        let too_near = spread < APART * APART / 2.0 || a.hypot(b) < 1e-9;
        if too_near {
            let what = format!(
                "has known points within {APART} pixels of each other, or all at one place"
            );
            let mend = "choose points that are far apart, on the picture and on the ground";
            return Err(vec![refused("picture-points", what, mend)]);
        }
        let mut fit = Self {
            a,
            b,
            c: place[0] - a * pixel[0] - b * pixel[1],
            d: place[1] - b * pixel[0] + a * pixel[1],
            worst: 0.0,
        };
        for k in known {
            let [x, y] = fit.place(k.pixel);
            fit.worst = fit.worst.max((x - k.place[0]).hypot(y - k.place[1]));
        }
        Ok(fit)
    }

    /// The same for a picture with so many pixels in one unit of the known points.
    pub fn of_dots(self, dots: f64) -> Self {
        Self {
            a: self.a / dots,
            b: self.b / dots,
            ..self
        }
    }

    /// Where a point of the picture lies.
    pub fn place(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        [
            self.a * u + self.b * v + self.c,
            self.b * u - self.a * v + self.d,
        ]
    }

    /// The point of the picture that lies at a place.
    pub fn pixel(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let (x, y) = (x - self.c, y - self.d);
        let square = self.a * self.a + self.b * self.b;
        [
            (self.a * x + self.b * y) / square,
            (self.b * x - self.a * y) / square,
        ]
    }

    /// The length of a pixel.
    pub fn scale(&self) -> f64 {
        self.a.hypot(self.b)
    }

    /// By how much the picture is turned, anticlockwise, radians.
    pub fn angle(&self) -> f64 {
        self.b.atan2(self.a)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn known(pixel: [f64; 2], place: [f64; 2]) -> Known {
        Known { pixel, place }
    }

    #[test]
    fn a_picture_that_is_not_turned_has_y_up() {
        let fit = Similarity::of(&[
            known([100.0, 900.0], [0.0, 0.0]),
            known([1100.0, 900.0], [50.0, 0.0]),
        ])
        .unwrap();
        assert!((fit.scale() - 0.05).abs() < 1e-12);
        assert!(fit.angle().abs() < 1e-12);
        let [x, y] = fit.place([100.0, 400.0]);
        assert!(x.abs() < 1e-9 && (y - 25.0).abs() < 1e-9, "{x} {y}");
    }

    #[test]
    fn points_that_give_no_scale_are_refused() {
        let same = known([5.0, 5.0], [0.0, 0.0]);
        assert!(Similarity::of(&[same]).is_err());
        assert!(Similarity::of(&[same, known([6.0, 5.0], [9.0, 0.0])]).is_err());
        assert!(Similarity::of(&[same, known([600.0, 5.0], [0.0, 0.0])]).is_err());
        assert!(Similarity::of(&[same, known([600.0, f64::NAN], [9.0, 0.0])]).is_err());
    }

    #[test]
    fn a_third_point_shows_how_far_the_paper_has_stretched() {
        let fit = Similarity::of(&[
            known([0.0, 0.0], [0.0, 0.0]),
            known([1000.0, 0.0], [100.0, 0.0]),
            known([0.0, 1000.0], [0.0, -104.0]),
        ])
        .unwrap();
        assert!(fit.worst > 1.0 && fit.worst < 4.0, "{}", fit.worst);
    }

    fn any_place(within: f64) -> impl Strategy<Value = [f64; 2]> {
        prop::array::uniform2(-within..within)
    }

    proptest! {
        /// Two known points land on their places, and any place leads back to its pixel.
        #[test]
        fn known_points_lie_where_they_are_known(
            first in any_place(1e4), second in any_place(1e4),
            from in any_place(1e5), to in any_place(1e5),
        ) {
            prop_assume!((first[0] - second[0]).hypot(first[1] - second[1]) > 20.0);
            prop_assume!((from[0] - to[0]).hypot(from[1] - to[1]) > 1.0);
            let fit = Similarity::of(&[known(first, from), known(second, to)]).unwrap();
            prop_assert!(fit.worst < 1e-6 * fit.scale().max(1.0) * 1e4);
            let back = fit.pixel(fit.place(second));
            prop_assert!((back[0] - second[0]).hypot(back[1] - second[1]) < 1e-5);
        }
    }
}
