//! The planner as a page sees it.

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::ConnectInfo;
use axum::http::{Request, Response, StatusCode, header};
use futures_util::StreamExt;
use http_body_util::BodyExt;
use job::{DEMO_COURTYARD, DEMO_GARDEN, Document, ReadOptions};
use plan::{Plan, PlanError};
use serde_json::{Value, json};
use std::net::SocketAddr;
use std::ops::ControlFlow;
use std::sync::Arc;
use std::time::{Duration, Instant};
use store::Store;
use tempfile::{TempDir, tempdir};
use tower::ServiceExt;

use crate::desk::Desk;
use crate::guard::Guard;
use crate::serving::app;
use crate::view::{Quality, plan_view};

/// How long a plan may take on a machine that is busy with other things; no claim about speed.
const PATIENCE: Duration = Duration::from_secs(240);

/// A served job in a folder of its own.
struct Served {
    folder: TempDir,
    app: Router,
    desk: Arc<Desk>,
    token: String,
}

impl Served {
    fn of(document: &Document) -> Self {
        let folder = tempdir().unwrap();
        let store = Store::create(&folder.path().join("job.gpkg"), document).unwrap();
        Self::open(folder, store)
    }

    fn open(folder: TempDir, store: Store) -> Self {
        let desk = Arc::new(Desk::open(store, ReadOptions::default()).unwrap());
        let guard = Arc::new(Guard::alone().unwrap());
        let token = guard.token.clone();
        let app = app(Arc::clone(&desk), guard);
        Self {
            folder,
            app,
            desk,
            token,
        }
    }

    /// Closes it and opens the file again.
    fn again(self) -> Self {
        let Self {
            folder, app, desk, ..
        } = self;
        desk.put_away().unwrap();
        drop((app, desk));
        let store = Store::open(&folder.path().join("job.gpkg")).unwrap();
        Self::open(folder, store)
    }

    async fn ask(&self, mut request: Request<Body>) -> Response<Body> {
        let from: SocketAddr = "127.0.0.1:5000".parse().unwrap();
        request.extensions_mut().insert(ConnectInfo(from));
        self.app.clone().oneshot(request).await.unwrap()
    }

    async fn get(&self, path: &str) -> (StatusCode, Value) {
        let request = Request::get(path)
            .header(header::HOST, "127.0.0.1:4870")
            .body(Body::empty())
            .unwrap();
        read(self.ask(request).await).await
    }

    async fn post(&self, path: &str, body: Value) -> (StatusCode, Value) {
        let request = Request::post(path)
            .header(header::HOST, "127.0.0.1:4870")
            .header(header::CONTENT_TYPE, "application/json")
            .header("x-spadework", &self.token)
            .body(Body::from(body.to_string()))
            .unwrap();
        read(self.ask(request).await).await
    }

    async fn edit(&self, label: &str, ops: Value) -> i64 {
        let edit = json!({ "label": label, "tab": "t", "ops": ops });
        let (status, answer) = self.post("/api/edits", edit).await;
        assert_eq!(status, StatusCode::OK, "{answer}");
        answer["version"].as_i64().unwrap()
    }

    async fn feature(&self, id: &str) -> Option<Value> {
        let (_, job) = self.get("/api/job").await;
        let features = job["features"].as_array().unwrap();
        features.iter().find(|f| f["id"] == id).cloned()
    }

