//! `couplet life`: the tables, the page, and what is refused.

mod support;

use support::{Folder, couplet, text_of};

/// A short life, so that the test takes seconds.
const SHORT: &str = "[whole]\ntime_h = 40.0\nway_km = 1600.0\n[often]\nlaunch = 5.0\n\
                     launch_split = 0.5\nexit_dry = 0.0\nexit_wet = 0.0\n";

#[test]
fn life_tells_missions_events_and_cruise_and_draws_a_page_that_fetches_nothing() {
    let folder = Folder::new("life");
    std::fs::write(folder.path("short.toml"), SHORT).expect("written");
    let arguments = ["life", "short.toml", "--out", "one"];
    let (status, told, said) = couplet(&folder, &arguments);
    assert_eq!(status, Some(0), "{said}");
    for words in [
        "wear of a face, left / right",
        "oil changes due",
        "surface cycles over 80 K",
        "time with capacity withdrawn by heat",
        "time left at the same use",
        "launch, one side ice, 10 %",
        "the axle's cost, Wh/km",
        "k and the limit are guesses",
        "every mission is invented",
        "Not certified.",
    ] {
        assert!(told.contains(words), "`{words}` is missing in\n{told}");
    }
    // What no mission does is not driven.
    assert!(!told.contains("Skarn Pass"));
    let page = text_of(&folder.path("one/life.html"));
    assert!(page.contains("default-src 'none'") && page.contains("prefers-color-scheme: dark"));
    assert!(!page.contains("http://") && !page.contains("https://") && !page.contains("<script"));
    assert_eq!(page.matches("role=\"img\"").count(), 3);
    assert!(!page.contains("NaN") && !page.contains("inf<"));
    assert!(page.contains("Not certified."));
    let (_, again, _) = couplet(&folder, &["life", "short.toml", "--out", "again"]);
    assert_eq!(told.replace("one/", "again/"), again);
    assert!(
        folder.all_files("one") == folder.all_files("again"),
        "not the same twice"
    );
}

#[test]
fn a_mission_that_is_wrong_or_cannot_be_driven_is_refused_with_its_place() {
    let folder = Folder::new("life-refused");
    let text = "[drive]\ntime_min = 0.5\nspred = 0.1\n";
    std::fs::write(folder.path("wrong.toml"), text).expect("written");
    let (status, _, said) = couplet(&folder, &["life", "wrong.toml"]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("wrong.toml:2:") && said.contains("2 to 600 min"),
        "{said}"
    );
    assert!(
        said.contains("wrong.toml:3:") && said.contains("`spread`"),
        "{said}"
    );
    // 240 km/h on average at a cruising speed of 60 km/h.
    let text = format!(
        "{}[drive]\ncruise_km_h = 60.0\n",
        SHORT.replace("1600.0", "9600.0")
    );
    std::fs::write(folder.path("fast.toml"), text).expect("written");
    let (status, _, said) = couplet(&folder, &["life", "fast.toml"]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("fast.toml:10:") && said.contains("contradiction"),
        "{said}"
    );
    assert!(!folder.path("couplet-out").exists());
}
