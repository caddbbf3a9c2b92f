//! What must hold for every problem, on small random ones where all plans can be tried.

#![allow(clippy::unwrap_used)]

use cutting::{
    Cut, Fault, Limits, NoPlan, Piece, Problem, ProblemError, Solution, Stock, check, solve,
};
use std::collections::BTreeMap;
use std::ops::ControlFlow;

/// A fixed sequence of numbers.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, below: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }
}

fn run(problem: &Problem, work: u64) -> Result<Solution, NoPlan> {
    let limits = Limits { work, seed: 1 };
    let solution = solve(problem, limits, &|_| ControlFlow::Continue(()))?;
    let (cost, count) = check(problem, &solution.cuts).unwrap();
    assert_eq!((cost, count), (solution.cost, solution.count));
    assert!(solution.bound <= cost && solution.count_bound <= count);
    if solution.optimal {
        assert_eq!((solution.bound, solution.count_bound), (cost, count));
    }
    Ok(solution)
}

fn piece(length: u64, count: u32) -> Piece {
    Piece { length, count }
}

type State = (Vec<u32>, Vec<u32>);

/// The least cost and count by trying everything.
fn best(
    problem: &Problem,
    state: &State,
    known: &mut BTreeMap<State, Option<(u64, u64)>>,
) -> Option<(u64, u64)> {
    let Some(first) = state.0.iter().position(|left| *left > 0) else {
        return Some((0, 0));
    };
    if let Some(known) = known.get(state) {
        return *known;
    }
    let mut least = None;
    for (at, stock) in problem.stocks().iter().enumerate() {
        if state.1[at] == 0 {
            continue;
        }
        let mut fillings = Vec::new();
        fill(
            problem,
            &state.0,
            first,
            stock.length + problem.kerf(),
            &mut fillings,
        );
        for rest in fillings {
            if rest[first] == state.0[first] {
                continue;
            }
            let mut stocks = state.1.clone();
            stocks[at] -= 1;
            if let Some((cost, count)) = best(problem, &(rest, stocks), known) {
                let new = (cost + stock.price, count + 1);
                least = Some(least.map_or(new, |old: (u64, u64)| old.min(new)));
            }
        }
    }
    known.insert(state.clone(), least);
    least
}

fn fill(problem: &Problem, left: &[u32], from: usize, room: u64, out: &mut Vec<Vec<u32>>) {
    let Some(piece) = problem.pieces().get(from) else {
        out.push(left.to_vec());
        return;
    };
    let size = piece.length + problem.kerf();
    let mut left = left.to_vec();
    let mut room = room;
    loop {
        fill(problem, &left, from + 1, room, out);
        if left[from] == 0 || room < size {
            return;
        }
        left[from] -= 1;
        room -= size;
    }
}

fn brute(problem: &Problem) -> Option<(u64, u64)> {
    let pieces: Vec<u32> = problem.pieces().iter().map(|piece| piece.count).collect();
    let total: u32 = pieces.iter().sum();
    let stocks = problem.stocks().iter();
    let stocks = stocks
        .map(|stock| stock.available.unwrap_or(total))
        .collect();
    best(problem, &(pieces, stocks), &mut BTreeMap::new())
}

#[test]
fn one_stock_is_cut_as_well_as_by_trying_everything() {
    let mut numbers = Numbers(7);
    for case in 0..600 {
        let stock = 20 + numbers.below(80);
        let kerf = numbers.below(4);
        let kinds = 1 + numbers.below(5);
        let pieces = (0..kinds)
            .map(|_| piece(1 + numbers.below(stock), numbers.below(4) as u32))
            .collect();
        let problem = Problem::new(pieces, vec![Stock::new(stock, 3)], kerf).unwrap();
        let (cost, count) = brute(&problem).unwrap();
        let solution = run(&problem, 20_000_000).unwrap();
        assert_eq!(
            (solution.cost, solution.count),
            (cost, count),
            "case {case}: {problem:?}"
        );
        assert!(solution.optimal, "case {case}: {problem:?}");
    }
}

#[test]
fn several_stocks_and_offcuts_are_used_as_well_as_by_trying_everything() {
    let mut numbers = Numbers(11);
    for case in 0..600 {
        let kerf = numbers.below(3);
        let kinds = 1 + numbers.below(3);
        let mut stocks: Vec<Stock> = (0..kinds)
            .map(|_| Stock::new(20 + numbers.below(60), numbers.below(30)))
            .collect();
        for _ in 0..numbers.below(3) {
            stocks.push(Stock {
                length: 10 + numbers.below(60),
                price: numbers.below(2) * numbers.below(10),
                available: Some(1 + numbers.below(2) as u32),
            });
        }
        if numbers.below(3) == 0 {
            stocks.iter_mut().for_each(|stock| {
                stock.available = stock.available.or(Some(1 + numbers.below(4) as u32));
            });
        }
        let longest = stocks.iter().map(|stock| stock.length).max().unwrap();
        let pieces = (0..1 + numbers.below(4))
            .map(|_| piece(1 + numbers.below(longest), numbers.below(4) as u32))
            .collect();
        let problem = Problem::new(pieces, stocks, kerf).unwrap();
        match (brute(&problem), run(&problem, 20_000_000)) {
            (Some((cost, count)), Ok(solution)) => {
                assert_eq!(
                    (solution.cost, solution.count),
                    (cost, count),
                    "case {case}: {problem:?}"
                );
                assert!(solution.optimal, "case {case}: {problem:?} {solution:?}");
            }
            (None, Err(_)) => {}
            (brute, found) => panic!("case {case}: {problem:?}: {brute:?}, {found:?}"),
        }
    }
}

