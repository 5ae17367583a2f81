//! A lane marked out by cones: widths and offsets of the published courses.
//!
//! Inputs: width of the car without mirrors (ISO 3888 takes lane widths from it), then places of the car. Outputs: which
//! section the car is in, how far it leaves its lane, which cones it strikes. Sources: ISO 3888-1:2018 lengths and widths
//! from memory, lengths as in the snow course of GB/T 30677-2014 (A.2); ISO 3888-2:2011 total length 61 m (clause 4),
//! section lengths and widths as in public transcriptions, least width of the last section from memory. Which edges are
//! in line is from memory: ISO 3888-1 offsets the right-hand edges by 3.5 m; ISO 3888-2 leaves 1 m between the left edge of
//! the first section and the right edge of the middle one, and the last section's left edge is in line with the first
//! one's. The snow course's offset of 1 m is read in the same way: between right-hand edges it could be driven straight. Limits: cones are points on the edges, at both ends of a section and evenly between, at most
//! [`CONE_SPACING_M`] apart (chosen); the body is a rectangle; a struck cone does not move.

use crate::plant::Vehicle;

/// Largest distance of two cones on one edge, m.
pub const CONE_SPACING_M: f64 = 3.0;

/// The published courses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plan {
    /// ISO 3888-1: double lane change.
    Double,
    /// ISO 3888-2: obstacle avoidance.
    Obstacle,
    /// Lane change on snow, GB/T 30677-2014 A.2.
    Snow,
}

/// One section with cones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Where it begins, m from the first gate.
    pub from_m: f64,
    /// Where it ends, m.
    pub to_m: f64,
    /// Its right edge, m to the left of the middle of the first section.
    pub right_m: f64,
    /// Its left edge, m.
    pub left_m: f64,
}

impl Section {
    /// Middle, m.
    pub fn middle_m(&self) -> f64 {
        0.5 * (self.left_m + self.right_m)
    }

    /// Width, m.
    pub fn width_m(&self) -> f64 {
        self.left_m - self.right_m
    }
}

impl Plan {
    /// The three sections with cones for a car of this width, m; what lies between them is free.
    pub fn sections(self, width_m: f64) -> [Section; 3] {
        let w = width_m;
        let (lengths, widths) = match self {
            Self::Double => (
                [15.0, 30.0, 25.0, 25.0, 30.0],
                [1.1 * w + 0.25, 1.2 * w + 0.25, 1.3 * w + 0.25],
            ),
            Self::Obstacle => (
                [12.0, 13.5, 11.0, 12.5, 12.0],
                [1.1 * w + 0.25, w + 1.0, (1.3 * w + 0.25).max(3.0)],
            ),
            Self::Snow => (
                [15.0, 30.0, 25.0, 25.0, 15.0],
                [1.1 * w + 1.25, 1.2 * w + 1.25, 1.3 * w + 1.25],
            ),
        };
        let half = 0.5 * widths[0];
        let right = match self {
            Self::Double => [-half, 3.5 - half, -half],
            Self::Obstacle | Self::Snow => [-half, half + 1.0, half - widths[2]],
        };
        let mut sections = [Section {
            from_m: 0.0,
            to_m: 0.0,
            right_m: 0.0,
            left_m: 0.0,
        }; 3];
        let mut from_m = 0.0;
        for (index, section) in sections.iter_mut().enumerate() {
            let to_m = from_m + lengths[2 * index];
            *section = Section {
                from_m,
                to_m,
                right_m: right[index],
                left_m: right[index] + widths[index],
            };
            from_m = to_m + lengths.get(2 * index + 1).copied().unwrap_or(0.0);
        }
        sections
    }

    /// Length from the first gate to the last, m.
    pub fn length_m(self) -> f64 {
        self.sections(2.0)[2].to_m
    }
}

/// A lane in the world, along x, for one car.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    sections: [Section; 3],
    gate_x_m: f64,
    side: f64,
    front_m: f64,
    rear_m: f64,
    half_width_m: f64,
    cones: Vec<(f64, f64)>,
    struck: Vec<bool>,
}

/// What the lane says about one instant.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LaneState {
    /// Stretch the car's front is in: 0 before the first gate, then 1 to 5, free stretches counted, 6 when the rear has
    /// left the last section.
    pub stretch: u32,
    /// How far a corner is outside its lane, or a cone inside the body, whichever is more, m; 0 when neither.
    pub overshoot_m: f64,
    /// Cones struck so far.
    pub struck: u32,
}

impl Lane {
    /// The plan laid out for a car, its first gate at `gate_x_m` of the world, seen in a mirror if asked.
    pub fn new(plan: Plan, car: &Vehicle, gate_x_m: f64, mirrored: bool) -> Self {
        let sections = plan.sections(car.body.width_m);
        let mut cones = Vec::new();
        for section in &sections {
            let length_m = section.to_m - section.from_m;
            let gaps = libm::ceil(length_m / CONE_SPACING_M) as usize;
            for index in 0..=gaps {
                let x_m = section.from_m + length_m * index as f64 / gaps as f64;
                cones.push((x_m, section.left_m));
                cones.push((x_m, section.right_m));
            }
        }
        Self {
            sections,
            gate_x_m,
            side: if mirrored { -1.0 } else { 1.0 },
            front_m: car.front_axle_m() + car.body.front_overhang_m,
            rear_m: car.rear_axle_m() + car.body.rear_overhang_m,
            half_width_m: 0.5 * car.body.width_m,
            struck: vec![false; cones.len()],
            cones,
        }
    }

