//! Cut lists whose fewest sticks are known (`data/README.md`).

use takeoff::cutting::{Cuts, cut};

/// Cuts a list of the form of `data/*.csv`.
fn cut_list(text: &str) -> Cuts {
    let mut lines = text.lines();
    let head: Vec<u64> = lines.next().map(numbers).unwrap_or_default();
    let pieces: Vec<u64> = lines
        .skip(1)
        .map(numbers)
        .flat_map(|row| vec![row[0]; row[1] as usize])
        .collect();
    cut(&pieces, head[0], head[1])
}

fn numbers(line: &str) -> Vec<u64> {
    let parts = line.split(|c: char| !c.is_ascii_digit());
    parts.filter_map(|part| part.parse().ok()).collect()
}

#[test]
fn known_lists_take_the_fewest_and_prove_it() {
    for (text, fewest) in [
        (include_str!("data/pc03.csv"), 11),
        (include_str!("data/pc08.csv"), 9),
        (include_str!("data/pc11.csv"), 34),
    ] {
        let cuts = cut_list(text);
        assert_eq!((cuts.sticks.len(), cuts.bound), (fewest, fewest));
    }
}
