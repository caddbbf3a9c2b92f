//! Draws the chosen trenches as one would dig them: straight, with few bends and tidy junctions.
//!
//! The search knows places and straight ways between them, no bends and no junctions. Here its network is
//! changed by small moves in the plane, each priced exactly by the map's own rules and kept only if the
//! whole becomes cheaper: digging, lines, bends and junctions. At the end what the practice asks for
//! (junctions apart, trenches apart) is done where the gain so far pays for it, so that the network never
//! costs more than the one that came in.

mod draft;
mod joins;
mod mend;
mod near;
mod pricer;
mod slides;

pub use draft::Draft;
pub use pricer::Pricer;

use std::ops::ControlFlow;

/// Sweeps end when one gains less than this share of the cost.
const LEAST_GAIN: f64 = 0.001;
/// And after so many: a change moves on by one place in a sweep, and chains are a dozen places long.
const MOST_SWEEPS: usize = 12;

/// How near things may lie, in metres.
#[derive(Debug, Clone, Copy)]
pub struct Apart {
    /// Trenches side by side.
    pub trenches: f64,
    /// Junctions.
    pub junctions: f64,
}

/// A draft with what its changes are priced by.
struct Desk<'a, 'm, 'd> {
    draft: &'d mut Draft,
    pricer: Pricer<'a, 'm>,
    /// Spots around which something has changed since they were last looked at.
    stale: Vec<bool>,
    /// Spots that were looked at.
    looked_at: Vec<bool>,
    /// Trenches from before that are left alone: neither end of them has changed.
    settled: Vec<bool>,
    /// What all of it may cost: what it cost when it came in.
    ceiling: f64,
    /// Whether to go on.
    ask: &'d dyn Fn() -> ControlFlow<()>,
}

/// So many spots are looked at between two looks at whether to stop.
const AT_ONCE: usize = 16;

/// Tidies a draft; with `changed`, only around these of its spots. May be stopped on the way; the draft is
/// whole all the same.
pub fn tidy(
    draft: &mut Draft,
    pricer: Pricer<'_, '_>,
    apart: Apart,
    changed: Option<Vec<bool>>,
    ask: &dyn Fn() -> ControlFlow<()>,
) -> ControlFlow<()> {
    let stale = changed.unwrap_or_else(|| vec![true; draft.spots.len()]);
    let settled = draft.trenches.iter();
    let settled = settled.map(|t| !stale[t.a as usize] && !stale[t.b as usize]);
    let settled = settled.collect();
    let before = draft.cost();
    let mut desk = Desk {
        draft,
        pricer,
        looked_at: stale.clone(),
        stale,
        settled,
        ceiling: before,
        ask,
    };
    let mut seen = 0;
    for _ in 0..MOST_SWEEPS {
        let before = desk.draft.cost();
        desk.sweep()?;
        let new = desk.draft.trenches.len() as u32;
        desk.draw_together(apart.trenches, seen, 0.0)?;
        seen = new;
        if before - desk.draft.cost() < LEAST_GAIN * before {
            break;
        }
    }
    desk.as_asked(apart)
}

impl Desk<'_, '_, '_> {
    fn sweep(&mut self) -> ControlFlow<()> {
        let mut spot = 0;
        let mut looks = 0_usize;
        while (spot as usize) < self.draft.spots.len() {
            if std::mem::take(&mut self.stale[spot as usize]) && !self.draft.arms(spot).is_empty() {
                if looks.is_multiple_of(AT_ONCE) {
                    (self.ask)()?;
                }
                looks += 1;
                self.look_at(spot);
            }
            spot += 1;
        }
        ControlFlow::Continue(())
    }

    /// Whether a trench or what is around it has changed.
    fn is_new(&self, trench: u32) -> bool {
        !self
            .settled
            .get(trench as usize)
            .is_some_and(|settled| *settled)
    }

    /// Whether a spot was looked at, or has come since.
    fn was_looked_at(&self, spot: u32) -> bool {
        self.looked_at
            .get(spot as usize)
            .is_none_or(|looked| *looked)
    }

    fn look_at(&mut self, spot: u32) {
        if let Some(looked_at) = self.looked_at.get_mut(spot as usize) {
            *looked_at = true;
        }
        let _ = self.straighten(spot) || self.draw_in(spot);
        self.slide(spot);
        let _ = self.hang_over(spot) || self.part_later(spot);
    }

    /// Ends a change; around what was kept, everything is looked at again.
    fn settle(&mut self, allowed: f64) -> bool {
        let allowed = allowed.min(self.ceiling - self.draft.begun_at());
        let kept = self.draft.settle(&mut self.pricer, allowed);
        if kept {
            self.stale.resize(self.draft.spots.len(), true);
            for spot in self.draft.touched().to_vec() {
                self.stale[spot as usize] = true;
                for trench in self.draft.arms(spot) {
                    self.stale[self.draft.beyond(*trench, spot) as usize] = true;
                }
            }
        }
        kept
    }
}
