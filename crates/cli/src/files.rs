//! The files of a plan: JSON, the drawing, tables for a spreadsheet.

mod goods;
mod stakes;

use crate::failure::Failure;
use crate::summary::words;
use crate::{days_table, price_table};
use job::Job;
pub use layers::{bare, head};
use offer::Offer;
use plan::Plan;
use plan::digging::Dig;
use plan::routes::{Stretch, StretchId};
use quantity::{Amount, Money, Style, Units};
pub use stakes::rows as stakes;

/// All files that a plan is written to.
pub const NAMES: [&str; 13] = [
    "plan.json",
    "plan.svg",
    "stretches.csv",
    "materials.csv",
    "pipes.csv",
    "heads.csv",
    "days.csv",
    "days.svg",
    "price.csv",
    "offer.txt",
    "risk.svg",
    "cutting.csv",
    "staking.csv",
];

/// The files that a comparison is written to.
pub const COMPARED: [&str; 2] = ["compare.txt", "compare.csv"];

/// A file's name and text.
pub type File = (&'static str, String);

pub fn all(job: &Job, plan: &Plan, units: Units) -> Result<Vec<File>, Failure> {
    let options = drawing::SvgOptions { units, sheet: None };
    let texts = [
        json(plan)?,
        drawing::svg(job, plan, &options),
        stretches(job, plan, units)?,
        goods::order(plan, units)?,
        pipes(plan, units)?,
        heads(plan, units)?,
        days_table::rows(job, plan, units)?,
        drawing::days_svg(job, plan, units),
        price_table::rows(plan, units)?,
        Offer::of(job, plan, units, rock(plan)).text(),
        drawing::risk_svg(plan).unwrap_or_default(),
        goods::cutting(plan, units)?,
        stakes(job, plan, units)?,
    ];
    Ok(NAMES.into_iter().zip(texts).collect())
}

/// What a metre of trench in rock is sold for on top, where anything is dug.
fn rock(plan: &Plan) -> Option<Money> {
    let per_m = plan.price.ranged.map(|ranged| ranged.rock_per_m);
    per_m.filter(|per_m| *per_m > Money::ZERO)
}

/// plan.json.
pub fn json(plan: &Plan) -> Result<String, Failure> {
    serde_json::to_string_pretty(plan)
        .map(|text| text + "\n")
        .map_err(|e| unwritten("plan.json", &e))
}

fn unwritten(name: &str, error: &dyn std::fmt::Display) -> Failure {
    Failure::system(
        format!("{name} cannot be made: {error}"),
        "please report this with the job file",
    )
}

type Column = (&'static str, Style, fn(&Stretch, &Dig) -> f64);

/// Measures of a stretch, SI.
const MEASURES: [Column; 14] = [
    ("length", Style::Length, |s, _| s.length.si()),
    ("slope", Style::Percent, |s, _| s.ground.slope.si()),
    ("depth", Style::SmallLength, |_, d| d.section.depth.si()),
    ("width", Style::SmallLength, |_, d| d.section.width.si()),
    ("top_width", Style::SmallLength, |_, d| {
        d.section.top_width.si()
    }),
    ("bedding_thickness", Style::SmallLength, |_, d| {
        d.section.bedding.si()
    }),
    ("bank", Style::Volume, |_, d| d.earth.bank.si()),
    ("loose", Style::Volume, |_, d| d.earth.loose.si()),
    ("bedding", Style::Volume, |_, d| d.earth.bedding.si()),
    ("backfill", Style::Volume, |_, d| d.earth.backfill.si()),
    ("surplus", Style::Volume, |_, d| d.earth.surplus.si()),
    ("crown", Style::SmallLength, |_, d| d.earth.crown.si()),
    ("restore", Style::Area, |_, d| d.earth.restore.si()),
    ("time", Style::Hours, |_, d| d.hours.si()),
];

/// One row for every stretch.
fn stretches(job: &Job, plan: &Plan, units: Units) -> Result<String, Failure> {
    let currency = plan.price.currency.to_lowercase();
    let costs = [
        format!("cost_{currency}"),
        "next_best".to_owned(),
        format!("next_best_extra_{currency}"),
        "cannot".to_owned(),
    ];
    let words = [
        "stretch", "from", "to", "holds", "surface", "soil", "method", "reason",
    ];
    let rules = ["depth_rule", "width_rule", "hand_dig_zones", "sleeve"];
    let measures = MEASURES.map(|(name, style, _)| head(name, style, units));
    let mut rows = vec![
        words
            .iter()
            .chain(&rules)
            .map(|word| (*word).to_owned())
            .chain(measures)
            .chain(costs)
            .collect::<Vec<String>>(),
    ];
    for (id, stretch) in plan.network.iter() {
        rows.extend(
            plan.digging
                .digs
                .iter()
                .find(|dig| dig.stretch == id)
                .map(|dig| stretch_row(job, plan, id, stretch, dig, units)),
        );
    }
    csv("stretches.csv", &rows)
}

fn stretch_row(
    job: &Job,
    plan: &Plan,
    id: StretchId,
    stretch: &Stretch,
    dig: &Dig,
    units: Units,
) -> Vec<String> {
    let mut row = vec![
        id.to_string(),
        words::node(job, plan, stretch.from),
        words::node(job, plan, stretch.to),
        words::contents(dig),
        stretch.ground.surface.label().to_owned(),
        stretch.ground.soil.texture.label().to_owned(),
        words::method(job, &dig.method),
        dig.reason.clone(),
        dig.section.depth_rule.clone(),
        dig.section.width_rule.clone(),
        words::zones(stretch),
        words::sleeve(stretch),
    ];
    row.extend(
        MEASURES.map(|(_, style, measure)| bare(Amount::new(measure(stretch, dig), style), units)),
    );
    row.push(bare(dig.cost.amount(), units));
    let next = dig.next_best.as_ref();
    row.push(next.map_or(String::new(), |next| words::method(job, &next.method)));
    row.push(next.map_or(String::new(), |next| bare(next.extra.amount(), units)));
    row.push(words::cannot(job, dig));
    row
}

/// One row for every pipe.
fn pipes(plan: &Plan, units: Units) -> Result<String, Failure> {
    let mut heads = ["line", "stretch", "family", "size"]
        .map(str::to_owned)
        .to_vec();
    let measures = [
        ("length", Style::Length),
        ("inside", Style::SmallLength),
        ("flow", Style::Flow),
        ("velocity", Style::Velocity),
        ("friction", Style::Pressure),
        ("fittings", Style::Pressure),
    ];
    heads.extend(measures.map(|(name, style)| head(name, style, units)));
    let mut rows = vec![heads];
    rows.extend(plan.hydraulics.pipes.iter().map(|pipe| {
        let mut row = vec![
            plan.network.lines[pipe.line].name.clone(),
            pipe.stretch.to_string(),
            pipe.family.clone(),
            pipe.size.clone(),
        ];
        let figures = [
            plan.network.stretch(pipe.stretch).length.amount(),
            pipe.inside.small(),
            pipe.flow.amount(),
            pipe.velocity.amount(),
            pipe.friction.amount(),
            pipe.minor.amount(),
        ];
        row.extend(figures.map(|amount| bare(amount, units)));
        row
    }));
    csv("pipes.csv", &rows)
}

/// One row for every head and drip point.
fn heads(plan: &Plan, units: Units) -> Result<String, Failure> {
    let mut heads = ["head", "circuit"].map(str::to_owned).to_vec();
    let measures = [
        ("flow", Style::Flow),
        ("pressure", Style::Pressure),
        ("needs", Style::Pressure),
        ("to_spare", Style::Pressure),
    ];
    heads.extend(measures.map(|(name, style)| head(name, style, units)));
    let mut rows = vec![heads];
    rows.extend(plan.hydraulics.outlets.iter().map(|outlet| {
        let mut row = vec![outlet.outlet.clone(), outlet.circuit.clone()];
        let figures = [
            outlet.flow.amount(),
            outlet.pressure.amount(),
            outlet.needs.amount(),
            outlet.margin.amount(),
        ];
        row.extend(figures.map(|amount| bare(amount, units)));
        row
    }));
    csv("heads.csv", &rows)
}

pub fn csv(name: &str, rows: &[Vec<String>]) -> Result<String, Failure> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).map_err(|e| unwritten(name, &e))?;
    }
    let bytes = writer.into_inner().map_err(|e| unwritten(name, &e))?;
    String::from_utf8(bytes).map_err(|e| unwritten(name, &e))
}
