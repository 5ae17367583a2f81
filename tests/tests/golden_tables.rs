//! Closed-loop behaviour over friction, speed and axle, as tables a person can read; compared cell by cell.
//!
//! In: the demo car on every axle, paired clutches with setting `patrol`. Out: `tests/golden/friction_speed_axle.txt`. A
//! cell that moved fails the test and is printed as physics: what, where, from, to. The file is written anew only with
//! `COUPLET_BLESS_GOLDEN="why the behaviour moved"`; the reason stands at its head, newest first. Values are rounded to
//! what a driver or a test engineer could tell apart, so that rounding alone moves few cells. No cell is a target: those
//! are rows of the demo programme.

use couplet_sim::metrics::value;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::run::{Ending, run};
use couplet_sim::scenario::{Manoeuvre, Scenario, layout_name};
use couplet_tests::demo_page;
use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

const FRICTIONS: [f64; 4] = [0.2, 0.4, 0.6, 0.95];
const SPEEDS_KM_H: [f64; 3] = [40.0, 80.0, 120.0];
const GRADES_PERCENT: [f64; 2] = [0.0, 10.0];
/// m/s2, good enough to place a manoeuvre in the grip.
const GRAVITY_M_S2: f64 = 9.81;
const FLAG: &str = "COUPLET_BLESS_GOLDEN";

/// One manoeuvre over its grid, and the metrics that get a table each.
struct Grid {
    title: &'static str,
    rows: Vec<(String, Scenario)>,
    /// Metric, unit, decimals.
    shown: &'static [(&'static str, &'static str, usize)],
}

fn grids() -> [Grid; 3] {
    let over_speed = |manoeuvre, set: fn(&mut Scenario, f64, f64)| {
        let mut rows = Vec::new();
        for friction in FRICTIONS {
            for kilometre_hour in SPEEDS_KM_H {
                let mut scenario = Scenario::of(manoeuvre);
                scenario.numbers.road.friction_left = friction;
                scenario.numbers.road.friction_right = friction;
                set(&mut scenario, friction, kilometre_hour / 3.6);
                rows.push((
                    format!("friction {friction}, {kilometre_hour} km/h"),
                    scenario,
                ));
            }
        }
        rows
    };
    let mut launches = Vec::new();
    for friction in FRICTIONS {
        for grade in GRADES_PERCENT {
            let mut scenario = Scenario::of(Manoeuvre::SplitLaunch);
            scenario.numbers.road.friction_right = friction;
            scenario.numbers.road.grade_percent = grade;
            launches.push((format!("friction 0.1 and {friction}, {grade} %"), scenario));
        }
    }
    [
        Grid {
            title: "step steer to 40 % of the grip",
            rows: over_speed(Manoeuvre::StepSteer, |scenario, friction, speed_m_s| {
                scenario.numbers.course.speed_m_s = speed_m_s;
                scenario.numbers.course.lateral_acceleration_m_s2 = 0.4 * friction * GRAVITY_M_S2;
            }),
            shown: &[
                ("yaw rate overshoot", "%", 0),
                ("yaw rate response time", "s", 2),
            ],
        },
        Grid {
            title: "lift-off at 60 % of the grip",
            rows: over_speed(Manoeuvre::LiftOff, |scenario, friction, speed_m_s| {
                let lateral = 0.6 * friction * GRAVITY_M_S2;
                scenario.numbers.course.lateral_acceleration_m_s2 = lateral;
                scenario.numbers.course.radius_m = speed_m_s * speed_m_s / lateral;
            }),
            shown: &[
                ("curvature after 1 s over initial", "-", 2),
                ("sideslip change, largest", "deg", 1),
            ],
        },
        Grid {
            title: "launch with one side slippery, grade",
            rows: launches,
            shown: &[
                ("time to 20 km/h", "s", 1),
                ("clutch energy, hotter side", "kJ", 1),
            ],
        },
    ]
}

/// Title, then one line of cells per row of the grid.
#[derive(Debug, Clone, PartialEq)]
struct Table {
    title: String,
    rows: Vec<(String, Vec<String>)>,
}

