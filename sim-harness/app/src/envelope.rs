//! `couplet envelope`: what the axle can reach, as a table and as drawings, from the law's own bounds and arbiter.
//!
//! In: a setting and, for every quantity, values of which the first belongs to the point about which the others are varied,
//! one quantity at a time. Out: per point the corners of the set of rear torque and yaw moment with the bound on every edge,
//! the yaw moments left at no and at full rear torque, the closed form's limit radius; the same drawn in `envelope.html`.
//! Limits: the car as the calibration page knows it, steady, on a level road.

use std::path::Path;

use couplet_controller::RawPage;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::stage::authority::Sense;
use couplet_sim::envelope::limit::{Crossing, crossings};
use couplet_sim::envelope::{Axle, Envelope, OuterReach, Point, envelope, outer_reach};

use crate::bench::{Done, keep};
use crate::command_line::{EnvelopeValues, Kind};
use crate::failure::{Failure, Refusal};
use crate::files::Source;
use crate::output::number::significant;
use crate::output::{CAUTIONS, make_place, text, write_page};
use crate::report::reach;

/// Most values of one quantity: so many lines can be told apart in a drawing.
const MOST_VALUES: usize = 5;
/// Curvatures at which a curve over curvature is worked out, between zero and the end of the grip.
const OVER_CURVATURE: u32 = 80;

/// A quantity that can be varied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Speed, km/h.
    Speed,
    /// Curvature, 1/m.
    Curvature,
    /// Slip of the front wheels, %.
    FrontSlip,
    /// Error of the rear rolling radius, %.
    RearRadius,
    /// Capacity of a clutch, N m.
    Capacity,
    /// Oil temperature, degC.
    Oil,
}

impl Quantity {
    /// All of them, in the order they are told.
    pub const ALL: [Self; 6] = [
        Self::Speed,
        Self::Curvature,
        Self::FrontSlip,
        Self::RearRadius,
        Self::Capacity,
        Self::Oil,
    ];

    /// In words, with its unit.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Speed => ("speed", "km/h"),
            Self::Curvature => ("curvature", "1/m"),
            Self::FrontSlip => ("front slip", "%"),
            Self::RearRadius => ("rear radius", "%"),
            Self::Capacity => ("capacity", "N m"),
            Self::Oil => ("oil", "degC"),
        }
    }

    fn option(self) -> &'static str {
        match self {
            Self::Speed => "--speed",
            Self::Curvature => "--curvature",
            Self::FrontSlip => "--front-slip",
            Self::RearRadius => "--rear-radius",
            Self::Capacity => "--capacity",
            Self::Oil => "--oil",
        }
    }

    /// Lowest and highest value taken: beyond, the linear tyres or the catalogue say nothing.
    fn range(self) -> (f64, f64) {
        match self {
            Self::Speed => (3.0, 300.0),
            Self::Curvature => (-0.2, 0.2),
            Self::FrontSlip => (-10.0, 20.0),
            Self::RearRadius => (-3.0, 3.0),
            Self::Capacity => capacity_range(),
            Self::Oil => (-40.0, 200.0),
        }
    }

    fn set(self, point: &mut Point, value: f64) {
        match self {
            Self::Speed => point.speed_m_s = value / 3.6,
            Self::Curvature => point.curvature_1_m = value,
            Self::FrontSlip => point.front_slip = 0.01 * value,
            Self::RearRadius => point.radius_error = 0.01 * value,
            Self::Capacity => point.capacity_nm = value,
            Self::Oil => point.oil_degc = value,
        }
    }
}

/// What is known of one point.
pub struct Spot {
    /// Value of the quantity varied.
    pub value: f64,
    /// The point.
    pub point: Point,
    /// Its set; nothing where the tyres cannot hold the turn.
    pub set: Option<Envelope>,
    /// How far the outer wheel can be driven or braked.
    pub outer: Option<OuterReach>,
    /// Where the closed form says that driving the outer wheel begins or ends.
    pub crossings: Vec<Crossing>,
    /// Reach of the outer wheel over curvature: 1/m and N m; empty where the quantity is curvature, capacity or oil.
    pub over_curvature: Vec<(f64, f64)>,
}

