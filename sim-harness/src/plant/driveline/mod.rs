//! Wheel spins, front differential, shaft, clutches and brakes over one step.
//!
//! Inputs: wheel speeds at the start, moments of the tyres, carrier torque, capacities. Outputs: wheel speeds at the end,
//! clutch and brake torques, clutch slip at start and end.
//! Carrier speed is the mean of the front wheels, each front wheel gets half of what is left of the carrier torque, but for
//! what a limited-slip differential moves between them (see [`front_lock`]); powertrain inertia sits on the carrier. The shaft turns (1 + overspeed) times the carrier,
//! so the carrier loses (1 + overspeed)(T_left + T_right). Clutch torques are those that fit the slip at the END of the
//! step (see [`pair`]): an explicit sign chatters and a smoothed one creeps. Mean slip over the step times torque is the
//! heat; where a slip reverses so fast that it would be negative, that clutch passes nothing in that step.
//! Limits: shafts are rigid; brakes are solved with the clutch torques of the stage before, so a rear brake that holds
//! against a clutch settles over a few steps.

pub mod front_lock;
pub mod pair;

use super::quantity::{PerSide, PerWheel};
use super::vehicle::Vehicle;
use front_lock::{FrontLock, FrontLockStep};

/// What joins the rear wheels to the front differential's carrier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AxleLayout {
    /// Nothing: front drive only.
    FrontDrive,
    /// Front drive with a mechanical limited-slip differential in front.
    FrontLimitedSlip,
    /// Front drive whose wheel brakes make yaw moment and traction; hardware as front drive.
    BrakeVectoring,
    /// One coupling, then an open rear differential.
    SingleCoupling,
    /// One clutch per rear wheel, no rear differential.
    PairedClutches,
}

/// Slip below which a clutch counts as stuck at the start of a step: rounding must not read as reversal, rad/s.
const STUCK_RAD_S: f64 = 1e-9;
/// Speed over which the drag of the rear take-off fades out, rad/s.
const DRAG_FADE_RAD_S: f64 = 1.0;

/// Inertias and ratios of the driveline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Driveline {
    layout: AxleLayout,
    /// Shaft speed over carrier speed.
    ratio: f64,
    wheel_inertia_kg_m2: f64,
    carrier_inertia_kg_m2: f64,
    drag_nm: f64,
    front_lock: Option<FrontLock>,
}

/// What acts on the driveline during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrivelineLoad {
    /// Moments of tyres and rolling resistance on the wheels, N m, positive speeding up.
    pub wheel_moment_nm: PerWheel<f64>,
    /// Torque of the powertrain at the carrier, N m.
    pub carrier_torque_nm: f64,
    /// Brake capacity per wheel, N m, 0 or more.
    pub brake_capacity_nm: PerWheel<f64>,
    /// Clutch capacity per side, N m, 0 or more.
    pub clutch_capacity_nm: PerSide<f64>,
    /// Clutch torques of the stage before, N m.
    pub clutch_torque_before_nm: PerSide<f64>,
    /// Torque that the front differential moved to the right wheel in the stage before, N m.
    pub front_lock_before_nm: f64,
}

/// What a step did to the driveline.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DrivelineStep {
    /// Wheel speeds at the end, rad/s.
    pub wheel_rad_s: PerWheel<f64>,
    /// Torque of the clutches on the rear wheels, N m.
    pub clutch_torque_nm: PerSide<f64>,
    /// Torque of the brakes, N m, positive against forward rolling.
    pub brake_torque_nm: PerWheel<f64>,
    /// Drag of the rear take-off at the carrier, N m, positive against forward rolling.
    pub drag_torque_nm: f64,
    /// Clutch slip at the start, rad/s.
    pub slip_start_rad_s: PerSide<f64>,
    /// Clutch slip at the end, rad/s.
    pub slip_end_rad_s: PerSide<f64>,
    /// Power dissipated per clutch, W, 0 or more.
    pub clutch_heat_w: PerSide<f64>,
    /// What a limited-slip front differential did; nothing in a car without one.
    pub front_lock: FrontLockStep,
}

impl AxleLayout {
    /// Every layout, from nothing to two clutches.
    pub const ALL: [Self; 5] = [
        Self::FrontDrive,
        Self::FrontLimitedSlip,
        Self::BrakeVectoring,
        Self::SingleCoupling,
        Self::PairedClutches,
    ];

    /// Whether anything drives the rear wheels.
    pub fn drives_rear(self) -> bool {
        matches!(self, Self::SingleCoupling | Self::PairedClutches)
    }
}

