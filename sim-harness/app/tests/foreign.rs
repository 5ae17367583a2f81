//! `couplet replay LOG --dbc FILE`: frames of a bus with a database of its own. The drive is invented.

mod support;

use couplet_exchange::mdf;
use support::{Folder, couplet, text_of};

fn torque(folder: &Folder, name: &str) -> Vec<f64> {
    let file = std::fs::File::open(folder.path(name)).expect("there");
    let found = mdf::read(file, &mdf::Limits::default(), &|_| true).expect("readable");
    let (_, signal) = found
        .recording
        .find("output.torque_left")
        .expect("a channel");
    signal.values.clone()
}

/// A mapping of every input to the channel `Message.Signal` of a database.
fn mapping_of(database: &str) -> String {
    let mut map = "start_degc = 60.0\n".to_owned();
    let mut message = "";
    for line in database.lines() {
        let mut words = line.split_whitespace();
        match (words.next(), words.next(), words.next()) {
            (Some("BO_"), _, Some(name)) => message = name.trim_end_matches(':'),
            (Some("SG_"), Some(signal), _) => {
                let inputs = couplet_controller::signal::INPUT_SIGNALS;
                if let Some(input) = inputs.iter().find(|input| input.name == signal) {
                    map += &format!(
                        "[{signal}]\nchannel = \"{message}.{signal}\"\nunit = \"{}\"\n",
                        input.unit
                    );
                }
            }
            _ => {}
        }
    }
    map
}

#[test]
fn frames_of_a_foreign_database_replay_like_the_bus_they_came_from() {
    let folder = Folder::new("replay-foreign");
    let drive = ["drive", "double-lane-change", "--bus", "drive.txt"];
    let (status, _, refused) = couplet(&folder, &drive);
    assert_eq!(status, Some(0), "{refused}");
    couplet(&folder, &["export", "dbc", "--out", "."]);
    let database = text_of(&folder.path("couplet.dbc"));
    folder.file("map.toml", mapping_of(&database).as_bytes());
    let (status, _, refused) = couplet(&folder, &["replay", "drive.txt", "--out", "own"]);
    assert_eq!(status, Some(0), "{refused}");
    // The same frames as those of a bus nobody knows.
    let frames = text_of(&folder.path("drive.txt"));
    let rows = frames.split("data\n").nth(1).expect("rows");
    let foreign = format!("couplet-frames 1\ntime_us id length data\n{rows}");
    folder.file("drive.log", foreign.as_bytes());
    let words = ["replay", "drive.log", "--dbc", "couplet.dbc", "--out", "as"];
    let map = ["--map", "map.toml"];
    let (status, said, refused) = couplet(&folder, &[&words[..], &map].concat());
    assert_eq!(status, Some(0), "{refused}");
    assert!(said.contains("lie outside the database's range"), "{said}");
    // Not the same bits: the own bus takes no first frame and loses a value at once that is not available; here it is held and ages.
    let (own, foreign) = (
        torque(&folder, "own/drive-replay.mf4"),
        torque(&folder, "as/drive-replay.mf4"),
    );
    assert_eq!(own.len(), foreign.len());
    let largest = own
        .iter()
        .zip(&foreign)
        .fold(0.0_f64, |most, (one, other)| most.max((one - other).abs()));
    assert!(
        own.iter().any(|torque| *torque > 50.0) && largest < 5.0,
        "{largest} N m"
    );
    // Proposed by names, units and physics.
    let (status, proposed, refused) = couplet(&folder, &[&words[..4], &["--suggest"]].concat());
    assert_eq!(status, Some(0), "{refused}");
    for channel in [
        "front_wheels.wheel_speed_front_left",
        "motion.yaw_rate",
        "driver.steering_wheel_angle",
    ] {
        assert!(
            proposed.contains(&format!("channel = \"{channel}\"")),
            "{proposed}"
        );
    }
    // A wrong sign is found by the same physics.
    let wrong =
        text_of(&folder.path("map.toml")).replace("[yaw_rate]\n", "[yaw_rate]\nsign = -1\n");
    folder.file("wrong.toml", wrong.as_bytes());
    let (status, _, refused) = couplet(&folder, &[&words[..], &["--map", "wrong.toml"]].concat());
    assert_eq!(status, Some(2));
    assert!(
        refused.contains("[yaw_rate] has the wrong sign"),
        "{refused}"
    );
    // Without the database, and with a spoiled one.
    let (status, _, refused) = couplet(&folder, &["replay", "drive.log", "--map", "map.toml"]);
    assert_eq!(status, Some(2));
    assert!(refused.contains("name it with --dbc FILE"), "{refused}");
    folder.file("couplet.dbc", database.replacen("@1+", "@7+", 1).as_bytes());
    let (status, _, refused) = couplet(&folder, &[&words[..], &map].concat());
    assert_eq!(status, Some(2));
    assert!(
        refused.contains("couplet.dbc:") && refused.contains("`0` or `1`"),
        "{refused}"
    );
}
