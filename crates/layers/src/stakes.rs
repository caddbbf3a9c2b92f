//! Points to mark on the ground, each by station and offset and by two tapes.

use crate::measure::{cell, column, text, words};
use crate::{Cell, Column, Holds, Layer, Row, Shape, Sort};
use geo::Coord;
use job::Job;
use plan::Plan;
use plan::staking::{Distance, Role, StakePoint, Staking};
use quantity::{Length, Style, Units};

pub(crate) fn layer(_job: &Job, plan: &Plan, units: Units) -> Layer {
    let staking = &plan.staking;
    let taped = |name: &str| Column {
        name: format!("{name}_{}", unit(units)),
        holds: Holds::Real,
    };
    let columns = vec![
        words("what"),
        words("of"),
        words("station"),
        taped("offset"),
        words("offset_side"),
        words("first_from"),
        taped("first"),
        words("second_from"),
        taped("second"),
        words("tie_side"),
        column("angle", Style::Angle, units),
        column("error", Style::Thickness, units),
        words("check_from"),
        taped("check"),
        words("remark"),
    ];
    Layer {
        name: "plan_stake".to_owned(),
        title: "Points to mark on the ground".to_owned(),
        sort: Sort::Point,
        rows: staking
            .points
            .iter()
            .map(|point| row(staking, point, units))
            .collect(),
        columns,
    }
}

fn row(staking: &Staking, point: &StakePoint, units: Units) -> Row {
    let roles: Vec<&str> = point.roles.iter().copied().map(Role::label).collect();
    let mut cells = vec![text(roles.join(", ")), text(point.features.join(", "))];
    match staking.baseline {
        None => cells.extend([Cell::Empty, Cell::Empty, Cell::Empty]),
        Some(_) => cells.extend([
            text(station(point.station, units)),
            taped(point.offset, units),
            text(point.side.map_or("", |side| side.label())),
        ]),
    }
    let from = |distance: &Distance| {
        let fixed = staking.fixed.get(distance.fixed);
        [
            text(fixed.map_or("", |fixed| fixed.name.as_str())),
            taped(distance.length, units),
        ]
    };
    match &point.tie {
        None => cells.extend(std::iter::repeat_n(Cell::Empty, 9)),
        Some(tie) => {
            cells.extend(from(&tie.first));
            cells.extend(from(&tie.second));
            cells.push(text(tie.side.label()));
            cells.push(cell(tie.angle.si(), Style::Angle, units));
            cells.push(cell(tie.error.si(), Style::Thickness, units));
            cells.extend(tie.check.as_ref().map_or([Cell::Empty, Cell::Empty], from));
        }
    }
    let flat = point.tie.as_ref().is_some_and(|tie| tie.flat);
    cells.push(text(match flat {
        true => "the tapes cross flat",
        false => point.untied.as_str(),
    }));
    Row {
        id: point.id.clone(),
        shape: Shape::Point(Coord::from(point.at).into()),
        cells,
    }
}

/// What tapes are read in.
fn unit(units: Units) -> &'static str {
    match units {
        Units::Us => "ft",
        Units::Si => "m",
    }
}

/// A length as it is read on a tape: hundredths of a foot, millimetres.
fn taped(length: Length, units: Units) -> Cell {
    Cell::Real(match units {
        Units::Us => (length.to_ft() * 100.0).round() / 100.0,
        Units::Si => (length.to_m() * 1000.0).round() / 1000.0,
    })
}

/// A station in the trade's manner: full stations of 100 ft or 1,000 m, a plus, and the rest.
pub fn station(along: Length, units: Units) -> String {
    let (hundredths, full, digits) = match units {
        Units::Us => ((along.to_ft() * 100.0).round(), 10_000.0, 5),
        Units::Si => ((along.to_m() * 100.0).round(), 100_000.0, 6),
    };
    let sign = if hundredths < 0.0 { "-" } else { "" };
    let (stations, rest) = ((hundredths.abs() / full).floor(), hundredths.abs() % full);
    format!("{sign}{stations}+{:0digits$.2}", rest / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stations_are_full_ones_and_the_rest() {
        assert_eq!(station(Length::ft(125.3), Units::Us), "1+25.30");
        assert_eq!(station(Length::ft(5.0), Units::Us), "0+05.00");
        assert_eq!(station(Length::ft(199.999), Units::Us), "2+00.00");
        assert_eq!(station(Length::ft(-12.5), Units::Us), "-0+12.50");
        assert_eq!(station(Length::m(1234.5), Units::Si), "1+234.50");
        assert_eq!(station(Length::m(3.04), Units::Si), "0+003.04");
    }

    #[test]
    fn tapes_are_read_to_what_is_marked_on_them() {
        assert_eq!(taped(Length::m(1.23456), Units::Si), Cell::Real(1.235));
        assert_eq!(taped(Length::ft(7.126), Units::Us), Cell::Real(7.13));
    }
}
