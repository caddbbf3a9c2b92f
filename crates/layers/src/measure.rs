//! Measures as tables hold them: bare numbers, the unit in the head of the column.

use crate::{Cell, Column, Holds};
use quantity::{Amount, Length, Style, Units};

/// A number without its unit and without commas between thousands.
pub fn bare(amount: Amount, units: Units) -> String {
    amount.parts(units).0.replace(',', "")
}

/// A column's head with its unit, such as `length_ft`.
pub fn head(name: &str, style: Style, units: Units) -> String {
    let unit = Amount::new(0.0, style).parts(units).1;
    let unit = unit
        .replace('²', "2")
        .replace('³', "3")
        .replace('°', "deg")
        .replace('%', "percent");
    format!("{name}_{}", unit.replace('/', "_per_"))
}

/// As one sets it on a tape: in quarters of an inch, or in steps of 5 mm; never less than it is.
pub fn on_tape(length: Length, units: Units) -> String {
    // What is a step but for rounding in the last digits stays that step.
    let steps = |step: f64| ((length.to_mm() - 1e-3) / step).ceil().max(0.0);
    if steps(5.0) <= 0.0 {
        return "–".to_owned();
    }
    match units {
        Units::Us => {
            let quarters = steps(25.4 / 4.0);
            let inches = (quarters / 4.0).floor();
            let part = ["", "-1/4", "-1/2", "-3/4"][(quarters - inches * 4.0) as usize % 4];
            match (inches <= 0.0, part) {
                (true, part) => part.trim_start_matches('-').to_owned(),
                (false, part) => format!("{inches}{part}"),
            }
        }
        Units::Si => format!("{}", steps(5.0) * 5.0),
    }
}

/// A measure, SI, as the cell of a column with its head.
pub(crate) fn cell(si: f64, style: Style, units: Units) -> Cell {
    let text = bare(Amount::new(si, style), units);
    text.parse().map_or(Cell::Text(text), Cell::Real)
}

/// The column of a measure.
pub(crate) fn column(name: &str, style: Style, units: Units) -> Column {
    Column {
        name: head(name, style, units),
        holds: Holds::Real,
    }
}

/// A column of texts.
pub(crate) fn words(name: &str) -> Column {
    Column {
        name: name.to_owned(),
        holds: Holds::Text,
    }
}

/// A text, or nothing for one that is empty.
pub(crate) fn text(text: impl Into<String>) -> Cell {
    let text = text.into();
    match text.is_empty() {
        true => Cell::Empty,
        false => Cell::Text(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_carry_the_unit() {
        assert_eq!(head("length", Style::Length, Units::Us), "length_ft");
        assert_eq!(head("bank", Style::Volume, Units::Si), "bank_m3");
        assert_eq!(head("slope", Style::Percent, Units::Si), "slope_percent");
        assert_eq!(head("angle", Style::Angle, Units::Us), "angle_deg");
    }

    #[test]
    fn numbers_have_no_commas() {
        let money = Amount::new(12_345.6, Style::Money);
        assert_eq!(bare(money, Units::Us), "12345.60");
        assert_eq!(
            cell(12_345.6, Style::Money, Units::Us),
            Cell::Real(12_345.6)
        );
    }

    #[test]
    fn depths_are_rounded_up_as_a_tape_reads() {
        let inches = |n| on_tape(Length::inch(n), Units::Us);
        assert_eq!(inches(19.66), "19-3/4");
        assert_eq!(inches(12.0), "12");
        assert_eq!(inches(0.1), "1/4");
        assert_eq!(inches(6.01), "6-1/4");
        assert_eq!(inches(0.0), "–");
        let mm = |n| on_tape(Length::m(n / 1000.0), Units::Si);
        assert_eq!(mm(223.0), "225");
        assert_eq!(mm(305.0), "305");
    }
}
