//! The first demo job, run through the stages up to the days with round prices of the router.

use crew::Schedule;
use digging::Digging;
use ground::Ground;
use job::{Job, ReadOptions};
use risk::{Risk, assess};
use routes::{Network, RouteCosts, Router};
use std::ops::ControlFlow;
use takeoff::Takeoff;
use working::Ledger;

/// What the risk is assessed of.
pub struct Site {
    pub job: Job,
    pub network: Network,
    pub digging: Digging,
    pub takeoff: Takeoff,
    pub schedule: Schedule,
}

impl Site {
    /// The demo with some practice of its own.
    pub fn demo(practice: &str) -> Self {
        let options = ReadOptions {
            practice: Some(practice.to_owned()),
            ..ReadOptions::default()
        };
        let job = match job::read(job::DEMO, &options) {
            Ok(reading) => reading.job,
            Err(findings) => panic!("the demo does not read: {findings:?}"),
        };
        let ground = Ground::new(&job);
        let costs = RouteCosts {
            trench: &|ground| digging::unit_cost(&job, ground, None),
            line: &|_| 5.0,
            sleeve_new: 60.0,
            sleeve_existing: 10.0,
            crossing: 40.0,
            bend: 5.0,
            junction: 8.0,
        };
        let keep_on = |_: &str| ControlFlow::Continue(());
        let mut router = Router::new(&job, &ground);
        let Ok(network) = router.route(&costs, false, &keep_on) else {
            panic!("the demo has no routes");
        };
        let mut ledger = Ledger::new();
        let water = hydraulics::size(&job, &network, &mut ledger);
        let digging = digging::dig(&job, &network, &water, &mut ledger);
        let takeoff = takeoff::take_off(&job, &network, &water, &digging, &mut ledger);
        let schedule = crew::schedule(
            &job,
            &network,
            &water,
            &digging,
            &takeoff,
            crew::Effort::Quick,
            &mut ledger,
        );
        Self {
            network,
            digging,
            takeoff,
            schedule,
            job,
        }
    }

    pub fn risk(&self) -> Risk {
        assess(
            &self.job,
            &self.network,
            &self.digging,
            &self.takeoff,
            &self.schedule,
            &mut Ledger::new(),
        )
    }
}