#[test]
fn larger_problems_keep_their_bounds_and_give_the_same_answer_twice() {
    let mut numbers = Numbers(5);
    for case in 0..60 {
        let stock = 1000 + numbers.below(5000);
        let mut stocks = vec![Stock::new(stock, 1 + numbers.below(40))];
        if case % 2 == 0 {
            stocks.push(Stock::new(
                stock / 2 + numbers.below(stock),
                1 + numbers.below(40),
            ));
            stocks.push(Stock {
                length: stock / 2,
                price: 0,
                available: Some(3),
            });
        }
        let pieces = (0..3 + numbers.below(20))
            .map(|_| piece(50 + numbers.below(stock / 2), 1 + numbers.below(8) as u32))
            .collect();
        let problem = Problem::new(pieces, stocks, numbers.below(6)).unwrap();
        let little = run(&problem, 0).unwrap();
        let much = run(&problem, 3_000_000).unwrap();
        assert!(
            much.cost <= little.cost && much.bound >= little.bound,
            "case {case}"
        );
        assert!(little.bound <= much.cost, "case {case}");
        assert_eq!(much, run(&problem, 3_000_000).unwrap(), "case {case}");
    }
}

#[test]
fn lengths_multiplied_need_as_many_stocks() {
    let mut numbers = Numbers(3);
    for _ in 0..100 {
        let stock = 30 + numbers.below(100);
        let kerf = numbers.below(3);
        let pieces: Vec<Piece> = (0..1 + numbers.below(9))
            .map(|_| piece(1 + numbers.below(stock), 1 + numbers.below(5) as u32))
            .collect();
        let times = 2 + numbers.below(9);
        let larger = pieces.iter().map(|p| piece(p.length * times, p.count));
        let larger: Vec<Piece> = larger.collect();
        let problem = Problem::new(pieces, vec![Stock::new(stock, 1)], kerf).unwrap();
        let stocks = vec![Stock::new(stock * times, 1)];
        let larger = Problem::new(larger, stocks, kerf * times).unwrap();
        let (one, other) = (run(&problem, 2_000_000), run(&larger, 2_000_000));
        assert_eq!(
            one.map(|s| (s.count, s.bound)),
            other.map(|s| (s.count, s.bound))
        );
    }
}

#[test]
fn what_cannot_be_is_told() {
    let stock = |length, available| Stock {
        length,
        price: 1,
        available: Some(available),
    };
    let make = |pieces, stocks| Problem::new(pieces, stocks, 1);
    assert_eq!(
        make(vec![piece(0, 1)], vec![]),
        Err(ProblemError::NoLength { piece: 0 })
    );
    assert_eq!(
        make(vec![piece(9, 1)], vec![stock(8, 1)]),
        Err(ProblemError::TooLong { piece: 0 })
    );
    assert_eq!(
        make(vec![piece(1, u32::MAX)], vec![stock(8, 1)]),
        Err(ProblemError::TooLarge)
    );
    let few = make(vec![piece(5, 3)], vec![stock(8, 2)]).unwrap();
    assert_eq!(run(&few, 1_000_000), Err(NoPlan::Impossible));
    let none = make(vec![], vec![]).unwrap();
    assert_eq!(
        run(&none, 1_000_000).map(|s| (s.cost, s.optimal)),
        Ok((0, true))
    );
}

#[test]
fn the_check_sees_what_is_wrong() {
    let stocks = vec![Stock {
        length: 10,
        price: 4,
        available: Some(2),
    }];
    let problem = Problem::new(vec![piece(4, 2), piece(5, 1)], stocks, 1).unwrap();
    let cut = |pieces: &[(usize, u32)], times| Cut {
        stock: 0,
        pieces: pieces.to_vec(),
        times,
    };
    assert_eq!(
        check(&problem, &[cut(&[(0, 1), (1, 1)], 1), cut(&[(0, 1)], 1)]),
        Ok((8, 2))
    );
    let long = check(&problem, &[cut(&[(0, 2), (1, 1)], 1)]);
    assert_eq!(long, Err(Fault::TooLong { cut: 0 }));
    assert_eq!(
        check(&problem, &[cut(&[(0, 2)], 1)]),
        Err(Fault::Count { piece: 1 })
    );
    let many = check(&problem, &[cut(&[(0, 1)], 2), cut(&[(1, 1)], 1)]);
    assert_eq!(many, Err(Fault::Stock { stock: 0 }));
    assert_eq!(
        check(&problem, &[cut(&[(7, 1)], 1)]),
        Err(Fault::NoSuch { cut: 0 })
    );
}
