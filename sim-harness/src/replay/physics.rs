//! Whether the signals of a recording can belong to one car: signs, units, exchanged wheels, lags.
//!
//! Four views of the turning ([`super::evidence`]) must agree in sign and roughly in size, and wheel speeds with the longitudinal
//! acceleration. If they do not, each single fault of [`Fault`] is undone in turn; the faults without which everything agrees
//! are named, all of them if there are several. Lags are looked for where sizes agree. Nothing is corrected here. Signals that
//! do not move enough tell nothing, and what could not be told is said. Limits: two faults at once are told as a
//! contradiction without a name; front and rear wheels exchanged are told only with open clutches ([`super::axles`]).

use super::axles;
use super::evidence::{Car, Lag, Match, Signals, Views, lag, matched};
pub use super::suspect::{Fault, Pair, Signal, Unit, told};

/// What came of the comparison.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judgement {
    /// Pairs of views that contradict each other, in words with their numbers.
    pub contradictions: Vec<String>,
    /// Faults each of which alone explains them; several mean that the recording does not tell which.
    pub faults: Vec<Fault>,
    /// What agrees, in words with its numbers.
    pub agrees: Vec<String>,
    /// What could not be told.
    pub untold: Vec<String>,
}

impl Judgement {
    /// Whether nothing speaks against the mapping.
    pub fn is_clean(&self) -> bool {
        self.contradictions.is_empty()
    }
}

/// Two views and the sizes between which they agree.
struct Comparison {
    names: (&'static str, &'static str),
    one: fn(&Views) -> Option<&Vec<f64>>,
    other: fn(&Views) -> Option<&Vec<f64>>,
    ratio: (f64, f64),
    /// Agreement without sign from which it counts.
    strong: f64,
    /// Least size, root mean square, in the unit of both.
    least: f64,
    /// Whether only the sign counts.
    sign_only: bool,
    /// Whether both must have the least size: wheels that slip differ much while the car does not turn.
    both: bool,
}

/// Sizes: what drives of cars off by 15 % on all surfaces show, with room; factors of 3.6 and more lie outside.
const COMPARISONS: [Comparison; 6] = [
    Comparison {
        names: ("yaw rate", "lateral acceleration over speed"),
        one: |views| views.gyro.as_ref(),
        other: |views| views.lateral.as_ref(),
        ratio: (0.5, 2.0),
        strong: 0.75,
        least: 0.03,
        sign_only: false,
        both: false,
    },
    Comparison {
        names: ("yaw rate", "steering through a linear car"),
        one: |views| views.gyro.as_ref(),
        other: |views| views.steered.as_ref(),
        ratio: (0.35, 6.0),
        strong: 0.75,
        least: 0.03,
        sign_only: false,
        both: false,
    },
    Comparison {
        names: (
            "lateral acceleration over speed",
            "steering through a linear car",
        ),
        one: |views| views.lateral.as_ref(),
        other: |views| views.steered.as_ref(),
        ratio: (0.3, 7.0),
        strong: 0.75,
        least: 0.03,
        sign_only: false,
        both: false,
    },
    Comparison {
        names: ("yaw rate", "difference of the front wheels"),
        one: |views| views.gyro.as_ref(),
        other: |views| views.front.as_ref(),
        ratio: (0.4, 2.5),
        strong: 0.85,
        least: 0.03,
        sign_only: false,
        both: true,
    },
    Comparison {
        names: ("yaw rate", "difference of the rear wheels"),
        one: |views| views.gyro.as_ref(),
        other: |views| views.rear.as_ref(),
        ratio: (0.0, f64::INFINITY),
        strong: 0.55,
        least: 0.03,
        sign_only: true,
        both: true,
    },
    Comparison {
        names: ("longitudinal acceleration", "change of the wheels' speed"),
        one: |views| views.pushed.as_ref(),
        other: |views| views.gained.as_ref(),
        ratio: (0.45, 2.2),
        strong: 0.85,
        least: 0.3,
        sign_only: false,
        both: true,
    },
];

/// Share of the wheels' disagreement with the gyro that may be left when two wheels are put back: clean drives show 0.8 and more.
const PUT_BACK: f64 = 0.6;
/// The same for the rear wheels alone: clutches that drive the inner wheel make a clean drive look exchanged, with 0.5 left.
const REAR_PUT_BACK: f64 = 0.3;
/// Wheels that differ this much more than the car turns are slipping and tell nothing.
const SLIPS: f64 = 8.0;
/// Share of the disagreement of the next best exchange below which one is clearly best.
const CLEARLY: f64 = 0.8;
/// Lag beyond which a yaw rate or steering is late, s: clean drives show up to 0.03.
const LATE_S: f64 = 0.06;
/// Lag of the wheels that counts, early and late, s: clean drives show up to 0.05 late, and near the limit 0.09 early, by slip.
const WHEELS_LATE_S: (f64, f64) = (-0.17, 0.075);
/// Lag of a lateral acceleration that counts, early and late, s: a slippery road makes it come up to 0.1 early.
const LATERAL_LATE_S: (f64, f64) = (-0.17, 0.075);

