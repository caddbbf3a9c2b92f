//! Good input: summaries, files, workings; the same bytes every time.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

mod support;

use serde_json::Value;
use std::fs;
use support::{Yard, names, small_job};

const FILES: [&str; 13] = [
    "cutting.csv",
    "days.csv",
    "days.svg",
    "heads.csv",
    "materials.csv",
    "offer.txt",
    "pipes.csv",
    "plan.json",
    "plan.svg",
    "price.csv",
    "risk.svg",
    "staking.csv",
    "stretches.csv",
];

fn with_small_job() -> Yard {
    let yard = Yard::new();
    yard.write("job.json", small_job().to_string());
    yard
}

#[test]
fn the_summary_says_what_a_contractor_needs() {
    let yard = with_small_job();
    let out = yard.ok(&["plan", "job.json"]);
    for words in [
        "A small invented yard",
        "INVENTED PROPERTY",
        "no set of trenches of the candidate graph",
        "Circuits",
        "Stretches",
        "To stake",
        "cheaper than ",
        "Days",
        "Material",
        "Cost and price",
        "Risk",
        "A contingency of ",
        "what moves the cost",
        "Cautions",
    ] {
        assert!(out.contains(words), "{words} is missing in\n{out}");
    }
    let widest = out.lines().map(|line| line.chars().count()).max().unwrap();
    assert!(widest <= 130, "a line of {widest} characters:\n{out}");
}

#[test]
fn units_are_the_jobs_own_or_those_asked_for() {
    let yard = with_small_job();
    let own = yard.ok(&["plan", "job.json"]);
    assert_eq!(own, yard.ok(&["plan", "job.json", "--units", "us"]));
    assert!(own.contains("psi") && own.contains(" ft in "));
    let si = yard.ok(&["plan", "job.json", "--units", "si"]);
    assert!(
        si.contains("kPa") && si.contains(" m in ") && !si.contains("gpm"),
        "{si}"
    );
}

#[test]
fn json_is_the_plan_and_nothing_else() {
    let yard = with_small_job();
    let out = yard.ok(&["plan", "job.json", "--json"]);
    let plan: plan::Plan = serde_json::from_str(&out).unwrap();
    assert_eq!(plan.job, "A small invented yard");
    yard.ok(&["plan", "job.json", "--out", "results"]);
    assert_eq!(
        out,
        fs::read_to_string(yard.path("results/plan.json")).unwrap()
    );
}

#[test]
fn the_files_come_whole_and_replace_only_their_own() {
    let yard = with_small_job();
    yard.ok(&["plan", "job.json", "--out", "results"]);
    assert_eq!(names(&yard.path("results")), FILES);
    assert_eq!(yard.names(), ["job.json", "results"], "no leftovers");
    let stretches = fs::read_to_string(yard.path("results/stretches.csv")).unwrap();
    assert!(stretches.contains("length_ft"), "{stretches}");
    yard.ok(&["plan", "job.json", "--out", "results", "--units", "si"]);
    let stretches = fs::read_to_string(yard.path("results/stretches.csv")).unwrap();
    assert!(stretches.contains("length_m"), "{stretches}");
    assert_eq!(yard.names(), ["job.json", "results"], "no leftovers");

    yard.write("results/notes.txt", "mine");
    let said = yard.run(&["plan", "job.json", "--out", "results"]);
    assert_eq!(said.code, 2);
    assert!(said.err.contains("notes.txt"), "{}", said.err);
    assert_eq!(
        fs::read_to_string(yard.path("results/notes.txt")).unwrap(),
        "mine"
    );
}

#[test]
fn a_folder_that_cannot_be_made_is_refused_before_planning() {
    let yard = with_small_job();
    let said = yard.run(&["plan", "job.json", "--out", "nowhere/results"]);
    assert_eq!(said.code, 2);
    assert!(said.err.contains("nowhere"), "{}", said.err);
    let said = yard.run(&["plan", "job.json", "--out", "."]);
    assert_eq!(said.code, 2, "{}", said.all());
}

