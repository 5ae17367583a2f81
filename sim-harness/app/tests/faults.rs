//! `couplet faults` and `couplet hunt`: tables, files, parts, replay, and what is refused.

mod support;

use support::{Folder, couplet, text_of};

const PART: &str = "current_left,120,power,still,nominal";

#[test]
fn faults_tells_every_cell_of_a_part_and_two_shards_are_the_whole() {
    let folder = Folder::new("faults");
    let run = |out: &str, more: &[&str]| {
        let mut arguments = vec!["--out", out, "faults", "--only", PART];
        arguments.extend(more);
        let (status, told, said) = couplet(&folder, &arguments);
        assert_eq!(status, Some(0), "{said}");
        told
    };
    let told = run("whole", &[]);
    // Twelve kinds of a current, two settings.
    assert!(told.contains("24 cells driven"), "{told}");
    assert!(told.contains("current left full") && told.contains("Not certified."));
    let table = text_of(&folder.path("whole/faults.csv"));
    assert_eq!(table.lines().count(), 25);
    let page = text_of(&folder.path("whole/faults.html"));
    assert!(page.contains("default-src 'none'") && !page.contains("<script"));
    assert!(!page.contains("http://") && !page.contains("https://"));
    run("parts", &["--shard", "1/2"]);
    run("parts", &["--shard", "2/2"]);
    let part = text_of(&folder.path("parts/faults-1-of-2.csv"));
    assert!((2..25).contains(&part.lines().count()));
    let told = run("parts", &[]);
    assert!(told.contains("24 cells driven"), "{told}");
    assert_eq!(text_of(&folder.path("parts/faults.csv")), table);
    assert!(!folder.path("parts/.faults-kept-1-of-2").exists());
}

#[test]
fn faults_refuses_unknown_words_and_parts_and_writes_nothing() {
    let folder = Folder::new("faults-refused");
    for (arguments, what) in [
        (
            ["--only", "yaw_rat"],
            "`yaw_rat`, which is in no cell's name",
        ),
        (
            ["--only", "yaw_rate,leak"],
            "words that no cell has together",
        ),
        (["--shard", "3/2"], "`3/2`, which is no part"),
    ] {
        let (status, _, said) = couplet(&folder, &["faults", arguments[0], arguments[1]]);
        assert_eq!(status, Some(2), "{said}");
        assert!(said.contains(what), "{said}");
    }
    assert!(!folder.path("couplet-out").exists());
}

#[test]
fn a_hunt_keeps_what_it_finds_as_a_file_that_drive_takes_and_the_next_hunt_asks_first() {
    let folder = Folder::new("hunt");
    // Clutch surfaces with hardly any mass: the law's idea of heat is wrong for this car, and a drive shows it.
    let car = folder.file(
        "hot.toml",
        b"[heat]\nsurface_capacity_j_k = 10.0\nsurface_core_w_k = 1.0\nsurface_oil_w_k = 0.0\n",
    );
    let hunt = |budget: &str, out: &str| {
        let asked = [
            "hunt",
            "--property",
            "cool",
            "--vehicle",
            &car,
            "--corpus",
            "corpus",
            "--out",
            out,
        ];
        couplet(&folder, &[&asked[..], &["--budget", budget]].concat())
    };
    let (status, told, said) = hunt("100", "one");
    assert_eq!(status, Some(1), "{told}{said}");
    assert!(
        told.contains("cool: violated after")
            && told.contains("couplet drive corpus/cool-defaults-1.toml"),
        "{told}"
    );
    let kept = folder.all_files("corpus");
    assert_eq!(kept.keys().collect::<Vec<_>>(), ["cool-defaults-1.toml"]);
    let text = String::from_utf8_lossy(&kept["cool-defaults-1.toml"]).into_owned();
    assert!(text.contains("invented = true") && text.contains("manoeuvre = \"disturbance\""));
    // The file is a scenario, and its drive shows the violation in the record: a surface beyond 260 degC.
    let drive = [
        "drive",
        "corpus/cool-defaults-1.toml",
        "--vehicle",
        &car,
        "--out",
        "drive",
    ];
    let (status, _, said) = couplet(&folder, &drive);
    assert_eq!(status, Some(0), "{said}");
    let csv = folder
        .all_files("drive")
        .into_iter()
        .find(|(name, _)| name.ends_with(".csv"));
    let csv = String::from_utf8(csv.expect("a record").1).expect("text");
    let mut lines = csv.lines();
    let heads: Vec<&str> = lines.next().expect("heads").split(',').collect();
    let surfaces: Vec<usize> = (0..heads.len())
        .filter(|column| heads[*column].starts_with("plant_clutch_surface_"))
        .collect();
    assert_eq!(surfaces.len(), 2);
    let hottest = lines
        .flat_map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            surfaces
                .iter()
                .map(move |column| cells[*column].parse::<f64>())
                .collect::<Vec<_>>()
        })
        .filter_map(Result::ok)
        .fold(0.0, f64::max);
    assert!(hottest > 260.0, "{hottest} degC");
    // One drive of its own finds nothing; the corpus does.
    let (status, told, _) = hunt("1", "two");
    assert_eq!(status, Some(1), "{told}");
    assert!(
        told.contains("the corpus file corpus/cool-defaults-1.toml violates it"),
        "{told}"
    );
    assert_eq!(folder.all_files("corpus"), kept);
}

#[test]
fn hunt_refuses_unknown_properties_and_finds_nothing_where_nothing_is() {
    let folder = Folder::new("hunt-refused");
    let (status, _, said) = couplet(&folder, &["hunt", "--property", "col"]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("unknown property `col`") && said.contains("rise-bounded"),
        "{said}"
    );
    let quiet = ["hunt", "--property", "numbers", "--budget", "10"];
    let (status, told, said) = couplet(&folder, &quiet);
    assert_eq!(status, Some(0), "{said}");
    assert!(told.contains("proves nothing"), "{told}");
}
