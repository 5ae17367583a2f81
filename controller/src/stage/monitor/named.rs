//! Faults by name and sets of them.
//!
//! A fault's number is its bit in the outputs and its place in a fault memory; numbers never change their meaning.

/// A named fault; its number is its bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Fault {
    /// Front left wheel speed lost.
    WheelSpeedFrontLeft = 0,
    /// Front right wheel speed lost.
    WheelSpeedFrontRight = 1,
    /// Rear left wheel speed lost.
    WheelSpeedRearLeft = 2,
    /// Rear right wheel speed lost.
    WheelSpeedRearRight = 3,
    /// Yaw rate lost.
    YawRate = 4,
    /// Yaw rate contradicts wheel speeds.
    YawRateImplausible = 5,
    /// Steering angle lost.
    Steering = 6,
    /// An acceleration lost.
    Acceleration = 7,
    /// Pedal or powertrain torque lost.
    DriverTorque = 8,
    /// The master controller's order channel lost.
    Master = 9,
    /// The second channel opened and latched.
    SecondChannel = 10,
    /// Left clutch: more pressure than commanded.
    ClutchPressureHighLeft = 11,
    /// Right clutch: more pressure than commanded.
    ClutchPressureHighRight = 12,
    /// Left clutch does not open on command.
    ClutchStuckClosedLeft = 13,
    /// Right clutch does not open on command.
    ClutchStuckClosedRight = 14,
    /// Left clutch: less pressure than commanded, as with a leak.
    ClutchLeakLeft = 15,
    /// Right clutch: less pressure than commanded, as with a leak.
    ClutchLeakRight = 16,
    /// Left clutch: no pressure comes.
    ClutchStuckOpenLeft = 17,
    /// Right clutch: no pressure comes.
    ClutchStuckOpenRight = 18,
    /// Left pressure sensor lost after it was heard.
    ClutchSensorLeft = 19,
    /// Right pressure sensor lost after it was heard.
    ClutchSensorRight = 20,
    /// Front left wheel speed contradicts the other three, or is stuck.
    WheelSpeedFrontLeftImplausible = 21,
    /// Front right wheel speed, the same.
    WheelSpeedFrontRightImplausible = 22,
    /// Rear left wheel speed, the same.
    WheelSpeedRearLeftImplausible = 23,
    /// Rear right wheel speed, the same.
    WheelSpeedRearRightImplausible = 24,
    /// Lateral acceleration contradicts yaw rate and wheels, or is stuck.
    AccelerationImplausible = 25,
    /// The wheels are steered far and the car does not turn.
    SteeringImplausible = 26,
    /// The powertrain gives more than it was asked for.
    DriverTorqueImplausible = 27,
    /// Left clutch: the touch point is learned to the end of what is believable. Takes nothing away.
    ClutchTouchPointLeft = 28,
    /// Right clutch, the same.
    ClutchTouchPointRight = 29,
}

/// Number of named faults.
pub const FAULTS: usize = 30;

impl Fault {
    /// Every fault.
    pub const ALL: [Self; FAULTS] = [
        Self::WheelSpeedFrontLeft,
        Self::WheelSpeedFrontRight,
        Self::WheelSpeedRearLeft,
        Self::WheelSpeedRearRight,
        Self::YawRate,
        Self::YawRateImplausible,
        Self::Steering,
        Self::Acceleration,
        Self::DriverTorque,
        Self::Master,
        Self::SecondChannel,
        Self::ClutchPressureHighLeft,
        Self::ClutchPressureHighRight,
        Self::ClutchStuckClosedLeft,
        Self::ClutchStuckClosedRight,
        Self::ClutchLeakLeft,
        Self::ClutchLeakRight,
        Self::ClutchStuckOpenLeft,
        Self::ClutchStuckOpenRight,
        Self::ClutchSensorLeft,
        Self::ClutchSensorRight,
        Self::WheelSpeedFrontLeftImplausible,
        Self::WheelSpeedFrontRightImplausible,
        Self::WheelSpeedRearLeftImplausible,
        Self::WheelSpeedRearRightImplausible,
        Self::AccelerationImplausible,
        Self::SteeringImplausible,
        Self::DriverTorqueImplausible,
        Self::ClutchTouchPointLeft,
        Self::ClutchTouchPointRight,
    ];

    /// Faults of the left wheel speeds: front lost, rear lost, front not believed, rear not believed.
    pub const WHEEL_LEFT: [Self; 4] = [
        Self::WheelSpeedFrontLeft,
        Self::WheelSpeedRearLeft,
        Self::WheelSpeedFrontLeftImplausible,
        Self::WheelSpeedRearLeftImplausible,
    ];

    /// The same of the right ones.
    pub const WHEEL_RIGHT: [Self; 4] = [
        Self::WheelSpeedFrontRight,
        Self::WheelSpeedRearRight,
        Self::WheelSpeedFrontRightImplausible,
        Self::WheelSpeedRearRightImplausible,
    ];

    /// Faults of the left clutch: pressure high, stuck closed, leak, stuck open, sensor lost.
    pub const CLUTCH_LEFT: [Self; 5] = [
        Self::ClutchPressureHighLeft,
        Self::ClutchStuckClosedLeft,
        Self::ClutchLeakLeft,
        Self::ClutchStuckOpenLeft,
        Self::ClutchSensorLeft,
    ];

    /// The same of the right one.
    pub const CLUTCH_RIGHT: [Self; 5] = [
        Self::ClutchPressureHighRight,
        Self::ClutchStuckClosedRight,
        Self::ClutchLeakRight,
        Self::ClutchStuckOpenRight,
        Self::ClutchSensorRight,
    ];
}

/// A set of faults as bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FaultSet(pub u32);

impl FaultSet {
    /// Adds `fault` if `present`.
    #[must_use]
    pub fn with(self, fault: Fault, present: bool) -> Self {
        if present {
            Self(self.0 | (1 << fault as u8))
        } else {
            self
        }
    }

    /// What is in one of both.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether `fault` is in the set.
    pub fn holds(self, fault: Fault) -> bool {
        self.0 & (1 << fault as u8) != 0
    }

    /// The faults by name, in order of their number.
    pub fn list(self) -> heapless::Vec<Fault, FAULTS> {
        Fault::ALL
            .into_iter()
            .filter(|fault| self.holds(*fault))
            .collect()
    }
}
