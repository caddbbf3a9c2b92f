//! The known word that a mistyped one was probably meant to be.

/// The nearest of the known words, if one is near: not more than a third of the letters differ.
pub(crate) fn nearest<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let letters = word.chars().count();
    if letters > 60 {
        return None;
    }
    let lowered = word.to_lowercase();
    let mut ranked: Vec<(usize, &str)> = known
        .iter()
        .map(|k| (distance(&lowered, &k.to_lowercase()), *k))
        .collect();
    ranked.sort_unstable();
    let (edits, near) = *ranked.first()?;
    (edits <= letters.max(3) / 3).then_some(near)
}

/// Letters to insert, remove, replace or swap with their neighbour to make one word the other.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let replaced = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            row[j] = replaced.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before[j - 2] + 1);
            }
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_finds_its_word() {
        let known = ["head", "valve", "sleeve", "backflow"];
        assert_eq!(nearest("hed", &known), Some("head"));
        assert_eq!(nearest("vavle", &known), Some("valve"));
        assert_eq!(nearest("Back-flow", &known), Some("backflow"));
        assert_eq!(nearest("pergola", &known), None);
        assert_eq!(nearest("", &known), None);
    }
}
