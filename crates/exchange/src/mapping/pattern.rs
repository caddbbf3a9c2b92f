//! Names with `*` for any letters.

/// A name in lower case in which `*` stands for any letters, or for none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Pattern(Vec<char>);

impl Pattern {
    pub fn of(text: &str) -> Self {
        let mut letters: Vec<char> = text.trim().to_lowercase().chars().collect();
        letters.dedup_by(|a, b| *a == '*' && *b == '*');
        Self(letters)
    }

    /// Whether a name in lower case is meant.
    pub fn matches(&self, name: &str) -> bool {
        let name: Vec<char> = name.chars().collect();
        let (mut p, mut n) = (0, 0);
        // Where the last star stood, and up to where of the name it reaches.
        let mut star: Option<(usize, usize)> = None;
        while n < name.len() {
            if self.0.get(p) == Some(&'*') {
                star = Some((p, n));
                p += 1;
            } else if self.0.get(p) == name.get(n) {
                p += 1;
                n += 1;
            } else if let Some((at, reach)) = star {
                star = Some((at, reach + 1));
                p = at + 1;
                n = reach + 1;
            } else {
                return false;
            }
        }
        self.0[p..].iter().all(|c| *c == '*')
    }

    /// Which of two that match counts: one without a star, then the one with more letters.
    pub fn weight(&self) -> (bool, usize) {
        (!self.0.contains(&'*'), self.0.len())
    }
}

#[cfg(test)]
mod tests {
    use super::Pattern;

    #[test]
    fn a_star_stands_for_any_letters() {
        let matches = |pattern: &str, name: &str| Pattern::of(pattern).matches(name);
        assert!(matches("V-*", "v-bldg") && matches("*bldg*", "v-bldg") && matches("**", ""));
        assert!(matches("a*b*c", "axxbyyc") && !matches("a*b*c", "axxbyy"));
        assert!(!matches("V", "v-bldg") && matches("V-BLDG", "v-bldg"));
    }
}
