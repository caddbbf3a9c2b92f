//! Tables and paragraphs for a terminal.

/// Columns of a terminal that tables keep to.
pub const WIDTH: usize = 110;

/// How a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    Left,
    Right,
    /// The last column may be one of words that are broken into lines.
    Words,
}

/// A table with a head of two lines: what it is, and the unit.
pub struct Table {
    columns: Vec<(String, String, Align)>,
    entries: Vec<Entry>,
}

enum Entry {
    Row(Vec<String>),
    /// Words under the rows before it.
    Note(String),
}

impl Table {
    pub fn new() -> Self {
        Self {
            columns: Vec::new(),
            entries: Vec::new(),
        }
    }

    #[must_use]
    pub fn left(self, name: &str) -> Self {
        self.column(name, "", Align::Left)
    }

    #[must_use]
    pub fn right(self, name: &str, unit: &str) -> Self {
        self.column(name, unit, Align::Right)
    }

    #[must_use]
    pub fn words(self, name: &str) -> Self {
        self.column(name, "", Align::Words)
    }

    fn column(mut self, name: &str, unit: &str, align: Align) -> Self {
        self.columns.push((name.to_owned(), unit.to_owned(), align));
        self
    }

    /// Adds a row; it has a cell for every column.
    pub fn row(&mut self, cells: Vec<String>) {
        self.entries.push(Entry::Row(cells));
    }

    /// Adds words that hold for the rows before.
    pub fn note(&mut self, words: String) {
        self.entries.push(Entry::Note(words));
    }

    fn rows(&self) -> impl Iterator<Item = &Vec<String>> {
        self.entries.iter().filter_map(|entry| match entry {
            Entry::Row(cells) => Some(cells),
            Entry::Note(_) => None,
        })
    }

    /// The table as lines, each indented.
    pub fn text(&self, indent: &str) -> String {
        let widths = self.widths(indent.chars().count());
        let names: Vec<String> = self.columns.iter().map(|c| c.0.clone()).collect();
        let units: Vec<String> = self.columns.iter().map(|c| c.1.clone()).collect();
        let mut out = String::new();
        for head in [names, units] {
            if head.iter().any(|cell| !cell.is_empty()) {
                out += &self.lines(&head, &widths, indent);
            }
        }
        let (first, others) = (format!("{indent}  "), format!("{indent}       "));
        for entry in &self.entries {
            out += &match entry {
                Entry::Row(row) => self.lines(row, &widths, indent),
                Entry::Note(words) => wrapped(words, &first, &others),
            };
        }
        out
    }

    fn widths(&self, indent: usize) -> Vec<usize> {
        let mut widths: Vec<usize> = (0..self.columns.len())
            .map(|i| {
                let head = self.columns[i].0.chars().count();
                let unit = self.columns[i].1.chars().count();
                let cells = self.rows().map(|row| row[i].chars().count());
                cells.max().unwrap_or(0).max(head).max(unit)
            })
            .collect();
        if let Some(last) = widths.pop() {
            let taken = indent + widths.iter().map(|w| w + GAP).sum::<usize>();
            let free = WIDTH.saturating_sub(taken).max(24);
            let words = self.columns.last().is_some_and(|c| c.2 == Align::Words);
            widths.push(if words { last.min(free) } else { last });
        }
        widths
    }

    fn lines(&self, row: &[String], widths: &[usize], indent: &str) -> String {
        let cells: Vec<Vec<String>> = row
            .iter()
            .zip(widths)
            .zip(&self.columns)
            .map(|((cell, &width), column)| match column.2 {
                Align::Words => broken(cell, width),
                _ => vec![cell.clone()],
            })
            .collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(0);
        let mut out = String::new();
        for i in 0..height {
            let mut line = indent.to_owned();
            for ((cell, &width), column) in cells.iter().zip(widths).zip(&self.columns) {
                let text = cell.get(i).map_or("", String::as_str);
                match column.2 {
                    Align::Right => line += &format!("{text:>width$}"),
                    _ => line += &format!("{text:<width$}"),
                }
                line += &" ".repeat(GAP);
            }
            out += line.trim_end();
            out.push('\n');
        }
        out
    }
}

const GAP: usize = 2;

/// Breaks a text at blanks into lines of at most so many characters; a longer word stands alone.
pub fn broken(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    if lines.is_empty() {
        lines.push(String::new());
    }
    lines
}

/// A paragraph: the first line after one indent, the others after another.
pub fn wrapped(text: &str, first: &str, others: &str) -> String {
    let indent = first.chars().count().max(others.chars().count());
    let mut out = String::new();
    for (i, line) in broken(text, WIDTH - indent).iter().enumerate() {
        out += if i == 0 { first } else { others };
        out += line;
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_aligned_and_words_are_broken() {
        let mut table = Table::new().left("id").right("length", "ft").words("why");
        table.row(vec!["S1".into(), "12.5".into(), "short".into()]);
        table.row(vec!["S100".into(), "1,000.0".into(), "word ".repeat(40)]);
        let text = table.text("  ");
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "  id     length  why");
        assert_eq!(lines[1], "             ft");
        assert_eq!(lines[2], "  S1       12.5  short");
        assert!(lines.len() > 4);
        assert!(lines.iter().all(|line| line.chars().count() <= WIDTH));
        assert!(lines[4].starts_with("                 word"), "{text}");
    }
}
