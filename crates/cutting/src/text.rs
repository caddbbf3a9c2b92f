//! Reading problems from text, in two forms, told apart by the first line:
//!
//! - the number of pieces, the length of a stock, then a length a line, as in the OR-Library and
//!   in the sets of Scholl, Klein and Jürgens; no kerf.
//! - a line `# stick 4000 kerf 4`, a line `length,count`, then such pairs.
//!
//! Each stock costs 1, so that the cost is the number of stocks.

use crate::problem::{Piece, Problem, ProblemError, Stock};
use std::fmt;

/// Why a text was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TextError {
    /// A line could not be understood.
    Line {
        /// Line number, from 1.
        line: usize,
        /// What was expected there.
        expected: &'static str,
    },
    /// The number of pieces is not the one announced.
    Count,
    /// Every line is fine, but the whole is no problem.
    Problem(ProblemError),
}

impl fmt::Display for TextError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TextError::Line { line, expected } => write!(f, "line {line}: write `{expected}`"),
            TextError::Count => write!(f, "the first line announces another number of pieces"),
            TextError::Problem(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for TextError {}

/// Reads either form.
///
/// # Errors
///
/// See [`TextError`].
///
/// ```
/// let problem = cutting::text::read("# stick 4000 kerf 4\nlength,count\n2690,4\n")?;
/// assert_eq!(problem.kerf(), 4);
/// assert_eq!(cutting::text::read("2\n100\n60\n40\n")?.pieces().len(), 2);
/// # Ok::<(), cutting::text::TextError>(())
/// ```
pub fn read(text: &str) -> Result<Problem, TextError> {
    let lines: Vec<(usize, &str)> = text
        .lines()
        .enumerate()
        .map(|(at, line)| (at + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty())
        .collect();
    if lines.first().is_some_and(|(_, line)| line.starts_with('#')) {
        pairs(&lines)
    } else {
        plain(&lines)
    }
}

fn number<T: std::str::FromStr>(
    line: usize,
    word: Option<&str>,
    expected: &'static str,
) -> Result<T, TextError> {
    word.and_then(|word| word.trim().parse().ok())
        .ok_or(TextError::Line { line, expected })
}

fn plain(lines: &[(usize, &str)]) -> Result<Problem, TextError> {
    let mut numbers = lines.iter();
    let mut next = |expected| {
        let (line, word) = numbers.next().copied().unwrap_or((lines.len() + 1, ""));
        number::<u64>(line, Some(word), expected)
    };
    let (count, stock) = (next("number of pieces")?, next("length of a stock")?);
    let mut pieces = Vec::new();
    for _ in 0..count.min(lines.len() as u64) {
        pieces.push(Piece {
            length: next("length of a piece")?,
            count: 1,
        });
    }
    if lines.len() as u64 != count.saturating_add(2) {
        return Err(TextError::Count);
    }
    Problem::new(pieces, vec![Stock::new(stock, 1)], 0).map_err(TextError::Problem)
}

fn pairs(lines: &[(usize, &str)]) -> Result<Problem, TextError> {
    const FIRST: &str = "# stick LENGTH kerf KERF";
    let (line, first) = lines[0];
    let words: Vec<&str> = first.split_whitespace().collect();
    let after = |name: &str| {
        let at = words.iter().position(|word| *word == name)?;
        words.get(at + 1).copied()
    };
    let stick = number(line, after("stick"), FIRST)?;
    let kerf = number(line, after("kerf"), FIRST)?;
    let mut pieces = Vec::new();
    for (line, text) in &lines[1..] {
        if *text == "length,count" || text.starts_with('#') {
            continue;
        }
        let mut fields = text.split(',');
        pieces.push(Piece {
            length: number(*line, fields.next(), "LENGTH,COUNT")?,
            count: number(*line, fields.next(), "LENGTH,COUNT")?,
        });
    }
    Problem::new(pieces, vec![Stock::new(stick, 1)], kerf).map_err(TextError::Problem)
}
