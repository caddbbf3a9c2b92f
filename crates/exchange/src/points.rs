//! Survey points: one to a line, as number, northing, easting, elevation and code.

mod table;

use job::Finding;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

use crate::gather::{Found, Gather, closed_where_needed, named};
use crate::mapping::{By, Rule, kind};
use crate::report::shown;
use crate::shape::Piece;
use crate::{Imported, Mapping, Options, Target, Unit, Xy, decode, limits};

use table::Point;

/// How findings call the file.
const SUBJECT: &str = "survey points";

/// Reads survey points: lines of number, northing, easting, elevation, code, or columns named in a first line, with
/// commas, semicolons or tabs between; lines that begin with `#` are comments.
///
/// Points of a code whose kind is a line or an area are joined in their order: all of a code with a number
/// (`FNC1`), and each run of neighbours of a code without. Points of no rule that have an elevation become spots.
///
/// # Errors
/// Every line and column that cannot be read.
pub fn read(
    bytes: &[u8],
    target: &Target,
    mapping: &Mapping,
    options: &Options,
) -> Result<Imported, Vec<Finding>> {
    limits::size(bytes, SUBJECT)?;
    let mut notes = Vec::new();
    let text = decode::text(bytes, SUBJECT, &mut notes)?;
    let points = table::read(&text)?;
    let unit = options.unit.unwrap_or(Unit::of(target.length_unit));
    let mut gather = Gather::new(SUBJECT, target, options);
    if options.unit.is_none() {
        let name = unit.name();
        notes.push(format!(
            "a file of points names no unit; {name} was taken, the job's own"
        ));
    }
    notes.into_iter().for_each(|note| gather.report.note(note));
    let mut reader = Reader {
        mapping,
        unit,
        gather,
        rules: BTreeMap::new(),
    };
    reader.all(&points)?;
    reader.gather.done(unit)
}

struct Reader<'a> {
    mapping: &'a Mapping,
    unit: Unit,
    gather: Gather<'a>,
    rules: BTreeMap<String, Option<Rule>>,
}

impl Reader<'_> {
    fn all(&mut self, points: &[Point]) -> Result<(), Vec<Finding>> {
        // Lines in the order in which they begin.
        let mut lines: Vec<(String, Rule, Vec<Xy>)> = Vec::new();
        let mut numbered: BTreeMap<String, usize> = BTreeMap::new();
        let mut before = "";
        for point in points {
            let rule = self.rule(&point.code);
            let joined = rule.as_ref().is_some_and(is_line);
            match rule {
                Some(rule) if joined => {
                    let open = if has_number(&point.code) {
                        numbered.get(&point.code).copied()
                    } else {
                        lines.len().checked_sub(1).filter(|_| before == point.code)
                    };
                    let n = open.unwrap_or_else(|| {
                        lines.push((point.code.clone(), rule, Vec::new()));
                        numbered.insert(point.code.clone(), lines.len() - 1);
                        lines.len() - 1
                    });
                    lines[n].2.push(self.metres(point));
                }
                rule => self.single(point, rule)?,
            }
            before = &point.code;
        }
        for (code, rule, places) in lines {
            let piece = if places.len() == 1 {
                Piece::Point(places[0])
            } else {
                closed_where_needed(&rule, places, &mut self.gather.report)
            };
            let place = named("code", &code);
            self.gather.add(Found {
                place: &place,
                name: None,
                rule: &rule,
                own: Map::new(),
                piece,
            })?;
        }
        Ok(())
    }

    /// A code with a number at its end goes by the code without it, where there is no rule for the whole.
    fn rule(&mut self, code: &str) -> Option<Rule> {
        let mapping = self.mapping;
        let rule = self.rules.entry(code.to_owned()).or_insert_with(|| {
            let stem = code.trim_end_matches(|c: char| c.is_ascii_digit());
            let whole = mapping.rule(&By::Code, code);
            whole
                .or_else(|| mapping.rule(&By::Code, stem))
                .or_else(|| mapping.otherwise())
        });
        rule.clone()
    }

    fn metres(&self, point: &Point) -> Xy {
        (
            point.easting * self.unit.metres(),
            point.northing * self.unit.metres(),
        )
    }

    fn single(&mut self, point: &Point, rule: Option<Rule>) -> Result<(), Vec<Finding>> {
        let place = if point.code.is_empty() {
            "points without a code".to_owned()
        } else {
            named("code", &point.code)
        };
        let rule = rule.or_else(|| point.elevation.and_then(|_| kind("spot")).map(Rule::of));
        let Some(rule) = rule else {
            let code = shown(&point.code);
            let why = format!(
                "nothing says what it is, and it has no elevation; map the code, such as {code}=KIND"
            );
            self.gather.report.leave(&place, "point", 1, &why);
            return Ok(());
        };
        let mut own = Map::new();
        if let Some(elevation) = point.elevation
            && rule.kind.is_some_and(|kind| kind.name == "spot")
        {
            own.insert("elevation".to_owned(), Value::from(self.height(elevation)));
        }
        let digits = point.number.starts_with(|c: char| c.is_ascii_digit());
        let name = if digits {
            format!("P{}", point.number)
        } else {
            point.number.clone()
        };
        let piece = Piece::Point(self.metres(point));
        self.gather.add(Found {
            place: &place,
            name: Some(&name),
            rule: &rule,
            own,
            piece,
        })
    }

    /// An elevation with its unit, as a job reads it.
    fn height(&self, elevation: f64) -> String {
        match self.unit {
            Unit::SurveyFoot | Unit::Decimetre => {
                format!("{:.4} m", elevation * self.unit.metres())
            }
            unit => format!("{elevation} {}", unit.name()),
        }
    }
}

