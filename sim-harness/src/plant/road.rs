//! The road: friction under each wheel, and which way is up.
//!
//! Inputs: a place in the world. Outputs: friction coefficient (peak of a tyre at its nominal load), rolling resistance of
//! the ground, and rise of the ground along the world's axes. A plane has one grade along the world's x axis and one bank
//! across it; a road along a path has stretches (see [`path`]). Limits: friction does not depend on speed; the ground has no bumps, and a
//! car does not feel that a crest or a hollow presses it down or lifts it.

pub mod path;

pub use path::{RoadPath, RoadPlace, Stretch};

/// How friction is laid out over the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// The same everywhere.
    Uniform {
        /// Friction coefficient, 0 or more.
        friction: f64,
    },
    /// Two halves with the border along y = 0.
    Split {
        /// Friction coefficient for y > 0.
        left_friction: f64,
        /// Friction coefficient for y < 0.
        right_friction: f64,
    },
    /// Stretches along a path, with their own grade and bank.
    Along {
        /// The road. It is only borrowed, so that a [`Road`] stays a plain value: a road of one's own lives in a
        /// `OnceLock` or is leaked once.
        path: &'static RoadPath,
        /// Factor on the friction left of the path's centre as the path was written.
        left_scale: f64,
        /// Factor on the friction right of it.
        right_scale: f64,
        /// Whether the road is seen in a mirror along the world's x axis.
        mirrored: bool,
    },
}

/// A road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Road {
    /// Layout of friction.
    pub surface: Surface,
    /// Tangent of the slope, positive uphill: towards +x of the world on a plane, where gravity then pulls along -x; along
    /// a path it is added to the path's own grade.
    pub grade_slope: f64,
    /// Tangent of the bank of a plane, positive where the road rises towards +y of the world and falls to the right of a car
    /// driving along +x: gravity then pulls along -y. A road along a path has its own bank and does not use this one.
    pub bank_slope: f64,
}

/// How the ground rises at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rise {
    /// Height gained per metre of ground along the world's x axis (a sine).
    pub x: f64,
    /// The same along the world's y axis.
    pub y: f64,
    /// Cosine of the steepest slope: share of the weight that presses on the ground.
    pub cosine: f64,
}

impl Rise {
    /// What a weight pulls along and across a body whose heading has this sine and cosine, in the unit of the weight.
    pub fn pull(&self, weight: f64, (sine, cosine): (f64, f64)) -> (f64, f64) {
        let (x, y) = (weight * self.x, weight * self.y);
        (-(x * cosine + y * sine), x * sine - y * cosine)
    }
}

impl Road {
    /// A level road of one friction coefficient.
    pub fn level(friction: f64) -> Self {
        Self {
            surface: Surface::Uniform { friction },
            grade_slope: 0.0,
            bank_slope: 0.0,
        }
    }

    /// A road along a path, as it was written.
    pub fn along(path: &'static RoadPath) -> Self {
        Self {
            surface: Surface::Along {
                path,
                left_scale: 1.0,
                right_scale: 1.0,
                mirrored: false,
            },
            grade_slope: 0.0,
            bank_slope: 0.0,
        }
    }

    /// Friction coefficient at a place; on the border of a split road, the mean of both halves.
    pub fn friction_at(&self, x_m: f64, y_m: f64) -> f64 {
        self.ground_at(x_m, y_m).0
    }

    /// Friction coefficient at a place and factor of the ground on rolling resistance (1 on asphalt).
    pub fn ground_at(&self, x_m: f64, y_m: f64) -> (f64, f64) {
        match self.surface {
            Surface::Uniform { friction } => (friction, 1.0),
            Surface::Split {
                left_friction,
                right_friction,
            } => {
                let friction = if y_m > 0.0 {
                    left_friction
                } else if y_m < 0.0 {
                    right_friction
                } else {
                    0.5 * (left_friction + right_friction)
                };
                (friction, 1.0)
            }
            Surface::Along {
                path,
                left_scale,
                right_scale,
                mirrored,
            } => {
                let place = path.locate(x_m, if mirrored { -y_m } else { y_m });
                (
                    path.friction(&place, left_scale, right_scale),
                    path.rolling_scale(&place),
                )
            }
        }
    }

    /// The same where `place_m` says; a road that is everywhere alike does not ask.
    pub fn ground_under(&self, place_m: impl FnOnce() -> (f64, f64)) -> (f64, f64) {
        if let Surface::Uniform { friction } = self.surface {
            return (friction, 1.0);
        }
        let (x_m, y_m) = place_m();
        self.ground_at(x_m, y_m)
    }

    /// How a plane rises; nothing for a road that rises differently from place to place.
    pub fn even_rise(&self) -> Option<Rise> {
        match self.surface {
            Surface::Along { .. } => None,
            Surface::Uniform { .. } | Surface::Split { .. } => Some(self.rise_at((0.0, 0.0))),
        }
    }

    /// How the ground rises at a place.
    pub fn rise_at(&self, (x_m, y_m): (f64, f64)) -> Rise {
        match self.surface {
            Surface::Uniform { .. } | Surface::Split { .. } => {
                let (x, cosine) = self.slope_sine_cosine();
                if self.bank_slope == 0.0 {
                    return Rise { x, y: 0.0, cosine };
                }
                let bank = self.bank_slope;
                let y = bank / libm::sqrt(1.0 + bank * bank);
                Rise {
                    x,
                    y,
                    cosine: libm::sqrt((1.0 - (x * x + y * y)).max(0.0)),
                }
            }
            Surface::Along { path, mirrored, .. } => {
                let place = path.locate(x_m, if mirrored { -y_m } else { y_m });
                let (x, y) = path.rise(&place, self.slope_sine_cosine().0);
                Rise {
                    x,
                    y: if mirrored { -y } else { y },
                    cosine: libm::sqrt((1.0 - (x * x + y * y)).max(0.0)),
                }
            }
        }
    }

    /// The road as seen in a mirror along the x axis.
    pub fn mirrored(&self) -> Self {
        let surface = match self.surface {
            Surface::Uniform { friction } => Surface::Uniform { friction },
            Surface::Split {
                left_friction,
                right_friction,
            } => Surface::Split {
                left_friction: right_friction,
                right_friction: left_friction,
            },
            Surface::Along {
                path,
                left_scale,
                right_scale,
                mirrored,
            } => Surface::Along {
                path,
                left_scale,
                right_scale,
                mirrored: !mirrored,
            },
        };
        Self {
            surface,
            grade_slope: self.grade_slope,
            // Not the negative, which would make a level road's zero a minus zero.
            bank_slope: 0.0 - self.bank_slope,
        }
    }

    /// Sine and cosine of the slope angle.
    pub fn slope_sine_cosine(&self) -> (f64, f64) {
        let cosine = 1.0 / libm::sqrt(1.0 + self.grade_slope * self.grade_slope);
        (self.grade_slope * cosine, cosine)
    }
}
