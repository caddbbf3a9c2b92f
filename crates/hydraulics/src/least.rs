//! The least costly sizes on a tree: exact, by labels from the ends to the root.
//!
//! A label of a section is what it and all behind it cost, the least pressure that they need in front
//! of them, and the most that they bear. A label that another one beats in all three is dropped:
//! whatever lies in front of both, the other does as well. Where parts of a tree join, the need is
//! that of the neediest part, so the number of labels adds up and does not multiply.
//!
//! General arithmetic: knows no water. Costs and pressures in any unit.

/// A section in one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Choice {
    pub cost: f64,
    /// What it takes where the section in front has the same size, or none is in front.
    pub loss: f64,
    /// What it takes where the section in front has another size.
    pub loss_changed: f64,
}

/// A way to serve an end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Offer {
    pub cost: f64,
    /// The least pressure that it works at.
    pub least: f64,
    /// What stands against `least` in the rule of spread: infinite where the rule does not hold.
    pub most: f64,
}

/// What hangs at the end of a section.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct End {
    /// The ways to serve it, one of which is taken; never empty.
    pub offers: Vec<Offer>,
    /// What is lost on top, by the size of the section that ends here; empty for nothing.
    pub extra: Vec<f64>,
}

/// A section of a tree.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Section {
    /// The section in front, which stands before it in the list; it is not smaller.
    pub above: Option<usize>,
    /// By size, from the smallest on; nothing where the size must not be taken.
    pub choices: Vec<Option<Choice>>,
    pub ends: Vec<End>,
}

/// A tree of sections.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Tree {
    pub sections: Vec<Section>,
    /// What hangs at the root itself.
    pub ends: Vec<End>,
    /// The pressure at the root.
    pub limit: f64,
    /// How far the needs of a tree's ends, what is lost on the way included, may lie apart.
    pub spread: Option<f64>,
    /// What a solution may cost at most.
    pub most_cost: f64,
}

/// Sizes and what they come to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answer {
    pub cost: f64,
    /// The least pressure at the root.
    pub least: f64,
    /// The size of each section.
    pub sizes: Vec<usize>,
    /// The offer taken by each end: those of the root, then those of each section in turn.
    pub offers: Vec<usize>,
}

/// All answers that no other beats, the cheapest first.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Front {
    pub answers: Vec<Answer>,
    /// Whether nothing was left out for want of room.
    pub complete: bool,
}

/// Labels made before only a choice of them is kept.
const MOST_LABELS: usize = 3_000_000;

/// Labels kept of one section and size from then on.
const FEW: usize = 200;

/// Pressures nearer than this are the same.
const SAME: f64 = 1e-6;

#[derive(Debug, Clone, Copy)]
struct Label {
    cost: f64,
    least: f64,
    most: f64,
    made: u32,
}

/// How a label came about.
#[derive(Debug, Clone, Copy)]
enum Made {
    Nothing,
    Served { end: u32, offer: u32 },
    Both(u32, u32),
    Piped { section: u32, size: u32, below: u32 },
}

/// What a label may be.
#[derive(Debug, Clone, Copy)]
struct Room {
    cost: f64,
    least: f64,
}

struct Search<'a> {
    tree: &'a Tree,
    made: Vec<Made>,
    /// The place of the first end of each section in the numbering of all.
    first_end: Vec<usize>,
    /// Least cost of a section with all behind it.
    floor: Vec<f64>,
    /// Least cost of everything.
    total: f64,
    /// Least loss from the root to the beginning of a section.
    before: Vec<f64>,
    /// Labels kept of one section and size, the cheapest and the most frugal among them.
    few: usize,
    complete: bool,
}

/// All answers within the limit, none of which is beaten by another; with `few`, those that come of as
/// many labels for each section and size.
pub(crate) fn front(tree: &Tree, few: Option<usize>) -> Front {
    let mut search = Search::new(tree);
    search.few = few.unwrap_or(usize::MAX);
    let mut labels = search.run();
    let mut stairs = Stairs::default();
    labels.retain(|l| stairs.takes(l.least, 0.0));
    let answers = labels.iter().map(|l| search.answer(l)).collect();
    Front {
        answers,
        complete: search.complete,
    }
}

/// The least that any answer costs, were pressure no matter.
pub(crate) fn floor(tree: &Tree) -> f64 {
    Search::new(tree).total
}

