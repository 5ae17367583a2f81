//! The bus on the command line: drives over it, its log, what describes it.

mod support;

use std::io::BufReader;

use couplet_controller::{Controller, RawPage};
use couplet_network::{Replay, calibration, database};
use support::{Folder, couplet, text_of};

#[test]
fn drive_over_the_bus_writes_a_log_that_replays_and_the_same_results_twice() {
    let folder = Folder::new("bus-drive");
    let drive = ["drive", "split-launch-10", "--bus", "launch.txt"];
    let (status, told, said) = couplet(&folder, &drive);
    assert_eq!(status, Some(0), "{said}");
    assert!(
        told.starts_with("bus: ") && told.contains("time to 20 km/h"),
        "{told}"
    );
    let log = text_of(&folder.path("launch.txt"));
    let mut replay = Replay::open(BufReader::new(log.as_bytes())).expect("a log");
    assert!(replay.head().is_of(&RawPage::default()));
    assert_eq!(replay.head().name, "split-launch-10");
    let mut law: Controller<f32> =
        Controller::new(&RawPage::default(), replay.head().period).expect("the default page");
    law.set_temperature(replay.head().start_degc);
    let zero_us = replay.head().zero_us;
    let mut torque_nm = Vec::new();
    for step in &mut replay {
        let step = step.expect("a sound log");
        let outputs = law.step(&step.told);
        if step.at_us >= zero_us {
            torque_nm.push(outputs.torque_nm.left);
        }
    }
    // The record of the same drive holds the law's torques, bit for bit: text that reads as the same single-precision number.
    let csv = folder.all_files("couplet-out");
    let (_, csv) = csv
        .iter()
        .find(|(name, _)| name.ends_with(".csv"))
        .expect("the record");
    let csv = String::from_utf8(csv.clone()).expect("text");
    let mut lines = csv.lines().filter(|line| !line.starts_with('#'));
    let heads: Vec<&str> = lines.next().expect("heads").split(',').collect();
    let column = heads
        .iter()
        .position(|head| head.split(' ').next() == Some("torque_given_left"));
    let column = column.unwrap_or_else(|| panic!("no torque in {heads:?}"));
    let recorded: Vec<f32> = lines
        .filter_map(|line| line.split(',').nth(column)?.parse().ok())
        .collect();
    assert_eq!(recorded.len(), torque_nm.len());
    assert!(recorded.iter().any(|torque| *torque > 50.0));
    for (step, (replayed, recorded)) in torque_nm.iter().zip(&recorded).enumerate() {
        assert_eq!(replayed.to_bits(), recorded.to_bits(), "step {step}");
    }
    // The same twice, and nothing half written.
    assert_eq!(couplet(&folder, &drive).1, told);
    assert_eq!(text_of(&folder.path("launch.txt")), log);
    assert!(!folder.path("launch.txt.tmp").exists());
}

#[test]
fn drive_over_the_bus_refuses_other_axles_and_places_that_are_none_before_it_drives() {
    let folder = Folder::new("bus-refused");
    folder.file("kept.txt", b"earlier");
    let axle = [
        "drive",
        "split-launch-10",
        "--axle",
        "coupling",
        "--bus",
        "kept.txt",
    ];
    let (status, _, said) = couplet(&folder, &axle);
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("--axle paired"), "{said}");
    let place = ["drive", "split-launch-10", "--bus", "no/such/log.txt"];
    let (status, _, said) = couplet(&folder, &place);
    assert_eq!(status, Some(1), "{said}");
    assert!(said.contains("no/such/log.txt"), "{said}");
    assert!(!folder.path("couplet-out").exists());
    assert_eq!(text_of(&folder.path("kept.txt")), "earlier");
}

#[test]
fn exports_of_the_bus_are_the_descriptions_and_as_many_frames_as_asked_for() {
    let folder = Folder::new("bus-exports");
    for (what, name, text) in [
        ("dbc", "couplet.dbc", database::database()),
        ("a2l", "couplet.a2l", calibration::description()),
    ] {
        let (status, told, said) = couplet(&folder, &["export", what]);
        assert_eq!(status, Some(0), "{said}");
        assert!(told.contains(name), "{told}");
        assert_eq!(text_of(&folder.path("couplet-out").join(name)), text);
    }
    let frames = |seed: &str| {
        let ask = ["export", "frames", "--count", "500", "--seed", seed];
        assert_eq!(couplet(&folder, &ask).0, Some(0));
        text_of(&folder.path("couplet-out/frames.jsonl"))
    };
    let first = frames("7");
    assert_eq!(first.lines().count(), 500);
    for line in first.lines() {
        let object: serde_json::Value = serde_json::from_str(line).expect("JSON");
        assert!(
            object["signals"]
                .as_object()
                .is_some_and(|signals| !signals.is_empty())
        );
    }
    assert_eq!(frames("7"), first);
    assert_ne!(frames("8"), first);
}