/// One quantity varied.
pub struct Sweep {
    /// The quantity.
    pub quantity: Quantity,
    /// One per value, the common point first.
    pub spots: Vec<Spot>,
}

/// Works out, tells and draws.
///
/// # Errors
/// Refused values or files, a page that could not be written.
pub fn draw(out: &Path, setting: Option<&Path>, values: &EnvelopeValues) -> Result<Done, Failure> {
    let mut refusals = Vec::new();
    let page = match setting {
        Some(path) => Source::open(Kind::Setting, path)
            .and_then(|source| source.setting().map(|page| (page, source.name))),
        None => Ok((RawPage::default(), "defaults".to_owned())),
    };
    let page = keep(page, &mut refusals);
    let capacity_nm = page.as_ref().map_or(1100.0, |(page, _)| {
        f64::from(page.tunables.authority.capacity_nm)
    });
    let mut lists = Vec::new();
    for quantity in Quantity::ALL {
        let given = match quantity {
            Quantity::Speed => &values.speed,
            Quantity::Curvature => &values.curvature,
            Quantity::FrontSlip => &values.front_slip,
            Quantity::RearRadius => &values.rear_radius,
            Quantity::Capacity => &values.capacity,
            Quantity::Oil => &values.oil,
        };
        let list = match given {
            Some(text) => numbers(
                quantity.option(),
                text,
                quantity.range(),
                quantity.words().1,
            ),
            None => Ok(default_values(quantity, capacity_nm)),
        };
        lists.push((quantity, keep(list, &mut refusals).unwrap_or_default()));
    }
    let friction =
        numbers("--friction", &values.friction, (0.05, 1.2), "-").and_then(|list| match list[..] {
            [one] => Ok(one),
            _ => Err(vec![refusal(
                "`--friction` takes one value".into(),
                "one number from 0.05 to 1.2".into(),
                "ask once for each friction",
            )]),
        });
    let friction = keep(friction, &mut refusals);
    let (Some((page, setting)), Some(friction), true) = (page, friction, refusals.is_empty())
    else {
        return Err(Failure::Refused(refusals));
    };
    make_place(out)?;
    let mut common = Point {
        speed_m_s: 0.0,
        curvature_1_m: 0.0,
        front_slip: 0.0,
        radius_error: 0.0,
        capacity_nm: 0.0,
        oil_degc: 0.0,
        friction,
    };
    for (quantity, list) in &lists {
        quantity.set(&mut common, list[0]);
    }
    let sweeps: Vec<Sweep> = lists
        .into_iter()
        .map(|(quantity, list)| Sweep {
            quantity,
            spots: list
                .into_iter()
                .map(|value| spot(&page, quantity, common, value))
                .collect(),
        })
        .collect();
    write_page(out, "envelope.html", &reach::page(&setting, &sweeps))?;
    let place = out.join("envelope.html");
    Ok(Done {
        text: told(&setting, &sweeps) + &format!("Drawings: {}\n", place.display()),
        missed: false,
    })
}

/// The first point of the sweeps in words.
pub fn common_words(sweeps: &[Sweep]) -> String {
    let all: Vec<String> = sweeps
        .iter()
        .filter_map(|sweep| {
            let (name, unit) = sweep.quantity.words();
            let value = sweep.spots.first()?.value;
            Some(format!("{name} {} {unit}", plain(value)))
        })
        .collect();
    let friction = sweeps
        .first()
        .and_then(|sweep| sweep.spots.first())
        .map_or(0.0, |spot| spot.point.friction);
    format!("{}, friction {}", all.join(", "), plain(friction))
}

/// A value as it was typed.
pub fn plain(value: f64) -> String {
    // Adding zero takes the sign off a zero.
    format!("{}", value + 0.0)
}

/// A torque or moment to the newton metre.
pub fn whole(value_nm: f64) -> String {
    let rounded = value_nm.round() + 0.0;
    format!("{rounded:.0}")
}