/// Judges the signals.
pub fn judge(signals: &Signals, car: &Car) -> Judgement {
    let views = Views::of(signals, car);
    let mut judgement = Judgement::default();
    if views.speed_m_s.is_empty() {
        let what = "without four wheel speeds nothing can be compared".to_owned();
        judgement.untold.push(what);
        return judgement;
    }
    let period_s = signals.period_s;
    let speaking = contradictions(&views, period_s);
    judgement.contradictions = speaking.iter().map(in_words).collect();
    let exchanged = exchanged(&views, signals, car);
    if let Some((_, left)) = exchanged {
        judgement.contradictions.push(format!(
            "wheels exchanged would disagree with the yaw rate by {:.0} % of what they do (squares)",
            100.0 * left
        ));
    }
    if judgement.contradictions.is_empty() {
        describe(&views, period_s, &mut judgement);
        lags(&views, period_s, &mut judgement);
        if judgement.is_clean() {
            front_and_rear(signals, car, &mut judgement);
        }
        return judgement;
    }
    let mut left = Vec::new();
    // Front taken for rear only where slip says so: the turning alone would let it explain other exchanges.
    let along = taken_for_rear(axles::ahead(signals, car));
    let along = along.iter().map(|pair| Fault::Exchanged(*pair));
    for fault in singles().into_iter().chain(along) {
        let undone = undone(signals, fault);
        let views = Views::of(&undone, car);
        // What contradicted must agree now; that it tells nothing any more is not enough.
        let agrees = speaking
            .iter()
            .all(|(comparison, _)| agrees(comparison, &views, period_s));
        let still = off(&views, period_s);
        if agrees
            && (exchanged.is_none() || still.is_some())
            && contradictions(&views, period_s).is_empty()
            && self::exchanged(&views, &undone, car).is_none()
            && axles::ahead(&undone, car)
                .into_iter()
                .flatten()
                .all(|ahead| ahead > 0.0)
        {
            judgement.faults.push(fault);
            left.push(still.unwrap_or(f64::INFINITY));
        }
    }
    nearest_exchange(&mut judgement.faults, &left);
    judgement
}

/// Of several exchanges the one after which wheels and gyro agree clearly best.
fn nearest_exchange(faults: &mut Vec<Fault>, left: &[f64]) {
    let all = faults
        .iter()
        .all(|fault| matches!(fault, Fault::Exchanged(_)));
    let mut order: Vec<usize> = (0..left.len()).collect();
    order.sort_by(|one, other| left[*one].total_cmp(&left[*other]));
    if let (true, [best, second, ..]) = (all, order.as_slice())
        && left[*best] < CLEARLY * left[*second]
    {
        *faults = vec![faults[*best]];
    }
}

/// Every single fault of sign, unit and place.
fn singles() -> Vec<Fault> {
    let mut all = vec![
        Fault::Sign(Signal::YawRate),
        Fault::Sign(Signal::LateralAcceleration),
        Fault::Sign(Signal::Steering),
    ];
    for signal in [Signal::YawRate, Signal::Steering] {
        all.push(Fault::Unit(signal, Unit::DegreesAsRadians));
        all.push(Fault::Unit(signal, Unit::RadiansAsDegrees));
    }
    all.push(Fault::Unit(Signal::WheelSpeeds, Unit::KilometresAnHour));
    all.push(Fault::Unit(Signal::WheelSpeeds, Unit::MetresASecond));
    all.push(Fault::Unit(Signal::LateralAcceleration, Unit::Gravity));
    all.push(Fault::Unit(Signal::LateralAcceleration, Unit::NoGravity));
    all.extend(Pair::ALL.map(Fault::Exchanged));
    all
}

/// The signals without a fault.
fn undone(signals: &Signals, fault: Fault) -> Signals {
    let mut signals = signals.clone();
    let (signal, factor) = match fault {
        Fault::Sign(signal) => (signal, -1.0),
        Fault::Unit(signal, unit) => (signal, unit.factor()),
        Fault::Exchanged(pair) => {
            if let Some(wheels) = &mut signals.wheels_rad_s {
                let found = wheels.clone();
                *wheels = pair.order().map(|place| found[place].clone());
            }
            return signals;
        }
        Fault::Late(..) => return signals,
    };
    let scale = |series: &mut Vec<f64>| series.iter_mut().for_each(|value| *value *= factor);
    match signal {
        Signal::YawRate => signals.yaw_rad_s.iter_mut().for_each(scale),
        Signal::LateralAcceleration => signals.lateral_m_s2.iter_mut().for_each(scale),
        Signal::Steering => signals.steering_rad.iter_mut().for_each(scale),
        Signal::WheelSpeeds => signals
            .wheels_rad_s
            .iter_mut()
            .flat_map(|wheels| wheels.iter_mut())
            .for_each(scale),
    }
    signals
}

