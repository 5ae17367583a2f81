//! The map of the pass: the road from above and in profile, marked by what the axle did and why.
//!
//! Input: a run over the pass whose record has the controller's trace, and the other runs of its group (where did they get
//! stuck?). Output: a figure. Each kind of work has its own colour, its own broken line and a letter in beads along the
//! road, so no reading hangs on colour alone; surfaces are marked along the edges on whose side they lie; arrows point
//! uphill. Below it the same over distance and height, then a table by stretch of road for reading without sight.

use std::fmt::Write;

use couplet_sim::metrics::axle_work::{Work, along, reached, work};
use couplet_sim::plant::road::path::SPACING_M;
use couplet_sim::plant::road::{RoadPath, Stretch};
use couplet_sim::run::Ending;
use couplet_sim::scenario::{Manoeuvre, skarn_road};
use serde_json::json;

use super::curves::{Group, run_label};
use super::stretches::{by_stretch, placed, surface, surface_words};
use super::{escaped, profile};
use crate::output::Labelled;

/// Length of road that gets one colour, m.
pub const STEP_M: f64 = 10.0;
/// Drawing area, pixels.
pub const WIDTH: f64 = 1000.0;
const EDGE: f64 = 46.0;
/// Shortest piece of the same work that gets a bead with its letter, and the distance of beads, m.
const BEAD_FROM_M: f64 = 30.0;
const BEAD_EVERY_M: f64 = 150.0;
/// Grade from which an arrow with its number stands beside the road, per cent, and the shortest such stretch, m.
const STEEP_PERCENT: f64 = 6.0;
const STEEP_LENGTH_M: f64 = 90.0;

/// What the map knows of one run.
pub struct Drive<'a> {
    /// The road.
    pub road: &'static RoadPath,
    /// Its table.
    pub stretches: Vec<Stretch>,
    /// Work in each piece of road.
    pub kinds: Vec<Work>,
    /// First sample of each piece.
    pub reached: Vec<usize>,
    /// The run.
    pub run: &'a Labelled<'a>,
}

/// The figure, or nothing for a run without road or trace.
pub fn map(index: usize, group: &Group<'_>, run: &Labelled<'_>) -> Option<String> {
    if run.scenario.manoeuvre != Manoeuvre::SkarnPass {
        return None;
    }
    let record = &run.result.record;
    let places = reached(record, STEP_M);
    let drive = Drive {
        road: skarn_road::road(),
        stretches: skarn_road::stretches(),
        kinds: along(&work(record)?, &places),
        reached: places,
        run,
    };
    let view = View::over(drive.road, run.scenario.mirrored);
    let label = format!("{}, {}", group.title, run_label(group, run));
    let mut text = format!(
        "<figure class=\"map\" data-group=\"{index}\">\n<figcaption>What the axle did along the road, and why: {}</figcaption>\n\
         <svg viewBox=\"0 0 {WIDTH} {:.0}\" tabindex=\"0\" role=\"slider\" aria-label=\"Place on the road, {}\" aria-valuemin=\"0\" \
         aria-valuemax=\"{:.0}\" aria-valuenow=\"0\">\n",
        escaped(&label),
        view.height + profile::HEIGHT,
        escaped(&label),
        drive.road.length_m()
    );
    text += &surfaces(&drive, &view);
    let whole = view.line(drive.road, 0.0, drive.road.length_m(), 0.0);
    let _ = writeln!(
        text,
        "<path class=\"road\" d=\"{whole}\"/><path class=\"untold\" d=\"{whole}\"/>"
    );
    for (kind, from_m, to_m) in pieces(&drive) {
        let d = view.line(drive.road, from_m, to_m, 0.0);
        let _ = writeln!(
            text,
            "<path class=\"work work-{}\" d=\"{d}\"/>",
            kind.number()
        );
    }
    text += &beads(&drive, &view);
    text += &grades(&drive, &view);
    text += &ends(&drive, &view);
    text += &stuck(group, &drive, &view);
    text += &profile::profile(&drive, view.height);
    text += "<circle class=\"here\" r=\"8\" visibility=\"hidden\"/><path class=\"here-line\" d=\"\" visibility=\"hidden\"/>\n</svg>\n";
    text += "<p class=\"told\" aria-live=\"polite\">Point at the road, or give it the focus and use the arrow keys (with shift: 100 m; home, end): \
             the cursor of the plots below follows, and this line tells what happened there.</p>\n";
    text += &legend();
    text += &by_stretch(&drive);
    let _ = writeln!(
        text,
        "<script type=\"application/json\">{}</script>",
        told(&drive, &view).to_string().replace("</", "<\\/")
    );
    text += "</figure>\n";
    Some(text)
}