fn least_of(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::INFINITY, f64::min)
}

fn end_floor(ends: &[End]) -> f64 {
    ends.iter()
        .map(|end| least_of(end.offers.iter().map(|o| o.cost)))
        .sum()
}

impl<'a> Search<'a> {
    fn new(tree: &'a Tree) -> Self {
        let count = tree.sections.len();
        let mut floor: Vec<f64> = tree
            .sections
            .iter()
            .map(|s| least_of(s.choices.iter().flatten().map(|c| c.cost)) + end_floor(&s.ends))
            .collect();
        let mut total = end_floor(&tree.ends);
        for section in (0..count).rev() {
            match tree.sections[section].above {
                Some(above) => floor[above] += floor[section],
                None => total += floor[section],
            }
        }
        let mut before = vec![0.0; count];
        let mut first_end = Vec::with_capacity(count);
        let mut ends = tree.ends.len();
        for (i, section) in tree.sections.iter().enumerate() {
            first_end.push(ends);
            ends += section.ends.len();
            if let Some(above) = section.above {
                let of = &tree.sections[above].choices;
                let least = least_of(of.iter().flatten().map(|c| c.loss.min(c.loss_changed)));
                before[i] = before[above] + least;
            }
        }
        Self {
            tree,
            made: vec![Made::Nothing],
            first_end,
            floor,
            total,
            before,
            few: usize::MAX,
            complete: true,
        }
    }

    fn run(&mut self) -> Vec<Label> {
        let tree = self.tree;
        let count = tree.sections.len();
        let mut behind: Vec<Vec<usize>> = vec![Vec::new(); count];
        let mut roots = Vec::new();
        for (i, section) in tree.sections.iter().enumerate() {
            match section.above {
                Some(above) => behind[above].push(i),
                None => roots.push(i),
            }
        }
        // For each section and size in front of it, the labels at its beginning.
        let mut tops: Vec<Vec<Vec<Label>>> = vec![Vec::new(); count];
        for section in (0..count).rev() {
            tops[section] = self.section(section, &behind[section], &tops);
            for child in &behind[section] {
                tops[*child] = Vec::new();
            }
        }
        let room = |cost| Room {
            cost,
            least: tree.limit,
        };
        let mut known = end_floor(&tree.ends);
        let mut labels = vec![Label::NOTHING];
        for (i, end) in tree.ends.iter().enumerate() {
            let offers = self.offers(end, i, 0);
            labels = self.join(&labels, &offers, room(self.most_for(known)));
        }
        for root in roots {
            known += self.floor[root];
            // Without a section in front every size may follow: as if the largest were there.
            let top = tops[root].last().cloned().unwrap_or_default();
            labels = self.join(&labels, &top, room(self.most_for(known)));
        }
        labels
    }

    /// The most that a part may cost whose least cost is known.
    fn most_for(&self, part: f64) -> f64 {
        let slack = self.tree.most_cost - self.total;
        // What is summed in another order differs in the last digits.
        part + slack + 1e-9 * self.tree.most_cost.abs().min(1e12)
    }

    fn section(
        &mut self,
        section: usize,
        behind: &[usize],
        tops: &[Vec<Vec<Label>>],
    ) -> Vec<Vec<Label>> {
        let tree = self.tree;
        let this = &tree.sections[section];
        let room = Room {
            cost: self.most_for(self.floor[section]),
            least: tree.limit - self.before[section],
        };
        let mut smaller: Vec<Label> = Vec::new();
        let mut top = Vec::with_capacity(this.choices.len());
        for (size, choice) in this.choices.iter().enumerate() {
            let Some(choice) = choice else {
                top.push(smaller.clone());
                continue;
            };
            let below = self.below(section, size, behind, tops);
            let mut same = smaller.clone();
            for label in below {
                let made = self.note(Made::Piped {
                    section: section as u32,
                    size: size as u32,
                    below: label.made,
                });
                let with = |loss: f64| Label {
                    cost: label.cost + choice.cost,
                    least: label.least + loss,
                    most: label.most + loss,
                    made,
                };
                let at_root = this.above.is_none();
                let changed = if at_root {
                    choice.loss
                } else {
                    choice.loss_changed
                };
                same.push(with(choice.loss));
                smaller.push(with(changed));
            }
            self.prune(&mut same, room);
            self.prune(&mut smaller, room);
            top.push(same);
        }
        top
    }

