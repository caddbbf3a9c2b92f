//! The user's own practice and price files.

use job::practice::DrainDown;
use job::{Basis, Document, Finding, ReadOptions, Reader, read};

use crate::block;

fn with(practice: &str, prices: &str) -> Result<job::Reading, Vec<Finding>> {
    let options = ReadOptions {
        practice: Some(practice.to_owned()),
        prices: Some(prices.to_owned()),
    };
    read(block("json job"), &options)
}

fn refused(practice: &str, prices: &str) -> Vec<Finding> {
    with(practice, prices).unwrap_err()
}

#[test]
fn a_part_of_the_file_is_laid_over_the_defaults() {
    let job = with("[cover]\nmain = \"24 in\"", "overhead = \"15 %\"")
        .unwrap()
        .job;
    assert!((job.practice.cover.main.value.to_in() - 24.0).abs() < 1e-9);
    assert_eq!(job.practice.cover.main.source, "the user's practice file");
    assert_eq!(job.practice.cover.main.basis, Basis::Given);
    assert_eq!(job.prices.overhead.source, "the user's price file");
    // What is not given stays.
    assert_eq!(job.practice.cover.wire.basis, Basis::Confirmed);
}

#[test]
fn the_defaults_laid_over_themselves_change_nothing() {
    let job = with(job::DEFAULT_PRACTICE, job::DEFAULT_PRICES)
        .unwrap()
        .job;
    let plain = read(block("json job"), &ReadOptions::default())
        .unwrap()
        .job;
    assert_eq!(
        format!("{:?}", job.practice),
        format!("{:?}", plain.practice)
    );
    assert_eq!(format!("{:?}", job.prices), format!("{:?}", plain.prices));
}

#[test]
fn the_job_counts_before_the_users_file() {
    let text = block("json job").replace(
        "\"seed\": 1",
        "\"seed\": 1, \"practice\": { \"cover\": { \"main\": \"30 in\" } }",
    );
    let options = ReadOptions {
        practice: Some("[cover]\nmain = \"24 in\"\nlateral = \"9 in\"".to_owned()),
        prices: None,
    };
    let cover = read(&text, &options).unwrap().job.practice.cover;
    assert!((cover.main.value.to_in() - 30.0).abs() < 1e-9);
    assert!((cover.lateral.value.to_in() - 9.0).abs() < 1e-9);
}

#[test]
fn a_family_of_pipe_may_be_added_with_its_prices() {
    let practice = r#"
        [pipe.pe_thick]
        label = "a thick one (invented)"
        material = "pe"
        c = 140
        roughness = "0.0015 mm"
        modulus = "800 MPa"
        piece = "50 m"
        sizes = [{ name = "DN 25", outside = "25 mm", inside = "18 mm", rating = "2 MPa", source = "invented" }]
    "#;
    let job = with(practice, "[pipe.pe_thick]\n\"DN 25\" = 2.5")
        .unwrap()
        .job;
    assert_eq!(
        job.practice.pipe["pe_thick"].c.path,
        "practice pipe.pe_thick.c"
    );
    assert_eq!(job.prices.pipe["pe_thick"]["DN 25"].value.to_cents(), 250);
    // Without its price it is refused by name.
    let found = refused(practice, "");
    assert_eq!(found[0].rule, "local-rule-missing");
    assert_eq!(found[0].subject, "prices pipe.pe_thick.DN 25");
    // And so is an entry that is not complete.
    let found = refused("[pipe.pe_thick]\nlabel = \"thick\"", "");
    assert_eq!((found[0].rule.as_str(), found.len()), ("bad-override", 1));
    assert!(found[0].what.contains("missing field"), "{found:?}");
}

#[test]
fn every_bad_value_of_a_file_is_named_by_its_path() {
    let practice = "[cover]\nmain = \"18\"\nlatral = \"8 in\"\nwire = \"-2 in\"\n[day]\nweek = 2.5";
    let found = refused(
        practice,
        "[method.walk_trencher]\nmax_outsid = \"3 in\"\nhire = { day = \"cheap\" }",
    );
    let named: Vec<(&str, &str)> = found
        .iter()
        .map(|f| (f.rule.as_str(), f.subject.as_str()))
        .collect();
    assert_eq!(
        named,
        [
            ("unknown-override", "practice cover.latral"),
            ("bad-override", "practice cover.wire"),
            ("bad-override", "practice cover.main"),
            ("bad-override", "practice day.week"),
            ("unknown-override", "prices method.walk_trencher.max_outsid"),
            ("bad-override", "prices method.walk_trencher.hire.day"),
        ]
    );
    assert!(
        found[0].mend.contains("\"cover.lateral\""),
        "{:?}",
        found[0]
    );
    assert!(found[2].what.contains("unit"), "{:?}", found[2]);
    assert!(found[4].mend.contains("max_outside"), "{:?}", found[4]);
}

