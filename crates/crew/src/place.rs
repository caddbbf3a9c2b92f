//! Placing tasks in time, one after the other in the order of a list.
//!
//! Each task goes to the earliest moment at which those before it are done and people and machine are
//! free for it, with as many people as make it end soonest. Then what comes before a filling is moved
//! as late as its followers let it, so that trench is not opened a day sooner than it need be; and all
//! is placed again from the morning of the day on which it came to lie, so that nobody waits within a
//! day. A pressure test and its hold are not broken off by a night.

use crate::site::{Site, Slot};
use job::MethodId;
use job::practice::Skill;
use quantity::Duration;

/// A task to be placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Spec {
    /// People times hours; of a wait its own time.
    pub work: Duration,
    /// Fewest people at it.
    pub least: u32,
    /// Most people at it.
    pub most: u32,
    /// Who.
    pub by: By,
    /// Machine that it holds.
    pub machine: Option<MethodId>,
    /// How long the task after it in the list has to follow at once on the same day.
    pub hold: Duration,
    /// Whether it stays at its earliest moment when others are moved later.
    pub early: bool,
    /// Indices of tasks that must be done before, all lower than its own.
    pub after: Vec<usize>,
}

/// Who does a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Any crew that can.
    Skill(Skill),
    /// Nobody: joints stand, day and night.
    Standing,
    /// Nobody: pressure is held in working hours.
    Holding,
}

/// Where a task lies.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Placed {
    /// Its first slot.
    pub start: Slot,
    /// What follows may begin here.
    pub end: Slot,
    /// Who does it, a place among the crews; none for waits.
    pub team: Option<usize>,
    /// People at it.
    pub people: u32,
}

/// Places all tasks in the order of a list in which none stands before one that it follows.
pub fn place(site: &Site, specs: &[&Spec], order: &[usize]) -> Vec<Placed> {
    let mut board = Board::new(site, specs);
    for &task in order {
        board.put_early(task, 0);
    }
    board.move_late(order);
    let late = board.placed;
    let mut by_start = order.to_vec();
    by_start.sort_by_key(|&task| late[task].start);
    let mut board = Board::new(site, specs);
    for &task in &by_start {
        let Placed { start, end, .. } = late[task];
        let (first, last) = (start / site.day, end.saturating_sub(1) / site.day);
        let from = match (specs[task].early, first == last) {
            (true, _) => 0,
            (false, true) => first * site.day,
            // What goes on overnight opens no more on its first day than it did.
            (false, false) => start,
        };
        board.put_early(task, from);
    }
    board.placed
}

struct Board<'a> {
    site: &'a Site,
    specs: &'a [&'a Spec],
    /// The machines that each task holds.
    machines: Vec<&'a [usize]>,
    /// People at work of each crew, slot by slot.
    busy: Vec<Vec<u32>>,
    /// Whether each machine is held, slot by slot.
    held: Vec<Vec<bool>>,
    placed: Vec<Placed>,
}