#[test]
fn every_row_of_a_table_has_all_its_cells_and_sums_up() {
    let yard = with_small_job();
    yard.ok(&["plan", "job.json", "--out", "results"]);
    let text = fs::read_to_string(yard.path("results/plan.json")).unwrap();
    let plan: plan::Plan = serde_json::from_str(&text).unwrap();
    let mut rows = csv::Reader::from_path(yard.path("results/stretches.csv")).unwrap();
    let head = rows.headers().unwrap().clone();
    let length = head.iter().position(|h| h == "length_ft").unwrap();
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), plan.network.stretches.len());
    let sum: f64 = rows
        .iter()
        .map(|row| row[length].parse::<f64>().unwrap())
        .sum();
    // Every row is rounded to a tenth of a foot.
    assert!((sum - plan.network.length().to_ft()).abs() <= 0.05 * rows.len() as f64 + 1e-9);
    let mut rows = csv::Reader::from_path(yard.path("results/materials.csv")).unwrap();
    assert_eq!(rows.records().count(), plan.takeoff.items.len());
    let mut rows = csv::Reader::from_path(yard.path("results/cutting.csv")).unwrap();
    let cut = plan.takeoff.cutting.iter().flat_map(|c| &c.pieces);
    let cut = cut.chain(
        plan.takeoff
            .spools
            .iter()
            .flat_map(|s| &s.spools)
            .map(|s| &s.pieces),
    );
    assert_eq!(
        rows.records().count(),
        cut.map(|one| one.len().max(1)).sum::<usize>()
    );
    let mut rows = csv::Reader::from_path(yard.path("results/pipes.csv")).unwrap();
    assert_eq!(rows.records().count(), plan.hydraulics.pipes.len());
    let mut rows = csv::Reader::from_path(yard.path("results/heads.csv")).unwrap();
    assert_eq!(rows.records().count(), plan.hydraulics.outlets.len());
}

#[test]
fn two_runs_and_any_number_of_threads_give_the_same_bytes() {
    let yard = Yard::new();
    yard.write("job.json", job::DEMO);
    let mut all: Vec<Vec<u8>> = Vec::new();
    for (run, threads) in ["1", "2", "2"].iter().enumerate() {
        let out = format!("run{run}");
        let mut command = yard.command(&["plan", "job.json", "--out", &out]);
        let said = command.env("RAYON_NUM_THREADS", threads).output().unwrap();
        assert!(
            said.status.success(),
            "{}",
            String::from_utf8_lossy(&said.stderr)
        );
        let mut bytes = said.stdout;
        for file in FILES {
            bytes.extend(fs::read(yard.path(&out).join(file)).unwrap());
        }
        all.push(bytes);
    }
    assert!(all[0] == all[1], "one thread and two differ");
    assert!(all[1] == all[2], "two runs differ");
}

#[test]
fn why_answers_for_figures_of_every_stage() {
    let yard = with_small_job();
    for figure in [
        "route.gap",
        "route.length",
        "stretch.S1.length",
        "pipe.S1.service.size",
        "circuit.C1.worst_pressure",
        "head.H1.pressure",
        "wire.V1.gauge",
        "stretch.S1.method",
        "stretch.S1.depth",
        "stretch.S1.bank",
        "dig.cost",
        "material.total",
        "crew.days",
        "price.total",
    ] {
        let out = yard.ok(&["why", "job.json", figure]);
        assert!(out.starts_with(&format!("{figure}\n")), "{out}");
        assert!(out.contains("formula") && out.contains("source"), "{out}");
    }
}

#[test]
fn why_lists_ids_and_helps_with_an_unknown_one() {
    let yard = with_small_job();
    let all = yard.ok(&["why", "job.json", "--list"]);
    let prices = yard.ok(&["why", "job.json", "--list", "price."]);
    assert!(all.lines().count() > prices.lines().count());
    assert!(prices.lines().all(|line| line.starts_with("price.")));
    let said = yard.run(&["why", "job.json", "price.totl"]);
    assert_eq!(said.code, 2);
    assert!(said.err.contains("price.total"), "{}", said.err);
}

#[test]
fn why_shows_figures_in_the_units_asked_for() {
    let yard = with_small_job();
    let us = yard.ok(&["why", "job.json", "stretch.S1.depth"]);
    assert!(us.contains(" in"), "{us}");
    let si = yard.ok(&["why", "job.json", "stretch.S1.depth", "--units", "si"]);
    assert!(si.contains(" mm"), "{si}");
}

#[test]
fn a_local_rule_changes_the_plan_and_is_named_in_the_working() {
    let yard = with_small_job();
    yard.write("local.toml", "[cover]\nmain = \"30 in\"\n");
    let args = ["why", "job.json", "--list", "stretch.S1.depth"];
    let usual = yard.ok(&args);
    let deep = yard.ok(&[args.as_slice(), &["--practice", "local.toml"]].concat());
    assert_ne!(usual, deep);
}

#[test]
fn the_demo_is_written_beside_the_user_and_planned() {
    let yard = Yard::new();
    let out = yard.ok(&["demo"]);
    assert!(out.contains("INVENTED PROPERTY"));
    assert_eq!(yard.names(), ["spadework-demo-plan", "spadework-demo.json"]);
    assert_eq!(names(&yard.path("spadework-demo-plan")), FILES);
    assert_eq!(out, yard.ok(&["demo"]), "a second time it is the same");
    yard.write("spadework-demo-plan/plan.svg", "mine");
    let said = yard.run(&["demo"]);
    assert_eq!(said.code, 2);
    assert!(said.err.contains("plan.svg"), "{}", said.err);
    let kept = fs::read_to_string(yard.path("spadework-demo-plan/plan.svg")).unwrap();
    assert_eq!(kept, "mine", "a changed result is kept");
    yard.write("spadework-demo.json", "{\"mine\": 1}");
    let said = yard.run(&["demo"]);
    assert_eq!(said.code, 2);
    let kept = fs::read_to_string(yard.path("spadework-demo.json")).unwrap();
    assert_eq!(kept, "{\"mine\": 1}", "an edited file is kept");
}

