//! Text to file and back loses nothing, whether it is a job or not yet one.

use super::{names, plain};
use crate::{Picture, Store, StoreError, StoredPlan};
use job::Document;
use layers::{Cell, Column, Holds, Layer, Row, Shape, Sort};
use proptest::prelude::*;
use serde_json::{Map, Value, json};
use std::path::Path;

fn back(document: &Document) -> Document {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a job.gpkg");
    Store::create(&path, document).unwrap().close().unwrap();
    let read = Store::look(&path).unwrap().document().unwrap();
    assert_eq!(names(folder.path()), ["a job.gpkg"]);
    read
}

#[test]
fn the_demos_come_back() {
    for text in job::DEMOS {
        let document = Document::of(text).unwrap();
        let read = back(&document);
        assert_eq!(read, plain(&document));
        assert_eq!(back(&read).text(), read.text());
    }
}

#[test]
fn every_feature_of_a_job_has_a_row() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    let document = Document::of(job::DEMO).unwrap();
    let store = Store::create(&path, &document).unwrap();
    let unfiled: i64 = store
        .connection
        .query_row("SELECT count(*) FROM unfiled", [], |row| row.get(0))
        .unwrap();
    assert_eq!(unfiled, 0);
    let (id, flow): (String, String) = store
        .connection
        .query_row("SELECT id, flow FROM head LIMIT 1", [], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .unwrap();
    let mut features = document.features.iter();
    let wanted = features.find(|f| f["id"] == id.as_str()).unwrap();
    assert_eq!(wanted["properties"]["flow"], flow.as_str());
}

#[test]
fn a_saved_change_keeps_the_numbers_of_other_rows() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    let mut document = Document::of(job::DEMO).unwrap();
    let mut store = Store::create(&path, &document).unwrap();
    let numbers = |store: &Store| -> Vec<(i64, String)> {
        let query = "SELECT fid, id FROM head ORDER BY fid";
        let mut statement = store.connection.prepare(query).unwrap();
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)));
        rows.unwrap().map(Result::unwrap).collect()
    };
    let before = numbers(&store);
    let gone = document
        .features
        .iter()
        .position(|f| f["id"] == before[2].1.as_str());
    document.features.remove(gone.unwrap());
    document.features.push(json!({
        "type": "Feature", "id": "NEW", "geometry": { "type": "Point", "coordinates": [1, 2] },
        "properties": { "kind": "head" },
    }));
    store.save(&document).unwrap();
    let mut wanted = before.clone();
    wanted.remove(2);
    let after = numbers(&store);
    assert_eq!(after[..after.len() - 1], wanted);
    assert_eq!(after.last().unwrap().1, "NEW");
    assert_eq!(store.document().unwrap(), plain(&document));
}

/// A row that another program has added has no position, and comes last.
#[test]
fn what_another_program_added_is_read_and_stays() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    let document = Document::of(job::DEMO).unwrap();
    let mut store = Store::create(&path, &document).unwrap();
    store
        .connection
        .execute_batch(
            "ALTER TABLE head ADD COLUMN seen_by TEXT;
             UPDATE head SET seen_by = 'crew';
             INSERT INTO head (id, geom, flow) SELECT 'EXTRA', geom, 3 FROM head LIMIT 1;",
        )
        .unwrap();
    let mut read = store.document().unwrap();
    let last = read.features.last().unwrap();
    assert_eq!(last["id"], "EXTRA");
    assert_eq!(last["properties"]["flow"], "3");
    read.features.reverse();
    store.save(&read).unwrap();
    assert_eq!(store.document().unwrap(), read);
    let kept: i64 = store
        .connection
        .query_row(
            "SELECT count(*) FROM head WHERE seen_by = 'crew'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    assert!(kept > 5);
}

