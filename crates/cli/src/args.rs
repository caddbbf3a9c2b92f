//! The commands and their options.

use clap::{Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Plans the buried part of an irrigation system: routes, trenches, pipe, wire, material, price.
#[derive(Debug, Parser)]
#[command(name = "spadework", version, max_term_width = 100)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// Say on standard error what long work is doing, even where that is no terminal.
    #[arg(long, global = true)]
    pub progress: bool,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Say everything that is wrong with a job file, and how to mend it.
    Check(JobArgs),
    /// Plan a job: summary on the terminal, files with --out.
    Plan(PlanArgs),
    /// Plan two variants of a job and show them side by side.
    Compare(CompareArgs),
    /// Bring what others have drawn or measured into a job: DXF, GeoJSON, survey points, GPX, a picture
    /// or a page to draw over.
    Import(ImportArgs),
    /// Write a job, and where the form can hold it its plan, in the form that the file's ending names.
    Export(ExportArgs),
    /// Put the plan on paper: numbered sheets as a PDF, their tables as CSV, the offer as a letter.
    Sheets(SheetsArgs),
    /// Show how a figure of the plan came about.
    Why(WhyArgs),
    /// Open a job in the planner, a page in the browser; a new one (JOB.gpkg) if there is no such file.
    Open(OpenArgs),
    /// Write an invented demo job here, plan it, and open it in the planner.
    Demo(DemoArgs),
    /// Write an invented property of any size.
    Sample(SampleArgs),
    /// Print the default practice file, to edit.
    Practice,
    /// Print the default price file, to edit.
    Prices,
    /// Print the JSON Schema of a file, or the description of the planner's requests.
    Schema {
        /// Which file.
        of: SchemaOf,
    },
}

