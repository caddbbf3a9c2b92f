//! The usual cautions that go with every plan.

use job::{Finding, Job};
use routes::Network;

/// Cautions that hold for every job, and those that this one adds.
pub fn usual(job: &Job, network: &Network) -> Vec<Finding> {
    let days = job.practice.utility.notice_days.value;
    let mut cautions = vec![
        Finding::caution(
            "locate-first",
            Finding::WHOLE_JOB,
            "this plan knows only the buried services that the survey names",
            format!(
                "file a locate request with the one-call service at least {days} working days before \
                 digging, mark the routes in white, and dig by hand near every mark"
            ),
        ),
        Finding::caution(
            "local-codes",
            Finding::WHOLE_JOB,
            "local codes, permits and the water supplier's rules come before this plan",
            "have backflow, wiring and tie-in done or checked by those licensed for it where the code \
             asks for it",
        ),
        Finding::caution(
            "open-trench",
            Finding::WHOLE_JOB,
            "open trenches are a hazard to people and animals",
            "mark and guard them, inspect them daily and after rain, and leave as little open overnight \
             as can be",
        ),
        Finding::caution(
            "machines",
            Finding::WHOLE_JOB,
            "each machine has limits that this plan does not know",
            "read its manual on slopes, edges and protective gear before it is started",
        ),
        Finding::caution(
            "test-first",
            Finding::WHOLE_JOB,
            "joints are hidden once the trench is filled",
            "inspect and pressure-test before anything is covered; bleed air first and stand clear of \
             ends and fittings under pressure",
        ),
    ];
    if job.survey.soils.is_empty() {
        cautions.push(Finding::caution(
            "soil-unknown",
            Finding::WHOLE_JOB,
            "the job gives no soil; it is taken as moist loam without stones",
            "dig a few test holes and put a soil feature into the job",
        ));
    }
    if job.survey.spots.is_empty() && job.survey.steeps.is_empty() {
        cautions.push(Finding::caution(
            "level-ground",
            Finding::WHOLE_JOB,
            "the job gives no elevations; the ground is taken as level",
            "put spot elevations into the job where the ground rises or falls",
        ));
    }
    for stretch in network
        .iter()
        .filter(|(_, s)| s.ground.zones.iter().any(is_roots))
    {
        let (id, _) = stretch;
        cautions.push(Finding::caution(
            "roots",
            id.to_string(),
            "runs inside a tree's root-protection zone",
            "dig by hand or with air, pass under the roots, and cut none without the owner's word",
        ));
    }
    cautions
}

fn is_roots(zone: &routes::Zone) -> bool {
    matches!(zone, routes::Zone::Roots(_))
}
