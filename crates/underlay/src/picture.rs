//! Pictures: PNG and JPEG.

use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder, ImageReader, Limits, RgbaImage};
use job::Finding;
use std::io::Cursor;

use crate::{MOST_PIXELS, Sheet, refused};

/// Most bytes that a decoder may set aside for one picture.
const MOST_MEMORY: u64 = MOST_PIXELS * 4;

/// Reads a PNG or a JPEG.
pub(crate) fn read(bytes: &[u8]) -> Result<Sheet, Vec<Finding>> {
    let unread = |what: String| {
        let mend = "give a PNG, a JPEG or a PDF that opens in a viewer";
        vec![refused("picture-unread", what, mend)]
    };
    let opened = || {
        ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|error| unread(format!("cannot be read: {error}")))
    };
    let mut reader = opened()?;
    if reader.format().is_none() {
        return Err(unread("is no PNG, no JPEG and no PDF".to_owned()));
    }
    let (width, height) = opened()?
        .into_dimensions()
        .map_err(|error| unread(format!("cannot be read: {error}")))?;
    too_many(u64::from(width) * u64::from(height))?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let picture = reader
        .decode()
        .map_err(|error| unread(format!("cannot be read: {error}")))?;
    Ok(Sheet {
        pixels: picture.into_rgba8(),
        dots: 1.0,
    })
}

/// Refuses more pixels than are drawn.
pub(crate) fn too_many(pixels: u64) -> Result<(), Vec<Finding>> {
    if pixels <= MOST_PIXELS {
        return Ok(());
    }
    let what = format!(
        "has {} million pixels; {} million are the most",
        pixels / 1_000_000,
        MOST_PIXELS / 1_000_000
    );
    Err(vec![refused(
        "picture-too-large",
        what,
        "save it with fewer dots to the inch",
    )])
}

/// The bytes of a PNG.
pub(crate) fn png(pixels: &RgbaImage) -> Result<Vec<u8>, Vec<Finding>> {
    let mut bytes = Vec::new();
    let (width, height) = pixels.dimensions();
    PngEncoder::new(&mut bytes)
        .write_image(pixels.as_raw(), width, height, ExtendedColorType::Rgba8)
        .map_err(|error| {
            let mend = "please report this with the picture";
            vec![refused(
                "picture-unread",
                format!("cannot be written again: {error}"),
                mend,
            )]
        })?;
    Ok(bytes)
}
