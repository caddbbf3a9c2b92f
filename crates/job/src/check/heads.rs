//! No two heads at the same place.

use super::SAME_PLACE;
use crate::draft::{Draft, OutletItem};
use crate::overlay::Local;
use crate::{Finding, Place};

pub(super) fn heads_coincide(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let mut placed: Vec<(Place, &OutletItem)> = draft
        .outlets
        .iter()
        .filter_map(|o| Some((o.item.shape?, o)))
        .collect();
    placed.sort_by(|(a, _), (b, _)| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    for (n, (at, outlet)) in placed.iter().enumerate() {
        let near = placed[n + 1..]
            .iter()
            .take_while(|(p, _)| p.x - at.x <= SAME_PLACE);
        for (_, other) in near.filter(|(p, _)| at.distance(*p) <= SAME_PLACE).take(1) {
            let what = format!("stands at the same place as {}", outlet.item.id);
            let mend = "move one of them, or take out the copy";
            out.push(other.item.warning("heads-coincide", &what, mend));
        }
    }
}