/// Radii at which driving the outer wheel begins or ends, in words.
pub fn limit_words(spot: &Spot) -> String {
    if spot.crossings.is_empty() {
        let drives = spot.set.is_some() && closed_form_drives(spot);
        return if spot.set.is_none() {
            "-".into()
        } else if drives {
            "drives".into()
        } else {
            "never".into()
        };
    }
    let all: Vec<String> = spot
        .crossings
        .iter()
        .map(|crossing| {
            let way = if crossing.drives_below {
                "above"
            } else {
                "below"
            };
            format!("{way} {}", significant(crossing.radius_m(), 3))
        })
        .collect();
    all.join(", ")
}

fn closed_form_drives(spot: &Spot) -> bool {
    spot.outer
        .is_some_and(|outer| outer.sense != Sense::Backward)
}

fn capacity_range() -> (f64, f64) {
    ENTRIES
        .iter()
        .find(|entry| (entry.group, entry.name) == ("authority", "capacity_nm"))
        .map_or((200.0, 3000.0), |entry| {
            (f64::from(entry.low), f64::from(entry.high))
        })
}

fn default_values(quantity: Quantity, capacity_nm: f64) -> Vec<f64> {
    match quantity {
        Quantity::Speed => vec![60.0, 30.0, 80.0, 100.0],
        Quantity::Curvature => vec![0.01, 0.0, 0.005, 0.02, 0.03],
        Quantity::FrontSlip => vec![0.5, -1.0, 0.0, 1.5, 3.0],
        Quantity::RearRadius => vec![0.0, -2.0, -1.0, 1.0, 2.0],
        Quantity::Capacity => {
            let (low, high) = capacity_range();
            let mut list = vec![capacity_nm];
            for share in [0.25, 0.5, 1.5] {
                let value = (capacity_nm * share).clamp(low, high);
                if !list.contains(&value) {
                    list.push(value);
                }
            }
            list
        }
        Quantity::Oil => vec![80.0, 10.0, -10.0, -30.0, 130.0],
    }
}

/// Numbers of a list like `60,80`, each in its range and none twice.
fn numbers(
    option: &str,
    text: &str,
    (low, high): (f64, f64),
    unit: &str,
) -> Result<Vec<f64>, Vec<Refusal>> {
    let unit = if unit == "-" {
        String::new()
    } else {
        format!(" {unit}")
    };
    let allowed = format!(
        "1 to {MOST_VALUES} different numbers from {low} to {high}{unit}, separated by commas"
    );
    let mut refusals = Vec::new();
    let mut list: Vec<f64> = Vec::new();
    for part in text.split(',') {
        let part = part.trim();
        let what = match part.parse::<f64>() {
            Ok(value) if list.contains(&value) => format!("`{option}` has {part} twice"),
            Ok(value) if (low..=high).contains(&value) => {
                list.push(value);
                continue;
            }
            Ok(_) => format!("`{option}` has {part}, which is out of range"),
            Err(_) => format!("`{option}` has `{part}`, which is no number"),
        };
        refusals.push(refusal(
            what,
            allowed.clone(),
            "correct or leave out this value",
        ));
    }
    if list.len() > MOST_VALUES {
        refusals.push(refusal(
            format!("`{option}` has {} values", list.len()),
            allowed,
            "ask more than once",
        ));
    }
    if refusals.is_empty() {
        Ok(list)
    } else {
        Err(refusals)
    }
}

fn refusal(what: String, allowed: String, advice: &str) -> Refusal {
    Refusal::on_command_line(what, allowed, advice.into())
}

