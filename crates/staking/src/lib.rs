//! Points to mark on the ground before anything is dug.
//!
//! Takes a job and its network and gives the place of every component, end, bend, junction, crossing and
//! sleeve end: as coordinates, as station and offset along a baseline, and as a tie of two tapes from fixed
//! points of the survey that cross well, with the expected error. Also the area that is white-lined and
//! named in the locate request, as a few corners and in words.
//!
//! What always holds: one point for a place; both tapes of a tie are long enough and run clear of what
//! stands on the property; of all such pairs the tie has the least expected error. The job is taken as
//! level: on a slope a tape held level reads these distances.
//!
//! # Words
//! - *tie*: two distances from fixed points that, with a side, fix a point.
//! - *station*, *offset*: how far along the baseline, and how far from it.

mod baseline;
mod figures;
mod fixed;
mod places;
mod request;
mod results;
mod sight;
#[cfg(test)]
mod tests;
mod tie;

pub use request::{Deepest, DigArea, DigCorner, LocateRequest, Step};
pub use results::*;

use job::{Finding, Job, Place};
use quantity::Length;
use routes::Network;
use tie::Ties;
use working::Ledger;

/// All points to mark, with the working of every tie, and the area that the locate request names.
pub fn stake(job: &Job, network: &Network, deepest: Deepest, ledger: &mut Ledger) -> Staking {
    let baseline = baseline::of(job);
    let fixed = fixed::all(job);
    let ties = Ties::new(job, &fixed);
    let points = places::all(job, network)
        .into_iter()
        .zip(1..)
        .map(|(place, number)| {
            let nought = (Length::m(0.0), Length::m(0.0), None);
            let (station, offset, side) = baseline
                .as_ref()
                .map_or(nought, |line| line.station(place.at));
            let tie = ties.of(place.at);
            StakePoint {
                id: format!("STK{number}"),
                roles: place.roles,
                features: place.features,
                at: place.at,
                station,
                offset,
                side,
                untied: tie.as_ref().err().cloned().unwrap_or_default(),
                tie: tie.ok(),
            }
        })
        .collect();
    let paths: Vec<&[Place]> = network
        .stretches
        .iter()
        .map(|s| s.path.as_slice())
        .collect();
    let request = request::of(job, &paths, (baseline.as_ref(), &fixed), deepest, ledger);
    let mut staking = Staking {
        request,
        baseline,
        fixed,
        points,
        findings: Vec::new(),
    };
    staking.findings.extend(too_many_untied(job, &staking));
    figures::put(job, &staking, ledger);
    staking
}

/// The fixed points of a job, and for each place its tie in them, or why there is none.
pub fn ties(job: &Job, places: &[Place]) -> (Vec<FixedPoint>, Vec<Result<Tie, String>>) {
    let fixed = fixed::all(job);
    let ties = Ties::new(job, &fixed);
    let of_places = places.iter().map(|at| ties.of(*at)).collect();
    (fixed, of_places)
}

/// Speaks where so many points have no tie that the survey wants more marks.
fn too_many_untied(job: &Job, staking: &Staking) -> Option<Finding> {
    let (untied, all) = (staking.untied(), staking.points.len());
    let most = job.practice.staking.untied.value.to_one() * all as f64;
    (untied as f64 > most).then(|| {
        Finding::caution(
            "stakes-without-tie",
            Finding::WHOLE_JOB,
            format!("{untied} of {all} points to stake have no two fixed points that tapes reach"),
            "add marks to the survey, or stake them by station and offset",
        )
    })
}
