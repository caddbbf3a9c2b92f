//! Answers for the crates to the cross-check suite: one JSON object per line in, one out. The
//! questions are described in `tests/crosscheck/protocol.py`.

use std::io::{self, BufRead, Write};
use std::ops::ControlFlow;

use anyhow::{Context, Result, bail};
use geo::{Area, Buffer, Coord, Intersects, LineString, MultiPolygon, Point, Polygon, unary_union};
use ground::{FreeGround, Relief, eroded};
use serde_json::{Value, json};
use steiner::{Edge, Group, Limits, Problem, reachable, solve};

fn main() -> Result<()> {
    let mut output = io::stdout().lock();
    for line in io::stdin().lock().lines() {
        let answer = answer(&line?).unwrap_or_else(|error| json!({"error": format!("{error:#}")}));
        writeln!(output, "{answer}")?;
        // The suite waits for each answer before it asks on.
        output.flush()?;
    }
    Ok(())
}

fn answer(line: &str) -> Result<Value> {
    let question: Value = serde_json::from_str(line).context("the question is not JSON")?;
    match question["op"]
        .as_str()
        .context("the question has no `op`")?
    {
        "shortest_path" => shortest_path(&question),
        "erode" => erode(&question),
        "elevation" => elevation(&question),
        other => bail!("there is no question `{other}`"),
    }
}

/// One pipe between two places is the smallest network of trenches: the ground says where a trench
/// may turn and run straight, and the search for trees finds the path.
fn shortest_path(question: &Value) -> Result<Value> {
    let area = MultiPolygon::new(vec![polygon(&question["boundary"])?]);
    let open = FreeGround::new(&area, &unary_union(&polygons(&question["obstacles"])?));
    let mut places = vec![point(&question["from"])?, point(&question["to"])?];
    places.extend(open.turning_corners());
    let edges = sights(&open, &places);
    let group = Group {
        terminals: vec![0, 1],
        rate: 1.0,
    };
    let problem = Problem::new(places.len(), edges, vec![group])?;
    if !reachable(&problem).is_empty() {
        return Ok(json!({"length": null}));
    }
    let limits = Limits {
        work: 1_000_000,
        seed: 1,
    };
    let solution = solve(&problem, limits, &|_| ControlFlow::Continue(()))?;
    Ok(json!({"length": solution.cost}))
}

/// The straight trenches between places.
fn sights(open: &FreeGround, places: &[Coord]) -> Vec<Edge> {
    let mut edges = Vec::new();
    for (a, from) in places.iter().enumerate() {
        for (b, to) in places.iter().enumerate().skip(a + 1) {
            if open.is_open(*from, *to) {
                let length = (*from - *to).x.hypot((*from - *to).y);
                edges.push(Edge {
                    a: a as u32,
                    b: b as u32,
                    shared: 0.0,
                    length,
                });
            }
        }
    }
    edges
}

fn erode(question: &Value) -> Result<Value> {
    let half_width = number(&question["half_width"])?;
    let obstacles = polygons(&question["obstacles"])?;
    let grown: Vec<_> = obstacles
        .iter()
        .map(|obstacle| obstacle.buffer(half_width))
        .collect();
    let entrance = Point::from(point(&question["entrance"])?);
    let places = eroded(&polygon(&question["boundary"])?, &grown, half_width);
    let reached = places.iter().filter(|part| part.intersects(&entrance));
    Ok(json!({"area": reached.map(Area::unsigned_area).sum::<f64>()}))
}

fn elevation(question: &Value) -> Result<Value> {
    let spot = |spot: &Value| Ok((point(spot)?, number(&spot[2])?));
    let spots = list(&question["spots"])?
        .iter()
        .map(spot)
        .collect::<Result<Vec<_>>>()?;
    let at = list(&question["at"])?
        .iter()
        .map(point)
        .collect::<Result<Vec<_>>>()?;
    let relief = Relief::new(&spots);
    let heights: Vec<f64> = at.into_iter().map(|place| relief.height(place)).collect();
    Ok(json!({"z": heights}))
}

fn polygons(value: &Value) -> Result<Vec<Polygon>> {
    list(value)?.iter().map(polygon).collect()
}

fn polygon(value: &Value) -> Result<Polygon> {
    let corners = list(value)?
        .iter()
        .map(point)
        .collect::<Result<Vec<Coord>>>()?;
    Ok(Polygon::new(LineString::new(corners), Vec::new()))
}

fn point(value: &Value) -> Result<Coord> {
    Ok(Coord {
        x: number(&value[0])?,
        y: number(&value[1])?,
    })
}

fn number(value: &Value) -> Result<f64> {
    value
        .as_f64()
        .with_context(|| format!("{value} stands where a number should"))
}

fn list(value: &Value) -> Result<&Vec<Value>> {
    value
        .as_array()
        .with_context(|| format!("{value} stands where a list should"))
}
