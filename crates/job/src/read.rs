//! From the text of a job file to a checked job, or to everything that stands against it.

use serde_json::{Map, Value};

use crate::draft::{Draft, unknown, unknown_names};
use crate::field::{Field, Stored};
use crate::file::{FORMAT, Header};
use crate::overlay::{Layer, Local, Settings};
use crate::scan::scan;
use crate::{Document, Finding, Job, Severity, build, check};

/// Largest job file that is read, bytes. A property with 100,000 heads fits.
pub const LARGEST_FILE: usize = 64 << 20;

/// Most values and members in a job file: what is parsed takes several times its size in memory.
const MOST_VALUES: usize = 8_000_000;

/// Most findings that are handed back; a file that has more is not a job.
const MOST_FINDINGS: usize = 1_000;

/// The user's own files, laid over the defaults; the job's own values are laid over these.
#[derive(Debug, Clone, Default)]
pub struct ReadOptions {
    /// Text of the user's practice file (TOML); it may hold any part of the default one.
    pub practice: Option<String>,
    /// Text of the user's price file (TOML); it may hold any part of the default one.
    pub prices: Option<String>,
}

/// A job that can be planned, and what wants attention in it.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The job.
    pub job: Job,
    /// Warnings, in the order in which the checks are made.
    pub findings: Vec<Finding>,
    /// The rules and prices that hold for it, as they are written.
    pub settings: Settings,
}

/// Reads and checks a job file.
///
/// ```
/// let refused = job::read("{ \"type\": 3 }", &job::ReadOptions::default()).unwrap_err();
/// assert_eq!(refused[0].rule, "not-a-feature-collection");
/// ```
///
/// # Errors
/// Everything that stands against the job: at least one finding is an error, and warnings stand
/// among them.
pub fn read(text: &str, options: &ReadOptions) -> Result<Reading, Vec<Finding>> {
    let document = parse(text).map_err(|finding| vec![finding])?;
    let mut findings = Vec::new();
    let scanned = scan(text);
    findings.extend(scanned.doubles.iter().map(double));
    let collection = Collection::of(&document, &mut findings);
    let local = |header: Option<&Header>, out: &mut Vec<Finding>| local(header, options, out);
    checked(&collection, &scanned.feature_lines, local, findings)
}

/// Reads the versions of a job that is being changed, and keeps its rules and prices from one to the next
/// as long as no change is of them: to lay them out takes longer than all the rest.
///
/// What it keeps only saves time: it reads each version as [`Document::read`] does.
#[derive(Debug, Default)]
pub struct Reader {
    options: ReadOptions,
    last: Option<Laid>,
}

/// Rules and prices as a header has them, and what stands against them.
#[derive(Debug)]
struct Laid {
    practice: Option<Map<String, Value>>,
    prices: Option<Map<String, Value>>,
    local: Local,
    findings: Vec<Finding>,
}

impl Reader {
    /// A reader with the user's own files laid over the defaults.
    pub fn new(options: ReadOptions) -> Self {
        Self {
            options,
            last: None,
        }
    }

    /// The user's own files.
    pub fn options(&self) -> &ReadOptions {
        &self.options
    }

    /// Reads and checks a job, see [`Document::read`].
    ///
    /// # Errors
    /// Everything that stands against the job.
    pub fn read(&mut self, document: &Document) -> Result<Reading, Vec<Finding>> {
        document.checked(|header, out| self.local(header, out))
    }

    fn local(&mut self, header: Option<&Header>, out: &mut Vec<Finding>) -> Local {
        let practice = header.and_then(|header| header.practice.get());
        let prices = header.and_then(|header| header.prices.get());
        let last = self
            .last
            .take()
            .filter(|last| (last.practice.as_ref(), last.prices.as_ref()) == (practice, prices));
        let last = last.unwrap_or_else(|| {
            let mut findings = Vec::new();
            let local = local(header, &self.options, &mut findings);
            Laid {
                practice: practice.cloned(),
                prices: prices.cloned(),
                local,
                findings,
            }
        });
        let last = self.last.insert(last);
        out.extend_from_slice(&last.findings);
        last.local.clone()
    }
}