/// The triggers are those of OGC 12-128r18, annex F.3, for inserting, deleting and changing a shape.
#[test]
fn a_layer_with_a_spatial_index_of_another_program_can_be_changed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    let mut document = Document::of(job::DEMO).unwrap();
    let mut store = Store::create(&path, &document).unwrap();
    let sides = |row: &str| {
        format!(
            "ST_MinX({row}.geom), ST_MaxX({row}.geom), ST_MinY({row}.geom), ST_MaxY({row}.geom)"
        )
    };
    store
        .connection
        .execute_batch(&format!(
            "CREATE VIRTUAL TABLE rtree_head_geom USING rtree(id, minx, maxx, miny, maxy);
             INSERT INTO rtree_head_geom SELECT fid, {} FROM head;
             CREATE TRIGGER rtree_head_geom_insert AFTER INSERT ON head
               WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(new.geom))
               BEGIN INSERT OR REPLACE INTO rtree_head_geom VALUES (new.fid, {1}); END;
             CREATE TRIGGER rtree_head_geom_update1 AFTER UPDATE OF geom ON head
               WHEN old.fid = new.fid AND (new.geom NOT NULL AND NOT ST_IsEmpty(new.geom))
               BEGIN INSERT OR REPLACE INTO rtree_head_geom VALUES (new.fid, {1}); END;
             CREATE TRIGGER rtree_head_geom_delete AFTER DELETE ON head WHEN old.geom NOT NULL
               BEGIN DELETE FROM rtree_head_geom WHERE id = old.fid; END;",
            sides("head"),
            sides("new"),
        ))
        .unwrap();
    let head = |f: &&mut Value| f["properties"]["kind"] == "head";
    let moved = document.features.iter_mut().find(head).unwrap();
    moved["geometry"]["coordinates"] = json!([75, 25]);
    let id = moved["id"].as_str().unwrap().to_owned();
    let last = document
        .features
        .iter()
        .rposition(|f| f["properties"]["kind"] == "head");
    document.features.remove(last.unwrap());
    store.save(&document).unwrap();
    assert_eq!(store.document().unwrap(), plain(&document));
    let query = "SELECT h.id FROM rtree_head_geom AS r JOIN head AS h ON h.fid = r.id
                 WHERE r.minx = 75 AND r.maxy = 25";
    let found: String = store
        .connection
        .query_row(query, [], |row| row.get(0))
        .unwrap();
    assert_eq!(found, id);
    let count = |table: &str| -> i64 {
        let query = format!("SELECT count(*) FROM {table}");
        store
            .connection
            .query_row(&query, [], |row| row.get(0))
            .unwrap()
    };
    assert_eq!(count("rtree_head_geom"), count("head"));
    store.close().unwrap();
    Store::open(&path).unwrap();
}

#[test]
fn nothing_changes_when_the_same_is_saved_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    let document = Document::of(job::DEMO_GARDEN).unwrap();
    let mut store = Store::create(&path, &document).unwrap();
    let changed = |store: &Store| -> Vec<String> {
        let query = "SELECT table_name || last_change FROM gpkg_contents ORDER BY 1";
        let mut statement = store.connection.prepare(query).unwrap();
        let rows = statement.query_map([], |row| row.get(0)).unwrap();
        rows.map(Result::unwrap).collect()
    };
    let before = changed(&store);
    store.save(&document).unwrap();
    assert_eq!(changed(&store), before);
}

fn layer(name: &str, column: &str) -> Layer {
    Layer {
        name: name.to_owned(),
        title: "Stretches".to_owned(),
        sort: Sort::Line,
        columns: vec![Column {
            name: column.to_owned(),
            holds: Holds::Real,
        }],
        rows: vec![Row {
            id: "S1".to_owned(),
            shape: Shape::Line(vec![(0.0, 0.0), (3.048, 0.0)].into()),
            cells: vec![Cell::Real(0.5)],
        }],
    }
}

#[test]
fn a_plan_is_kept_in_the_unit_of_the_job_and_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    let document = Document::of(job::DEMO).unwrap();
    let mut store = Store::create(&path, &document).unwrap();
    assert_eq!(store.plan().unwrap(), None);
    for column in ["depth_in", "depth_mm"] {
        let plan = StoredPlan {
            basis: document.text(),
            plan: format!("{{ \"{column}\": 1 }}"),
        };
        let layers = [layer("plan_stretch", column)];
        store.put_plan(&plan, &layers).unwrap();
        assert_eq!(store.plan().unwrap(), Some(plan));
        let query = format!("SELECT {column} FROM plan_stretch");
        let depth: f64 = store
            .connection
            .query_row(&query, [], |row| row.get(0))
            .unwrap();
        assert_eq!(depth.to_string(), "0.5");
    }
    let query = "SELECT max_x FROM gpkg_contents WHERE table_name = 'plan_stretch'";
    let feet: f64 = store
        .connection
        .query_row(query, [], |row| row.get(0))
        .unwrap();
    assert!((feet - 10.0).abs() < 1e-9);
    store
        .put_plan(&store.plan().unwrap().unwrap(), &[])
        .unwrap();
    let query = "SELECT count(*) FROM sqlite_master WHERE name = 'plan_stretch'";
    let left: i64 = store
        .connection
        .query_row(query, [], |row| row.get(0))
        .unwrap();
    assert_eq!(left, 0);
    assert_eq!(store.document().unwrap(), plain(&document));
}