impl DrivelineStep {
    /// The step in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            wheel_rad_s: self.wheel_rad_s.mirrored(),
            clutch_torque_nm: self.clutch_torque_nm.mirrored(),
            brake_torque_nm: self.brake_torque_nm.mirrored(),
            drag_torque_nm: self.drag_torque_nm,
            slip_start_rad_s: self.slip_start_rad_s.mirrored(),
            slip_end_rad_s: self.slip_end_rad_s.mirrored(),
            clutch_heat_w: self.clutch_heat_w.mirrored(),
            front_lock: self.front_lock.mirrored(),
        }
    }
}

impl Driveline {
    /// From the vehicle file.
    pub fn new(vehicle: &Vehicle, layout: AxleLayout) -> Self {
        let overspeed = match layout {
            AxleLayout::SingleCoupling => vehicle.driveline.single_coupling_overspeed,
            _ => vehicle.driveline.overspeed,
        };
        Self {
            layout,
            ratio: 1.0 + overspeed,
            wheel_inertia_kg_m2: vehicle.body.wheel_inertia_kg_m2,
            carrier_inertia_kg_m2: vehicle.powertrain.inertia_kg_m2,
            drag_nm: if layout.drives_rear() {
                vehicle.driveline.drag_nm
            } else {
                0.0
            },
            front_lock: (layout == AxleLayout::FrontLimitedSlip)
                .then(|| FrontLock::from(&vehicle.front_differential)),
        }
    }

    /// Speed of the rear shaft at wheel level, rad/s.
    pub fn shaft_rad_s(&self, wheel_rad_s: PerWheel<f64>) -> f64 {
        self.ratio * carrier_rad_s(wheel_rad_s)
    }

    /// Slip per clutch, rad/s, positive where the shaft is faster; a single coupling shows its slip on both sides.
    pub fn slip_rad_s(&self, wheel_rad_s: PerWheel<f64>) -> PerSide<f64> {
        let shaft_rad_s = self.shaft_rad_s(wheel_rad_s);
        match self.layout {
            AxleLayout::SingleCoupling => {
                PerSide::both(shaft_rad_s - 0.5 * wheel_rad_s.rear().sum())
            }
            _ => wheel_rad_s.rear().map(|wheel| shaft_rad_s - wheel),
        }
    }

    /// Kinetic energy of wheels and carrier, J.
    pub fn kinetic_energy_j(&self, wheel_rad_s: PerWheel<f64>) -> f64 {
        let carrier = carrier_rad_s(wheel_rad_s);
        0.5 * self.wheel_inertia_kg_m2 * wheel_rad_s.map(|speed| speed * speed).sum()
            + 0.5 * self.carrier_inertia_kg_m2 * carrier * carrier
    }

    /// Advances the wheels from `start` by `step_s`; `drag_at` are the speeds at which the drag is taken.
    pub fn advance(
        &self,
        start: PerWheel<f64>,
        drag_at: PerWheel<f64>,
        load: &DrivelineLoad,
        step_s: f64,
    ) -> DrivelineStep {
        let carrier = carrier_rad_s(drag_at);
        let drag_torque_nm = self.drag_nm * carrier
            / libm::sqrt(carrier * carrier + DRAG_FADE_RAD_S * DRAG_FADE_RAD_S);
        let carrier_torque_nm = load.carrier_torque_nm - drag_torque_nm;
        let brake_torque_nm = self.brakes(start, carrier_torque_nm, load, step_s);
        let moment_nm = load
            .wheel_moment_nm
            .pair(brake_torque_nm)
            .map(|(moment, brake)| moment - brake);
        let free = self.accelerate(
            start,
            moment_nm,
            carrier_torque_nm,
            PerSide::both(0.0),
            0.0,
            step_s,
        );
        let front_lock = self.front_lock.map_or(FrontLockStep::default(), |lock| {
            lock.step(
                start.front(),
                free.front(),
                carrier_torque_nm,
                self.wheel_inertia_kg_m2,
                step_s,
            )
        });
        let accelerate = |torque_nm| {
            self.accelerate(
                start,
                moment_nm,
                carrier_torque_nm,
                torque_nm,
                front_lock.torque_nm,
                step_s,
            )
        };
        let slip_start_rad_s = self.slip_rad_s(start);
        let solve = |capacity_nm| self.clutches(free, capacity_nm, step_s);
        let mut capacity_nm = load.clutch_capacity_nm;
        let mut torque_nm = solve(capacity_nm);
        let mut wheel_rad_s = accelerate(torque_nm);
        // At most two rounds: each takes at least one clutch out.
        for _ in 0..2 {
            let slip_end_rad_s = self.slip_rad_s(wheel_rad_s);
            let reversed = torque_nm.pair(slip_start_rad_s.pair(slip_end_rad_s)).map(
                |(torque, (before, after))| {
                    before.abs() > STUCK_RAD_S && torque * (before + after) < 0.0
                },
            );
            if !(reversed.left || reversed.right) {
                break;
            }
            capacity_nm = capacity_nm
                .pair(reversed)
                .map(|(capacity, reversed)| if reversed { 0.0 } else { capacity });
            torque_nm = solve(capacity_nm);
            wheel_rad_s = accelerate(torque_nm);
        }
        let slip_end_rad_s = self.slip_rad_s(wheel_rad_s);
        let clutch_heat_w = torque_nm
            .pair(slip_start_rad_s.pair(slip_end_rad_s))
            .map(|(torque, (before, after))| (0.5 * torque * (before + after)).max(0.0));
        DrivelineStep {
            wheel_rad_s,
            clutch_torque_nm: torque_nm,
            brake_torque_nm,
            drag_torque_nm,
            slip_start_rad_s,
            slip_end_rad_s,
            clutch_heat_w,
            front_lock,
        }
    }

