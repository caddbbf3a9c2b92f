//! Rust source as words and signs: just enough to find paths and macro calls in code while
//! comments, texts and tests are passed over.

/// A word or a sign, and the line it stands on, counted from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    pub text: String,
    pub line: usize,
}

/// The code of a source: no comments, no literals, and nothing that is compiled for tests only.
pub fn code(source: &str) -> Vec<Token> {
    without_tests(
        &Scanner {
            rest: source,
            line: 1,
        }
        .tokens(),
    )
}

/// Every path that begins with `std`, groups spelled out, with its line.
pub fn paths(tokens: &[Token]) -> Vec<(usize, Vec<String>)> {
    let mut found = Vec::new();
    for (index, token) in tokens.iter().enumerate() {
        if token.text == "std" {
            let mut position = index;
            for path in use_tree(tokens, &mut position) {
                found.push((token.line, path));
            }
        }
    }
    found
}

/// The names of the macros that are called.
pub fn macros(tokens: &[Token]) -> Vec<&Token> {
    tokens
        .windows(2)
        .filter(|pair| pair[1].text == "!")
        .map(|pair| &pair[0])
        .collect()
}

/// The paths of a use tree that begins at `position`, which is moved behind it.
fn use_tree(tokens: &[Token], position: &mut usize) -> Vec<Vec<String>> {
    let mut prefix = Vec::new();
    loop {
        match tokens.get(*position).map(|token| token.text.as_str()) {
            Some("{") => {
                let group = use_group(tokens, position);
                return group
                    .into_iter()
                    .map(|path| joined(&prefix, path))
                    .collect();
            }
            // `self` in a group stands for the module itself.
            Some("self") => *position += 1,
            Some(word) if word == "*" || is_word(word) => {
                prefix.push(word.to_owned());
                *position += 1;
            }
            _ => return vec![prefix],
        }
        if tokens.get(*position).is_none_or(|token| token.text != "::") {
            return vec![prefix];
        }
        *position += 1;
    }
}

fn use_group(tokens: &[Token], position: &mut usize) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    *position += 1;
    while let Some(token) = tokens.get(*position) {
        match token.text.as_str() {
            "}" => {
                *position += 1;
                break;
            }
            "," => *position += 1,
            "as" => *position += 2,
            "::" => *position += 1,
            word if word == "*" || word == "{" || is_word(word) => {
                found.extend(use_tree(tokens, position));
            }
            // Not a use tree after all.
            _ => break,
        }
    }
    found
}

fn joined(prefix: &[String], path: Vec<String>) -> Vec<String> {
    prefix.iter().cloned().chain(path).collect()
}

/// Leaves out every item under `#[cfg(test)]`.
fn without_tests(tokens: &[Token]) -> Vec<Token> {
    const MARK: [&str; 7] = ["#", "[", "cfg", "(", "test", ")", "]"];
    let mut kept = Vec::new();
    let mut index = 0;
    while index < tokens.len() {
        let marked = MARK
            .iter()
            .enumerate()
            .all(|(offset, sign)| tokens.get(index + offset).is_some_and(|t| t.text == *sign));
        if marked {
            index = end_of_item(tokens, index + MARK.len());
        } else {
            kept.push(tokens[index].clone());
            index += 1;
        }
    }
    kept
}

/// The index behind the item that begins at `start`: it ends with its block or with a semicolon.
fn end_of_item(tokens: &[Token], start: usize) -> usize {
    let mut depth = 0_usize;
    for (index, token) in tokens.iter().enumerate().skip(start) {
        match token.text.as_str() {
            "{" => depth += 1,
            "}" => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return index + 1;
                }
            }
            ";" if depth == 0 => return index + 1,
            _ => {}
        }
    }
    tokens.len()
}

fn is_word(text: &str) -> bool {
    text.starts_with(|first: char| first.is_alphabetic() || first == '_')
}

/// Walks through a source.
struct Scanner<'a> {
    rest: &'a str,
    line: usize,
}

impl Scanner<'_> {
    fn tokens(mut self) -> Vec<Token> {
        let mut tokens = Vec::new();
        while let Some(first) = self.rest.chars().next() {
            let length = match first {
                _ if self.rest.starts_with("//") => self.rest.find('\n').unwrap_or(self.rest.len()),
                _ if self.rest.starts_with("/*") => block_comment(self.rest),
                '"' => text_literal(self.rest),
                '\'' => quoted(self.rest),
                _ if raw_literal(self.rest).is_some() => raw_literal(self.rest).unwrap_or(1),
                _ if first.is_whitespace() => first.len_utf8(),
                _ => {
                    let text = word_or_sign(self.rest);
                    tokens.push(Token {
                        text: text.to_owned(),
                        line: self.line,
                    });
                    text.len()
                }
            };
            self.pass(length);
        }
        tokens
    }

    fn pass(&mut self, length: usize) {
        let (passed, rest) = self.rest.split_at(length);
        self.line += passed.matches('\n').count();
        self.rest = rest;
    }
}

fn word_or_sign(text: &str) -> &str {
    let first = text.chars().next().map_or(0, char::len_utf8);
    let end = if text.starts_with("::") {
        2
    } else if is_word(text) || text.starts_with(|c: char| c.is_ascii_digit()) {
        text.find(|c: char| !c.is_alphanumeric() && c != '_')
            .unwrap_or(text.len())
    } else {
        first
    };
    &text[..end]
}

/// The length of a block comment; they nest.
fn block_comment(text: &str) -> usize {
    let mut depth = 0_usize;
    let mut index = 0;
    while index < text.len() {
        let rest = &text.as_bytes()[index..];
        if rest.starts_with(b"/*") {
            depth += 1;
            index += 2;
        } else if rest.starts_with(b"*/") {
            depth -= 1;
            index += 2;
            if depth == 0 {
                return index;
            }
        } else {
            index += 1;
        }
    }
    text.len()
}

fn text_literal(text: &str) -> usize {
    let mut escaped = false;
    for (index, byte) in text.bytes().enumerate().skip(1) {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => return index + 1,
            _ => {}
        }
    }
    text.len()
}

/// The length of a raw text such as `r#"…"#`, if one begins here.
fn raw_literal(text: &str) -> Option<usize> {
    let after = text.strip_prefix("br").or_else(|| text.strip_prefix('r'))?;
    let hashes = after.bytes().take_while(|byte| *byte == b'#').count();
    let inside = after[hashes..].strip_prefix('"')?;
    let close = format!("\"{}", "#".repeat(hashes));
    let end = inside
        .find(&close)
        .map_or(inside.len(), |end| end + close.len());
    Some(text.len() - inside.len() + end)
}

/// The length of a character literal, or of the `'` alone where it begins a lifetime.
fn quoted(text: &str) -> usize {
    let mut characters = text.char_indices().skip(1);
    match characters.next() {
        // The character after the backslash may itself be a quote.
        Some((_, '\\')) => {
            let close = text
                .char_indices()
                .skip(3)
                .find(|(_, character)| *character == '\'');
            close.map_or(text.len(), |(index, _)| index + 1)
        }
        Some(_) => match characters.next() {
            Some((index, '\'')) => index + 1,
            _ => 1,
        },
        None => 1,
    }
}
