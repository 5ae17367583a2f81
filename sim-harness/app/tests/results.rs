//! What a session leaves behind: report, summary, CSV; the same bytes every time.

mod support;

use support::{Folder, couplet, text_of};

use couplet_sim::plant::Vehicle;
use serde_json::Value;

/// Folder of the demo files in the sources.
const SOURCES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");

#[test]
fn two_sessions_write_the_same_bytes() {
    let folder = Folder::new("twice");
    for out in ["one", "two"] {
        let (status, _, said) = couplet(
            &folder,
            &[
                "drive",
                "step-steer-100",
                "--setting",
                "patrol",
                "--out",
                out,
            ],
        );
        assert_eq!(status, Some(0), "{said}");
    }
    let (one, two) = (folder.all_files("one"), folder.all_files("two"));
    assert_eq!(
        one.keys().collect::<Vec<_>>(),
        [
            "report.html",
            "step-steer-100-paired-patrol.csv",
            "summary.json"
        ]
    );
    assert!(one == two, "the sessions differ");
}

#[test]
fn the_demo_programme_runs_reports_every_row_and_is_the_same_twice() {
    let folder = Folder::new("programme");
    let (status, printed, said) = couplet(&folder, &["--out", "one"]);
    assert_eq!(status, Some(0), "{said}");
    let summary: Value =
        serde_json::from_str(&text_of(&folder.path("one/summary.json"))).expect("JSON");
    let report = text_of(&folder.path("one/report.html"));
    let rows = summary["rows"].as_array().expect("rows");
    assert!(!rows.is_empty());
    let mut keys = [
        "id",
        "question",
        "requirement",
        "setting",
        "unit",
        "passive",
        "coupling",
        "paired",
        "target",
        "value",
        "margin",
        "pass",
        "source",
    ];
    keys.sort_unstable();
    for row in rows {
        let mut found: Vec<&str> = row
            .as_object()
            .expect("an object")
            .keys()
            .map(String::as_str)
            .collect();
        found.sort_unstable();
        assert_eq!(found, keys);
        assert_eq!(row["value"], row["paired"]);
        let id = row["id"].as_str().expect("text");
        assert!(printed.contains(id), "{id} is not in the table");
        assert!(
            report.contains(&format!("<th scope=\"row\">{id}</th>")),
            "{id} is not in the report"
        );
        let listed = printed.contains(&format!("\n  {id}: "));
        assert!(
            listed || row["pass"] != Value::Bool(false),
            "the miss {id} is not listed"
        );
    }
    rows_stand_under_their_questions(rows, &printed, &report);
    // On the slippery day the other axles stay behind, and the map says where.
    assert!(report.contains("front drive: stuck at"));
    for run in summary["runs"].as_array().expect("runs") {
        assert!(
            folder
                .path("one")
                .join(run["csv"].as_str().expect("text"))
                .is_file()
        );
    }
    for caution in [
        "Not certified",
        "functional-safety process",
        "invented",
        "Reference implementation",
    ] {
        assert!(
            printed.contains(caution) && report.contains(caution),
            "caution `{caution}` is missing"
        );
    }
    assert!(printed.contains("one/report.html"));
    // Limit of the brief for a page that must open at once and travel by mail.
    assert!(
        report.len() < 6_000_000,
        "the report has {} bytes",
        report.len()
    );

    let (status, again, _) = couplet(&folder, &["--out", "two"]);
    assert_eq!(status, Some(0));
    assert_eq!(printed.replace("one/report.html", "two/report.html"), again);
    assert!(
        folder.all_files("one") == folder.all_files("two"),
        "the sessions differ"
    );
}

