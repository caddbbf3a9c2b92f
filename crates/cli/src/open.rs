//! `spadework open`: the planner.

use crate::args::{OpenArgs, PageArgs};
use crate::failure::Failure;
use crate::job_file::{self, Form};
use crate::{Answer, input, progress};
use job::{Document, ReadOptions};
use quantity::Units;
use serde_json::json;
use server::{Notice, Options, ServeError};
use std::io::Write;
use std::path::{Path, PathBuf};
use store::Store;

pub fn run(args: &OpenArgs) -> Result<Answer, Failure> {
    let own = input::own(&args.job)?;
    let file = ready(&args.job.job, args.units.into())?;
    page(&file, own, args.page)
}

/// The GeoPackage to open: the one named; the one that is made of a text; or a new one.
fn ready(named: &Path, units: Units) -> Result<PathBuf, Failure> {
    if !named.exists() {
        if Form::named(named) == Form::Text {
            return Err(Failure::input(
                format!("there is no job file {}", named.display()),
                "check the path; for a new job give a name that ends in .gpkg",
            ));
        }
        job_file::create(named, &new_job(named, units))?;
        return Ok(named.to_owned());
    }
    match Form::of(named) {
        Form::Package => Ok(named.to_owned()),
        Form::Text => packed(named),
    }
}

/// A text keeps neither pictures nor what was changed when: the planner works on a GeoPackage beside it.
fn packed(text: &Path) -> Result<PathBuf, Failure> {
    let package = text.with_extension("gpkg");
    if package.exists() {
        return Err(Failure::input(
            format!(
                "{} is a text, and {} is there already, which may hold other work",
                text.display(),
                package.display()
            ),
            format!(
                "open that one with `spadework open {}`, or move it away",
                package.display()
            ),
        ));
    }
    job_file::create(&package, &job_file::document(text)?)?;
    Ok(package)
}

fn new_job(file: &Path, units: Units) -> Document {
    let (display, unit) = match units {
        Units::Us => ("us", "ft"),
        Units::Si => ("si", "m"),
    };
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    let header = json!({
        "format": job::FORMAT, "name": name, "length_unit": unit, "display": display, "seed": 1,
    });
    Document {
        header: header.as_object().cloned().unwrap_or_default(),
        ..Document::default()
    }
}

/// Serves the planner until Ctrl-C.
pub fn page(file: &Path, own: ReadOptions, page: PageArgs) -> Result<Answer, Failure> {
    let store = Store::open(file)?;
    let options = Options {
        port: page.port,
        network: page.share,
    };
    let opens = !page.no_browser;
    let name = file.display().to_string();
    let served = progress::served(|stop| {
        server::serve(store, own, options, stop, move |notice| {
            say(&notice, &name, opens);
        })
    });
    match served {
        Ok(()) => Ok(Answer {
            err: format!("closed {}; everything is in it\n", file.display()),
            ..Answer::default()
        }),
        Err(error @ ServeError::Port { .. }) => Err(Failure::input(
            error.to_string(),
            "choose another with --port, or leave it out",
        )),
        Err(error) => Err(Failure::system(
            error.to_string(),
            "what was saved before still is; start it again",
        )),
    }
}

fn say(notice: &Notice, file: &str, opens: bool) {
    let text = match notice {
        Notice::Ready(address) => {
            // Where no browser can be opened the address is enough.
            let _ = opens.then(|| opener::open(address));
            format!("{file} is open at {address}\nCtrl-C closes it.\n")
        }
        Notice::Code(code, port) => format!(
            "Code for the next device on this network: {code}\nOn it, open this machine's address with :{port} behind \
             it. Whoever has the code can change the job; what is sent is not encrypted.\n"
        ),
    };
    let mut out = std::io::stdout().lock();
    // Nobody is left to be told that standard output is closed.
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}
