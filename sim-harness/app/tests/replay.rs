//! `couplet export measurement`, `replay` and `correlate` from the command line: exact replays, refusals with a place, regression tables,
//! proposals, fits. All drives are invented.

mod support;

use couplet_exchange::mdf;
use couplet_sim::record::recording::Recording;
use support::{Folder, couplet, text_of};

/// A drive as a recording in `folder/logs`; gives the names of recording and mapping.
fn recorded(folder: &Folder, run: &str, more: &[&str]) -> (String, String) {
    let mut words = vec!["export", "measurement", run, "--out", "logs"];
    words.extend(more);
    let (status, said, refused) = couplet(folder, &words);
    assert_eq!(status, Some(0), "{refused}");
    let find = |ending: &str| {
        said.lines()
            .filter_map(|line| line.strip_prefix("written: "))
            .find(|path| path.ends_with(ending))
            .expect(ending)
            .to_owned()
    };
    let log = if more.contains(&"csv") {
        "-law.csv"
    } else {
        ".mf4"
    };
    (find(log), find(".map.toml"))
}

fn read(folder: &Folder, name: &str) -> Recording {
    let file = std::fs::File::open(folder.path(name)).expect("there");
    mdf::read(file, &mdf::Limits::default(), &|_| true)
        .expect("readable")
        .recording
}

#[test]
fn a_recorded_run_of_the_programme_replays_to_the_bit_from_the_command_line() {
    let folder = Folder::new("replay-exact");
    for form in [&["--form", "mdf"][..], &["--form", "csv"]] {
        let (log, map) = recorded(&folder, "lift-off-paired", form);
        let words = [
            "replay",
            &log,
            "--map",
            &map,
            "--setting",
            "patrol",
            "--out",
            "again",
        ];
        let (status, said, refused) = couplet(&folder, &words);
        assert_eq!(status, Some(0), "{refused}");
        let rows: Vec<&str> = said
            .lines()
            .filter(|line| line.contains(" recorded "))
            .collect();
        assert!(rows.iter().all(|row| row.contains(" 0 of ")), "{said}");
        assert_eq!(rows.len(), 2, "{said}");
    }
    let (driven, again) = (
        read(&folder, "logs/lift-off-paired.mf4"),
        read(&folder, "again/lift-off-paired-replay.mf4"),
    );
    for side in ["output.torque_left", "output.torque_right"] {
        let of = |recording: &Recording| recording.find(side).expect("a channel").1.values.clone();
        assert_eq!(of(&driven), of(&again));
        assert!(of(&driven).iter().any(|torque| *torque > 50.0));
    }
}

#[test]
fn a_log_of_the_bus_replays_without_a_mapping_to_what_the_drive_recorded() {
    let folder = Folder::new("replay-bus");
    let drive = [
        "drive",
        "split-launch-10",
        "--bus",
        "launch.txt",
        "--out",
        "driven",
    ];
    let (status, _, refused) = couplet(&folder, &drive);
    assert_eq!(status, Some(0), "{refused}");
    let (status, _, refused) = couplet(&folder, &["replay", "launch.txt", "--out", "again"]);
    assert_eq!(status, Some(0), "{refused}");
    let again = read(&folder, "again/launch-replay.mf4");
    let torque = &again
        .find("output.torque_left")
        .expect("a channel")
        .1
        .values;
    let files = folder.all_files("driven");
    let csv = files
        .iter()
        .find(|(name, _)| name.ends_with(".csv"))
        .expect("a record")
        .1;
    let csv = String::from_utf8(csv.clone()).expect("text");
    let place = csv
        .lines()
        .next()
        .and_then(|header| {
            header
                .split(',')
                .position(|cell| cell.starts_with("torque_given_left"))
        })
        .expect("a column");
    let driven: Vec<f64> = csv
        .lines()
        .skip(1)
        .map(|line| {
            line.split(',')
                .nth(place)
                .expect("a cell")
                .parse::<f32>()
                .expect("a number")
                .into()
        })
        .collect();
    // The record begins after the lead of the manoeuvre.
    assert_eq!(&torque[torque.len() - driven.len()..], driven.as_slice());
    assert!(driven.iter().any(|torque| *torque > 50.0));
    folder.file(
        "cut.txt",
        &std::fs::read(folder.path("launch.txt")).expect("there")[..5000],
    );
    let (status, _, refused) = couplet(&folder, &["replay", "cut.txt"]);
    assert_eq!(status, Some(2));
    assert!(refused.contains("cut.txt:"), "{refused}");
}

