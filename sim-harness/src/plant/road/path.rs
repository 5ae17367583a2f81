//! A road along a path: stretches of curvature, friction, grade and bank.
//!
//! Inputs: a table of [`Stretch`]; then places in the world. Outputs: distance along the road and offset from its centre,
//! friction, rolling resistance and rise there. Height is h = H(s) + b(s) e with distance s along the centre, offset e to
//! the left, centre height H and bank b. One metre of ground along the road at e is 1 - e k metres of s (curvature k), so
//! the rise along the road is (H' + b' e) / (1 - e k), steeper inside a hairpin, and b across it; gravity therefore works
//! exactly on the height. Lengths are measured on the ground, so H' is the sine of the slope.
//! Friction, grade and bank pass smoothly from stretch to stretch. Lookup: a grid gives a point near by, tangents lead
//! from there to the nearest. Limits: roads are told apart up to half the distance between them; the road must not cross
//! itself; beyond its ends it goes on as at the end.

/// Distance of two points, m.
pub const SPACING_M: f64 = 0.1;
/// Side of a cell of the grid, m.
const CELL_M: f64 = 4.0;
/// Ground around the road that the grid still knows, m.
const MARGIN_M: f64 = 24.0;
/// Length over which friction passes from one stretch to the next, m.
const FRICTION_PASSAGE_M: f64 = 3.0;
/// Half of the length over which grade and bank pass, m: two running means of this width.
const SLOPE_PASSAGE_M: f64 = 15.0;
/// Half width of the seam between left and right friction, m.
const SEAM_M: f64 = 0.1;
/// Least share of a metre of centre line in a metre of ground: keeps the centre of a tight bend finite.
const LEAST_SHARE: f64 = 0.2;

/// One line of a road's table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Name in words.
    pub name: &'static str,
    /// Length along the centre, m.
    pub length_m: f64,
    /// Curvature at its start, 1/m, positive to the left; it changes in a straight line over the stretch.
    pub curvature_start_1_m: f64,
    /// Curvature at its end, 1/m.
    pub curvature_end_1_m: f64,
    /// Friction coefficient left of the centre.
    pub friction_left: f64,
    /// Friction coefficient right of the centre.
    pub friction_right: f64,
    /// Grade, per cent (tangent), positive uphill.
    pub grade_percent: f64,
    /// Bank, per cent (tangent), positive when the left edge is higher.
    pub bank_percent: f64,
    /// Factor on rolling resistance: 1 on asphalt, more on loose ground.
    pub rolling_scale: f64,
}

/// One point of the centre of the road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoadPoint {
    /// Place, m.
    pub x_m: f64,
    /// Place, m.
    pub y_m: f64,
    /// Height of the centre, m.
    pub height_m: f64,
    /// Direction, rad, not wrapped.
    pub heading_rad: f64,
    /// Curvature, 1/m, positive to the left.
    pub curvature_1_m: f64,
    /// Friction coefficient left of the centre.
    pub friction_left: f64,
    /// Friction coefficient right of the centre.
    pub friction_right: f64,
    /// Rise along the centre per metre (a sine).
    pub rise: f64,
    /// Rise to the left per metre (a sine).
    pub bank: f64,
    /// Factor on rolling resistance.
    pub rolling_scale: f64,
    sine: f64,
    cosine: f64,
}

/// A place against the road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoadPlace {
    /// Distance along the centre, m, within the road.
    pub distance_m: f64,
    /// Offset from the centre, m, positive to the left.
    pub offset_m: f64,
}

/// A road.
#[derive(Debug, Clone, PartialEq)]
pub struct RoadPath {
    points: Vec<RoadPoint>,
    grid: Grid,
}

#[derive(Debug, Clone, PartialEq)]
struct Grid {
    x_m: f64,
    y_m: f64,
    columns: usize,
    rows: usize,
    near: Vec<u32>,
}

