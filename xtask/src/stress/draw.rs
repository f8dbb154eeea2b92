//! Numbers drawn for one case: a generator of its own for each sample, so that threads and lengths of a study change nothing.

/// SplitMix64 (Steele, Lea and Flood 2014).
pub struct Draw(u64);

impl Draw {
    /// The generator of one sample of a study.
    pub fn of_sample(seed: u64, index: u64) -> Self {
        let mut start = Self(seed);
        let study = start.bits();
        let mut draw = Self(study ^ index.wrapping_mul(0xd134_2543_de82_ef95));
        draw.bits();
        draw
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// In [0, 1).
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly between two ends.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Evenly in the logarithm; both ends above zero.
    pub fn logarithmic(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    /// True with the given probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// One of a list; nothing of an empty one.
    pub fn one<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        let index = (self.unit() * of.len() as f64) as usize;
        of.get(index)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_their_own_and_stay_in_their_ends() {
        let first = |seed, index| Draw::of_sample(seed, index).unit();
        assert_eq!(first(1, 7).to_bits(), first(1, 7).to_bits());
        assert!(first(1, 7) != first(1, 8) && first(1, 7) != first(2, 7));
        let mut draw = Draw::of_sample(3, 0);
        let mut sum = 0.0;
        for _ in 0..1000 {
            let (even, log) = (draw.between(-2.0, 3.0), draw.logarithmic(1e-3, 10.0));
            assert!((-2.0..3.0).contains(&even) && (1e-3..10.0).contains(&log));
            sum += draw.unit();
        }
        assert!((sum / 1000.0 - 0.5).abs() < 0.05, "{sum}");
    }
}
