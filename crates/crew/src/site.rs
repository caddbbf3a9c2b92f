//! Who and what is on site: crews, machines, and the day cut into slots.

use digging::Digging;
use job::practice::Skill;
use job::{Job, MethodId};
use quantity::Duration;
use std::collections::BTreeMap;

/// Tasks start on the grid of this, seconds; work and labour are counted exactly.
const SLOT: f64 = 300.0;

/// A moment on site in slots of working time, nights left out.
pub type Slot = u32;

/// People who work together.
pub struct Team {
    pub id: String,
    pub label: String,
    pub people: u32,
    pub skills: Vec<Skill>,
}

/// Crews, machines and the day.
pub struct Site {
    pub teams: Vec<Team>,
    /// Slots in a working day.
    pub day: Slot,
    /// What each method holds: places among `machines`.
    holds: BTreeMap<MethodId, Vec<usize>>,
    /// How many machines there are, carriers and attachments each.
    pub machines: usize,
}

impl Site {
    /// The practice's crews; the largest that digs has as many people as the largest dig needs.
    pub fn of(job: &Job, digging: &Digging) -> Self {
        let team = |(id, crew): (&String, &job::practice::Crew)| Team {
            id: id.clone(),
            label: crew.label.clone(),
            people: crew.people.value.max(1),
            skills: crew.skills.value.0.clone(),
        };
        let mut teams: Vec<Team> = job.practice.crew.iter().map(team).collect();
        let most = digging.digs.iter().map(|dig| dig.crew).max().unwrap_or(0);
        let diggers = teams.iter_mut().filter(|t| t.skills.contains(&Skill::Dig));
        if let Some(largest) = diggers.max_by_key(|team| team.people) {
            largest.people = largest.people.max(most);
        }
        let (holds, machines) = machines(job);
        let hours = Duration::h(job.practice.day.hours.value.to_one());
        Self {
            teams,
            day: ((hours.to_s() / SLOT).round() as Slot).max(1),
            holds,
            machines,
        }
    }

    /// People of all crews.
    pub fn people(&self) -> u32 {
        self.teams.iter().map(|team| team.people).sum()
    }

    /// The crews that can do something.
    pub fn who_can(&self, skill: Skill) -> impl Iterator<Item = (usize, &Team)> {
        let teams = self.teams.iter().enumerate();
        teams.filter(move |(_, team)| team.skills.contains(&skill))
    }

    /// The largest crew that can do something.
    pub fn most(&self, skill: Skill) -> u32 {
        self.who_can(skill)
            .map(|(_, t)| t.people)
            .max()
            .unwrap_or(1)
    }

    /// Machines that a method holds.
    pub fn held_by(&self, method: &MethodId) -> &[usize] {
        self.holds.get(method).map_or(&[], Vec::as_slice)
    }

    /// Slots that a time takes, the last one begun.
    pub fn slots(&self, time: Duration) -> Slot {
        // A hair of rounding does not begin another slot.
        (time.to_s() / SLOT - 1e-6).ceil().max(0.0) as Slot
    }

    /// Working time from the first hour on site.
    pub fn time(&self, slot: Slot) -> Duration {
        Duration::s(f64::from(slot) * SLOT)
    }

    /// A time in slots, with their parts.
    pub fn in_slots(&self, time: Duration) -> f64 {
        time.to_s() / SLOT
    }

    /// When something is over that stands from `start` on, nights counted.
    pub fn stood(&self, start: Slot, time: Duration) -> Slot {
        let night = u64::from((24.0 * 3600.0 / SLOT) as Slot).max(u64::from(self.day));
        let day = u64::from(self.day);
        let start = u64::from(start);
        // The end of a day is its evening, not the next morning.
        let (days, hour) = match (start / day, start % day) {
            (days, 0) if days > 0 => (days - 1, day),
            other => other,
        };
        let clock = days * night + hour + u64::from(self.slots(time));
        ((clock / night) * day + (clock % night).min(day)).max(start) as Slot
    }

    /// The day in which a moment lies, from 0 on.
    pub fn day_of(&self, slot: Slot) -> u32 {
        slot / self.day
    }
}

/// Each method's own machine, and the carrier of those that are attachments.
fn machines(job: &Job) -> (BTreeMap<MethodId, Vec<usize>>, usize) {
    let mut known: BTreeMap<String, usize> = BTreeMap::new();
    let mut number = |name: String| {
        let next = known.len();
        *known.entry(name).or_insert(next)
    };
    let mut holds = BTreeMap::new();
    for (id, method) in &job.prices.method {
        let mut all = vec![number(format!("method {id}"))];
        all.extend(
            method
                .carrier
                .iter()
                .map(|key| number(format!("carrier {key}"))),
        );
        holds.insert(id.clone(), all);
    }
    (holds, known.len())
}
