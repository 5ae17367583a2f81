//! Missions: what a car does in its life, in numbers, driven at event level.
//!
//! In: a [`Mission`] (how often each [`Event`] happens in a drive, how long drives and rests are, what the air does), the controller's page, the
//! course of every event as the closed loop drove it once ([`course`]). Out: [`life::Life`]: the controller's own ledger and counters at the
//! end. All missions are invented; nothing was recorded. Limits: a drive is events with cruising and standing between, in drawn order; the
//! law's answer to an event is that of the nominal car, warm, on its demo road.

pub mod axle;
pub mod course;
pub mod exact;
pub mod life;
pub mod plan;

crate::described! {
    /// What a car does in its life; numbers per drive are means over many drives.
    pub struct Mission {
        /// The whole life.
        whole: WholeNumbers {
            /// Time the car is awake.
            time_h [h] 1.0 .. 25000.0 = 6000.0,
            /// Way driven in that time.
            way_km [km] 10.0 .. 1000000.0 = 240000.0,
            /// Seed of the drawn order and lengths.
            seed [-] 0.0 .. 1000000.0 = 1.0,
        },
        /// One drive.
        drive: DriveNumbers {
            /// Drives a day; the car rests between them, longest at night.
            per_day [-] 1.0 .. 20.0 = 3.0,
            /// Mean time of a drive.
            time_min [min] 2.0 .. 600.0 = 30.0,
            /// How far a drive's time and events may lie off their mean, evenly drawn.
            spread [-] 0.0 .. 0.9 = 0.5,
            /// Speed of the way between events.
            cruise_km_h ["km/h"] 20.0 .. 200.0 = 60.0,
        },
        /// How often things happen in a mean drive.
        often: OftenNumbers {
            /// Starts from rest on a dry level road.
            launch [-] 0.0 .. 500.0 = 10.0,
            /// Starts up 8 % on packed snow.
            launch_snow [-] 0.0 .. 500.0 = 0.0,
            /// Starts up 10 % with one side on ice.
            launch_split [-] 0.0 .. 500.0 = 0.0,
            /// Starts up 8 % with a trailer of 1500 kg on a wet road.
            launch_trailer [-] 0.0 .. 500.0 = 0.0,
            /// Exits from a bend of 40 m radius under full power, dry.
            exit_dry [-] 0.0 .. 500.0 = 0.5,
            /// The same, wet.
            exit_wet [-] 0.0 .. 500.0 = 0.1,
            /// Drives over the Skarn Pass, an invented mountain road, dry.
            pass [-] 0.0 .. 100.0 = 0.0,
            /// The same on a slippery day.
            pass_slippery [-] 0.0 .. 100.0 = 0.0,
        },
        /// Which side bears more.
        sides: SidesNumbers {
            /// Share of events driven as recorded, the others as their mirror image.
            as_recorded [-] 0.0 .. 1.0 = 0.5,
        },
        /// Air.
        air: AirNumbers {
            /// Mean of the year.
            mean_degc [degC] -30.0 .. 40.0 = 9.0,
            /// How far summer lies above it.
            season_k [K] 0.0 .. 30.0 = 9.0,
            /// How far the afternoon lies above the day's mean.
            day_k [K] 0.0 .. 15.0 = 5.0,
        },
    }
}

/// Something that happens in a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Event {
    /// Start from rest, dry and level.
    Launch,
    /// Start up 8 % on packed snow.
    LaunchSnow,
    /// Start up 10 %, one side on ice.
    LaunchSplit,
    /// Start up 8 % with a trailer, wet.
    LaunchTrailer,
    /// Power-on exit, dry.
    ExitDry,
    /// Power-on exit, wet.
    ExitWet,
    /// The Skarn Pass, dry.
    Pass,
    /// The Skarn Pass on a slippery day.
    PassSlippery,
}

impl Event {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Launch,
        Self::LaunchSnow,
        Self::LaunchSplit,
        Self::LaunchTrailer,
        Self::ExitDry,
        Self::ExitWet,
        Self::Pass,
        Self::PassSlippery,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Launch => "launch, dry",
            Self::LaunchSnow => "launch, snow, 8 %",
            Self::LaunchSplit => "launch, one side ice, 10 %",
            Self::LaunchTrailer => "launch, trailer, 8 %",
            Self::ExitDry => "exit, dry",
            Self::ExitWet => "exit, wet",
            Self::Pass => "Skarn Pass, dry",
            Self::PassSlippery => "Skarn Pass, slippery",
        }
    }

    /// How often it happens in a mean drive.
    pub fn often(self, mission: &Mission) -> f64 {
        let often = &mission.often;
        match self {
            Self::Launch => often.launch,
            Self::LaunchSnow => often.launch_snow,
            Self::LaunchSplit => often.launch_split,
            Self::LaunchTrailer => often.launch_trailer,
            Self::ExitDry => often.exit_dry,
            Self::ExitWet => often.exit_wet,
            Self::Pass => often.pass,
            Self::PassSlippery => often.pass_slippery,
        }
    }
}
