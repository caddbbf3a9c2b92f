//! Cross-sections of a small made-up yard.

use super::*;
use crate::tests::yard;

#[test]
fn every_stretch_has_one_kind() {
    let (job, plan) = yard::yard();
    let kinds = sections(&job, &plan, Units::Us);
    let mut all: Vec<StretchId> = kinds
        .iter()
        .flat_map(|kind| kind.stretches.clone())
        .collect();
    all.sort();
    let expected: Vec<StretchId> = plan.digging.digs.iter().map(|dig| dig.stretch).collect();
    assert_eq!(all, expected);
    assert!(kinds.len() < plan.digging.digs.len());
}

#[test]
fn a_deeper_cut_is_another_kind() {
    let (job, mut plan) = yard::yard();
    let before = sections(&job, &plan, Units::Si).len();
    plan.digging.digs[0].section.depth = Length::m(1.234);
    let kinds = sections(&job, &plan, Units::Si);
    assert!(kinds.len() >= before);
    assert!(kinds[0].words.contains("1235 mm"), "{}", kinds[0].words);
}

#[test]
fn a_cut_nearly_as_deep_is_the_same_kind_and_its_depth_is_told() {
    let (job, mut plan) = yard::yard();
    let like = plan.digging.digs[0].clone();
    let at = |dig: &mut Dig, depth: Length| dig.section.depth = depth;
    at(&mut plan.digging.digs[0], Length::m(0.500));
    for (depth, kinds) in [(0.470, 1), (0.440, 2)] {
        let mut dig = like.clone();
        at(&mut dig, Length::m(depth));
        plan.digging.digs.truncate(1);
        plan.digging.digs.push(dig);
        let found = sections(&job, &plan, Units::Si);
        assert_eq!(found.len(), kinds);
        let words = &found[0].words;
        assert_eq!(words.contains("470 mm to 500 mm"), kinds == 1, "{words}");
    }
}

#[test]
fn a_deep_sloped_cut_is_drawn_smaller_and_stays_on_its_paper() {
    let (job, mut plan) = yard::yard();
    let dig = &mut plan.digging.digs[0];
    dig.section.depth = Length::ft(7.0);
    dig.section.width = Length::ft(2.0);
    dig.section.top_width = Length::ft(23.0);
    let kinds = sections(&job, &plan, Units::Us);
    assert_ne!(kinds[0].picture.scale, "1 in = 1 ft");
    for kind in &kinds {
        assert!(!kind.picture.svg.contains("NaN") && !kind.picture.svg.contains("inf"));
        crate::tests::assert_well_formed(&kind.picture.svg);
    }
}