/// Pieces of the same work: kind, from, to in m.
pub fn pieces(drive: &Drive<'_>) -> Vec<(Work, f64, f64)> {
    let mut pieces: Vec<(Work, f64, f64)> = Vec::new();
    for (index, kind) in drive.kinds.iter().enumerate() {
        let (from_m, to_m) = (index as f64 * STEP_M, (index + 1) as f64 * STEP_M);
        let to_m = to_m.min(drive.road.length_m());
        match pieces.last_mut() {
            Some(last) if last.0 == *kind => last.2 = to_m,
            _ => pieces.push((*kind, from_m, to_m)),
        }
    }
    pieces
}

/// From the ground to the drawing: the way starts at the lower right and climbs upwards.
struct View {
    low: (f64, f64),
    scale: f64,
    height: f64,
    side: f64,
}

impl View {
    fn over(road: &RoadPath, mirrored: bool) -> Self {
        let side = if mirrored { -1.0 } else { 1.0 };
        // A quarter turn to the left: across is -y, up is x.
        let extent = |of: &dyn Fn(f64, f64) -> f64| {
            road.points()
                .iter()
                .map(|point| of(point.x_m, side * point.y_m))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                    (low.min(value), high.max(value))
                })
        };
        let across = extent(&|_, y| -y);
        let up = extent(&|x, _| x);
        let scale = (WIDTH - 2.0 * EDGE) / (across.1 - across.0);
        Self {
            low: (across.0, up.1),
            scale,
            height: 2.0 * EDGE + scale * (up.1 - up.0),
            side,
        }
    }

    /// Pixel of a place of the road, `offset` pixels to its left.
    fn pixel(&self, road: &RoadPath, distance_m: f64, offset: f64) -> (f64, f64) {
        let last = road.points().len() - 1;
        let index = ((distance_m / SPACING_M).round().max(0.0) as usize).min(last);
        let point = &road.points()[index];
        let across = EDGE + (-self.side * point.y_m - self.low.0) * self.scale;
        let down = EDGE + (self.low.1 - point.x_m) * self.scale;
        let (one, two) = (
            &road.points()[index.saturating_sub(1)],
            &road.points()[(index + 1).min(last)],
        );
        let (dx, dy) = (two.x_m - one.x_m, two.y_m - one.y_m);
        let length = (dx * dx + dy * dy).sqrt().max(1e-9);
        let (sine, cosine) = (dy / length, dx / length);
        // Left of the road is (-sine, cosine) on the ground.
        (across - self.side * cosine * offset, down + sine * offset)
    }

    /// Whether the place `offset` pixels beside the road has no other road near.
    fn is_clear(&self, road: &RoadPath, distance_m: f64, offset: f64) -> bool {
        let (across, down) = self.pixel(road, distance_m, offset);
        let mut at_m = 0.0;
        while at_m < road.length_m() {
            let (x, y) = self.pixel(road, at_m, 0.0);
            let (dx, dy) = (x - across, y - down);
            if (at_m - distance_m).abs() > 60.0 && dx * dx + dy * dy < 30.0 * 30.0 {
                return false;
            }
            at_m += STEP_M;
        }
        true
    }

    fn line(&self, road: &RoadPath, from_m: f64, to_m: f64, offset: f64) -> String {
        let mut line = String::new();
        let count = ((to_m - from_m) / 4.0).ceil().max(1.0) as usize;
        for step in 0..=count {
            let distance_m = from_m + (to_m - from_m) * step as f64 / count as f64;
            let (across, down) = self.pixel(road, distance_m, offset);
            let letter = if step == 0 { 'M' } else { 'L' };
            let _ = write!(line, "{letter}{across:.1} {down:.1}");
        }
        line
    }
}