/// On the terminal and in the report: the questions in one order, each row between its own and the next.
fn rows_stand_under_their_questions(rows: &[Value], printed: &str, report: &str) {
    let questions = [
        "Does it turn?",
        "Does it pull?",
        "Does it stay stable?",
        "Does it stay cool?",
    ];
    for (text, heads, end) in [
        (printed, ["", "\n\nid "], "\nRuns: "),
        (
            report,
            ["<h2>", "</h2>"],
            "<h2>What limited it, and why?</h2>",
        ),
    ] {
        let place = |words: &str| text.find(words).expect("the words are there");
        let mut places = questions
            .map(|question| place(&format!("{}{question}{}", heads[0], heads[1])))
            .to_vec();
        places.push(place(end));
        assert!(places.is_sorted(), "{places:?}");
        for (question, own) in questions.iter().zip(places.windows(2)) {
            let own = &text[own[0]..own[1]];
            for row in rows {
                let id = row["id"].as_str().expect("text");
                let here = own.contains(&format!("\n{id} "))
                    || own.contains(&format!("<th scope=\"row\">{id}</th>"));
                assert_eq!(here, row["question"] == *question, "{id}, {question}");
            }
        }
    }
    assert!(report.find("What limited it, and why?") < report.find("Limits by run"));
}

#[test]
fn the_map_of_the_pass_tells_every_piece_of_road_without_colour() {
    let folder = Folder::new("map");
    let (status, _, said) = couplet(&folder, &["drive", "skarn-pass", "--setting", "response"]);
    assert_eq!(status, Some(0), "{said}");
    let report = text_of(&folder.path("couplet-out/report.html"));
    let map = report
        .split("<figure class=\"map\"")
        .nth(1)
        .and_then(|rest| rest.split("</figure>").next())
        .expect("a map");
    // Reached by keyboard and read aloud.
    assert!(map.contains("tabindex=\"0\" role=\"slider\""));
    let told = map
        .split("<script type=\"application/json\">")
        .nth(1)
        .and_then(|rest| rest.split("</script>").next())
        .expect("what the cursor tells");
    let told: Value = serde_json::from_str(told).expect("JSON");
    let (points, texts) = (
        told["points"].as_array().expect("places"),
        told["texts"].as_array().expect("words"),
    );
    // 3.7 km in pieces of 10 m.
    assert_eq!(points.len(), texts.len());
    assert!((360..=380).contains(&texts.len()), "{}", texts.len());
    let mut letters = 0;
    for kind in couplet_sim::metrics::axle_work::Work::ALL {
        // Every kind has its line, its words in the legend and, but for the open axle, a letter.
        assert!(map.contains(&format!("path class=\"work work-{}\"", kind.number())));
        assert!(
            map.contains(&format!(
                "</svg> {}</li>",
                kind.words().replace('\'', "&#39;")
            )) || map.contains(&format!("</svg> {}</li>", kind.words()))
        );
        letters += usize::from(map.contains(&format!(">{}</text>", kind.letter())));
    }
    assert_eq!(
        letters,
        couplet_sim::metrics::axle_work::Work::ALL.len() - 1
    );
    for mark in ["wet", "gravel", "ice", "grade", "hill"] {
        assert!(map.contains(&format!("{mark}\" d=")), "no {mark}");
    }
    // Every stretch of the table of the road, in words.
    for stretch in couplet_sim::scenario::skarn_road::stretches() {
        assert!(map.contains(&format!("<th scope=\"row\">{}<", stretch.name)));
    }
    let all: Vec<&str> = texts.iter().filter_map(Value::as_str).collect();
    let climb = all
        .iter()
        .find(|text| text.contains("second ramp, ice left"));
    assert!(
        climb.is_some_and(|text| text.contains("ice on the left, +11 %") && text.contains("km/h")),
        "{climb:?}"
    );
}

#[test]
fn layouts_compares_five_axles_and_writes_the_same_twice() {
    let folder = Folder::new("layouts");
    let (status, printed, said) = couplet(&folder, &["layouts", "--out", "one"]);
    assert_eq!(status, Some(0), "{said}");
    let (_, again, _) = couplet(&folder, &["layouts", "--out", "two"]);
    assert_eq!(printed.replace("one/report.html", "two/report.html"), again);
    assert!(folder.all_files("one") == folder.all_files("two"));
    let summary: Value =
        serde_json::from_str(&text_of(&folder.path("one/summary.json"))).expect("JSON");
    let report = text_of(&folder.path("one/report.html"));
    let tables = summary["layouts"].as_array().expect("tables");
    assert!(tables.len() >= 5, "{}", tables.len());
    for table in tables {
        let words = table["what"].as_str().expect("words");
        assert!(printed.contains(words) && report.contains(words), "{words}");
        for row in table["rows"].as_array().expect("rows") {
            assert_eq!(row["values"].as_array().map(Vec::len), Some(5), "{row}");
            assert!(printed.contains(row["name"].as_str().expect("text")));
        }
    }
    assert!(printed.contains("Not certified"));
}

