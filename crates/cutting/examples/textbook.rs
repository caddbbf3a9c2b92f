//! What to compare with: first fit decreasing and best fit decreasing (D. S. Johnson and others,
//! "Worst-case performance bounds for simple one-dimensional packing algorithms", SIAM Journal on
//! Computing 3, 1974).
//!
//! `cargo run --release -p cutting --example textbook -- FILE`
//!
//! Shares nothing with the library but the reading; one kind of stock only.

use cutting::text;
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let file = std::env::args().nth(1).ok_or("usage: textbook FILE")?;
    let problem = text::read(&std::fs::read_to_string(file)?)?;
    let stock = problem.stocks().first().ok_or("no stock")?;
    let room = stock.length + problem.kerf();
    let mut sizes: Vec<u64> = Vec::new();
    for piece in problem.pieces() {
        sizes.extend((0..piece.count).map(|_| piece.length + problem.kerf()));
    }
    sizes.sort_unstable_by(|a, b| b.cmp(a));
    let (mut first, mut best): (Vec<u64>, Vec<u64>) = (Vec::new(), Vec::new());
    for size in sizes {
        match first.iter_mut().find(|left| **left >= size) {
            Some(left) => *left -= size,
            None => first.push(room - size),
        }
        match best.iter_mut().filter(|left| **left >= size).min() {
            Some(left) => *left -= size,
            None => best.push(room - size),
        }
    }
    println!("{{\"values\":[{},{}]}}", first.len(), best.len());
    Ok(())
}
