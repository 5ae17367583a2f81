//! Commands that ask the law: laws compared, why a torque was what it was, arithmetics, margins.

mod support;

use support::{Folder, couplet};

/// The line of a table that begins with `id` and a blank.
fn line<'a>(text: &'a str, id: &str) -> &'a str {
    text.lines()
        .find(|line| line.split_whitespace().next() == Some(id))
        .unwrap_or_else(|| panic!("no line `{id}` in\n{text}"))
}

#[test]
fn laws_drives_four_laws_alike_and_the_exact_column_is_the_programmes_run() {
    let folder = Folder::new("laws");
    let (status, told, said) = couplet(&folder, &["laws"]);
    assert_eq!(status, Some(0), "{said}");
    for law in [
        "exact",
        "proportional split",
        "rear torque first",
        "yaw moment first",
    ] {
        assert!(told.contains(&format!("{law}: meets ")), "{told}");
    }
    for id in [
        "exit-dry-tracking",
        "exit-wet-tracking",
        "step-stable-overshoot",
        "dwell-dry",
        "lift-off-peak",
        "split-launch-20",
    ] {
        line(&told, id);
    }
    // On split friction the high side pulls alone and so turns the car: who puts the yaw moment first does not climb.
    let climb: Vec<&str> = line(&told, "split-launch-20").split_whitespace().collect();
    assert_eq!(climb.last(), Some(&"-*"), "{climb:?}");
    let (status, drive, said) = couplet(
        &folder,
        &["drive", "split-launch-10", "--setting", "patrol"],
    );
    assert_eq!(status, Some(0), "{said}");
    let own = drive
        .lines()
        .find_map(|line| line.strip_prefix("time to 20 km/h"))
        .and_then(|rest| rest.split_whitespace().next())
        .expect("the metric");
    // Columns of values from the right: exact, proportional, rear torque first, yaw moment first.
    let values: Vec<&str> = line(&told, "split-launch-10")
        .split_whitespace()
        .rev()
        .collect();
    assert_eq!(values[3], own);
    assert!(!folder.path("couplet-out/laws").exists());
    assert_eq!(couplet(&folder, &["laws"]).1, told, "not the same twice");
}
