//! Load cycles of a course of numbers, counted as it comes, in bounded memory.
//!
//! In: whole numbers, one after the other (torque, pressure or temperature in any fixed unit). Out: cycles, each with range, mean and
//! weight of a half or a whole. Rainflow after ASTM E1049, 5.4.4: of the last three turning points the earlier range is a cycle
//! once the later one is as large; with the first point in it, it counts half. What is left at the end counts half.
//! At most `N` turning points wait. Should that not suffice, the oldest range counts whole and its first point is dropped: too much
//! is counted, never too little. A course of `k` different levels never has more than `2 k` points waiting.
//! Limits: no memory of the order of cycles; a course of one value has none.

use heapless::Vec;

/// A counted cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cycle {
    /// Difference of its turning points, above 0.
    pub range: u32,
    /// Sum of its turning points: twice the mean.
    pub twice_mean: i64,
    /// 1 for half a cycle, 2 for a whole one.
    pub halves: u8,
}

/// Turning points that wait for their partner.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rainflow<const N: usize> {
    waiting: Vec<i32, N>,
    last: Option<i32>,
}

impl<const N: usize> Rainflow<N> {
    /// Takes the next number; gives every cycle that it closes to `count`.
    pub fn take(&mut self, value: i32, mut count: impl FnMut(Cycle)) {
        let Some(last) = self.last else {
            self.last = Some(value);
            self.turn(value, &mut count);
            return;
        };
        let goes_on = match self.waiting.last() {
            Some(turned) => (value > last) == (last > *turned) || *turned == last,
            None => true,
        };
        if value != last && !goes_on {
            self.turn(last, &mut count);
        }
        self.last = Some(value);
    }

    /// What the course would have counted besides, were it over now; changes nothing.
    pub fn left_over(&self, mut count: impl FnMut(Cycle)) {
        let mut ended = self.clone();
        if let Some(last) = self.last
            && ended.waiting.last() != Some(&last)
        {
            ended.turn(last, &mut count);
        }
        for (from, to) in ended.waiting.iter().zip(ended.waiting.iter().skip(1)) {
            count(cycle(*from, *to, 1));
        }
    }

    /// Number of turning points waiting.
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    fn turn(&mut self, point: i32, count: &mut impl FnMut(Cycle)) {
        if self.waiting.push(point).is_err() {
            self.drop_first(2, count);
            // There is room now, unless N is 0: then nothing can be counted.
            let _ = self.waiting.push(point);
        }
        while let [.., first, second, third] = self.waiting.as_slice() {
            let (first, second, third) = (*first, *second, *third);
            if third.abs_diff(second) < second.abs_diff(first) {
                return;
            }
            if self.waiting.len() == 3 {
                self.drop_first(1, count);
            } else {
                count(cycle(first, second, 2));
                self.waiting.truncate(self.waiting.len().saturating_sub(3));
                let _ = self.waiting.push(third);
            }
        }
    }

    fn drop_first(&mut self, halves: u8, count: &mut impl FnMut(Cycle)) {
        if let [first, second, ..] = self.waiting.as_slice() {
            count(cycle(*first, *second, halves));
        }
        let mut rest = Vec::new();
        for point in self.waiting.iter().skip(1) {
            // Never more than there were.
            let _ = rest.push(*point);
        }
        self.waiting = rest;
    }
}

fn cycle(one: i32, other: i32, halves: u8) -> Cycle {
    Cycle {
        range: one.abs_diff(other),
        twice_mean: i64::from(one).saturating_add(i64::from(other)),
        halves,
    }
}
