//! What is to be cut, and from what.

use std::fmt;

/// Pieces of one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Length of each.
    pub length: u64,
    /// How many are wanted.
    pub count: u32,
}

/// Stocks of one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stock {
    /// Length of each.
    pub length: u64,
    /// What each costs; 0 for offcuts that are there already.
    pub price: u64,
    /// How many there are; without end if not given.
    pub available: Option<u32>,
}

impl Stock {
    /// A stock of which there is always more.
    pub fn new(length: u64, price: u64) -> Stock {
        Stock {
            length,
            price,
            available: None,
        }
    }
}

/// Pieces, stocks and what each cut takes away; checked when made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    pub(crate) pieces: Vec<Piece>,
    pub(crate) stocks: Vec<Stock>,
    pub(crate) kerf: u64,
}

/// The most pieces, all counts together.
pub const MOST_PIECES: u64 = 1_000_000;

/// The longest stock, kerf included.
pub const MOST_LENGTH: u64 = 1 << 40;

/// The dearest stock.
pub const MOST_PRICE: u64 = 1 << 40;

/// Why something is no problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProblemError {
    /// A piece has no length.
    NoLength {
        /// Number of the piece.
        piece: usize,
    },
    /// A piece is longer than every stock.
    TooLong {
        /// Number of the piece.
        piece: usize,
    },
    /// More than [`MOST_PIECES`], or longer than [`MOST_LENGTH`], or dearer than [`MOST_PRICE`].
    TooLarge,
}

impl fmt::Display for ProblemError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ProblemError::NoLength { piece } => write!(f, "piece {piece} has no length"),
            ProblemError::TooLong { piece } => {
                write!(f, "piece {piece} is longer than every stock")
            }
            ProblemError::TooLarge => write!(
                f,
                "at most {MOST_PIECES} pieces, lengths below {MOST_LENGTH}, prices below {MOST_PRICE}"
            ),
        }
    }
}

impl std::error::Error for ProblemError {}

impl Problem {
    /// Checks the parts and puts them together.
    ///
    /// # Errors
    ///
    /// See [`ProblemError`]. That the stocks that are there do not suffice is no error here:
    /// [`solve`](crate::solve) finds that out.
    pub fn new(pieces: Vec<Piece>, stocks: Vec<Stock>, kerf: u64) -> Result<Problem, ProblemError> {
        let count: u64 = pieces.iter().map(|piece| u64::from(piece.count)).sum();
        let longest = stocks.iter().map(|stock| stock.length).max().unwrap_or(0);
        let dearest = stocks.iter().map(|stock| stock.price).max().unwrap_or(0);
        if count > MOST_PIECES
            || longest > MOST_LENGTH
            || kerf > MOST_LENGTH - longest
            || dearest > MOST_PRICE
        {
            return Err(ProblemError::TooLarge);
        }
        for (at, piece) in pieces.iter().enumerate() {
            if piece.length == 0 {
                return Err(ProblemError::NoLength { piece: at });
            }
            if piece.length > longest && piece.count > 0 {
                return Err(ProblemError::TooLong { piece: at });
            }
        }
        Ok(Problem {
            pieces,
            stocks,
            kerf,
        })
    }

    /// The pieces.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The stocks.
    pub fn stocks(&self) -> &[Stock] {
        &self.stocks
    }

    /// What each cut takes away.
    pub fn kerf(&self) -> u64 {
        self.kerf
    }
}