#[test]
fn a_csv_names_its_units_and_counts_time_from_zero() {
    let folder = Folder::new("csv");
    let (status, _, said) = couplet(&folder, &["drive", "power-on-exit-dry", "--axle", "front"]);
    assert_eq!(status, Some(0), "{said}");
    let csv = text_of(&folder.path("couplet-out/power-on-exit-dry-front-defaults.csv"));
    let mut lines = csv.lines();
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    assert_eq!(header.first(), Some(&"time [s]"));
    for column in &header {
        let (name, unit) = column.split_once(" [").expect("a unit in brackets");
        assert!(
            !name.is_empty() && unit.ends_with(']') && unit.len() > 1,
            "{column}"
        );
    }
    assert!(
        header.contains(&"speed [m/s]") && header.contains(&"yaw_rate [rad/s]"),
        "{header:?}"
    );
    let first = lines.next().expect("a sample");
    assert!(first.starts_with("0,"), "{first}");
    for line in lines {
        assert_eq!(line.split(',').count(), header.len());
        assert!(
            line.split(',').all(|cell| cell.parse::<f64>().is_ok()),
            "{line}"
        );
    }
}

#[test]
fn the_report_can_fetch_nothing() {
    let folder = Folder::new("network");
    let (status, _, said) = couplet(&folder, &["drive", "lift-off"]);
    assert_eq!(status, Some(0), "{said}");
    let report = text_of(&folder.path("couplet-out/report.html"));
    assert!(
        report.contains("content=\"default-src 'none';"),
        "no content security policy"
    );
    // The only address is the one in the licence comment of the embedded plot library.
    let licence = "/*! https://github.com/leeoniya/uPlot (v1.6.32) */";
    assert!(report.contains(licence));
    let rest = report.replace(licence, "");
    for address in [
        "http:",
        "https:",
        "src=",
        "@import",
        "url(",
        "<link",
        "fetch(",
        "XMLHttpRequest",
        "<iframe",
    ] {
        assert!(!rest.contains(address), "`{address}` is in the report");
    }
}

#[test]
fn the_report_tells_heat_by_run_and_every_change_with_its_reason() {
    let folder = Folder::new("heat");
    let (status, _, said) = couplet(&folder, &["drive", "launch-ordered-open", "--out", "hot"]);
    assert_eq!(status, Some(0), "{said}");
    let page = text_of(&folder.path("hot/report.html"));
    let section = page
        .split("<section id=\"heat\">")
        .nth(1)
        .expect("a section");
    let section = section.split("</section>").next().expect("its end");
    // 140 degC at the start: ordered open in the first sample, on both sides, by what the bound says.
    for cells in [
        "<td>left</td><td>full function</td><td>open to cool</td><td>absolute heat</td>",
        "<td>right</td><td>full function</td><td>open to cool</td><td>absolute heat</td>",
    ] {
        assert_eq!(section.matches(cells).count(), 1, "{section}");
    }
    for words in [
        "made in the clutches",
        "least ceiling",
        "shortest time to limit [s]",
        "bound",
    ] {
        assert!(section.contains(words), "{words}");
    }
    assert!(!section.contains("NaN") && !section.contains("not a number"));
    let (status, _, said) = couplet(
        &folder,
        &["drive", "cruise", "--axle", "front", "--out", "none"],
    );
    assert_eq!(status, Some(0), "{said}");
    assert!(!text_of(&folder.path("none/report.html")).contains("id=\"heat\""));
}

#[test]
fn every_plot_of_the_report_has_a_data_table_of_at_most_thirty_rows() {
    let folder = Folder::new("tables");
    let (status, _, said) = couplet(&folder, &["drive", "circle-dry"]);
    assert_eq!(status, Some(0), "{said}");
    let report = text_of(&folder.path("couplet-out/report.html"));
    let figures: Vec<&str> = report.split("<figure>").skip(1).collect();
    assert!(figures.len() >= 4, "only {} plots", figures.len());
    for figure in figures {
        let figure = figure.split("</figure>").next().unwrap_or_default();
        let table = figure
            .split("<details class=\"data\">")
            .nth(1)
            .expect("a data table");
        let rows = table.matches("<tr><td>").count();
        assert!((2..=30).contains(&rows), "{rows} rows");
        assert!(table.contains("time [s]"));
    }
}