/// The job of a collection whose features begin on `lines`, where it has lines, under the rules and
/// prices that `local` makes of its header.
pub(crate) fn checked(
    collection: &Collection<'_>,
    lines: &[usize],
    local: impl FnOnce(Option<&Header>, &mut Vec<Finding>) -> Local,
    mut findings: Vec<Finding>,
) -> Result<Reading, Vec<Finding>> {
    let header = collection.header(&mut findings);
    let local = local(header.as_ref(), &mut findings);
    let unit = metres(header.as_ref());
    let features = collection.features(&mut findings);
    let mut draft = Draft::of(features, lines, unit, &mut findings);
    draft.units = header
        .as_ref()
        .and_then(|header| header.display.get().copied());
    if !features.is_empty() {
        check::all(&draft, &local, &mut findings);
    }
    if findings.iter().any(|f| f.severity == Severity::Error) {
        return Err(cut(findings));
    }
    let settings = local.settings.clone();
    match header.and_then(|header| build::job(&header, draft, local)) {
        Some(job) => {
            let findings = cut(findings);
            Ok(Reading {
                job,
                findings,
                settings,
            })
        }
        None => Err(vec![Finding::error(
            "not-read",
            "job file",
            "something could not be read, and no check says what",
            "please report this with the file",
        )]),
    }
}

fn cut(mut findings: Vec<Finding>) -> Vec<Finding> {
    let more = findings.len().saturating_sub(MOST_FINDINGS);
    if more > 0 {
        findings.truncate(MOST_FINDINGS);
        findings.push(Finding::error(
            "more-findings",
            "job file",
            format!("{more} more findings are not listed"),
            "mend these first and check again",
        ));
    }
    findings
}

pub(crate) fn parse(text: &str) -> Result<Value, Finding> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let refuse = |rule, what: String, mend: &str| Finding::error(rule, "job file", what, mend);
    if text.len() > LARGEST_FILE {
        let (is, may) = (text.len() >> 20, LARGEST_FILE >> 20);
        let what = format!("is {is} MiB large; {may} MiB are the most");
        let mend = "make sure that it is the job file; split a larger property into several jobs";
        return Err(refuse("file-too-large", what, mend));
    }
    if text.trim().is_empty() {
        let mend = "begin with the example in docs/job-format.md";
        return Err(refuse("empty-file", "is empty".to_owned(), mend));
    }
    let values = text.bytes().filter(|b| matches!(b, b',' | b'[')).count();
    if values > MOST_VALUES {
        let what = format!("holds {values} values; {MOST_VALUES} are the most");
        let mend = "make sure that it is the job file; split a larger property into several jobs";
        return Err(refuse("file-too-large", what, mend));
    }
    serde_json::from_str(text).map_err(|error| {
        let what = format!("is not JSON: {error}");
        refuse("not-json", what, &mend_json(text, &error))
    })
}

/// Of two members with one name a parser keeps one and says nothing.
fn double((line, name): &(usize, &str)) -> Finding {
    let name: String = name.chars().filter(|c| !c.is_control()).take(60).collect();
    Finding::error(
        "duplicate-member",
        "job file",
        format!("has \"{name}\" a second time in the same object (line {line})"),
        "keep the one that is right",
    )
}

/// What to do about a text that is not JSON.
fn mend_json(text: &str, error: &serde_json::Error) -> String {
    let line = text.lines().nth(error.line().saturating_sub(1));
    let at: String = line
        .unwrap_or_default()
        .chars()
        .skip(error.column().saturating_sub(12))
        .filter(|c| !c.is_control())
        .take(24)
        .collect();
    let lower = at.to_lowercase();
    if lower.contains("nan") || lower.contains("inf") {
        return format!("near `{at}`: JSON has no NaN and no infinity; write a finite number");
    }
    format!("look at line {}, near `{at}`", error.line())
}

/// The top level of a job.
pub(crate) struct Collection<'a> {
    /// What concerns the job as a whole.
    pub header: Option<&'a Map<String, Value>>,
    pub features: &'a [Value],
}

const TOP_LEVEL: [&str; 3] = ["type", "spadework", "features"];

