//! The car with what the demo car has off: shafts that twist with lash, roll and pitch, stepped gears.
//!
//! In: the switches of group `car` and a vehicle. Out: the vehicle with each part on. A vehicle file that already has a part
//! on keeps its own numbers. The others here are invented, of the size common practice expects, no source.

use super::CarNumbers;
use crate::plant::Vehicle;

/// Stiffness of both front half shafts at the carrier, N m/rad, their damping, N m s/rad, and lash, rad.
const HALF_SHAFTS: (f64, f64, f64) = (12_000.0, 20.0, 0.04);
/// The same of the propshaft at wheel level.
const PROPSHAFT: (f64, f64, f64) = (8000.0, 5.0, 0.03);
/// Stiffness of roll and pitch, N m/rad: 3 deg of roll at 0.7 g, half as much pitch.
const ROLL_NM_RAD: f64 = 75_000.0;
const PITCH_NM_RAD: f64 = 160_000.0;
/// Number of gears; their ratios are those of the vehicle file.
const GEARS: f64 = 6.0;

/// Switches on what the numbers ask for.
pub(super) fn switched_on(numbers: &CarNumbers, vehicle: &mut Vehicle) {
    let shafts = &mut vehicle.driveline;
    if numbers.twisting_shafts >= 0.5 {
        if shafts.half_shaft_stiffness_nm_rad <= 0.0 {
            shafts.half_shaft_stiffness_nm_rad = HALF_SHAFTS.0;
            shafts.half_shaft_damping_nms_rad = HALF_SHAFTS.1;
            shafts.half_shaft_lash_rad = HALF_SHAFTS.2;
        }
        if shafts.propshaft_stiffness_nm_rad <= 0.0 {
            shafts.propshaft_stiffness_nm_rad = PROPSHAFT.0;
            shafts.propshaft_damping_nms_rad = PROPSHAFT.1;
            shafts.propshaft_lash_rad = PROPSHAFT.2;
        }
    }
    let springs = &mut vehicle.suspension;
    if numbers.roll_and_pitch >= 0.5 {
        if springs.roll_stiffness_nm_rad <= 0.0 {
            springs.roll_stiffness_nm_rad = ROLL_NM_RAD;
        }
        if springs.pitch_stiffness_nm_rad <= 0.0 {
            springs.pitch_stiffness_nm_rad = PITCH_NM_RAD;
        }
    }
    if numbers.stepped_gears >= 0.5 && vehicle.gears.count < 0.5 {
        vehicle.gears.count = GEARS;
    }
}
