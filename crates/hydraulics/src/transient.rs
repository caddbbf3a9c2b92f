//! What the water in a line does while the valve at its end closes: the method of characteristics.
//!
//! A line is a row of pipes from a source to a valve. Each has its own bore, wave speed and friction;
//! the line is cut into reaches that a wave crosses in one step of time, so that along each reach the
//! equations of motion and continuity become two straight relations between head and flow,
//! H = CP − BP·Q from above and H = CM + BM·Q from below, with B = a/(g·A).
//!
//! # What is assumed
//! Friction goes with the square of the flow and is that of steady flow. The source follows its curve
//! without delay. No water goes back through a check. The valve's opening falls in proportion to time;
//! what lies behind it is a fixed resistance down to the pressure of the air, so a valve that takes a
//! small share of the whole drop does most of its work in the last part of its travel. The water does
//! not part: where the lowest head is below that of vapour, the figures do not hold.
//!
//! Source: E. B. Wylie and V. L. Streeter, Fluid Transients; from memory. Plain SI numbers, since
//! head, flow and resistance are combined in ways for which there are no units of their own.

use crate::water::GRAVITY;

/// A pipe of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pipe {
    /// Length, m.
    pub length: f64,
    /// Area of the bore, m².
    pub area: f64,
    /// Speed of a pressure wave, m/s.
    pub wave: f64,
    /// Head lost over it by a flow of 1 m³/s, going with the square of the flow, s²/m⁵.
    pub resistance: f64,
    /// Height of its upper end, m.
    pub from: f64,
    /// Height of its lower end, m.
    pub to: f64,
}

/// The source: its head falls with the flow drawn, H = rest − fall·Qⁿ, and is `rest` while water
/// comes back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Head without flow, m.
    pub rest: f64,
    /// Head lost at 1 m³/s; 0 for a head that is held.
    pub fall: f64,
    /// The exponent n.
    pub exponent: f64,
}

impl Source {
    fn head(&self, flow: f64) -> f64 {
        if flow > 0.0 && self.fall > 0.0 {
            self.rest - self.fall * flow.powf(self.exponent)
        } else {
            self.rest
        }
    }
}

/// A check that lets water pass one way, at a loss.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// It lies in front of the pipe of this place in the line.
    pub before: usize,
    /// Head lost at 1 m³/s, going with the square of the flow, s²/m⁵.
    pub resistance: f64,
}

/// The valve at the end and what lies behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Valve {
    /// Head that the open valve takes at 1 m³/s, going with the square of the flow, s²/m⁵; the rest
    /// down to the pressure of the air is that of what lies behind it. Infinite for a valve that
    /// takes all of it.
    pub resistance: f64,
    /// Height at which the water comes into the air, m.
    pub outlet: f64,
}

/// A line from source to valve.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its source.
    pub source: Source,
    /// Its pipes, from the source on.
    pub pipes: Vec<Pipe>,
    /// A check in it, if there is one.
    pub check: Option<Check>,
    /// Its valve.
    pub valve: Valve,
}

/// What became of a line: heads of pressure over each pipe's own height, m.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The highest in each pipe.
    pub highest: Vec<f64>,
    /// The lowest in each pipe.
    pub lowest: Vec<f64>,
    /// The highest in each pipe before the valve began to close.
    pub before: Vec<f64>,
    /// The highest at the valve, as a head above the datum.
    pub at_valve: f64,
    /// The head at the valve before it began to close.
    pub at_valve_before: f64,
}

impl Line {
    /// The time that a wave takes over all pipes, s.
    pub fn travel(&self) -> f64 {
        self.pipes.iter().map(|p| p.length / p.wave).sum()
    }

