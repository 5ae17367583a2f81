//! `couplet envelope`: the table, the page, and what is refused.

mod support;

use support::{Folder, couplet, text_of};

/// Points of a path like `M1.0 2.0L3.0 4.0Z`.
fn points(path: &str) -> Vec<(f64, f64)> {
    let places = path.trim_end_matches('Z').split(['M', 'L']);
    places
        .filter(|place| !place.is_empty())
        .map(|place| {
            let (x, y) = place.split_once(' ').expect("two numbers");
            (x.parse().expect("x"), y.parse().expect("y"))
        })
        .collect()
}

#[test]
fn envelope_tells_every_point_with_its_bounds_and_draws_a_page_that_fetches_nothing() {
    let folder = Folder::new("envelope");
    let (status, told, said) = couplet(&folder, &["envelope", "--out", "one"]);
    assert_eq!(status, Some(0), "{said}");
    for words in [
        "speed          60 km/h",
        "curvature     0.03 1/m",
        "front slip        -1 %",
        "rear radius        2 %",
        "capacity       275 N m",
        "oil           -30 degC",
        "kinematic lock",
        "slip direction",
        "capacity",
        "cold oil",
        "oil heat",
        "tyre friction",
        "Not certified.",
    ] {
        assert!(told.contains(words), "`{words}` is missing in\n{told}");
    }
    let page = text_of(&folder.path("one/envelope.html"));
    assert!(page.contains("default-src 'none'") && page.contains("prefers-color-scheme: dark"));
    assert!(!page.contains("http://") && !page.contains("https://") && !page.contains("<script"));
    // Six sets, and the outer wheel over curvature for speed, front slip and rear radius.
    assert_eq!(page.matches("role=\"img\"").count(), 6 + 3);
    assert!(page.matches("class=\"limit speed-").count() >= 6);
    assert!(!page.contains("NaN") && !page.contains("inf"));
    assert!(page.contains("Not certified."));
    couplet(&folder, &["envelope", "--out", "again"]);
    assert!(
        folder.all_files("one") == folder.all_files("again"),
        "not the same twice"
    );
}

#[test]
fn the_drawn_set_is_symmetric_on_a_straight_road_and_mirrored_in_a_turn_to_the_other_side() {
    let folder = Folder::new("envelope-mirror");
    let arguments = ["envelope", "--curvature", "0,0.01,-0.01"];
    let (status, _, said) = couplet(&folder, &arguments);
    assert_eq!(status, Some(0), "{said}");
    let page = text_of(&folder.path("couplet-out/envelope.html"));
    let figure = page
        .split("<figcaption>Rear torque and yaw moment over curvature</figcaption>")
        .nth(1)
        .and_then(|rest| rest.split("</figure>").next())
        .expect("the figure");
    let set = |index: usize| {
        let start = format!("<path class=\"curve speed-{index} set\" d=\"");
        let path = figure.split(&start).nth(1).expect("the set");
        points(path.split('"').next().expect("its path"))
    };
    let zero = figure
        .split("<path class=\"strong\" d=\"M66 ")
        .nth(1)
        .and_then(|rest| rest.split('H').next())
        .and_then(|text| text.parse::<f64>().ok())
        .expect("the line through zero");
    let (straight, left, right) = (set(0), set(1), set(2));
    assert!(straight.len() >= 4 && left.len() >= 4);
    for (one, other) in [(&straight, &straight), (&left, &right)] {
        assert_eq!(one.len(), other.len());
        for (x, y) in one {
            // A tenth of a unit of the drawing: its coordinates have one place.
            let there = |(mx, my): &(f64, f64)| {
                (mx - x).abs() < 0.101 && (my + y - 2.0 * zero).abs() < 0.201
            };
            assert!(other.iter().any(there), "{x} {y} in {other:?}");
        }
    }
    assert!(left != right);
}

#[test]
fn envelope_refuses_values_with_their_range_all_at_once_and_leaves_results_alone() {
    let folder = Folder::new("envelope-refusals");
    let arguments = [
        "envelope",
        "--speed",
        "60,500",
        "--curvature",
        "0.3",
        "--front-slip=-20",
        "--rear-radius",
        "x",
        "--capacity",
        "1,2,3",
        "--oil",
        "1,1",
        "--friction",
        "0.3,0.4",
        "--setting",
        "nonsense",
    ];
    let (status, told, said) = couplet(&folder, &arguments);
    assert_eq!(status, Some(2));
    assert!(told.is_empty());
    for words in [
        "`--speed` has 500, which is out of range; allowed: 1 to 5 different numbers from 3 to 300 km/h",
        "`--curvature` has 0.3, which is out of range",
        "`--front-slip` has -20, which is out of range",
        "`--rear-radius` has `x`, which is no number",
        "`--capacity` has 3, which is out of range; allowed: 1 to 5 different numbers from 200 to 3000 N m",
        "`--oil` has 1 twice",
        "`--friction` takes one value",
        "nonsense",
        "; do: ",
    ] {
        assert!(said.contains(words), "`{words}` is missing in\n{said}");
    }
    assert!(!folder.path("couplet-out").exists());
    let (status, _, said) = couplet(&folder, &["envelope", "--oil", "1,2,3,4,5,6"]);
    assert_eq!(status, Some(2));
    assert!(said.contains("`--oil` has 6 values"), "{said}");
    let (_, _, said) = couplet(&folder, &["envelope", "--speed", "nan,"]);
    assert!(
        said.contains("`--speed` has nan, which is out of range")
            && said.contains("`--speed` has ``, which is no number"),
        "{said}"
    );
}

#[test]
fn a_turn_beyond_the_grip_is_told_as_such() {
    let folder = Folder::new("envelope-grip");
    let arguments = ["envelope", "--speed", "60,200", "--setting", "trailer"];
    let (status, told, said) = couplet(&folder, &arguments);
    assert_eq!(status, Some(0), "{said}");
    let line = told
        .lines()
        .find(|line| line.contains("200 km/h"))
        .expect("the point");
    assert!(line.contains("beyond the grip"), "{line}");
    assert!(told.starts_with("What the axle can reach, setting `trailer`\n"));
}