#[test]
fn the_way_of_emptying_and_the_frost_are_read_and_kept_in_their_range() {
    let cold = "[cold]\ndrain_down = \"drained\"\ncheck_valve = \"10 ft\"\n\
                [frost]\nfreezing_index = \"900 F.days\"";
    let practice = with(cold, "").unwrap().job.practice;
    assert_eq!(practice.cold.drain_down.value, DrainDown::Drained);
    assert!((practice.frost.freezing_index.value.to_c_days() - 500.0).abs() < 1e-9);
    let found = refused("[cold]\ndrain_down = \"poured\"", "");
    assert!(found[0].what.contains("blown out"), "{:?}", found[0]);
    let found = refused(
        "[cold.air_pressure]\npe = \"0 psi\"\n[frost]\nfreezing_index = \"99999 C.days\"",
        "",
    );
    let subjects: Vec<&str> = found.iter().map(|f| f.subject.as_str()).collect();
    assert_eq!(
        subjects,
        [
            "practice cold.air_pressure.pe",
            "practice frost.freezing_index"
        ]
    );
}

#[test]
fn an_optional_value_may_be_given_to_a_method_that_has_none() {
    let job = with("", "[method.walk_trencher]\nmax_outside = \"3 in\"")
        .unwrap()
        .job;
    let method = &job.prices.method[&job::MethodId("walk_trencher".to_owned())];
    assert!(method.max_outside.is_some());
}

#[test]
fn a_file_that_is_not_toml_is_refused_with_its_line() {
    let found = refused("[cover]\nmain = 18 in", "");
    assert_eq!(found[0].rule, "not-toml");
    assert_eq!(found[0].subject, "the user's practice file");
    assert!(found[0].what.contains("line 2"), "{found:?}");
}

#[test]
fn values_that_do_not_fit_together_are_refused() {
    let cases = [
        (
            "local-rule-missing",
            "practice texture.loam",
            "[texture]\nloam = \"rock\"",
            "",
        ),
        (
            "local-rule-out-of-range",
            "prices profit.share",
            "",
            "[profit]\nshare = \"100 %\"",
        ),
        (
            "local-rule-out-of-range",
            "practice day.hours",
            "[day]\nhours = 0",
            "",
        ),
        (
            "local-rule-out-of-range",
            "practice stones.gravelly",
            "[stones]\ngravelly = \"50 %\"",
            "",
        ),
        (
            "local-rule-out-of-range",
            "prices method.walk_plow.pace.clay",
            "",
            "[method.walk_plow.pace]\nclay = \"0 m/h\"",
        ),
        (
            "local-rule-stray",
            "prices wire.8 AWG",
            "",
            "[wire]\n\"8 AWG\" = 2",
        ),
        (
            "local-rule-stray",
            "prices pipe.pvc_sch40.1 inch",
            "",
            "[pipe.pvc_sch40]\n\"1 inch\" = 2",
        ),
        (
            "local-rule-missing",
            "practice soil_class.clay.excavation_type",
            "[soil_class.clay]\nexcavation_type = \"D\"",
            "",
        ),
        (
            "local-rule-out-of-range",
            "practice wire.gauge",
            "[wire]\ngauge = [{ name = \"18 AWG\", resistance = \"0 ohm/km\", source = \"\" }]",
            "",
        ),
        (
            "local-rule-missing",
            "prices method",
            "",
            "[method.spade]\nkind = \"trench\"",
        ),
    ];
    for (rule, subject, practice, prices) in cases {
        let found = refused(practice, prices);
        let named = found.iter().any(|f| f.rule == rule && f.subject == subject);
        assert!(named, "{subject}: {found:#?}");
    }
}

#[test]
fn a_reader_reads_each_version_as_if_it_were_the_first() {
    let own = ReadOptions {
        practice: Some("[cover]\nmain = \"24 in\"".to_owned()),
        prices: None,
    };
    let plain = Document::of(block("json job")).unwrap();
    let with = |member: &str, text: &str| {
        let mut document = plain.clone();
        let value = serde_json::from_str(text).unwrap();
        document.header.insert(member.to_owned(), value);
        document
    };
    let mut moved = plain.clone();
    moved.features.pop();
    let versions = [
        plain.clone(),
        moved,
        with("practice", r#"{"cover": {"main": "30 in"}}"#),
        with("practice", r#"{"cover": {"main": "-3 in", "nothing": 2}}"#),
        with("practice", r#"{"cover": {"main": "-3 in", "nothing": 2}}"#),
        with("prices", r#"{"overhead": "11 %"}"#),
        with("prices", "7"),
        plain.clone(),
    ];
    let mut reader = Reader::new(own.clone());
    let mut refused = 0;
    for version in &versions {
        match (reader.read(version), version.read(&own)) {
            (Ok(kept), Ok(fresh)) => {
                assert_eq!(kept.job, fresh.job);
                assert_eq!(kept.findings, fresh.findings);
                assert_eq!(kept.settings, fresh.settings);
            }
            (kept, fresh) => {
                refused += 1;
                assert_eq!(kept.unwrap_err(), fresh.unwrap_err());
            }
        }
    }
    assert!((3..versions.len()).contains(&refused), "{refused} refused");
}
