//! Solves one problem in the plane and prints a line of JSON.
//!
//! `cargo run --release -p routes --example solve -- FILE [--seconds S] [--work N] [--seed K] [--check] [--tree]`
//!
//! A file with queries gets the shortest way for each; any other gets one tree. `bound` is a bound of
//! trees in the plane (see `routes::plane::bound`), `null` gap means that it is 0. Debug builds
//! always check the tree; `--check` makes others do so too. `--tree` adds its places and parts.

mod scene;

use geo::Coord;
use routes::plane::{Limits, Plane, Progress, Tree, Walls, Ways, check_tree, join};
use scene::{Scene, Task};
use serde_json::{Value, json};
use std::error::Error;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

/// Each query is asked so often that its time can be told.
const REPEATS: u32 = 200;

struct Args {
    file: String,
    seconds: Option<f64>,
    limits: Limits,
    check: bool,
    tree: bool,
}

fn main() -> Result<(), Box<dyn Error>> {
    let args = args()?;
    let scene = scene::read(&std::fs::read_to_string(&args.file)?)?;
    let start = Instant::now();
    let mut line = match &scene.task {
        Task::Join(places) => tree(&scene, places, &args, start)?,
        Task::Ways(queries) => ways(&scene, queries)?,
    };
    let name = std::path::Path::new(&args.file).file_stem();
    line["name"] = json!(name.unwrap_or_default().to_string_lossy());
    line["seconds"] = json!(start.elapsed().as_secs_f64());
    line["memory"] = json!(peak_memory());
    println!("{line}");
    Ok(())
}

fn args() -> Result<Args, Box<dyn Error>> {
    let mut args = Args {
        file: String::new(),
        seconds: None,
        limits: Limits {
            work: 60_000_000,
            seed: 1,
        },
        check: cfg!(debug_assertions),
        tree: false,
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut next = || words.next().ok_or(format!("{word} wants a number"));
        match word.as_str() {
            "--seconds" => args.seconds = Some(next()?.parse()?),
            "--work" => args.limits.work = next()?.parse()?,
            "--seed" => args.limits.seed = next()?.parse()?,
            "--check" => args.check = true,
            "--tree" => args.tree = true,
            _ => args.file = word,
        }
    }
    if args.file.is_empty() {
        return Err(
            "usage: solve FILE [--seconds S] [--work N] [--seed K] [--check] [--tree]".into(),
        );
    }
    Ok(args)
}

fn tree(
    scene: &Scene,
    places: &[Coord],
    args: &Args,
    start: Instant,
) -> Result<Value, Box<dyn Error>> {
    let walls = Walls::new(scene.boundary.as_ref(), &scene.obstacles)?;
    let plane = Plane::new(walls, &scene.surfaces, scene.base)?;
    let limit = args.seconds.map(Duration::try_from_secs_f64).transpose()?;
    let watch = |_: Progress| match limit {
        Some(limit) if start.elapsed() >= limit => ControlFlow::Break(()),
        _ => ControlFlow::Continue(()),
    };
    let tree = join(&plane, places, args.limits, &watch)?;
    if args.check {
        let grounds = (scene.surfaces.as_slice(), scene.base);
        check_tree(
            scene.boundary.as_ref(),
            &scene.obstacles,
            grounds,
            places,
            &tree,
        )?;
    }
    let Tree {
        cost, bound, work, ..
    } = tree;
    let mut line = json!({
        "name": null,
        "cost": cost * scene.scale,
        "bound": bound * scene.scale,
        "bound_of": "plane",
        "gap": (bound > 0.0).then(|| (cost - bound) / bound),
        "optimal": cost - bound <= 1e-9 * cost,
        "work": work,
    });
    if args.tree {
        let places = tree.places.iter().map(|p| [p.x, p.y]);
        line["places"] = json!(places.collect::<Vec<_>>());
        line["parts"] = json!(tree.parts);
    }
    Ok(line)
}

fn ways(scene: &Scene, queries: &[(Coord, Coord)]) -> Result<Value, Box<dyn Error>> {
    let ways = Ways::new(Walls::new(scene.boundary.as_ref(), &scene.obstacles)?);
    let ask = || -> Vec<Option<f64>> { queries.iter().map(|(a, b)| ways.length(*a, *b)).collect() };
    let lengths = ask();
    let start = Instant::now();
    for _ in 0..REPEATS {
        std::hint::black_box(ask());
    }
    let each =
        start.elapsed().as_secs_f64() * 1e6 / f64::from(REPEATS) / queries.len().max(1) as f64;
    let sum: f64 = lengths.iter().flatten().sum();
    Ok(json!({
        "name": null,
        "cost": sum,
        "bound": sum,
        "bound_of": "plane",
        "gap": 0.0,
        "optimal": true,
        "lengths": lengths,
        "microseconds_per_query": each,
    }))
}

/// The most memory used so far, in bytes, where the system tells it.
fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes * 1024)
}