/// Every table, driven.
fn driven() -> Vec<Table> {
    let grids = grids();
    let mut jobs = Vec::new();
    for grid in &grids {
        for (_, scenario) in &grid.rows {
            for layout in AxleLayout::ALL {
                let mut scenario = scenario.clone();
                scenario.layout = layout;
                jobs.push((scenario, grid.shown));
            }
        }
    }
    // Two threads: each job is a value, so order does not matter.
    let next = AtomicUsize::new(0);
    let cells = Mutex::new(vec![Vec::new(); jobs.len()]);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                let page = demo_page("patrol");
                while let Some((index, (scenario, shown))) = {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    jobs.get(index).map(|job| (index, job))
                } {
                    let made = cells_of(scenario, shown, &page);
                    cells.lock().expect("no thread panicked")[index] = made;
                }
            });
        }
    });
    let cells = cells.into_inner().expect("no thread panicked");
    let mut tables = Vec::new();
    let mut first = 0;
    for grid in &grids {
        for (place, (name, unit, _)) in grid.shown.iter().enumerate() {
            let row = |(index, (key, _)): (usize, &(String, Scenario))| {
                let from = first + index * AxleLayout::ALL.len();
                let cells = cells[from..from + AxleLayout::ALL.len()].iter();
                (key.clone(), cells.map(|made| made[place].clone()).collect())
            };
            tables.push(Table {
                title: format!("{}: {name} [{unit}]", grid.title),
                rows: grid.rows.iter().enumerate().map(row).collect(),
            });
        }
        first += grid.rows.len() * AxleLayout::ALL.len();
    }
    tables
}

fn cells_of(
    scenario: &Scenario,
    shown: &[(&str, &str, usize)],
    page: &couplet_controller::RawPage,
) -> Vec<String> {
    let result = run(scenario, &Vehicle::default(), page);
    let cell = |(name, _, decimals): &(&str, &str, usize)| {
        if result.outcome.ended == Ending::Spun {
            return "spun".to_owned();
        }
        let text = value(&result.metrics, name).map(|value| format!("{value:.decimals$}"));
        // A rounded zero has no sign.
        text.map_or("never".to_owned(), |text| match text.strip_prefix('-') {
            Some(size) if size.parse() == Ok(0.0) => size.to_owned(),
            _ => text,
        })
    };
    shown.iter().map(cell).collect()
}

fn written(tables: &[Table], reasons: &[String]) -> String {
    let mut text = format!(
        "Closed-loop behaviour over friction, speed and axle\n\
         The demo car, sensors with noise, seed 0; axle `paired` with setting `patrol`. All data invented.\n\
         To write anew: {FLAG}=\"why the behaviour moved\" cargo test -p couplet-tests --test golden_tables\n\
         Why it moved, newest first:\n"
    );
    for reason in reasons {
        text += &format!("- {reason}\n");
    }
    for table in tables {
        text += &format!("\n== {} ==\n{:32}", table.title, "");
        for layout in AxleLayout::ALL {
            text += &format!(" | {:>18}", layout_name(layout));
        }
        text.push('\n');
        for (key, cells) in &table.rows {
            text += &format!("{key:32}");
            for cell in cells {
                text += &format!(" | {cell:>18}");
            }
            text.push('\n');
        }
    }
    text
}

/// Reasons and tables of a written file.
fn read(text: &str) -> (Vec<String>, Vec<Table>) {
    let (mut reasons, mut tables) = (Vec::new(), Vec::<Table>::new());
    for line in text.lines() {
        if let Some(reason) = line.strip_prefix("- ") {
            reasons.push(reason.to_owned());
        } else if let Some(title) = line
            .strip_prefix("== ")
            .and_then(|rest| rest.strip_suffix(" =="))
        {
            tables.push(Table {
                title: title.to_owned(),
                rows: Vec::new(),
            });
        } else if let (Some(table), Some((key, cells))) = (tables.last_mut(), line.split_once('|'))
            && !key.trim().is_empty()
        {
            let cells = cells.split('|').map(|cell| cell.trim().to_owned());
            table.rows.push((key.trim().to_owned(), cells.collect()));
        }
    }
    (reasons, tables)
}

