//! Who does what on which day: the result of this stage.

use job::MethodId;
use quantity::{Duration, Length};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The crew's days.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Schedule {
    /// Tasks in the order in which they are done.
    pub tasks: Vec<Task>,
    /// Working days of the crew on site.
    pub days: Vec<WorkDay>,
    /// Working days to wait between the locate request and the first cut; not in `days`.
    pub notice_days: u32,
    /// People in the crew.
    pub crew: u32,
    /// Sum of people times hours.
    pub labour: Duration,
}

impl Schedule {
    /// Days on which a machine that serves these methods is on site, from its first to its last hour
    /// of work.
    pub fn days_of(&self, methods: &[MethodId]) -> u32 {
        let serves = |day: &&WorkDay| day.machines.iter().any(|m| methods.contains(m));
        let mut days = self.days.iter().filter(serves).map(|day| day.day);
        let first = days.next();
        first.map_or(0, |first| days.next_back().unwrap_or(first) - first + 1)
    }

    /// People times hours of one kind of work.
    pub fn labour_of(&self, kind: TaskKind) -> Duration {
        let of_kind = self.tasks.iter().filter(|task| task.kind == kind);
        of_kind.map(|t| t.hours * f64::from(t.people)).sum()
    }
}

impl TaskKind {
    /// All kinds, in the order in which they are first done.
    pub const ALL: [Self; 9] = [
        Self::Mark,
        Self::TestHole,
        Self::Sleeve,
        Self::Dig,
        Self::Lay,
        Self::Set,
        Self::Test,
        Self::Fill,
        Self::Restore,
    ];

    /// A short word, also the end of the id of its labour, `crew.labour.` with it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Mark => "mark",
            Self::TestHole => "test-hole",
            Self::Sleeve => "sleeve",
            Self::Dig => "dig",
            Self::Lay => "lay",
            Self::Set => "set",
            Self::Test => "test",
            Self::Fill => "fill",
            Self::Restore => "restore",
        }
    }

    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Mark => "marking",
            Self::TestHole => "test holes",
            Self::Sleeve => "sleeves",
            Self::Dig => "digging and pulling",
            Self::Lay => "laying",
            Self::Set => "setting components",
            Self::Test => "testing",
            Self::Fill => "filling and tamping",
            Self::Restore => "making surfaces good",
        }
    }
}

/// What kind of work a task is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum TaskKind {
    /// Marking routes and components on the ground.
    Mark,
    /// Exposing services by hand.
    TestHole,
    /// Putting sleeves in.
    Sleeve,
    /// Digging or pulling.
    Dig,
    /// Laying and joining pipe, wire, cable.
    Lay,
    /// Setting valves, heads, backflow assembly, controller.
    Set,
    /// Inspection and pressure test before anything is covered.
    Test,
    /// Filling and tamping.
    Fill,
    /// Putting the surface back.
    Restore,
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
    /// What it is done for: a line's name, a method, or empty.
    pub part: String,
    /// Machine that it holds, if any.
    pub machine: Option<MethodId>,
    /// People at it.
    pub people: u32,
    /// How long it takes with them.
    pub hours: Duration,
    /// Indices of the tasks that must be done before.
    pub after: Vec<usize>,
    /// Working time from the crew's first hour on site to its start, nights left out.
    pub start: Duration,
}

/// One working day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WorkDay {
    /// 1 is the first day on site.
    pub day: u32,
    /// Indices of the tasks worked on.
    pub tasks: Vec<usize>,
    /// Machines on site.
    pub machines: Vec<MethodId>,
    /// Length of trench dug and not yet filled at the end of the day.
    pub open: Length,
}
