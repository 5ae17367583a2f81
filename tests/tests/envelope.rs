//! The set of rear torque and yaw moment from the law's own code, beside the closed form and what a prototype found.

use couplet_controller::RawPage;
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::Limit;
use couplet_controller::stage::authority::Sense;
use couplet_sim::envelope::limit::crossings;
use couplet_sim::envelope::{Axle, Corner, Envelope, Part, Point, envelope, outer_reach};

const POINT: Point = Point {
    speed_m_s: 60.0 / 3.6,
    curvature_1_m: 0.01,
    front_slip: 0.005,
    radius_error: 0.0,
    capacity_nm: 1100.0,
    oil_degc: 80.0,
    friction: 0.95,
};

fn at(page: &RawPage, point: Point) -> Envelope {
    envelope(page, point).expect("the page is accepted")
}

/// The critical overspeed as written down in `docs/src/axle.md`, over the radius, with the single-track slip angles of the
/// page's car: worked out here from its numbers alone.
fn critical(page: &RawPage, point: &Point) -> f64 {
    let car = &page.tunables.vehicle;
    let of = |value: f32| f64::from(value);
    let (mass, length, front) = (
        of(car.mass_kg),
        of(car.wheelbase_m),
        of(car.front_axle_to_cg_m),
    );
    let radius = 1.0 / point.curvature_1_m.abs();
    let lateral = point.speed_m_s * point.speed_m_s / radius;
    let front_angle =
        mass * lateral * (length - front) / (length * of(car.front_cornering_stiffness_n_rad));
    let rear_angle = mass * lateral * front / (length * of(car.rear_cornering_stiffness_n_rad));
    let ahead = length - rear_angle * radius;
    (radius + 0.5 * of(car.track_m))
        / (radius.hypot(ahead) * front_angle.cos() * (1.0 + point.front_slip))
        - 1.0
}

/// Share by which the shaft is faster than the outer wheel rolls.
fn surplus(page: &RawPage, point: &Point) -> f64 {
    let shaft = (1.0 + f64::from(page.tunables.vehicle.overspeed)) * (1.0 + point.radius_error);
    shaft / (1.0 + critical(page, point)) - 1.0
}

/// Points whose outer wheel can be driven on a straight road and no more at the end of the grip.
fn turning_points(page: &RawPage) -> Vec<Point> {
    let mut found = Vec::new();
    for speed_m_s in [4.0, 8.0, 12.0, 18.0, 25.0, 40.0] {
        for front_slip in [-0.01, 0.0, 0.005, 0.01] {
            for radius_error in [-0.01, 0.0, 0.01] {
                let point = Point {
                    speed_m_s,
                    front_slip,
                    radius_error,
                    ..POINT
                };
                let end = Point {
                    // The radius at which the curve of the closed form is lowest, or where the grip ends.
                    curvature_1_m: point.grip_curvature_1_m().min(0.1),
                    ..point
                };
                let straight = Point {
                    curvature_1_m: 1.0e-6,
                    ..point
                };
                // Clear of the play of the sign memory on both sides.
                if surplus(page, &end) < -0.005 && surplus(page, &straight) > 0.005 {
                    found.push(end);
                }
            }
        }
    }
    found
}

/// Curvature at which the sign of the outer torque's bound changes, for a clutch that last acted as `before`.
fn sign_change(page: &RawPage, end: &Point, before: Sense) -> Point {
    let mut ends = (1.0e-6, end.curvature_1_m);
    for _ in 0..48 {
        let middle = 0.5 * (ends.0 + ends.1);
        let point = Point {
            curvature_1_m: middle,
            ..*end
        };
        let reach = outer_reach(page, point, before).expect("the page is accepted");
        assert_ne!(reach.sense, Sense::Unknown);
        if reach.sense == Sense::Forward {
            ends.0 = middle;
        } else {
            ends.1 = middle;
        }
    }
    Point {
        curvature_1_m: ends.1,
        ..*end
    }
}

/// Source: closed form of plane kinematics (docs/src/axle.md). With `lock_sign_nm` zero the law's sign has no play at all: the
/// bound's sign changes where the shaft is as fast as the rolling outer wheel. Tolerance 1e-9 of the speed: rounding of 64 bits
/// over a bisection; page numbers are `f32` on both sides.
#[test]
fn the_outer_bound_changes_its_sign_at_the_closed_forms_radius() {
    let mut page = RawPage::default();
    page.tunables.authority.lock_sign_nm = 0.0;
    let points = turning_points(&page);
    assert!(points.len() >= 20, "{}", points.len());
    for end in points {
        for before in [Sense::Unknown, Sense::Forward, Sense::Backward] {
            let found = sign_change(&page, &end, before);
            let left = surplus(&page, &found);
            assert!(left.abs() < 1.0e-9, "{before:?} {found:?}: {left:e}");
            let axle = Axle::new(&page, end).expect("accepted");
            let drawn = crossings(&axle);
            let nearest = drawn
                .iter()
                .map(|one| (one.curvature_1_m / found.curvature_1_m - 1.0).abs())
                .fold(f64::INFINITY, f64::min);
            assert!(nearest < 1.0e-6, "{found:?}: drawn {drawn:?}");
        }
    }
}

