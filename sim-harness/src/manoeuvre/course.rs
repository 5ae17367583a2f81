//! The line a driver follows: a path given by its curvature.
//!
//! Points every tenth of a metre, integrated from the curvature; y is left of the start. The mirrored course is the same
//! course with y, heading and curvature negated, so it is exact.

use super::lane::Lane;
use crate::plant::road::RoadPath;

/// Distance of two points, m; the same as that of a road's points.
const SPACING_M: f64 = crate::plant::road::path::SPACING_M;

/// One point of the path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathPoint {
    /// Place, m.
    pub x_m: f64,
    /// Place, m.
    pub y_m: f64,
    /// Direction, rad, not wrapped.
    pub heading_rad: f64,
    /// Curvature, 1/m, positive to the left.
    pub curvature_1_m: f64,
}

/// A path.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    points: Vec<PathPoint>,
    closed: bool,
    lane: Option<Lane>,
}

/// Where the car is against the path.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Place {
    /// Distance along the path, m.
    pub distance_m: f64,
    /// Distance of the car from the path, m, positive when the car is left of it.
    pub error_m: f64,
    /// Heading of the car against the path, rad.
    pub heading_error_rad: f64,
    /// Curvature of the path here, 1/m.
    pub curvature_1_m: f64,
}

impl Course {
    /// A straight line along x.
    pub fn straight(length_m: f64) -> Self {
        Self::from_curvature(length_m, |_| 0.0)
    }

    /// The same line for a car that backs up along it: it points forwards and goes backwards from the start.
    pub fn straight_behind(length_m: f64) -> Self {
        let mut course = Self::straight(length_m);
        for point in &mut course.points {
            point.x_m = -point.x_m;
        }
        course
    }

    /// A circle to the left; it never ends.
    pub fn circle(radius_m: f64) -> Self {
        let length = 2.0 * core::f64::consts::PI * radius_m;
        let mut course = Self::from_curvature(length, |_| 1.0 / radius_m);
        course.closed = true;
        course
    }

    /// A turn to the left of `radius_m` for `turn_m`, whose curvature then falls in a straight line to zero over
    /// `unwind_m`, and a straight line after it.
    pub fn exit(radius_m: f64, turn_m: f64, unwind_m: f64, straight_m: f64) -> Self {
        Self::from_curvature(turn_m + unwind_m + straight_m, |distance| {
            let beyond = ((distance - turn_m) / unwind_m).clamp(0.0, 1.0);
            (1.0 - beyond) / radius_m
        })
    }

    /// A path of stretches, each its length, m, and the curvature at its end, 1/m; the curvature changes in a straight line
    /// and starts from zero.
    pub fn of_stretches(stretches: &[(f64, f64)]) -> Self {
        let length_m = stretches.iter().map(|(length_m, _)| length_m).sum();
        Self::from_curvature(length_m, |distance_m| {
            let (mut before_m, mut from) = (0.0, 0.0);
            for (length_m, to) in stretches {
                if distance_m < before_m + length_m {
                    return from + (to - from) * (distance_m - before_m) / length_m;
                }
                (before_m, from) = (before_m + length_m, *to);
            }
            from
        })
    }

    /// The centre of a road.
    pub fn along(road: &RoadPath) -> Self {
        let points = road.points().iter().map(|point| PathPoint {
            x_m: point.x_m,
            y_m: point.y_m,
            heading_rad: point.heading_rad,
            curvature_1_m: point.curvature_1_m,
        });
        Self {
            points: points.collect(),
            closed: false,
            lane: None,
        }
    }

    /// The smoothest line from knot to knot, each a place (x, y), straight along x at both ends (cubic spline), for
    /// `length_m`; beyond the knots it goes straight on.
    pub fn through(knots: &[(f64, f64)], length_m: f64) -> Self {
        let line = Spline::new(knots);
        let count = libm::ceil(length_m / SPACING_M) as usize + 1;
        let mut points = Vec::with_capacity(count);
        let mut x_m = 0.0;
        for _ in 0..count {
            let (y_m, slope, bend) = line.at(x_m);
            let stretch = libm::sqrt(1.0 + slope * slope);
            points.push(PathPoint {
                x_m,
                y_m,
                heading_rad: libm::atan(slope),
                curvature_1_m: bend / (stretch * stretch * stretch),
            });
            // Half a step ahead, so that the spacing along the path is kept to third order.
            let (_, middle, _) = line.at(x_m + 0.5 * SPACING_M / stretch);
            x_m += SPACING_M / libm::sqrt(1.0 + middle * middle);
        }
        Self {
            points,
            closed: false,
            lane: None,
        }
    }

