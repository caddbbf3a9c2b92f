//! Pages of a PDF, drawn.

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::hayro_syntax::object::Object;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings, render};
use image::RgbaImage;
use job::Finding;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc;
use std::time::Duration;

use crate::{Sheet, picture, refused};

/// Dots to the inch at which a page is drawn, as long as it does not become too large.
const DOTS_PER_INCH: f64 = 150.0;
const POINTS_PER_INCH: f64 = 72.0;
/// Most pixels along the longer side of a page that is drawn.
const LONGEST_SIDE: f64 = 8_000.0;
/// How long a page may take to be drawn.
const PATIENCE: Duration = Duration::from_secs(4);

/// The name of the thread on which a page is drawn. The library that draws may panic on a damaged file; that is
/// caught, and becomes an error, so that a program may keep quiet about a panic on this thread.
pub const PAGE_THREAD: &str = "page of a PDF";

/// Whether bytes are a PDF; some have a line or two before it begins.
pub(crate) fn is_pdf(bytes: &[u8]) -> bool {
    let start = &bytes[..bytes.len().min(1024)];
    start.windows(5).any(|five| five == b"%PDF-")
}

/// Draws a page, the first being 1.
pub(crate) fn read(bytes: &[u8], page: usize) -> Result<Sheet, Vec<Finding>> {
    let (send, receive) = mpsc::channel();
    let bytes = bytes.to_vec();
    // A page that never ends cannot be stopped, only left behind: so it is drawn on a thread of its own.
    let thread = std::thread::Builder::new().name(PAGE_THREAD.to_owned());
    let begun = thread.spawn(move || {
        let drawn = catch_unwind(AssertUnwindSafe(|| drawn(bytes, page)));
        let drawn = drawn.unwrap_or_else(|_| Err(unread("has a page that cannot be drawn")));
        // Nobody may be waiting any more.
        let _ = send.send(drawn);
    });
    begun.map_err(|error| unread(&format!("cannot be drawn: {error}")))?;
    receive.recv_timeout(PATIENCE).unwrap_or_else(|_| {
        let what = format!("takes more than {} s to draw", PATIENCE.as_secs());
        Err(unread(&what))
    })
}

fn drawn(bytes: Vec<u8>, page: usize) -> Result<Sheet, Vec<Finding>> {
    let pdf = Pdf::new(bytes)
        .map_err(|error| unread(&format!("is a PDF that cannot be read: {error:?}")))?;
    bombs(&pdf)?;
    let pages = pdf.pages();
    let count = pages.len();
    let Some(page) = page.checked_sub(1).and_then(|n| pages.get(n)) else {
        let what = format!("has {count} pages, and no page {page}");
        return Err(vec![refused(
            "no-such-page",
            what,
            "give the number of a page, the first being 1",
        )]);
    };
    let (width, height) = page.render_dimensions();
    let longer = f64::from(width.max(height));
    let sizes = 1.0..1e6;
    if !sizes.contains(&longer) || !sizes.contains(&f64::from(width.min(height))) {
        return Err(unread(&format!("has a page of {width} by {height} points")));
    }
    let dots = (DOTS_PER_INCH / POINTS_PER_INCH).min(LONGEST_SIDE / longer);
    let size = PixmapSettings {
        x_scale: dots as f32,
        y_scale: dots as f32,
        bg_color: WHITE,
    };
    let (cache, settings) = (RenderCache::new(), RenderSettings::default());
    let mut pixmap = render(
        page,
        &cache,
        &InterpreterSettings::default(),
        &settings,
        &size,
    );
    let (width, height) = (u32::from(pixmap.width()), u32::from(pixmap.height()));
    // On white nothing is left to see through, so that colours are as they are.
    let bytes = pixmap.data_mut().iter().flat_map(|p| [p.r, p.g, p.b, p.a]);
    let pixels = RgbaImage::from_raw(width, height, bytes.collect());
    let pixels = pixels.ok_or_else(|| unread("has a page that cannot be drawn"))?;
    Ok(Sheet { pixels, dots })
}

/// Refuses pictures in the file that would take more memory than is set aside.
fn bombs(pdf: &Pdf) -> Result<(), Vec<Finding>> {
    for object in pdf.objects() {
        if let Object::Stream(stream) = object {
            let side = |name: &str| {
                stream
                    .dict()
                    .get::<i64>(name)
                    .unwrap_or(0)
                    .clamp(0, 1 << 31) as u64
            };
            picture::too_many(side("Width") * side("Height"))?;
        }
    }
    Ok(())
}

fn unread(what: &str) -> Vec<Finding> {
    let mend = "open it in a viewer and save the page as a picture";
    vec![refused("picture-unread", what, mend)]
}
