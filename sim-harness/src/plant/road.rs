//! The road: friction under each wheel and a grade along the world's x axis.
//!
//! Inputs: a place in the world. Outputs: friction coefficient (peak of a tyre at its nominal load) and slope. Limits: the
//! plane is even, the grade is constant, friction does not depend on speed.

/// How friction is laid out over the plane.
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
}

/// An even road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Road {
    /// Layout of friction.
    pub surface: Surface,
    /// Tangent of the slope, positive uphill towards +x of the world: gravity then pulls along -x.
    pub grade_slope: f64,
}

impl Road {
    /// A level road of one friction coefficient.
    pub fn level(friction: f64) -> Self {
        Self {
            surface: Surface::Uniform { friction },
            grade_slope: 0.0,
        }
    }

    /// Friction coefficient at a place; on the border of a split road, the mean of both halves.
    pub fn friction_at(&self, _x_m: f64, y_m: f64) -> f64 {
        match self.surface {
            Surface::Uniform { friction } => friction,
            Surface::Split {
                left_friction,
                right_friction,
            } => {
                if y_m > 0.0 {
                    left_friction
                } else if y_m < 0.0 {
                    right_friction
                } else {
                    0.5 * (left_friction + right_friction)
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
        };
        Self {
            surface,
            grade_slope: self.grade_slope,
        }
    }

    /// Sine and cosine of the slope angle.
    pub fn slope_sine_cosine(&self) -> (f64, f64) {
        let cosine = 1.0 / libm::sqrt(1.0 + self.grade_slope * self.grade_slope);
        (self.grade_slope * cosine, cosine)
    }
}
