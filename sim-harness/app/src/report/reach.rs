//! The page of what the axle can reach: one HTML file without script, network, fonts or other files.
//!
//! In: one sweep per quantity. Out: per quantity a figure with the sets of rear torque (to the right) and yaw moment (upwards),
//! one line per value with its own colour and dashes; where the closed form has a say, a figure with the outer wheel's reach
//! over curvature and the closed form's limit as an upright line of the same look; the numbers as a table. Dark and light
//! follow the reader's system.

use std::fmt::Write;

use super::{escaped, head};
use crate::envelope::{Sweep, cells, common_words, plain, whole};
use crate::output::CAUTIONS;
use crate::output::number::significant;

const WIDTH: f64 = 620.0;
const HEIGHT: f64 = 470.0;
const LEFT: f64 = 66.0;
const RIGHT: f64 = WIDTH - 14.0;
const TOP: f64 = 24.0;
const FOOT: f64 = 424.0;

/// The two axes of a drawing.
struct Axes {
    across: Axis,
    up: Axis,
}

/// An axis with round numbers.
struct Axis {
    words: &'static str,
    low: f64,
    high: f64,
    every: f64,
}

impl Axis {
    /// Round numbers around all of `values` and zero; the same on both sides of zero if `even`.
    fn around(words: &'static str, values: impl Iterator<Item = f64>, even: bool) -> Self {
        let (mut low, mut high) = values.fold((0.0_f64, 0.0_f64), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        if even {
            high = high.max(-low);
            low = -high;
        }
        let span = if high > low { high - low } else { 1.0 };
        let rough = 10_f64.powf((span / 6.0).log10().floor());
        let every = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|share| share * rough)
            .find(|every| span / every <= 7.0)
            .unwrap_or(10.0 * rough);
        let low = (low / every).floor() * every;
        let high = ((high / every).ceil() * every).max(low + every);
        Self {
            words,
            low: if even { -high } else { low },
            high,
            every,
        }
    }

    fn share(&self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }

    fn ticks(&self) -> impl Iterator<Item = f64> + '_ {
        let count = ((self.high - self.low) / self.every).round() as usize;
        (0..=count).map(|step| self.low + self.every * step as f64)
    }
}

impl Axes {
    fn x(&self, value: f64) -> f64 {
        LEFT + self.across.share(value) * (RIGHT - LEFT)
    }

    fn y(&self, value: f64) -> f64 {
        FOOT - self.up.share(value) * (FOOT - TOP)
    }

    /// Grid, numbers, names and the strong lines through zero.
    fn drawn(&self) -> String {
        let mut text = format!(
            "<text x=\"{LEFT}\" y=\"{:.0}\">{}</text>\n",
            TOP - 8.0,
            self.up.words
        );
        for value in self.up.ticks() {
            let y = self.y(value);
            let _ = writeln!(
                text,
                "<path class=\"grid\" d=\"M{LEFT} {y:.1}H{RIGHT}\"/><text x=\"{:.0}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                LEFT - 6.0,
                y + 4.0,
                tick(value, self.up.every)
            );
        }
        for value in self.across.ticks() {
            let x = self.x(value);
            let _ = writeln!(
                text,
                "<path class=\"grid\" d=\"M{x:.1} {TOP}V{FOOT}\"/><text x=\"{x:.1}\" y=\"{:.0}\" text-anchor=\"middle\">{}</text>",
                FOOT + 16.0,
                tick(value, self.across.every)
            );
        }
        let _ = writeln!(
            text,
            "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"middle\">{}</text>",
            0.5 * (LEFT + RIGHT),
            FOOT + 36.0,
            self.across.words
        );
        let _ = writeln!(
            text,
            "<path class=\"strong\" d=\"M{LEFT} {:.1}H{RIGHT}M{:.1} {TOP}V{FOOT}\"/>",
            self.y(0.0),
            self.x(0.0)
        );
        text
    }
}

