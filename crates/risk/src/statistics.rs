//! What trials say: quantiles with their standard errors, and shares of the variance.

/// Layers of one quantity, or of a pair, within which its values count as one.
const CELLS: usize = 64;

/// The mean; 0 of nothing.
pub fn mean(values: &[f64]) -> f64 {
    let count = values.len().max(1) as f64;
    values.iter().sum::<f64>() / count
}

/// The standard deviation of a sample; 0 of fewer than two.
pub fn deviation(values: &[f64]) -> f64 {
    let mean = mean(values);
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (squares / values.len().saturating_sub(1).max(1) as f64).sqrt()
}

/// The least of the sorted values that at least a share `p` of them do not exceed.
pub fn quantile<T: Copy + Default>(sorted: &[T], p: f64) -> T {
    let rank = (sorted.len() as f64 * p).ceil().max(1.0) as usize;
    let place = rank.min(sorted.len()).saturating_sub(1);
    sorted.get(place).copied().unwrap_or_default()
}

/// The standard error of a quantile: half the distance between the values one standard deviation of
/// the binomial count, √(n p (1 − p)), in rank below and above it.
pub fn quantile_error(sorted: &[f64], p: f64) -> f64 {
    let count = sorted.len() as f64;
    if sorted.is_empty() {
        return 0.0;
    }
    let ranks = (count * p * (1.0 - p)).sqrt() / count;
    (quantile(sorted, p + ranks) - quantile(sorted, p - ranks)) / 2.0
}

/// The share of the variance of `values` that the mean of each cell explains: the correlation ratio
/// η², made unbiased (ε² = 1 − (1 − η²)(n − 1)/(n − c), Kelley 1935), from 0 to 1.
///
/// `standings` are one or two quantities' standings from 0 to 1, trial by trial; the cells cut them into
/// layers of equal chance.
pub fn explained(standings: &[&[f64]], values: &[f64]) -> f64 {
    let layers = match standings.len() {
        0 => return 0.0,
        1 => CELLS,
        more => (CELLS as f64).powf(1.0 / more as f64).round() as usize,
    };
    let cell = |trial: usize| {
        let layer = |s: &&[f64]| ((s[trial] * layers as f64) as usize).min(layers - 1);
        standings.iter().fold(0, |cell, s| cell * layers + layer(s))
    };
    let cells: Vec<usize> = (0..values.len()).map(cell).collect();
    let (ratio, used) = correlation_ratio(&cells, values);
    if values.len() <= used {
        return 0.0;
    }
    let left = (1.0 - ratio) * (values.len() - 1) as f64 / (values.len() - used) as f64;
    (1.0 - left).clamp(0.0, 1.0)
}

/// The variance of the cells' means over that of all values, η², and how many cells hold any; `cells`
/// names the cell of each value, from 0 on.
pub fn correlation_ratio(cells: &[usize], values: &[f64]) -> (f64, usize) {
    let whole = mean(values);
    let count = cells.iter().max().map_or(0, |last| last + 1);
    let mut sums = vec![(0.0, 0_u32); count];
    let mut squares = 0.0;
    for (cell, value) in cells.iter().zip(values) {
        let off = value - whole;
        sums[*cell].0 += off;
        sums[*cell].1 += 1;
        squares += off * off;
    }
    let filled = || sums.iter().filter(|(_, count)| *count > 0);
    let between: f64 = filled()
        .map(|(sum, count)| sum * sum / f64::from(*count))
        .sum();
    let ratio = if squares > 0.0 {
        between / squares
    } else {
        0.0
    };
    (ratio, filled().count())
}
