//! A picture or a page of a plan, brought to scale and laid under the job.
//!
//! Takes the bytes of a PNG, a JPEG or a PDF and points of it whose places are known, and gives a picture whose
//! sides lie along the axes of the job's plane with what it covers: pages do not turn pictures, so it is turned
//! here. Places are in any one unit of length. Does no I/O.
//!
//! What is in the bytes is not trusted: a picture is refused before it takes more memory than is set aside for
//! it, and a page that cannot be drawn is an error.

mod fit;
mod page;
mod picture;
mod turn;

use image::RgbaImage;
use job::Finding;

pub use fit::Known;
pub use page::PAGE_THREAD;

/// Most pixels of a picture: a sheet of A0 at 200 dots to the inch has half of it.
const MOST_PIXELS: u64 = 120_000_000;
/// Most pixels along the longer side of what is laid under the job.
const LONGEST_SIDE: u32 = 8_000;
/// Most bytes of a file.
const MOST_BYTES: usize = 128 << 20;

/// How a picture is to be read.
#[derive(Debug, Clone)]
pub struct Options {
    /// Page of a PDF, the first being 1.
    pub page: usize,
    /// Points of the picture whose places are known; at least two.
    pub known: Vec<Known>,
}

/// A picture in the plane of the job, its sides along the axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Underlay {
    /// A PNG.
    pub png: Vec<u8>,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Least x and y, greatest x and y.
    pub bounds: [f64; 4],
    /// The length of a pixel of what was read; of a PDF, of a point (1/72 inch).
    pub scale: f64,
    /// Degrees by which it was turned, anticlockwise.
    pub turned: f64,
    /// How far the known points lie from their places; nought with two of them.
    pub worst: f64,
    /// What its reader should know.
    pub notes: Vec<String>,
}

/// The name of a picture after the file that it is from: letters a to z, digits and `_`.
pub fn plain_name(file: &str) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let plain: String = stem
        .to_lowercase()
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
        .take(40)
        .collect();
    match plain.is_empty() {
        true => "picture".to_owned(),
        false => plain,
    }
}

/// Reads a picture and brings it to scale.
///
/// # Errors
/// If the bytes are no picture that can be read, the page is not there, it is too large, or the known points
/// give no scale.
pub fn read(bytes: &[u8], options: &Options) -> Result<Underlay, Vec<Finding>> {
    if bytes.len() > MOST_BYTES {
        let what = format!(
            "is {} MiB large; {} are the most",
            bytes.len() >> 20,
            MOST_BYTES >> 20
        );
        return Err(vec![refused(
            "picture-too-large",
            what,
            "save it with fewer dots to the inch",
        )]);
    }
    let fit = fit::Similarity::of(&options.known)?;
    let mut notes = Vec::new();
    let sheet = match page::is_pdf(bytes) {
        true => page::read(bytes, options.page)?,
        false => picture::read(bytes)?,
    };
    if is_blank(&sheet.pixels) {
        notes.push("it is blank: the file may be cut short, or the page be another one".to_owned());
    }
    let fit = fit.of_dots(sheet.dots);
    let turned = turn::upright(&sheet.pixels, &fit, LONGEST_SIDE);
    if turned.coarser > 1.0 {
        notes.push(format!(
            "it was drawn {:.1} times coarser, to stay within {LONGEST_SIDE} pixels",
            turned.coarser
        ));
    }
    let (width, height) = turned.pixels.dimensions();
    Ok(Underlay {
        png: picture::png(&turned.pixels)?,
        width,
        height,
        bounds: turned.bounds,
        scale: fit.scale() * sheet.dots,
        turned: fit.angle().to_degrees(),
        worst: fit.worst,
        notes,
    })
}

/// A picture as it was read.
struct Sheet {
    pixels: RgbaImage,
    /// Pixels in one unit in which known points are given.
    dots: f64,
}

fn is_blank(pixels: &RgbaImage) -> bool {
    let mut all = pixels.pixels();
    let first = all.next();
    first.is_none_or(|first| all.all(|pixel| pixel == first))
}

fn refused(rule: &str, what: impl Into<String>, mend: &str) -> Finding {
    Finding::error(rule, "the picture", what, mend)
}