    /// The labels at the end of a section of a size.
    fn below(
        &mut self,
        section: usize,
        size: usize,
        behind: &[usize],
        tops: &[Vec<Vec<Label>>],
    ) -> Vec<Label> {
        let tree = self.tree;
        let this = &tree.sections[section];
        let least = tree.limit - self.before[section];
        let mut known = 0.0;
        let mut labels = vec![Label::NOTHING];
        for (i, end) in this.ends.iter().enumerate() {
            known += end_floor(std::slice::from_ref(end));
            let offers = self.offers(end, self.first_end[section] + i, size);
            let room = Room {
                cost: self.most_for(known),
                least,
            };
            labels = self.join(&labels, &offers, room);
        }
        for child in behind {
            known += self.floor[*child];
            let room = Room {
                cost: self.most_for(known),
                least,
            };
            let Some(top) = tops[*child].get(size).or(tops[*child].last()) else {
                return Vec::new();
            };
            labels = self.join(&labels, top, room);
        }
        labels
    }

    fn offers(&mut self, end: &End, number: usize, size: usize) -> Vec<Label> {
        let extra = end.extra.get(size).copied().unwrap_or(0.0);
        let label = |(offer, of): (usize, &Offer)| Label {
            cost: of.cost,
            least: of.least + extra,
            most: of.most + extra,
            made: self.note(Made::Served {
                end: number as u32,
                offer: offer as u32,
            }),
        };
        end.offers.iter().enumerate().map(label).collect()
    }

    fn note(&mut self, made: Made) -> u32 {
        self.made.push(made);
        (self.made.len() - 1) as u32
    }

    /// Both parts side by side.
    fn join(&mut self, a: &[Label], b: &[Label], room: Room) -> Vec<Label> {
        let mut both = Vec::new();
        let alone = |labels: &[Label]| matches!(labels, [l] if l.made == 0);
        if alone(a) || alone(b) {
            both.extend_from_slice(if alone(a) { b } else { a });
        } else if self.tree.spread.is_some() {
            for a in a {
                for b in b {
                    if self.holds(
                        a.cost + b.cost,
                        a.least.max(b.least),
                        a.most.min(b.most),
                        room,
                    ) {
                        both.push(self.pair(a, b));
                    }
                }
            }
        } else {
            // Both lists run from cheap and needy to dear and frugal: only the needier is worth
            // changing.
            let (mut i, mut j) = (0, 0);
            while let (Some(a), Some(b)) = (a.get(i), b.get(j)) {
                both.push(self.pair(a, b));
                if a.least >= b.least {
                    i += 1;
                }
                if b.least >= a.least {
                    j += 1;
                }
            }
        }
        self.prune(&mut both, room);
        both
    }

    fn pair(&mut self, a: &Label, b: &Label) -> Label {
        Label {
            cost: a.cost + b.cost,
            least: a.least.max(b.least),
            most: a.most.min(b.most),
            made: self.note(Made::Both(a.made, b.made)),
        }
    }

    fn holds(&self, cost: f64, least: f64, most: f64, room: Room) -> bool {
        let apart = self.tree.spread.is_none_or(|s| least - most <= s + SAME);
        cost <= room.cost && least <= room.least + SAME && apart
    }

    /// Drops what does not hold and what is beaten; the cheapest first.
    fn prune(&mut self, labels: &mut Vec<Label>, room: Room) {
        labels.retain(|l| self.holds(l.cost, l.least, l.most, room));
        labels.sort_by(|a, b| {
            let by_cost = a.cost.total_cmp(&b.cost);
            by_cost
                .then(a.least.total_cmp(&b.least))
                .then(b.most.total_cmp(&a.most))
        });
        if self.tree.spread.is_some() {
            let mut stairs = Stairs::default();
            labels.retain(|l| stairs.takes(l.least, l.most));
        } else {
            let mut needs = f64::INFINITY;
            labels.retain(|l| {
                let frugal = l.least < needs - SAME || needs == f64::INFINITY;
                needs = needs.min(l.least);
                frugal
            });
        }
        if self.made.len() > MOST_LABELS {
            self.few = self.few.min(FEW);
        }
        if labels.len() > self.few {
            self.complete = false;
            let every = labels.len().div_ceil(self.few);
            let last = labels.len() - 1;
            let mut place = 0;
            labels.retain(|_| {
                place += 1;
                (place - 1) % every == 0 || place - 1 == last
            });
        }
    }