    /// Into how many reaches the line is best cut, not more than `most` and not less than half of it:
    /// so that the ends of its pipes come nearest to whole reaches.
    pub fn reaches(&self, most: usize) -> usize {
        let travel = self.travel();
        let missed = |count: usize| {
            let step = travel / count as f64;
            let mut time = 0.0;
            let mut missed = 0.0;
            for pipe in &self.pipes {
                time += pipe.length / pipe.wave;
                missed += (time / step - (time / step).round()).abs() * step;
            }
            missed
        };
        let most = most.max(2);
        (most / 2..=most)
            .min_by(|a, b| missed(*a).total_cmp(&missed(*b)))
            .unwrap_or(most)
    }

    /// Heads in steady flow: at the upper and lower end of each pipe.
    pub fn steady(&self, flow: f64) -> Vec<(f64, f64)> {
        let mut head = self.source.head(flow);
        let mut ends = Vec::with_capacity(self.pipes.len());
        for (i, pipe) in self.pipes.iter().enumerate() {
            if let Some(check) = self.check.filter(|c| c.before == i) {
                head -= check.resistance * flow * flow;
            }
            let upper = head;
            head -= pipe.resistance * flow * flow;
            ends.push((upper, head));
        }
        ends
    }

    /// Lets the valve close in a time from steady flow and says what becomes of the heads; `reaches`
    /// is into how many reaches the line is cut. Nothing where no water flows, where the line has no
    /// length or where steady flow leaves no pressure at the valve.
    pub fn close(&self, flow: f64, closure: f64, reaches: usize) -> Option<Outcome> {
        let travel = self.travel();
        let steady = self.steady(flow);
        let at_valve_before = steady.last()?.1;
        let drop = at_valve_before - self.valve.outlet;
        let sound = flow > 0.0 && travel > 0.0 && travel.is_finite() && drop > 0.0;
        if !(sound && closure.is_finite()) {
            return None;
        }
        let mut grid = Grid::new(self, &steady, flow, reaches.max(1));
        let share = (self.valve.resistance * flow * flow / drop).clamp(0.0, 1.0);
        let mut at_valve: f64 = at_valve_before;
        // The wave of the closing goes to and fro four times more after the valve is shut.
        let steps = ((closure.max(0.0) + 8.0 * travel) / grid.step).ceil();
        for i in 1..=steps as usize {
            let time = i as f64 * grid.step;
            let conductance = flow * opening(time, closure, share);
            at_valve = at_valve.max(grid.advance(self, conductance * conductance / drop));
        }
        Some(grid.outcome(self, &steady, at_valve))
    }
}

/// How far open the whole way out is, 1 before the closing: the valve's own opening falls in
/// proportion to time, its resistance goes with the inverse square, the rest stays.
fn opening(time: f64, closure: f64, share: f64) -> f64 {
    let own = if closure > 0.0 {
        (1.0 - time / closure).max(0.0)
    } else {
        0.0
    };
    if own <= 0.0 {
        return 0.0;
    }
    1.0 / ((1.0 - share) + share / (own * own)).sqrt()
}

/// The reaches of one pipe.
struct Reaches {
    pipe: usize,
    /// a/(g·A).
    impedance: f64,
    /// Of one reach.
    resistance: f64,
    head: Vec<f64>,
    flow: Vec<f64>,
    next_head: Vec<f64>,
    next_flow: Vec<f64>,
    highest: Vec<f64>,
    lowest: Vec<f64>,
}

impl Reaches {
    /// CP and BP at node `j + 1`, from node `j`.
    fn at_lower(&self, j: usize) -> (f64, f64) {
        let flow = self.flow[j];
        (
            self.head[j] + self.impedance * flow,
            self.impedance + self.resistance * flow.abs(),
        )
    }

    /// CM and BM at node `j - 1`, from node `j`.
    fn at_upper(&self, j: usize) -> (f64, f64) {
        let flow = self.flow[j];
        (
            self.head[j] - self.impedance * flow,
            self.impedance + self.resistance * flow.abs(),
        )
    }

    fn last(&self) -> usize {
        self.head.len() - 1
    }

    fn set(&mut self, j: usize, head: f64, flow: f64) {
        self.next_head[j] = head;
        self.next_flow[j] = flow;
    }

