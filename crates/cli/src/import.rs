//! `spadework import`: what others have drawn or measured into a job.

use crate::args::ImportArgs;
use crate::failure::Failure;
use crate::progress::undisturbed;
use crate::{Answer, findings, input, job_file};
use exchange::{Mapping, Options, Reader, Target};
use job::{Document, LengthUnit, ReadOptions};
use quantity::{Length, Units};
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::path::Path;
use store::{Picture, Store};

/// What a file's ending says that it is.
#[derive(Debug, Clone, Copy)]
enum Form {
    Features(Reader),
    Package,
    Picture,
}

const PICTURES: [&str; 4] = ["png", "jpg", "jpeg", "pdf"];

impl Form {
    fn of(path: &Path) -> Result<Self, Failure> {
        let end = path.extension().and_then(OsStr::to_str).unwrap_or_default();
        let is = |name: &str| end.eq_ignore_ascii_case(name);
        if let Some(reader) = exchange::reader(end) {
            return Ok(Self::Features(reader));
        }
        if is("gpkg") {
            return Ok(Self::Package);
        }
        if PICTURES.into_iter().any(is) {
            return Ok(Self::Picture);
        }
        let known = exchange::READERS.iter().map(|(name, _)| *name);
        let names: Vec<String> = known
            .chain(PICTURES)
            .chain(["gpkg"])
            .map(|name| format!(".{name}"))
            .collect();
        Err(Failure::input(
            format!("the ending of {} does not say what it is", path.display()),
            format!("give a file that ends in one of {}", names.join(", ")),
        ))
    }
}

pub fn run(args: &ImportArgs) -> Result<Answer, Failure> {
    let form = Form::of(&args.file)?;
    let fresh = !args.into.exists();
    let mut document = match fresh {
        true => Document::default(),
        false => job_file::document(&args.into)?,
    };
    let said = match form {
        Form::Picture => return picture(args, &document, fresh),
        Form::Package => whole_job(args, fresh, &mut document)?,
        Form::Features(_) if is_job(&args.file) => whole_job(args, fresh, &mut document)?,
        Form::Features(reader) => taken(args, reader, fresh, &mut document)?,
    };
    match fresh {
        true => job_file::create(&args.into, &document)?,
        false => job_file::save(&args.into, &document)?,
    }
    Ok(Answer {
        out: said + &standing(&document, &args.into),
        err: format!("wrote {}\n", args.into.display()),
        ..Answer::default()
    })
}

/// Whether a file is a job in text form, in its own plane.
fn is_job(file: &Path) -> bool {
    let json =
        |end: &OsStr| end.eq_ignore_ascii_case("json") || end.eq_ignore_ascii_case("geojson");
    file.extension().is_some_and(json)
        && input::text(file, "job file").is_ok_and(|text| Document::of(&text).is_ok())
}

/// A job as it is, into a new file.
fn whole_job(args: &ImportArgs, fresh: bool, document: &mut Document) -> Result<String, Failure> {
    if !fresh {
        return Err(Failure::input(
            format!(
                "{} is a whole job, and {} is one already; nothing was changed",
                args.file.display(),
                args.into.display()
            ),
            "name a job that is not there yet",
        ));
    }
    *document = job_file::document(&args.file)?;
    Ok(format!(
        "Taken: the job with its {} features\n",
        document.features.len()
    ))
}

/// Features of a file in another format.
fn taken(
    args: &ImportArgs,
    read: Reader,
    fresh: bool,
    document: &mut Document,
) -> Result<String, Failure> {
    if fresh {
        document.header = header(args);
    }
    let bytes = input::bytes(&args.file, "file", exchange::limits::LARGEST_FILE as u64)?;
    let imported =
        read(&bytes, &target(document), &mapping(args)?, &options(args)?).map_err(Failure::Job)?;
    let mut said = imported.report.text();
    match imported.header {
        Some(header) if fresh => document.header = header,
        Some(_) => said += "Left: the header of the job in the file; the job has one\n",
        None => {}
    }
    if let (Some(anchor), None) = (imported.anchor, document.header.get("anchor")) {
        let anchor = serde_json::to_value(anchor).unwrap_or_default();
        document.header.insert("anchor".to_owned(), anchor);
    }
    document.features.extend(imported.features);
    Ok(said)
}

