//! `couplet correlate --fit`: mass, tyre stiffness and friction of invented cars from their recorded drives, with sensor noise and delay.
//!
//! Truth: the numbers the drives were made with (the plant itself, so what a real car has besides is not judged here). Noise, steps, jitter
//! and loss of the sensors are the scenarios' defaults; the delay is 5 ms, for odd cars 20 ms.

mod support;

use support::{Folder, couplet, text_of};

/// Mass, front and rear stiffness, friction: spread over +-15 %, +-20 %, +-20 %, 0.5 to 1 by the golden ratio and its like (additive
/// recurrence, from memory).
fn car(index: usize) -> [f64; 4] {
    let share = |step: f64| (0.5 + step * (index as f64 + 1.0)).fract();
    [
        0.85 + 0.3 * share(0.856_674_884),
        0.8 + 0.4 * share(0.733_891_857),
        0.8 + 0.4 * share(0.628_706_721),
        0.5 + 0.5 * share(0.538_596_921),
    ]
}

fn vehicle_file(folder: &Folder, [mass, front, rear, _]: [f64; 4]) {
    let mut text = format!(
        "[body]\nmass_kg = {}\nyaw_inertia_kg_m2 = {}\n",
        1720.0 * mass,
        2900.0 * mass
    );
    for (axle, stiffness) in [("front", front), ("rear", rear)] {
        text += &format!(
            "[tyre_{axle}]\nleft_stiffness_scale = {stiffness}\nright_stiffness_scale = {stiffness}\n"
        );
    }
    folder.file("car.toml", text.as_bytes());
}

/// Records a drive; gives recording and mapping.
fn record(
    folder: &Folder,
    name: &str,
    manoeuvre: &str,
    friction: f64,
    more: &str,
) -> (String, String) {
    let text = format!(
        "[scenario]\nname = \"{name}\"\nmanoeuvre = \"{manoeuvre}\"\naxle = \"paired\"\nseed = 7\n\
         [road]\nfriction_left = {friction}\nfriction_right = {friction}\n{more}"
    );
    let file = folder.file(&format!("{name}.toml"), text.as_bytes());
    let words = [
        "export",
        "measurement",
        &file,
        "--vehicle",
        "car.toml",
        "--out",
        "logs",
    ];
    let (status, _, refused) = couplet(folder, &words);
    assert_eq!(status, Some(0), "{refused}");
    (format!("logs/{name}.mf4"), format!("logs/{name}.map.toml"))
}

/// Three drives that tell everything: accelerating, a sine and a step of steering at 85 % of the grip.
fn recorded(folder: &Folder, index: usize) -> (Vec<String>, String) {
    let numbers = car(index);
    vehicle_file(folder, numbers);
    let friction = numbers[3];
    let sensors = if index % 2 == 1 {
        "[sensors]\ndelay_steps = 4.0\n"
    } else {
        ""
    };
    let quick = 0.85 * 9.81 * friction;
    let (push, map) = record(
        folder,
        "push",
        "tip-in",
        friction,
        &format!("[course]\nlongest_s = 6.0\n[driver]\npedal = 0.5\n{sensors}"),
    );
    let course =
        format!("[course]\nspeed_m_s = 27.0\nlateral_acceleration_m_s2 = {quick}\n{sensors}");
    let (sine, _) = record(folder, "sine", "one-period-sine", friction, &course);
    let (step, _) = record(folder, "step", "step-steer", friction, &course);
    (vec![push, sine, step], map)
}

fn fitted(
    folder: &Folder,
    logs: &[String],
    map: &str,
    more: &[&str],
) -> (Option<i32>, String, String) {
    let mut words = vec!["correlate"];
    words.extend(logs.iter().map(String::as_str));
    words.extend(["--map", map]);
    words.extend(more);
    couplet(folder, &words)
}

/// Number, lower and upper end told of a row; nothing if it was refused.
fn row(said: &str, name: &str) -> Option<[f64; 3]> {
    let line = said
        .lines()
        .find(|line| line.starts_with(name))
        .expect(name);
    let words: Vec<&str> = line[name.len()..].split_whitespace().collect();
    let number = |place: usize| words.get(place)?.parse().ok();
    Some([number(1)?, number(2)?, number(3)?])
}

const ALL: [&str; 2] = ["--fit", "mass,tyre-stiffness,friction"];
const ROWS: [(&str, f64); 4] = [
    ("mass and yaw inertia, factor", 0.05),
    ("stiffness of the front tyres, factor", 0.08),
    ("stiffness of the rear tyres, factor", 0.08),
    ("friction of the road", 0.05),
];

