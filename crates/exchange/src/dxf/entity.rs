//! The entities of a drawing, as far as a job can use them.

use crate::Xy;

/// An entity on a layer.
#[derive(Debug)]
pub(crate) struct Entity {
    /// Its layer's number.
    pub layer: u32,
    /// The line of the file on which it begins.
    pub line: u32,
    /// Whether its own plane looks down, which mirrors x.
    pub mirrored: bool,
    pub shape: Shape,
    /// Extended data of ours.
    pub ours: Option<Vec<String>>,
}

/// Its geometry, in the drawing's units; angles in radians.
#[derive(Debug)]
pub(crate) enum Shape {
    /// A point with its height.
    Point(Xy, f64),
    /// Places, each with the bulge of the way to the next, and whether it is closed.
    Polyline(Vec<(Xy, f64)>, bool),
    Circle(Xy, f64),
    Arc(Xy, f64, (f64, f64)),
    /// Centre, end of the major axis from it, ratio of the axes, from and to.
    Ellipse(Xy, Xy, f64, (f64, f64)),
    Spline(Box<Spline>),
    Insert(Box<Insert>),
    /// What a job cannot use: its type.
    Other(u16),
}

#[derive(Debug, Default)]
pub(crate) struct Spline {
    pub degree: usize,
    pub closed: bool,
    pub knots: Vec<f64>,
    pub control: Vec<Xy>,
    pub weights: Vec<f64>,
    pub fit: Vec<Xy>,
}

/// A block put into the drawing.
#[derive(Debug, Default)]
pub(crate) struct Insert {
    pub block: String,
    pub at: Xy,
    pub scale: Xy,
    /// Radians.
    pub turn: f64,
    /// Columns and rows, and their distances.
    pub array: ((u32, u32), Xy),
    /// Tags of its attributes with their values.
    pub attributes: Vec<(String, String)>,
}

/// A block: its base point and what is in it.
#[derive(Debug, Default)]
pub(crate) struct Block {
    pub base: Xy,
    pub entities: Vec<Entity>,
}
