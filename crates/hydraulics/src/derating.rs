//! What warmth leaves of a pipe's rating.

use job::practice::{Derating, PipeMaterial, Surge};
use quantity::{Celsius, Ratio};

/// The share of its rating that pipe keeps at a temperature: all of it up to the first row, in
/// straight lines from row to row, that of the last row beyond it. All of it without rows.
pub fn share(rows: &[Derating], temperature: Celsius) -> Ratio {
    let t = temperature.to_c();
    let mut before: Option<(f64, f64)> = None;
    for row in rows {
        let next = (row.at.to_c(), row.share.to_one());
        if t <= next.0 {
            return Ratio::one(before.map_or(next.1, |(cold, most)| {
                most + (next.1 - most) * (t - cold) / (next.0 - cold)
            }));
        }
        before = Some(next);
    }
    Ratio::one(before.map_or(1.0, |(_, least)| least))
}

/// The rows of a material; none if its rating does not fall.
pub fn rows(rules: &Surge, material: PipeMaterial) -> &[Derating] {
    rules.derating.get(&material).map_or(&[], Vec::as_slice)
}

/// Whether a temperature lies beyond the last row of a table.
pub fn is_beyond(rows: &[Derating], temperature: Celsius) -> bool {
    rows.last().is_some_and(|last| temperature > last.at)
}

/// Where the share at a temperature has its value from.
pub fn origin(rules: &Surge, material: PipeMaterial) -> String {
    let table = rows(rules, material);
    let at = |d: &&Derating| d.at >= rules.pipe_temperature.value;
    match table.iter().find(at).or(table.last()) {
        Some(row) => format!("practice surge.derating.{}: {}", material.key(), row.source),
        None => format!(
            "practice surge.derating has no table for {}: it keeps its rating",
            material.label()
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::Practice;

    /// PPFA User Bulletin 3-96: °F, share of the rating at 73 °F.
    #[test]
    fn pvc_keeps_the_published_share() {
        let rules = Practice::embedded().surge;
        let at = |f: f64| {
            share(
                rows(&rules, PipeMaterial::Pvc),
                Celsius::c((f - 32.0) / 1.8),
            )
        };
        let table = [
            (40.0, 1.0),
            (73.0, 1.0),
            (80.0, 0.88),
            (90.0, 0.75),
            (100.0, 0.62),
            (110.0, 0.50),
            (120.0, 0.40),
            (130.0, 0.30),
            (140.0, 0.22),
            (150.0, 0.22),
        ];
        for (f, kept) in table {
            assert!((at(f).to_one() - kept).abs() < 1e-3, "{f} °F");
        }
        assert!((at(85.0).to_one() - 0.815).abs() < 1e-3);
        let hot = Celsius::c(61.0);
        assert!(is_beyond(rows(&rules, PipeMaterial::Pvc), hot));
        assert!(!is_beyond(rows(&rules, PipeMaterial::Copper), hot));
        let copper = share(rows(&rules, PipeMaterial::Copper), hot);
        assert!((copper.to_one() - 1.0).abs() < 1e-12);
        assert!(origin(&rules, PipeMaterial::Pvc).contains("3-96"));
        assert!(origin(&rules, PipeMaterial::Steel).contains("no table"));
    }
}
