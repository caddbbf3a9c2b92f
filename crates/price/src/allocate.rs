//! Dividing a sum of money by shares, to the cent.

use quantity::Money;

/// Divides a sum in proportion to weights by the largest remainder: each gets its exact share cut off to
/// the cent, and the cents left go one each to those that lost most by that; of equal losses, to the first.
///
/// What always holds: the parts sum to the whole; each is within a cent of its exact share; a larger weight
/// never gets less. Weights below nothing count as nothing; if none counts, the first gets all.
///
/// ```
/// use quantity::Money;
/// let parts = price::allocate(Money::cents(100), &[1, 1, 1].map(Money::cents));
/// assert_eq!(parts, [34, 33, 33].map(Money::cents));
/// ```
pub fn allocate(whole: Money, weights: &[Money]) -> Vec<Money> {
    let weights: Vec<i128> = weights
        .iter()
        .map(|weight| i128::from(weight.to_cents().max(0)))
        .collect();
    let sum: i128 = weights.iter().sum();
    let whole = i128::from(whole.to_cents());
    if sum == 0 {
        let first = |place| if place == 0 { whole } else { 0 };
        return (0..weights.len())
            .map(|place| money(first(place)))
            .collect();
    }
    let mut parts: Vec<i128> = weights
        .iter()
        .map(|weight| (whole * weight).div_euclid(sum))
        .collect();
    let left = whole - parts.iter().sum::<i128>();
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by_key(|&place| std::cmp::Reverse((whole * weights[place]).rem_euclid(sum)));
    // Fewer cents are left than there are parts.
    for place in order.into_iter().take(usize::try_from(left).unwrap_or(0)) {
        parts[place] += 1;
    }
    parts.into_iter().map(money).collect()
}

/// A part lies between nothing and the whole, which was an amount of money.
fn money(cents: i128) -> Money {
    Money::cents(i64::try_from(cents).unwrap_or(i64::MAX))
}