fn spot(page: &RawPage, quantity: Quantity, common: Point, value: f64) -> Spot {
    let mut point = common;
    quantity.set(&mut point, value);
    let within = point.within_grip();
    let reach = |point: Point| outer_reach(page, point, Sense::Unknown).ok();
    let swept = matches!(
        quantity,
        Quantity::Speed | Quantity::FrontSlip | Quantity::RearRadius
    );
    let over_curvature = if swept {
        let last = point.grip_curvature_1_m();
        (0..=OVER_CURVATURE)
            .filter_map(|step| {
                let curvature_1_m = last * f64::from(step) / f64::from(OVER_CURVATURE);
                let at = Point {
                    curvature_1_m,
                    ..point
                };
                Some((curvature_1_m, reach(at)?.torque_nm))
            })
            .collect()
    } else {
        Vec::new()
    };
    Spot {
        value,
        point,
        set: within.then(|| envelope(page, point).ok()).flatten(),
        outer: within.then(|| reach(point)).flatten(),
        crossings: Axle::new(page, point)
            .map(|axle| crossings(&axle))
            .unwrap_or_default(),
        over_curvature,
    }
}

fn told(setting: &str, sweeps: &[Sweep]) -> String {
    let mut text = format!(
        "What the axle can reach, setting `{setting}`\nAbout: {}\n\n",
        common_words(sweeps)
    );
    let heads = [
        "varied",
        "value",
        "outer wheel, N m",
        "set by",
        "drives, radius m",
        "yaw at no torque, N m",
        "full torque, N m",
        "yaw at full torque, N m",
    ]
    .map(str::to_owned)
    .to_vec();
    let mut rows = vec![heads];
    let mut corners = vec![
        [
            "point",
            "rear torque, N m",
            "yaw moment, N m",
            "edge to the next",
            "set by",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for sweep in sweeps {
        for (index, spot) in sweep.spots.iter().enumerate() {
            rows.push(row(sweep.quantity, spot));
            // The common point stands in every sweep; its corners are told once.
            if index > 0 || sweep.quantity == Quantity::Speed {
                corners.extend(corner_rows(sweep.quantity, spot));
            }
        }
    }
    text += &text::aligned(&rows, 1..3);
    text += "\nCorners of each set, counter-clockwise with the yaw moment upwards\n\n";
    text += &text::aligned(&corners, 1..3);
    text += "\nyaw moment: to the right .. to the left, positive to the left; torques at the wheel, positive driving\n\
             outer wheel: the torque furthest from zero its clutch can put on it; the right wheel on a straight road\n\
             drives: where the closed form says that the outer clutch can drive; never: nowhere within the grip\n\
             -: beyond the grip; none: the set does not reach there\n\n";
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text
}

/// Cells of the first table, without the corners.
fn row(quantity: Quantity, spot: &Spot) -> Vec<String> {
    let (name, unit) = quantity.words();
    let mut line = vec![name.to_owned(), format!("{} {unit}", plain(spot.value))];
    line.extend(cells(spot));
    line
}

/// Outer torque and what set it, limit radius, yaw moments at no torque, full torque, yaw moments there.
pub fn cells(spot: &Spot) -> [String; 6] {
    let (Some(set), Some(outer)) = (&spot.set, &spot.outer) else {
        return ["-", "beyond the grip", "-", "-", "-", "-"].map(str::to_owned);
    };
    let span = |low: f64, high: f64| {
        if low > high {
            "none".to_owned()
        } else if whole(low) == whole(high) {
            whole(low)
        } else {
            format!("{} .. {}", whole(low), whole(high))
        }
    };
    [
        whole(outer.torque_nm),
        outer.by.name().to_owned(),
        limit_words(spot),
        span(set.at_zero_nm.low, set.at_zero_nm.high),
        whole(set.full_nm),
        span(set.at_full_nm.low, set.at_full_nm.high),
    ]
}

fn corner_rows(quantity: Quantity, spot: &Spot) -> Vec<Vec<String>> {
    let (name, unit) = quantity.words();
    let mut label = format!("{name} {} {unit}", plain(spot.value));
    let mut rows = Vec::new();
    for corner in spot.set.iter().flat_map(|set| &set.corners) {
        rows.push(vec![
            std::mem::take(&mut label),
            whole(corner.rear_torque_nm),
            whole(corner.yaw_moment_nm),
            corner.part.words().to_owned(),
            corner.by.name().to_owned(),
        ]);
    }
    rows
}
