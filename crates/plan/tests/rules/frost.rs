//! A freezing index alone puts pipe below the frost.

use crate::{plan_of, read};
use job::practice::Winter;
use quantity::{DegreeDays, Length};

#[test]
fn pipe_lies_below_the_frost_that_a_freezing_index_makes() {
    let mut job = read(job::DEMO_COURTYARD);
    job.practice.cover.winter.value = Winter::BelowFrost;
    job.practice.frost.freezing_index.value = DegreeDays::c_days(500.0);
    let depth = hydraulics::cold::frost_depth(&job).value;
    assert!(depth > Length::ft(2.0));
    let plan = plan_of(&job).unwrap();
    assert_eq!(plan.hydraulics.cold.frost_depth, depth);
    assert_eq!(plan.planned(&job).practice.cover.frost_depth.value, depth);
    let mut pipes = 0;
    for dig in plan.digging.digs.iter().filter(|d| d.pull.is_none()) {
        for thing in &dig.section.contents {
            if plan.network.lines[thing.line].kind.is_pipe() {
                pipes += 1;
                assert!(thing.cover >= depth - Length::mm(0.001), "{thing:?}");
            }
        }
    }
    assert!(pipes > 0);
    let rules: Vec<&str> = plan.findings.iter().map(|f| f.rule.as_str()).collect();
    assert!(!rules.contains(&"no-frost-depth") && !rules.contains(&"blow-out"));
}
