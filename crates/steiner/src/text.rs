//! Reading problems from text.
//!
//! Two line-based forms, told apart by their lines; nodes are numbered from 1 in the text and from
//! 0 in the problem:
//!
//! - one group: `Nodes n`, `Edges m`, lines `E u v w`, `Terminals k`, lines `T v` (the format of
//!   the PACE 2018 challenge, <https://pacechallenge.org/2018/steiner-tree/>). The weight becomes
//!   the shared cost, the length is 0; the first terminal is the root.
//! - several groups: lines `E u v shared length`, and lines `G root rate t1 t2 ...`. Lengths are
//!   given in hundredths: `250` is a length of 2.5.
//!
//! Lines that start with any other word are passed over. So are whole sections, from a line
//! `SECTION` to a line `END`, unless they are called `Graph` or `Terminals`: comments, coordinates
//! and tree decompositions as the challenge's and SteinLib's files have them
//! (T. Koch, A. Martin and S. Voss, "SteinLib: an updated library on Steiner tree problems in
//! graphs", 2001). Capitals do not matter.

use crate::problem::{Edge, Group, Problem, ProblemError};
use std::fmt;

/// Why a text was refused.
#[derive(Clone, Debug, PartialEq)]
pub enum TextError {
    /// A line could not be understood.
    Line {
        /// Line number, from 1.
        line: usize,
        /// What was expected there.
        expected: &'static str,
    },
    /// The text names no nodes, no terminals and no groups.
    Empty {
        /// The missing part.
        what: &'static str,
    },
    /// Every line is fine, but the whole is no problem.
    Problem(ProblemError),
}

impl fmt::Display for TextError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TextError::Line { line, expected } => {
                write!(f, "line {line}: write `{expected}`")
            }
            TextError::Empty { what } => write!(f, "no line `{what}`: add one"),
            TextError::Problem(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for TextError {}

#[derive(Default)]
struct Draft {
    nodes: Option<usize>,
    edges: Vec<Edge>,
    terminals: Vec<u32>,
    groups: Vec<Group>,
    /// Inside a section that is of no interest.
    aside: bool,
}

/// Reads either form.
///
/// # Errors
///
/// The first line that cannot be understood, or what [`Problem::new`] refuses.
///
/// ```
/// let problem = steiner::text::read("Nodes 2\nE 1 2 7\nT 1\nT 2\n")?;
/// assert_eq!(problem.edges()[0].shared, 7.0);
/// # Ok::<(), steiner::text::TextError>(())
/// ```
pub fn read(text: &str) -> Result<Problem, TextError> {
    let mut draft = Draft::default();
    for (at, line) in text.lines().enumerate() {
        read_line(line, &mut draft).map_err(|expected| TextError::Line {
            line: at + 1,
            expected,
        })?;
    }
    let nodes = draft.nodes.ok_or(TextError::Empty { what: "Nodes n" })?;
    if !draft.terminals.is_empty() {
        draft.groups.push(Group {
            terminals: draft.terminals,
            rate: 0.0,
        });
    }
    if draft.groups.is_empty() {
        return Err(TextError::Empty {
            what: "T v` or `G root rate t1 t2 ...",
        });
    }
    Problem::new(nodes, draft.edges, draft.groups).map_err(TextError::Problem)
}

fn read_line(line: &str, draft: &mut Draft) -> Result<(), &'static str> {
    let mut words = line.split_whitespace();
    let first = words.next().unwrap_or_default().to_ascii_lowercase();
    let rest: Vec<&str> = words.collect();
    match first.as_str() {
        "section" => {
            let name = rest.first().copied().unwrap_or_default();
            let known = ["graph", "terminals"].map(|known| name.eq_ignore_ascii_case(known));
            draft.aside = !known.contains(&true);
        }
        "end" => draft.aside = false,
        _ if draft.aside => {}
        "nodes" => draft.nodes = Some(number(rest.first(), "Nodes n")?),
        "e" => draft.edges.push(edge(&rest)?),
        "t" => draft.terminals.push(node(rest.first(), "T v")?),
        "g" => draft.groups.push(group(&rest)?),
        _ => {}
    }
    Ok(())
}

fn edge(words: &[&str]) -> Result<Edge, &'static str> {
    const FORM: &str = "E u v cost [length]";
    let length = match words.get(3) {
        Some(word) => number::<f64>(Some(word), FORM)? / 100.0,
        None => 0.0,
    };
    Ok(Edge {
        a: node(words.first(), FORM)?,
        b: node(words.get(1), FORM)?,
        shared: number(words.get(2), FORM)?,
        length,
    })
}

fn group(words: &[&str]) -> Result<Group, &'static str> {
    const FORM: &str = "G root rate t1 t2 ...";
    let mut terminals = vec![node(words.first(), FORM)?];
    for word in words.iter().skip(2) {
        terminals.push(node(Some(word), FORM)?);
    }
    Ok(Group {
        terminals,
        rate: number(words.get(1), FORM)?,
    })
}

fn node(word: Option<&&str>, form: &'static str) -> Result<u32, &'static str> {
    number::<u32>(word, form)?
        .checked_sub(1)
        .ok_or("nodes numbered from 1")
}

fn number<T: std::str::FromStr>(
    word: Option<&&str>,
    form: &'static str,
) -> Result<T, &'static str> {
    word.and_then(|word| word.parse().ok()).ok_or(form)
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn comments_decompositions_and_small_letters_are_read_past() {
        let text = "33D32945 STP File, STP Format Version 1.0\nSECTION Comment\n\
                    Name \"small\"\nE is no edge here\nEND\n\nsection graph\nnodes 3\nedges 2\n\
                    e 1 2 4\nE 2 3 5\nend\nSECTION Terminals\nTerminals 2\nT 1\nt 3\nEND\n\
                    SECTION Tree Decomposition\nc made up\ns td 1 3 3\nb 1 1 2 3\nEND\nEOF\n";
        let problem = read(text).expect("all lines are in order");
        assert_eq!(problem.nodes(), 3);
        assert_eq!(problem.edges().len(), 2);
        assert_eq!(problem.groups()[0].terminals, [0, 2]);
    }
}
