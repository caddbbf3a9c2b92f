//! The offer as a text.

use crate::{Block, Offer};

/// Columns of the text.
pub const WIDTH: usize = 78;

const INDENT: &str = "  ";

impl Offer {
    /// The offer as a text of [`WIDTH`] columns.
    pub fn text(&self) -> String {
        let mut out = wrapped(&self.title, "", "");
        out += &"=".repeat(self.title.chars().count().min(WIDTH));
        out.push('\n');
        for section in &self.sections {
            out += &format!("\n{}\n", section.heading);
            for block in &section.blocks {
                out += &self::block(block);
            }
        }
        out
    }
}

fn block(block: &Block) -> String {
    match block {
        Block::Words(words) => wrapped(words, INDENT, INDENT),
        Block::Points(points) => points
            .iter()
            .map(|point| wrapped(point, "  - ", "    "))
            .collect(),
        Block::Rows(rows) => rows.iter().map(|(name, what)| row(name, what)).collect(),
    }
}

/// A name on the left, what belongs to it on the right; on two lines if one is too short.
fn row(name: &str, what: &str) -> String {
    let taken = INDENT.len() * 2 + name.chars().count() + what.chars().count();
    let gap = |taken: usize| " ".repeat(WIDTH.saturating_sub(taken));
    if taken + 2 <= WIDTH {
        return format!("{INDENT}{INDENT}{name}{}{what}\n", gap(taken));
    }
    let below = what.chars().count();
    wrapped(name, "    ", "      ") + &format!("{}{what}\n", gap(below))
}

/// A paragraph of at most [`WIDTH`] columns; a longer word stands alone.
fn wrapped(text: &str, first: &str, others: &str) -> String {
    let mut out = String::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        let longer = line.chars().count() + usize::from(!empty) + word.chars().count();
        if !empty && longer > WIDTH {
            out += line.trim_end();
            out.push('\n');
            others.clone_into(&mut line);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line += word;
        empty = false;
    }
    out + line.trim_end() + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_keep_to_the_width() {
        let words = "word ".repeat(60);
        let text = block(&Block::Points(vec![words.clone()])) + &block(&Block::Words(words));
        assert!(text.lines().count() > 6);
        assert!(
            text.lines().all(|line| line.chars().count() <= WIDTH),
            "{text}"
        );
        assert!(text.starts_with("  - word") && text.contains("\n    word"));
    }

    #[test]
    fn amounts_stand_at_the_right_edge() {
        for name in ["Material".to_owned(), "long ".repeat(20)] {
            let text = row(&name, "1,234.56 USD");
            let last = text.lines().last().unwrap_or_default();
            assert_eq!(last.chars().count(), WIDTH, "{text}");
            assert!(last.ends_with("1,234.56 USD"));
        }
    }
}
