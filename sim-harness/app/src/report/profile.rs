//! The pass over its distance: height, grade and surface, with the work of the axle as a band below.
//!
//! Part of the drawing of [`super::map`], with the same marks.

use std::fmt::Write;

use super::map::{Drive, WIDTH, pieces};
use super::stretches::{placed, surface};
use couplet_sim::metrics::axle_work::Work;
use couplet_sim::plant::road::path::SPACING_M;

/// Height of the profile below the map, pixels.
pub const HEIGHT: f64 = 210.0;
const LEFT: f64 = 56.0;
const RIGHT: f64 = WIDTH - 20.0;
/// Rows inside the profile, pixels from its top.
const SUMMIT: f64 = 26.0;
const VALLEY: f64 = 104.0;
const GROUND: f64 = 132.0;
const BAND: f64 = 156.0;
const SCALE: f64 = 178.0;
/// Shortest piece of road whose letter has room in the band, m.
const LETTER_FROM_M: f64 = 60.0;
/// Patches nearer to each other than this would write over each other, m.
const NEAR_M: f64 = 90.0;
/// Shortest patch whose name has room, m.
const NAME_FROM_M: f64 = 18.0;

/// Left and right edge in pixels.
pub fn edges() -> (f64, f64) {
    (LEFT, RIGHT)
}

/// The drawing; `top` is the lower edge of the map.
pub fn profile(drive: &Drive<'_>, top: f64) -> String {
    let length_m = drive.road.length_m();
    let across = |distance_m: f64| LEFT + distance_m / length_m * (RIGHT - LEFT);
    let points = drive.road.points();
    let heights = points.iter().map(|point| point.height_m);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), h| {
        (low.min(h), high.max(h))
    });
    let down =
        |height_m: f64| top + VALLEY - (height_m - low) / (high - low).max(1.0) * (VALLEY - SUMMIT);
    let mut hill = String::new();
    for point in (0..points.len()).step_by((8.0 / SPACING_M) as usize) {
        let _ = write!(
            hill,
            "{}{:.1} {:.1}",
            if point == 0 { 'M' } else { 'L' },
            across(point as f64 * SPACING_M),
            down(points[point].height_m)
        );
    }
    let mut text = format!("<path class=\"hill\" d=\"{hill}\"/>\n");
    for (height_m, words) in [(low, low), (high, high)] {
        let _ = writeln!(
            text,
            "<text class=\"axis\" x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{words:.0} m</text>",
            LEFT - 6.0,
            down(height_m) + 4.0
        );
    }
    for (stretch, from_m) in placed(&drive.stretches) {
        let middle_m = from_m + 0.5 * stretch.length_m;
        if stretch.length_m >= 90.0 && stretch.grade_percent.abs() >= 6.0 {
            let at = ((middle_m / SPACING_M) as usize).min(points.len() - 1);
            let _ = writeln!(
                text,
                "<text class=\"axis\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{:+.0} %</text>",
                across(middle_m),
                down(points[at].height_m) - 8.0,
                stretch.grade_percent
            );
        }
    }
    text += &ground(drive, top + GROUND, &across);
    let (start, end) = (across(0.0), across(length_m));
    let _ = writeln!(
        text,
        "<path class=\"road\" d=\"M{start} {0}H{end}\"/><path class=\"untold\" d=\"M{start} {0}H{end}\"/>",
        top + BAND
    );
    for (kind, from_m, to_m) in pieces(drive) {
        let (from, to, number) = (across(from_m), across(to_m), kind.number());
        let _ = writeln!(
            text,
            "<path class=\"work work-{number}\" d=\"M{from:.1} {0}H{to:.1}\"/>",
            top + BAND
        );
        if to_m - from_m >= LETTER_FROM_M && kind != Work::Open {
            let middle = 0.5 * (from + to);
            let _ = writeln!(
                text,
                "<circle class=\"bead work-{number}\" cx=\"{middle:.1}\" cy=\"{0}\" r=\"7.5\"/><text class=\"letter\" x=\"{middle:.1}\" y=\"{1}\">{2}</text>",
                top + BAND,
                top + BAND + 3.8,
                kind.letter()
            );
        }
    }
    for kilometre in 0..=(length_m / 500.0) as usize {
        let at = across(500.0 * kilometre as f64);
        let _ = writeln!(
            text,
            "<path class=\"tick\" d=\"M{at:.1} {0}v5\"/><text class=\"axis\" x=\"{at:.1}\" y=\"{1}\" text-anchor=\"middle\">{2}</text>",
            top + SCALE - 10.0,
            top + SCALE + 8.0,
            500 * kilometre
        );
    }
    let _ = writeln!(
        text,
        "<text class=\"axis\" x=\"{:.0}\" y=\"{}\" text-anchor=\"middle\">distance along the road [m]</text>",
        0.5 * (LEFT + RIGHT),
        top + SCALE + 24.0
    );
    text
}

/// Patches other than asphalt as lines of their own kind, named once each; left above right.
fn ground(drive: &Drive<'_>, middle: f64, across: &dyn Fn(f64) -> f64) -> String {
    let mut text = String::new();
    let mut patches: Vec<((&'static str, bool, bool), f64, f64)> = Vec::new();
    for (stretch, from_m) in placed(&drive.stretches) {
        let (found, to_m) = (surface(stretch), from_m + stretch.length_m);
        match patches.last_mut() {
            Some(last) if last.0 == found => last.2 = to_m,
            _ => patches.push((found, from_m, to_m)),
        }
    }
    let mut named_to_m = 0.0;
    let mut raised = false;
    for ((kind, left, right), from_m, to_m) in patches {
        let (from, to) = (across(from_m), across(to_m));
        for (lies, offset) in [(left, -3.0), (right, 5.0)] {
            if lies {
                let down = middle + offset;
                let _ = writeln!(
                    text,
                    "<path class=\"ground {kind}\" d=\"M{from:.1} {down}H{to:.1}\"/>"
                );
            }
        }
        if (left || right) && to_m - from_m >= NAME_FROM_M {
            // Names of patches close together stand on two levels.
            raised = !raised && from_m - named_to_m < NEAR_M;
            named_to_m = to_m;
            let side = match (left, right) {
                (true, false) => " left",
                (false, true) => " right",
                _ => "",
            };
            let _ = writeln!(
                text,
                "<text class=\"axis\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{kind}{side}</text>",
                0.5 * (from + to),
                middle - if raised { 21.0 } else { 9.0 }
            );
        }
    }
    text
}
