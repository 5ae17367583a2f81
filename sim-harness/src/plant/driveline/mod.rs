//! Wheel spins, front differential, shaft, clutches and brakes over one step.
//!
//! Inputs: wheel speeds at the start, moments of the tyres, carrier torque, capacities. Outputs: wheel speeds at the end,
//! clutch and brake torques, clutch slip at start and end.
//! Carrier speed is the mean of the front wheels, each front wheel gets half of what is left of the carrier torque, but for
//! what a limited-slip differential moves between them (see [`front_lock`]); powertrain inertia sits on the carrier. The shaft turns (1 + overspeed) times the carrier,
//! so the carrier loses (1 + overspeed)(T_left + T_right). Clutch torques are those that fit the slip at the END of the
//! step (see [`pair`]): an explicit sign chatters and a smoothed one creeps. Mean slip over the step times torque is the
//! heat; where a slip reverses so fast that it would be negative, that clutch passes nothing in that step.
//! Shafts may twist with lash (see [`compliant`]); with stiffness 0 they are rigid and cost nothing.
//! Limits: brakes are solved with the clutch torques of the stage before, so a rear brake that holds
//! against a clutch settles over a few steps.

pub mod compliant;
pub mod front_lock;
pub mod pair;
pub mod shaft;

use super::quantity::{Compared, PerSide, PerWheel};
use super::vehicle::Vehicle;
use compliant::{Before, Compliance, Torsion};
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
    compliance: Option<Compliance>,
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
    /// Shafts at the end; only in a car whose shafts twist.
    pub torsion: Torsion,
    /// Power lost in the dampers of shafts that twist, W.
    pub twist_loss_w: f64,
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
            torsion: self.torsion,
            twist_loss_w: self.twist_loss_w,
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
            compliance: Compliance::of(vehicle, layout.drives_rear()),
        }
    }

    /// Speed of the rear shaft at wheel level, rad/s.
    pub fn shaft_rad_s(&self, wheel_rad_s: PerWheel<f64>) -> f64 {
        self.ratio * carrier_rad_s(wheel_rad_s)
    }

    /// Slip per clutch, rad/s, positive where the shaft is faster; a single coupling shows its slip on both sides.
    pub fn slip_rad_s(&self, wheel_rad_s: PerWheel<f64>) -> PerSide<f64> {
        self.slip_of_shaft_rad_s(wheel_rad_s, self.shaft_rad_s(wheel_rad_s))
    }

    fn slip_of_shaft_rad_s(&self, wheel_rad_s: PerWheel<f64>, shaft_rad_s: f64) -> PerSide<f64> {
        match self.layout {
            AxleLayout::SingleCoupling => {
                PerSide::both(shaft_rad_s - 0.5 * wheel_rad_s.rear().sum())
            }
            _ => wheel_rad_s.rear().map(|wheel| shaft_rad_s - wheel),
        }
    }

    /// Energy of wheels and carrier, and of shafts that twist, J.
    pub fn energy_j(&self, wheel_rad_s: PerWheel<f64>, torsion: &Torsion) -> f64 {
        let wheels = 0.5 * self.wheel_inertia_kg_m2 * wheel_rad_s.map(|speed| speed * speed).sum();
        if let Some(compliance) = &self.compliance {
            return wheels + compliance.energy_j(torsion, self.carrier_inertia_kg_m2);
        }
        let carrier = carrier_rad_s(wheel_rad_s);
        wheels + 0.5 * self.carrier_inertia_kg_m2 * carrier * carrier
    }

    /// Shafts turning with the wheels under a steady torque at the carrier; nothing where they are rigid.
    pub fn settled(&self, wheel_rad_s: PerWheel<f64>, carrier_torque_nm: f64) -> Torsion {
        self.compliance.map_or(Torsion::default(), |compliance| {
            compliance.settled(carrier_rad_s(wheel_rad_s), self.ratio, carrier_torque_nm)
        })
    }

    /// Sets the inertia turning with the carrier, kg m2: gears change it.
    pub fn set_carrier_inertia(&mut self, inertia_kg_m2: f64) {
        self.carrier_inertia_kg_m2 = inertia_kg_m2;
    }

    /// Inertia turning with the carrier, kg m2.
    pub fn carrier_inertia_kg_m2(&self) -> f64 {
        self.carrier_inertia_kg_m2
    }

    /// Speed of the carrier, rad/s.
    pub fn carrier_of(&self, wheel_rad_s: PerWheel<f64>, torsion: &Torsion) -> f64 {
        if self.compliance.is_some() {
            torsion.carrier_rad_s
        } else {
            carrier_rad_s(wheel_rad_s)
        }
    }

    /// Speed of the clutches' input at wheel level, rad/s.
    pub fn shaft_of(&self, wheel_rad_s: PerWheel<f64>, torsion: &Torsion) -> f64 {
        if self.compliance.is_some() {
            torsion.shaft_rad_s
        } else {
            self.shaft_rad_s(wheel_rad_s)
        }
    }

    /// Advances wheels and shafts from `start` by `step_s`; `drag_at` is the moment at which the drag is taken.
    pub fn advance(
        &self,
        start: (PerWheel<f64>, &Torsion),
        drag_at: (PerWheel<f64>, &Torsion),
        load: &DrivelineLoad,
        step_s: f64,
    ) -> DrivelineStep {
        match &self.compliance {
            None => self.advance_rigid(start.0, drag_at.0, load, step_s),
            Some(compliance) => {
                let before = Before {
                    wheel_rad_s: start.0,
                    torsion: *start.1,
                    drag_at_rad_s: drag_at.1.carrier_rad_s,
                };
                compliant::advance(self, compliance, &before, load, step_s)
            }
        }
    }

    fn advance_rigid(
        &self,
        start: PerWheel<f64>,
        drag_at: PerWheel<f64>,
        load: &DrivelineLoad,
        step_s: f64,
    ) -> DrivelineStep {
        let carrier = carrier_rad_s(drag_at);
        let drag_torque_nm = drag_torque_nm(self.drag_nm, carrier);
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
        let shaft = step_s * self.ratio * self.ratio
            / (2.0 * self.wheel_inertia_kg_m2 + self.carrier_inertia_kg_m2);
        let free_slip_rad_s = self.slip_rad_s(free);
        let (torque_nm, wheel_rad_s, slip_end_rad_s) = free_of_reversal(
            slip_start_rad_s,
            load.clutch_capacity_nm,
            |capacity_nm| self.clutches(free_slip_rad_s, capacity_nm, shaft, step_s),
            |torque_nm| {
                let wheel_rad_s = accelerate(torque_nm);
                (wheel_rad_s, self.slip_rad_s(wheel_rad_s))
            },
        );
        DrivelineStep {
            wheel_rad_s,
            clutch_torque_nm: torque_nm,
            brake_torque_nm,
            drag_torque_nm,
            slip_start_rad_s,
            slip_end_rad_s,
            clutch_heat_w: clutch_heat_w(torque_nm, slip_start_rad_s, slip_end_rad_s),
            front_lock,
            torsion: Torsion::default(),
            twist_loss_w: 0.0,
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

    /// Torques of the clutches; `shaft` is the fall of the shaft's speed per torque in the step, rad/s per N m.
    fn clutches(
        &self,
        slip_rad_s: PerSide<f64>,
        capacity_nm: PerSide<f64>,
        shaft: f64,
        step_s: f64,
    ) -> PerSide<f64> {
        let wheel = step_s / self.wheel_inertia_kg_m2;
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
                    (slip_rad_s.left / (shaft + 0.5 * wheel)).bounded(-capacity_nm, capacity_nm);
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
                (speed * self.wheel_inertia_kg_m2 / step_s).bounded(-capacity, capacity)
            });
        PerWheel::from_axles(front, rear)
    }
}