#[test]
fn a_wrong_sign_in_a_mapping_stops_the_replay_at_its_line_unless_told_to_go_on() {
    let folder = Folder::new("replay-sign");
    let (log, map) = recorded(&folder, "lift-off-paired", &[]);
    let text = text_of(&folder.path(&map));
    let wrong = text.replace("[yaw_rate]\n", "[yaw_rate]\nsign = -1\n");
    let place = 1 + wrong
        .lines()
        .position(|line| line == "[yaw_rate]")
        .expect("a table");
    folder.file("wrong.toml", wrong.as_bytes());
    let words = ["replay", &log, "--map", "wrong.toml", "--out", "out"];
    let (status, _, refused) = couplet(&folder, &words);
    assert_eq!(status, Some(2), "{refused}");
    assert!(
        refused.contains(&format!("wrong.toml:{place}:1: ")),
        "{refused}"
    );
    assert!(
        refused.contains("[yaw_rate] has the wrong sign"),
        "{refused}"
    );
    assert!(!folder.path("out/lift-off-paired-replay.mf4").exists());
    let (status, said, _) = couplet(&folder, &[&words[..], &["--as-mapped"]].concat());
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("REPLAYED AS MAPPED"), "{said}");
}

#[test]
fn every_fault_of_a_mapping_is_told_with_file_line_and_column() {
    let folder = Folder::new("replay-map");
    folder.file(
        "log.csv",
        b"time [s],yaw,swa [deg],whl [km/h]\n0,0,0,0\n1,0,0,0\n",
    );
    for (text, place, what) in [
        (
            "[yaw_rat]\nchannel = \"yaw\"\n",
            "1:2",
            "did you mean `yaw_rate`?",
        ),
        (
            "[yaw_rate]\nchannel = \"yow\"\n",
            "2:11",
            "did you mean `yaw`?",
        ),
        (
            "[yaw_rate]\nchannel = \"yaw\"\n",
            "1:2",
            "the recording tells no unit",
        ),
        (
            "[yaw_rate]\nchannel = \"yaw\"\nunit = \"rad\"\n",
            "3:8",
            "cannot become rad/s",
        ),
        (
            "[yaw_rate]\nchannel = \"yaw\"\nunit = \"rad/s\"\nsign = 0.5\n",
            "4:8",
            "1 or -1",
        ),
        (
            "[wheel_speed_rear_left]\nchannel = \"whl\"\n",
            "1:2",
            "radius_m",
        ),
        ("[yaw_rate]\nconstant = 9.0\n", "2:12", "out of range"),
        (
            "[yaw_rate]\nchanel = \"yaw\"\n",
            "2:1",
            "did you mean `channel`?",
        ),
        (
            "[steering_wheel_angle]\nchannel = \"swa\"\nbetween = \"x\"\n",
            "3:11",
            "hold, line",
        ),
        (
            "[recorded.torque]\nchannel = \"yaw\"\n",
            "1:11",
            "no output `torque`",
        ),
        ("", "1:1", "names no input"),
        ("[yaw_rate\n", "1:", "syntax error"),
    ] {
        folder.file("map.toml", text.as_bytes());
        let (status, _, refused) = couplet(&folder, &["replay", "log.csv", "--map", "map.toml"]);
        assert_eq!(status, Some(2), "{text}: {refused}");
        assert!(
            refused.contains(&format!("map.toml:{place}")),
            "{text}: {refused}"
        );
        assert!(refused.contains(what), "{text}: {refused}");
    }
    folder.file("bad.csv", b"time [s],yaw\n0,x\n");
    let (_, _, refused) = couplet(&folder, &["replay", "bad.csv", "--map", "map.toml"]);
    assert!(
        refused.contains("bad.csv:2:3: `x` is no number"),
        "{refused}"
    );
    folder.file("bad.mf4", b"MDF     4.10");
    let (_, _, refused) = couplet(&folder, &["replay", "bad.mf4", "--map", "map.toml"]);
    assert!(
        refused.contains("byte 0: this is no MDF 4 file"),
        "{refused}"
    );
}