/// With the demo numbers the sign is remembered while a locked clutch would carry less than `lock_sign_nm` and the slip stays
/// in its dead band: so it changes that much later on either side of the closed form, never further from it.
#[test]
fn sign_memory_moves_the_change_by_its_own_play_and_no_further() {
    let page = RawPage::default();
    let (authority, car) = (&page.tunables.authority, &page.tunables.vehicle);
    for end in turning_points(&page) {
        let lock = f64::from(authority.lock_sign_nm)
            / (f64::from(car.wheel_radius_m) * f64::from(car.rear_slip_stiffness_n));
        for (before, sign) in [(Sense::Forward, -1.0), (Sense::Backward, 1.0)] {
            let found = sign_change(&page, &end, before);
            let band = f64::from(authority.slip_dead_band_rad_s)
                * (end.speed_m_s / f64::from(authority.dead_band_speed_m_s)).clamp(0.12, 1.0);
            let outer_m_s =
                end.speed_m_s * (1.0 + 0.5 * f64::from(car.track_m) * found.curvature_1_m);
            let radius_m = f64::from(car.wheel_radius_m) * (1.0 + end.radius_error);
            let play = lock.min(band * radius_m / outer_m_s);
            let left = surplus(&page, &found);
            assert!(
                (left - sign * play).abs() < 1.0e-9,
                "{before:?} {found:?}: {left:e}, play {play:e}"
            );
        }
    }
}

/// Source: independent prototype of the invented car (R 40 m, 4 m/s2 to the side, overspeed 2 %): 60, 370 and 730 N m outside
/// at 0, 1.5 and 3 m/s2 of acceleration. Here the front wheels do all the work, and 0.25 m/s2 against drag and cornering; the
/// prototype's rear wheels took their share of it, so its front wheels slipped less: 35 % are left to that.
#[test]
fn outer_torque_grows_with_acceleration_as_the_prototype_found() {
    let page = RawPage::default();
    let car = &page.tunables.vehicle;
    for (along_m_s2, expected_nm) in [(0.0, 60.0), (1.5, 370.0), (3.0, 730.0)] {
        let force_n = f64::from(car.mass_kg) * (along_m_s2 + 0.25);
        let point = Point {
            speed_m_s: f64::sqrt(4.0 * 40.0),
            curvature_1_m: 1.0 / 40.0,
            front_slip: force_n / (2.0 * f64::from(car.rear_slip_stiffness_n)),
            ..POINT
        };
        let reach = outer_reach(&page, point, Sense::Unknown).expect("the page is accepted");
        assert_eq!(reach.by, Limit::KinematicLock);
        assert!(
            (reach.torque_nm / expected_nm - 1.0).abs() < 0.35,
            "{along_m_s2} m/s2: {} of {expected_nm}",
            reach.torque_nm
        );
    }
}

/// Corners with the edges that meet there, in an order that does not depend on where the round began.
fn told(found: &Envelope, mirror: bool) -> Vec<String> {
    let corners = &found.corners;
    let count = corners.len();
    let edge = |corner: &Corner| {
        let part = match (corner.part, mirror) {
            (Part::Left, true) => Part::Right,
            (Part::Right, true) => Part::Left,
            (part, _) => part,
        };
        format!("{} {}", part.words(), corner.by.name())
    };
    let mut all: Vec<String> = (0..count)
        .map(|place| {
            let (corner, before) = (&corners[place], &corners[(place + count - 1) % count]);
            let mut edges = [edge(corner), edge(before)];
            edges.sort();
            let moment = if mirror {
                -corner.yaw_moment_nm
            } else {
                corner.yaw_moment_nm
            };
            // Adding zero takes the sign off a zero; all other bits stay.
            format!("{:e} {:e} {edges:?}", corner.rear_torque_nm, moment + 0.0)
        })
        .collect();
    all.sort();
    all
}

#[test]
fn the_set_of_a_turn_is_the_exact_mirror_image_of_the_turn_to_the_other_side() {
    let page = RawPage::default();
    let mut corners = 0;
    for speed_m_s in [5.0, 15.0, 25.0] {
        for curvature_1_m in [0.0, 0.002, 0.01, 0.014] {
            for front_slip in [-0.01, 0.0, 0.02] {
                let point = Point {
                    speed_m_s,
                    curvature_1_m,
                    front_slip,
                    ..POINT
                };
                let other = Point {
                    curvature_1_m: -curvature_1_m,
                    ..point
                };
                let (left, right) = (at(&page, point), at(&page, other));
                assert_eq!(told(&left, false), told(&right, true), "{point:?}");
                assert_eq!(right.full_nm, left.full_nm);
                assert!((right.at_full_nm.low + left.at_full_nm.high).abs() < 1.0e-6);
                assert!((right.at_zero_nm.low + left.at_zero_nm.high).abs() < 1.0e-6);
                corners += left.corners.len();
            }
        }
    }
    assert!(corners > 100, "{corners}");
}

