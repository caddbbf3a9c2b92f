//! Why there are no sheets.

use thiserror::Error;

/// Why there are no sheets.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SheetError {
    /// The typesetter refused them.
    #[error("the sheets cannot be typeset: {0}")]
    Typesetting(String),
    /// A table cannot be written as CSV.
    #[error("the table {0} cannot be written: {1}")]
    Table(&'static str, String),
}