/// The header of a new job.
fn header(args: &ImportArgs) -> Map<String, Value> {
    let (display, unit) = match Units::from(args.units) {
        Units::Us => ("us", "ft"),
        Units::Si => ("si", "m"),
    };
    let name = args.into.file_stem().unwrap_or_default().to_string_lossy();
    let header = json!({
        "format": job::FORMAT, "name": name, "length_unit": unit, "display": display, "seed": 1,
    });
    header.as_object().cloned().unwrap_or_default()
}

fn target(document: &Document) -> Target {
    let ids = document
        .features
        .iter()
        .filter_map(|feature| feature["id"].as_str());
    Target {
        length_unit: document.length_unit().unwrap_or(LengthUnit::M),
        anchor: document.anchor(),
        taken: ids.map(str::to_owned).collect::<BTreeSet<_>>(),
    }
}

fn mapping(args: &ImportArgs) -> Result<Mapping, Failure> {
    let pairs = Mapping::from_pairs(&args.map).map_err(Failure::Job)?;
    let Some(file) = &args.mapping else {
        return Ok(pairs);
    };
    let rules = Mapping::from_toml(&input::text(file, "mapping")?).map_err(Failure::Job)?;
    Ok(rules.merged(pairs))
}

fn options(args: &ImportArgs) -> Result<Options, Failure> {
    let mut options = Options {
        origin: args.origin,
        unit: args.unit,
        ..Options::default()
    };
    let lengths = [
        (
            &args.close_within,
            &mut options.close_within,
            "--close-within",
        ),
        (&args.thin_within, &mut options.thin_within, "--thin-within"),
    ];
    for (given, option, name) in lengths {
        if let Some(text) = given {
            *option = length(text, name)?;
        }
    }
    Ok(options)
}

fn length(text: &str, name: &str) -> Result<Length, Failure> {
    let read = text
        .parse::<Length>()
        .ok()
        .filter(|length| *length >= Length::m(0.0));
    read.ok_or_else(|| {
        Failure::input(
            format!("{name} is \"{text}\", which is no length"),
            "write a number and a unit, such as \"4 in\" or \"0.1 m\"",
        )
    })
}

/// A picture or a page to draw over, which a job as a GeoPackage keeps.
fn picture(args: &ImportArgs, document: &Document, fresh: bool) -> Result<Answer, Failure> {
    if fresh || job_file::Form::of(&args.into) == job_file::Form::Text {
        return Err(Failure::input(
            format!(
                "{} is no GeoPackage, and a text keeps no pictures",
                args.into.display()
            ),
            "make it one first with `spadework export JOB JOB.gpkg`",
        ));
    }
    let bytes = input::bytes(&args.file, "picture", exchange::limits::LARGEST_FILE as u64)?;
    let options = underlay::Options {
        page: args.page,
        known: args.known.clone(),
    };
    let laid = underlay::read(&bytes, &options).map_err(Failure::Job)?;
    let picture = Picture {
        name: underlay::plain_name(&args.file.to_string_lossy()),
        bytes: laid.png,
        width: laid.width,
        height: laid.height,
        bounds: laid.bounds,
    };
    undisturbed(|| {
        let mut store = Store::open(&args.into)?;
        store.put_picture(&picture)?;
        Ok(store.close()?)
    })?;
    let unit = document.length_unit().unwrap_or(LengthUnit::M).name();
    let [min_x, min_y, max_x, max_y] = laid.bounds;
    let mut out = format!(
        "Taken: the picture `{}`, {} by {} pixels, from ({min_x:.2}, {min_y:.2}) to ({max_x:.2}, {max_y:.2}) {unit}; \
         one pixel or point of the file is {:.5} {unit}, turned by {:.2}°\n",
        picture.name, laid.width, laid.height, laid.scale, laid.turned
    );
    if args.known.len() > 2 {
        out += &format!(
            "Known points lie up to {:.3} {unit} from their places\n",
            laid.worst
        );
    }
    for note in laid.notes {
        out += &format!("Note: {note}\n");
    }
    Ok(Answer {
        out,
        err: format!("wrote {}\n", args.into.display()),
        ..Answer::default()
    })
}

/// What stands against the job now, in one line.
fn standing(document: &Document, into: &Path) -> String {
    let found = match document.read(&ReadOptions::default()) {
        Ok(reading) => reading.findings,
        Err(found) => found,
    };
    match found.is_empty() {
        true => "Nothing stands against the job.\n".to_owned(),
        false => format!(
            "Against the job stand {}: `spadework check {}` names them.\n",
            findings::counts(&found),
            into.display()
        ),
    }
}
