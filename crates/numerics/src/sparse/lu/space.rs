//! Memory laid out beforehand.

use std::ops::Range;

use super::number::Number;

/// Plans the use of one block of memory: ranges are taken and given back, and the block is as long as it must be.
#[derive(Default)]
pub(super) struct Plan {
    /// In ascending order.
    taken: Vec<Range<usize>>,
    pub(super) length: usize,
}

impl Plan {
    /// Start of a free range.
    pub(super) fn take(&mut self, length: usize) -> usize {
        let mut start = 0;
        let mut place = self.taken.len();
        for (index, range) in self.taken.iter().enumerate() {
            if start + length <= range.start {
                place = index;
                break;
            }
            start = range.end;
        }
        self.taken.insert(place, start..start + length);
        self.length = self.length.max(start + length);
        start
    }

    pub(super) fn give_back(&mut self, start: usize) {
        self.taken.retain(|range| range.start != start || range.is_empty());
    }
}

/// Numbers that start at the beginning of a line of the cache, so that no vector lies across two.
#[derive(Debug)]
pub(super) struct Aligned<K> {
    memory: Vec<K>,
    start: usize,
    length: usize,
}

const LINE_BYTES: usize = 64;

impl<K: Number> Aligned<K> {
    pub(super) fn zeros(length: usize) -> Aligned<K> {
        let memory = vec![K::ZERO; length + LINE_BYTES / size_of::<K>()];
        let start = memory.as_ptr().align_offset(LINE_BYTES).min(memory.len() - length);
        Aligned { memory, start, length }
    }

    pub(super) fn get(&self) -> &[K] {
        &self.memory[self.start..][..self.length]
    }

    pub(super) fn get_mut(&mut self) -> &mut [K] {
        &mut self.memory[self.start..][..self.length]
    }
}

impl<K: Number> Clone for Aligned<K> {
    fn clone(&self) -> Aligned<K> {
        let mut out = Aligned::zeros(self.length);
        out.get_mut().copy_from_slice(self.get());
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn planned_ranges_fill_gaps_and_never_overlap() {
        let mut plan = Plan::default();
        assert_eq!([plan.take(4), plan.take(3), plan.take(5)], [0, 4, 7]);
        plan.give_back(4);
        assert_eq!([plan.take(4), plan.take(2), plan.take(1)], [12, 4, 6]);
        assert_eq!(plan.length, 16);
    }

    #[test]
    fn a_copy_is_aligned_too() {
        let mut one = Aligned::zeros(9);
        one.get_mut()[8] = 3.0;
        for aligned in [&one, &one.clone()] {
            assert_eq!(aligned.get().as_ptr().align_offset(LINE_BYTES), 0);
            assert_eq!(aligned.get(), [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 3.0]);
        }
    }
}
