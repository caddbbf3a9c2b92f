//! `spadework demo`: an invented job to begin with.

use crate::args::{DemoArgs, DemoSite};
use crate::failure::Failure;
use crate::files::File;
use crate::{Answer, files, input, job_file, open, planning, progress, say, summary};
use job::ReadOptions;
use std::fs::{self, OpenOptions};
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

pub fn run(args: &DemoArgs, progress: bool) -> Result<Answer, Failure> {
    let (name, text) = match args.site {
        DemoSite::House => ("spadework-demo", job::DEMO),
        DemoSite::Courtyard => ("spadework-demo-courtyard", job::DEMO_COURTYARD),
        DemoSite::Hillside => ("spadework-demo-hillside", job::DEMO_HILLSIDE),
        DemoSite::Park => ("spadework-demo-park", job::DEMO_PARK),
        DemoSite::Garden => ("spadework-demo-garden", job::DEMO_GARDEN),
    };
    let reading = job::read(text, &ReadOptions::default()).map_err(Failure::Job)?;
    let beside = |name: String| {
        // The folder that one is in is not worth naming.
        if args.dir.as_os_str() == "." {
            PathBuf::from(name)
        } else {
            args.dir.join(name)
        }
    };
    let (file, out) = (
        beside(format!("{name}.json")),
        beside(format!("{name}-plan")),
    );
    fs::create_dir_all(&args.dir).map_err(|e| unwritten(&args.dir, &e))?;
    write_new(&file, text, "demo job")?;
    let plan = progress::plan(&reading.job, progress)?;
    let planned = plan.planned(&reading.job);
    let units = planned.units;
    unchanged(&out, &files::all(&planned, &plan, units)?)?;
    planning::write(&out, &planned, &plan, units)?;
    let mut answer = Answer::of(summary::text(&planned, &plan, &reading.findings, units));
    answer.err = format!("wrote {}, {}\n", file.display(), planning::names(&out));
    if args.files_only || !std::io::stdout().is_terminal() {
        answer.err += &format!(
            "open it in the planner: spadework open {}\n",
            file.display()
        );
        return Ok(answer);
    }
    // The planner has the last word: what was planned is told before.
    let _ = say(std::io::stdout().lock(), &answer.out);
    let _ = say(std::io::stderr().lock(), &answer.err);
    let package = file.with_extension("gpkg");
    if !package.exists() {
        job_file::create(&package, &job_file::document(&file)?)?;
    }
    open::page(&package, ReadOptions::default(), args.page)
}

/// Refuses to replace results of the demo that somebody has changed.
fn unchanged(out: &Path, files: &[File]) -> Result<(), Failure> {
    for (name, text) in files {
        let file = out.join(name);
        if file.exists() && !input::text(&file, name).is_ok_and(|old| old == *text) {
            let file = file.display();
            let what = format!("{file} is there already and differs; nothing in it was changed");
            return Err(Failure::input(
                what,
                format!("move {} away, or write elsewhere with --dir", out.display()),
            ));
        }
    }
    Ok(())
}

/// Writes a file unless another one stands there; one with the same text stays as it is.
pub fn write_new(file: &Path, text: &str, what: &str) -> Result<(), Failure> {
    let name = file.display();
    if file.exists() {
        let same = input::text(file, what).is_ok_and(|old| old == text);
        let differs = || {
            Failure::input(
                format!("{name} is there already and differs from the {what}; it was not changed"),
                "move it away, or write elsewhere",
            )
        };
        return if same { Ok(()) } else { Err(differs()) };
    }
    let mut fresh = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file)
        .map_err(|e| unwritten(file, &e))?;
    fresh.write_all(text.as_bytes()).map_err(|e| {
        // Half a file is worse than none.
        let _ = fs::remove_file(file);
        unwritten(file, &e)
    })
}

fn unwritten(path: &Path, error: &std::io::Error) -> Failure {
    Failure::system(
        format!("{} cannot be written: {error}", path.display()),
        "check the path, the rights and the room on the disk",
    )
}