/// How many of these cars' numbers lie outside their told intervals; every number must lie within 5 %, stiffness within 8 %.
fn outside(cars: std::ops::Range<usize>) -> usize {
    let mut outside = 0;
    for index in cars {
        let folder = Folder::new(&format!("fit-{index}"));
        let (logs, map) = recorded(&folder, index);
        let (status, said, refused) = fitted(&folder, &logs, &map, &ALL);
        assert_eq!(status, Some(0), "car {index}: {refused}");
        for ((name, most), truth) in ROWS.into_iter().zip(car(index)) {
            let [found, low, high] =
                row(&said, name).unwrap_or_else(|| panic!("car {index}: {said}"));
            println!("car {index} {name}: {truth:.4}, told {found} ({low} to {high})");
            assert!(
                (found / truth - 1.0).abs() < most,
                "car {index}, {truth}: {said}"
            );
            assert!(
                high - low < 0.2 * found,
                "an interval that says nothing: {said}"
            );
            outside += usize::from(!(low..=high).contains(&truth));
        }
    }
    outside
}

// Ten cars in five parts, so that none is long. By chance one number of one car in ten might lie outside; none does.

#[test]
fn true_numbers_of_cars_0_and_1_lie_inside_the_told_intervals() {
    assert_eq!(outside(0..2), 0);
}

#[test]
fn true_numbers_of_cars_2_and_3_lie_inside_the_told_intervals() {
    assert_eq!(outside(2..4), 0);
}

#[test]
fn true_numbers_of_cars_4_and_5_lie_inside_the_told_intervals() {
    assert_eq!(outside(4..6), 0);
}

#[test]
fn true_numbers_of_cars_6_and_7_lie_inside_the_told_intervals() {
    assert_eq!(outside(6..8), 0);
}

#[test]
fn true_numbers_of_cars_8_and_9_lie_inside_the_told_intervals() {
    assert_eq!(outside(8..10), 0);
}

#[test]
fn a_number_the_drives_do_not_tell_is_refused_by_name() {
    let folder = Folder::new("fit-refused");
    vehicle_file(&folder, [1.0, 0.9, 1.1, 0.9]);
    let (calm, map) = record(
        &folder,
        "calm",
        "frequency-sweep",
        0.9,
        "[course]\nlongest_s = 20.0\n",
    );
    let (status, said, refused) = fitted(&folder, &[calm], &map, &ALL);
    assert_eq!(status, Some(0), "{refused}");
    assert!(
        row(&said, ROWS[0].0).is_none() && row(&said, ROWS[3].0).is_none(),
        "{said}"
    );
    assert!(
        said.contains("REFUSED: with known torque and without brake the car accelerates"),
        "{said}"
    );
    assert!(said.contains("REFUSED: the drives use"), "{said}");
    for (name, truth) in [(ROWS[1].0, 0.9), (ROWS[2].0, 1.1)] {
        let [found, low, high] = row(&said, name).expect(name);
        assert!(
            low <= truth && truth <= high && (found / truth - 1.0).abs() < 0.08,
            "{said}"
        );
    }
    let file = text_of(&folder.path("couplet-out/fitted.toml"));
    assert!(file.contains("mass_kg = 1720.0"), "{file}");
    // Straight ahead nothing is told, and nothing is written.
    let (straight, map) = record(&folder, "straight", "straight-ahead", 0.9, "");
    let (status, _, refused) = fitted(
        &folder,
        &[straight],
        &map,
        &[&ALL[..], &["--to", "none.toml"]].concat(),
    );
    assert_eq!(status, Some(2), "{refused}");
    for (name, _) in ROWS {
        assert!(
            refused.contains(&format!("{name}: not told by these drives")),
            "{refused}"
        );
    }
    assert!(!folder.path("none.toml").exists());
}

#[test]
fn mass_without_the_delivered_torque_is_refused_and_a_fit_never_writes_over_a_file() {
    let folder = Folder::new("fit-torque");
    let (logs, map) = recorded(&folder, 2);
    let text = text_of(&folder.path(&map));
    let (before, rest) = text.split_once("[carrier_torque]\n").expect("a table");
    let rest = rest.split_once("\n[").expect("a table behind it").1;
    folder.file("without.toml", format!("{before}[{rest}").as_bytes());
    let to = ["--to", "fitted.toml"];
    let more = [&ALL[..], &to].concat();
    let (status, said, refused) = fitted(&folder, &logs, "without.toml", &more);
    assert_eq!(status, Some(0), "{refused}");
    assert!(
        said.contains("REFUSED: no drive has the delivered torque"),
        "{said}"
    );
    // What was written is a vehicle file, and the car lies inside its corridor with it.
    let (status, again, refused) = fitted(
        &folder,
        &logs[1..],
        &map,
        &["--vehicle", "fitted.toml", "--hold-speed"],
    );
    assert_eq!(status, Some(0), "{refused}");
    assert!(again.contains("inside"), "{again}");
    let kept = text_of(&folder.path("fitted.toml"));
    let (status, _, refused) = fitted(&folder, &logs, &map, &more);
    assert_eq!(status, Some(2));
    assert!(
        refused.contains("fitted.toml is there already"),
        "{refused}"
    );
    assert_eq!(text_of(&folder.path("fitted.toml")), kept);
    let (status, _, refused) = fitted(&folder, &logs, &map, &["--fit", "mas"]);
    assert_eq!(status, Some(2));
    assert!(
        refused.contains("mass, tyre-stiffness, friction"),
        "{refused}"
    );
}