/// Speed of the front differential's carrier, rad/s.
pub fn carrier_rad_s(wheel_rad_s: PerWheel<f64>) -> f64 {
    0.5 * wheel_rad_s.front().sum()
}

/// Drag of the rear take-off at the carrier, N m, positive against forward rolling.
fn drag_torque_nm(drag_nm: f64, carrier_rad_s: f64) -> f64 {
    drag_nm * carrier_rad_s
        / libm::sqrt(carrier_rad_s * carrier_rad_s + DRAG_FADE_RAD_S * DRAG_FADE_RAD_S)
}

/// Clutch torques that never make negative heat, with what moves and the slips at the end: a clutch whose slip reverses too
/// fast within the step passes nothing.
///
/// `solve` gives torques from capacities, `end` what moves and the slips at the end from torques.
fn free_of_reversal<M>(
    slip_start_rad_s: PerSide<f64>,
    capacity_nm: PerSide<f64>,
    solve: impl Fn(PerSide<f64>) -> PerSide<f64>,
    end: impl Fn(PerSide<f64>) -> (M, PerSide<f64>),
) -> (PerSide<f64>, M, PerSide<f64>) {
    let mut capacity_nm = capacity_nm;
    let mut torque_nm = solve(capacity_nm);
    let (mut moved, mut slip_end_rad_s) = end(torque_nm);
    // At most two rounds: each takes at least one clutch out.
    for _ in 0..2 {
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
        (moved, slip_end_rad_s) = end(torque_nm);
    }
    (torque_nm, moved, slip_end_rad_s)
}

/// Power dissipated per clutch, W: torque times the mean of the slips at start and end.
fn clutch_heat_w(
    torque_nm: PerSide<f64>,
    slip_start_rad_s: PerSide<f64>,
    slip_end_rad_s: PerSide<f64>,
) -> PerSide<f64> {
    torque_nm
        .pair(slip_start_rad_s.pair(slip_end_rad_s))
        .map(|(torque, (before, after))| (0.5 * torque * (before + after)).larger(0.0))
}
