//! Plans the job beside everything else: a draft of the newest version at once, where there is a plan to begin with,
//! and once it rests a while the whole plan. A newer version stops the work on an older one.

use job::{Document, Finding, Job};
use plan::{Plan, PlanError};
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

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

/// How long a job rests before its whole plan is begun: whoever drags a head changes it oftener.
const REST: Duration = Duration::from_millis(350);

/// A draft that is there so soon is not spoken of: nobody could read it, and the page would have to show it.
const QUICK: Duration = Duration::from_millis(120);

/// The threads that plan: one for drafts, so that none waits until a whole plan has noticed that it is old.
pub struct Planner {
    shared: Arc<Shared>,
    threads: Vec<JoinHandle<()>>,
}

struct Shared {
    state: Mutex<State>,
    /// The draft whose workings were asked for last, with them.
    told: Mutex<Option<(Beginning, Arc<Plan>)>>,
    wake: Condvar,
    /// Grows with every version that is wanted; work for an older one stops.
    newest: AtomicU64,
    tell: Box<dyn Fn(Told) + Send + Sync>,
}

#[derive(Default)]
struct State {
    /// What waits for its draft.
    wanted: Option<Work>,
    /// What waits for its whole plan.
    drafted: Option<Work>,
    /// What has its whole plan: the ground for the drafts that follow is laid out before anyone waits for it.
    planned: Option<Work>,
    done: Option<Arc<Done>>,
    /// What the newest plan was made from, if it is a draft.
    from: Option<Beginning>,
    closing: bool,
}

/// What a draft was made from: its workings are made from that once somebody asks for one.
#[derive(Clone)]
struct Beginning {
    job: Arc<Job>,
    last: Arc<Done>,
}

impl Beginning {
    fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.job, &other.job) && Arc::ptr_eq(&self.last, &other.last)
    }
}

/// A version with the number under which it was wanted.
#[derive(Clone)]
struct Work {
    wanted: Arc<Wanted>,
    number: u64,
}

/// A lock whatever became of others that held it: the state is whole between any two statements.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Planner {
    /// Begins to wait for work; `tell` hears what comes of it.
    pub fn start(tell: impl Fn(Told) + Send + Sync + 'static) -> Self {
        let shared = Arc::new(Shared {
            state: Mutex::default(),
            told: Mutex::default(),
            wake: Condvar::new(),
            newest: AtomicU64::new(0),
            tell: Box::new(tell),
        });
        let started = |name: &str, work: fn(&Shared)| {
            let shared = Arc::clone(&shared);
            let thread = thread::Builder::new().name(name.to_owned());
            // Without a thread there is no plan, and the page says that it waits for one.
            thread.spawn(move || work(&shared)).ok()
        };
        let threads = [started("drafts", drafts), started("planner", wholes)];
        let threads = threads.into_iter().flatten().collect();
        Self { shared, threads }
    }

    /// Wants the plan of a version; work on an older one stops.
    pub fn want(&self, wanted: Wanted) {
        let mut state = locked(&self.shared.state);
        let number = self.shared.newest.fetch_add(1, Ordering::Relaxed) + 1;
        let wanted = Arc::new(wanted);
        state.wanted = Some(Work { wanted, number });
        state.drafted = None;
        state.planned = None;
        drop(state);
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

    /// The newest plan with its workings, if it is a draft: these are made only now, unless something newer is
    /// wanted meanwhile.
    pub fn told_draft(&self) -> Option<Arc<Plan>> {
        let newest = || self.shared.newest.load(Ordering::Relaxed);
        let number = newest();
        let from = locked(&self.shared.state).from.clone()?;
        let mut told = locked(&self.shared.told);
        if let Some((before, plan)) = told.as_ref()
            && before.is(&from)
        {
            return Some(Arc::clone(plan));
        }
        let ask = |_: &str| match newest() == number {
            true => ControlFlow::Continue(()),
            false => ControlFlow::Break(()),
        };
        let plan = plan::told_draft(&from.job, &from.last.plan, &ask).ok()?;
        let plan = Arc::new(plan);
        *told = Some((from, Arc::clone(&plan)));
        Some(plan)
    }
}

impl Drop for Planner {
    fn drop(&mut self) {
        locked(&self.shared.state).closing = true;
        self.shared.newest.fetch_add(1, Ordering::Relaxed);
        self.shared.wake.notify_all();
        for thread in self.threads.drain(..) {
            // A planner that has failed has told so; nothing is left to be done about it.
            let _ = thread.join();
        }
    }
}

