//! A problem as the search sees it: pieces of one size together, the kerf added to pieces and
//! stocks, the cost of a stock such that less cost comes first and fewer stocks second.

use crate::problem::Problem;

/// A stock as the search sees it.
#[derive(Clone, Debug)]
pub(crate) struct Kind {
    pub(crate) room: u64,
    pub(crate) cost: i128,
    /// How many there are; never more than there are pieces.
    pub(crate) most: u64,
    pub(crate) limited: bool,
    /// Number of the stock in the problem.
    pub(crate) stock: usize,
}

#[derive(Clone, Debug)]
pub(crate) struct Instance {
    /// Falling.
    pub(crate) size: Vec<u64>,
    pub(crate) demand: Vec<u64>,
    /// By size: number of the piece in the problem, count.
    pub(crate) source: Vec<Vec<(usize, u32)>>,
    pub(crate) kinds: Vec<Kind>,
    /// One unit of price in the unit of `cost` (before division by `common`).
    pub(crate) unit: i128,
    /// What all costs were divided by.
    pub(crate) common: i128,
}

/// One way to fill a stock: which, and how many of each size.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Pattern {
    pub(crate) kind: usize,
    pub(crate) rows: Vec<(u32, u32)>,
}

/// Patterns and how often each is cut.
pub(crate) type Plan = Vec<(Pattern, u64)>;

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

impl Instance {
    pub(crate) fn new(problem: &Problem) -> Instance {
        let mut pieces: Vec<(u64, usize, u32)> = problem
            .pieces
            .iter()
            .enumerate()
            .filter(|(_, piece)| piece.count > 0)
            .map(|(at, piece)| (piece.length + problem.kerf, at, piece.count))
            .collect();
        pieces.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
        let common = pieces.iter().fold(0, |g, piece| gcd(g, piece.0)).max(1);
        let (mut size, mut demand, mut source) = (Vec::new(), Vec::new(), Vec::new());
        for (length, at, count) in pieces {
            if size.last() != Some(&(length / common)) {
                size.push(length / common);
                demand.push(0);
                source.push(Vec::new());
            }
            let last = size.len() - 1;
            demand[last] += u64::from(count);
            source[last].push((at, count));
        }
        let count: u64 = demand.iter().sum();
        let unit = i128::from(count) + 1;
        let smallest = size.last().copied().unwrap_or(0);
        let mut kinds: Vec<Kind> = problem
            .stocks
            .iter()
            .enumerate()
            .map(|(at, stock)| Kind {
                room: (stock.length + problem.kerf) / common,
                cost: i128::from(stock.price) * unit + 1,
                most: stock.available.map_or(count, u64::from).min(count),
                limited: stock.available.is_some_and(|most| u64::from(most) < count),
                stock: at,
            })
            .filter(|kind| kind.room >= smallest && kind.most > 0)
            .collect();
        // A kind that is shorter and not cheaper than one without end is of no use.
        let endless: Vec<Kind> = kinds.iter().filter(|k| !k.limited).cloned().collect();
        kinds.retain(|kind| {
            !endless.iter().any(|other| {
                let (mine, its) = ((kind.cost, other.room), (other.cost, kind.room));
                other.stock != kind.stock
                    && its.0 <= mine.0
                    && mine.1 >= its.1
                    && (mine != (other.cost, kind.room) || other.stock < kind.stock)
            })
        });
        // The largest room first: what fits nowhere else is seen there.
        kinds.sort_by(|a, b| b.room.cmp(&a.room).then(a.cost.cmp(&b.cost)));
        let all = kinds.iter().fold(0, |g, kind| gcd(g, kind.cost as u64));
        let common = i128::from(all.max(1));
        for kind in &mut kinds {
            kind.cost /= common;
        }
        Instance {
            size,
            demand,
            source,
            kinds,
            unit,
            common,
        }
    }

    pub(crate) fn rows(&self) -> usize {
        self.size.len()
    }

    /// One kind of stock, and enough of it: bin packing.
    pub(crate) fn is_plain(&self) -> bool {
        self.kinds.len() == 1 && !self.kinds[0].limited
    }

    pub(crate) fn cost(&self, plan: &[(Pattern, u64)]) -> i128 {
        let costs = plan.iter();
        costs
            .map(|(pattern, times)| self.kinds[pattern.kind].cost * i128::from(*times))
            .sum()
    }
}
