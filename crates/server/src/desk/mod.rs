//! The job at hand: the open file, its document in memory, and the plan that follows it.
//!
//! Every change is in the file before anyone is told of it.

mod history;
mod pictures;
mod variants;

use axum::body::Bytes;
use job::{
    Document, Finding, Job, LengthUnit, Practice, PriceBook, ReadOptions, Reader, Reading,
    Settings, Step, steps_between,
};
use plan::Plan;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use store::{Change, Sort, Store, StoredPlan, Variant};
use tokio::sync::broadcast;

use crate::event::{Changed, Event, Planning, Unplanned};
use crate::planner::{Done, Planner, Told, Wanted};
use crate::problem::Problem;
use crate::view::{
    self, Around, FindingView, JobView, PictureView, PlanView, Quality, SettingView, WorkingView,
};
use history::{Stack, stacks, words};
use variants::kept_in;

/// Events that a slow page may lag behind by; one that lags more loads everything anew.
const EVENTS: usize = 256;

/// The job at hand.
pub struct Desk {
    inner: Arc<Mutex<Inner>>,
    planner: Planner,
    events: broadcast::Sender<Event>,
    shown: Arc<Mutex<Shown>>,
}

/// The newest plan as the page wants it, written once for all pages.
#[derive(Default)]
struct Shown {
    text: Option<Bytes>,
    /// What it is held against: kept here, so that a plan need not wait until a change is in the file.
    variant: Option<Variant>,
    unplanned: Option<Unplanned>,
}

struct Inner {
    store: Store,
    reader: Reader,
    document: Document,
    version: i64,
    /// Tells when another program has changed the file.
    touched: i64,
    /// Versions that can be taken back, the next one last.
    undo: Stack,
    /// Versions that can be made again, the next one last.
    redo: Stack,
    read: Read,
    /// What the newest change was part of.
    gesture: Option<Gesture>,
}

/// Changes of one page that are taken back together.
struct Gesture {
    tab: String,
    name: String,
    first: i64,
    last: i64,
}

/// What reading the job came to.
#[derive(Clone)]
struct Read {
    job: Result<Arc<Job>, Vec<Finding>>,
    findings: Vec<Finding>,
    settings: Option<Settings>,
}

impl Read {
    fn of(document: &Document, reader: &mut Reader) -> Self {
        match reader.read(document) {
            Ok(Reading {
                job,
                findings,
                settings,
            }) => Self {
                job: Ok(Arc::new(job)),
                findings,
                settings: Some(settings),
            },
            Err(findings) => Self {
                job: Err(findings.clone()),
                findings,
                settings: None,
            },
        }
    }
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// Lays an open job file on the desk and begins to plan it.
    ///
    /// # Errors
    /// If the file cannot be read or written.
    pub fn open(store: Store, own: ReadOptions) -> Result<Self, Problem> {
        let document = store.document()?;
        let version = store.version()?;
        let (undo, redo) = stacks(&store)?;
        let mut reader = Reader::new(own);
        let read = Read::of(&document, &mut reader);
        let mut inner = Inner {
            touched: store.touched()?,
            store,
            reader,
            document,
            version,
            undo,
            redo,
            read,
            gesture: None,
        };
        inner.name_features()?;
        let (events, _) = broadcast::channel(EVENTS);
        let shown = Arc::new(Mutex::new(Shown::default()));
        let inner = Arc::new(Mutex::new(inner));
        let planner = {
            let (inner, events, shown) = (Arc::clone(&inner), events.clone(), Arc::clone(&shown));
            Planner::start(move |told| hear(&inner, &events, &shown, told))
        };
        let desk = Self {
            inner,
            planner,
            events,
            shown,
        };
        desk.begin();
        Ok(desk)
    }

