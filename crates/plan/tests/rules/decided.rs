//! A method that the user has decided on is used, or its stretches are named.

use job::{DEMO_COURTYARD, Document, LengthUnit, ReadOptions, Step};
use plan::Plan;
use plan::routes::{LineKind, Stretch};
use serde_json::json;
use std::ops::ControlFlow;

fn planned(document: &Document) -> (job::Job, Plan) {
    let job = document.read(&ReadOptions::default()).unwrap().job;
    let plan = plan::plan(&job, &|_| ControlFlow::Continue(())).unwrap();
    (job, plan)
}

/// The demo with its longest trench fixed and put in by a method.
fn fixed(method: &str) -> (Document, Vec<[f64; 2]>) {
    let mut document = Document::of(DEMO_COURTYARD).unwrap();
    let (_, plan) = planned(&document);
    let longest = |s: &&Stretch| s.sleeve.is_none() && s.ground.zones.is_empty();
    let stretch = plan
        .network
        .stretches
        .iter()
        .filter(longest)
        .max_by(|a, b| a.length.si().total_cmp(&b.length.si()))
        .unwrap();
    let carries: Vec<String> = stretch
        .carries
        .iter()
        .map(|&line| match &plan.network.lines[line].kind {
            LineKind::Service => "service".to_owned(),
            LineKind::Main => "main".to_owned(),
            LineKind::Wire => "wire".to_owned(),
            LineKind::Lateral(id) | LineKind::Cable(id) => id.clone(),
        })
        .collect();
    let unit = document.length_unit().unwrap_or(LengthUnit::M).to_m();
    let path: Vec<[f64; 2]> = stretch
        .path
        .iter()
        .map(|p| [p.x / unit, p.y / unit])
        .collect();
    let feature = json!({
        "type": "Feature", "id": "DECIDED",
        "geometry": { "type": "LineString", "coordinates": path },
        "properties": { "kind": "fixed_trench", "carries": carries.join(","), "method": method },
    });
    document.change(&[Step::Put { feature, at: None }]).unwrap();
    (document, path)
}

/// The methods of the stretches between the ends of a fixed trench.
fn methods_on(plan: &Plan, unit: f64, path: &[[f64; 2]]) -> Vec<String> {
    let near = |place: &job::Place| {
        path.windows(2).any(|pair| {
            let [a, b] = [pair[0], pair[1]].map(|[x, y]| (x * unit, y * unit));
            let (dx, dy) = (b.0 - a.0, b.1 - a.1);
            let t = ((place.x - a.0) * dx + (place.y - a.1) * dy) / (dx * dx + dy * dy).max(1e-12);
            let t = t.clamp(0.0, 1.0);
            (place.x - a.0 - t * dx).hypot(place.y - a.1 - t * dy) < 1e-3
        })
    };
    let digs = plan.digging.digs.iter();
    digs.filter(|dig| plan.network.stretch(dig.stretch).path.iter().all(near))
        .map(|dig| dig.method.to_string())
        .collect()
}

#[test]
fn a_decided_method_is_used() {
    let (document, path) = fixed("walk_trencher");
    let (job, plan) = planned(&document);
    let unit = document.length_unit().unwrap().to_m();
    let methods = methods_on(&plan, unit, &path);
    assert!(!methods.is_empty());
    let finding = plan
        .findings
        .iter()
        .find(|f| f.rule == "no-feasible-method");
    // No machine gets into the courtyard: the wish is named where it cannot be met.
    let finding = finding.expect("a method that cannot be is named");
    assert!(finding.what.contains("method"), "{finding:?}");
    drop(job);

    let (document, path) = fixed("spade");
    let (_, plan) = planned(&document);
    let methods = methods_on(&plan, unit, &path);
    assert!(!methods.is_empty());
    assert!(
        methods.iter().all(|method| method == "spade"),
        "{methods:?}"
    );
    let decided = |dig: &&plan::digging::Dig| {
        let others = dig.rejected.iter();
        others
            .clone()
            .any(|other| other.why.contains("decided on here"))
    };
    assert_eq!(
        plan.digging.digs.iter().filter(decided).count(),
        methods.len()
    );
}