    /// Looks at the car now, and remembers the cones it strikes.
    pub fn look(&mut self, x_m: f64, y_m: f64, heading_rad: f64) -> LaneState {
        let (x, y) = (x_m - self.gate_x_m, self.side * y_m);
        let heading = self.side * heading_rad;
        let (sine, cosine) = (libm::sin(heading), libm::cos(heading));
        let mut overshoot_m = 0.0_f64;
        for along in [self.front_m, -self.rear_m] {
            for across in [self.half_width_m, -self.half_width_m] {
                let corner_x = x + along * cosine - across * sine;
                let corner_y = y + along * sine + across * cosine;
                for section in &self.sections {
                    if (section.from_m..=section.to_m).contains(&corner_x) {
                        overshoot_m = overshoot_m
                            .max(corner_y - section.left_m)
                            .max(section.right_m - corner_y);
                    }
                }
            }
        }
        for (cone, struck) in self.cones.iter().zip(&mut self.struck) {
            let (dx, dy) = (cone.0 - x, cone.1 - y);
            let (along, across) = (dx * cosine + dy * sine, dy * cosine - dx * sine);
            let depth = (self.half_width_m - across.abs())
                .min(self.front_m - along)
                .min(along + self.rear_m);
            if depth > 0.0 {
                *struck = true;
                overshoot_m = overshoot_m.max(depth);
            }
        }
        let nose = x + self.front_m;
        let tail = x - self.rear_m;
        let [first, middle, last] = &self.sections;
        let edges = [
            first.from_m,
            first.to_m,
            middle.from_m,
            middle.to_m,
            last.from_m,
        ];
        let stretch = if tail > last.to_m {
            6
        } else {
            edges.iter().filter(|edge| nose >= **edge).count() as u32
        };
        LaneState {
            stretch,
            overshoot_m,
            struck: self.struck.iter().filter(|struck| **struck).count() as u32,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lane widths computed by hand from the formulas of ISO 3888-1 and -2 for three widths of a car; 1e-9 m is rounding.
    #[test]
    fn lane_widths_and_offset_follow_the_standards_formulas() {
        let double = [
            (1.80, [2.230, 2.410, 2.590]),
            (1.75, [2.175, 2.350, 2.525]),
            (1.90, [2.340, 2.530, 2.720]),
        ];
        let obstacle = [
            (1.80, [2.230, 2.800, 3.000], 3.515),
            (1.75, [2.175, 2.750, 3.000], 3.4625),
            (1.90, [2.340, 2.900, 3.000], 3.620),
        ];
        for (width, expected) in double {
            let found = Plan::Double.sections(width).map(|s| s.width_m());
            for (one, other) in found.iter().zip(expected) {
                assert!((one - other).abs() < 1e-9, "{found:?}");
            }
        }
        for (width, expected, offset) in obstacle {
            let sections = Plan::Obstacle.sections(width);
            for (one, other) in sections.iter().zip(expected) {
                assert!((one.width_m() - other).abs() < 1e-9, "{sections:?}");
            }
            assert!((sections[1].middle_m() - sections[0].middle_m() - offset).abs() < 1e-9);
        }
        let snow = Plan::Snow.sections(1.80).map(|s| s.width_m());
        for (one, other) in snow.iter().zip([3.230, 3.410, 3.590]) {
            assert!((one - other).abs() < 1e-9, "{snow:?}");
        }
    }

    #[test]
    fn course_lengths_add_up_to_the_published_totals() {
        // 61 m: ISO 3888-2 clause 4; 125 m: ISO 3888-1, from memory; 110 m: GB/T 30677-2014 A.2.
        assert!((Plan::Obstacle.length_m() - 61.0).abs() < 1e-9);
        assert!((Plan::Double.length_m() - 125.0).abs() < 1e-9);
        assert!((Plan::Snow.length_m() - 110.0).abs() < 1e-9);
    }

    #[test]
    fn corners_outside_and_cones_inside_the_body_are_seen() {
        let car = Vehicle::default();
        let mut lane = Lane::new(Plan::Obstacle, &car, 100.0, false);
        let width = lane.sections[0].width_m();
        let free = 0.5 * (width - car.body.width_m);
        assert_eq!(lane.look(106.0, 0.9 * free, 0.0).overshoot_m, 0.0);
        // Straight in the lane, moved out by a hand: by so much the corners are outside.
        let out = lane.look(106.0, free + 0.1, 0.0);
        assert!((out.overshoot_m - 0.1).abs() < 1e-9 && out.struck > 0);
        // Both corners of the left flank are where no lane is, the last cone of the first section is between them.
        let mut lane = Lane::new(Plan::Obstacle, &car, 100.0, false);
        let cone = lane.look(114.0, free + 0.1, 0.0);
        assert!(cone.struck >= 1 && cone.overshoot_m > 0.099, "{cone:?}");
        // The same car in the mirror.
        let mut mirror = Lane::new(Plan::Obstacle, &car, 100.0, true);
        assert_eq!(mirror.look(114.0, -(free + 0.1), -0.0), cone);
    }
}