impl RoadPath {
    /// A road from its table, starting at the origin along x.
    ///
    /// # Panics
    /// If the table has less than one metre.
    pub fn new(table: &[Stretch]) -> Self {
        let length_m: f64 = table.iter().map(|stretch| stretch.length_m).sum();
        assert!(length_m >= 1.0, "a road needs a metre at least");
        let count = libm::floor(length_m / SPACING_M) as usize + 1;
        let mut places = Vec::with_capacity(count);
        for index in 0..count {
            places.push(at(table, index as f64 * SPACING_M));
        }
        let seen = |of: fn(&Stretch) -> f64, passage_m: f64, passes: usize| {
            let mut values: Vec<f64> = places.iter().map(|(stretch, _)| of(stretch)).collect();
            for _ in 0..passes {
                values = running_mean(&values, libm::round(passage_m / SPACING_M) as usize);
            }
            values
        };
        let left = seen(|s| s.friction_left, FRICTION_PASSAGE_M, 1);
        let right = seen(|s| s.friction_right, FRICTION_PASSAGE_M, 1);
        let rolling = seen(|s| s.rolling_scale, FRICTION_PASSAGE_M, 1);
        let rise = seen(|s| sine_of_percent(s.grade_percent), SLOPE_PASSAGE_M, 2);
        let bank = seen(|s| sine_of_percent(s.bank_percent), SLOPE_PASSAGE_M, 2);
        let mut points: Vec<RoadPoint> = Vec::with_capacity(count);
        let (mut x_m, mut y_m, mut height_m, mut heading_rad) = (0.0, 0.0, 0.0, 0.0);
        for (index, (_, curvature_1_m)) in places.iter().enumerate() {
            points.push(RoadPoint {
                x_m,
                y_m,
                height_m,
                heading_rad,
                curvature_1_m: *curvature_1_m,
                friction_left: left[index],
                friction_right: right[index],
                rise: rise[index],
                bank: bank[index],
                rolling_scale: rolling[index],
                sine: libm::sin(heading_rad),
                cosine: libm::cos(heading_rad),
            });
            let turned = at(table, (index as f64 + 0.5) * SPACING_M).1 * SPACING_M;
            let middle = heading_rad + 0.5 * turned;
            x_m += SPACING_M * libm::cos(middle);
            y_m += SPACING_M * libm::sin(middle);
            heading_rad += turned;
            let next = rise.get(index + 1).unwrap_or(&rise[index]);
            height_m += 0.5 * (rise[index] + next) * SPACING_M;
        }
        let grid = Grid::over(&points);
        Self { points, grid }
    }

    /// Points of the centre, one every [`SPACING_M`].
    pub fn points(&self) -> &[RoadPoint] {
        &self.points
    }

    /// Length, m.
    pub fn length_m(&self) -> f64 {
        (self.points.len() - 1) as f64 * SPACING_M
    }

    /// Nearest place of the road.
    pub fn locate(&self, x_m: f64, y_m: f64) -> RoadPlace {
        let last = self.points.len() - 1;
        let mut index = self.grid.near(x_m, y_m);
        let mut tries = 0;
        loop {
            let point = &self.points[index];
            let (dx, dy) = (x_m - point.x_m, y_m - point.y_m);
            let along = dx * point.cosine + dy * point.sine;
            let offset_m = dy * point.cosine - dx * point.sine;
            let ahead_m = along / share(offset_m, point.curvature_1_m);
            let points = libm::round(ahead_m / SPACING_M);
            let next = (index as f64 + points).clamp(0.0, last as f64) as usize;
            tries += 1;
            if next == index || tries > 12 {
                let distance_m = index as f64 * SPACING_M + ahead_m;
                return RoadPlace {
                    distance_m: distance_m.clamp(0.0, last as f64 * SPACING_M),
                    offset_m,
                };
            }
            index = next;
        }
    }

    /// Friction coefficient at a place, each side with its own factor.
    pub fn friction(&self, place: &RoadPlace, left_scale: f64, right_scale: f64) -> f64 {
        let left = left_scale * self.between(place.distance_m, |point| point.friction_left);
        let right = right_scale * self.between(place.distance_m, |point| point.friction_right);
        let share = (0.5 + 0.5 * place.offset_m / SEAM_M).clamp(0.0, 1.0);
        right + (left - right) * share
    }

    /// Factor on rolling resistance at a place.
    pub fn rolling_scale(&self, place: &RoadPlace) -> f64 {
        self.between(place.distance_m, |point| point.rolling_scale)
    }

    /// Height at a place, m above the start.
    pub fn height_m(&self, place: &RoadPlace) -> f64 {
        let centre = self.between(place.distance_m, |point| point.height_m);
        centre + place.offset_m * self.between(place.distance_m, |point| point.bank)
    }

    /// Rise along the world's axes at a place, per metre; `more` is added along the road.
    pub fn rise(&self, place: &RoadPlace, more: f64) -> (f64, f64) {
        let (index, part) = self.split(place.distance_m);
        let (one, two) = (&self.points[index], &self.points[index + 1]);
        let centre = one.rise + (two.rise - one.rise) * part + more;
        let bank = one.bank + (two.bank - one.bank) * part;
        let twist = (two.bank - one.bank) / SPACING_M;
        let curvature = one.curvature_1_m + (two.curvature_1_m - one.curvature_1_m) * part;
        let along = (centre + twist * place.offset_m) / share(place.offset_m, curvature);
        let heading = one.heading_rad + (two.heading_rad - one.heading_rad) * part;
        let (sine, cosine) = (libm::sin(heading), libm::cos(heading));
        (along * cosine - bank * sine, along * sine + bank * cosine)
    }