    /// The same path, marked out by cones.
    pub fn marked_out(mut self, lane: Lane) -> Self {
        self.lane = Some(lane);
        self
    }

    /// The cones along the path, if it is marked out.
    pub fn lane(&self) -> Option<&Lane> {
        self.lane.as_ref()
    }

    fn from_curvature(length_m: f64, curvature: impl Fn(f64) -> f64) -> Self {
        let count = libm::ceil(length_m / SPACING_M) as usize + 1;
        let mut points = Vec::with_capacity(count);
        let (mut x_m, mut y_m, mut heading_rad) = (0.0, 0.0, 0.0);
        for index in 0..count {
            let distance = index as f64 * SPACING_M;
            points.push(PathPoint {
                x_m,
                y_m,
                heading_rad,
                curvature_1_m: curvature(distance),
            });
            let turned = curvature(distance + 0.5 * SPACING_M) * SPACING_M;
            let middle = heading_rad + 0.5 * turned;
            x_m += SPACING_M * libm::cos(middle);
            y_m += SPACING_M * libm::sin(middle);
            heading_rad += turned;
        }
        Self {
            points,
            closed: false,
            lane: None,
        }
    }

    /// The course seen in a mirror along x.
    pub fn mirrored(mut self) -> Self {
        for point in &mut self.points {
            point.y_m = -point.y_m;
            point.heading_rad = -point.heading_rad;
            point.curvature_1_m = -point.curvature_1_m;
        }
        self
    }

    /// Length, m.
    pub fn length_m(&self) -> f64 {
        (self.points.len() - 1) as f64 * SPACING_M
    }

    /// Curvature at a distance along the path, 1/m.
    pub fn curvature_1_m(&self, distance_m: f64) -> f64 {
        self.points[self.index(distance_m)].curvature_1_m
    }

    /// Whether the path goes on at this distance.
    pub fn goes_on(&self, distance_m: f64) -> bool {
        self.closed || distance_m < self.length_m() - 1.0
    }

    /// Whether a car at this distance has come to the end: the search stays short of the last metre.
    pub fn is_over(&self, distance_m: f64) -> bool {
        !self.goes_on(distance_m + 2.0 * SPACING_M)
    }

    fn index(&self, distance_m: f64) -> usize {
        // Rounded, not cut: a whole number of spacings may lie a hair below itself, and the search would stand still there.
        let whole = libm::round(distance_m.max(0.0) / SPACING_M) as usize;
        if self.closed {
            whole % (self.points.len() - 1)
        } else {
            whole.min(self.points.len() - 1)
        }
    }

    /// Where a car is, looking near `last`, its place one step ago.
    pub fn locate(&self, x_m: f64, y_m: f64, heading_rad: f64, last: &Place) -> Place {
        let squared = |distance: f64| {
            let point = &self.points[self.index(distance)];
            let (dx, dy) = (x_m - point.x_m, y_m - point.y_m);
            dx * dx + dy * dy
        };
        let mut distance = last.distance_m;
        let mut best = squared(distance);
        for step in [SPACING_M, -SPACING_M] {
            loop {
                let next = distance + step;
                if next < 0.0 || !self.goes_on(next) {
                    break;
                }
                let there = squared(next);
                if there >= best {
                    break;
                }
                best = there;
                distance = next;
            }
        }
        let point = &self.points[self.index(distance)];
        let (sine, cosine) = libm::sincos(point.heading_rad);
        let (dx, dy) = (x_m - point.x_m, y_m - point.y_m);
        let laps = if self.closed {
            libm::floor(distance / self.length_m())
        } else {
            0.0
        };
        let round = 2.0 * core::f64::consts::PI * laps;
        let path_heading = if point.curvature_1_m < 0.0 {
            point.heading_rad - round
        } else {
            point.heading_rad + round
        };
        let along = dx * cosine + dy * sine;
        Place {
            distance_m: distance,
            error_m: dy * cosine - dx * sine,
            heading_error_rad: heading_rad - (path_heading + along * point.curvature_1_m),
            curvature_1_m: point.curvature_1_m,
        }
    }
}

/// A cubic spline with slope zero at both ends.
struct Spline<'a> {
    knots: &'a [(f64, f64)],
    slopes: Vec<f64>,
}