/// Every cell that moved, in words.
fn moved(old: &[Table], new: &[Table]) -> Vec<String> {
    let mut lines = Vec::new();
    for table in new {
        let before = old.iter().find(|one| one.title == table.title);
        for (key, cells) in &table.rows {
            let row = before.and_then(|one| one.rows.iter().find(|(name, _)| name == key));
            for (place, (layout, cell)) in AxleLayout::ALL.into_iter().zip(cells).enumerate() {
                let was = row
                    .and_then(|(_, cells)| cells.get(place))
                    .map_or("nothing", String::as_str);
                if was != cell {
                    let axle = layout_name(layout);
                    lines.push(format!("{}, {key}, {axle}: {was} -> {cell}", table.title));
                }
            }
        }
    }
    for table in old {
        let after = new.iter().find(|one| one.title == table.title);
        for (key, _) in &table.rows {
            if !after.is_some_and(|one| one.rows.iter().any(|(name, _)| name == key)) {
                lines.push(format!("{}, {key}: no longer there", table.title));
            }
        }
    }
    lines
}

/// The reason to write anew, if one was given.
fn reason(flag: Option<&str>) -> Result<Option<String>, String> {
    let Some(flag) = flag else { return Ok(None) };
    let words: Vec<&str> = flag.split_whitespace().collect();
    if words.len() < 3 {
        return Err(format!(
            "{FLAG} must say in at least three words why the behaviour moved; it says {flag:?}"
        ));
    }
    Ok(Some(words.join(" ")))
}

#[test]
fn behaviour_over_friction_speed_and_axle_is_what_the_golden_tables_say() {
    let place = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("golden/friction_speed_axle.txt");
    let flag = std::env::var(FLAG).ok();
    let why = reason(flag.as_deref()).expect("a reason");
    let found = std::fs::read_to_string(&place).unwrap_or_default();
    let (mut reasons, old) = read(&found);
    let new = driven();
    let lines = moved(&old, &new);
    if let Some(why) = why
        && !lines.is_empty()
    {
        reasons.insert(0, why);
        std::fs::write(&place, written(&new, &reasons)).expect("the golden folder is writable");
        println!("{} cells moved:\n{}", lines.len(), lines.join("\n"));
        return;
    }
    assert!(
        lines.is_empty(),
        "{} cells moved:\n{}\nIf this is meant: {FLAG}=\"why\" cargo test -p couplet-tests --test golden_tables",
        lines.len(),
        lines.join("\n")
    );
    // The file says nothing but what the test writes.
    assert_eq!(found, written(&new, &reasons));
}

#[test]
fn nothing_is_blessed_without_a_reason() {
    assert_eq!(reason(None), Ok(None));
    for empty in ["", " ", "1", "yes", "new values", "\n\t"] {
        assert!(reason(Some(empty)).is_err(), "{empty:?}");
    }
    assert_eq!(
        reason(Some(" the outer clutch\nopens later ")),
        Ok(Some("the outer clutch opens later".to_owned()))
    );
}

#[test]
fn a_moved_cell_is_told_as_physics_and_a_written_file_reads_back() {
    let row = |cells: [&str; 5]| cells.map(str::to_owned).to_vec();
    let table = |cells| Table {
        title: "lift-off: curvature [-]".to_owned(),
        rows: vec![("friction 0.6, 80 km/h".to_owned(), row(cells))],
    };
    let old = [table(["1.10", "1.05", "1.08", "1.15", "1.02"])];
    let new = [table(["1.10", "1.05", "1.08", "1.15", "spun"])];
    assert_eq!(
        moved(&old, &new),
        ["lift-off: curvature [-], friction 0.6, 80 km/h, paired: 1.02 -> spun"]
    );
    assert_eq!(moved(&[], &new).len(), 5);
    assert_eq!(
        moved(&old, &[]),
        ["lift-off: curvature [-], friction 0.6, 80 km/h: no longer there"]
    );
    let reasons = ["second".to_owned(), "first".to_owned()];
    assert_eq!(
        read(&written(&old, &reasons)),
        (reasons.to_vec(), old.to_vec())
    );
}
