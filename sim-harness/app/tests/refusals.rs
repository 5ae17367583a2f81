//! Refused input: status 2, every error at its file, line and column, earlier results untouched.

mod support;

use support::{Folder, couplet, text_of};

/// File kind, content, and what the message must begin with and contain. Each line is one class of error.
const CLASSES: &[(&str, &str, &str, &str, &[&str])] = &[
    (
        "unknown key",
        "vehicle",
        "[body]\nmas_kg = 1700\n",
        ":2:1: ",
        &["unknown key `mas_kg`", "did you mean `mass_kg`?"],
    ),
    (
        "key in the wrong table",
        "vehicle",
        "[steering]\nmass_kg = 1700\n",
        ":2:1: ",
        &["move it below a line [body]"],
    ),
    (
        "key outside a table",
        "vehicle",
        "mass_kg = 1700\n",
        ":1:1: ",
        &["outside its table", "[body]"],
    ),
    (
        "unknown table",
        "vehicle",
        "\n[boddy]\nmass_kg = 1700\n",
        ":2:2: ",
        &["unknown table", "did you mean `body`?"],
    ),
    (
        "table that is none",
        "vehicle",
        "body = 3\n",
        ":1:1: ",
        &["must be a table"],
    ),
    (
        "text for a number",
        "vehicle",
        "[body]\nmass_kg = \"1700 kg\"\n",
        ":2:11: ",
        &["is a text", "500 to 5000 kg"],
    ),
    (
        "date for a number",
        "vehicle",
        "[body]\nmass_kg = 2020-01-01\n",
        ":2:11: ",
        &["is a date", "500 to 5000 kg"],
    ),
    (
        "too large",
        "vehicle",
        "[body]\nmass_kg = 5000.1\n",
        ":2:11: ",
        &["out of range", "500 to 5000 kg"],
    ),
    (
        "too small",
        "setting",
        "[setting]\nagility = -0.01\n",
        ":2:11: ",
        &["out of range", "0 to 1"],
    ),
    (
        "not a number",
        "vehicle",
        "[body]\nmass_kg = nan\n",
        ":2:11: ",
        &["not a finite number"],
    ),
    (
        "infinite",
        "setting",
        "[setting]\nagility = -inf\n",
        ":2:11: ",
        &["not a finite number"],
    ),
    (
        "overflowing",
        "vehicle",
        "[body]\nmass_kg = 1e999\n",
        ":2:11: ",
        &["500 to 5000 kg"],
    ),
    (
        "syntax",
        "setting",
        "[setting]\nagility = \n",
        ":2:",
        &["syntax error"],
    ),
    (
        "duplicate key",
        "setting",
        "[setting]\nagility = 0.1\nagility = 0.2\n",
        ":3:1: ",
        &["duplicate"],
    ),
    (
        "duplicate table",
        "setting",
        "[setting]\nagility = 0.1\n[setting]\nsteadiness = 0.2\n",
        ":3:",
        &["duplicate"],
    ),
    (
        "layout of an older table",
        "setting",
        "# mine\nlayout = 2\n[setting]\nagility = 0.1\n",
        ":2:1: ",
        &["layout 2", "couplet migrate"],
    ),
    (
        "layout of a newer table",
        "setting",
        "layout = 9999\n",
        ":1:1: ",
        &["layout 9999", "newer program"],
    ),
    (
        "layout that is no whole number",
        "setting",
        "layout = \"two\"\n",
        ":1:1: ",
        &["whole number"],
    ),
    (
        "contradiction of tunables",
        "setting",
        "[yaw_reference]\nundersteer_agile_rad_s2_m = 0.02\n",
        ":2:1: ",
        &["contradiction", "understeer_steady_rad_s2_m"],
    ),
    (
        "contradiction of a scenario",
        "scenario",
        "[scenario]\nname = \"x\"\nmanoeuvre = \"step-steer\"\n[driver]\naction_s = 50\n",
        ":5:1: ",
        &["contradiction", "lower action_s"],
    ),
    (
        "unknown manoeuvre",
        "scenario",
        "[scenario]\nname = \"x\"\nmanoeuvre = \"split-lunch\"\n",
        ":3:13: ",
        &[
            "unknown manoeuvre",
            "power-on-exit",
            "did you mean `split-launch`?",
        ],
    ),
    (
        "unknown axle",
        "scenario",
        "[scenario]\nname = \"x\"\nmanoeuvre = \"lift-off\"\naxle = \"rear\"\n",
        ":4:8: ",
        &[
            "unknown axle `rear`",
            "front, front-limited-slip, brake-vectoring, coupling, paired",
        ],
    ),
    (
        "missing keys",
        "scenario",
        "[scenario]\nname = \"x\"\n",
        ":1:2: ",
        &["`manoeuvre` is missing"],
    ),
    (
        "missing table",
        "scenario",
        "",
        ":1:1: ",
        &["`name` is missing in [scenario]"],
    ),
    (
        "name unfit for a file",
        "scenario",
        "[scenario]\nname = \"../x\"\nmanoeuvre = \"lift-off\"\n",
        ":2:8: ",
        &["cannot be part of a file name"],
    ),
    (
        "negative seed",
        "scenario",
        "[scenario]\nname = \"x\"\nmanoeuvre = \"lift-off\"\nseed = -1\n",
        ":4:8: ",
        &["whole number"],
    ),
    (
        "truth in quotes",
        "scenario",
        "[scenario]\nname = \"x\"\nmanoeuvre = \"lift-off\"\nmirrored = \"yes\"\n",
        ":4:12: ",
        &["true or false"],
    ),
    (
        "list for a text",
        "scenario",
        "[scenario]\nname = [1]\nmanoeuvre = \"lift-off\"\n",
        ":2:8: ",
        &["is a list", "must be a text"],
    ),
];