#[test]
fn the_courtyard_reads_in_metric_units() {
    let yard = Yard::new();
    let out = yard.ok(&["demo", "--site", "courtyard", "--dir", "site"]);
    assert!(out.contains("kPa") && !out.contains("psi"), "{out}");
    let folder = yard.path("site");
    assert_eq!(
        names(&folder),
        [
            "spadework-demo-courtyard-plan",
            "spadework-demo-courtyard.json"
        ]
    );
}

#[test]
fn the_garden_gets_circuits_and_says_why() {
    let yard = Yard::new();
    let out = yard.ok(&["demo", "--site", "garden", "--dir", "site"]);
    assert!(out.contains("Circuits proposed"), "{out}");
    assert!(
        out.contains("our proposal, and the designer decides"),
        "{out}"
    );
    let job = "site/spadework-demo-garden.json";
    let cost = yard.ok(&["why", job, "grouping.cost"]);
    assert!(cost.contains("laterals") && cost.contains("EUR"), "{cost}");
    let most = yard.ok(&["why", job, "grouping.C1.most"]);
    assert!(most.contains("L/min"), "{most}");
    // The plan itself names the circuits, so that it can be planned again from it.
    let again = [
        "plan",
        job,
        "--from",
        "site/spadework-demo-garden-plan/plan.json",
    ];
    assert!(yard.ok(&again).contains("Circuits proposed"));
}

#[test]
fn a_sample_is_the_same_for_the_same_seed_and_can_be_planned() {
    let yard = Yard::new();
    let one = yard.ok(&["sample", "--heads", "30", "--seed", "7"]);
    assert_eq!(one, yard.ok(&["sample", "--heads", "30", "--seed", "7"]));
    assert_ne!(one, yard.ok(&["sample", "--heads", "30", "--seed", "8"]));
    yard.ok(&[
        "sample",
        "--heads",
        "30",
        "--seed",
        "7",
        "--out",
        "sample.json",
    ]);
    assert_eq!(one, fs::read_to_string(yard.path("sample.json")).unwrap());
    yard.ok(&["check", "sample.json"]);
    yard.ok(&["plan", "sample.json", "--out", "results"]);
    assert_eq!(names(&yard.path("results")), FILES);
}

#[test]
fn the_defaults_can_be_printed_and_used_as_they_are() {
    let yard = with_small_job();
    yard.write("practice.toml", yard.ok(&["practice"]));
    yard.write("prices.toml", yard.ok(&["prices"]));
    let args = [
        "plan",
        "job.json",
        "--practice",
        "practice.toml",
        "--prices",
        "prices.toml",
    ];
    assert_eq!(yard.ok(&args), yard.ok(&["plan", "job.json"]));
}

#[test]
fn schemas_are_schemas() {
    let yard = Yard::new();
    for of in ["job", "plan"] {
        let schema: Value = serde_json::from_str(&yard.ok(&["schema", of])).unwrap();
        assert!(schema["$schema"].is_string(), "{of}");
        assert_eq!(schema["type"], "object", "{of}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_trouble() {
    let yard = Yard::new();
    let mut child = yard
        .command(&["sample", "--heads", "2000", "--seed", "1"])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let said = child.wait_with_output().unwrap();
    assert!(
        said.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&said.stderr)
    );
    assert!(said.status.success());
}

/// On a property so large that planning cannot be done before the signal comes.
#[cfg(unix)]
#[test]
fn ctrl_c_ends_planning_at_once_and_leaves_nothing() {
    use std::process::{Command, Stdio};
    let yard = Yard::new();
    yard.write(
        "job.json",
        yard.ok(&["sample", "--heads", "1500", "--seed", "1"]),
    );
    let mut child = yard
        .command(&["plan", "job.json", "--out", "results", "--progress"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The first word on standard error says that planning has begun and Ctrl-C is listened for.
    let mut first = [0_u8];
    let mut stderr = child.stderr.take().unwrap();
    std::io::Read::read_exact(&mut stderr, &mut first).unwrap();
    let id = child.id().to_string();
    assert!(
        Command::new("kill")
            .args(["-INT", &id])
            .status()
            .unwrap()
            .success()
    );
    let sent = std::time::Instant::now();
    let said = child.wait_with_output().unwrap();
    assert!(sent.elapsed() < std::time::Duration::from_secs(1));
    assert_eq!(said.status.code(), Some(130));
    assert!(said.stdout.is_empty());
    assert_eq!(yard.names(), ["job.json"]);
}
