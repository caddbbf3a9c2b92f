//! Every file of the corpus, those that once broke something included, is read by every reader without a panic.

use std::fs;
use std::path::Path;

use exchange::{Mapping, Options, Target};

#[test]
fn every_reader_ends_on_every_file_of_the_corpus() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus");
    let target = Target::new(job::LengthUnit::M);
    let options = Options::default();
    let mut count = 0;
    for folder in [folder.clone(), folder.join("regressions")] {
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            if !path.is_file() {
                continue;
            }
            let bytes = fs::read(&path).unwrap();
            for pairs in [
                vec![],
                vec!["*=boundary"],
                vec!["*=spot"],
                vec!["*=cable,service=x"],
            ] {
                let mapping = Mapping::from_pairs(pairs).unwrap();
                for read in [
                    exchange::dxf::read,
                    exchange::geojson::read,
                    exchange::points::read,
                    exchange::gpx::read,
                ] {
                    if let Err(findings) = read(&bytes, &target, &mapping, &options) {
                        assert!(!findings.is_empty(), "{}", path.display());
                    }
                }
            }
            let _ = Mapping::from_toml(&String::from_utf8_lossy(&bytes));
            count += 1;
        }
    }
    assert!(count > 8, "the corpus is gone");
}
