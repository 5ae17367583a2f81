//! A long campaign that is interrupted goes on, and ends with the bytes of one that was not.

mod support;

use std::process::{Command, Stdio};
use std::time::Duration;

use support::{Folder, couplet, text_of};

/// 7 campaigns of 12 samples: 84 drives, of which 64 are kept before the rest is driven.
const SAMPLES: &str = "12";

fn prove(out: &str) -> [&str; 5] {
    ["prove", "--samples", SAMPLES, "--out", out]
}

#[test]
fn an_interrupted_campaign_goes_on_and_writes_the_bytes_of_an_uninterrupted_one() {
    let folder = Folder::new("campaign");
    let (_, printed, said) = couplet(&folder, &prove("whole"));
    assert!(printed.contains("exit-dry-tracking-spread"), "{said}");
    let whole = folder.all_files("whole");
    assert!(
        !whole.keys().any(|name| name.starts_with('.')),
        "something was left behind"
    );

    let mut child = Command::new(env!("CARGO_BIN_EXE_couplet"))
        .args(prove("part"))
        .current_dir(folder.path(""))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    let kept = folder.path("part/.campaign-kept");
    while !kept.exists() {
        assert!(
            child.try_wait().expect("a child").is_none(),
            "the campaign ended before anything was kept"
        );
        std::thread::sleep(Duration::from_millis(2));
    }
    child.kill().expect("the child can be killed");
    child.wait().expect("the child ends");
    assert!(
        !folder.path("part/summary.json").exists(),
        "killed too late"
    );
    let good = text_of(&kept);

    let (_, again, said) = couplet(&folder, &prove("part"));
    assert!(
        said.contains("64 samples of an interrupted campaign are used again"),
        "{said}"
    );
    assert_eq!(again.replace("part/", "whole/"), printed);
    assert!(folder.all_files("part") == whole, "the results differ");

    // One bit of one value: the sum does not fit, so nothing of it is used.
    let line = good.lines().nth(1).expect("a kept sample");
    let changed = line.replacen(
        line.rsplit(' ').next().expect("a value"),
        "3ff0000000000000",
        1,
    );
    for damaged in [
        good.replace(line, &changed),
        good[..good.len() / 2].to_owned(),
        good.replace("couplet-campaign-1 ", "couplet-campaign-1 0"),
    ] {
        assert_ne!(damaged, good);
        std::fs::write(&kept, damaged).expect("writable");
        let only = [
            "prove",
            "--samples",
            "1",
            "--only",
            "exit-dry-path-spread",
            "--out",
            "part",
        ];
        let (_, _, said) = couplet(&folder, &only);
        assert!(said.contains("damaged and is not used"), "{said}");
    }
}

#[test]
fn a_campaign_of_no_sample_is_refused() {
    let folder = Folder::new("no-sample");
    let (status, _, said) = couplet(&folder, &["prove", "--samples", "0"]);
    assert_eq!(status, Some(2), "{said}");
    assert!(!folder.path("couplet-out").exists());
}
