//! Random choices from a seed: the generator `xorshift64*` (G. Marsaglia 2003, S. Vigna 2016).

pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Dice {
        // The state must not be zero, and near seeds must not give near sequences.
        let mut dice = Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        for _ in 0..8 {
            dice.next();
        }
        dice
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 16
    }

    /// A number below `below`, which must not be zero.
    pub(crate) fn below(&mut self, below: usize) -> usize {
        (self.next() % below as u64) as usize
    }

    /// Whether something comes about that does so `of` times in a thousand.
    pub(crate) fn permille(&mut self, of: usize) -> bool {
        self.below(1000) < of
    }
}
