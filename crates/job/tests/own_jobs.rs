//! The jobs that come with the tool read without errors.

use job::{
    DEMO, DEMO_COURTYARD, DEMO_GARDEN, DEMO_HILLSIDE, DEMO_PARK, DEMOS, Finding, ReadOptions,
    Severity, sample,
};

/// What stands against a job that has to read.
fn findings(name: &str, text: &str) -> Vec<Finding> {
    match job::read(text, &ReadOptions::default()) {
        Ok(reading) => reading.findings,
        Err(findings) => panic!("{name}: {findings:#?}"),
    }
}

#[test]
fn the_demo_reads_and_warns_of_the_unmarked_line_only() {
    let found = findings("demo", DEMO);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].severity, Severity::Warning);
    assert_eq!(found[0].subject, "K1");
}

#[test]
fn the_other_demos_read_with_nothing_against_them() {
    assert_eq!(findings("courtyard", DEMO_COURTYARD), []);
    assert_eq!(findings("hillside", DEMO_HILLSIDE), []);
    assert_eq!(findings("park", DEMO_PARK), []);
    assert_eq!(findings("garden", DEMO_GARDEN), []);
}

#[test]
fn all_demos_are_marked_as_invented() {
    for text in DEMOS {
        let reading = job::read(text, &ReadOptions::default()).unwrap();
        assert!(reading.job.invented);
    }
}

#[test]
fn samples_of_every_size_read() {
    for heads in [1, 2, 5, 10, 40, 100, 300, 1000] {
        for seed in 0..4 {
            let name = format!("{heads} heads, seed {seed}");
            let job = job::read(&sample(heads, seed), &ReadOptions::default());
            let reading = job.unwrap_or_else(|found| panic!("{name}: {found:#?}"));
            assert_eq!(reading.job.system.outlets.len(), heads as usize);
            let unmarked =
                |f: &Finding| f.severity == Severity::Warning && f.rule == "utility-not-marked";
            assert!(
                reading.findings.iter().all(unmarked),
                "{name}: {:#?}",
                reading.findings
            );
        }
    }
}
