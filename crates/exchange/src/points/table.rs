//! The lines of a file of points.

use job::Finding;

use super::SUBJECT;
use crate::limits::{MOST_FINDINGS, too_many};
use crate::report::shown;

/// Most points of a file.
const MOST_POINTS: usize = 200_000;

/// A surveyed point, in the file's unit.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Point {
    pub number: String,
    pub northing: f64,
    pub easting: f64,
    pub elevation: Option<f64>,
    pub code: String,
}

/// Which column holds what, from 0.
#[derive(Debug, Clone, Copy)]
struct Columns {
    number: Option<usize>,
    northing: usize,
    easting: usize,
    elevation: Option<usize>,
    code: Option<usize>,
}

const USUAL: Columns = Columns {
    number: Some(0),
    northing: 1,
    easting: 2,
    elevation: Some(3),
    code: Some(4),
};

pub(super) fn read(text: &str) -> Result<Vec<Point>, Vec<Finding>> {
    let lines = || {
        let numbered = text.lines().enumerate();
        numbered.filter(|(_, line)| {
            let line = line.trim();
            !line.is_empty() && !line.starts_with('#') && !line.starts_with("//")
        })
    };
    let Some((first_line, first)) = lines().next() else {
        let mend = "export the points again";
        return Err(vec![Finding::error(
            "no-points",
            SUBJECT,
            "has no line with a point",
            mend,
        )]);
    };
    let separator = separator(first);
    let header = header(&fields(first, separator), first_line + 1)?;
    let columns = header.unwrap_or(USUAL);
    let mut points = Vec::new();
    let mut findings = Vec::new();
    for (n, line) in lines().skip(usize::from(header.is_some())) {
        match point(&fields(line, separator), &columns, separator, n + 1) {
            Ok(point) => points.push(point),
            Err(finding) => findings.push(finding),
        }
        if points.len() > MOST_POINTS {
            return Err(too_many(SUBJECT, "points", MOST_POINTS));
        }
        if findings.len() >= MOST_FINDINGS {
            break;
        }
    }
    if findings.is_empty() {
        Ok(points)
    } else {
        Err(findings)
    }
}

/// What stands between the fields of a line.
fn separator(line: &str) -> char {
    let count = |separator: char| line.matches(separator).count();
    if count('\t') > 0 {
        '\t'
    } else if count(';') > 0 {
        ';'
    } else {
        ','
    }
}

/// Most fields of a line that are looked at.
const MOST_FIELDS: usize = 64;

/// The fields of a line; one in quotes may hold the separator.
fn fields(line: &str, separator: char) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        if letter == '"' {
            quoted = !quoted;
        } else if letter == separator && !quoted {
            if fields.len() == MOST_FIELDS {
                break;
            }
            fields.push(String::new());
        } else if let Some(field) = fields.last_mut() {
            field.push(letter);
        }
    }
    fields.iter().map(|field| field.trim().to_owned()).collect()
}

/// The columns, if the line names them: a northing is a number otherwise.
fn header(fields: &[String], line: usize) -> Result<Option<Columns>, Vec<Finding>> {
    let place = |names: &[&str]| {
        fields
            .iter()
            .position(|field| names.contains(&field.to_lowercase().as_str()))
    };
    let northing = place(&["northing", "north", "n", "y"]);
    let easting = place(&["easting", "east", "e", "x"]);
    match (northing, easting) {
        (Some(northing), Some(easting)) => Ok(Some(Columns {
            northing,
            easting,
            number: place(&["number", "point", "pt", "p", "no", "id", "name", "pn"]),
            elevation: place(&["elevation", "elev", "z", "height", "h"]),
            code: place(&["code", "description", "desc", "d", "feature"]),
        })),
        (None, None) => Ok(None),
        _ => Err(vec![Finding::error(
            "points-columns",
            format!("{SUBJECT}, line {line}"),
            "names one of northing and easting only",
            "name both, or neither: then the order is number, northing, easting, elevation, code",
        )]),
    }
}

fn point(
    fields: &[String],
    columns: &Columns,
    separator: char,
    line: usize,
) -> Result<Point, Finding> {
    let subject = || format!("{SUBJECT}, line {line}");
    let field = |column: Option<usize>| {
        column
            .and_then(|n| fields.get(n))
            .map_or("", String::as_str)
    };
    let number = |column: usize, name: &str| {
        let text = fields.get(column).map_or("", String::as_str);
        let text = if separator == ',' {
            text.to_owned()
        } else {
            text.replace(',', ".")
        };
        let value = text.parse::<f64>().ok().filter(|value| value.is_finite());
        value.ok_or_else(|| {
            let shown = shown(&text);
            let what = if text.is_empty() {
                format!("has no {name} (column {})", column + 1)
            } else {
                format!("has the {name} \"{shown}\" (column {}), which is no number", column + 1)
            };
            let mend = "the order is number, northing, easting, elevation, code, or as a first line names it";
            Finding::error("point-unread", subject(), what, mend)
        })
    };
    let elevation = match (columns.elevation, field(columns.elevation)) {
        (Some(column), text) if !text.is_empty() => Some(number(column, "elevation")?),
        _ => None,
    };
    Ok(Point {
        number: field(columns.number).to_owned(),
        northing: number(columns.northing, "northing")?,
        easting: number(columns.easting, "easting")?,
        elevation,
        code: field(columns.code).to_uppercase(),
    })
}