    fn begin(&self) {
        let inner = locked(&self.inner);
        if let (Ok(job), Some(plan)) = (&inner.read.job, inner.plan_in_file()) {
            self.planner.begin_with(Done {
                version: inner.version,
                quality: Quality::Full,
                document: Arc::new(inner.document.clone()),
                job: plan.planned(job),
                plan,
            });
        }
        let mut shown = locked(&self.shown);
        shown.variant = inner.last_variant();
        if let Some(done) = self.planner.done() {
            shown.text = Some(written(&done, shown.variant.as_ref()));
        }
        drop(shown);
        self.planner.want(inner.wanted());
    }

    /// Hears what happens from now on.
    pub fn listen(&self) -> broadcast::Receiver<Event> {
        self.events.subscribe()
    }

    /// The job as it stands in the file.
    pub fn job(&self) -> Result<JobView, Problem> {
        let inner = &mut *locked(&self.inner);
        self.notice(inner)?;
        let pictures = inner.store.pictures()?;
        Ok(view::job_view(
            &inner.document,
            inner.read.job.as_ref().ok().map(AsRef::as_ref),
            Around {
                version: inner.version,
                file: &file_name(inner.store.path()),
                findings: inner.findings(),
                undo: words(&inner.undo),
                redo: words(&inner.redo),
                pictures: pictures.iter().map(PictureView::from).collect(),
            },
        ))
    }

    /// The newest plan, written for the page.
    pub fn plan(&self) -> Option<Bytes> {
        locked(&self.shown).text.clone()
    }

    /// Why there is no plan of the newest version.
    pub fn unplanned(&self) -> Option<Unplanned> {
        locked(&self.shown).unplanned.clone()
    }

    /// What can be drawn.
    pub fn kinds(&self) -> Vec<view::KindView> {
        let inner = locked(&self.inner);
        let units = view::units_of(&inner.document);
        match &inner.read.job {
            Ok(job) => view::kinds(&job.practice, &job.prices, units),
            // Until the job can be read, nobody knows what it overrides.
            Err(_) => view::kinds(&Practice::embedded(), &PriceBook::embedded(), units),
        }
    }

    /// Rules and prices.
    pub fn settings(&self) -> Vec<SettingView> {
        let inner = locked(&self.inner);
        view::settings(inner.read.settings.as_ref(), &inner.document.header)
    }

    /// How a figure of the newest plan came about.
    pub fn working(&self, id: &str) -> Result<WorkingView, Problem> {
        let unknown = || {
            Problem::not_there(
                format!("the plan has no figure \"{id}\""),
                "it may be one of an earlier plan: choose it again",
            )
        };
        let done = self.planner.done().ok_or_else(unknown)?;
        let units = done.job.units;
        view::working(&done.plan, id, units)
            .or_else(|| view::working(&*self.planner.told_draft()?, id, units))
            .ok_or_else(unknown)
    }

    /// Puts a change into the file, then tells everyone.
    ///
    /// It joins the change before if both are of one gesture of one page: they are taken back together.
    pub fn edit(
        &self,
        label: &str,
        (tab, gesture): (&str, Option<&str>),
        steps: Vec<Step>,
    ) -> Result<i64, Problem> {
        let inner = &mut *locked(&self.inner);
        self.notice(inner)?;
        let going_on = inner.gesture.take().filter(|going_on| {
            (going_on.tab.as_str(), Some(going_on.name.as_str())) == (tab, gesture)
                && going_on.last == inner.version
        });
        let first = going_on.map(|going_on| going_on.first);
        let version = self.make(inner, (Sort::Edit, first), label, tab, steps)?;
        inner.gesture = gesture.map(|name| Gesture {
            tab: tab.to_owned(),
            name: name.to_owned(),
            first: first.unwrap_or(version),
            last: version,
        });
        Ok(version)
    }

    /// The job's unit of length, anchor and ids, for what is brought in from elsewhere.
    pub fn target(&self) -> exchange::Target {
        let inner = locked(&self.inner);
        exchange::Target {
            length_unit: inner.document.length_unit().unwrap_or(LengthUnit::M),
            anchor: inner.document.anchor(),
            taken: ids(&inner.document).map(str::to_owned).collect(),
        }
    }