fn surfaces(drive: &Drive<'_>, view: &View) -> String {
    let mut text = String::new();
    for (stretch, from_m) in placed(&drive.stretches) {
        let (kind, left, right) = surface(stretch);
        let to_m = from_m + stretch.length_m;
        for (lies, offset) in [(left, 9.5), (right, -9.5)] {
            if lies {
                let d = view.line(drive.road, from_m, to_m, offset * view.side);
                let _ = writeln!(text, "<path class=\"ground {kind}\" d=\"{d}\"/>");
            }
        }
    }
    text
}

fn beads(drive: &Drive<'_>, view: &View) -> String {
    let mut text = String::new();
    for (kind, from_m, to_m) in pieces(drive) {
        let length_m = to_m - from_m;
        if length_m < BEAD_FROM_M || kind == Work::Open {
            continue;
        }
        let count = (length_m / BEAD_EVERY_M).ceil().max(1.0);
        for bead in 0..count as usize {
            let at_m = from_m + length_m * (bead as f64 + 0.5) / count;
            let (across, down) = view.pixel(drive.road, at_m, 0.0);
            let number = kind.number();
            let _ = writeln!(
                text,
                "<circle class=\"bead work-{number}\" cx=\"{across:.1}\" cy=\"{down:.1}\" r=\"7.5\"/>\
                 <text class=\"letter\" x=\"{across:.1}\" y=\"{:.1}\">{}</text>",
                down + 3.8,
                kind.letter()
            );
        }
    }
    text
}

fn grades(drive: &Drive<'_>, view: &View) -> String {
    let mut text = String::new();
    for (stretch, from_m) in placed(&drive.stretches) {
        let grade = stretch.grade_percent;
        if grade.abs() < STEEP_PERCENT || stretch.length_m < STEEP_LENGTH_M {
            continue;
        }
        let at_m = from_m + 0.5 * stretch.length_m;
        // On the side where no other part of the road lies; between two hairpins there is none, and the profile tells.
        let clear = |offset: &&f64| view.is_clear(drive.road, at_m, 2.0 * **offset);
        let Some(offset) = [19.0, -19.0].iter().find(clear) else {
            continue;
        };
        let (one, two) = (
            view.pixel(drive.road, at_m - 9.0, *offset),
            view.pixel(drive.road, at_m + 9.0, *offset),
        );
        let (tail, head) = if grade > 0.0 { (one, two) } else { (two, one) };
        let (dx, dy) = (head.0 - tail.0, head.1 - tail.1);
        let barb = |side: f64| {
            (
                head.0 - 0.45 * dx - side * 0.3 * dy,
                head.1 - 0.45 * dy + side * 0.3 * dx,
            )
        };
        let (left, right) = (barb(1.0), barb(-1.0));
        let number = view.pixel(drive.road, at_m, 1.9 * offset);
        let _ = writeln!(
            text,
            "<path class=\"grade\" d=\"M{:.1} {:.1}L{:.1} {:.1}M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}\"/>\
             <text class=\"grade-number\" x=\"{:.1}\" y=\"{:.1}\">{:.0} %</text>",
            tail.0,
            tail.1,
            head.0,
            head.1,
            left.0,
            left.1,
            head.0,
            head.1,
            right.0,
            right.1,
            number.0,
            number.1 + 4.0,
            grade.abs()
        );
    }
    text
}

fn ends(drive: &Drive<'_>, view: &View) -> String {
    let mut text = String::new();
    for (distance_m, word) in [(0.0, "start"), (drive.road.length_m(), "end")] {
        let (across, down) = view.pixel(drive.road, distance_m, 0.0);
        let _ = writeln!(
            text,
            "<circle class=\"end\" cx=\"{across:.1}\" cy=\"{down:.1}\" r=\"5\"/><text class=\"end-word\" x=\"{across:.1}\" y=\"{:.1}\">{word}</text>",
            down + 21.0
        );
    }
    text
}

