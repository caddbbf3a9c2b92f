//! Bytes to text.

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};
use job::Finding;
use std::borrow::Cow;

/// A text in UTF-8, or in UTF-16 with a mark at its start; anything else is read as Windows-1252 with a note.
pub(crate) fn text<'a>(
    bytes: &'a [u8],
    subject: &str,
    notes: &mut Vec<String>,
) -> Result<Cow<'a, str>, Vec<Finding>> {
    if bytes.contains(&0) && Encoding::for_bom(bytes).is_none() {
        return Err(vec![Finding::error(
            "not-a-text",
            subject,
            "is no text: it has bytes that no text has",
            "make sure that it is the right file, and export it as a text again",
        )]);
    }
    let wrong = |what: String| {
        vec![Finding::error(
            "wrong-encoding",
            subject,
            what,
            "save it as UTF-8",
        )]
    };
    let (encoding, mark) = Encoding::for_bom(bytes).unwrap_or((UTF_8, 0));
    let body = &bytes[mark..];
    if let Some(text) = encoding.decode_without_bom_handling_and_without_replacement(body) {
        return Ok(text);
    }
    if encoding != UTF_8 {
        return Err(wrong(format!(
            "says that it is {}, but is not",
            encoding.name()
        )));
    }
    if body.len() > LARGEST_ANCIENT {
        let most = LARGEST_ANCIENT >> 20;
        return Err(wrong(format!(
            "is not UTF-8, and over the {most} MiB to which others are read"
        )));
    }
    notes.push("it is not UTF-8; letters beyond ASCII were read as Windows-1252".to_owned());
    Ok(WINDOWS_1252.decode_without_bom_handling(body).0)
}

/// Largest text that is read in another encoding than UTF-8, bytes: it grows when decoded.
const LARGEST_ANCIENT: usize = 64 << 20;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_read_in_the_encodings_that_there_are() {
        let read = |bytes: &[u8]| {
            let mut notes = Vec::new();
            text(bytes, "file", &mut notes).map(|text| (text.into_owned(), notes.len()))
        };
        assert_eq!(read("Süd".as_bytes()), Ok(("Süd".to_owned(), 0)));
        assert_eq!(read(b"\xef\xbb\xbfab"), Ok(("ab".to_owned(), 0)));
        assert_eq!(read(b"S\xfcd"), Ok(("Süd".to_owned(), 1)));
        assert_eq!(read(b"\xff\xfea\0b\0"), Ok(("ab".to_owned(), 0)));
        assert_eq!(
            read(b"\xff\xfea\0\x00\xd8b\0").unwrap_err()[0].rule,
            "wrong-encoding"
        );
        assert_eq!(read(b"a\0b").unwrap_err()[0].rule, "not-a-text");
    }
}
