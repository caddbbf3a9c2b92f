//! Flows that balance to the last digits.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// A link between two places, with how much its head changes with its flow.
pub(crate) struct Pipe {
    pub from: usize,
    pub to: usize,
    pub slope: f64,
}

/// Changes the flows of a spanning forest so that at every place that is not an end the flows
/// balance with what is drawn. The forest takes the flattest links first, whose heads change least.
pub(crate) fn balance(pipes: &[Pipe], flows: &mut [f64], drawn: &[f64], is_end: &[bool]) {
    let places = drawn.len();
    let mut links: Vec<Vec<usize>> = vec![Vec::new(); places];
    for (i, pipe) in pipes.iter().enumerate() {
        links[pipe.from].push(i);
        links[pipe.to].push(i);
    }
    let mut reached = is_end.to_vec();
    let mut order: Vec<(usize, usize)> = Vec::new();
    let mut open = BinaryHeap::new();
    let reach = |place: usize, open: &mut BinaryHeap<Reverse<(u64, usize, usize)>>| {
        for pipe in &links[place] {
            // The bits of non-negative floats sort as the floats do.
            open.push(Reverse((
                pipes[*pipe].slope.max(0.0).to_bits(),
                *pipe,
                place,
            )));
        }
    };
    for place in (0..places).filter(|place| is_end[*place]) {
        reach(place, &mut open);
    }
    while let Some(Reverse((_, pipe, near))) = open.pop() {
        let far = pipes[pipe].from + pipes[pipe].to - near;
        if !std::mem::replace(&mut reached[far], true) {
            order.push((pipe, far));
            reach(far, &mut open);
        }
    }
    let mut is_tree = vec![false; pipes.len()];
    for (pipe, _) in &order {
        is_tree[*pipe] = true;
    }
    // What each place still wants once the links off the forest have given.
    let mut wants = drawn.to_vec();
    let others = (0..pipes.len()).filter(|i| !is_tree[*i]);
    for i in others {
        wants[pipes[i].from] += flows[i];
        wants[pipes[i].to] -= flows[i];
    }
    for (i, far) in order.into_iter().rev() {
        let pipe = &pipes[i];
        let near = pipe.from + pipe.to - far;
        let wanted = wants[far];
        flows[i] = if pipe.to == far { wanted } else { -wanted };
        wants[near] += wanted;
    }
}
