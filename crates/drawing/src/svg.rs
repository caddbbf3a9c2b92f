//! Writing SVG text: fixed decimals, escaped text.
//!
//! Attributes come from this crate alone; words of the job reach the file only through
//! [`Svg::text`], which escapes them.

use std::fmt::Write as _;

/// A point on the sheet, millimetres from the upper left corner; y down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    pub x: f64,
    pub y: f64,
}

impl Point {
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// The point at a distance in a direction, radians clockwise from the sheet's right.
    pub fn off(self, angle: f64, distance: f64) -> Self {
        Self::new(
            self.x + angle.cos() * distance,
            self.y + angle.sin() * distance,
        )
    }

    /// The point a fraction `t` of the way to another.
    pub fn toward(self, other: Self, t: f64) -> Self {
        Self::new(
            self.x + (other.x - self.x) * t,
            self.y + (other.y - self.y) * t,
        )
    }
}

/// Where a text hangs from its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
}

/// A line of text on the sheet.
#[derive(Debug, Clone, Copy)]
pub struct Text<'a> {
    pub at: Point,
    /// Degrees clockwise.
    pub turn: f64,
    /// Font size; capitals are about 0.72 of it high.
    pub size: f64,
    pub anchor: Anchor,
    pub attributes: &'a str,
    pub words: &'a str,
}

/// An SVG file that grows.
pub struct Svg {
    out: String,
}

impl Svg {
    /// An empty sheet, millimetres.
    pub fn new(width: f64, height: f64) -> Self {
        let (w, h) = (number(width), number(height));
        let out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
             viewBox=\"0 0 {w} {h}\" font-family=\"Noto Sans, sans-serif\" fill=\"none\" \
             stroke-linejoin=\"round\">\n<rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n"
        );
        Self { out }
    }

    pub fn finish(mut self) -> String {
        self.out.push_str("</svg>\n");
        self.out
    }

    /// Text of this crate's own, written as it is.
    pub fn raw(&mut self, text: &str) {
        self.out.push_str(text);
        self.out.push('\n');
    }

    pub fn open_group(&mut self, attributes: &str) {
        self.put(format_args!("<g {attributes}>"));
    }

    pub fn close_group(&mut self) {
        self.raw("</g>");
    }

    pub fn path(&mut self, data: &str, attributes: &str) {
        if !data.is_empty() {
            self.put(format_args!("<path d=\"{data}\" {attributes}/>"));
        }
    }

    pub fn line(&mut self, from: Point, to: Point, attributes: &str) {
        self.path(&open_path(&[from, to]), attributes);
    }

    pub fn circle(&mut self, at: Point, radius: f64, attributes: &str) {
        let (x, y, r) = (number(at.x), number(at.y), number(radius));
        self.put(format_args!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {attributes}/>"
        ));
    }

    /// A rectangle from its upper left corner.
    pub fn rect(&mut self, corner: Point, width: f64, height: f64, attributes: &str) {
        let (x, y) = (number(corner.x), number(corner.y));
        let (w, h) = (number(width), number(height));
        self.put(format_args!(
            "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" {attributes}/>"
        ));
    }

    pub fn text(&mut self, text: &Text) {
        let (x, y) = (number(text.at.x), number(text.at.y));
        let turn = if text.turn.abs() < 0.05 {
            String::new()
        } else {
            format!(" transform=\"rotate({} {x} {y})\"", number(text.turn))
        };
        let anchor = match text.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
        };
        let (size, attributes) = (number(text.size), text.attributes);
        let words = escape(text.words);
        self.put(format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{anchor}{turn} {attributes}>{words}</text>"
        ));
    }

    fn put(&mut self, text: std::fmt::Arguments) {
        writeln!(self.out, "{text}").expect("writing to a string does not fail");
    }
}

/// A number with two decimals at most; a hundredth of a millimetre is finer than any printer.
pub fn number(value: f64) -> String {
    let fixed = format!("{value:.2}");
    let short = fixed.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0" } else { short }.to_owned()
}

/// Path data of a line through points.
pub fn open_path(points: &[Point]) -> String {
    let mut data = String::new();
    for (i, point) in points.iter().enumerate() {
        let letter = if i == 0 { 'M' } else { 'L' };
        write!(data, "{letter}{} {}", number(point.x), number(point.y))
            .expect("writing to a string does not fail");
    }
    data
}

/// Path data of a closed outline.
pub fn closed_path(points: &[Point]) -> String {
    if points.is_empty() {
        return String::new();
    }
    open_path(points) + "Z"
}

/// Text as XML takes it; characters that XML 1.0 does not allow become the replacement character.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\u{0}'..='\u{8}'
            | '\u{b}'
            | '\u{c}'
            | '\u{e}'..='\u{1f}'
            | '\u{fffe}'
            | '\u{ffff}' => {
                out.push('\u{fffd}');
            }
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_the_job_cannot_break_the_file() {
        assert_eq!(escape("a<b>&\"\u{1}"), "a&lt;b&gt;&amp;&quot;\u{fffd}");
    }

    #[test]
    fn numbers_are_short_and_never_minus_nought() {
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(12.5), "12.5");
        assert_eq!(number(100.0), "100");
    }
}
