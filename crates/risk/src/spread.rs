//! Distributions over three points, in closed form where there is one.

use job::practice::{Points, Shape};
use statrs::function::beta::{beta_reg, inv_beta_reg};

/// Weight of the likeliest value in PERT.
const WEIGHT: f64 = 4.0;

/// Values from lowest to highest, the likeliest between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// None is lower.
    pub low: f64,
    /// The mode.
    pub likely: f64,
    /// None is higher.
    pub high: f64,
    /// How they are spread.
    pub shape: Shape,
}

impl Spread {
    /// Over the three points; they are put in order where they are not.
    pub fn new(low: f64, likely: f64, high: f64, shape: Shape) -> Self {
        let (low, high) = (low.min(high), low.max(high));
        Self {
            low,
            likely: likely.clamp(low, high),
            high,
            shape,
        }
    }

    /// Over three points of the practice file.
    pub fn of(points: &Points, shape: Shape) -> Self {
        let [low, likely, high] =
            [&points.low, &points.likely, &points.high].map(|point| point.value.to_one());
        Self::new(low, likely, high, shape)
    }

    fn width(&self) -> f64 {
        self.high - self.low
    }

    /// α and β of the beta distribution of PERT.
    fn alpha_beta(&self) -> (f64, f64) {
        let to_mode = (self.likely - self.low) / self.width();
        (1.0 + WEIGHT * to_mode, 1.0 + WEIGHT * (1.0 - to_mode))
    }

    /// (a + m + b) / 3, of PERT (a + 4 m + b) / 6.
    pub fn mean(&self) -> f64 {
        match self.shape {
            Shape::Triangular => (self.low + self.likely + self.high) / 3.0,
            Shape::Pert => (self.low + WEIGHT * self.likely + self.high) / (WEIGHT + 2.0),
        }
    }

    /// (a² + m² + b² − a m − a b − m b) / 18; of PERT (μ − a)(b − μ) / 7.
    pub fn variance(&self) -> f64 {
        let (a, m, b) = (self.low, self.likely, self.high);
        match self.shape {
            // The same with differences, which lose fewer digits.
            Shape::Triangular => ((b - a).powi(2) - (m - a) * (b - m)) / 18.0,
            Shape::Pert => (self.mean() - a) * (b - self.mean()) / (WEIGHT + 3.0),
        }
    }

    /// The chance that a value is not above `x`.
    pub fn cdf(&self, x: f64) -> f64 {
        if x <= self.low {
            return 0.0;
        }
        if x >= self.high {
            return 1.0;
        }
        match self.shape {
            Shape::Triangular if x <= self.likely => {
                (x - self.low).powi(2) / (self.width() * (self.likely - self.low))
            }
            Shape::Triangular => {
                1.0 - (self.high - x).powi(2) / (self.width() * (self.high - self.likely))
            }
            Shape::Pert => {
                let (alpha, beta) = self.alpha_beta();
                beta_reg(alpha, beta, (x - self.low) / self.width())
            }
        }
    }

    /// The value that is not exceeded with a chance of `p`: the inverse of [`Self::cdf`].
    pub fn quantile(&self, p: f64) -> f64 {
        let p = p.clamp(0.0, 1.0);
        if self.width() <= 0.0 {
            return self.likely;
        }
        match self.shape {
            Shape::Triangular => self.triangular(p),
            Shape::Pert => {
                let (alpha, beta) = self.alpha_beta();
                self.low + self.width() * inv_beta_reg(alpha, beta, p)
            }
        }
    }

    fn triangular(&self, p: f64) -> f64 {
        let below = self.likely - self.low;
        if p * self.width() <= below {
            self.low + (p * self.width() * below).sqrt()
        } else {
            self.high - ((1.0 - p) * self.width() * (self.high - self.likely)).sqrt()
        }
    }
}
