//! What a parsed document no longer tells of its text: on which line a feature begins, and which
//! member stands twice in its object.

use std::collections::BTreeSet;

/// What the text of a document tells.
#[derive(Debug, Default)]
pub(crate) struct Scanned<'a> {
    /// The line, counted from 1, of each element of the top-level member `features`.
    pub feature_lines: Vec<usize>,
    /// Line and name of each member whose object has one of that name already.
    pub doubles: Vec<(usize, &'a str)>,
}

/// Looks through a text that was parsed as JSON already; of any other text the answer says nothing.
pub(crate) fn scan(text: &str) -> Scanned<'_> {
    let mut scan = Scan {
        text,
        line: 1,
        found: Scanned::default(),
        open: Vec::new(),
        string: None,
        escaped: false,
        features: false,
        element_next: false,
    };
    for (at, byte) in text.bytes().enumerate() {
        scan.line += usize::from(byte == b'\n');
        scan.step(at, byte);
    }
    scan.found
}

struct Scan<'a> {
    text: &'a str,
    line: usize,
    found: Scanned<'a>,
    /// The objects and arrays in which the scan stands, outermost first.
    open: Vec<Inside<'a>>,
    /// Where the string begins in which the scan stands.
    string: Option<usize>,
    escaped: bool,
    /// Whether the scan stands in the value of the top-level member `features`.
    features: bool,
    /// Whether the next byte that is not blank begins an element of the features.
    element_next: bool,
}

enum Inside<'a> {
    Array,
    Object {
        names: BTreeSet<&'a str>,
        name_next: bool,
    },
}

impl<'a> Scan<'a> {
    fn step(&mut self, at: usize, byte: u8) {
        if let Some(start) = self.string {
            self.in_string(start, at, byte);
            return;
        }
        if self.element_next && !byte.is_ascii_whitespace() {
            self.element_next = false;
            if byte != b']' {
                self.found.feature_lines.push(self.line);
            }
        }
        match byte {
            b'"' => self.string = Some(at + 1),
            b'[' => self.array(),
            b'{' => self.open.push(Inside::Object {
                names: BTreeSet::new(),
                name_next: true,
            }),
            b'}' | b']' => drop(self.open.pop()),
            b',' => self.comma(),
            _ => {}
        }
    }

    fn array(&mut self) {
        self.open.push(Inside::Array);
        if self.features && self.open.len() == 2 {
            self.found.feature_lines.clear();
            self.element_next = true;
        }
    }

    fn comma(&mut self) {
        self.element_next = self.features && self.open.len() == 2;
        if let Some(Inside::Object { name_next, .. }) = self.open.last_mut() {
            *name_next = true;
        }
    }

    fn in_string(&mut self, start: usize, at: usize, byte: u8) {
        match byte {
            _ if self.escaped => self.escaped = false,
            b'\\' => self.escaped = true,
            b'"' => {
                self.string = None;
                self.name(self.text.get(start..at).unwrap_or_default());
            }
            _ => {}
        }
    }

    /// A string has ended: where a name has to stand, it is one.
    fn name(&mut self, name: &'a str) {
        let outermost = self.open.len() == 1;
        let Some(Inside::Object { names, name_next }) = self.open.last_mut() else {
            return;
        };
        if std::mem::take(name_next) {
            if outermost {
                self.features = name == "features";
            }
            if !names.insert(name) {
                self.found.doubles.push((self.line, name));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::scan;

    #[test]
    fn elements_of_features_are_found_and_nothing_else() {
        let text = "{ \"a\": [1,\n2], \"features\":\n[ {\"x\": [1, 2]},\n\n {\"y\": \"],}\\\"\"}\n, 3 ],\n\"b\": [4, 5] }";
        assert_eq!(scan(text).feature_lines, [3, 5, 6]);
        assert_eq!(scan("{\"features\": [ ]}").feature_lines, [0; 0]);
        assert_eq!(
            scan("{\"a\": \"features\", \"b\": [1]}").feature_lines,
            [0; 0]
        );
    }

    #[test]
    fn a_name_that_stands_twice_in_an_object_is_found() {
        let text = "{ \"a\": \"a\",\n \"b\": { \"a\": [\"a\", \"a\"] },\n \"a\": 2 }";
        assert_eq!(scan(text).doubles, [(3, "a")]);
    }
}