#[test]
fn every_class_of_error_gives_status_two_and_its_place() {
    let folder = Folder::new("classes");
    for (class, kind, content, place, fragments) in CLASSES {
        let file = folder.file("input.toml", content.as_bytes());
        let arguments: Vec<&str> = match *kind {
            "scenario" => vec!["drive", &file],
            "vehicle" => vec!["drive", "split-launch-0", "--vehicle", &file],
            _ => vec!["drive", "split-launch-0", "--setting", &file],
        };
        let (status, _, said) = couplet(&folder, &arguments);
        assert_eq!(status, Some(2), "{class}: {said}");
        let line = said
            .lines()
            .find(|line| line.starts_with(&format!("{file}{place}")));
        let line = line.unwrap_or_else(|| panic!("{class}: no message at {place} in\n{said}"));
        assert!(
            line.contains("; allowed: ") && line.contains("; do: "),
            "{class}: {line}"
        );
        for fragment in *fragments {
            assert!(
                line.contains(fragment),
                "{class}: `{fragment}` is not in {line}"
            );
        }
        assert!(
            !folder.path("couplet-out").exists(),
            "{class}: something was written"
        );
    }
}

#[test]
fn missing_unreadable_and_binary_files_are_refused_at_their_start() {
    let folder = Folder::new("missing");
    let binary = folder.file("binary.toml", b"# \xff\xfe\n");
    let here = folder.path("").display().to_string();
    for file in ["no-such-file.toml", &binary, &here] {
        let (status, _, said) = couplet(&folder, &["drive", file]);
        assert_eq!(status, Some(2), "{file}: {said}");
        assert!(said.starts_with(&format!("{file}:1:")), "{file}: {said}");
    }
}

#[test]
fn all_errors_of_all_files_are_told_at_once() {
    let folder = Folder::new("all-at-once");
    let scenario = folder.file(
        "s.toml",
        b"[scenario]\nname = \"x\"\nmanoeuvre = \"fly\"\n[road]\nfriction_left = 9\ngrade = 1\n",
    );
    let vehicle = folder.file("v.toml", b"[body]\nmass_kg = 1\n[nobody]\n");
    let setting = folder.file("t.toml", b"[setting]\nagility = \nsteadiness = 7\n");
    let (status, _, said) = couplet(
        &folder,
        &[
            "drive",
            &scenario,
            "--vehicle",
            &vehicle,
            "--setting",
            &setting,
        ],
    );
    assert_eq!(status, Some(2));
    for place in [
        "s.toml:3:13",
        "s.toml:5:17",
        "s.toml:6:1",
        "v.toml:2:11",
        "v.toml:3:2",
        "t.toml:2:",
        "t.toml:3:14",
    ] {
        assert!(said.contains(place), "{place} is missing in\n{said}");
    }
}

