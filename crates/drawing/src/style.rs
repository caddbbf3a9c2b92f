//! Line styles, fills and patterns. Colour never carries a meaning alone: every fill has its own
//! pattern and every line its own weight or dashes, so that a grey print still reads.

use crate::sheet::Layout;
use crate::svg::{Svg, number};
use job::prices::{Method, MethodKind};
use job::{Job, MethodId, ObstacleKind, ServiceClass, SurfaceKind};

/// Font size of labels that everyone reads; its capitals are 2.2 mm high.
pub const TEXT: f64 = 3.1;
/// Font size of the common labels; its capitals are 2.0 mm high.
pub const SMALL_TEXT: f64 = 2.8;

/// Font size of names of lesser weight and of those that find no other room; its capitals are
/// 1.7 mm high.
pub const FINE_TEXT: f64 = 2.3;

/// Ink of outlines and words.
pub const INK: &str = "#1a1a1a";

/// The pattern of a surface, by id.
pub fn surface_fill(kind: SurfaceKind) -> &'static str {
    match kind {
        SurfaceKind::LawnKept => "lawn-kept",
        SurfaceKind::LawnRedone => "lawn-redone",
        SurfaceKind::Bed => "bed",
        SurfaceKind::BareSoil => "bare-soil",
        SurfaceKind::Gravel => "gravel",
        SurfaceKind::Concrete => "concrete",
        SurfaceKind::Asphalt => "asphalt",
        SurfaceKind::Pavers => "pavers",
    }
}

/// The pattern of an obstacle's area, by id.
pub fn obstacle_fill(kind: ObstacleKind) -> &'static str {
    match kind {
        ObstacleKind::Building | ObstacleKind::Wall | ObstacleKind::Fence => "building",
        ObstacleKind::Pool => "pool",
        ObstacleKind::Boulder => "boulder",
        ObstacleKind::Other => "other",
    }
}

/// Marking colour and letter of a service. Colours after the APWA uniform colour code, in our own
/// shades.
pub fn service(class: ServiceClass) -> (&'static str, &'static str) {
    match class {
        ServiceClass::Electric => ("#d0021b", "E"),
        ServiceClass::Gas => ("#ffd500", "G"),
        ServiceClass::Communication => ("#f07800", "C"),
        ServiceClass::PotableWater => ("#0062c4", "W"),
        ServiceClass::ReclaimedWater => ("#7d2aa8", "R"),
        ServiceClass::Sewer => ("#128a2d", "S"),
    }
}

/// How the trenches of a method are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrenchStyle {
    /// A colour, as CSS writes it.
    pub colour: &'static str,
    /// Width of the line, mm on paper.
    pub weight: f64,
    /// SVG dash pattern, empty for a solid line.
    pub dashes: &'static str,
    /// Whether a white line runs along the middle.
    pub hollow: bool,
}

impl TrenchStyle {
    const fn new(colour: &'static str, weight: f64, dashes: &'static str, hollow: bool) -> Self {
        Self {
            colour,
            weight,
            dashes,
            hollow,
        }
    }

    pub(crate) fn attributes(&self) -> String {
        let dashes = match self.dashes {
            "" => String::new(),
            dashes => format!(" stroke-dasharray=\"{dashes}\""),
        };
        format!(
            "stroke=\"{}\" stroke-width=\"{}\"{dashes}",
            self.colour,
            number(self.weight)
        )
    }
}

/// Every trench where methods are not told apart.
pub const PLANNED: TrenchStyle = TrenchStyle::new("#333333", 0.55, "2.6 1.1", false);

/// Styles of machine-cut trenches, in the order of the price book.
const TRENCHES: [TrenchStyle; 5] = [
    TrenchStyle::new("#111111", 0.8, "", false),
    TrenchStyle::new("#3a2a10", 1.5, "", false),
    TrenchStyle::new("#26304a", 1.1, "7 0.9", false),
    TrenchStyle::new("#111111", 1.9, "", true),
    TrenchStyle::new("#3a1030", 1.7, "5.5 0.9", true),
];

/// Styles of pulled pipe, in the order of the price book.
const PULLS: [TrenchStyle; 3] = [
    TrenchStyle::new("#003c55", 1.5, "7 1 1.5 1 1.5 1", false),
    TrenchStyle::new("#00605c", 0.9, "4.5 1 0.9 1", false),
    TrenchStyle::new("#30305c", 1.2, "3 0.9 1.2 0.9 1.2 0.9 1.2 0.9", false),
];

/// The style of a method: by its kind and its place among the methods of that kind.
pub fn trench(job: &Job, id: &MethodId) -> TrenchStyle {
    let Some(method) = job.prices.method.get(id) else {
        return TRENCHES[0];
    };
    let place = job
        .prices
        .method
        .iter()
        .filter(|(_, other)| other.kind == method.kind)
        .position(|(other, _)| other == id)
        .unwrap_or(0);
    match method.kind {
        MethodKind::Hand => TrenchStyle::new("#7a3b00", 0.9, "2.2 0.9", false),
        MethodKind::Trench => TRENCHES[place % TRENCHES.len()],
        MethodKind::Pull => PULLS[place % PULLS.len()],
        MethodKind::Surface => TrenchStyle::new("#444444", 0.9, "0.9 1.1", false),
        MethodKind::Sleeve => TrenchStyle::new("#111111", 1.6, "", true),
    }
}

