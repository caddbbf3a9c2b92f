//! How the bars look, told apart by pattern as well as by colour.

use crate::style::INK;
use crate::svg::{Svg, number};
use plan::crew::TaskKind;

/// The patterns of the bars.
pub fn define(svg: &mut Svg) {
    svg.raw(
        "<defs>\
         <pattern id=\"waits\" patternUnits=\"userSpaceOnUse\" width=\"1.6\" height=\"1.6\">\
         <path d=\"M0.4 0.8h0.3\" stroke=\"#1a1a1a\" stroke-width=\"0.3\"/></pattern>\
         <pattern id=\"tests\" patternUnits=\"userSpaceOnUse\" width=\"1.4\" height=\"1.4\">\
         <rect width=\"1.4\" height=\"1.4\" fill=\"#fff4cf\"/>\
         <path d=\"M0.7 0v1.4\" stroke=\"#a07800\" stroke-width=\"0.14\"/></pattern>\
         <pattern id=\"fills\" patternUnits=\"userSpaceOnUse\" width=\"1.8\" height=\"1.8\">\
         <rect width=\"1.8\" height=\"1.8\" fill=\"#e2d2b8\"/>\
         <path d=\"M0.3 0.5h0.4M1.2 1.4h0.4\" stroke=\"#7a5c2c\" stroke-width=\"0.25\"/></pattern>\
         <pattern id=\"finds\" patternUnits=\"userSpaceOnUse\" width=\"1.8\" height=\"1.8\">\
         <rect width=\"1.8\" height=\"1.8\" fill=\"#ffffff\"/>\
         <path d=\"M0 1.8L1.8 0\" stroke=\"#555555\" stroke-width=\"0.16\"/></pattern>\
         </defs>",
    );
}

/// How the bars of a kind look: fill, edge, and the colour of words in them.
pub struct Look {
    fill: &'static str,
    dashes: &'static str,
    pub words: &'static str,
}

impl Look {
    pub fn attributes(&self) -> String {
        let dashes = match self.dashes {
            "" => String::new(),
            dashes => format!(" stroke-dasharray=\"{dashes}\""),
        };
        let width = number(0.2);
        format!(
            "fill=\"{}\" stroke=\"{INK}\" stroke-width=\"{width}\"{dashes}",
            self.fill
        )
    }
}

pub fn look(kind: TaskKind) -> Look {
    let (fill, dashes, words) = match kind {
        TaskKind::WhiteLine
        | TaskKind::Request
        | TaskKind::Locate
        | TaskKind::Mark
        | TaskKind::TestHole
        | TaskKind::Sleeve => ("url(#finds)", "", INK),
        TaskKind::Dig => ("#3a2a10", "", "#ffffff"),
        TaskKind::Lay | TaskKind::Wire | TaskKind::Set => ("#bcd4e6", "", INK),
        TaskKind::Cure | TaskKind::Hold => ("url(#waits)", "1 0.6", INK),
        TaskKind::Inspect | TaskKind::Flush | TaskKind::Test => ("url(#tests)", "", INK),
        TaskKind::Fill | TaskKind::Compact => ("url(#fills)", "", INK),
        TaskKind::Restore | TaskKind::CleanUp => ("#d5e6c4", "", INK),
    };
    Look {
        fill,
        dashes,
        words,
    }
}