    /// Whether nothing was drawn yet.
    pub fn is_empty(&self) -> bool {
        locked(&self.inner).document.features.is_empty()
    }

    /// The newest plan with the job that it is of.
    pub fn done(&self) -> Option<Arc<Done>> {
        self.planner.done()
    }

    /// The whole plan of the job as it is, with the job.
    ///
    /// # Errors
    /// If there is none yet.
    pub fn whole(&self) -> Result<Arc<Done>, Problem> {
        let version = locked(&self.inner).version;
        let done = self.planner.done();
        let whole = done.filter(|done| done.version == version && done.quality == Quality::Full);
        whole.ok_or_else(|| {
            Problem::not_there(
                "The job as it is has no whole plan yet",
                "wait until it is planned, then ask again",
            )
        })
    }

    /// Keeps the newest plan in the file, if it is whole and of the job as it is.
    pub fn put_away(&self) -> Result<(), Problem> {
        let inner = &mut *locked(&self.inner);
        let done = self.planner.done();
        let whole =
            |done: &Arc<Done>| done.version == inner.version && done.quality == Quality::Full;
        let Some(done) = done.filter(whole) else {
            return Ok(());
        };
        if inner.plan_in_file().is_some() {
            return Ok(());
        }
        let Ok(plan) = serde_json::to_string_pretty(&done.plan) else {
            return Ok(());
        };
        let stored = StoredPlan {
            basis: store::basis(&inner.document, inner.reader.options()),
            plan: plan + "\n",
        };
        let layers = layers::of(&done.job, &done.plan, done.job.units);
        Ok(inner.store.put_plan(&stored, &layers)?)
    }

    fn tell(&self, event: Event) {
        // Nobody listens while no page is open.
        let _ = self.events.send(event);
    }

    /// Writes the newest plan anew after what it is held against has changed.
    fn show_again(&self, inner: &Inner) {
        let variant = inner.last_variant();
        locked(&self.shown).variant.clone_from(&variant);
        if let Some(done) = self.planner.done() {
            locked(&self.shown).text = Some(written(&done, variant.as_ref()));
            self.tell(Event::Planned);
        }
        self.tell(Event::Looked);
    }

    /// Takes in what another program has changed in the file meanwhile.
    fn notice(&self, inner: &mut Inner) -> Result<(), Problem> {
        let touched = inner.store.touched()?;
        if touched == inner.touched {
            return Ok(());
        }
        inner.touched = touched;
        let found = inner.store.document()?;
        let steps = steps_between(&inner.document, &found);
        inner.version = inner.store.version()?;
        if steps.is_empty() {
            return Ok(());
        }
        let label = "Changed by another program";
        self.make(inner, (Sort::Found, None), label, "", steps)?;
        inner.name_features()
    }

    fn make(
        &self,
        inner: &mut Inner,
        (sort, of): (Sort, Option<i64>),
        label: &str,
        tab: &str,
        steps: Vec<Step>,
    ) -> Result<i64, Problem> {
        let label: String = label.chars().take(200).collect();
        let back = inner.document.change(&steps)?;
        let read = Read::of(&inner.document, &mut inner.reader);
        let before = std::mem::replace(&mut inner.read, read);
        // What stood against the version before says nothing of this one.
        locked(&self.shown).unplanned = None;
        // The plan is begun while the file is written; if that fails, the old one is wanted again.
        self.planner.want(inner.wanted_as(inner.version + 1));
        let change = Change {
            sort,
            label: label.clone(),
            of,
            steps,
            back,
        };
        match inner.store.record(&inner.document, &change) {
            Ok(version) => inner.version = version,
            Err(error) => {
                let undone = inner.document.change(&change.back);
                debug_assert!(undone.is_ok());
                inner.read = before;
                self.planner.want(inner.wanted());
                return Err(error.into());
            }
        }
        inner.stack(sort, of, &label);
        self.tell(Event::Changed(Changed {
            version: inner.version,
            label,
            tab: tab.to_owned(),
            kind: sort.name().to_owned(),
            ops: change.steps,
            findings: inner.findings(),
            undo: words(&inner.undo),
            redo: words(&inner.redo),
        }));
        Ok(inner.version)
    }
}