#[test]
fn refused_input_leaves_earlier_results_untouched() {
    let folder = Folder::new("untouched");
    let (status, _, said) = couplet(&folder, &["drive", "power-on-exit-wet"]);
    assert_eq!(status, Some(0), "{said}");
    let before = folder.all_files("couplet-out");
    assert!(before.len() >= 3, "report, summary and a CSV were expected");
    let bad = folder.file(
        "bad.toml",
        b"[scenario]\nname = \"power-on-exit-wet\"\nmanoeuvre = \"power-on-exit\"\nseed = 1.5\n",
    );
    let (status, printed, _) = couplet(&folder, &["drive", &bad]);
    assert_eq!((status, printed.as_str()), (Some(2), ""));
    assert!(
        before == folder.all_files("couplet-out"),
        "earlier results changed"
    );
}

#[test]
fn a_folder_that_cannot_be_written_is_status_one_and_named() {
    let folder = Folder::new("unwritable");
    let file = folder.file("taken", b"a file, not a folder");
    let (status, _, said) = couplet(&folder, &["drive", "power-on-exit-wet", "--out", &file]);
    assert_eq!(status, Some(1), "{said}");
    assert!(said.contains(&file), "{said}");
    assert_eq!(text_of(&folder.path("taken")), "a file, not a folder");
}

#[test]
fn unknown_arguments_are_status_two() {
    let folder = Folder::new("arguments");
    for arguments in [
        &["fly"][..],
        &["drive"],
        &["drive", "split-launch-0", "--axle", "rear"],
        &["template", "scenario", "fly"],
    ] {
        assert_eq!(couplet(&folder, arguments).0, Some(2), "{arguments:?}");
    }
}

#[test]
fn a_place_that_cannot_be_written_is_found_before_anything_is_run() {
    let folder = Folder::new("no-place");
    let file = folder.file("taken", b"a file, not a folder");
    let inside = format!("{file}/deeper");
    for arguments in [
        &["--out", &file][..],
        &["prove", "--out", &file],
        &["prove", "--json", "missing/rows.json"],
        &["prove", "--json", "."],
        &["drive", "lift-off", "--out", &inside],
        &["layouts", "--out", &inside],
        &["margins", "--out", &file],
        &["envelope", "--out", &file],
    ] {
        let (status, told, said) = couplet(&folder, arguments);
        assert_eq!(status, Some(1), "{arguments:?}: {said}");
        assert!(told.is_empty());
        // One line: no run has told its progress.
        assert_eq!(said.lines().count(), 1, "{arguments:?}: {said}");
        assert!(
            said.starts_with("cannot write to ")
                && said.contains("; nothing was run; do: name a f"),
            "{said}"
        );
    }
    assert_eq!(text_of(&folder.path("taken")), "a file, not a folder");
    assert!(!folder.path("missing").exists());
}

#[test]
fn the_command_line_has_no_lines_and_says_what_is_allowed() {
    let folder = Folder::new("command-line");
    for arguments in [
        &["prove", "--only", "no-such-row"][..],
        &["arithmetic", "--only", "no-such-run"],
        &["template", "scenario", "fly"],
        &["schema", "scenario", "fly"],
        &["envelope", "--oil", "500"],
    ] {
        let (status, told, said) = couplet(&folder, arguments);
        assert_eq!(status, Some(2), "{arguments:?}: {said}");
        assert!(told.is_empty());
        assert!(said.starts_with("command line: "), "{said}");
        assert!(
            said.contains("; allowed: ") && said.contains("; do: "),
            "{said}"
        );
        assert!(said.contains("nothing was written"), "{said}");
    }
    assert!(!folder.path("couplet-out").exists());
}
