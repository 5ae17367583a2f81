//! The kinds of drive and their names in files and tables.

/// The manoeuvres the bench knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manoeuvre {
    /// Start from rest, one side of the road slippery, on a grade.
    SplitLaunch,
    /// Full power while the curvature of the road unwinds.
    PowerOnExit,
    /// Sudden steering input at constant speed, in the manner of ISO 7401.
    StepSteer,
    /// Accelerator released in a steady turn, in the manner of ISO 9816.
    LiftOff,
    /// Constant radius, slowly rising speed, in the manner of ISO 4138 method 1.
    ConstantRadius,
    /// The Skarn Pass: 3.7 km of an invented mountain road.
    SkarnPass,
    /// Steering pulse with a trailer, in the manner of ISO 9815.
    TrailerSway,
    /// Straight ahead with the steering wheel held still, at constant speed or under power.
    StraightAhead,
    /// Sine with dwell, by the procedure of UN R140.
    SineWithDwell,
    /// One period of a sine at the steering wheel at constant speed, in the manner of ISO 7401.
    OnePeriodSine,
    /// A short pulse at the steering wheel at constant speed, in the manner of ISO 7401.
    SteeringPulse,
    /// Sines of rising frequency, one after the other, at constant speed, in the manner of ISO 7401.
    ContinuousSine,
    /// A sine of evenly rising frequency at constant speed.
    FrequencySweep,
    /// Pseudo-random steering at constant speed, in the manner of ISO 7401.
    RandomSteering,
    /// Constant speed, steering angle raised in steps, in the manner of ISO 4138.
    ConstantSpeed,
    /// Constant steering angle, slowly rising speed, in the manner of ISO 4138.
    ConstantSteering,
    /// Brakes applied in a steady turn, in the manner of ISO 7975.
    BrakingInTurn,
    /// Double lane change between cones, ISO 3888-1, speed held.
    DoubleLaneChange,
    /// Obstacle avoidance between cones, ISO 3888-2, accelerator released.
    ObstacleAvoidance,
    /// Lane change on snow between cones, GB/T 30677-2014 A.2.
    SnowLaneChange,
    /// A slippery stretch in a turn at constant accelerator.
    FrictionStep,
    /// Full brake with one side of the road slippery.
    SplitBrake,
    /// Moving off and walking pace at full steering lock.
    Park,
    /// Straight ahead at constant speed.
    Cruise,
    /// Under power, then full brake or a request to let the axle go.
    Release,
    /// A slide held on a circle.
    SlideHold,
    /// A bend that closes.
    ClosingBend,
    /// Accelerator pressed out of overrun, straight ahead.
    TipIn,
    /// Launches on split friction again and again, a rest, two launches more.
    RepeatedLaunches,
    /// Short drive in which something goes wrong: straight or in a turn, at constant speed, under power, lifted or braked.
    Disturbance,
}

impl Manoeuvre {
    /// Every manoeuvre.
    pub const ALL: [Self; 30] = [
        Self::SplitLaunch,
        Self::PowerOnExit,
        Self::StepSteer,
        Self::LiftOff,
        Self::ConstantRadius,
        Self::SkarnPass,
        Self::TrailerSway,
        Self::StraightAhead,
        Self::SineWithDwell,
        Self::OnePeriodSine,
        Self::SteeringPulse,
        Self::ContinuousSine,
        Self::FrequencySweep,
        Self::RandomSteering,
        Self::ConstantSpeed,
        Self::ConstantSteering,
        Self::BrakingInTurn,
        Self::DoubleLaneChange,
        Self::ObstacleAvoidance,
        Self::SnowLaneChange,
        Self::FrictionStep,
        Self::SplitBrake,
        Self::Park,
        Self::Cruise,
        Self::Release,
        Self::SlideHold,
        Self::ClosingBend,
        Self::TipIn,
        Self::RepeatedLaunches,
        Self::Disturbance,
    ];

    /// The manoeuvre's name in files and tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::SplitLaunch => "split-launch",
            Self::PowerOnExit => "power-on-exit",
            Self::StepSteer => "step-steer",
            Self::LiftOff => "lift-off",
            Self::ConstantRadius => "constant-radius",
            Self::SkarnPass => "skarn-pass",
            Self::TrailerSway => "trailer-sway",
            Self::StraightAhead => "straight-ahead",
            Self::SineWithDwell => "sine-with-dwell",
            Self::OnePeriodSine => "one-period-sine",
            Self::SteeringPulse => "steering-pulse",
            Self::ContinuousSine => "continuous-sine",
            Self::FrequencySweep => "frequency-sweep",
            Self::RandomSteering => "random-steering",
            Self::ConstantSpeed => "constant-speed",
            Self::ConstantSteering => "constant-steering",
            Self::BrakingInTurn => "braking-in-turn",
            Self::DoubleLaneChange => "double-lane-change",
            Self::ObstacleAvoidance => "obstacle-avoidance",
            Self::SnowLaneChange => "snow-lane-change",
            Self::FrictionStep => "friction-step",
            Self::SplitBrake => "split-brake",
            Self::Park => "park",
            Self::Cruise => "cruise",
            Self::Release => "release",
            Self::SlideHold => "slide-hold",
            Self::ClosingBend => "closing-bend",
            Self::TipIn => "tip-in",
            Self::RepeatedLaunches => "repeated-launches",
            Self::Disturbance => "disturbance",
        }
    }

    /// The manoeuvre of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|manoeuvre| manoeuvre.name() == name)
    }
}