#[test]
fn settings_and_versions_are_held_against_each_other_over_a_folder() {
    let folder = Folder::new("replay-table");
    let (_, map) = recorded(&folder, "lift-off-paired", &[]);
    recorded(&folder, "step-steer-100", &[]);
    let same = ["replay", "logs", "--map", &map, "--setting", "patrol"];
    let (status, _, refused) = couplet(&folder, &[&same[..], &["--out", "one"]].concat());
    assert_eq!(status, Some(0), "{refused}");
    let again = ["--out", "two", "--earlier", "one", "--allowed", "0"];
    let (status, said, refused) = couplet(&folder, &[&same[..], &again].concat());
    // The mapping is written for a recording with patrol, so the other one differs from what it recorded.
    assert_eq!(status, Some(1), "{refused}{said}");
    let table = text_of(&folder.path("two/replay.csv"));
    let earlier = table.lines().filter(|line| line.contains(",earlier,"));
    assert!(earlier.clone().count() > 40, "{table}");
    for line in earlier {
        assert_eq!(line.split(',').nth(5), Some("0"), "{line}");
    }
    let other = [
        "--out",
        "three",
        "--what-if",
        "response",
        "--against-law",
        "rear-torque-first",
    ];
    let (status, said, refused) = couplet(&folder, &[&same[..], &other].concat());
    assert_eq!(status, Some(0), "{refused}");
    for name in ["response", "patrol, rear torque first"] {
        assert!(said.contains(name), "{said}");
    }
    let table = text_of(&folder.path("three/replay.csv"));
    let moved = table
        .lines()
        .filter(|line| line.contains(",response,torque_") && line.split(',').nth(5) != Some("0"));
    assert!(moved.count() > 0, "{table}");
}

