//! Pieces cut from stocks at least cost, with a proven lower bound.
//!
//! **Comes in:** a [`Problem`]: [`Piece`]s with a length and a count, [`Stock`]s with a length, a
//! price and, if they are limited, how many there are, and the kerf: what each cut takes away. A
//! stock holds pieces with Σ (length + kerf) ≤ length of the stock + kerf: the last cut may fall
//! on its end. Offcuts are stocks of price 0 of which there are so many.
//!
//! **Goes out:** a [`Solution`]: which pieces are cut from which stock, so that the stocks cost
//! least and, of all ways that cost as much, fewest are used; and a bound for either.
//!
//! **Always holds:** every piece is cut as often as wanted ([`check`] shares no code with the
//! search); `bound <= cost`; the same problem and the same [`Limits`] give the same answer, on
//! every machine.
//!
//! **Does not do:** it reads no files and looks at no clock. It does not promise the optimum:
//! [`Solution::optimal`] says when it is proven.
//!
//! # How
//!
//! What is sure is cut first (`reduce`). Plans come from best fit decreasing and from prices that
//! learn (`greedy`), the bound from the linear relaxation over all ways to fill a stock (`lp`),
//! whose prices are rounded to whole numbers and tried against all fillings in whole numbers. Dives
//! make plans from the relaxation (`dive`); what then is open is searched through (`branch`).
//!
//! # Units
//!
//! Lengths and prices are whole numbers of any unit.

mod bound;
mod branch;
mod check;
mod dice;
mod dive;
mod greedy;
mod instance;
mod knapsack;
mod lp;
mod pool;
mod problem;
mod reduce;
mod solve;
pub mod text;
mod watch;

pub use check::{Fault, check};
pub use problem::{MOST_LENGTH, MOST_PIECES, MOST_PRICE, Piece, Problem, ProblemError, Stock};
pub use solve::{Cut, Limits, NoPlan, Progress, Solution, solve};
