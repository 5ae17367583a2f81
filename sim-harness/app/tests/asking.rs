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

/// Column of a CSV file by its heading, and the times.
fn column(csv: &str, name: &str) -> Vec<(f64, f64)> {
    let mut lines = csv.lines().filter(|line| !line.starts_with('#'));
    let heads: Vec<&str> = lines.next().expect("a heading").split(',').collect();
    let at = heads
        .iter()
        .position(|head| head.split([' ', '[']).next() == Some(name))
        .unwrap_or_else(|| panic!("no column {name} in {heads:?}"));
    lines
        .filter_map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            Some((cells.first()?.parse().ok()?, cells.get(at)?.parse().ok()?))
        })
        .collect()
}

#[test]
fn why_tells_on_one_screen_what_the_record_of_the_same_run_holds() {
    let folder = Folder::new("why");
    let (status, told, said) =
        couplet(&folder, &["why", "power-on-exit-dry-paired", "--at", "2.5"]);
    assert_eq!(status, Some(0), "{said}");
    assert_eq!(
        couplet(&folder, &["why", "power-on-exit-dry", "--at", "2.4983"]).1,
        told,
        "the nearest step, the same twice"
    );
    let (status, _, said) = couplet(
        &folder,
        &["drive", "power-on-exit-dry", "--setting", "response"],
    );
    assert_eq!(status, Some(0), "{said}");
    let csv =
        std::fs::read_to_string(folder.path("couplet-out/power-on-exit-dry-paired-response.csv"))
            .expect("the record");
    let at = |name: &str| {
        column(&csv, name)
            .into_iter()
            .find(|(time, _)| (time - 2.5).abs() < 1e-6)
            .unwrap_or_else(|| panic!("no sample of {name}"))
            .1
    };
    let row = |name: &str| -> Vec<f64> {
        told.lines()
            .find_map(|line| line.trim_start().strip_prefix(name))
            .unwrap_or_else(|| panic!("no `{name}` in\n{told}"))
            .split_whitespace()
            .filter_map(|word| word.parse().ok())
            .collect()
    };
    // Printed to a tenth of a newton metre at these sizes.
    for (name, left, right) in [
        ("best unbounded", "torque_asked_left", "torque_asked_right"),
        ("expected", "torque_given_left", "torque_given_right"),
        ("capacity", "capacity_left", "capacity_right"),
        (
            "in the plant",
            "plant_clutch_torque_left",
            "plant_clutch_torque_right",
        ),
    ] {
        let values = row(name);
        assert!((values[0] - at(left)).abs() <= 0.06, "{name}: {values:?}");
        assert!((values[1] - at(right)).abs() <= 0.06, "{name}: {values:?}");
    }
    // Since when: the record's own code of the limit, followed backwards.
    let limits = column(&csv, "limit_right");
    let now = at("limit_right");
    let since = limits
        .iter()
        .rev()
        .skip_while(|(time, _)| *time > 2.5 + 1e-6)
        .take_while(|(_, limit)| *limit == now)
        .last()
        .expect("it holds now")
        .0;
    let short = told
        .lines()
        .find(|line| line.contains("kept from it by"))
        .expect("the line");
    assert!(
        short.contains(&format!("since {since:.3} s")),
        "{since}: {short}"
    );
    assert!(told.lines().count() <= 40, "more than one screen");
    assert!(
        told.lines().all(|line| line.chars().count() <= 150),
        "{told}"
    );
    for word in [
        "driver",
        "reference",
        "feed-forward",
        "feedback",
        "integral",
        "set by",
        "Second channel",
        "Actuation",
    ] {
        assert!(told.contains(word), "{word}");
    }
}

#[test]
fn why_names_the_injected_fault_and_what_the_monitor_made_of_it() {
    let folder = Folder::new("why-fault");
    // The scenario replaces the request from 1 s on for 0.1 s; the second channel opens within a tenth of that.
    let told = couplet(&folder, &["why", "wrong-request", "--at", "1.05"]).1;
    assert!(told.contains("Fault injected request left full"), "{told}");
    assert!(told.contains("from 1 s for "), "{told}");
    assert!(told.contains("Faults found   second channel"), "{told}");
    let before = couplet(&folder, &["why", "wrong-request", "--at", "0.9"]).1;
    assert!(!before.contains("Fault"), "{before}");
}

#[test]
fn why_refuses_unknown_runs_other_axles_and_times_outside_the_run() {
    let folder = Folder::new("why-refusals");
    for (arguments, what) in [
        (["why", "nonsense", "--at", "1"], "cannot read the file"),
        (
            ["why", "lift-off-front", "--at", "1"],
            "which this law does not command",
        ),
        (
            ["why", "lift-off", "--at", "99"],
            "is after the end of the run",
        ),
        (["why", "lift-off", "--at", "-1"], "is no time of a run"),
        (["why", "lift-off", "--at", "nan"], "is no time of a run"),
    ] {
        let (status, told, said) = couplet(&folder, &arguments);
        assert_eq!(status, Some(2), "{arguments:?}: {said}");
        assert!(
            said.contains(what) && said.contains("allowed: ") && said.contains("do: "),
            "{said}"
        );
        assert!(told.is_empty());
    }
    let file = folder.file(
        "bad.toml",
        b"manoeuvre = \"lift-off\"\n[road]\nfrictoin = 1\n",
    );
    let (status, _, said) = couplet(&folder, &["why", &file, "--at", "1"]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("bad.toml:3:1: unknown key `frictoin`"),
        "{said}"
    );
}

