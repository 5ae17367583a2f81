//! Load cycles of a course of numbers, counted as it comes, in bounded memory.
//!
//! In: whole numbers, one after the other (torque, pressure or temperature in any fixed unit). Out: cycles, each with range, mean and
//! weight of a half or a whole. Rainflow after ASTM E1049, 5.4.4: of the last three turning points the earlier range is a cycle
//! once the later one is as large; with the first point in it, it counts half. What is left at the end counts half.
//! At most `N` turning points wait. Should that not suffice, the smallest range, which is the last, counts whole at once, and the course is
//! taken to have come back as far as its earlier turning point: too much is counted, never too little. A course of `k` different
//! levels never has more than `2 k` points waiting.
//! Limits: no memory of the order of cycles; a course of one value has none.

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

/// Turning points that wait for their partner; N at most 255. Each is kept as a `P`: half the memory where 16 bits hold every number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rainflow<const N: usize, P: Level = i32> {
    /// The first `waits` are points; the others are 0.
    points: [P; N],
    waits: u8,
    last: Option<P>,
}

/// A whole number as it is kept.
pub trait Level: Copy + PartialEq + Default + Into<i32> + TryFrom<i32> {}

impl Level for i32 {}
impl Level for i16 {}

impl<const N: usize, P: Level> Default for Rainflow<N, P> {
    fn default() -> Self {
        Self {
            points: [P::default(); N],
            waits: 0,
            last: None,
        }
    }
}

impl<const N: usize, P: Level> Rainflow<N, P> {
    /// Takes the next number; gives every cycle that it closes to `count`. One that does not fit into a `P` counts as 0.
    pub fn take(&mut self, value: i32, mut count: impl FnMut(Cycle)) {
        let kept = P::try_from(value).unwrap_or_default();
        let value = kept.into();
        let Some(last) = self.last.map(Into::into) else {
            self.last = Some(kept);
            self.turn(value, &mut count);
            return;
        };
        let goes_on = match self.waiting_points().last() {
            Some(turned) => {
                let turned: i32 = (*turned).into();
                (value > last) == (last > turned) || turned == last
            }
            None => true,
        };
        if value != last && !goes_on {
            self.turn(last, &mut count);
        }
        self.last = Some(kept);
    }

    /// What the course would have counted besides, were it over now; changes nothing.
    pub fn left_over(&self, mut count: impl FnMut(Cycle)) {
        let mut ended = *self;
        if let Some(last) = self.last
            && ended.waiting_points().last() != Some(&last)
        {
            ended.turn(last.into(), &mut count);
        }
        let points = ended.waiting_points();
        for (from, to) in points.iter().zip(points.iter().skip(1)) {
            count(cycle((*from).into(), (*to).into(), 1));
        }
    }

    /// Number of turning points waiting.
    pub fn waiting(&self) -> usize {
        usize::from(self.waits)
    }

    /// Points, how many of them wait, and the number taken last: for storage.
    pub fn to_parts(&self) -> ([i32; N], u8, Option<i32>) {
        (
            self.points.map(Into::into),
            self.waits,
            self.last.map(Into::into),
        )
    }

    /// From stored parts; nothing where they cannot be those of a course.
    pub fn from_parts(points: [i32; N], waits: u8, last: Option<i32>) -> Option<Self> {
        let empty = |point: &i32| *point == 0;
        let mut kept = [P::default(); N];
        for (place, point) in kept.iter_mut().zip(points) {
            *place = P::try_from(point).ok()?;
        }
        let last = match last {
            Some(last) => Some(P::try_from(last).ok()?),
            None => None,
        };
        let believable = usize::from(waits) <= N
            && points.iter().skip(usize::from(waits)).all(empty)
            && (last.is_some() || waits == 0);
        believable.then_some(Self {
            points: kept,
            waits,
            last,
        })
    }

    fn waiting_points(&self) -> &[P] {
        self.points.get(..usize::from(self.waits)).unwrap_or(&[])
    }

    fn push(&mut self, point: i32) -> bool {
        match self.points.get_mut(usize::from(self.waits)) {
            Some(place) => {
                *place = P::try_from(point).unwrap_or_default();
                self.waits = self.waits.saturating_add(1);
                true
            }
            None => false,
        }
    }

    fn truncate(&mut self, waits: u8) {
        for point in self.points.iter_mut().skip(usize::from(waits)) {
            *point = P::default();
        }
        self.waits = self.waits.min(waits);
    }

    fn turn(&mut self, point: i32, count: &mut impl FnMut(Cycle)) {
        self.make_room(point, count);
        if !self.push(point) {
            return;
        }
        while let [.., first, second, third] = self.waiting_points() {
            let (first, second, third): (i32, i32, i32) =
                ((*first).into(), (*second).into(), (*third).into());
            if third.abs_diff(second) < second.abs_diff(first) {
                return;
            }
            if self.waits == 3 {
                self.drop_first(1, count);
            } else {
                count(cycle(first, second, 2));
                self.truncate(self.waits.saturating_sub(3));
                let _ = self.push(third);
            }
        }
    }

    /// Takes away what stands in the way of a point: the last one, where this lies beyond it because a range between was counted at
    /// once; two, where memory is full and this closes their range; none, where it is full and the new range is the smallest: then
    /// that counts whole, and the point finds no room.
    fn make_room(&mut self, point: i32, count: &mut impl FnMut(Cycle)) {
        let full = usize::from(self.waits) >= N;
        let [.., before, last] = self.waiting_points() else {
            if full && let [last] = self.waiting_points() {
                count(cycle((*last).into(), point, 2));
            }
            return;
        };
        let (before, last): (i32, i32) = ((*before).into(), (*last).into());
        if (point > last) == (last > before) {
            self.truncate(self.waits.saturating_sub(1));
        } else if full && point.abs_diff(last) < last.abs_diff(before) {
            count(cycle(last, point, 2));
        } else if full {
            // Of two points the first is the course's own: its range is half a cycle, and the second begins the course.
            if self.waits == 2 {
                self.drop_first(1, count);
            } else {
                count(cycle(before, last, 2));
                self.truncate(self.waits.saturating_sub(2));
            }
        }
    }

    fn drop_first(&mut self, halves: u8, count: &mut impl FnMut(Cycle)) {
        if let [first, second, ..] = self.waiting_points() {
            count(cycle((*first).into(), (*second).into(), halves));
        }
        // Each point moves one place forward.
        let before = self.points;
        for (place, next) in self.points.iter_mut().zip(before.iter().skip(1)) {
            *place = *next;
        }
        self.truncate(self.waits.saturating_sub(1));
    }
}

fn cycle(one: i32, other: i32, halves: u8) -> Cycle {
    Cycle {
        range: one.abs_diff(other),
        twice_mean: i64::from(one).saturating_add(i64::from(other)),
        halves,
    }
}
