//! Plans the job on a thread of its own: the newest version at once, a draft first where there is a plan to begin
//! with. A newer version stops the work on an older one.

use job::{Document, Finding, Job};
use plan::{Plan, PlanError};
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};

use crate::view::Quality;

/// What is to be planned.
#[derive(Debug, Clone)]
pub struct Wanted {
    pub version: i64,
    pub document: Arc<Document>,
    /// The job, or everything that stands against it.
    pub job: Result<Arc<Job>, Vec<Finding>>,
}

/// A plan with what it was made of.
#[derive(Debug)]
pub struct Done {
    pub version: i64,
    pub quality: Quality,
    pub document: Arc<Document>,
    /// As it was planned.
    pub job: Job,
    pub plan: Plan,
}

/// What the planner tells.
pub enum Told {
    /// What is going on.
    Working(i64, String),
    /// A new plan.
    Planned(Arc<Done>),
    /// No plan can be made.
    Unplanned(i64, Vec<Finding>),
}

/// The thread that plans.
pub struct Planner {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

struct Shared {
    state: Mutex<State>,
    wake: Condvar,
    /// Grows with every version that is wanted; work for an older one stops.
    newest: AtomicU64,
}

#[derive(Default)]
struct State {
    wanted: Option<Wanted>,
    done: Option<Arc<Done>>,
    closing: bool,
}

/// A lock whatever became of others that held it: the state is whole between any two statements.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Planner {
    /// Begins to wait for work; `tell` hears what comes of it.
    pub fn start(tell: impl Fn(Told) + Send + 'static) -> Self {
        let shared = Arc::new(Shared {
            state: Mutex::default(),
            wake: Condvar::new(),
            newest: AtomicU64::new(0),
        });
        let of_thread = Arc::clone(&shared);
        let thread = thread::Builder::new()
            .name("planner".to_owned())
            .spawn(move || run(&of_thread, &tell));
        Self {
            shared,
            // Without a thread there is no plan, and the page says that it waits for one.
            thread: thread.ok(),
        }
    }

    /// Wants the plan of a version; work on an older one stops.
    pub fn want(&self, wanted: Wanted) {
        self.shared.newest.fetch_add(1, Ordering::Relaxed);
        locked(&self.shared.state).wanted = Some(wanted);
        self.shared.wake.notify_all();
    }

    /// Begins with a plan that is there already.
    pub fn begin_with(&self, done: Done) {
        locked(&self.shared.state).done = Some(Arc::new(done));
    }

    /// The newest plan.
    pub fn done(&self) -> Option<Arc<Done>> {
        locked(&self.shared.state).done.clone()
    }
}

impl Drop for Planner {
    fn drop(&mut self) {
        locked(&self.shared.state).closing = true;
        self.shared.newest.fetch_add(1, Ordering::Relaxed);
        self.shared.wake.notify_all();
        if let Some(thread) = self.thread.take() {
            // A planner that has failed has told so; nothing is left to be done about it.
            let _ = thread.join();
        }
    }
}

fn run(shared: &Shared, tell: &dyn Fn(Told)) {
    loop {
        let mut state = locked(&shared.state);
        let (wanted, number, last) = loop {
            if state.closing {
                return;
            }
            if let Some(wanted) = state.wanted.take() {
                let number = shared.newest.load(Ordering::Relaxed);
                break (wanted, number, state.done.clone());
            }
            state = shared
                .wake
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
        };
        drop(state);
        let work = Work {
            shared,
            tell,
            number,
            wanted: &wanted,
        };
        work.all(last);
    }
}

/// The work on one version.
struct Work<'a> {
    shared: &'a Shared,
    tell: &'a dyn Fn(Told),
    number: u64,
    wanted: &'a Wanted,
}

impl Work<'_> {
    fn all(&self, last: Option<Arc<Done>>) {
        let version = self.wanted.version;
        let job = match &self.wanted.job {
            Ok(job) => job,
            Err(findings) => {
                (self.tell)(Told::Unplanned(version, findings.clone()));
                return;
            }
        };
        let whole = last
            .as_ref()
            .is_some_and(|last| last.version == version && last.quality == Quality::Full);
        if whole {
            return;
        }
        if let Some(last) = last {
            let draft = plan::replan(job, &last.plan, &|words| self.told(words));
            if !self.keep(job, draft, Quality::Draft) {
                return;
            }
        }
        let full = plan::plan(job, &|words| self.told(words));
        self.keep(job, full, Quality::Full);
    }

    fn told(&self, words: &str) -> ControlFlow<()> {
        if self.is_old() {
            return ControlFlow::Break(());
        }
        if !words.is_empty() {
            (self.tell)(Told::Working(self.wanted.version, words.to_owned()));
        }
        ControlFlow::Continue(())
    }

    fn is_old(&self) -> bool {
        self.shared.newest.load(Ordering::Relaxed) != self.number
    }

    /// Whether the work goes on.
    fn keep(&self, job: &Job, found: Result<Plan, PlanError>, quality: Quality) -> bool {
        let version = self.wanted.version;
        match found {
            Ok(plan) => {
                let done = Arc::new(Done {
                    version,
                    quality,
                    document: Arc::clone(&self.wanted.document),
                    job: plan.planned(job),
                    plan,
                });
                if self.is_old() {
                    return false;
                }
                locked(&self.shared.state).done = Some(Arc::clone(&done));
                (self.tell)(Told::Planned(done));
                true
            }
            Err(PlanError::Stopped) => false,
            Err(PlanError::Findings(findings)) => {
                if !self.is_old() {
                    (self.tell)(Told::Unplanned(version, findings));
                }
                false
            }
        }
    }
}