/// The page.
pub fn page(setting: &str, sweeps: &[Sweep]) -> String {
    let mut text = head("Couplet: what the axle can reach");
    text += "<body>\n<a class=\"skip\" href=\"#content\">Skip to content</a>\n<header>\n<h1>What the axle can reach</h1>\n<ul class=\"cautions\" aria-label=\"Cautions\">\n";
    for caution in CAUTIONS {
        let _ = writeln!(text, "<li>{}</li>", escaped(caution));
    }
    let _ = write!(
        text,
        "</ul>\n<p>Setting {}. About the point: {}. One quantity is varied at a time. The sets come from the law's own bounds and arbiter, stepped until \
         torques, slips and bounds agree; the upright lines are the closed form of plane kinematics, which knows nothing of them.</p>\n\
         <nav aria-label=\"Contents\"><ul>\n",
        escaped(setting),
        escaped(&common_words(sweeps))
    );
    for (index, sweep) in sweeps.iter().enumerate() {
        let (name, _) = sweep.quantity.words();
        let _ = writeln!(text, "<li><a href=\"#quantity-{index}\">{name}</a></li>");
    }
    text += "</ul></nav>\n</header>\n<main id=\"content\">\n";
    for (index, sweep) in sweeps.iter().enumerate() {
        let (name, unit) = sweep.quantity.words();
        let _ = writeln!(
            text,
            "<section id=\"quantity-{index}\">\n<h2>Over {name} [{unit}]</h2>\n<div class=\"plots\">"
        );
        text += &sets(sweep);
        if sweep
            .spots
            .iter()
            .any(|spot| !spot.over_curvature.is_empty())
        {
            text += &outer(sweep);
        }
        text += "</div>\n";
        text += &numbers(sweep);
        text += &corners(sweep);
        text += "</section>\n";
    }
    text + "</main>\n<footer>\n<p>Signs after ISO 8855: yaw moment positive to the left; torques at the wheel, positive driving.</p>\n</footer>\n</body>\n</html>\n"
}

/// Sets of rear torque and yaw moment, one line per value.
fn sets(sweep: &Sweep) -> String {
    let corners = || {
        let sets = sweep.spots.iter().filter_map(|spot| spot.set.as_ref());
        sets.flat_map(|set| &set.corners)
    };
    let axes = Axes {
        across: Axis::around(
            "rear torque [N m]",
            corners().map(|corner| corner.rear_torque_nm),
            false,
        ),
        up: Axis::around(
            "yaw moment [N m], to the left upwards",
            corners().map(|corner| corner.yaw_moment_nm),
            true,
        ),
    };
    let (name, _) = sweep.quantity.words();
    let mut text = figure(&format!("Rear torque and yaw moment over {name}"));
    text += &axes.drawn();
    for (index, spot) in sweep.spots.iter().enumerate() {
        let Some(set) = &spot.set else { continue };
        let mut d = String::new();
        for corner in &set.corners {
            let letter = if d.is_empty() { 'M' } else { 'L' };
            let (x, y) = (axes.x(corner.rear_torque_nm), axes.y(corner.yaw_moment_nm));
            let _ = write!(d, "{letter}{x:.1} {y:.1}");
        }
        let _ = writeln!(text, "<path class=\"curve speed-{index} set\" d=\"{d}Z\"/>");
        if let [corner] = &set.corners[..] {
            let _ = writeln!(
                text,
                "<circle class=\"curve speed-{index}\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"4\"/>",
                axes.x(corner.rear_torque_nm),
                axes.y(corner.yaw_moment_nm)
            );
        }
    }
    text + "</svg>\n" + &legend(sweep) + "</figure>\n"
}

/// Reach of the outer wheel over curvature, with the closed form's limits.
fn outer(sweep: &Sweep) -> String {
    let points = || sweep.spots.iter().flat_map(|spot| &spot.over_curvature);
    let axes = Axes {
        across: Axis::around("curvature [1/m]", points().map(|point| point.0), false),
        up: Axis::around(
            "torque the outer wheel can be given [N m], driving upwards",
            points().map(|point| point.1),
            false,
        ),
    };
    let (name, _) = sweep.quantity.words();
    let mut text = figure(&format!(
        "Outer wheel over curvature and {name}; upright: closed-form limit radius"
    ));
    text += &axes.drawn();
    for (index, spot) in sweep.spots.iter().enumerate() {
        let mut d = String::new();
        for (curvature, torque) in &spot.over_curvature {
            let letter = if d.is_empty() { 'M' } else { 'L' };
            let _ = write!(
                d,
                "{letter}{:.1} {:.1}",
                axes.x(*curvature),
                axes.y(*torque)
            );
        }
        let _ = writeln!(text, "<path class=\"curve speed-{index}\" d=\"{d}\"/>");
        for crossing in &spot.crossings {
            let x = axes.x(crossing.curvature_1_m);
            let y = TOP + 12.0 + 13.0 * index as f64;
            let _ = writeln!(
                text,
                "<path class=\"limit speed-{index}\" d=\"M{x:.1} {TOP}V{FOOT}\"/><circle class=\"curve speed-{index}\" cx=\"{x:.1}\" cy=\"{:.1}\" r=\"4\"/>\
                 <text class=\"beside\" x=\"{:.1}\" y=\"{y:.0}\">R {} m</text>",
                axes.y(0.0),
                x + 4.0,
                significant(crossing.radius_m(), 3)
            );
        }
    }
    text + "</svg>\n" + &legend(sweep) + "</figure>\n"
}

