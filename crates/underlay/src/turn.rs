//! A picture turned so that its sides lie along the axes.

use image::{Rgba, RgbaImage};

use crate::fit::Similarity;

/// A picture whose sides lie along the axes.
pub(crate) struct Upright {
    pub pixels: RgbaImage,
    /// Least x and y, greatest x and y.
    pub bounds: [f64; 4],
    /// How many times longer its pixels are than those of the picture it was.
    pub coarser: f64,
}

/// Turns a picture; what it does not cover is left clear.
pub(crate) fn upright(picture: &RgbaImage, fit: &Similarity, longest: u32) -> Upright {
    let (width, height) = picture.dimensions();
    let (right, down) = (f64::from(width), f64::from(height));
    let corners = [[0.0, 0.0], [right, 0.0], [0.0, down], [right, down]].map(|c| fit.place(c));
    let least = |side: usize| {
        corners
            .iter()
            .map(|c| c[side])
            .fold(f64::INFINITY, f64::min)
    };
    let most = |side: usize| {
        corners
            .iter()
            .map(|c| c[side])
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let (min_x, max_y) = (least(0), most(1));
    let sides = [most(0) - min_x, max_y - least(1)];
    let longer = sides[0].max(sides[1]) / fit.scale();
    let coarser = (longer / f64::from(longest)).max(1.0);
    let step = fit.scale() * coarser;
    // A picture that is not turned keeps its pixels: what is left of a rounding is no pixel.
    let [across, downwards] = sides.map(|side| ((side / step - 1e-6).ceil().max(1.0)) as u32);
    let pixels = RgbaImage::from_fn(across, downwards, |column, row| {
        let x = min_x + (f64::from(column) + 0.5) * step;
        let y = max_y - (f64::from(row) + 0.5) * step;
        sample(picture, fit.pixel([x, y]))
    });
    let bounds = [
        min_x,
        max_y - f64::from(downwards) * step,
        min_x + f64::from(across) * step,
        max_y,
    ];
    Upright {
        pixels,
        bounds,
        coarser,
    }
}

/// The colour at a point, between the four pixels around it; clear outside.
fn sample(picture: &RgbaImage, [u, v]: [f64; 2]) -> Rgba<u8> {
    let (width, height) = picture.dimensions();
    let inside =
        u >= -0.5 && v >= -0.5 && u <= f64::from(width) + 0.5 && v <= f64::from(height) + 0.5;
    if !inside {
        return Rgba([255, 255, 255, 0]);
    }
    let (u, v) = (u - 0.5, v - 0.5);
    let (left, top) = (u.floor(), v.floor());
    let (right_share, lower_share) = (u - left, v - top);
    let mut sum = [0.0; 4];
    for (column, across) in [(left, 1.0 - right_share), (left + 1.0, right_share)] {
        for (row, down) in [(top, 1.0 - lower_share), (top + 1.0, lower_share)] {
            let column = column.clamp(0.0, f64::from(width - 1)) as u32;
            let row = row.clamp(0.0, f64::from(height - 1)) as u32;
            let pixel = picture.get_pixel(column, row);
            for (part, value) in sum.iter_mut().zip(pixel.0) {
                *part += f64::from(value) * across * down;
            }
        }
    }
    Rgba(sum.map(|part| part.round() as u8))
}