    fn between(&self, distance_m: f64, of: impl Fn(&RoadPoint) -> f64) -> f64 {
        let (index, part) = self.split(distance_m);
        let (one, two) = (of(&self.points[index]), of(&self.points[index + 1]));
        one + (two - one) * part
    }

    /// Point before a distance and the part of the way to the next.
    fn split(&self, distance_m: f64) -> (usize, f64) {
        let whole = (distance_m / SPACING_M).max(0.0);
        let index = (libm::floor(whole) as usize).min(self.points.len() - 2);
        (index, (whole - index as f64).clamp(0.0, 1.0))
    }
}

impl Grid {
    fn over(points: &[RoadPoint]) -> Self {
        let least = |of: fn(&RoadPoint) -> f64| points.iter().map(of).fold(f64::INFINITY, f64::min);
        let most =
            |of: fn(&RoadPoint) -> f64| points.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        let x_m = least(|p| p.x_m) - MARGIN_M;
        let y_m = least(|p| p.y_m) - MARGIN_M;
        let cells =
            |from: f64, to: f64| libm::ceil((to + MARGIN_M - from) / CELL_M).max(1.0) as usize;
        let (columns, rows) = (cells(x_m, most(|p| p.x_m)), cells(y_m, most(|p| p.y_m)));
        let mut grid = Self {
            x_m,
            y_m,
            columns,
            rows,
            near: vec![u32::MAX; columns * rows],
        };
        let mut best = vec![f64::INFINITY; columns * rows];
        let reach = libm::ceil(MARGIN_M / CELL_M) as usize;
        let every = (0.25 * CELL_M / SPACING_M) as usize;
        for (index, point) in points.iter().enumerate().step_by(every.max(1)) {
            let (column, row) = grid.cell(point.x_m, point.y_m);
            for row in row.saturating_sub(reach)..(row + reach + 1).min(rows) {
                for column in column.saturating_sub(reach)..(column + reach + 1).min(columns) {
                    let dx = grid.x_m + (column as f64 + 0.5) * CELL_M - point.x_m;
                    let dy = grid.y_m + (row as f64 + 0.5) * CELL_M - point.y_m;
                    let (cell, squared) = (row * columns + column, dx * dx + dy * dy);
                    if squared < best[cell] {
                        best[cell] = squared;
                        grid.near[cell] = index as u32;
                    }
                }
            }
        }
        grid
    }

    fn cell(&self, x_m: f64, y_m: f64) -> (usize, usize) {
        let whole = |from_start: f64, count: usize| {
            libm::floor(from_start / CELL_M).clamp(0.0, (count - 1) as f64) as usize
        };
        (
            whole(x_m - self.x_m, self.columns),
            whole(y_m - self.y_m, self.rows),
        )
    }

    /// A point near a place; the start for ground that lies far from all of the road.
    fn near(&self, x_m: f64, y_m: f64) -> usize {
        let (column, row) = self.cell(x_m, y_m);
        match self.near[row * self.columns + column] {
            u32::MAX => 0,
            index => index as usize,
        }
    }
}

/// Metres of centre line in a metre of ground at an offset, bounded below.
fn share(offset_m: f64, curvature_1_m: f64) -> f64 {
    (1.0 - offset_m * curvature_1_m).max(LEAST_SHARE)
}

fn sine_of_percent(percent: f64) -> f64 {
    let tangent = percent / 100.0;
    tangent / libm::sqrt(1.0 + tangent * tangent)
}

/// Stretch and curvature at a distance.
fn at(table: &[Stretch], distance_m: f64) -> (&Stretch, f64) {
    let mut start_m = 0.0;
    let mut last = &table[0];
    for stretch in table {
        last = stretch;
        if distance_m < start_m + stretch.length_m {
            break;
        }
        start_m += stretch.length_m;
    }
    let part = ((distance_m - start_m) / last.length_m).clamp(0.0, 1.0);
    let change = last.curvature_end_1_m - last.curvature_start_1_m;
    (last, last.curvature_start_1_m + change * part)
}

/// Mean over `width` values around each, the ends going on.
fn running_mean(values: &[f64], width: usize) -> Vec<f64> {
    let half = width / 2;
    let count = values.len();
    let value = |index: isize| values[index.clamp(0, count as isize - 1) as usize];
    (0..count)
        .map(|index| {
            let centre = index as isize;
            let sum: f64 = (-(half as isize)..=half as isize)
                .map(|step| value(centre + step))
                .sum();
            sum / (2 * half + 1) as f64
        })
        .collect()
}
