//! Good groupings in given trenches: merging by savings, then changes as long as one gains, then taking
//! a part of it out and putting it in anew.

use crate::rng::Rng;
use crate::state::{Circuit, Desk, NONE, State};
use std::collections::VecDeque;

/// The share of its cost, trenches left out, by which a next grouping may be dearer at first, times the
/// number of heads: among many heads a change is a small part of the whole.
const WORSE: f64 = 0.3;

/// Each head on its own, then always the two neighbouring circuits made one that gain most by it.
///
/// With `noise` the gains are taken for up to that share more than they are, so that other seeds end
/// in other groupings.
///
/// Source: savings, after G. Clarke and J. W. Wright, Operations Research 12 (1964), 568–581; from memory.
pub(crate) fn merged(desk: &mut Desk, rng: &mut Rng, noise: f64) -> State {
    let mut state = desk.empty();
    for rank in 0..desk.tree.len() as u32 {
        if desk.tree.place[rank as usize] < desk.scheme.heads.len() {
            let alone = desk.cheapest(&[rank]);
            desk.replace(&mut state, &[], vec![alone]);
        }
    }
    let mut offers: Vec<Offer> = Vec::new();
    for rank in 0..desk.tree.len() {
        for other in desk.near[rank].clone() {
            let (a, b) = (state.of[rank], state.of[other as usize]);
            if a < b && !offers.iter().rev().take(16).any(|o| (o.a, o.b) == (a, b)) {
                offers.extend(offer(desk, &state, a, b, rng, noise));
            }
        }
    }
    loop {
        let better =
            |p: &Offer, q: &Offer| p.gain.total_cmp(&q.gain).then((q.a, q.b).cmp(&(p.a, p.b)));
        let best = (0..offers.len()).max_by(|i, j| better(&offers[*i], &offers[*j]));
        let Some(best) = best else {
            return state;
        };
        let Offer { a, b, circuit, .. } = offers.swap_remove(best);
        let placed = desk.replace(&mut state, &[a, b], vec![circuit]);
        offers.retain(|o| ![a, b].contains(&o.a) && ![a, b].contains(&o.b));
        for one in placed {
            for other in beside(desk, &state, one) {
                offers.extend(offer(
                    desk,
                    &state,
                    one.min(other),
                    one.max(other),
                    rng,
                    noise,
                ));
            }
        }
    }
}

/// Two circuits that might be one.
struct Offer {
    gain: f64,
    a: u32,
    b: u32,
    circuit: Circuit,
}

fn offer(
    desk: &mut Desk,
    state: &State,
    a: u32,
    b: u32,
    rng: &mut Rng,
    noise: f64,
) -> Option<Offer> {
    let heads = union(
        &state.circuits[a as usize].heads,
        &state.circuits[b as usize].heads,
    );
    if !desk.may_run(&heads) {
        return None;
    }
    let circuit = desk.cheapest(&heads);
    let gain = desk.gain(state, &[a, b], std::slice::from_ref(&circuit));
    let taken_for = gain * (1.0 + noise * rng.unit());
    desk.is_gain(state, gain).then_some(Offer {
        gain: taken_for,
        a,
        b,
        circuit,
    })
}

/// The circuits that have a head near one of a circuit.
fn beside(desk: &Desk, state: &State, circuit: u32) -> Vec<u32> {
    let heads = &state.circuits[circuit as usize].heads;
    let near = heads.iter().flat_map(|h| &desk.near[*h as usize]);
    let mut found: Vec<u32> = near.map(|h| state.of[*h as usize]).collect();
    found.retain(|c| *c != circuit && *c != NONE);
    found.sort_unstable();
    found.dedup();
    found
}

fn union(a: &[u32], b: &[u32]) -> Vec<u32> {
    let mut all = [a, b].concat();
    all.sort_unstable();
    all
}

fn without(a: &[u32], b: &[u32]) -> Vec<u32> {
    a.iter().copied().filter(|h| !b.contains(h)).collect()
}

/// Changes circuits around these heads as long as one gains.
pub(crate) fn improve(desk: &mut Desk, state: &mut State, around: impl IntoIterator<Item = u32>) {
    let mut waiting = vec![false; desk.tree.len()];
    let mut queue: VecDeque<u32> = VecDeque::new();
    for head in around {
        if !std::mem::replace(&mut waiting[head as usize], true) {
            queue.push_back(head);
        }
    }
    while let Some(head) = queue.pop_front() {
        waiting[head as usize] = false;
        let Some(changed) = change(desk, state, head) else {
            continue;
        };
        let heads = changed
            .iter()
            .flat_map(|c| &state.circuits[*c as usize].heads);
        for head in heads {
            if !std::mem::replace(&mut waiting[*head as usize], true) {
                queue.push_back(*head);
            }
        }
    }
}

