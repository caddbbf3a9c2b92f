//! Below how many days no order of the work can go.
//!
//! Whoever does a task and with however many people, it takes at least its work over the most people
//! that may be at it, and a chain of tasks at least their sum. Tasks that begin no sooner than some moment
//! and leave at least some time after them take, between the two, at least their work over all the people
//! that could do it; those of one machine at least their sum. Joints may stand overnight and bind nobody,
//! so their time is left out.

use crate::place::{By, Spec};
use crate::site::Site;
use job::practice::Skill;

/// Days that any order of these tasks takes at least.
pub fn fewest_days(site: &Site, specs: &[&Spec]) -> u32 {
    let span = Span::of(site, specs);
    let chain = (0..specs.len()).map(|task| span.head[task] + span.tail[task]);
    let mut most = chain.fold(0.0, f64::max);
    let all: Vec<usize> = (0..specs.len())
        .filter(|task| is_work(specs[*task]))
        .collect();
    most = most.max(span.of_people(specs, &all, site.people()));
    for skill in Skill::ALL {
        let can: u32 = site.who_can(skill).map(|(_, team)| team.people).sum();
        let tasks: Vec<usize> = all
            .iter()
            .copied()
            .filter(|t| specs[*t].by == By::Skill(skill))
            .collect();
        most = most.max(span.of_people(specs, &tasks, can));
    }
    for machine in 0..site.machines {
        let holds = |task: &usize| {
            let held = specs[*task].machine.as_ref().map(|m| site.held_by(m));
            held.is_some_and(|held| held.contains(&machine))
        };
        let tasks: Vec<usize> = all.iter().copied().filter(holds).collect();
        most = most.max(span.of_machine(&tasks));
    }
    // A hair of rounding does not make another day.
    ((most - 1e-6) / f64::from(site.day)).ceil().max(0.0) as u32
}

fn is_work(spec: &Spec) -> bool {
    matches!(spec.by, By::Skill(_))
}

/// Times in slots with their parts.
struct Span {
    /// Shortest time of each task.
    least: Vec<f64>,
    /// Earliest start.
    head: Vec<f64>,
    /// From its start to the end of all at least.
    tail: Vec<f64>,
}

impl Span {
    fn of(site: &Site, specs: &[&Spec]) -> Self {
        let least: Vec<f64> = specs.iter().map(|spec| shortest(site, spec)).collect();
        let mut head = vec![0.0; specs.len()];
        for (task, spec) in specs.iter().enumerate() {
            let ends = spec
                .after
                .iter()
                .map(|&before| head[before] + least[before]);
            head[task] = ends.fold(0.0, f64::max);
        }
        let mut tail = least.clone();
        for (task, spec) in specs.iter().enumerate().rev() {
            for &before in &spec.after {
                tail[before] = f64::max(tail[before], least[before] + tail[task]);
            }
        }
        Self { least, head, tail }
    }

    /// Tasks whose work is shared by so many people.
    fn of_people(&self, specs: &[&Spec], tasks: &[usize], people: u32) -> f64 {
        let share = |task: usize| {
            let spec = specs[task];
            self.least[task] * f64::from(spec.most.max(spec.least).max(1).min(people.max(1)))
                / f64::from(people.max(1))
        };
        self.between(tasks, &share)
    }

    /// Tasks that come one after another.
    fn of_machine(&self, tasks: &[usize]) -> f64 {
        self.between(tasks, &|task| self.least[task])
    }

    /// For every earliest start: what begins no sooner takes up so much after it, and then the least
    /// that any of it leaves behind it.
    fn between(&self, tasks: &[usize], takes: &dyn Fn(usize) -> f64) -> f64 {
        let mut late_first = tasks.to_vec();
        late_first.sort_by(|a, b| self.head[*b].total_cmp(&self.head[*a]));
        let (mut sum, mut left, mut most) = (0.0, f64::INFINITY, 0.0);
        for task in late_first {
            sum += takes(task);
            left = f64::min(left, self.tail[task] - self.least[task]);
            most = f64::max(most, self.head[task] + sum + left);
        }
        most
    }
}

fn shortest(site: &Site, spec: &Spec) -> f64 {
    match spec.by {
        By::Standing => 0.0,
        By::Holding => site.in_slots(spec.work),
        By::Skill(skill) => {
            let most = spec
                .most
                .max(spec.least)
                .max(1)
                .min(site.most(skill).max(1));
            site.in_slots(spec.work / f64::from(most))
        }
    }
}
