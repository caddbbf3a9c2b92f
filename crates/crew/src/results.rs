//! Who does what on which day: the result of this stage.

use job::MethodId;
use quantity::{Duration, Length};
use routes::StretchId;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The crews' days.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Schedule {
    /// What comes before the first day on site: white-lining, the locate request, the wait.
    #[serde(default)]
    pub ahead: Vec<Ahead>,
    /// Tasks in the order in which they are begun.
    pub tasks: Vec<Task>,
    /// Working days on site.
    pub days: Vec<WorkDay>,
    /// Working days to wait between the locate request and the first cut; not in `days`.
    pub notice_days: u32,
    /// People on site, all crews.
    pub crew: u32,
    /// The crews.
    #[serde(default)]
    pub crews: Vec<CrewOnSite>,
    /// Sum of people times hours.
    pub labour: Duration,
    /// Machines with the days on which they have to be there.
    #[serde(default)]
    pub windows: Vec<Window>,
    /// What must be done before something else may begin.
    #[serde(default)]
    pub holds: Vec<Hold>,
    /// Length of open trench, summed over the evenings.
    #[serde(default)]
    pub open: Length,
    /// No order of the work with these crews takes fewer days on site.
    #[serde(default)]
    pub fewest_days: u32,
    /// Days to allow for the weather, beside `days`.
    #[serde(default)]
    pub weather_days: u32,
    /// The day on which the last task ends, without and with the days for the weather; as in a
    /// calendar, where the job gives one.
    #[serde(default)]
    pub ends_on: Option<(String, String)>,
}

impl Schedule {
    /// The most trench that is open at an evening.
    pub fn most_open(&self) -> Length {
        let evenings = self.days.iter().map(|day| day.open);
        evenings.fold(Length::ZERO, Length::max)
    }

    /// Days on which a machine that serves these methods is on site, from its first to its last hour
    /// of work.
    pub fn days_of(&self, methods: &[MethodId]) -> u32 {
        let serves = |day: &&WorkDay| day.machines.iter().any(|m| methods.contains(m));
        let mut days = self.days.iter().filter(serves).map(|day| day.day);
        let first = days.next();
        first.map_or(0, |first| days.next_back().unwrap_or(first) - first + 1)
    }

    /// Working time from the first to the last hour of work of a machine that serves these methods.
    pub fn time_on_site(&self, methods: &[MethodId]) -> Duration {
        let at_work = self.tasks.iter().filter(|task| {
            let machine = task.machine.as_ref();
            machine.is_some_and(|machine| methods.contains(machine))
        });
        let spans = at_work.map(|task| (task.start, task.end));
        spans
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
            .map_or(Duration::ZERO, |(first, last)| last - first)
    }

    /// People times hours of one kind of work.
    pub fn labour_of(&self, kind: TaskKind) -> Duration {
        let ahead = self.ahead.iter().filter(|one| one.kind == kind);
        let ahead: Duration = ahead.map(|one| one.hours * f64::from(one.people)).sum();
        ahead + self.tasks.iter().map(|task| task.labour_of(kind)).sum()
    }
}

/// What kind of work a task is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum TaskKind {
    /// White-lining the dig area.
    WhiteLine,
    /// The locate request.
    Request,
    /// Waiting for the answer of those whose services lie there.
    Locate,
    /// Staking routes and components on the ground.
    Mark,
    /// Exposing services by hand.
    TestHole,
    /// Putting sleeves in.
    Sleeve,
    /// Digging or pulling.
    Dig,
    /// Laying and joining pipe.
    Lay,
    /// Laying wire and cable.
    Wire,
    /// Setting valves, heads, backflow assembly, controller.
    Set,
    /// Joints that stand before water comes on; binds nobody.
    Cure,
    /// Looking over what lies in the open trench.
    Inspect,
    /// Flushing.
    Flush,
    /// Filling, bleeding and bringing to pressure.
    Test,
    /// Pressure that stands and is watched; binds nobody.
    Hold,
    /// Filling in lifts.
    Fill,
    /// Tamping each lift.
    Compact,
    /// Putting the surface back.
    Restore,
    /// Cleaning up.
    CleanUp,
}

impl TaskKind {
    /// All kinds, in the order in which they are first done.
    pub const ALL: [Self; 19] = [
        Self::WhiteLine,
        Self::Request,
        Self::Locate,
        Self::Mark,
        Self::TestHole,
        Self::Sleeve,
        Self::Dig,
        Self::Lay,
        Self::Wire,
        Self::Set,
        Self::Cure,
        Self::Inspect,
        Self::Flush,
        Self::Test,
        Self::Hold,
        Self::Fill,
        Self::Compact,
        Self::Restore,
        Self::CleanUp,
    ];