    fn answer(&self, label: &Label) -> Answer {
        let ends = self.tree.sections.iter().map(|s| s.ends.len());
        let mut sizes = vec![0; self.tree.sections.len()];
        let mut offers = vec![0; self.tree.ends.len() + ends.sum::<usize>()];
        let mut open = vec![label.made];
        while let Some(made) = open.pop() {
            match self.made[made as usize] {
                Made::Nothing => {}
                Made::Served { end, offer } => offers[end as usize] = offer as usize,
                Made::Both(a, b) => open.extend([a, b]),
                Made::Piped {
                    section,
                    size,
                    below,
                } => {
                    sizes[section as usize] = size as usize;
                    open.push(below);
                }
            }
        }
        Answer {
            cost: label.cost,
            least: label.least,
            sizes,
            offers,
        }
    }
}

impl Label {
    const NOTHING: Self = Self {
        cost: 0.0,
        least: f64::NEG_INFINITY,
        most: f64::INFINITY,
        made: 0,
    };
}

/// What has been taken: pairs of which none beats another, by rising `least` and so rising `most`.
#[derive(Default)]
struct Stairs(std::collections::BTreeMap<u64, (f64, f64)>);

impl Stairs {
    /// Takes a pair unless one that was taken needs no more and bears no less.
    fn takes(&mut self, least: f64, most: f64) -> bool {
        let key = in_order(least);
        let reach = in_order(least + SAME);
        if self
            .0
            .range(..=reach)
            .next_back()
            .is_some_and(|(_, (_, m))| *m >= most - SAME)
        {
            return false;
        }
        let beaten: Vec<u64> = self
            .0
            .range(key..)
            .take_while(|(_, (_, m))| *m <= most)
            .map(|(k, _)| *k)
            .collect();
        for key in beaten {
            self.0.remove(&key);
        }
        self.0.insert(key, (least, most));
        true
    }
}

