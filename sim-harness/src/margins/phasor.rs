//! Complex numbers as far as frequency responses need them.

/// A complex number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Phasor {
    /// Real part.
    pub real: f64,
    /// Imaginary part.
    pub imaginary: f64,
}

impl Phasor {
    /// From both parts.
    pub fn new(real: f64, imaginary: f64) -> Self {
        Self { real, imaginary }
    }

    /// Of size 1 at an angle, rad.
    pub fn turned(angle_rad: f64) -> Self {
        let (sine, cosine) = libm::sincos(angle_rad);
        Self::new(cosine, sine)
    }

    /// Times a real number.
    pub fn scaled(self, factor: f64) -> Self {
        Self::new(self.real * factor, self.imaginary * factor)
    }

    /// Sum.
    pub fn plus(self, other: Self) -> Self {
        Self::new(self.real + other.real, self.imaginary + other.imaginary)
    }

    /// Product.
    pub fn times(self, other: Self) -> Self {
        Self::new(
            self.real * other.real - self.imaginary * other.imaginary,
            self.real * other.imaginary + self.imaginary * other.real,
        )
    }

    /// Quotient.
    pub fn over(self, other: Self) -> Self {
        let square = other.real * other.real + other.imaginary * other.imaginary;
        self.times(Self::new(other.real, -other.imaginary))
            .scaled(1.0 / square)
    }

    /// Size.
    pub fn size(self) -> f64 {
        libm::hypot(self.real, self.imaginary)
    }

    /// Angle, rad.
    pub fn angle(self) -> f64 {
        libm::atan2(self.imaginary, self.real)
    }
}
