//! Whether what is pulled through sleeves that lie there already fits into them.

use digging::Digging;
use job::{Finding, Job};
use quantity::{Length, Units};
use routes::{Network, StretchId};
use std::collections::BTreeMap;

/// A warning for every existing sleeve whose bore is less than the practice asks for.
pub fn too_small(job: &Job, network: &Network, digging: &Digging) -> Vec<Finding> {
    let mut through: BTreeMap<&str, (StretchId, Length)> = BTreeMap::new();
    for (id, stretch) in network.iter() {
        let Some(sleeve) = stretch.sleeve.as_ref().and_then(|s| s.existing.as_deref()) else {
            continue;
        };
        let bundle = takeoff::bundle(&digging.digs[id.index()].section.contents);
        through.insert(sleeve, (id, bundle));
    }
    let over = &job.practice.paving.sleeve_over_bundle;
    let findings = job.system.sleeves.iter().filter_map(|sleeve| {
        let (stretch, bundle) = through.get(sleeve.id.as_str())?;
        let needs = *bundle * over.value.to_one();
        (sleeve.inside < needs).then(|| {
            Finding::warning(
                "sleeve-too-small",
                &sleeve.id,
                format!(
                    "sleeve {} is {} inside; what {stretch} carries through it wants {}",
                    sleeve.id,
                    in_both(sleeve.inside),
                    in_both(needs)
                ),
                "put a second sleeve beside it, or lead some of the lines another way",
            )
        })
    });
    findings.collect()
}

fn in_both(length: Length) -> String {
    let length = length.small();
    format!("{} ({})", length.show(Units::Us), length.show(Units::Si))
}