/// A method in words; its key if the price book has lost it.
pub fn method_label<'a>(job: &'a Job, id: &'a MethodId) -> &'a str {
    job.prices
        .method
        .get(id)
        .map_or(id.0.as_str(), |method: &Method| &method.label)
}

/// Writes patterns and the frame's clip path.
pub fn define(svg: &mut Svg, layout: &Layout) {
    svg.raw("<defs>");
    svg.raw("<clipPath id=\"frame\">");
    let frame = layout.frame;
    svg.rect(frame.corner(), frame.width, frame.height, "");
    svg.raw("</clipPath>");
    for (id, (width, height), _, marks) in PATTERNS {
        svg.raw(&format!(
            "<pattern id=\"{id}\" patternUnits=\"userSpaceOnUse\" width=\"{width}\" \
             height=\"{height}\">{marks}</pattern>"
        ));
    }
    svg.raw("</defs>");
}

/// The ground under a pattern's marks. It is filled by itself: between tiles that carried it, programs
/// that show the file leave hair lines.
pub fn ground(pattern: &str) -> Option<&'static str> {
    let known = PATTERNS.iter().find(|(id, ..)| *id == pattern);
    known
        .map(|(_, _, ground, _)| *ground)
        .filter(|ground| !ground.is_empty())
}

type Pattern = (
    &'static str,
    (&'static str, &'static str),
    &'static str,
    &'static str,
);

/// Id, width and height of the tile, ground colour, marks.
const PATTERNS: [Pattern; 13] = [
    (
        "lawn-kept",
        ("9", "8"),
        "#eef5e6",
        r##"<path d="M1.6 2.6L2 1.5M2.4 2.6L2 1.5M6.1 6.6L6.5 5.5M6.9 6.6L6.5 5.5" stroke="#8fae7c" stroke-width="0.18"/>"##,
    ),
    (
        "lawn-redone",
        ("8", "8"),
        "#f7f8ec",
        r##"<path d="M1 3L2.4 1.6M5 7L6.4 5.6" stroke="#a9ad6c" stroke-width="0.18"/>"##,
    ),
    (
        "bed",
        ("7", "7"),
        "#f5ece1",
        r##"<path d="M1.2 1.8h1.2M1.8 1.2v1.2M4.7 5.3h1.2M5.3 4.7v1.2" stroke="#a98460" stroke-width="0.2"/>"##,
    ),
    (
        "bare-soil",
        ("5", "5"),
        "#f6f0e6",
        r##"<path d="M1 1h0.3M3.4 3.6h0.3M2.2 4.4h0.3M4.2 1.6h0.3" stroke="#9a8664" stroke-width="0.3"/>"##,
    ),
    (
        "gravel",
        ("4.4", "4.4"),
        "#f3f2ef",
        r##"<g stroke="#8c8981" stroke-width="0.16"><circle cx="1" cy="1.1" r="0.5"/><circle cx="3.1" cy="2.2" r="0.7"/><circle cx="1.3" cy="3.4" r="0.4"/></g>"##,
    ),
    (
        "concrete",
        ("8", "8"),
        "#ececec",
        r##"<path d="M1.5 2.4l0.9 0l-0.45 -0.8zM5.4 6.3l0.9 0l-0.45 -0.8zM4.6 1.5h0.2M6.8 3.2h0.2M2.2 5.4h0.2M3.6 7.2h0.2" stroke="#8a8a8a" stroke-width="0.18"/>"##,
    ),
    (
        "asphalt",
        ("3", "3"),
        "#dcdcdc",
        r##"<path d="M0.6 0.7h0.3M2.1 2.2h0.3" stroke="#777777" stroke-width="0.3"/>"##,
    ),
    (
        "pavers",
        ("5", "4"),
        "#f1ebe6",
        r##"<path d="M0 0.1h5M0 2.1h5M0.1 0v2M2.6 2v2" stroke="#b3a396" stroke-width="0.16"/>"##,
    ),
    (
        "building",
        ("3", "3"),
        "#e3e0dd",
        r##"<path d="M-0.5 3.5L3.5 -0.5M-0.5 0.5L0.5 -0.5M2.5 3.5L3.5 2.5" stroke="#8d8780" stroke-width="0.16"/>"##,
    ),
    (
        "pool",
        ("6", "3.2"),
        "#e3f0f6",
        r##"<path d="M0 1.6q1.5 -1.2 3 0t3 0" stroke="#6f9db3" stroke-width="0.18"/>"##,
    ),
    (
        "boulder",
        ("2.4", "2.4"),
        "#d5d2cd",
        r##"<path d="M0.2 1.2L1.2 0.4L2.2 1.4" stroke="#77736c" stroke-width="0.18"/>"##,
    ),
    (
        "other",
        ("3", "3"),
        "#eeeeee",
        r##"<path d="M0 0L3 3M0 3L3 0" stroke="#8a8a8a" stroke-width="0.14"/>"##,
    ),
    (
        "steep",
        ("3.2", "4.2"),
        "",
        r##"<path d="M0.6 0.4L0.6 2.8M2.2 2.4L2.2 3.8" stroke="#6b5a3c" stroke-width="0.22"/>"##,
    ),
];