/// The first change found about a head that gains, made; the circuits that it changed.
fn change(desk: &mut Desk, state: &mut State, head: u32) -> Option<Vec<u32>> {
    let own = state.of[head as usize];
    let mine = state.circuits[own as usize].heads.clone();
    let mut others: Vec<u32> = Vec::new();
    for near in &desk.near[head as usize] {
        let other = state.of[*near as usize];
        if other != own && other != NONE && !others.contains(&other) {
            others.push(other);
        }
    }
    let beyond = head..desk.tree.end[head as usize];
    let branch: Vec<u32> = mine
        .iter()
        .copied()
        .filter(|h| beyond.contains(h))
        .collect();
    let is_first = mine.first() == Some(&head);
    for other in others {
        let theirs = state.circuits[other as usize].heads.clone();
        let out = [own, other];
        let mut tried: Vec<[Vec<u32>; 2]> = vec![
            [without(&mine, &[head]), union(&theirs, &[head])],
            [Vec::new(), union(&mine, &theirs)],
        ];
        if branch.len() > 1 && branch.len() < mine.len() {
            let rest = without(&mine, &branch);
            tried.push([rest.clone(), union(&theirs, &branch)]);
            tried.push([branch.clone(), union(&theirs, &rest)]);
        }
        for parts in tried {
            if let Some(changed) = apply(desk, state, &out, parts) {
                return Some(changed);
            }
        }
        let left = without(&mine, &[head]);
        let with = union(&theirs, &[head]);
        for theirs in &theirs {
            let parts = [union(&left, &[*theirs]), without(&with, &[*theirs])];
            if let Some(changed) = apply(desk, state, &out, parts) {
                return Some(changed);
            }
        }
        if is_first {
            let all = union(&mine, &theirs);
            for cut in 1..all.len() {
                let parts = [all[..cut].to_vec(), all[cut..].to_vec()];
                if let Some(changed) = apply(desk, state, &out, parts) {
                    return Some(changed);
                }
            }
        }
    }
    if mine.len() > 1 {
        let rest = without(&mine, &branch);
        let parts = [[without(&mine, &[head]), vec![head]], [rest, branch]];
        for parts in parts {
            if let Some(changed) = apply(desk, state, &[own], parts) {
                return Some(changed);
            }
        }
    }
    is_first.then(|| other_manifold(desk, state, own)).flatten()
}

/// Replaces circuits by these heads if that gains; each part on the least costly of the manifolds that
/// the old circuits are on.
fn apply(
    desk: &mut Desk,
    state: &mut State,
    out: &[u32],
    parts: [Vec<u32>; 2],
) -> Option<Vec<u32>> {
    if !parts.iter().all(|part| desk.may_run(part)) {
        return None;
    }
    let mut at: Vec<usize> = Vec::with_capacity(2);
    for slot in out {
        let manifold = state.circuits[*slot as usize].manifold;
        let here = desk.manifolds.iter().position(|m| m.0 == manifold)?;
        if !at.contains(&here) {
            at.push(here);
        }
    }
    let mut into: Vec<Circuit> = Vec::with_capacity(2);
    for part in parts {
        if part.is_empty() {
            continue;
        }
        let mut best = desk.circuit(part, at[0]);
        for other in &at[1..] {
            let circuit = desk.circuit(best.heads.clone(), *other);
            if circuit.price < best.price {
                best = circuit;
            }
        }
        into.push(best);
    }
    let gain = desk.gain(state, out, &into);
    desk.is_gain(state, gain)
        .then(|| desk.replace(state, out, into))
}

/// Moves a valve, or all valves of its manifold, to another manifold if that gains.
fn other_manifold(desk: &mut Desk, state: &mut State, own: u32) -> Option<Vec<u32>> {
    let here = state.circuits[own as usize].manifold;
    let with_it: Vec<u32> = (0..state.circuits.len() as u32)
        .filter(|c| {
            let circuit = &state.circuits[*c as usize];
            circuit.manifold == here && !circuit.heads.is_empty()
        })
        .collect();
    for at in 0..desk.manifolds.len() {
        if desk.manifolds[at].0 == here {
            continue;
        }
        for out in [&[own][..], &with_it] {
            let heads = |c: &u32| state.circuits[*c as usize].heads.clone();
            let moved: Vec<Vec<u32>> = out.iter().map(heads).collect();
            let into: Vec<Circuit> = moved.into_iter().map(|h| desk.circuit(h, at)).collect();
            let gain = desk.gain(state, out, &into);
            if desk.is_gain(state, gain) {
                return Some(desk.replace(state, out, into));
            }
        }
    }
    None
}