impl<'a> Collection<'a> {
    /// The top level of a parsed text.
    pub fn of(document: &'a Value, out: &mut Vec<Finding>) -> Self {
        static NOTHING: std::sync::LazyLock<Map<String, Value>> =
            std::sync::LazyLock::new(Map::new);
        let object = document.as_object();
        let kind = object.and_then(|o| o.get("type")).and_then(Value::as_str);
        if kind != Some("FeatureCollection") {
            out.push(Finding::error(
                "not-a-feature-collection",
                "job file",
                "is not a GeoJSON FeatureCollection",
                "let it be an object with \"type\": \"FeatureCollection\"",
            ));
        }
        let object = object.unwrap_or(&NOTHING);
        strangers(object, &["type", "spadework", "features", "bbox"], out);
        let features = object.get("features").and_then(Value::as_array);
        Self {
            header: object.get("spadework").and_then(Value::as_object),
            features: features.map_or(&[], Vec::as_slice),
        }
    }

    pub fn header(&self, out: &mut Vec<Finding>) -> Option<Header> {
        let mend = "add \"spadework\": { \"format\": 1, \"name\": …, \"length_unit\": \"ft\", \
                    \"display\": \"us\" }";
        let Some(object) = self.header else {
            out.push(Finding::error(
                "no-spadework-member",
                "job file",
                "has no object `spadework` at its top level: it may be GeoJSON, but not a job",
                mend,
            ));
            return None;
        };
        out.extend(format_finding(object.get("format")));
        let header = Header::read(object);
        for (name, fault) in header.faults() {
            // The version has a rule of its own.
            if name != "format" {
                let subject = format!("spadework.{name}");
                out.push(Finding::error(fault.rule, subject, fault.what, fault.mend));
            }
        }
        for name in unknown_names(object, Header::NAMES) {
            let fault = unknown("unknown-property", "member", name, Header::NAMES);
            out.push(Finding::error(
                fault.rule,
                "spadework",
                fault.what,
                fault.mend,
            ));
        }
        Some(header)
    }

    pub fn features(&self, out: &mut Vec<Finding>) -> &'a [Value] {
        if self.features.is_empty() {
            out.push(Finding::error(
                "no-features",
                "job file",
                "has no list `features` with something in it",
                "add the survey and the system as features; see docs/job-format.md",
            ));
        }
        self.features
    }
}

/// Members of the top level that are not known there.
pub(crate) fn strangers(object: &Map<String, Value>, known: &[&str], out: &mut Vec<Finding>) {
    for name in unknown_names(object, known) {
        let fault = unknown("unknown-member", "member", name, &TOP_LEVEL);
        out.push(Finding::error(
            fault.rule, "job file", fault.what, fault.mend,
        ));
    }
}

fn format_finding(format: Option<&Value>) -> Option<Finding> {
    let subject = "spadework.format";
    match format.and_then(Value::as_u64) {
        Some(FORMAT) => None,
        Some(newer) if newer > FORMAT => Some(Finding::error(
            "newer-format",
            subject,
            format!("is {newer}; this program reads format {FORMAT}"),
            "use a newer version of the program; do not change the number by hand",
        )),
        _ => Some(Finding::error(
            "wrong-format",
            subject,
            "is not a version of the format that there is",
            format!("write \"format\": {FORMAT}"),
        )),
    }
}

/// Metres in one unit of the coordinates.
fn metres(header: Option<&Header>) -> f64 {
    let unit = header.and_then(|h| h.length_unit.get());
    unit.map_or(1.0, |unit| unit.to_m())
}

pub(crate) fn local(
    header: Option<&Header>,
    options: &ReadOptions,
    out: &mut Vec<Finding>,
) -> Local {
    let mut practice = Vec::new();
    let mut prices = Vec::new();
    let own = [
        (&options.practice, &mut practice, "practice"),
        (&options.prices, &mut prices, "price"),
    ];
    for (text, layers, name) in own {
        if let Some(text) = text {
            layers.extend(Layer::from_toml(
                text,
                &format!("the user's {name} file"),
                out,
            ));
        }
    }
    if let Some(header) = header {
        practice.extend(job_layer(&header.practice, "practice", out));
        prices.extend(job_layer(&header.prices, "prices", out));
    }
    Local::of(practice, prices, out)
}

fn job_layer(
    field: &Field<Map<String, Value>>,
    name: &'static str,
    out: &mut Vec<Finding>,
) -> Option<Layer> {
    Layer::from_json(field.get()?, name, out)
}
