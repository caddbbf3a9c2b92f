//! A fixed row of yes/no marks.

/// Marks for the numbers `0..len`, one bit each.
#[derive(Clone, Debug)]
pub(crate) struct Bits(Vec<u64>);

impl Bits {
    pub fn new(len: usize) -> Bits {
        Bits(vec![0; len.div_ceil(64)])
    }

    /// Marks that all of the lists have; the lists are equally long and at least one.
    pub fn common(lists: &[&Bits]) -> Bits {
        let mut words = lists[0].0.clone();
        for list in &lists[1..] {
            words
                .iter_mut()
                .zip(&list.0)
                .for_each(|(word, other)| *word &= other);
        }
        Bits(words)
    }

    pub fn get(&self, at: u32) -> bool {
        self.0[at as usize / 64] >> (at % 64) & 1 == 1
    }

    /// Whether there is a mark at all.
    pub fn any(&self) -> bool {
        self.0.iter().any(|word| *word != 0)
    }

    pub fn set(&mut self, at: u32) {
        self.0[at as usize / 64] |= 1 << (at % 64);
    }

    /// Sets every mark that `other` does not have; both are equally long.
    pub fn set_all_but(&mut self, other: &Bits) {
        self.0
            .iter_mut()
            .zip(&other.0)
            .for_each(|(word, other)| *word |= !other);
    }

    pub fn unset(&mut self, at: u32) {
        self.0[at as usize / 64] &= !(1 << (at % 64));
    }
}
