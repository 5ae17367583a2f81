//! `couplet life`: whole lives at event level, as tables and as drawings.
//!
//! In: missions, vehicle, setting. Every kind of event is driven once in the closed loop, then each mission lives its 6,000 h with the courses of heat
//! found there. Out: per mission heat, wear, oil, cycles, derating, what is left; the events; what the axle costs at cruise; `life.html`.
//! Limits: all missions are invented; wear, cycles to failure and oil life are guesses of the calibration table.

use std::path::{Path, PathBuf};

use couplet_controller::calibration::RawPage;
use couplet_sim::mission::Event;
use couplet_sim::mission::course::{Course, CruiseCost, course, cruise_cost};
use couplet_sim::mission::life::{Life, tunables, whole};
use couplet_sim::plant::Vehicle;
use couplet_sim::plant::heat::viscosity_index::viscosity_index;

use crate::bench::{Done, demo_vehicle, keep};
use crate::command_line::Kind;
use crate::failure::{Failure, Refusal};
use crate::files::Source;
use crate::output::number::significant;
use crate::output::{CAUTIONS, make_place, text, write_page};
use crate::parallel::{Progress, in_parallel};
use crate::report::mission;

/// Demo missions, in the order they are told.
const DEMO: [&str; 4] = ["family", "mountain-rescue", "towing", "circuit-days"];

/// Speeds at which the axle's cost is driven, km/h.
const CRUISE_KM_H: [f64; 3] = [50.0, 80.0, 120.0];

/// Half cycles from this class on are told: above 80 K with the table's defaults.
const LARGE_CLASS: usize = 4;

/// One mission and its life.
pub struct Lived {
    /// Its name.
    pub name: String,
    /// How it ended.
    pub life: Life,
}

/// Everything that is told.
pub struct Found {
    /// Missions.
    pub lives: Vec<Lived>,
    /// Events.
    pub courses: Vec<Course>,
    /// Cost at cruise.
    pub costs: Vec<CruiseCost>,
    /// The page.
    pub page: RawPage,
    /// Name of the setting.
    pub setting: String,
    /// The car with its oil.
    pub vehicle: Vehicle,
}

/// Lives, tells and draws.
///
/// # Errors
/// Refused files, a run that broke off, a page that could not be written.
pub fn live(
    out: &Path,
    missions: &[PathBuf],
    vehicle: Option<&Path>,
    setting: Option<&Path>,
) -> Result<Done, Failure> {
    let mut refusals: Vec<Refusal> = Vec::new();
    let vehicle = match vehicle {
        Some(path) => Source::open(Kind::Vehicle, path).and_then(|source| source.vehicle()),
        None => demo_vehicle()?.vehicle(),
    };
    let vehicle = keep(vehicle, &mut refusals);
    let page = match setting {
        Some(path) => Source::open(Kind::Setting, path)
            .and_then(|source| source.setting().map(|page| (page, source.name))),
        None => Ok((RawPage::default(), "defaults".to_owned())),
    };
    let page = keep(page, &mut refusals);
    let demo: Vec<PathBuf> = DEMO.iter().map(PathBuf::from).collect();
    let asked = if missions.is_empty() { &demo } else { missions };
    let mut sources = Vec::new();
    for path in asked {
        let read = Source::open(Kind::Mission, path)
            .and_then(|source| source.mission().map(|mission| (source, mission)));
        sources.extend(keep(read, &mut refusals));
    }
    let (Some(vehicle), Some((page, setting)), true) = (vehicle, page, refusals.is_empty()) else {
        return Err(Failure::Refused(refusals));
    };
    // What no mission does is not driven.
    let events: Vec<Event> = Event::ALL
        .into_iter()
        .filter(|event| {
            sources
                .iter()
                .any(|(_, mission)| event.often(mission) > 0.0)
        })
        .collect();
    let (courses, costs) = driven(&events, &vehicle, &page)?;
    for (source, mission) in &sources {
        keep(source.drivable(mission, &courses), &mut refusals);
    }
    if !refusals.is_empty() {
        return Err(Failure::Refused(refusals));
    }
    make_place(out)?;
    let table = tunables(&page).map_err(|_| Failure::UnknownSetting {
        name: setting.clone(),
    })?;
    let progress = Progress::new(sources.len(), "life", 1);
    let lives = in_parallel(
        sources.len(),
        |index| whole(&sources[index].1, &courses, &table, &mut |_| ()),
        |index, _| progress.done(&sources[index].0.name),
    );
    progress.finish();
    let mut lived = Vec::new();
    for ((source, _), life) in sources.into_iter().zip(lives) {
        let life = life.ok_or_else(|| Failure::Run {
            name: source.name.clone(),
        })?;
        lived.push(Lived {
            name: source.name,
            life,
        });
    }
    let found = Found {
        lives: lived,
        courses,
        costs,
        page,
        setting,
        vehicle,
    };
    write_page(out, "life.html", &mission::page(&found))?;
    let place = out.join("life.html");
    Ok(Done {
        text: told(&found) + &format!("Drawings: {}\n", place.display()),
        missed: false,
    })
}