impl Inner {
    fn findings(&self) -> Vec<FindingView> {
        view::findings(&self.read.findings, &self.document, None)
    }

    fn wanted(&self) -> Wanted {
        self.wanted_as(self.version)
    }

    fn wanted_as(&self, version: i64) -> Wanted {
        Wanted {
            version,
            document: Arc::new(self.document.clone()),
            job: self.read.job.clone(),
        }
    }

    /// Steps name features by id: those without one, or with another's, get their own.
    fn name_features(&mut self) -> Result<(), Problem> {
        let mut taken: BTreeSet<String> = BTreeSet::new();
        let mut named = 0;
        let all: BTreeSet<String> = ids(&self.document).map(str::to_owned).collect();
        for feature in &mut self.document.features {
            let id = feature["id"].as_str().unwrap_or_default().to_owned();
            if !id.is_empty() && taken.insert(id) {
                continue;
            }
            let fresh = (1..)
                .map(|number| format!("F{number}"))
                .find(|id| !all.contains(id) && !taken.contains(id));
            let (Some(object), Some(fresh)) = (feature.as_object_mut(), fresh) else {
                continue;
            };
            object.insert("id".to_owned(), fresh.clone().into());
            taken.insert(fresh);
            named += 1;
        }
        // What is no object at all holds nothing that could be shown.
        self.document.features.retain(serde_json::Value::is_object);
        if named > 0 {
            self.store.save(&self.document)?;
            self.read = Read::of(&self.document, &mut self.reader);
        }
        Ok(())
    }

    /// The plan that the file keeps, if it is of the job as it is.
    fn plan_in_file(&self) -> Option<Plan> {
        let stored = self.store.plan().ok()??;
        if stored.basis != store::basis(&self.document, self.reader.options()) {
            return None;
        }
        let plan = serde_json::from_str::<Plan>(&stored.plan).ok()?;
        (plan.format == plan::FORMAT).then_some(plan)
    }
}

fn ids(document: &Document) -> impl Iterator<Item = &str> {
    document
        .features
        .iter()
        .filter_map(|feature| feature["id"].as_str())
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

fn written(done: &Done, variant: Option<&Variant>) -> Bytes {
    let kept = variant.map(kept_in);
    let variant = variant.zip(kept.as_deref());
    let view: PlanView = view::plan_view(
        &done.document,
        &done.job,
        &done.plan,
        (done.version, done.quality),
        variant.map(|(variant, kept)| (variant.name.as_str(), kept)),
    );
    Bytes::from(serde_json::to_vec(&view).unwrap_or_default())
}

fn hear(inner: &Mutex<Inner>, events: &broadcast::Sender<Event>, shown: &Mutex<Shown>, told: Told) {
    let event = match told {
        Told::Working(version, words) => Event::Planning(Planning { version, words }),
        Told::Planned(done) => {
            let variant = locked(shown).variant.clone();
            let text = written(&done, variant.as_ref());
            let mut shown = locked(shown);
            shown.text = Some(text);
            shown.unplanned = None;
            Event::Planned
        }
        Told::Unplanned(version, findings) => {
            let document = locked(inner).document.clone();
            let unplanned = Unplanned {
                version,
                findings: view::findings(&findings, &document, None),
            };
            locked(shown).unplanned = Some(unplanned.clone());
            Event::Unplanned(unplanned)
        }
    };
    // Nobody listens while no page is open.
    let _ = events.send(event);
}