/// Where the cars of the group stayed behind: a cross each, joined to its words in the free corner.
fn stuck(group: &Group<'_>, drive: &Drive<'_>, view: &View) -> String {
    let behind = group.runs.iter().filter(|run| {
        !matches!(
            run.result.outcome.ended,
            Ending::GoalReached | Ending::TimeOver
        )
    });
    let mut text = String::new();
    for (line, run) in behind.enumerate() {
        let distance = run.result.record.column("path_distance");
        let distance = distance.unwrap_or_default().iter().copied();
        let at_m = f64::from(distance.fold(0.0_f32, f32::max));
        let (across, down) = view.pixel(drive.road, at_m, 0.0);
        let words_down = EDGE + 20.0 * line as f64;
        let _ = writeln!(
            text,
            "<path class=\"lead\" d=\"M{:.1} {:.1}L{across:.1} {down:.1}\"/>\
             <path class=\"stuck\" d=\"M{:.1} {:.1}l12 12m0 -12l-12 12\"/>\
             <text class=\"stuck-word\" x=\"{EDGE}\" y=\"{words_down:.1}\">{}: {} at {at_m:.0} m</text>",
            EDGE + 290.0,
            words_down - 4.0,
            across - 6.0,
            down - 6.0,
            escaped(&run_label(group, run)),
            escaped(&run.result.outcome.ended.to_string()),
        );
    }
    text
}

fn legend() -> String {
    let mut text = String::from("<ul class=\"map-legend\" aria-label=\"Marks of the map\">\n");
    for kind in Work::ALL {
        let number = kind.number();
        let bead = if kind == Work::Open {
            String::new()
        } else {
            format!(
                "<circle class=\"bead work-{number}\" cx=\"28\" cy=\"9\" r=\"7.5\"/><text class=\"letter\" x=\"28\" y=\"12.8\">{}</text>",
                kind.letter()
            )
        };
        let _ = writeln!(
            text,
            "<li><svg width=\"56\" height=\"18\" aria-hidden=\"true\"><path class=\"road\" d=\"M2 9H54\"/>\
             <path class=\"work work-{number}\" d=\"M2 9H54\"/>{bead}</svg> {}</li>",
            kind.words()
        );
    }
    for (kind, words) in [
        ("wet", "wet, on the side it is marked"),
        ("damp", "damp"),
        ("gravel", "gravel"),
        ("ice", "ice, on the side it is marked"),
    ] {
        let _ = writeln!(
            text,
            "<li><svg width=\"56\" height=\"18\" aria-hidden=\"true\"><path class=\"ground {kind}\" d=\"M2 9H54\"/></svg> {words}</li>"
        );
    }
    text += "<li><svg width=\"56\" height=\"18\" aria-hidden=\"true\"><path class=\"grade\" d=\"M16 9H40M32 4L40 9L32 14\"/></svg> uphill</li>\n</ul>\n";
    text
}

/// What the cursor tells, and where it stands: one entry per piece of road.
fn told(drive: &Drive<'_>, view: &View) -> serde_json::Value {
    let record = &drive.run.result.record;
    let speed = record.column("speed").unwrap_or_default();
    let stretches: Vec<(&Stretch, f64)> = placed(&drive.stretches).collect();
    let (mut points, mut texts) = (Vec::new(), Vec::new());
    for (piece, kind) in drive.kinds.iter().enumerate() {
        let at_m = piece as f64 * STEP_M;
        let (across, down) = view.pixel(drive.road, at_m, 0.0);
        points.push([(across * 10.0).round() / 10.0, (down * 10.0).round() / 10.0]);
        let stretch = stretches.iter().rev().find(|(_, from_m)| *from_m <= at_m);
        let place = stretch.map_or(String::new(), |(stretch, _)| {
            format!(
                "{}, {}, {:+.0} %",
                stretch.name,
                surface_words(stretch),
                stretch.grade_percent
            )
        });
        let speed = drive
            .reached
            .get(piece)
            .and_then(|sample| speed.get(*sample));
        texts.push(format!(
            "{at_m:.0} m, {place}: {:.0} km/h, {}",
            3.6 * speed.copied().unwrap_or(0.0),
            kind.words()
        ));
    }
    let (left, right) = profile::edges();
    json!({
        "step": STEP_M, "points": points, "texts": texts, "length": drive.road.length_m(),
        "profile": [left, right, view.height, view.height + profile::HEIGHT],
    })
}