#[test]
fn the_command_line_overrides_axle_and_seed() {
    let folder = Folder::new("override");
    let arguments = [
        "drive",
        "split-launch-0",
        "--axle",
        "coupling",
        "--seed",
        "7",
        "--setting",
        "trailer",
    ];
    let (status, printed, said) = couplet(&folder, &arguments);
    assert_eq!(status, Some(0), "{said}");
    assert!(
        printed.contains("axle `coupling`, setting `trailer`, seed 7"),
        "{printed}"
    );
    let summary: Value =
        serde_json::from_str(&text_of(&folder.path("couplet-out/summary.json"))).expect("JSON");
    assert_eq!(summary["runs"][0]["seed"], 7);
    assert_eq!(summary["runs"][0]["axle"], "coupling");
}

#[test]
fn demo_files_in_the_sources_drive_and_equal_the_embedded_ones() {
    let folder = Folder::new("demo-files");
    let vehicle = format!("{SOURCES}/vehicles/ptarmigan.toml");
    let setting = format!("{SOURCES}/settings/response.toml");
    let scenario = format!("{SOURCES}/scenarios/power-on-exit-wet.toml");
    let by_path = [
        "drive",
        &scenario,
        "--vehicle",
        &vehicle,
        "--setting",
        &setting,
        "--out",
        "path",
    ];
    let by_name = [
        "drive",
        "power-on-exit-wet",
        "--setting",
        "response",
        "--out",
        "name",
    ];
    for arguments in [&by_path[..], &by_name] {
        let (status, _, said) = couplet(&folder, arguments);
        assert_eq!(status, Some(0), "{said}");
    }
    assert!(
        folder.all_files("path") == folder.all_files("name"),
        "path and name differ"
    );
}

#[test]
fn every_file_in_the_demo_folders_is_embedded() {
    let folder = Folder::new("embedded");
    let (_, _, said) = couplet(
        &folder,
        &["drive", "none", "--vehicle", "none", "--setting", "none"],
    );
    for kind in ["vehicles", "scenarios", "settings"] {
        for entry in std::fs::read_dir(format!("{SOURCES}/{kind}")).expect("the folder exists") {
            let path = entry.expect("readable").path();
            let name = path
                .file_stem()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            assert!(said.contains(&name), "{name} is not offered");
        }
    }
}

#[test]
fn the_vehicle_file_lists_every_number_of_the_car() {
    let text = text_of(format!("{SOURCES}/vehicles/ptarmigan.toml").as_ref());
    let keys = text
        .lines()
        .filter(|line| line.contains(" = ") && !line.starts_with('#'))
        .count();
    assert_eq!(keys, Vehicle::FIELDS.len());
}

#[test]
fn prove_judges_one_requirement_and_writes_its_row() {
    let folder = Folder::new("prove");
    let (status, printed, said) = couplet(
        &folder,
        &["prove", "--only", "split-launch-10", "--json", "rows.json"],
    );
    // The status must agree with the row, whichever way the requirement went.
    let rows: Value =
        serde_json::from_str(&text_of(&folder.path("rows.json"))).expect("rows are JSON");
    assert_eq!(rows.as_array().map(Vec::len), Some(1), "{printed}{said}");
    let row = &rows[0];
    assert_eq!(row["id"], "split-launch-10");
    assert_eq!(row["unit"], "s");
    assert!(row["value"].is_number() && row["target"].is_string());
    assert_eq!(status, Some(if row["pass"] == true { 0 } else { 1 }));
}

#[test]
fn prove_refuses_a_requirement_nobody_knows() {
    let folder = Folder::new("prove-unknown");
    let (status, _, said) = couplet(&folder, &["prove", "--only", "no-such-row"]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("no-such-row") && said.contains("split-launch-10"),
        "{said}"
    );
    assert!(!folder.path("couplet-out").exists());
}
