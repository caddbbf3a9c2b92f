//! What holds of the sheets of every demo: looked at as they are laid out, box by box.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

use job::{Job, ReadOptions};
use plan::Plan;
use quantity::Units;
use sheets::{Sheet, TABLES, Wanted, offer_world, pdf, tables, world};
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use typst::layout::{Frame, FrameItem, Point, Rect};
use typst_layout::PagedDocument;

fn planned(text: &str) -> (Job, Plan) {
    let job = job::read(text, &ReadOptions::default()).unwrap().job;
    let plan = plan::plan(&job, &|_| ControlFlow::Continue(())).unwrap();
    (plan.planned(&job), plan)
}

fn all(units: Units) -> Wanted {
    Wanted {
        only: Vec::new(),
        units,
        version: Some("A <b> #strong[x] \"2\" \\ $1$".to_owned()),
    }
}

/// A run of text as it lies on its page, millimetres.
struct Run {
    text: String,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    size: f64,
    tofu: bool,
}

fn runs(frame: &Frame, at: Point, into: &mut Vec<Run>) {
    for (offset, item) in frame.items() {
        let at = at + *offset;
        match item {
            FrameItem::Group(group) => runs(&group.frame, at, into),
            FrameItem::Text(text) if !text.text.trim().is_empty() => {
                let Rect { min, max } = text.bbox();
                into.push(Run {
                    text: text.text.to_string(),
                    left: (at.x + min.x).to_mm(),
                    right: (at.x + max.x).to_mm(),
                    // A run's box has its upper edge at the larger y, its frame at the smaller.
                    top: (at.y + max.y).to_mm(),
                    bottom: (at.y + min.y).to_mm(),
                    size: text.size.to_pt(),
                    tofu: text.glyphs.iter().any(|glyph| glyph.id == 0),
                });
            }
            _ => {}
        }
    }
}

/// No text leaves the paper, none lies on another, every letter is there, and none is too small.
fn look(document: &PagedDocument, name: &str) {
    for (number, page) in (1..).zip(document.pages()) {
        let mut all = Vec::new();
        runs(&page.frame, Point::zero(), &mut all);
        let (width, height) = (page.frame.width().to_mm(), page.frame.height().to_mm());
        let stands = all
            .iter()
            .all(|run| run.top < run.bottom && run.left < run.right);
        assert!(stands && !all.is_empty(), "{name}, page {number}");
        for run in &all {
            let inside = run.left > 10.0
                && run.right < width - 10.0
                && run.top > 5.0
                && run.bottom < height - 5.0;
            assert!(
                inside,
                "{name}, page {number}: \"{}\" leaves the paper",
                run.text
            );
            assert!(
                !run.tofu,
                "{name}, page {number}: no letters for \"{}\"",
                run.text
            );
            assert!(
                run.size > 7.9,
                "{name}, page {number}: \"{}\" is small",
                run.text
            );
        }
        for (place, one) in all.iter().enumerate() {
            for other in &all[place + 1..] {
                let wide = one.right.min(other.right) - one.left.max(other.left);
                let high = one.bottom.min(other.bottom) - one.top.max(other.top);
                assert!(
                    wide < 0.2 || high < 0.2,
                    "{name}, page {number}: \"{}\" lies on \"{}\"",
                    one.text,
                    other.text
                );
            }
        }
    }
}

fn holds(name: &str, text: &str) {
    let (job, plan) = planned(text);
    for units in [Units::Us, Units::Si] {
        let wanted = all(units);
        let world = world(&job, &plan, &wanted).unwrap();
        look(&typst::compile(&world).output.unwrap(), name);
        let world = offer_world(&job, &plan, units, wanted.version.as_deref()).unwrap();
        look(
            &typst::compile(&world).output.unwrap(),
            &format!("offer of {name}"),
        );
        for table in tables(&job, &plan, units) {
            assert!(
                TABLES.contains(&table.name),
                "{} is not in the list",
                table.name
            );
            let csv = table.csv().unwrap();
            let lines = csv::Reader::from_reader(csv.as_bytes())
                .into_records()
                .count();
            assert!(lines > 0, "{} is empty", table.name);
        }
    }
    let wanted = all(job.units);
    let first = pdf(&job, &plan, &wanted).unwrap();
    assert!(
        first == pdf(&job, &plan, &wanted).unwrap(),
        "not the same bytes"
    );
    let other = Wanted {
        version: None,
        ..wanted
    };
    assert!(first != pdf(&job, &plan, &other).unwrap());
}

#[test]
fn sheets_of_the_house_lie_well() {
    holds("house", job::DEMO);
}

#[test]
fn sheets_of_the_courtyard_lie_well() {
    holds("courtyard", job::DEMO_COURTYARD);
}

#[test]
fn sheets_of_the_hillside_lie_well() {
    holds("hillside", job::DEMO_HILLSIDE);
}

#[test]
fn names_of_sheets_and_tables_are_told_apart() {
    let names: BTreeSet<&str> = Sheet::ALL.into_iter().map(Sheet::name).collect();
    assert_eq!(names.len(), Sheet::ALL.len());
    assert!(
        Sheet::ALL
            .iter()
            .all(|s| Sheet::named(s.name()) == Some(*s))
    );
    let tables: BTreeSet<&str> = TABLES.into_iter().collect();
    assert_eq!(tables.len(), TABLES.len());
}