fn has_number(code: &str) -> bool {
    code.ends_with(|c: char| c.is_ascii_digit())
}

fn is_line(rule: &Rule) -> bool {
    rule.kind.is_some_and(|kind| {
        kind.geometry
            .iter()
            .any(|name| matches!(*name, "LineString" | "Polygon"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::LengthUnit;

    fn read_text(text: &str, pairs: &[&str]) -> Result<Imported, Vec<Finding>> {
        let mapping = Mapping::from_pairs(pairs).unwrap();
        read(
            text.as_bytes(),
            &Target::new(LengthUnit::Ft),
            &mapping,
            &Options::default(),
        )
    }

    #[test]
    fn points_become_spots_trees_and_lines() {
        let text = "# invented\n1,0,0,100.5,\n2,0,10,,FNC1\n3,5,0,101,TREE\n4,0,20,,FNC1\n5,50,0,,FNC2\n6,50,9,,FNC2\n\
                    7,1,1,,BLD\n8,1,9,,BLD\n9,9,9,,BLD\n10,3,3,,GK\n";
        let pairs = [
            "FNC=obstacle,obstacle=fence",
            "TREE=tree,trunk=8 in",
            "BLD=obstacle,obstacle=building",
        ];
        let read = read_text(text, &pairs).unwrap();
        let kinds: Vec<String> = read
            .features
            .iter()
            .map(|f| format!("{} {}", f["id"], f["geometry"]["type"]))
            .collect();
        assert_eq!(kinds.len(), 5, "{kinds:?}");
        assert_eq!(read.features[0]["properties"]["elevation"], "100.5 ft");
        let fence = read
            .features
            .iter()
            .find(|f| f["properties"]["obstacle"] == "fence")
            .unwrap();
        assert_eq!(
            fence["geometry"]["coordinates"],
            serde_json::json!([[10, 0], [20, 0]])
        );
        assert!(
            read.features
                .iter()
                .any(|f| f["geometry"]["type"] == "Polygon")
        );
        assert!(
            read.report.text().contains("GK=KIND"),
            "{}",
            read.report.text()
        );
    }

    #[test]
    fn a_first_line_may_name_the_columns() {
        let text = "E;N;Code;Z\n10,5;20,5;;3,25\n";
        let read = read_text(text, &[]).unwrap();
        assert_eq!(
            read.features[0]["geometry"]["coordinates"],
            serde_json::json!([10.5, 20.5])
        );
        assert_eq!(read.features[0]["properties"]["elevation"], "3.25 ft");
    }

    #[test]
    fn coordinates_of_a_country_are_moved_and_the_report_says_so() {
        let text = "1\t1500123.25\t2200456.5\t10\t\n2\t1500223.25\t2200556.5\t10\t\n";
        let read = read_text(text, &[]).unwrap();
        assert_eq!(
            read.features[0]["geometry"]["coordinates"],
            serde_json::json!([456.5, 123.25])
        );
        assert!(
            read.report.text().contains("easting 2200000 ft"),
            "{}",
            read.report.text()
        );
    }

    #[test]
    fn every_bad_line_is_named_with_its_column() {
        let findings = read_text("1,0,0,1,A\n2,x,0,1,A\n3,0\n4,0,0,tall,A\n", &[]).unwrap_err();
        let whats: Vec<&str> = findings.iter().map(|f| f.what.as_str()).collect();
        assert_eq!(findings.len(), 3, "{whats:?}");
        assert!(
            findings[0].subject.contains("line 2") && whats[0].contains("northing"),
            "{findings:?}"
        );
    }
}