fn figure(caption: &str) -> String {
    format!(
        "<figure class=\"bode reach\">\n<figcaption>{caption}</figcaption>\n<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"{caption}; its numbers are in the tables below\">\n"
    )
}

fn legend(sweep: &Sweep) -> String {
    let (_, unit) = sweep.quantity.words();
    let mut text = String::from("<ul class=\"legend\" aria-label=\"Curves\">\n");
    for (index, spot) in sweep.spots.iter().enumerate() {
        let note = if spot.set.is_none() {
            ", beyond the grip"
        } else {
            ""
        };
        let _ = writeln!(
            text,
            "<li><svg class=\"sample\" viewBox=\"0 0 40 10\" aria-hidden=\"true\"><path class=\"curve speed-{index}\" d=\"M0 5H40\"/></svg> {} {unit}{note}</li>",
            plain(spot.value)
        );
    }
    text + "</ul>\n"
}

fn numbers(sweep: &Sweep) -> String {
    let (name, unit) = sweep.quantity.words();
    let mut text = format!(
        "<div class=\"scroll\"><table>\n<thead><tr><th scope=\"col\">{name}</th><th scope=\"col\">outer wheel, N m</th><th scope=\"col\">set by</th>\
         <th scope=\"col\">closed form drives, radius m</th><th scope=\"col\">yaw at no rear torque, N m</th><th scope=\"col\">full rear torque, N m</th>\
         <th scope=\"col\">yaw at full rear torque, N m</th></tr></thead>\n<tbody>\n"
    );
    for spot in &sweep.spots {
        let _ = write!(
            text,
            "<tr><th scope=\"row\">{} {unit}</th>",
            plain(spot.value)
        );
        for cell in cells(spot) {
            let _ = write!(text, "<td class=\"number\">{}</td>", escaped(&cell));
        }
        text += "</tr>\n";
    }
    text + "</tbody>\n</table></div>\n"
}

fn corners(sweep: &Sweep) -> String {
    let (name, unit) = sweep.quantity.words();
    let mut text = format!(
        "<details class=\"data\"><summary>Corners and the bound on each edge</summary><div class=\"scroll\"><table>\n<thead><tr><th scope=\"col\">{name}</th>\
         <th scope=\"col\">rear torque, N m</th><th scope=\"col\">yaw moment, N m</th><th scope=\"col\">edge to the next</th><th scope=\"col\">set by</th></tr></thead>\n<tbody>\n"
    );
    for spot in &sweep.spots {
        for corner in spot.set.iter().flat_map(|set| &set.corners) {
            let _ = writeln!(
                text,
                "<tr><th scope=\"row\">{} {unit}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
                plain(spot.value),
                whole(corner.rear_torque_nm),
                whole(corner.yaw_moment_nm),
                corner.part.words(),
                corner.by.name()
            );
        }
    }
    text + "</tbody>\n</table></div></details>\n"
}

/// A number on an axis, with as many places as its steps need.
fn tick(value: f64, every: f64) -> String {
    let places = (-every.log10().floor()).max(0.0) as usize;
    let rounded = format!("{value:.places$}");
    if rounded.trim_start_matches(['-', '0', '.']).is_empty() {
        "0".into()
    } else {
        rounded
    }
}

#[cfg(test)]
mod tests {
    use super::{Axis, tick};

    #[test]
    fn an_axis_holds_its_values_and_zero_between_round_numbers() {
        for values in [[0.0, 2200.0], [-37.0, 15.0], [0.002, 0.031], [0.0, 0.0]] {
            for even in [false, true] {
                let axis = Axis::around("", values.into_iter(), even);
                assert!(axis.low <= values[0].min(0.0) && axis.high >= values[1].max(0.0));
                assert!(
                    !even || axis.low == -axis.high,
                    "{} {}",
                    axis.low,
                    axis.high
                );
                let count = axis.ticks().count();
                assert!((2..=10).contains(&count), "{values:?}: {count}");
            }
        }
        assert_eq!(
            (tick(-0.0, 5.0), tick(0.015, 0.005)),
            ("0".into(), "0.015".into())
        );
    }
}