#[test]
fn on_a_straight_road_the_set_is_its_own_mirror_image() {
    let page = RawPage::default();
    for front_slip in [-0.01, 0.0, 0.005, 0.03] {
        let found = at(
            &page,
            Point {
                curvature_1_m: 0.0,
                front_slip,
                ..POINT
            },
        );
        assert_eq!(told(&found, false), told(&found, true));
        // A share along an edge rounds by its direction.
        assert!((found.at_full_nm.low + found.at_full_nm.high).abs() < 1.0e-6);
    }
}

/// Source: the definition M = (TR - TL) T / (2 r), and the page's numbers; tolerances are rounding.
#[test]
fn each_bound_of_the_page_shows_where_it_must() {
    let page = RawPage::default();
    let lever = 1.58 / (2.0 * 0.32);
    let spinning = Point {
        speed_m_s: 10.0,
        curvature_1_m: 0.0,
        front_slip: 0.08,
        ..POINT
    };
    // Clutches slipping, warm and dry: capacity each way, propshaft for the sum, the yaw limit for the difference.
    let free = at(&page, spinning);
    assert!((free.full_nm - 2200.0).abs() < 0.01, "{free:?}");
    let largest = |found: &Envelope| {
        found
            .corners
            .iter()
            .map(|corner| corner.yaw_moment_nm)
            .fold(0.0, f64::max)
    };
    assert!(
        (largest(&free) / (1100.0 * lever) - 1.0).abs() < 1.0e-3,
        "{free:?}"
    );
    // Half the capacity, half the moment.
    let half = at(
        &page,
        Point {
            capacity_nm: 550.0,
            ..spinning
        },
    );
    assert!(
        (largest(&half) / (550.0 * lever) - 1.0).abs() < 1.0e-3,
        "{half:?}"
    );
    assert!(
        half.corners
            .iter()
            .any(|corner| corner.by == Limit::Capacity)
    );
    // Cold oil, from 20 m/s on, leaves `cold_capacity`; hot oil what its slope leaves; too hot oil nothing.
    let fast = Point {
        speed_m_s: 25.0,
        ..spinning
    };
    let cold = at(
        &page,
        Point {
            oil_degc: -30.0,
            ..fast
        },
    );
    assert!((cold.full_nm / 1100.0 - 1.0).abs() < 1.0e-3, "{cold:?}");
    assert!(
        cold.corners
            .iter()
            .any(|corner| corner.by == Limit::ColdOil)
    );
    let hot = at(
        &page,
        Point {
            oil_degc: 130.0,
            ..spinning
        },
    );
    assert!((hot.full_nm / 1100.0 - 1.0).abs() < 1.0e-3, "{hot:?}");
    assert!(hot.corners.iter().any(|corner| corner.by == Limit::OilHeat));
    let boiling = at(
        &page,
        Point {
            oil_degc: 155.0,
            ..spinning
        },
    );
    assert_eq!(boiling.corners.len(), 1, "{boiling:?}");
    assert_eq!(boiling.full_nm, 0.0);
    // Little friction in a turn: the rear tyres. Straight ahead a tyre that does not slip has shown that it can.
    let slippery = Point {
        friction: 0.4,
        curvature_1_m: 0.035,
        ..spinning
    };
    let slippery = at(&page, slippery);
    assert!(
        slippery
            .corners
            .iter()
            .any(|corner| corner.by == Limit::Friction),
        "{slippery:?}"
    );
}

#[test]
fn an_outer_wheel_that_cannot_be_driven_is_braked_as_far_as_the_lock_carries_it() {
    let page = RawPage::default();
    for radius_error in [-0.02, -0.015, -0.01] {
        let point = Point {
            radius_error,
            front_slip: -0.005,
            curvature_1_m: 0.012,
            ..POINT
        };
        let axle = Axle::new(&page, point).expect("the page is accepted");
        let lock = axle.lock_torque_nm(PerSide::both(0.0)).right;
        assert!(lock < -80.0, "{lock}");
        for before in [Sense::Unknown, Sense::Forward, Sense::Backward] {
            let reach = outer_reach(&page, point, before).expect("the page is accepted");
            assert_eq!(
                (reach.sense, reach.by),
                (Sense::Backward, Limit::KinematicLock)
            );
            // The law's own lock torque, and rounding.
            assert!((reach.torque_nm - lock).abs() < 1.0e-3, "{reach:?}, {lock}");
        }
    }
}