#[test]
fn pictures_are_kept_replaced_and_taken_out() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    let mut store = Store::create(&path, &Document::of(job::DEMO).unwrap()).unwrap();
    let mut picture = Picture {
        name: "plan".to_owned(),
        bytes: vec![1, 2, 3],
        width: 40,
        height: 30,
        bounds: [0.0, -5.0, 80.0, 55.0],
    };
    store.put_picture(&picture).unwrap();
    picture.bytes = vec![9; 5000];
    store.put_picture(&picture).unwrap();
    assert_eq!(store.pictures().unwrap(), [picture]);
    assert!(store.drop_picture("plan").unwrap());
    assert!(!store.drop_picture("plan").unwrap());
    assert_eq!(store.pictures().unwrap(), []);
}

#[test]
fn nothing_is_made_where_something_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.gpkg");
    std::fs::write(&path, "mine").unwrap();
    let refused = Store::create(&path, &Document::default()).unwrap_err();
    assert!(matches!(refused, StoreError::There(_)));
    assert_eq!(std::fs::read(&path).unwrap(), b"mine");
    let nowhere = folder.path().join("no such folder").join("job.gpkg");
    assert!(Store::create(&nowhere, &Document::default()).is_err());
    assert!(matches!(
        Store::open(Path::new("no such job.gpkg")),
        Err(StoreError::NotThere(_))
    ));
}

fn any_json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        any::<f64>()
            .prop_filter("JSON has no infinity", |x| x.is_finite())
            .prop_map(Value::from),
        ".{0,12}".prop_map(Value::from),
        Just(json!("18 in")),
    ];
    leaf.prop_recursive(3, 12, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            any_object(inner),
        ]
    })
}

fn any_object(value: impl Strategy<Value = Value>) -> impl Strategy<Value = Value> {
    let name = prop_oneof![
        "[a-z/~ ]{0,6}",
        Just("kind".to_owned()),
        Just("note".to_owned()),
        Just("flow".to_owned()),
        Just("located".to_owned()),
        Just("practice".to_owned()),
    ];
    prop::collection::vec((name, value), 0..4)
        .prop_map(|members| Value::from(members.into_iter().collect::<Map<_, _>>()))
}

fn any_place() -> impl Strategy<Value = Value> + Clone {
    (-1e6..1e6, -1e6..1e6).prop_map(|(x, y): (f64, f64)| json!([x, y]))
}

fn any_shape() -> impl Strategy<Value = Value> {
    let places = prop::collection::vec(any_place(), 0..5);
    prop_oneof![
        Just(Value::Null),
        any_place().prop_map(|at| json!({ "type": "Point", "coordinates": at })),
        places
            .clone()
            .prop_map(|at| json!({ "type": "LineString", "coordinates": at })),
        places
            .clone()
            .prop_map(|at| json!({ "type": "MultiPoint", "coordinates": at })),
        prop::collection::vec(places, 0..3)
            .prop_map(|rings| json!({ "type": "Polygon", "coordinates": rings })),
        any_json(),
    ]
}

/// A feature that may be one of a job, nearly one, or none.
fn any_feature() -> impl Strategy<Value = Value> {
    let kinds: Vec<&str> = job::kinds().map(|kind| kind.name).collect();
    let kind = prop::sample::select(kinds).prop_map(Value::from);
    let kind = prop_oneof![9 => kind, 1 => any_json()];
    let id = prop_oneof![8 => "[A-Z]{1,2}".prop_map(Value::from), 1 => any_json()];
    let known = (id, kind, any_shape(), any_object(any_json()), any::<bool>()).prop_map(
        |(id, kind, shape, mut properties, foreign)| {
            properties["kind"] = kind;
            let mut feature =
                json!({ "type": "Feature", "id": id, "geometry": shape, "properties": properties });
            if foreign {
                feature["bbox"] = json!([0, 0, 1, 1.5]);
            }
            feature
        },
    );
    prop_oneof![12 => known, 1 => any_json()]
}

fn any_document() -> impl Strategy<Value = Document> {
    let object = || any_object(any_json());
    let features = prop::collection::vec(any_feature(), 0..12);
    (object(), object(), features).prop_map(|(header, others, features)| {
        let map = |value: Value| value.as_object().cloned().unwrap_or_default();
        let mut others = map(others);
        others.retain(|name, _| !["type", "features", "spadework"].contains(&name.as_str()));
        Document {
            header: map(header),
            features,
            others,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn any_document_comes_back(document in any_document(), next in any_document()) {
        let read = back(&document);
        prop_assert_eq!(&read, &plain(&document));
        // And after it has been changed into any other.
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("job.gpkg");
        let mut store = Store::create(&path, &document).unwrap();
        store.save(&next).unwrap();
        prop_assert_eq!(store.document().unwrap(), plain(&next));
        // The text form says the same.
        let text = Document::of(&read.text()).unwrap();
        prop_assert_eq!(plain(&text), read);
    }
}