    fn interior(&mut self) {
        for j in 1..self.last() {
            let ((cp, bp), (cm, bm)) = (self.at_lower(j - 1), self.at_upper(j + 1));
            let flow = (cp - cm) / (bp + bm);
            self.set(j, cp - bp * flow, flow);
        }
    }

    fn turn(&mut self) {
        std::mem::swap(&mut self.head, &mut self.next_head);
        std::mem::swap(&mut self.flow, &mut self.next_flow);
        for (j, head) in self.head.iter().enumerate() {
            self.highest[j] = self.highest[j].max(*head);
            self.lowest[j] = self.lowest[j].min(*head);
        }
    }
}

struct Grid {
    parts: Vec<Reaches>,
    /// The check: in front of which part, and its resistance.
    check: Option<(usize, f64)>,
    step: f64,
    /// For every pipe its part, and whether it has reaches of its own. A pipe that a wave crosses in
    /// less than half a step has none: its friction is its neighbour's, its heads those of the node.
    places: Vec<(usize, bool)>,
}

impl Grid {
    /// Cuts the line; the places of the pipes' ends are rounded to whole steps of travel time.
    fn new(line: &Line, steady: &[(f64, f64)], flow: f64, reaches: usize) -> Self {
        let step = line.travel() / reaches as f64;
        let (mut parts, mut places) = (Vec::<Reaches>::new(), Vec::new());
        let (mut time, mut begun, mut loose) = (0.0, 0, 0.0);
        let mut check = None;
        for (i, pipe) in line.pipes.iter().enumerate() {
            if let Some(found) = line.check.filter(|c| c.before == i) {
                check = Some((parts.len(), found.resistance));
            }
            time += pipe.length / pipe.wave;
            let end = ((time / step).round() as usize).min(reaches);
            let count = end - begun.min(end);
            begun = end;
            if count == 0 {
                match parts.last_mut() {
                    Some(part) => part.resistance += pipe.resistance / part.last() as f64,
                    None => loose += pipe.resistance,
                }
                places.push((parts.len().saturating_sub(1), false));
                continue;
            }
            let resistance = (pipe.resistance + std::mem::take(&mut loose)) / count as f64;
            parts.push(Reaches {
                pipe: i,
                impedance: pipe.wave / (GRAVITY * pipe.area),
                resistance,
                head: vec![0.0; count + 1],
                flow: vec![flow; count + 1],
                next_head: vec![0.0; count + 1],
                next_flow: vec![flow; count + 1],
                highest: Vec::new(),
                lowest: Vec::new(),
            });
            places.push((parts.len() - 1, true));
        }
        let mut head = line.source.head(flow);
        for (i, part) in parts.iter_mut().enumerate() {
            if let Some((_, resistance)) = check.filter(|(before, _)| *before == i) {
                head -= resistance * flow * flow;
            }
            for h in &mut part.head {
                *h = head;
                head -= part.resistance * flow * flow;
            }
            // The last node is at the end of the last reach.
            head += part.resistance * flow * flow;
            part.highest.clone_from(&part.head);
            part.lowest.clone_from(&part.head);
        }
        debug_assert!(steady.len() == line.pipes.len());
        Self {
            parts,
            check,
            step,
            places,
        }
    }