/// Events and cruise in the closed loop.
fn driven(
    events: &[Event],
    vehicle: &Vehicle,
    page: &RawPage,
) -> Result<(Vec<Course>, Vec<CruiseCost>), Failure> {
    enum Driven {
        Course(Option<Course>),
        Cost(Option<CruiseCost>),
    }
    let count = events.len() + CRUISE_KM_H.len();
    let name = |index: usize| match events.get(index) {
        Some(event) => event.words().to_owned(),
        None => format!("cruise, {} km/h", CRUISE_KM_H[index - events.len()]),
    };
    let progress = Progress::new(count, "event", 1);
    let results = in_parallel(
        count,
        |index| match events.get(index) {
            Some(event) => Driven::Course(course(*event, vehicle, page)),
            None => Driven::Cost(cruise_cost(
                CRUISE_KM_H[index - events.len()],
                vehicle,
                page,
            )),
        },
        |index, _| progress.done(&name(index)),
    );
    progress.finish();
    let (mut courses, mut costs) = (Vec::new(), Vec::new());
    for (index, result) in results.into_iter().enumerate() {
        match result {
            Some(Driven::Course(Some(course))) => courses.push(course),
            Some(Driven::Cost(Some(cost))) => costs.push(cost),
            _ => return Err(Failure::Run { name: name(index) }),
        }
    }
    Ok((courses, costs))
}

/// A table of the missions: a line per quantity.
pub fn mission_rows(found: &Found) -> Vec<Vec<String>> {
    let mut head = vec!["over the whole life".to_owned(), "unit".to_owned()];
    head.extend(found.lives.iter().map(|lived| lived.name.clone()));
    let mut rows = vec![head];
    let mut row = |words: &str, unit: &str, cell: &dyn Fn(&Life) -> String| {
        let mut line = vec![words.to_owned(), unit.to_owned()];
        line.extend(found.lives.iter().map(|lived| cell(&lived.life)));
        rows.push(line);
    };
    let both =
        |left: f64, right: f64| format!("{} / {}", significant(left, 3), significant(right, 3));
    let percent = |share: f64| significant(100.0 * share, 2);
    row("way", "km", &|life| format!("{:.0}", life.way_km()));
    row("time awake", "h", &|life| format!("{:.0}", life.awake_h()));
    row("drives / events", "-", &|life| {
        format!("{} / {}", life.drives, life.events)
    });
    row("engagements, left / right", "-", &|life| {
        let clutch = &life.counters.clutch;
        format!("{} / {}", clutch.left.engagements, clutch.right.engagements)
    });
    row("heat, left / right", "MJ", &|life| {
        let heat = life.heat_j();
        both(1e-6 * heat.left, 1e-6 * heat.right)
    });
    row("heat per way, both", "Wh/km", &|life| {
        let heat = life.heat_j();
        significant((heat.left + heat.right) / 3600.0 / life.way_km(), 3)
    });
    row("wear of a face, left / right", "um", &|life| {
        both(life.wear_um.left, life.wear_um.right)
    });
    row("clutch life used by wear, the more worn", "%", &|life| {
        let limit = f64::from(found.page.tunables.life_count.wear_limit_um);
        percent(life.wear_um.larger() / limit)
    });
    row("clutch life used by cycles, the more used", "%", &|life| {
        percent(life.cycles_used.larger())
    });
    row("surface cycles over 80 K, left / right", "-", &|life| {
        let large = life.cycles.map(|cycles| {
            cycles.halves[LARGE_CLASS..]
                .iter()
                .map(|halves| u64::from(*halves))
                .sum::<u64>()
                / 2
        });
        format!("{} / {}", large.left, large.right)
    });
    row("oil age at the reference temperature", "h", &|life| {
        format!("{:.0}", life.oil_age_h)
    });
    row("oil changes due", "-", &|life| life.oil_changes.to_string());
    row("hottest surface / oil", "degC", &|life| {
        format!("{:.0} / {:.0}", life.hottest_degc.0, life.hottest_degc.1)
    });
    row("time with capacity withdrawn by heat", "h", &|life| {
        significant(life.derated_h(), 3)
    });
    row("time left at the same use", "h", &|life| {
        significant(life.left_h, 3)
    });
    rows
}