    /// The plan of the newest version, once it is there.
    async fn plan(&self, quality: &str) -> Value {
        let begun = Instant::now();
        loop {
            let (_, job) = self.get("/api/job").await;
            let (status, plan) = self.get("/api/plan").await;
            let is_it = plan["version"] == job["version"] && plan["quality"] == quality;
            if status == StatusCode::OK && is_it {
                return plan;
            }
            assert!(begun.elapsed() < PATIENCE, "no plan: {status} {job:.200}");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }
}

async fn read(response: Response<Body>) -> (StatusCode, Value) {
    let status = response.status();
    let bytes: Bytes = response.into_body().collect().await.unwrap().to_bytes();
    (status, serde_json::from_slice(&bytes).unwrap_or_default())
}

/// Runs a test with a planner over a document.
fn with(document: &Document, test: impl AsyncFnOnce(Served)) {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(test(Served::of(document)));
}

fn courtyard() -> Document {
    Document::of(DEMO_COURTYARD).unwrap()
}

fn head() -> Value {
    let document = courtyard();
    let is_head = |f: &&Value| f["properties"]["kind"] == "head";
    document.features.iter().find(is_head).unwrap().clone()
}

fn moved(feature: &Value, by: f64) -> Value {
    let mut moved = feature.clone();
    let x = moved["geometry"]["coordinates"][0].as_f64().unwrap();
    moved["geometry"]["coordinates"][0] = json!(x + by);
    moved
}

#[test]
fn a_change_is_in_the_file_and_planned() {
    with(&courtyard(), async |served: Served| {
        let first = served.plan("full").await;
        assert!(!first["stretches"].as_array().unwrap().is_empty());
        let head = moved(&head(), 0.4);
        let id = head["id"].as_str().unwrap().to_owned();
        let version = served
            .edit("Moved it", json!([{ "op": "put", "feature": head }]))
            .await;
        let file = Store::look(&served.folder.path().join("job.gpkg")).unwrap();
        assert!(file.document().unwrap().features.contains(&head));
        let plan = served.plan("full").await;
        assert_eq!(plan["version"], version);
        let outlets = plan["outlets"].as_array().unwrap();
        let outlet = outlets.iter().find(|outlet| outlet["id"] == id).unwrap();
        let off = outlet["at"][0].as_f64().unwrap()
            - head["geometry"]["coordinates"][0].as_f64().unwrap();
        assert!(off.abs() < 1e-3);
        // What is shown of a figure is what its working says.
        let (status, working) = served.get("/api/working?figure=price.total").await;
        assert_eq!(status, StatusCode::OK);
        assert_eq!(working["value"], plan["money"]["total"]["text"]);
    });
}

#[test]
fn whoever_listens_is_told_the_plan() {
    with(&courtyard(), async |served: Served| {
        let listened = Request::get("/api/events")
            .header(header::HOST, "127.0.0.1:4870")
            .body(Body::empty())
            .unwrap();
        let mut events = served.ask(listened).await.into_body().into_data_stream();
        let head = moved(&head(), 0.4);
        let version = served
            .edit("Moved it", json!([{ "op": "put", "feature": head }]))
            .await;
        let mut text = String::new();
        let plan = loop {
            let bytes = tokio::time::timeout(PATIENCE, events.next()).await;
            text += str::from_utf8(&bytes.unwrap().unwrap().unwrap()).unwrap();
            let whole = text.rfind("\n\n").map_or(0, |end| end + 2);
            let told: String = text.drain(..whole).collect();
            let mut plans = told
                .split("\n\n")
                .filter_map(|event| event.strip_prefix("event: planned\ndata: "))
                .map(|data| serde_json::from_str::<Value>(data).unwrap());
            let is_it = |plan: &Value| plan["version"] == version && plan["quality"] == "full";
            if let Some(plan) = plans.find(is_it) {
                break plan;
            }
        };
        assert_eq!(plan, served.plan("full").await);
    });
}

#[test]
fn changes_are_taken_back_and_made_again_also_after_closing() {
    with(&courtyard(), async |served: Served| {
        let before = head();
        let id = before["id"].as_str().unwrap().to_owned();
        for by in [1.0, 2.0] {
            served
                .edit(
                    "Moved it",
                    json!([{ "op": "put", "feature": moved(&before, by) }]),
                )
                .await;
        }
        let served = served.again();
        let tab = json!({ "tab": "t" });
        served.post("/api/undo", tab.clone()).await;
        assert_eq!(served.feature(&id).await.unwrap(), moved(&before, 1.0));
        served.post("/api/undo", tab.clone()).await;
        assert_eq!(served.feature(&id).await.unwrap(), before);
        let (status, _) = served.post("/api/undo", tab.clone()).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        served.post("/api/redo", tab.clone()).await;
        served.post("/api/redo", tab).await;
        assert_eq!(served.feature(&id).await.unwrap(), moved(&before, 2.0));
        let back = json!({ "tab": "t", "version": 1 });
        served.post("/api/return", back).await;
        assert_eq!(served.feature(&id).await.unwrap(), moved(&before, 1.0));
        let (_, history) = served.get("/api/history").await;
        assert_eq!(history.as_array().unwrap().len(), 7);
    });
}

#[test]
fn a_drag_is_taken_back_as_one() {
    with(&courtyard(), async |served: Served| {
        let before = head();
        let id = before["id"].as_str().unwrap().to_owned();
        for by in [0.2, 0.4, 0.6] {
            let ops = json!([{ "op": "put", "feature": moved(&before, by) }]);
            let edit = json!({ "label": "Moved it", "tab": "t", "gesture": "drag 1", "ops": ops });
            let (status, _) = served.post("/api/edits", edit).await;
            assert_eq!(status, StatusCode::OK);
        }
        let (_, history) = served.get("/api/history").await;
        assert_eq!(history.as_array().unwrap().len(), 1);
        let served = served.again();
        served.post("/api/undo", json!({ "tab": "t" })).await;
        assert_eq!(served.feature(&id).await.unwrap(), before);
        served.post("/api/redo", json!({ "tab": "t" })).await;
        assert_eq!(served.feature(&id).await.unwrap(), moved(&before, 0.6));
    });
}

#[test]
fn what_cannot_be_planned_is_kept_and_told() {
    with(&courtyard(), async |served: Served| {
        let mut head = head();
        head["properties"]["flow"] = json!("a lot");
        served
            .edit("Spoilt it", json!([{ "op": "put", "feature": head }]))
            .await;
        let (_, job) = served.get("/api/job").await;
        let findings = job["findings"].as_array().unwrap();
        let finding = findings
            .iter()
            .find(|f| f["subject"] == head["id"])
            .unwrap();
        assert_eq!(finding["severity"], "error");
        assert!(finding["at"].is_array());
        assert_eq!(
            served.feature(head["id"].as_str().unwrap()).await.unwrap(),
            head
        );
    });
}

#[test]
fn a_new_job_begins_empty_and_takes_a_whole_one() {
    let empty = Document {
        header: courtyard().header,
        ..Document::default()
    };
    with(&empty, async |served: Served| {
        let (_, job) = served.get("/api/job").await;
        assert_eq!(job["features"], json!([]));
        let request = Request::post("/api/import?name=garden.json&tab=t")
            .header(header::HOST, "localhost:4870")
            .header("x-spadework", &served.token)
            .body(Body::from(DEMO_COURTYARD))
            .unwrap();
        let (status, taken) = read(served.ask(request).await).await;
        assert_eq!(status, StatusCode::OK, "{taken}");
        let (_, job) = served.get("/api/job").await;
        assert_eq!(
            job["features"].as_array().unwrap().len(),
            courtyard().features.len()
        );
        let request = Request::post("/api/import?name=noise.dxf&tab=t")
            .header(header::HOST, "localhost:4870")
            .header("x-spadework", &served.token)
            .body(Body::from("no drawing at all"))
            .unwrap();
        let (status, problem) = read(served.ask(request).await).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(problem["what"].as_str().unwrap().contains("noise.dxf"));
    });
}

#[test]
fn variants_are_kept_compared_and_opened() {
    with(&courtyard(), async |served: Served| {
        served.plan("full").await;
        let (status, _) = served
            .post("/api/variants", json!({ "name": "As drawn" }))
            .await;
        assert_eq!(status, StatusCode::OK);
        served
            .edit(
                "Dearer",
                json!([{ "op": "set", "path": "/prices/labour/wage", "value": 90 }]),
            )
            .await;
        let plan = served.plan("full").await;
        let totals = plan["against"]["totals"].as_array().unwrap();
        let price = totals.iter().find(|total| total["id"] == "price").unwrap();
        assert!(price["value"].as_f64().unwrap() > 0.0);
        assert!(price["fig"]["text"].as_str().unwrap().starts_with('+'));
        let (_, settings) = served.get("/api/settings").await;
        let all = settings.as_array().unwrap();
        let wage = all
            .iter()
            .find(|s| s["path"] == "/prices/labour/wage")
            .unwrap();
        assert_eq!(
            (&wage["changed"], &wage["value"]),
            (&json!(true), &json!("90"))
        );
        let open = json!({ "name": "As drawn", "tab": "t" });
        served.post("/api/variants/open", open).await;
        let (_, job) = served.get("/api/job").await;
        assert_eq!(
            job["header"].get("prices"),
            courtyard().header.get("prices")
        );
        let (status, _) = served
            .post("/api/variants/drop", json!({ "name": "As drawn" }))
            .await;
        assert_eq!(status, StatusCode::OK);
    });
}

#[test]
fn what_another_program_changes_is_noticed() {
    with(&courtyard(), async |served: Served| {
        let path = served.folder.path().join("job.gpkg");
        let mut theirs = Store::open(&path).unwrap();
        let mut document = theirs.document().unwrap();
        document.header.insert("name".into(), json!("Theirs"));
        theirs.save(&document).unwrap();
        theirs.close().unwrap();
        let (_, job) = served.get("/api/job").await;
        assert_eq!(job["header"]["name"], "Theirs");
        assert_eq!(job["undo"], "Changed by another program");
    });
}

#[test]
fn other_sites_and_requests_without_the_token_are_refused() {
    with(&courtyard(), async |served: Served| {
        let refused = [
            Request::get("/api/job").header(header::HOST, "example.org"),
            Request::get("/api/job")
                .header(header::HOST, "127.0.0.1:1")
                .header("sec-fetch-site", "cross-site"),
            Request::get("/api/job")
                .header(header::HOST, "127.0.0.1:1")
                .header(header::ORIGIN, "http://example.org"),
            Request::post("/api/undo").header(header::HOST, "127.0.0.1:1"),
            Request::post("/api/undo")
                .header(header::HOST, "127.0.0.1:1")
                .header("x-spadework", "guessed"),
        ];
        for request in refused {
            let response = served.ask(request.body(Body::empty()).unwrap()).await;
            assert_eq!(response.status(), StatusCode::FORBIDDEN);
            assert!(
                response
                    .headers()
                    .contains_key(header::CONTENT_SECURITY_POLICY)
            );
        }
        let far: SocketAddr = "192.0.2.7:5000".parse().unwrap();
        let mut request = Request::get("/api/job")
            .header(header::HOST, "127.0.0.1:1")
            .body(Body::empty())
            .unwrap();
        request.extensions_mut().insert(ConnectInfo(far));
        let response = served.app.clone().oneshot(request).await.unwrap();
        assert_eq!(response.status(), StatusCode::FORBIDDEN);
    });
}

#[test]
fn paths_lead_nowhere_but_into_the_page() {
    with(&courtyard(), async |served: Served| {
        for path in [
            "/../Cargo.toml",
            "/assets/../../x",
            "/%2e%2e/Cargo.toml",
            "/api/nothing",
            "//etc/passwd",
        ] {
            let (status, _) = served.get(path).await;
            assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
        }
    });
}

#[test]
fn sheets_are_printed_of_a_whole_plan_alone() {
    with(&courtyard(), async |served| {
        let (status, problem) = served.get("/api/sheets?only=cut-list,nonsense").await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{problem}");
        assert!(problem["what"].as_str().unwrap().contains("nonsense"));
        served.plan("full").await;
        for path in ["/api/sheets?only=cut-list,talk", "/api/offer"] {
            let request = Request::get(path)
                .header(header::HOST, "127.0.0.1:4870")
                .body(Body::empty())
                .unwrap();
            let answer = served.ask(request).await;
            assert_eq!(answer.status(), StatusCode::OK, "{path}");
            assert_eq!(answer.headers()[header::CONTENT_TYPE], "application/pdf");
            let pdf = answer.into_body().collect().await.unwrap().to_bytes();
            assert!(pdf.starts_with(b"%PDF-"), "{path}");
        }
        // Of a job that cannot be planned nothing is printed, least of all the plan before.
        let mut broken = head();
        broken["properties"]["flow"] = json!("nonsense");
        served
            .edit("Broke H1", json!([{ "op": "put", "feature": broken }]))
            .await;
        let (status, _) = served.get("/api/sheets").await;
        assert_eq!(status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn the_description_speaks_of_this_project_alone() {
    let text = crate::description();
    let about: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(about["info"]["title"], "Spadework planner");
    assert!(about["info"].get("contact").is_none());
    assert!(about["paths"].as_object().unwrap().len() >= 18);
}

/// Where two values are not the same.
fn unlike(a: &Value, b: &Value, at: String) -> Vec<String> {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) if a.len() == b.len() => {
            let parts = a.iter();
            parts
                .flat_map(|(key, value)| unlike(value, &b[key], format!("{at}/{key}")))
                .collect()
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            let parts = a.iter().zip(b).enumerate();
            parts
                .flat_map(|(i, (a, b))| unlike(a, b, format!("{at}/{i}")))
                .collect()
        }
        _ if a == b => Vec::new(),
        _ => vec![format!("{at}: {a} and {b}")],
    }
}

#[test]
fn a_draft_shows_the_figures_that_it_shows_with_its_workings() {
    let going_on = |_: &str| ControlFlow::Continue(());
    for text in [DEMO_COURTYARD, DEMO_GARDEN] {
        let document = Document::of(text).unwrap();
        let mut job = job::read(text, &ReadOptions::default()).unwrap().job;
        let last = plan::plan(&job, &going_on).unwrap();
        job.system.outlets[3].at.x += 0.5;
        let shown = |draft: Result<Plan, PlanError>| {
            let draft = draft.unwrap();
            let planned = draft.planned(&job);
            let view = plan_view(&document, &planned, &draft, (2, Quality::Draft), None);
            serde_json::to_value(&view).unwrap()
        };
        let soon = shown(plan::draft(&job, &last, &going_on));
        let told = shown(plan::told_draft(&job, &last, &going_on));
        assert_eq!(unlike(&soon, &told, String::new()), Vec::<String>::new());
    }
}

#[test]
fn a_draft_tells_a_working_once_it_is_asked_for() {
    with(&courtyard(), async |served| {
        served.plan("full").await;
        let mut head = head();
        head["geometry"]["coordinates"][0] = json!(7.5);
        let version = served
            .edit("Moved", json!([{ "op": "put", "feature": head }]))
            .await;
        served.plan("draft").await;
        let (status, working) = served.get("/api/working?figure=price.total").await;
        assert_eq!(status, StatusCode::OK, "{working}");
        assert!(!working["inputs"].as_array().unwrap().is_empty());
        // Whether or not the whole plan was there first, a draft can tell.
        let done = served.desk.done().unwrap();
        assert_eq!(done.version, version);
        assert_eq!(
            done.plan.workings.is_closed(),
            done.quality == Quality::Draft
        );
    });
}
