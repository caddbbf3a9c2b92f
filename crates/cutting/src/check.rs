//! Holds what was cut against a problem, sharing nothing with the search.

use crate::problem::Problem;
use crate::solve::Cut;
use std::fmt;

/// What is wrong with a list of cuts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A cut names a stock or a piece that there is not.
    NoSuch {
        /// Number of the cut.
        cut: usize,
    },
    /// The pieces of a cut, with the kerf between them, are longer than the stock.
    TooLong {
        /// Number of the cut.
        cut: usize,
    },
    /// Not as many of a piece as are wanted.
    Count {
        /// Number of the piece.
        piece: usize,
    },
    /// More of a stock than there are.
    Stock {
        /// Number of the stock.
        stock: usize,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::NoSuch { cut } => write!(f, "cut {cut} names what is not there"),
            Fault::TooLong { cut } => write!(f, "cut {cut} is longer than its stock"),
            Fault::Count { piece } => write!(f, "piece {piece} is not cut as often as wanted"),
            Fault::Stock { stock } => write!(f, "stock {stock} is used more than there is"),
        }
    }
}

impl std::error::Error for Fault {}

/// The cost of a list of cuts, and how many stocks it uses.
///
/// # Errors
///
/// The first thing that is wrong with it.
pub fn check(problem: &Problem, cuts: &[Cut]) -> Result<(u64, u64), Fault> {
    let mut made = vec![0u64; problem.pieces().len()];
    let mut used = vec![0u64; problem.stocks().len()];
    for (at, cut) in cuts.iter().enumerate() {
        let no_such = Fault::NoSuch { cut: at };
        let stock = problem.stocks().get(cut.stock).ok_or(no_such.clone())?;
        let mut length = 0u64;
        let mut cuts_made = 0u64;
        for (piece, count) in &cut.pieces {
            let wanted = problem.pieces().get(*piece).ok_or(no_such.clone())?;
            length += wanted.length * u64::from(*count);
            cuts_made += u64::from(*count);
            made[*piece] += u64::from(*count) * u64::from(cut.times);
        }
        let between = cuts_made.saturating_sub(1) * problem.kerf();
        if length + between > stock.length {
            return Err(Fault::TooLong { cut: at });
        }
        used[cut.stock] += u64::from(cut.times);
    }
    for (at, piece) in problem.pieces().iter().enumerate() {
        if made[at] != u64::from(piece.count) {
            return Err(Fault::Count { piece: at });
        }
    }
    let mut cost = 0;
    for (at, stock) in problem.stocks().iter().enumerate() {
        if stock
            .available
            .is_some_and(|most| used[at] > u64::from(most))
        {
            return Err(Fault::Stock { stock: at });
        }
        cost += stock.price * used[at];
    }
    Ok((cost, used.iter().sum()))
}
