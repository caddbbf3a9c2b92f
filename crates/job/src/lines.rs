//! On which line of the text each feature begins.

/// The line, counted from 1, of each element of the top-level member `features`.
///
/// The text has to be JSON that was parsed already; of any other text the lines say nothing.
pub(crate) fn feature_lines(text: &str) -> Vec<usize> {
    let mut scan = Scan::default();
    let mut line = 1;
    for (at, byte) in text.bytes().enumerate() {
        line += usize::from(byte == b'\n');
        scan.step(text, at, byte, line);
    }
    scan.lines
}

#[derive(Default)]
struct Scan {
    lines: Vec<usize>,
    depth: usize,
    /// Where the string begins in which the scan stands.
    string: Option<usize>,
    escaped: bool,
    /// Whether the last string at depth 1 was `features`.
    features: bool,
    /// Whether the next byte that is not blank begins an element.
    element_next: bool,
}

impl Scan {
    fn step(&mut self, text: &str, at: usize, byte: u8, line: usize) {
        if let Some(start) = self.string {
            self.in_string(&text.as_bytes()[start..at], byte);
            return;
        }
        if self.element_next && !byte.is_ascii_whitespace() {
            self.element_next = false;
            if byte != b']' {
                self.lines.push(line);
            }
        }
        match byte {
            b'"' => self.string = Some(at + 1),
            b'{' | b'[' => self.open(byte),
            b'}' | b']' => self.depth = self.depth.saturating_sub(1),
            b',' if self.depth == 1 => self.features = false,
            b',' if self.depth == 2 && self.features => self.element_next = true,
            _ => {}
        }
    }

    fn open(&mut self, byte: u8) {
        self.depth += 1;
        if self.depth == 2 && self.features {
            self.lines.clear();
            self.element_next = byte == b'[';
        }
    }

    fn in_string(&mut self, so_far: &[u8], byte: u8) {
        if self.escaped {
            self.escaped = false;
        } else if byte == b'\\' {
            self.escaped = true;
        } else if byte == b'"' {
            self.string = None;
            if self.depth == 1 {
                self.features = so_far == b"features";
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::feature_lines;

    #[test]
    fn elements_of_features_are_found_and_nothing_else() {
        let text = "{ \"a\": [1,\n2], \"features\":\n[ {\"x\": [1, 2]},\n\n {\"y\": \"],}\\\"\"}\n, 3 ],\n\"b\": [4] }";
        assert_eq!(feature_lines(text), [3, 5, 6]);
        assert_eq!(feature_lines("{\"features\": [ ]}"), [0; 0]);
    }
}