/// The events as driven.
pub fn event_rows(found: &Found) -> Vec<Vec<String>> {
    let mut rows = vec![
        [
            "event, driven once in the closed loop",
            "time, s",
            "way, m",
            "heat left, kJ",
            "heat right, kJ",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for course in &found.courses {
        let heat = course.heat_j();
        rows.push(vec![
            course.event.words().to_owned(),
            format!("{:.0}", course.time_s()),
            format!("{:.0}", course.way_m()),
            significant(1e-3 * heat.left, 3),
            significant(1e-3 * heat.right, 3),
        ]);
    }
    rows
}

/// The cost at cruise.
pub fn cruise_rows(found: &Found) -> Vec<Vec<String>> {
    let mut rows = vec![
        [
            "cruise, km/h",
            "open, % of time",
            "loss, W",
            "held open, W",
            "front axle alone, W",
            "the axle's cost, Wh/km",
            "all power, Wh/km",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for cost in &found.costs {
        let [own, open, front] = cost.loss_w;
        rows.push(vec![
            format!("{}", cost.speed_km_h),
            format!("{:.1}", 100.0 * cost.open_share),
            format!("{own:.0}"),
            format!("{open:.0}"),
            format!("{front:.0}"),
            format!("{:.2}", cost.wh_km(own - front)),
            format!("{:.0}", cost.wh_km(cost.power_w)),
        ]);
    }
    rows
}

/// The axle's oil.
fn oil_in_words(vehicle: &Vehicle) -> String {
    let oil = &vehicle.oil;
    let (at_40, at_100) = (oil.viscosity_40_mm2_s, oil.viscosity_100_mm2_s);
    let index = viscosity_index(at_40, at_100)
        .map_or_else(|| "not defined".to_owned(), |index| format!("{index:.0}"));
    format!(
        "oil of the vehicle file: {at_40} mm2/s at 40 degC, {at_100} mm2/s at 100 degC, viscosity index {index} (ASTM D2270)"
    )
}

/// What the numbers rest on.
pub fn assumptions(found: &Found) -> [String; 5] {
    let life = &found.page.tunables.life_count;
    [
        format!(
            "wear: depth = k E / (mu A) with k = {} mm3/GJ, mu = {}, A = {} mm2; used up at {} um; k and the limit are guesses",
            life.wear_mm3_gj, life.wear_friction, life.lining_area_mm2, life.wear_limit_um
        ),
        format!(
            "cycles of the surface: rainflow, Miner, N = {} thousand at {} K with slope {}; guesses",
            life.cycle_reference_thousand, life.cycle_reference_k, life.cycle_exponent
        ),
        format!(
            "oil: Arrhenius with {} kJ/mol, due after {} h at {} degC; guesses",
            life.oil_activation_j_mol / 1000.0,
            life.oil_life_h,
            life.oil_reference_degc
        ),
        oil_in_words(&found.vehicle),
        "heat is the law's own estimate, where an open clutch makes none; the cost at cruise is the plant's, with drag of the open packs and the take-off".to_owned(),
    ]
}

fn told(found: &Found) -> String {
    let mut text = format!(
        "Whole lives at event level, setting `{}`; every mission is invented\n\n",
        found.setting
    );
    let columns = 2 + found.lives.len();
    text += &text::aligned(&mission_rows(found), 2..columns);
    text += "\n";
    text += &text::aligned(&event_rows(found), 1..5);
    text += "\n";
    text += &text::aligned(&cruise_rows(found), 0..7);
    text += "\n";
    for assumption in assumptions(found) {
        text += &format!("{assumption}\n");
    }
    text += "\n";
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text
}