    /// A short word, also the end of the id of its labour, `crew.labour.` with it.
    pub fn word(self) -> &'static str {
        match self {
            Self::WhiteLine => "white-line",
            Self::Request => "request",
            Self::Locate => "locate",
            Self::Mark => "mark",
            Self::TestHole => "test-hole",
            Self::Sleeve => "sleeve",
            Self::Dig => "dig",
            Self::Lay => "lay",
            Self::Wire => "wire",
            Self::Set => "set",
            Self::Cure => "cure",
            Self::Inspect => "inspect",
            Self::Flush => "flush",
            Self::Test => "test",
            Self::Hold => "hold",
            Self::Fill => "fill",
            Self::Compact => "compact",
            Self::Restore => "restore",
            Self::CleanUp => "clean-up",
        }
    }

    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::WhiteLine => "white-lining",
            Self::Request => "locate request",
            Self::Locate => "waiting for marks",
            Self::Mark => "staking",
            Self::TestHole => "test holes",
            Self::Sleeve => "sleeves",
            Self::Dig => "digging and pulling",
            Self::Lay => "laying pipe",
            Self::Wire => "laying wire",
            Self::Set => "setting components",
            Self::Cure => "joints standing",
            Self::Inspect => "inspecting",
            Self::Flush => "flushing",
            Self::Test => "testing",
            Self::Hold => "holding pressure",
            Self::Fill => "filling",
            Self::Compact => "tamping",
            Self::Restore => "making surfaces good",
            Self::CleanUp => "cleaning up",
        }
    }

    /// Whether it only waits.
    pub fn is_wait(self) -> bool {
        matches!(self, Self::Request | Self::Locate | Self::Cure | Self::Hold)
    }
}

/// What comes before the first day on site.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Ahead {
    /// What is done.
    pub what: String,
    /// What kind of work it is.
    pub kind: TaskKind,
    /// The working days from its first to its last, before the first on site, which is day 1: day 0 is
    /// the one before it.
    pub days: (i32, i32),
    /// The same in the calendar, where the job gives one.
    pub dates: Option<(String, String)>,
    /// People at it.
    pub people: u32,
    /// How long they take.
    pub hours: Duration,
}

/// A crew on site.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CrewOnSite {
    /// Its key in the practice file.
    pub id: String,
    /// In words.
    pub label: String,
    /// How many.
    pub people: u32,
}

/// A task.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Task {
    /// Its number; written `T1`, `T2` … in its name's front.
    pub id: String,
    /// What is done.
    pub what: String,
    /// What kind of work it is.
    pub kind: TaskKind,
    /// What it is done for: a line's name, or empty.
    pub part: String,
    /// Who does it; a key of the practice file, empty for what binds nobody.
    #[serde(default)]
    pub crew: String,
    /// Machine that it holds, if any.
    pub machine: Option<MethodId>,
    /// People at it.
    pub people: u32,
    /// How long it takes with them.
    pub hours: Duration,
    /// Indices of the tasks that must be done before.
    pub after: Vec<usize>,
    /// Working time from the first hour on site to its start, nights left out.
    pub start: Duration,
    /// Working time from the first hour on site to when what follows may begin.
    #[serde(default)]
    pub end: Duration,
    /// The clock at its start.
    #[serde(default)]
    pub from: Clock,
    /// The clock at its end.
    #[serde(default)]
    pub to: Clock,
    /// Stretches of trench at which it is done, in their order; empty where it is done at components.
    #[serde(default)]
    pub stretches: Vec<StretchId>,
    /// What it consists of, lift by lift; empty if it is one thing.
    #[serde(default)]
    pub steps: Vec<Step>,
}

impl Task {
    /// People times hours of one kind of work in it.
    pub fn labour_of(&self, kind: TaskKind) -> Duration {
        let labour = self.hours * f64::from(self.people);
        if self.steps.is_empty() {
            let share = if self.kind == kind { 1.0 } else { 0.0 };
            return labour * share;
        }
        let of_kind = self.steps.iter().filter(|step| step.kind == kind);
        labour * of_kind.map(|step| step.share).sum::<f64>()
    }
}

/// A day on site and a time of day.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize, JsonSchema,
)]
pub struct Clock {
    /// 1 is the first day on site.
    pub day: u32,
    /// Minutes after midnight.
    pub minute: u32,
}

impl Clock {
    /// The time of day, such as `07:30`.
    pub fn time(self) -> String {
        format!("{:02}:{:02}", self.minute / 60, self.minute % 60)
    }
}

/// A part of a task.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    /// What is done.
    pub what: String,
    /// What kind of work it is.
    pub kind: TaskKind,
    /// Its part of the task's time; all steps make 1.
    pub share: f64,
}

/// When a machine has to be on site.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Window {
    /// The method that needs it.
    pub machine: MethodId,
    /// From the morning of this day.
    pub first: u32,
    /// To the evening of this one.
    pub last: u32,
}

/// What must be done before something else may begin.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Hold {
    /// In words.
    pub what: String,
    /// Indices of the tasks that must be done.
    pub until: Vec<usize>,
    /// Indices of the tasks that wait for them.
    pub holds: Vec<usize>,
}

/// One working day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WorkDay {
    /// 1 is the first day on site.
    pub day: u32,
    /// The day in the calendar, such as `Mon 2027-04-19`, where the job gives one.
    #[serde(default)]
    pub date: Option<String>,
    /// Indices of the tasks worked on.
    pub tasks: Vec<usize>,
    /// Machines on site.
    pub machines: Vec<MethodId>,
    /// Length of trench dug and not yet filled at the end of the day.
    pub open: Length,
    /// The stretches that stand open then.
    #[serde(default)]
    pub open_stretches: Vec<StretchId>,
}