/// Takes heads out and puts them in again until so much work is done; the best state found.
pub(crate) fn wander(
    desk: &mut Desk,
    state: State,
    order: &[Vec<u32>],
    rng: &mut Rng,
    until: u64,
) -> State {
    let heads = desk.scheme.heads.len();
    let mut best = state.clone();
    let mut state = state;
    while desk.pipes.work < until {
        let left = 1.0 - desk.pipes.work as f64 / until as f64;
        let mut next = state.clone();
        let first = rng.below(heads);
        let most = (heads / 5).clamp(2, 24);
        let mut taken: Vec<u32> = if rng.unit() < 0.4 {
            some_circuits(desk, &next, desk.tree.rank(first), rng)
        } else {
            let count = 1 + rng.below(most);
            let near = order[first].iter().take(count);
            let near = near.map(|h| desk.tree.rank(*h as usize));
            near.chain([desk.tree.rank(first)]).collect()
        };
        take_out(desk, &mut next, &taken);
        // Each time in another order, so that the same hole is filled in other ways.
        for i in (1..taken.len()).rev() {
            taken.swap(i, rng.below(i + 1));
        }
        if rng.unit() < 0.5 {
            taken.sort_by(|a, b| {
                let away = |r: &u32| desk.tree.away[*r as usize];
                away(b).total_cmp(&away(a)).then(a.cmp(b))
            });
        }
        let mut touched: Vec<u32> = taken.clone();
        for head in taken {
            touched.extend(put_in(desk, &mut next, head));
        }
        improve(desk, &mut next, touched);
        // What costs a little more is taken too, ever less: it leads on to other groupings.
        if next.cost < best.cost {
            best = next.clone();
        }
        if next.cost <= state.cost * (1.0 + WORSE / heads as f64 * left) {
            state = next;
        }
    }
    best
}

/// All heads of the circuit of a head and of one or two beside it.
fn some_circuits(desk: &Desk, state: &State, head: u32, rng: &mut Rng) -> Vec<u32> {
    let own = state.of[head as usize];
    let mut beside = beside(desk, state, own);
    let mut taken = state.circuits[own as usize].heads.clone();
    for _ in 0..=rng.below(2) {
        if !beside.is_empty() {
            let other = beside.swap_remove(rng.below(beside.len()));
            taken.extend(&state.circuits[other as usize].heads);
        }
    }
    taken
}

fn take_out(desk: &mut Desk, state: &mut State, taken: &[u32]) {
    let mut slots: Vec<u32> = taken.iter().map(|h| state.of[*h as usize]).collect();
    slots.sort_unstable();
    slots.dedup();
    for slot in slots {
        let circuit = &state.circuits[slot as usize];
        let (rest, manifold) = (without(&circuit.heads, taken), circuit.manifold);
        let at = desk.manifolds.iter().position(|m| m.0 == manifold);
        let into = match at {
            Some(at) if !rest.is_empty() => vec![desk.circuit(rest, at)],
            _ => Vec::new(),
        };
        desk.replace(state, &[slot], into);
    }
}

/// Puts a head where it costs least: into a circuit near it, or into one of its own.
fn put_in(desk: &mut Desk, state: &mut State, head: u32) -> Vec<u32> {
    let mut near: Vec<u32> = desk.near[head as usize]
        .iter()
        .map(|h| state.of[*h as usize])
        .filter(|c| *c != NONE)
        .collect();
    near.sort_unstable();
    near.dedup();
    let alone = desk.cheapest(&[head]);
    let mut best_gain = desk.gain(state, &[], std::slice::from_ref(&alone));
    let mut best: (Vec<u32>, Circuit) = (Vec::new(), alone);
    for slot in near {
        let old = &state.circuits[slot as usize];
        let (heads, manifold) = (union(&old.heads, &[head]), old.manifold);
        let at = desk.manifolds.iter().position(|m| m.0 == manifold);
        let Some(at) = at.filter(|_| desk.may_run(&heads)) else {
            continue;
        };
        let circuit = desk.circuit(heads, at);
        let gain = desk.gain(state, &[slot], std::slice::from_ref(&circuit));
        if gain > best_gain {
            best_gain = gain;
            best = (vec![slot], circuit);
        }
    }
    let placed = desk.replace(state, &best.0, vec![best.1]);
    let heads = |c: u32| state.circuits[c as usize].heads.clone();
    placed.into_iter().flat_map(heads).collect()
}