fn compared(comparison: &Comparison, views: &Views, period_s: f64) -> Option<Match> {
    let (one, other) = ((comparison.one)(views)?, (comparison.other)(views)?);
    matched(one, other, chosen(comparison, views), period_s).filter(|found| {
        let size = if comparison.both {
            found.smaller
        } else {
            found.size
        };
        let slips = comparison.both && found.ratio > SLIPS;
        found.agreement.abs() >= comparison.strong && size >= comparison.least && !slips
    })
}

/// Whether two views agree in sign and size, however small they are.
fn agrees(comparison: &Comparison, views: &Views, period_s: f64) -> bool {
    let (Some(one), Some(other)) = ((comparison.one)(views), (comparison.other)(views)) else {
        return false;
    };
    let (low, high) = comparison.ratio;
    matched(one, other, chosen(comparison, views), period_s).is_some_and(|found| {
        found.agreement > 0.5 * comparison.strong
            && (comparison.sign_only || (low..=high).contains(&found.ratio))
    })
}

fn chosen<'a>(comparison: &Comparison, views: &'a Views) -> &'a [bool] {
    let along = comparison.least > 0.1;
    if along { &views.rolling } else { &views.calm }
}

/// The comparison if its views contradict each other, else nothing; nothing too where they tell nothing.
fn against(comparison: &Comparison, views: &Views, period_s: f64) -> Option<Match> {
    let (low, high) = comparison.ratio;
    compared(comparison, views, period_s).filter(|found| {
        let wrong_size = !comparison.sign_only && !(low..=high).contains(&found.ratio);
        found.agreement < 0.0 || wrong_size
    })
}

fn contradictions(views: &Views, period_s: f64) -> Vec<(&'static Comparison, Match)> {
    COMPARISONS
        .iter()
        .filter_map(|comparison| {
            against(comparison, views, period_s).map(|found| (comparison, found))
        })
        .collect()
}

fn in_words((comparison, found): &(&Comparison, Match)) -> String {
    let ((one, other), (low, high)) = (comparison.names, comparison.ratio);
    let size = if comparison.sign_only {
        String::new()
    } else {
        format!(", ratio {low} to {high}")
    };
    format!(
        "{one} and {other}: correlation {:+.2}, ratio {:.3} (agree: correlation above 0{size})",
        found.agreement, found.ratio
    )
}

/// The exchange of wheels that takes away most of what wheels and gyro disagree by, if it takes away much.
fn exchanged(views: &Views, signals: &Signals, car: &Car) -> Option<(Pair, f64)> {
    let as_it_is = off(views, signals.period_s)?;
    Pair::ALL
        .into_iter()
        .filter_map(|pair| {
            let mut put_back = views.clone();
            let exchanged = Views::of(&undone(signals, Fault::Exchanged(pair)), car);
            (put_back.front, put_back.rear) = (exchanged.front, exchanged.rear);
            let left = off(&put_back, signals.period_s)? / as_it_is;
            let most = if pair == Pair::Rear {
                REAR_PUT_BACK
            } else {
                PUT_BACK
            };
            (left < most).then_some((pair, left))
        })
        .min_by(|one, other| one.1.total_cmp(&other.1))
}

/// By how much wheels and gyro disagree in calm steps: sum of squares; nothing straight ahead, which tells no sides.
fn off(views: &Views, period_s: f64) -> Option<f64> {
    let (gyro, front, rear) = (
        views.gyro.as_ref()?,
        views.front.as_ref()?,
        views.rear.as_ref()?,
    );
    let (mut sum, mut size, mut count) = (0.0, 0.0, 0.0);
    for (step, _) in views.calm.iter().enumerate().filter(|(_, calm)| **calm) {
        let (one, other) = (front[step] - gyro[step], rear[step] - gyro[step]);
        sum += one * one + other * other;
        size += gyro[step] * gyro[step];
        count += 1.0;
    }
    (count * period_s >= 1.0 && size > count * 9.0e-4).then_some(sum)
}

