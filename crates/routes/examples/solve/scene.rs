//! Reads a problem in the plane from text and recognises its kind by its content.

use geo::{Coord, Polygon};
use routes::plane::{Surface, polygon};
use serde::Deserialize;
use std::error::Error;

/// One problem.
pub struct Scene {
    pub task: Task,
    /// The edge of a site plan; other problems have none.
    pub boundary: Option<Polygon>,
    pub obstacles: Vec<Polygon>,
    pub surfaces: Vec<Surface>,
    /// Cost per unit of length where no surface lies.
    pub base: f64,
    /// What a cost is multiplied by when it is printed.
    pub scale: f64,
}

pub enum Task {
    /// One tree that joins these.
    Join(Vec<Coord>),
    /// The shortest way for each pair.
    Ways(Vec<(Coord, Coord)>),
}

/// A place, `[x, y]`.
type Place = [f64; 2];

#[derive(Deserialize)]
struct File {
    #[serde(default)]
    base_cost: Option<f64>,
    #[serde(default)]
    width: f64,
    #[serde(default)]
    height: f64,
    #[serde(default)]
    surfaces: Vec<FileSurface>,
    #[serde(default)]
    obstacles: Vec<Vec<Place>>,
    source: Option<Place>,
    #[serde(default)]
    terminals: Vec<Place>,
    queries: Option<Vec<[Place; 2]>>,
}

#[derive(Deserialize)]
struct FileSurface {
    cost: f64,
    polygon: Vec<Place>,
}

/// JSON with `queries` asks for ways, other JSON for a tree; anything else is a count and so many
/// lines of two coordinates, to be joined by a tree. A plan with `base_cost` counts in hundredths.
pub fn read(text: &str) -> Result<Scene, Box<dyn Error>> {
    if !text.trim_start().starts_with('{') {
        return points(text);
    }
    let file: File = serde_json::from_str(text)?;
    let outline =
        |places: &[Place]| polygon(&places.iter().copied().map(place).collect::<Vec<_>>());
    let surface = |s: &FileSurface| Surface {
        polygon: outline(&s.polygon),
        cost: s.cost,
    };
    let task = match file.queries {
        Some(queries) => Task::Ways(
            queries
                .iter()
                .map(|[a, b]| (place(*a), place(*b)))
                .collect(),
        ),
        None => Task::Join(
            file.source
                .into_iter()
                .chain(file.terminals)
                .map(place)
                .collect(),
        ),
    };
    let (w, h) = (file.width, file.height);
    let site = || outline(&[[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]);
    Ok(Scene {
        task,
        boundary: file.base_cost.map(|_| site()),
        obstacles: file.obstacles.iter().map(|o| outline(o)).collect(),
        surfaces: file.surfaces.iter().map(surface).collect(),
        base: file.base_cost.unwrap_or(1.0),
        scale: if file.base_cost.is_some() { 100.0 } else { 1.0 },
    })
}

fn points(text: &str) -> Result<Scene, Box<dyn Error>> {
    let mut words = text.split_whitespace();
    let count: usize = words.next().ok_or("the file is empty")?.parse()?;
    let rest: Result<Vec<f64>, _> = words.map(str::parse).collect();
    let rest = rest?;
    let places: Vec<Coord> = rest.chunks_exact(2).map(|p| place([p[0], p[1]])).collect();
    if places.len() != count || rest.len() % 2 != 0 {
        return Err(format!("{} places are announced, {} given", count, places.len()).into());
    }
    Ok(Scene {
        task: Task::Join(places),
        boundary: None,
        obstacles: Vec::new(),
        surfaces: Vec::new(),
        base: 1.0,
        scale: 1.0,
    })
}

fn place([x, y]: Place) -> Coord {
    Coord { x, y }
}
