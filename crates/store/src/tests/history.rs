//! Changes written down with what takes them back.

use job::{DEMO, Document, Step};
use serde_json::json;
use tempfile::tempdir;

use crate::{Change, Sort, Store};

fn edit(label: &str, steps: Vec<Step>, back: Vec<Step>) -> Change {
    Change {
        sort: Sort::Edit,
        label: label.to_owned(),
        of: None,
        steps,
        back,
    }
}

#[test]
fn a_change_and_what_it_led_to_are_in_the_file_together() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.gpkg");
    let mut document = Document::of(DEMO).unwrap();
    let mut store = Store::create(&path, &document).unwrap();
    assert_eq!(store.version().unwrap(), 0);
    let steps = vec![Step::Set {
        path: "/name".into(),
        value: json!("Another"),
    }];
    let back = document.change(&steps).unwrap();
    let change = edit("Named it", steps.clone(), back.clone());
    assert_eq!(store.record(&document, &change).unwrap(), 1);
    store.close().unwrap();

    let store = Store::look(&path).unwrap();
    assert_eq!(store.document().unwrap(), document);
    assert_eq!(store.steps(1).unwrap(), Some((steps, back.clone())));
    assert_eq!(store.steps(2).unwrap(), None);
    let lines = store.history(i64::MAX, 10).unwrap();
    assert_eq!(lines.len(), 1);
    assert_eq!((lines[0].version, lines[0].label.as_str()), (1, "Named it"));
    document.change(&back).unwrap();
    assert_eq!(document, Document::of(DEMO).unwrap());
}

#[test]
fn variants_are_kept_under_one_name_each() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.gpkg");
    let mut store = Store::create(&path, &Document::of(DEMO).unwrap()).unwrap();
    store.keep("By hand", 0, "1").unwrap();
    store.keep("Plowed", 0, "2").unwrap();
    store.keep("By hand", 0, "3").unwrap();
    let names: Vec<(String, String)> = store
        .variants()
        .unwrap()
        .into_iter()
        .map(|variant| (variant.name, variant.totals))
        .collect();
    let wanted = [("Plowed", "2"), ("By hand", "3")].map(|(n, t)| (n.to_owned(), t.to_owned()));
    assert_eq!(names, wanted);
    assert!(store.forget("Plowed").unwrap());
    assert!(!store.forget("Plowed").unwrap());
}

#[test]
fn what_another_program_changes_is_noticed() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.gpkg");
    let mut document = Document::of(DEMO).unwrap();
    let mut mine = Store::create(&path, &document).unwrap();
    let before = mine.touched().unwrap();
    mine.save(&document).unwrap();
    assert_eq!(mine.touched().unwrap(), before);
    document.header.insert("name".into(), json!("Theirs"));
    let mut theirs = Store::open(&path).unwrap();
    theirs.save(&document).unwrap();
    theirs.close().unwrap();
    assert_ne!(mine.touched().unwrap(), before);
}