/// The bits of a number so that they rise with it.
fn in_order(value: f64) -> u64 {
    let bits = value.to_bits();
    if bits >> 63 == 1 {
        !bits
    } else {
        bits | 1 << 63
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SIZES: usize = 4;

    type Part = (
        usize,
        [(f64, f64, bool); SIZES],
        f64,
        Option<(f64, f64, f64)>,
    );

    fn part() -> impl Strategy<Value = Part> {
        let choice = (0.5..3.0_f64, 0.3..1.0_f64, prop::bool::weighted(0.9));
        let end = prop::option::weighted(0.6, (0.0..10.0_f64, 0.0..4.0_f64, 0.0..3.0_f64));
        (
            any::<usize>(),
            prop::array::uniform4(choice),
            0.0..2.0_f64,
            end,
        )
    }

    fn tree(parts: &[Part], limit: f64, spread: Option<f64>) -> Tree {
        let mut sections: Vec<Section> = Vec::new();
        for (n, (under, sizes, reducer, end)) in parts.iter().enumerate() {
            let above = under % (n + 1);
            let above = (above > 0).then(|| above - 1);
            let (mut cost, mut loss) = (0.0, 8.0);
            let mut choices = Vec::new();
            for (dearer, less, allowed) in sizes {
                cost += dearer;
                loss *= less;
                choices.push(allowed.then_some(Choice {
                    cost,
                    loss,
                    loss_changed: loss + reducer,
                }));
            }
            let ends = end.map(|(least, dearer, frugal)| End {
                offers: vec![
                    Offer {
                        cost: 0.0,
                        least,
                        most: least,
                    },
                    Offer {
                        cost: dearer,
                        least: least - frugal,
                        most: least - frugal,
                    },
                ],
                extra: vec![0.4, 0.3, 0.2, 0.1],
            });
            sections.push(Section {
                above,
                choices,
                ends: ends.into_iter().collect(),
            });
        }
        Tree {
            sections,
            ends: Vec::new(),
            limit,
            spread,
            most_cost: f64::INFINITY,
        }
    }

    /// Need, the least that counts in the spread, and cost of sizes and offers worked out from the
    /// root on; nothing where they are not allowed.
    fn outcome(tree: &Tree, sizes: &[usize], offers: &[usize]) -> Option<(f64, f64, f64)> {
        let mut lost = vec![0.0; sizes.len()];
        let (mut least, mut most, mut cost) = (f64::NEG_INFINITY, f64::INFINITY, 0.0);
        let mut end = 0;
        for (i, section) in tree.sections.iter().enumerate() {
            let choice = section.choices[sizes[i]]?;
            cost += choice.cost;
            lost[i] = match section.above {
                Some(above) if sizes[above] < sizes[i] => return None,
                Some(above) if sizes[above] == sizes[i] => lost[above] + choice.loss,
                Some(above) => lost[above] + choice.loss_changed,
                None => choice.loss,
            };
            for of in &section.ends {
                let offer = of.offers[offers[end]];
                cost += offer.cost;
                least = least.max(offer.least + lost[i] + of.extra[sizes[i]]);
                most = most.min(offer.most + lost[i] + of.extra[sizes[i]]);
                end += 1;
            }
        }
        let holds = least <= tree.limit && tree.spread.is_none_or(|s| least - most <= s);
        holds.then_some((least, most, cost))
    }

    /// Without ends or sizes numbers are infinite.
    fn same(a: f64, b: f64) -> bool {
        a.total_cmp(&b).is_eq() || (a - b).abs() < 1e-6
    }

    /// Every assignment, one after another.
    fn brute_force(tree: &Tree) -> Vec<(f64, f64)> {
        let ends: usize = tree.sections.iter().map(|s| s.ends.len()).sum();
        let mut found = Vec::new();
        for code in 0..SIZES.pow(tree.sections.len() as u32) {
            let sizes: Vec<usize> = (0..tree.sections.len())
                .map(|i| code / SIZES.pow(i as u32) % SIZES)
                .collect();
            for taken in 0..1_usize << ends {
                let offers: Vec<usize> = (0..ends).map(|e| taken >> e & 1).collect();
                if let Some((least, _, cost)) = outcome(tree, &sizes, &offers) {
                    found.push((cost, least));
                }
            }
        }
        found
    }

    fn cheapest_within(answers: impl Iterator<Item = (f64, f64)>, limit: f64) -> f64 {
        least_of(answers.filter(|(_, l)| *l <= limit + 1e-9).map(|(c, _)| c))
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 400, failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5), ..ProptestConfig::default()
        })]

        #[test]
        fn the_front_is_that_of_all_assignments(
            parts in prop::collection::vec(part(), 1..6),
            limit in 5.0..40.0_f64, spread in prop::option::of(1.0..12.0_f64),
        ) {
            let tree = tree(&parts, limit, spread);
            let front = front(&tree, None);
            prop_assert!(front.complete);
            let all = brute_force(&tree);
            let ours = || front.answers.iter().map(|a| (a.cost, a.least));
            prop_assert_eq!(all.is_empty(), front.answers.is_empty());
            for pressure in all.iter().map(|(_, l)| *l).chain([limit]) {
                let (best, found) = (
                    cheapest_within(all.iter().copied(), pressure),
                    cheapest_within(ours(), pressure),
                );
                prop_assert!(same(best, found), "{best} {found} at {pressure}");
            }
            for answer in &front.answers {
                let (least, _, cost) = outcome(&tree, &answer.sizes, &answer.offers)
                    .expect("an answer holds");
                prop_assert!(same(least, answer.least));
                prop_assert!(same(cost, answer.cost));
            }
        }

        #[test]
        fn a_limit_of_cost_drops_only_what_is_dearer(
            parts in prop::collection::vec(part(), 1..6), limit in 5.0..40.0_f64, share in 0.0..1.0_f64,
        ) {
            let mut tree = tree(&parts, limit, None);
            let all = front(&tree, None).answers;
            prop_assume!(!all.is_empty());
            let (least, most) = (all[0].cost, all[all.len() - 1].cost);
            tree.most_cost = least + share * (most - least);
            let kept = front(&tree, None).answers;
            let wanted = all.iter().filter(|a| a.cost <= tree.most_cost).count();
            prop_assert!(kept.len() >= wanted, "{} of {wanted}", kept.len());
            for (kept, all) in kept.iter().zip(&all) {
                prop_assert!((kept.cost - all.cost).abs() < 1e-9);
            }
        }
    }
}