impl<'a> Spline<'a> {
    fn new(knots: &'a [(f64, f64)]) -> Self {
        let count = knots.len();
        let mut slopes = vec![0.0; count];
        // Elimination of the tridiagonal system that makes the second derivative continuous.
        let mut share = vec![0.0; count];
        for index in 1..count.saturating_sub(1) {
            let (before, here, after) = (knots[index - 1], knots[index], knots[index + 1]);
            let (near, far) = (1.0 / (here.0 - before.0), 1.0 / (after.0 - here.0));
            let pull = 3.0 * (near * near * (here.1 - before.1) + far * far * (after.1 - here.1));
            let pivot = 2.0 * (near + far) - near * share[index - 1];
            share[index] = far / pivot;
            slopes[index] = (pull - near * slopes[index - 1]) / pivot;
        }
        for index in (1..count.saturating_sub(1)).rev() {
            slopes[index] -= share[index] * slopes[index + 1];
        }
        Self { knots, slopes }
    }

    /// Place, slope and second derivative at x.
    fn at(&self, x_m: f64) -> (f64, f64, f64) {
        let last = self.knots.len() - 1;
        if x_m <= self.knots[0].0 {
            return (self.knots[0].1, 0.0, 0.0);
        }
        if x_m >= self.knots[last].0 {
            return (self.knots[last].1, 0.0, 0.0);
        }
        let index = self.knots.partition_point(|knot| knot.0 <= x_m) - 1;
        let (one, two) = (self.knots[index], self.knots[index + 1]);
        let length = two.0 - one.0;
        let part = (x_m - one.0) / length;
        let rise = two.1 - one.1;
        let (start, end) = (
            self.slopes[index] * length - rise,
            rise - self.slopes[index + 1] * length,
        );
        let bow = start * (1.0 - part) + end * part;
        let y_m = one.1 + rise * part + part * (1.0 - part) * bow;
        let slope =
            (rise + (1.0 - 2.0 * part) * bow + part * (1.0 - part) * (end - start)) / length;
        let bend = 2.0 * ((1.0 - 2.0 * part) * (end - start) - bow) / (length * length);
        (y_m, slope, bend)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_closes_and_measures_its_own_radius() {
        let course = Course::circle(40.0);
        let last = course.points[course.points.len() - 1];
        assert!(libm::hypot(last.x_m, last.y_m) < 0.11);
        let place = course.locate(
            0.0,
            79.0,
            core::f64::consts::PI,
            &Place {
                distance_m: 125.0,
                ..Place::default()
            },
        );
        // The far point lies 80 m left of the start; a car one metre inside is left of a path that turns left.
        assert!((place.error_m - 1.0).abs() < 0.01, "{}", place.error_m);
    }

    #[test]
    fn a_line_through_knots_meets_them_and_bends_without_jumps() {
        let knots = [
            (10.0, 0.0),
            (22.0, 0.4),
            (35.0, 3.5),
            (50.0, 3.5),
            (70.0, -0.3),
        ];
        let course = Course::through(&knots, 90.0);
        for (x_m, y_m) in knots {
            let place = course.locate(
                x_m,
                y_m,
                0.0,
                &Place {
                    distance_m: x_m,
                    ..Place::default()
                },
            );
            // Half a spacing of the points at the steepest slope.
            assert!(place.error_m.abs() < 0.02, "{x_m}: {}", place.error_m);
        }
        // Inside the knots the curvature of a cubic spline has no jump: here under 0.1 1/m per m.
        let inside = |point: &&PathPoint| point.x_m > 10.2 && point.x_m < 69.8;
        let bends: Vec<&PathPoint> = course.points.iter().filter(inside).collect();
        assert!(
            bends
                .windows(2)
                .all(|pair| (pair[1].curvature_1_m - pair[0].curvature_1_m).abs() < 0.01)
        );
        // Spacing and heading agree with the points' own places.
        for pair in course.points.windows(2) {
            let (dx, dy) = (pair[1].x_m - pair[0].x_m, pair[1].y_m - pair[0].y_m);
            assert!((libm::hypot(dx, dy) - SPACING_M).abs() < 1e-4);
            assert!((libm::atan2(dy, dx) - pair[0].heading_rad).abs() < 0.02);
        }
    }

    #[test]
    fn a_mirrored_course_gives_the_mirrored_place() {
        let course = Course::exit(40.0, 60.0, 60.0, 100.0);
        let seen = course.clone().mirrored();
        let near = Place {
            distance_m: 50.0,
            ..Place::default()
        };
        let one = course.locate(35.0, 25.0, 1.2, &near);
        let other = seen.locate(35.0, -25.0, -1.2, &near);
        assert_eq!(one.error_m, -other.error_m);
        assert_eq!(one.heading_error_rad, -other.heading_error_rad);
        assert_eq!(one.distance_m, other.distance_m);
    }
}