/// Makes drafts until the end.
fn drafts(shared: &Shared) {
    // A draft has many short pieces of work for all cores: begun by a thread of their own pool, none has to be handed
    // over and waited for, and none waits behind a piece of a whole plan that is not given up yet.
    match rayon::ThreadPoolBuilder::new().build() {
        Ok(threads) => threads.install(|| drafts_here(shared)),
        Err(_) => drafts_here(shared),
    }
}

fn drafts_here(shared: &Shared) {
    let mut desk = plan::Desk::new();
    while let Some((work, last)) = shared.next(|state| state.wanted.take().or(state.planned.take()))
    {
        let version = work.wanted.version;
        let job = match &work.wanted.job {
            Ok(job) => job,
            Err(findings) => {
                (shared.tell)(Told::Unplanned(version, findings.clone()));
                continue;
            }
        };
        if let Some(last) = &last {
            if last.version == version && last.quality == Quality::Full {
                // Nobody waits for this draft; what it measured serves the next one.
                let _ = desk.draft(job, &last.plan, &|_| shared.told(&work, ""));
                continue;
            }
            let begun = Instant::now();
            let told = |words: &str| {
                let soon = begun.elapsed() < QUICK;
                shared.told(&work, if soon { "" } else { words })
            };
            let draft = desk.draft(job, &last.plan, &told);
            if !shared.keep(&work, job, draft, Some(Arc::clone(last))) || !shared.rests(&work) {
                continue;
            }
        }
        locked(&shared.state).drafted = Some(work);
        shared.wake.notify_all();
    }
}

/// Makes whole plans until the end.
fn wholes(shared: &Shared) {
    while let Some((work, _)) = shared.next(|state| state.drafted.take()) {
        if let Ok(job) = &work.wanted.job {
            let whole = plan::plan(job, &|words| shared.told(&work, words));
            if shared.keep(&work, job, whole, None) {
                locked(&shared.state).planned = Some(work);
                shared.wake.notify_all();
            }
        }
    }
}

impl Shared {
    /// Waits for work; nothing once it is the end.
    fn next(&self, take: impl Fn(&mut State) -> Option<Work>) -> Option<(Work, Option<Arc<Done>>)> {
        let mut state = locked(&self.state);
        loop {
            if state.closing {
                return None;
            }
            if let Some(work) = take(&mut state) {
                return Some((work, state.done.clone()));
            }
            state = self
                .wake
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Whether nothing newer is wanted for a while.
    fn rests(&self, work: &Work) -> bool {
        let waits = |state: &mut State| !state.closing && !self.is_old(work);
        let state = locked(&self.state);
        let waited = self.wake.wait_timeout_while(state, REST, waits);
        let (state, _) = waited.unwrap_or_else(PoisonError::into_inner);
        !state.closing && !self.is_old(work)
    }

    fn told(&self, work: &Work, words: &str) -> ControlFlow<()> {
        if self.is_old(work) {
            return ControlFlow::Break(());
        }
        if !words.is_empty() {
            (self.tell)(Told::Working(work.wanted.version, words.to_owned()));
        }
        ControlFlow::Continue(())
    }

    fn is_old(&self, work: &Work) -> bool {
        self.newest.load(Ordering::Relaxed) != work.number
    }

    /// Keeps what was found, a draft with the plan that it began with; whether the work goes on.
    fn keep(
        &self,
        work: &Work,
        job: &Arc<Job>,
        found: Result<Plan, PlanError>,
        draft_of: Option<Arc<Done>>,
    ) -> bool {
        let version = work.wanted.version;
        let quality = match draft_of {
            Some(_) => Quality::Draft,
            None => Quality::Full,
        };
        match found {
            Ok(plan) => {
                let done = Arc::new(Done {
                    version,
                    quality,
                    document: Arc::clone(&work.wanted.document),
                    job: plan.planned(job),
                    plan,
                });
                let mut state = locked(&self.state);
                // A whole plan that comes late would hide the draft of something newer.
                if quality == Quality::Full && self.is_old(work) {
                    return false;
                }
                state.done = Some(Arc::clone(&done));
                let job = Arc::clone(job);
                state.from = draft_of.map(|last| Beginning { job, last });
                drop(state);
                (self.tell)(Told::Planned(done));
                true
            }
            Err(PlanError::Stopped) => false,
            Err(PlanError::Findings(findings)) => {
                if !self.is_old(work) {
                    (self.tell)(Told::Unplanned(version, findings));
                }
                false
            }
        }
    }
}
