//! Hands of a person: preview, reaction time, arms with lag and a largest rate.
//!
//! Inputs: the car's motion as felt and the curvature of the path ahead as seen. Output: steering-wheel angle. The person
//! knows what the own hands have already decided and what the car makes of it (a steady single-track gain behind a lag),
//! and so guesses where the car will be when a decision of now takes effect; from that place a point on the path
//! ahead is aimed at (pursuit: curvature `2 e / d^2`), on top of the path's own curvature there. A decision waits for the
//! reaction time, then moves the arms through a first-order lag with a bounded rate. Values from memory of handling
//! texts, chosen within their ranges: reaction 0.15 to 0.2 s, muscles about 0.1 s, 800 to 1000 deg/s at most. Odd in its
//! inputs, so a mirrored drive is the exact mirror image. Limits: the fixed idea of the car knows no limit of grip.

use super::View;

/// Steps of the guess ahead.
const GUESS_STEPS: u32 = 10;

/// Least distance of the aimed-at point, m.
const PREVIEW_LEAST_M: f64 = 4.0;

/// Time before and after a place over which a change of curvature is seen, s.
const SEES_S: f64 = 0.1;

/// Hands with a person's limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Human {
    /// Wheelbase the driver has learned, m.
    pub wheelbase_m: f64,
    /// Understeer constant the driver has learned, rad s2/m.
    pub understeer_rad_s2_m: f64,
    /// Steering ratio.
    pub steering_ratio: f64,
    /// Time between seeing and the first movement, s.
    pub reaction_s: f64,
    /// Lag of the arms, s.
    pub arms_lag_s: f64,
    /// Largest steering rate, rad/s.
    pub rate_rad_s: f64,
    /// Lag between steering and turning of the car, as learned, s.
    pub car_lag_s: f64,
    /// Time ahead of the aimed-at point, from where the decision takes effect, s.
    pub preview_s: f64,
    /// Largest steering-wheel angle the hands go to, rad.
    pub most_rad: f64,
    decided: Vec<f64>,
    next: usize,
    started: bool,
    steering_wheel_rad: f64,
}

impl Human {
    /// A practised person, ready; lags, preview and the idea of the car are those with which the demo car goes through
    /// the cones of ISO 3888-2 fastest.
    pub fn practised(wheelbase_m: f64, steering_ratio: f64) -> Self {
        Self {
            wheelbase_m,
            understeer_rad_s2_m: 0.0060,
            steering_ratio,
            reaction_s: 0.18,
            arms_lag_s: 0.08,
            rate_rad_s: 15.7,
            car_lag_s: 0.10,
            preview_s: 0.50,
            most_rad: 7.0,
            decided: Vec::new(),
            next: 0,
            started: false,
            steering_wheel_rad: 0.0,
        }
    }

    /// Starts with the wheel already turned.
    pub fn turned(mut self, steering_wheel_rad: f64) -> Self {
        self.steering_wheel_rad = steering_wheel_rad;
        self
    }

    /// Steering-wheel angle of this step, rad.
    pub fn steer(&mut self, view: &View<'_>, period_s: f64) -> f64 {
        let decision = self.decide(view);
        self.carry_out(decision, period_s)
    }

    /// Arms: what was decided a reaction time ago, through lag and largest rate.
    pub fn carry_out(&mut self, decision_rad: f64, period_s: f64) -> f64 {
        if !self.started {
            let waiting = libm::round(self.reaction_s / period_s).max(1.0) as usize;
            self.decided = vec![self.steering_wheel_rad; waiting];
            self.started = true;
        }
        let due = self.decided[self.next];
        self.decided[self.next] = decision_rad.clamp(-self.most_rad, self.most_rad);
        self.next = (self.next + 1) % self.decided.len();
        let moved = (due - self.steering_wheel_rad) * period_s / (self.arms_lag_s + period_s);
        let most = self.rate_rad_s * period_s;
        self.steering_wheel_rad += moved.clamp(-most, most);
        self.steering_wheel_rad
    }