/// Whether the driven front wheels slip more than the rear ones where that is told.
fn front_and_rear(signals: &Signals, car: &Car, judgement: &mut Judgement) {
    const NAMES: [&str; 2] = ["left", "right"];
    let ahead = axles::ahead(signals, car);
    for (name, ahead) in NAMES.into_iter().zip(ahead) {
        let words = |ahead: f64| {
            format!(
                "{name} front wheel ahead of the rear one by {:+.2} % more for 1 m/s2 more, clutches open",
                100.0 * ahead
            )
        };
        match ahead {
            Some(ahead) if ahead > 0.0 => judgement.agrees.push(words(ahead)),
            Some(ahead) => judgement
                .contradictions
                .push(format!("{} (agree: above 0)", words(ahead))),
            None => judgement.untold.push(format!(
                "front and rear wheel on the {name}: they need measured clutch pressures, open clutches and some acceleration"
            )),
        }
    }
    let pairs = taken_for_rear(ahead);
    judgement
        .faults
        .extend(pairs.iter().map(|pair| Fault::Exchanged(*pair)));
}

/// Front wheels that slip as rear ones do.
fn taken_for_rear(ahead: [Option<f64>; 2]) -> &'static [Pair] {
    match ahead.map(|ahead| ahead.map(|ahead| !(ahead > 0.0))) {
        [Some(true), Some(true)] => &[Pair::Axles],
        [Some(true), Some(false)] => &[Pair::LeftSide],
        [Some(false), Some(true)] => &[Pair::RightSide],
        [Some(true), None] => &[Pair::LeftSide, Pair::Axles],
        [None, Some(true)] => &[Pair::RightSide, Pair::Axles],
        _ => &[],
    }
}

fn describe(views: &Views, period_s: f64, judgement: &mut Judgement) {
    for comparison in &COMPARISONS {
        let (one, other) = comparison.names;
        match compared(comparison, views, period_s) {
            Some(found) => judgement.agrees.push(format!(
                "{one} and {other}: correlation {:+.2}, ratio {:.2}",
                found.agreement, found.ratio
            )),
            None => judgement.untold.push(format!(
                "{one} and {other}: not there, or too little movement to tell"
            )),
        }
    }
}

fn lags(views: &Views, period_s: f64, judgement: &mut Judgement) {
    let of = |one: &Option<Vec<f64>>, other: &Option<Vec<f64>>| -> Option<Lag> {
        lag(one.as_ref()?, other.as_ref()?, &views.rolling, period_s)
    };
    let gyro = of(&views.steered, &views.gyro);
    let lateral = of(&views.steered_lateral, &views.lateral);
    let wheels = of(&views.gyro, &views.front);
    for (name, found) in [
        ("yaw rate behind steering, as of a linear car", gyro),
        (
            "lateral acceleration behind steering, as of a linear car",
            lateral,
        ),
        ("front wheels behind yaw rate", wheels),
    ] {
        match found {
            Some(found) => judgement.agrees.push(format!(
                "lag of {name}: {:+.3} s (correlation {:.3})",
                found.lag_s, found.correlation
            )),
            None => judgement
                .untold
                .push(format!("lag of {name}: too little quick movement to tell")),
        }
    }
    let far = |found: Option<Lag>, most: f64| found.filter(|found| found.lag_s.abs() > most);
    let mut faults = Vec::new();
    match (far(gyro, LATE_S), wheels) {
        (Some(late), Some(wheels)) => {
            // A late yaw rate makes the wheels early by as much; late steering leaves them.
            let late_s = late.lag_s;
            faults.push(if (wheels.lag_s + late_s).abs() < wheels.lag_s.abs() {
                Fault::Late(Signal::YawRate, late_s)
            } else {
                Fault::Late(Signal::Steering, -late_s)
            });
        }
        (Some(late), None) => match lateral {
            // The lateral acceleration goes with the steering or it does not.
            Some(other) if (other.lag_s - late.lag_s).abs() > LATE_S => {
                faults.push(Fault::Late(Signal::YawRate, late.lag_s));
            }
            Some(_) => faults.push(Fault::Late(Signal::Steering, -late.lag_s)),
            None => faults.extend([
                Fault::Late(Signal::YawRate, late.lag_s),
                Fault::Late(Signal::Steering, -late.lag_s),
            ]),
        },
        (None, Some(found))
            if !(WHEELS_LATE_S.0..=WHEELS_LATE_S.1).contains(&found.lag_s) && gyro.is_some() =>
        {
            faults.push(Fault::Late(Signal::WheelSpeeds, found.lag_s));
        }
        _ => {}
    }
    let (early_s, late_s) = LATERAL_LATE_S;
    if let (true, Some(_), Some(found)) = (faults.is_empty(), gyro, lateral)
        && !(early_s..=late_s).contains(&found.lag_s)
    {
        faults.push(Fault::Late(Signal::LateralAcceleration, found.lag_s));
    }
    if !faults.is_empty() {
        let numbers = judgement
            .agrees
            .iter()
            .filter(|line| line.starts_with("lag"));
        judgement.contradictions = numbers.cloned().collect();
        judgement.faults = faults;
    }
}