#[test]
fn why_names_the_last_instant_of_a_run_and_tells_it_when_asked() {
    let folder = Folder::new("why-last");
    let (status, _, said) = couplet(&folder, &["why", "lift-off", "--at", "99"]);
    assert_eq!(status, Some(2));
    // A run is a run: what was driven to find its end has left nothing behind.
    assert!(!said.contains("nothing was run"), "{said}");
    let last = said
        .split("allowed: 0 to ")
        .nth(1)
        .and_then(|rest| rest.split(' ').next())
        .expect("the end of the run");
    let (status, told, said) = couplet(&folder, &["why", "lift-off", "--at", last]);
    assert_eq!(status, Some(0), "{said}");
    assert!(told.contains(&format!("at {last} s")), "{told}");
    let later = format!("{}", last.parse::<f64>().expect("a time") + 0.01);
    let (status, _, said) = couplet(&folder, &["why", "lift-off", "--at", &later]);
    assert_eq!(status, Some(2));
    assert!(said.contains(&format!("allowed: 0 to {last} s")), "{said}");
}

#[test]
fn arithmetic_tells_differences_and_where_the_fast_one_bites_and_fails_where_single_is_too_far() {
    let folder = Folder::new("arithmetic");
    let (status, told, said) = couplet(&folder, &["arithmetic", "--only", "lift-off"]);
    assert_eq!(status, Some(0), "{said}");
    let cells: Vec<&str> = line(&told, "lift-off-paired").split_whitespace().collect();
    let largest: f64 = cells[4].parse().expect("the largest difference");
    assert!(largest > 0.0 && largest <= 2.0, "{cells:?}");
    assert!(told.contains("within 2 N m of f64 outside switches: 1 of 1 runs"));
    assert!(told.contains("fast f32 bites first in"), "{told}");
    // A miss is told with its size, time, and the signals single precision leaves first; the status says so.
    let (status, told, _) = couplet(&folder, &["arithmetic", "--only", "wrong-request-paired"]);
    let missed = told.contains("  missed: wrong-request-paired, ");
    assert_eq!(status, Some(i32::from(missed)), "{told}");
    assert_eq!(missed, told.contains("f32 leaves f64 in "), "{told}");
    let (status, _, said) = couplet(&folder, &["arithmetic", "--only", "nonsense"]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("no run of the paired axle is called `nonsense`"),
        "{said}"
    );
    assert!(said.contains("lift-off-paired"), "{said}");
}

#[test]
fn margins_tells_every_speed_and_setting_and_draws_a_page_that_fetches_nothing() {
    let folder = Folder::new("margins");
    let (status, told, said) = couplet(&folder, &["margins", "--out", "one"]);
    assert_eq!(status, Some(0), "{said}");
    for setting in ["patrol", "response", "trailer", "skidpad"] {
        let speeds: Vec<&str> = told
            .lines()
            .filter(|line| line.split_whitespace().next() == Some(setting))
            .filter_map(|line| line.split_whitespace().nth(1))
            .collect();
        assert_eq!(speeds, ["40", "80", "120", "150", "180"], "{told}");
    }
    // The least of the column is the row `loop-margins` of the programme.
    let worst = told
        .lines()
        .filter_map(|line| {
            let cells: Vec<&str> = line.split_whitespace().collect();
            (cells.len() == 11).then(|| cells[5].parse::<f64>().ok())?
        })
        .fold(f64::INFINITY, f64::min);
    let (_, _, said) = couplet(
        &folder,
        &[
            "prove",
            "--only",
            "loop-margins",
            "--json",
            "row.json",
            "--out",
            "two",
        ],
    );
    let rows = std::fs::read_to_string(folder.path("row.json")).expect(&said);
    let rows: serde_json::Value = serde_json::from_str(&rows).expect("JSON");
    let value = rows[0]["value"].as_f64().expect("a number");
    assert!((value - worst).abs() <= 0.051, "{value} against {worst}");

    let page = std::fs::read_to_string(folder.path("one/margins.html")).expect("the page");
    assert!(page.contains("default-src 'none'") && page.contains("prefers-color-scheme: dark"));
    assert!(!page.contains("http://") && !page.contains("https://") && !page.contains("<script"));
    assert_eq!(page.matches("<figure").count(), 4 * 3);
    // Three curves and at least one mark per speed and figure; every number finite.
    assert!(page.matches("class=\"curve speed-4\"").count() >= 4 * 3 * 5);
    assert!(!page.contains("NaN") && !page.contains("inf"));
    assert!(page.contains("Not certified."));
    couplet(&folder, &["margins", "--out", "again"]);
    assert!(
        folder.all_files("one") == folder.all_files("again"),
        "not the same twice"
    );
}

#[test]
fn margins_refuses_bad_files_and_tells_a_law_that_misses() {
    let folder = Folder::new("margins-refusals");
    let bad = folder.file("bad.toml", b"[yaw_control]\nproportional = 1\n");
    let (status, _, said) = couplet(&folder, &["margins", "--setting", &bad]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("bad.toml:2:1: unknown key `proportional`"),
        "{said}"
    );
    assert!(!folder.path("couplet-out").exists());
    // Half more gain: too much for cold oil at 180 km/h; below, the sine drives the law into a bound, which is no margin either.
    let wild = folder.file(
        "wild.toml",
        b"[yaw_control]\nproportional_nm_s_rad = 40000\nproportional_fast_nm_s_rad = 36000\n",
    );
    let (status, told, said) = couplet(&folder, &["margins", "--setting", &wild]);
    assert_eq!(status, Some(1), "{said}\n{told}");
    let lines: Vec<&str> = told
        .lines()
        .filter(|line| line.starts_with("wild"))
        .collect();
    assert!(
        lines[0].contains("-*") && lines[4].ends_with('*') && !lines[4].contains('-'),
        "{told}"
    );
    let page = std::fs::read_to_string(folder.path("couplet-out/margins.html")).expect("the page");
    assert!(page.contains("class=\"missed\""));
}