    /// Steering-wheel angle wanted, from what is seen and felt now.
    fn decide(&self, view: &View<'_>) -> f64 {
        let car = view.car;
        let speed = car.speed_m_s.max(2.0);
        let place = view.place.unwrap_or_default();
        let stiff = self.wheelbase_m + self.understeer_rad_s2_m * speed * speed;
        let until_s = self.reaction_s + self.arms_lag_s;
        let step_s = until_s / f64::from(GUESS_STEPS);
        let mut error = place.error_m;
        // The car goes where its velocity points, not its nose.
        let mut course = place.heading_error_rad + car.sideslip_rad;
        let mut curvature = car.yaw_rate_rad_s / speed;
        let mut hands = self.steering_wheel_rad;
        for index in 0..GUESS_STEPS {
            let at_s = (f64::from(index) + 0.5) * step_s;
            let due = self.waiting(at_s).unwrap_or(hands);
            hands += (due - hands) * step_s / (self.arms_lag_s + step_s);
            let steered = hands / self.steering_ratio / stiff;
            curvature += (steered - curvature) * step_s / (self.car_lag_s + step_s);
            course += (curvature - (view.ahead.0)(speed * at_s)) * speed * step_s;
            error += speed * step_s * libm::sin(course.clamp(-1.2, 1.2));
        }
        let preview_m = (speed * self.preview_s).max(PREVIEW_LEAST_M);
        let predicted = error + preview_m * libm::sin(course.clamp(-1.2, 1.2));
        // Arms and car answer late, a little more than by the reaction time: what changes is steered ahead of its place.
        let then = |later_s: f64| (view.ahead.0)(speed * (self.reaction_s + later_s));
        let change = (then(SEES_S) - then(-SEES_S)) / (2.0 * SEES_S);
        let seen = then(0.0) + (self.arms_lag_s + self.car_lag_s) * change;
        let wanted = seen - 2.0 * predicted / (preview_m * preview_m);
        wanted * stiff * self.steering_ratio
    }

    /// Decision that falls due after a time, if one is waiting.
    fn waiting(&self, at_s: f64) -> Option<f64> {
        let count = self.decided.len();
        let ahead = libm::floor(at_s / self.reaction_s * count as f64) as usize;
        (ahead < count).then(|| self.decided[(self.next + ahead) % count])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::driver::Ahead;
    use crate::plant::Observation;

    const PERIOD_S: f64 = 0.005;

    /// Angles on a straight road that turns into a bend of `curvature_1_m` from one moment to the next.
    fn surprised(curvature_1_m: f64) -> Vec<f64> {
        let mut human = Human::practised(2.72, 15.0);
        let car = Observation {
            speed_m_s: 20.0,
            ..Observation::default()
        };
        (0..200)
            .map(|step| {
                let ahead = |_: f64| if step < 20 { 0.0 } else { curvature_1_m };
                let view = View {
                    time_s: f64::from(step) * PERIOD_S,
                    car: &car,
                    place: Some(Default::default()),
                    ahead: &Ahead(&ahead),
                };
                human.steer(&view, PERIOD_S)
            })
            .collect()
    }

    #[test]
    fn nothing_moves_before_the_reaction_time_and_then_it_does() {
        let angles = surprised(0.01);
        let moved = angles.iter().position(|angle| *angle != 0.0);
        // 0.18 s are 36 steps after the step of the surprise.
        assert_eq!(moved, Some(20 + 36));
    }

    #[test]
    fn hands_never_turn_faster_than_a_persons() {
        let human = Human::practised(2.72, 15.0);
        let angles = surprised(0.5);
        let fastest = angles
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).abs() / PERIOD_S)
            .fold(0.0, f64::max);
        // The bound is reached by so sharp a bend, and kept; the margin is rounding.
        assert!((fastest - human.rate_rad_s).abs() < 1e-9, "{fastest}");
        assert!((800.0..=1000.0).contains(&human.rate_rad_s.to_degrees()));
    }

    #[test]
    fn a_person_is_not_left_or_right_handed() {
        let (left, right) = (surprised(0.03), surprised(-0.03));
        assert!(left.iter().zip(&right).all(|(a, b)| *a == -*b));
    }
}
