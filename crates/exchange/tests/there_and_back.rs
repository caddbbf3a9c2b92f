//! Generated jobs go to GeoJSON and DXF and come back with what each format holds.

use exchange::{Mapping, Options, Target, dxf, geojson};
use job::{Document, LengthUnit};
use proptest::prelude::*;
use serde_json::{Value, json};

fn places(value: &Value, out: &mut Vec<(f64, f64)>) {
    let Some(list) = value.as_array() else { return };
    match (
        list.first().and_then(Value::as_f64),
        list.get(1).and_then(Value::as_f64),
    ) {
        (Some(x), Some(y)) => out.push((x, y)),
        _ => list.iter().for_each(|part| places(part, out)),
    }
}

/// The places of a feature in an order of their own: rings may run the other way round.
fn sorted_places(feature: &Value) -> Vec<(f64, f64)> {
    let mut all = Vec::new();
    places(&feature["geometry"]["coordinates"], &mut all);
    // A ring's first place stands in it twice, whichever it is.
    all.sort_by(|a, b| {
        a.0.round()
            .total_cmp(&b.0.round())
            .then(a.1.total_cmp(&b.1))
    });
    all
}

fn same(was: &[&Value], is: &[Value], within: f64) {
    assert_eq!(was.len(), is.len());
    for (was, is) in was.iter().zip(is) {
        assert_eq!(
            (&was["id"], &was["properties"]),
            (&is["id"], &is["properties"])
        );
        assert_eq!(was["geometry"]["type"], is["geometry"]["type"]);
        let (before, after) = (sorted_places(was), sorted_places(is));
        assert_eq!(before.len(), after.len());
        for (a, b) in before.iter().zip(&after) {
            assert!((a.0 - b.0).hypot(a.1 - b.1) <= within, "{a:?} {b:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_generated_job_goes_to_both_formats_and_back(
        heads in 1..160_u32, seed in 0..1_000_u64, longitude in -179.0..179.0, latitude in -70.0..70.0,
        rotation in -180.0..180.0,
    ) {
        let mut document = Document::of(&job::sample(heads, seed)).unwrap();
        // As people write them; a parser may be off in the last of seventeen digits.
        let [longitude, latitude, rotation] =
            [longitude, latitude, rotation].map(|angle: f64| (angle * 1e6).round() / 1e6);
        document.header.insert(
            "anchor".to_owned(),
            json!({ "longitude": longitude, "latitude": latitude, "rotation": rotation }),
        );
        let target = Target::new(LengthUnit::Ft);
        let (mapping, options) = (Mapping::default(), Options::default());

        let text = geojson::write(&document, &[]).unwrap();
        let back = geojson::read(text.as_bytes(), &target, &mapping, &options).unwrap();
        let all: Vec<&Value> = document.features.iter().collect();
        // A tenth of a millimetre in feet.
        same(&all, &back.features, 0.0001 / 0.3048);
        prop_assert_eq!(back.header.as_ref(), Some(&document.header));

        let text = dxf::write(&document, &[]).unwrap().text;
        let back = dxf::read(text.as_bytes(), &target, &mapping, &options).unwrap();
        let placed: Vec<&Value> = all.into_iter().filter(|f| !f["geometry"].is_null()).collect();
        same(&placed, &back.features, 1e-5);
    }
}
