//! Whatever the text, the reader answers, quickly and without a panic.

use job::{LARGEST_FILE, ReadOptions, read};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{block, findings, yard};

/// Values that do not belong where they are put.
fn odd_values() -> Vec<Value> {
    vec![
        Value::Null,
        json!(true),
        json!(-1),
        json!(1e308),
        json!(u64::MAX),
        json!(""),
        json!("NaN psi"),
        json!("1e308 ft"),
        json!("-3 gpm"),
        json!("🪏"),
        json!([]),
        json!([[[]]]),
        json!([[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]]),
        json!([[1e300, -1e300]]),
        json!({}),
        json!({ "type": "Polygon", "coordinates": [[]] }),
        json!({ "value": [] }),
    ]
}

/// Every place in a document, as JSON pointers.
fn pointers(value: &Value, at: &str, all: &mut Vec<String>) {
    all.push(at.to_owned());
    match value {
        Value::Object(object) => {
            object
                .iter()
                .for_each(|(key, inner)| pointers(inner, &format!("{at}/{key}"), all));
        }
        Value::Array(list) => {
            let inner = list.iter().enumerate();
            inner.for_each(|(n, inner)| pointers(inner, &format!("{at}/{n}"), all));
        }
        _ => {}
    }
}

fn changed(changes: &[(prop::sample::Index, prop::sample::Index)]) -> Value {
    let mut document = yard();
    document["spadework"]["practice"] = json!({ "cover": { "main": { "value": "20 in" } } });
    document["spadework"]["prices"] = json!({ "pipe": { "pvc_sch40": { "1 in": 2 } } });
    let odd = odd_values();
    for (place, value) in changes {
        let mut all = Vec::new();
        pointers(&document, "", &mut all);
        let pointer = &all[place.index(all.len())];
        *document.pointer_mut(pointer).unwrap() = odd[value.index(odd.len())].clone();
    }
    document
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_answered(text in any::<String>()) {
        prop_assert!(read(&text, &ReadOptions::default()).is_err());
    }

    #[test]
    fn any_json_is_answered(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let signs = br#"{}[],:"0123456789.e-+ truefalsnbc"#;
        let text: String = bytes.iter().map(|b| char::from(signs[*b as usize % signs.len()])).collect();
        prop_assert!(read(&text, &ReadOptions::default()).is_err());
    }

    #[test]
    fn a_job_with_any_values_changed_is_answered(
        changes in prop::collection::vec(any::<(prop::sample::Index, prop::sample::Index)>(), 1..6),
    ) {
        for finding in findings(&changed(&changes).to_string()) {
            prop_assert!(!finding.mend.is_empty() && !finding.what.is_empty());
        }
    }

    #[test]
    fn a_job_with_any_bytes_changed_is_answered(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<char>()), 1..6),
    ) {
        let mut text: Vec<char> = block("json job").chars().collect();
        for (at, sign) in changes {
            let at = at.index(text.len());
            text[at] = sign;
        }
        findings(&text.into_iter().collect::<String>());
    }

    #[test]
    fn any_local_file_is_answered(text in "[a-z\\[\\]={}\",.0-9 \n]{0,80}") {
        let options = ReadOptions { practice: Some(text.clone()), prices: Some(text) };
        let _ = read(block("json job"), &options);
    }
}

#[test]
fn two_hundred_megabytes_of_noise_are_refused_unparsed() {
    let noise = "[".repeat(200 << 20);
    assert!(noise.len() > LARGEST_FILE);
    let found = findings(&noise);
    assert_eq!(found[0].rule, "file-too-large");
}

#[test]
fn deep_nesting_and_many_values_are_refused() {
    assert_eq!(findings(&"[".repeat(1 << 20))[0].rule, "not-json");
    assert_eq!(findings(&"{\"a\":".repeat(100_000))[0].rule, "not-json");
    let many = format!("[{}0]", "0,".repeat(9_000_000));
    assert_eq!(findings(&many)[0].rule, "file-too-large");
}

#[test]
fn a_flood_of_findings_is_cut() {
    let mut document = yard();
    let features = document["features"].as_array_mut().unwrap();
    features.extend((0..3_000).map(|n| json!({ "type": "Feature", "id": n })));
    let found = findings(&document.to_string());
    assert_eq!(found.len(), 1_001);
    assert_eq!(found[1_000].rule, "more-findings");
}

#[test]
fn a_line_of_too_many_places_is_refused() {
    let places: Vec<Value> = (0..5_001).map(|n| json!([n, 1])).collect();
    let mut document = yard();
    document["features"][0]["geometry"] = json!({ "type": "Polygon", "coordinates": [places] });
    assert_eq!(findings(&document.to_string())[0].rule, "too-many-places");
}

#[test]
fn the_largest_ring_is_searched_quickly() {
    // A comb: every tooth spans the whole height, so that a search by x alone is at its worst.
    let teeth = 2_490;
    let mut ring = vec![json!([0, -1])];
    for n in 0..teeth {
        let x = f64::from(n) * 1e-3;
        let y = if n % 2 == 0 { 10 } else { 0 };
        ring.push(json!([x, y]));
        ring.push(json!([x + 5e-4, 10 - y]));
    }
    ring.push(json!([3, -1]));
    ring.push(json!([0, -1]));
    let mut document = yard();
    document["features"][3]["geometry"]["coordinates"] = json!([ring]);
    let start = std::time::Instant::now();
    findings(&document.to_string());
    assert!(start.elapsed().as_secs() < 5, "{:?}", start.elapsed());
}
