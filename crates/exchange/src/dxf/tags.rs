//! Pairs of group code and value, one after the other.

use job::Finding;

use super::SUBJECT;

/// A group code, its value, and the line on which the code stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Tag<'a> {
    pub code: i16,
    pub value: &'a [u8],
    pub line: usize,
}

impl Tag<'_> {
    pub fn number(&self) -> Option<f64> {
        let text = std::str::from_utf8(self.value).ok()?;
        text.trim()
            .parse()
            .ok()
            .filter(|value: &f64| value.is_finite())
    }

    pub fn whole(&self) -> Option<i64> {
        let text = std::str::from_utf8(self.value).ok()?;
        text.trim().parse().ok()
    }

    pub fn is(&self, code: i16, value: &str) -> bool {
        self.code == code && self.value.eq_ignore_ascii_case(value.as_bytes())
    }
}

/// The tags of a file; comments are skipped.
#[derive(Debug)]
pub(crate) struct Tags<'a> {
    rest: &'a [u8],
    line: usize,
    back: Option<Tag<'a>>,
}

impl<'a> Tags<'a> {
    pub fn new(bytes: &'a [u8]) -> Self {
        Self {
            rest: bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes),
            line: 0,
            back: None,
        }
    }

    /// The next tag; nothing at the end of the bytes.
    pub fn next(&mut self) -> Result<Option<Tag<'a>>, Vec<Finding>> {
        if let Some(tag) = self.back.take() {
            return Ok(Some(tag));
        }
        loop {
            let line = self.line + 1;
            let Some(code) = self.take_line() else {
                return Ok(None);
            };
            let code = code.trim_ascii();
            if code.is_empty() && self.rest.trim_ascii().is_empty() {
                return Ok(None);
            }
            let number = std::str::from_utf8(code)
                .ok()
                .and_then(|text| text.parse::<i16>().ok());
            let Some(number) = number else {
                return Err(unread(code, line));
            };
            let Some(value) = self.take_line() else {
                return Err(cut_off(line));
            };
            if number != 999 {
                return Ok(Some(Tag {
                    code: number,
                    value: value.trim_ascii(),
                    line,
                }));
            }
        }
    }

    /// Lets the tag come again.
    pub fn give_back(&mut self, tag: Tag<'a>) {
        self.back = Some(tag);
    }

    fn take_line(&mut self) -> Option<&'a [u8]> {
        if self.rest.is_empty() {
            return None;
        }
        self.line += 1;
        let end = self
            .rest
            .iter()
            .position(|byte| matches!(byte, b'\n' | b'\r'));
        let Some(end) = end else {
            return Some(std::mem::take(&mut self.rest));
        };
        let line = &self.rest[..end];
        let both = self.rest[end..].starts_with(b"\r\n");
        self.rest = &self.rest[end + if both { 2 } else { 1 }..];
        Some(line)
    }

    pub fn line(&self) -> usize {
        self.line
    }
}

fn unread(code: &[u8], line: usize) -> Vec<Finding> {
    let text = crate::report::shown(&String::from_utf8_lossy(code));
    vec![Finding::error(
        "dxf-no-group-code",
        SUBJECT,
        format!("line {line} is \"{text}\" where a group code, a whole number, has to stand"),
        "export the drawing again as DXF in text form (ASCII); do not edit the file by hand",
    )]
}

/// A file that ends too early.
pub(crate) fn cut_off(line: usize) -> Vec<Finding> {
    vec![Finding::error(
        "dxf-cut-off",
        SUBJECT,
        format!("ends on line {line}, before its end mark: it was cut off"),
        "export or copy it again",
    )]
}