    /// One step; the head at the valve after it. `law` is Q²/H of all that lies behind the line.
    fn advance(&mut self, line: &Line, law: f64) -> f64 {
        for part in &mut self.parts {
            part.interior();
        }
        let resistance_before = |i: usize| {
            let here = self.check.filter(|(before, _)| *before == i);
            here.map(|(_, resistance)| resistance)
        };
        let (cm, bm) = self.parts[0].at_upper(1);
        let flow = drawn(
            &line.source,
            cm,
            bm,
            resistance_before(0),
            self.parts[0].flow[0],
        );
        self.parts[0].set(0, cm + bm * flow, flow);
        for i in 1..self.parts.len() {
            let last = self.parts[i - 1].last();
            let (cp, bp) = self.parts[i - 1].at_lower(last - 1);
            let (cm, bm) = self.parts[i].at_upper(1);
            let flow = match resistance_before(i) {
                Some(k) => through(cp - cm, bp + bm, k),
                None => (cp - cm) / (bp + bm),
            };
            self.parts[i - 1].set(last, cp - bp * flow, flow);
            self.parts[i].set(0, cm + bm * flow, flow);
        }
        let end = self.parts.len() - 1;
        let last = self.parts[end].last();
        let (cp, bp) = self.parts[end].at_lower(last - 1);
        let above = (cp - line.valve.outlet).max(0.0);
        let flow = (((law * bp).powi(2) + 4.0 * law * above).sqrt() - law * bp) / 2.0;
        let head = cp - bp * flow;
        self.parts[end].set(last, head, flow);
        for part in &mut self.parts {
            part.turn();
        }
        head
    }

    fn outcome(&self, line: &Line, steady: &[(f64, f64)], at_valve: f64) -> Outcome {
        let mut outcome = Outcome {
            highest: Vec::new(),
            lowest: Vec::new(),
            before: Vec::new(),
            at_valve,
            at_valve_before: steady.last().map_or(0.0, |ends| ends.1),
        };
        for (i, pipe) in line.pipes.iter().enumerate() {
            let (part, own) = self.places[i];
            let part = &self.parts[part];
            let (upper, lower) = steady[i];
            let before = (upper - pipe.from).max(lower - pipe.to);
            let least = (upper - pipe.from).min(lower - pipe.to);
            let nodes: Vec<usize> = match (own, i < part.pipe) {
                (true, _) => (0..=part.last()).collect(),
                (false, true) => vec![0],
                (false, false) => vec![part.last()],
            };
            let height = |j: usize, low: bool| {
                if own {
                    let share = j as f64 / part.last() as f64;
                    pipe.from + (pipe.to - pipe.from) * share
                } else if low {
                    pipe.from.min(pipe.to)
                } else {
                    pipe.from.max(pipe.to)
                }
            };
            let highest = nodes.iter().map(|j| part.highest[*j] - height(*j, true));
            let lowest = nodes.iter().map(|j| part.lowest[*j] - height(*j, false));
            outcome.highest.push(highest.fold(before, f64::max));
            outcome.lowest.push(lowest.fold(least, f64::min));
            outcome.before.push(before);
        }
        outcome
    }
}

/// The flow out of the source where H = cm + bm·Q holds behind it; none goes back through a check.
fn drawn(source: &Source, cm: f64, bm: f64, check: Option<f64>, guess: f64) -> f64 {
    if cm >= source.rest {
        return match check {
            Some(_) => 0.0,
            None => (source.rest - cm) / bm,
        };
    }
    let k = check.unwrap_or(0.0);
    let over = |q: f64| cm + bm * q + k * q * q - source.head(q);
    // The root lies below where the line alone would take all the head.
    let (mut low, mut high) = (0.0, (source.rest - cm) / bm);
    let mut q = guess.clamp(low, high);
    // Newton within a bracket: the function rises and bends one way.
    for _ in 0..30 {
        let value = over(q);
        if value > 0.0 {
            high = q;
        } else {
            low = q;
        }
        let mut slope = bm + 2.0 * k * q;
        if source.fall > 0.0 && q > 0.0 {
            slope += source.fall * source.exponent * q.powf(source.exponent - 1.0);
        }
        let next = q - value / slope;
        let next = if next > low && next < high {
            next
        } else {
            (low + high) / 2.0
        };
        if (next - q).abs() <= 1e-12 * high {
            return next;
        }
        q = next;
    }
    q
}

/// The flow that a difference of head drives through an impedance and a check.
fn through(difference: f64, impedance: f64, k: f64) -> f64 {
    if difference <= 0.0 {
        0.0
    } else if k <= 0.0 {
        difference / impedance
    } else {
        ((impedance * impedance + 4.0 * k * difference).sqrt() - impedance) / (2.0 * k)
    }
}

#[cfg(test)]
mod tests;