    fn accelerate(
        &self,
        start: PerWheel<f64>,
        moment_nm: PerWheel<f64>,
        carrier_torque_nm: f64,
        clutch_torque_nm: PerSide<f64>,
        front_lock_nm: f64,
        step_s: f64,
    ) -> PerWheel<f64> {
        let left_over_nm = carrier_torque_nm - self.ratio * clutch_torque_nm.sum();
        let front_moment = moment_nm.front();
        // Sum and difference of the front wheels decouple: the carrier moves with the sum only.
        let sum = (left_over_nm + front_moment.sum())
            / (self.wheel_inertia_kg_m2 + 0.5 * self.carrier_inertia_kg_m2);
        let difference = (front_moment.left - front_moment.right - 2.0 * front_lock_nm)
            / self.wheel_inertia_kg_m2;
        let front = start.front();
        let rear = start.rear().pair(moment_nm.rear().pair(clutch_torque_nm));
        PerWheel::from_axles(
            PerSide {
                left: front.left + step_s * 0.5 * (sum + difference),
                right: front.right + step_s * 0.5 * (sum - difference),
            },
            rear.map(|(speed, (moment, torque))| {
                speed + step_s * (moment + torque) / self.wheel_inertia_kg_m2
            }),
        )
    }

    fn clutches(
        &self,
        free: PerWheel<f64>,
        capacity_nm: PerSide<f64>,
        step_s: f64,
    ) -> PerSide<f64> {
        let shaft = step_s * self.ratio * self.ratio
            / (2.0 * self.wheel_inertia_kg_m2 + self.carrier_inertia_kg_m2);
        let wheel = step_s / self.wheel_inertia_kg_m2;
        let slip_rad_s = self.slip_rad_s(free);
        match self.layout {
            AxleLayout::FrontDrive | AxleLayout::FrontLimitedSlip | AxleLayout::BrakeVectoring => {
                PerSide::both(0.0)
            }
            AxleLayout::PairedClutches => {
                pair::friction_torques_nm(slip_rad_s, capacity_nm, shaft + wheel, shaft)
            }
            AxleLayout::SingleCoupling => {
                let capacity_nm = capacity_nm.sum();
                let torque_nm =
                    (slip_rad_s.left / (shaft + 0.5 * wheel)).clamp(-capacity_nm, capacity_nm);
                PerSide::both(0.5 * torque_nm)
            }
        }
    }

    fn brakes(
        &self,
        start: PerWheel<f64>,
        carrier_torque_nm: f64,
        load: &DrivelineLoad,
        step_s: f64,
    ) -> PerWheel<f64> {
        let capacity_nm = load.brake_capacity_nm;
        if capacity_nm.sum() <= 0.0 {
            return PerWheel::all(0.0);
        }
        let before_nm = load.clutch_torque_before_nm;
        let free = self.accelerate(
            start,
            load.wheel_moment_nm,
            carrier_torque_nm,
            before_nm,
            load.front_lock_before_nm,
            step_s,
        );
        let common = 1.0 / (self.wheel_inertia_kg_m2 + 0.5 * self.carrier_inertia_kg_m2);
        let opposed = 1.0 / self.wheel_inertia_kg_m2;
        let front = pair::friction_torques_nm(
            free.front(),
            capacity_nm.front(),
            step_s * 0.5 * (common + opposed),
            step_s * 0.5 * (common - opposed),
        );
        let rear = free
            .rear()
            .pair(capacity_nm.rear())
            .map(|(speed, capacity)| {
                (speed * self.wheel_inertia_kg_m2 / step_s).clamp(-capacity, capacity)
            });
        PerWheel::from_axles(front, rear)
    }
}

/// Speed of the front differential's carrier, rad/s.
pub fn carrier_rad_s(wheel_rad_s: PerWheel<f64>) -> f64 {
    0.5 * wheel_rad_s.front().sum()
}