/// A job file and what is laid over the defaults.
#[derive(Debug, clap::Args)]
pub struct JobArgs {
    /// The job file (text, see docs/job-format.md, or a GeoPackage).
    pub job: PathBuf,
    /// Local rules (TOML); any part of what `spadework practice` prints.
    #[arg(long, value_name = "FILE")]
    pub practice: Option<PathBuf>,
    /// Prices and machines (TOML); any part of what `spadework prices` prints.
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub struct PlanArgs {
    #[command(flatten)]
    pub job: JobArgs,
    /// Begin with an earlier plan.json of this job, before it was changed: done much sooner, and it
    /// proves no bound.
    #[arg(long, value_name = "PLAN")]
    pub from: Option<PathBuf>,
    /// Write plan.json, plan.svg, the offer (offer.txt) and five tables (.csv) into this folder.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Keep the plan in the job file itself, which is a GeoPackage: its stretches become layers.
    #[arg(long)]
    pub save: bool,
    /// Units to read in; without it those that the job prefers.
    #[arg(long)]
    pub units: Option<UnitsArg>,
    /// Print plan.json instead of the summary.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, clap::Args)]
pub struct ImportArgs {
    /// The file to read: .dxf, .geojson, .csv (survey points), .gpx, .png, .jpg, .pdf, or a job in text
    /// form or as a GeoPackage. It is not changed.
    pub file: PathBuf,
    /// The job that takes it; a new one is made where none is there: text, or a GeoPackage if the name
    /// ends in .gpkg.
    #[arg(long, value_name = "JOB")]
    pub into: PathBuf,
    /// What a layer, block, code or name becomes, with its properties, such as
    /// V-BLDG=obstacle,obstacle=building.
    #[arg(long, value_name = "NAME=KIND")]
    pub map: Vec<String>,
    /// A file of such rules (TOML; see docs/exchange.md).
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
    /// The unit of the file where it does not say it: in, ft, us-ft, yd, mm, cm, dm, m.
    #[arg(long, value_parser = unit)]
    pub unit: Option<exchange::Unit>,
    /// Easting and northing, in the file's unit, that become the origin of the plane.
    #[arg(long, value_name = "E,N", value_parser = pair, allow_hyphen_values = true)]
    pub origin: Option<(f64, f64)>,
    /// Ends of lines nearer than this are one place where an area is wanted.
    #[arg(long, value_name = "LENGTH")]
    pub close_within: Option<String>,
    /// How far places of a track that are left out may lie from its line.
    #[arg(long, value_name = "LENGTH")]
    pub thin_within: Option<String>,
    /// Units of a new job; its coordinates are in feet or in metres.
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
    /// A known point of a picture, twice or more: pixels from its left and upper edge (of a PDF: points,
    /// 1/72 inch) and its place in the job.
    #[arg(long = "at", value_name = "PX,PY=X,Y", value_parser = known, allow_hyphen_values = true)]
    pub known: Vec<underlay::Known>,
    /// The page of a PDF.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub page: usize,
}

fn unit(text: &str) -> Result<exchange::Unit, String> {
    text.parse().map_err(|finding: job::Finding| finding.mend)
}

fn pair(text: &str) -> Result<(f64, f64), String> {
    let numbers = text.split_once(',').and_then(|(one, other)| {
        let number = |text: &str| text.trim().parse::<f64>().ok().filter(|n| n.is_finite());
        Some((number(one)?, number(other)?))
    });
    numbers.ok_or_else(|| "write two numbers with a comma between, such as 500,1200".to_owned())
}

fn known(text: &str) -> Result<underlay::Known, String> {
    let wanted = || "write PX,PY=X,Y, such as 120,840=0,0".to_owned();
    let (pixel, place) = text.split_once('=').ok_or_else(wanted)?;
    let both = |text: &str| pair(text).map(<[f64; 2]>::from).map_err(|_| wanted());
    Ok(underlay::Known {
        pixel: both(pixel)?,
        place: both(place)?,
    })
}

#[derive(Debug, clap::Args)]
pub struct ExportArgs {
    #[command(flatten)]
    pub job: JobArgs,
    /// The files to write: .json (text form), .gpkg (job file), .geojson, .dxf, .gpx (points to stake),
    /// .csv (staking list).
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Take the plan from an earlier plan.json of this job instead of planning it.
    #[arg(long, value_name = "PLAN")]
    pub from: Option<PathBuf>,
    /// Write files anew that are there already.
    #[arg(long)]
    pub replace: bool,
    /// Units to read in; without it those that the job prefers.
    #[arg(long)]
    pub units: Option<UnitsArg>,
}

#[derive(Debug, clap::Args)]
pub struct SheetsArgs {
    #[command(flatten)]
    pub job: JobArgs,
    /// The PDF to write; print it at 100 %.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Only these sheets, such as cut-list,staking.
    #[arg(long, value_name = "SHEETS", value_delimiter = ',', value_parser = sheet)]
    pub only: Vec<sheets::Sheet>,
    /// Write the offer to the customer into this PDF.
    #[arg(long, value_name = "FILE")]
    pub offer: Option<PathBuf>,
    /// Write the tables of all sheets into this folder, as CSV.
    #[arg(long, value_name = "DIR")]
    pub tables: Option<PathBuf>,
    /// What this state of the job is called, for the head of every sheet.
    #[arg(long, value_name = "NAME")]
    pub variant: Option<String>,
    /// Take the plan from an earlier plan.json of this job instead of planning it.
    #[arg(long, value_name = "PLAN")]
    pub from: Option<PathBuf>,
    /// Write files anew that are there already.
    #[arg(long)]
    pub replace: bool,
    /// Units to read in; without it those that the job prefers.
    #[arg(long)]
    pub units: Option<UnitsArg>,
}

fn sheet(name: &str) -> Result<sheets::Sheet, String> {
    sheets::Sheet::named(name).ok_or_else(|| {
        let names = sheets::Sheet::ALL.map(sheets::Sheet::name);
        format!("the sheets are {}", names.join(", "))
    })
}

#[derive(Debug, clap::Args)]
pub struct CompareArgs {
    /// The job file of the first variant.
    pub first: PathBuf,
    /// The job file of the second variant.
    pub second: PathBuf,
    /// Local rules (TOML) for both.
    #[arg(long, value_name = "FILE")]
    pub practice: Option<PathBuf>,
    /// Prices and machines (TOML) for both.
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
    /// Write compare.txt and compare.csv into this folder.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Units to read in; without it those that the first job prefers.
    #[arg(long)]
    pub units: Option<UnitsArg>,
}

#[derive(Debug, clap::Args)]
pub struct WhyArgs {
    #[command(flatten)]
    pub job: JobArgs,
    /// Id of a figure, such as price.total or stretch.S1.depth.
    #[arg(required_unless_present = "list", conflicts_with = "list")]
    pub figure: Option<String>,
    /// List the ids of all figures, or of those that begin with PREFIX.
    #[arg(long, value_name = "PREFIX", num_args = 0..=1)]
    pub list: Option<Option<String>>,
    /// Units to read in; without it those that the job prefers.
    #[arg(long)]
    pub units: Option<UnitsArg>,
}

#[derive(Debug, clap::Args)]
pub struct OpenArgs {
    #[command(flatten)]
    pub job: JobArgs,
    /// Units of a new job; its coordinates are in feet or in metres.
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
    #[command(flatten)]
    pub page: PageArgs,
}

/// How the planner is served.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct PageArgs {
    /// The port on this machine; any that is free without it.
    #[arg(long, default_value_t = 0)]
    pub port: u16,
    /// Let other devices on the network open it too, each with a code that is printed here.
    #[arg(long)]
    pub share: bool,
    /// Only print the address, and open no browser.
    #[arg(long)]
    pub no_browser: bool,
}

#[derive(Debug, clap::Args)]
pub struct DemoArgs {
    /// Which invented property.
    #[arg(long, value_enum, default_value_t = DemoSite::House)]
    pub site: DemoSite,
    /// Folder to write into.
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub dir: PathBuf,
    /// Only write the job and its plan; so does a call whose output no terminal shows.
    #[arg(long)]
    pub files_only: bool,
    #[command(flatten)]
    pub page: PageArgs,
}

/// The invented properties.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum DemoSite {
    /// A house with a bank and a pool, US customary units.
    House,
    /// A courtyard house that no machine gets to, metric units.
    Courtyard,
    /// A stony hillside with a bank too steep to dig, metric units.
    Hillside,
    /// A large open park, US customary units.
    Park,
    /// A terraced school garden whose heads have no circuits yet, metric units.
    Garden,
}

#[derive(Debug, clap::Args)]
pub struct SampleArgs {
    /// How many heads.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub heads: u32,
    /// Seed of everything random.
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Write to a new file instead of standard output.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// US customary units.
    Us,
    /// SI units.
    Si,
}

impl From<UnitsArg> for quantity::Units {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Us => Self::Us,
            UnitsArg::Si => Self::Si,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    /// The job file.
    Job,
    /// plan.json.
    Plan,
    /// What the planner's page asks of the program (OpenAPI).
    Planner,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_commands_are_well_formed() {
        Args::command().debug_assert();
    }

    #[test]
    fn why_wants_a_figure_or_a_list() {
        assert!(Args::try_parse_from(["spadework", "why", "a.json"]).is_err());
        assert!(Args::try_parse_from(["spadework", "why", "a.json", "price.total"]).is_ok());
        assert!(Args::try_parse_from(["spadework", "why", "a.json", "--list"]).is_ok());
        assert!(Args::try_parse_from(["spadework", "why", "a.json", "--list", "price"]).is_ok());
    }
}
