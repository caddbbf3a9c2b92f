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
    let encoding = Encoding::for_bom(bytes).map_or(UTF_8, |(encoding, _)| encoding);
    let (text, used, wrong) = encoding.decode(bytes);
    if !wrong {
        return Ok(text);
    }
    if used == UTF_8 {
        notes.push("it is not UTF-8; letters beyond ASCII were read as Windows-1252".to_owned());
        return Ok(WINDOWS_1252.decode(bytes).0);
    }
    Err(vec![Finding::error(
        "wrong-encoding",
        subject,
        format!("says that it is {}, but is not", used.name()),
        "save it as UTF-8",
    )])
}