#[test]
fn a_proposed_mapping_finds_names_units_and_a_wrong_sign_and_says_so() {
    let folder = Folder::new("replay-suggest");
    recorded(&folder, "double-lane-change-paired", &["--form", "csv"]);
    let law = text_of(&folder.path("logs/double-lane-change-paired-law.csv"));
    let mut lines = law.lines();
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let take = [
        (
            "input.wheel_speed_front_left [rad/s]",
            "WheelSpeedFL",
            0.32 * 3.6,
            "km/h",
        ),
        (
            "input.wheel_speed_front_right [rad/s]",
            "WheelSpeedFR",
            0.32 * 3.6,
            "km/h",
        ),
        (
            "input.wheel_speed_rear_left [rad/s]",
            "WheelSpeedRL",
            0.32 * 3.6,
            "km/h",
        ),
        (
            "input.wheel_speed_rear_right [rad/s]",
            "WheelSpeedRR",
            0.32 * 3.6,
            "km/h",
        ),
        (
            "input.yaw_rate [rad/s]",
            "veh_yaw_rate",
            -57.295_779_513,
            "deg/s",
        ),
        ("input.lateral_acceleration [m/s2]", "AccLat", 1.0, "m/s2"),
        (
            "input.longitudinal_acceleration [m/s2]",
            "AccLong",
            1.0,
            "m/s2",
        ),
        // Degrees, and the recording does not say so.
        (
            "input.steering_wheel_angle [rad]",
            "SteerAngle",
            57.295_779_513,
            "",
        ),
    ];
    let places = take.map(|(name, ..)| header.iter().position(|cell| *cell == name).expect(name));
    let mut text = "time [s]".to_owned();
    for (_, name, _, unit) in take {
        text += &format!(",{name} [{unit}]");
    }
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        text += &format!("\n{}", cells[0]);
        for (place, (_, _, factor, _)) in places.into_iter().zip(take) {
            let value: f64 = cells[place].parse().expect("a number");
            text += &format!(",{}", value * factor);
        }
    }
    // One fault at a time: first only the unit that nobody told.
    let sound = text.replace("SteerAngle []", "SteerAngle");
    let right_sign: String = sound
        .lines()
        .enumerate()
        .map(|(index, line)| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            if index > 0 {
                let value: f64 = cells[5].parse().expect("a number");
                cells[5] = (-value).to_string();
            }
            cells.join(",") + "\n"
        })
        .collect();
    folder.file("log.csv", right_sign.as_bytes());
    let (status, proposed, refused) = couplet(&folder, &["replay", "log.csv", "--suggest"]);
    assert_eq!(status, Some(0), "{refused}");
    for said in [
        "# wheel_speed_front_left: `WheelSpeedFL` by its name; km/h",
        "# steering_wheel_angle: `SteerAngle` by its name; no unit told, taken as rad",
        "# physics: [steering_wheel_angle] is in degrees but read as radians; corrected in this proposal",
    ] {
        assert!(proposed.contains(said), "{said}\n{proposed}");
    }
    assert!(!proposed.contains("STILL AGAINST IT"), "{proposed}");
    folder.file("map.toml", proposed.as_bytes());
    let (status, said, refused) = couplet(&folder, &["replay", "log.csv", "--map", "map.toml"]);
    assert_eq!(status, Some(0), "{refused}{said}");
    // Two faults at once have no name: the proposal says that something is still against it.
    folder.file("log.csv", sound.as_bytes());
    let (_, proposed, _) = couplet(&folder, &["replay", "log.csv", "--suggest"]);
    assert!(proposed.contains("STILL AGAINST IT"), "{proposed}");
}

#[test]
fn the_same_car_lies_inside_its_corridor_and_the_page_fetches_nothing() {
    let folder = Folder::new("correlate");
    let (log, map) = recorded(&folder, "step-steer-100", &[]);
    let inside = |more: &[&str]| -> Vec<f64> {
        let words = ["correlate", &log, "--map", &map];
        let (status, said, refused) = couplet(&folder, &[&words[..], more].concat());
        assert_eq!(status, Some(0), "{refused}");
        assert!(said.contains("1 of at least 3 recordings"), "{said}");
        let rows = said
            .lines()
            .filter(|line| line.starts_with("step-steer-100 "));
        rows.map(|row| {
            let cell = row.split_whitespace().rev().nth(1);
            cell.and_then(|cell| cell.parse().ok()).expect("a share")
        })
        .collect()
    };
    let same = inside(&[]);
    assert_eq!(same.len(), 3);
    assert!(same.iter().all(|share| *share > 99.0), "{same:?}");
    let page = text_of(&folder.path("couplet-out/correlate.html"));
    assert!(page.contains("default-src 'none'") && !page.contains("<script"));
    assert!(!page.contains("http://") && page.contains("Not certified"));
    // Another car does not: half the stiffness in front.
    let soft = "[tyre_front]\nleft_stiffness_scale = 0.5\nright_stiffness_scale = 0.5\n";
    let soft = folder.file("soft.toml", soft.as_bytes());
    let other = inside(&["--vehicle", &soft]);
    assert!(other[0] < 90.0, "{other:?}");
}