impl<'a> Board<'a> {
    fn new(site: &'a Site, specs: &'a [&'a Spec]) -> Self {
        let held = |spec: &&Spec| {
            let method = spec.machine.as_ref();
            method.map_or(&[][..], |method| site.held_by(method))
        };
        Self {
            site,
            specs,
            machines: specs.iter().map(held).collect(),
            busy: vec![Vec::new(); site.teams.len()],
            held: vec![Vec::new(); site.machines],
            placed: vec![Placed::default(); specs.len()],
        }
    }

    fn put_early(&mut self, task: usize, from: Slot) {
        let spec = &self.specs[task];
        let before = spec.after.iter().map(|&before| self.placed[before].end);
        let ready = before.max().unwrap_or(0);
        // Waits begin when what they follow is done.
        let from = ready.max(from);
        let found = match spec.by {
            By::Standing => Placed {
                start: ready,
                end: self.site.stood(ready, spec.work),
                ..Placed::default()
            },
            By::Holding => Placed {
                start: ready,
                end: ready + self.site.slots(spec.work),
                ..Placed::default()
            },
            By::Skill(skill) => self.soonest(task, skill, from),
        };
        self.placed[task] = found;
        self.book(task, true);
    }

    /// The place where it ends soonest; of equals the one with the fewest people, then the first crew.
    fn soonest(&self, task: usize, skill: Skill, ready: Slot) -> Placed {
        let spec = &self.specs[task];
        let mut best: Option<Placed> = None;
        for (index, team) in self.site.who_can(skill) {
            let least = spec.least.clamp(1, team.people);
            for people in least..=spec.most.clamp(least, team.people) {
                let slots = self.site.slots(spec.work / f64::from(people));
                // With fewer people it takes longer: it must begin sooner to be worth it.
                let no_later = best.map_or(Slot::MAX, |best| best.end);
                if let Some(start) = self.first_free(task, (index, people), slots, ready, no_later)
                {
                    best = Some(Placed {
                        start,
                        end: start + slots,
                        team: Some(index),
                        people,
                    });
                }
            }
        }
        best.unwrap_or_default()
    }

    /// The first start from `ready` on that ends before `no_later`.
    fn first_free(
        &self,
        task: usize,
        who: (usize, u32),
        slots: Slot,
        ready: Slot,
        no_later: Slot,
    ) -> Option<Slot> {
        let mut start = ready;
        while start.saturating_add(slots) < no_later {
            start = self.in_one_day(self.specs[task], start, slots);
            match self.taken(task, who, start, slots) {
                None => return (start + slots < no_later).then_some(start),
                Some(at) => start = at + 1,
            }
        }
        None
    }

    /// The start from this one on from which a task and its hold end on one day, if a day is long
    /// enough.
    fn in_one_day(&self, spec: &Spec, start: Slot, slots: Slot) -> Slot {
        let whole = slots + self.site.slots(spec.hold);
        let left = self.site.day - start % self.site.day;
        if spec.hold > Duration::ZERO && whole <= self.site.day && whole > left {
            start + left
        } else {
            start
        }
    }

    /// The last slot of a span in which people or machine are missing.
    fn taken(
        &self,
        task: usize,
        (team, people): (usize, u32),
        start: Slot,
        slots: Slot,
    ) -> Option<Slot> {
        let (from, to) = (start as usize, (start + slots) as usize);
        let room = self.site.teams[team].people - people;
        let busy = &self.busy[team];
        let span = |len: usize| from.min(len)..to.min(len);
        let no_people = span(busy.len()).rev().find(|&at| busy[at] > room);
        let no_machine = self.machines[task].iter().filter_map(|&machine| {
            let held = &self.held[machine];
            span(held.len()).rev().find(|&at| held[at])
        });
        no_machine.chain(no_people).max().map(|at| at as Slot)
    }

    /// Takes people and machine for a task, or gives them back.
    fn book(&mut self, task: usize, take: bool) {
        let Placed {
            start,
            end,
            people,
            team,
            ..
        } = self.placed[task];
        let Some(team) = team else { return };
        let (from, to) = (start as usize, end as usize);
        let spec = &self.specs[task];
        let busy = &mut self.busy[team];
        if busy.len() < to {
            busy.resize(to, 0);
        }
        for at in &mut busy[from..to] {
            *at = if take { *at + people } else { *at - people };
        }
        for &machine in spec
            .machine
            .as_ref()
            .map_or(&[][..], |m| self.site.held_by(m))
        {
            let held = &mut self.held[machine];
            if held.len() < to {
                held.resize(to, false);
            }
            held[from..to].fill(take);
        }
    }

    /// Moves what may move to the latest moment that its followers and the free people leave, the
    /// last first; the end of the work stays.
    fn move_late(&mut self, order: &[usize]) {
        let mut limit = vec![Slot::MAX; self.specs.len()];
        let mut last_first = order.to_vec();
        last_first.sort_by_key(|&task| std::cmp::Reverse((self.placed[task].start, task)));
        for task in last_first {
            let may = limit[task] != Slot::MAX && !self.specs[task].early;
            if may && self.placed[task].end < limit[task] {
                self.move_to(task, limit[task]);
            }
            // A hold goes with its test, which may take it as late as this.
            let start = match self.specs[task].by {
                By::Holding if may => {
                    limit[task] - (self.placed[task].end - self.placed[task].start)
                }
                _ => self.placed[task].start,
            };
            for &before in &self.specs[task].after {
                limit[before] = limit[before].min(start);
            }
        }
    }

    fn move_to(&mut self, task: usize, limit: Slot) {
        match (self.specs[task].by, self.placed[task].team) {
            (By::Standing, _) => self.stand_later(task, limit),
            (By::Skill(_), Some(team)) => self.work_later(task, team, limit),
            (By::Holding | By::Skill(_), _) => {}
        }
    }

    fn stand_later(&mut self, task: usize, limit: Slot) {
        let time = self.specs[task].work;
        let Placed { start, .. } = self.placed[task];
        let late = (start..=limit)
            .rev()
            .find(|&late| self.site.stood(late, time) <= limit);
        let late = late.unwrap_or(start);
        self.placed[task].start = late;
        self.placed[task].end = self.site.stood(late, time);
    }

    fn work_later(&mut self, task: usize, team: usize, limit: Slot) {
        let spec = &self.specs[task];
        let Placed {
            start, end, people, ..
        } = self.placed[task];
        let slots = end - start;
        self.book(task, false);
        let mut late = limit - slots;
        while late > start {
            match self.taken(task, (team, people), late, slots) {
                None if self.in_one_day(spec, late, slots) == late => break,
                None => late -= 1,
                Some(at) => late = at.saturating_sub(slots),
            }
        }
        let late = late.max(start);
        self.placed[task].start = late;
        self.placed[task].end = late + slots;
        self.book(task, true);
        if spec.hold > Duration::ZERO
            && let Some(hold) = self
                .specs
                .get(task + 1)
                .filter(|next| next.by == By::Holding)
        {
            self.placed[task + 1].start = late + slots;
            self.placed[task + 1].end = late + slots + self.site.slots(hold.work);
        }
    }
}
