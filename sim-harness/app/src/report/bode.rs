//! The page of the yaw loop's Bode plots: one HTML file without script, network, fonts or other files.
//!
//! In: loops by setting and speed. Out: per setting and state of the actuator a figure with gain, phase and sensitivity over
//! frequency, a curve per speed (its own colour and its own broken line), circles where the margins are read, and the numbers
//! as a table. Dark and light follow the reader's system.

use std::fmt::Write;

use couplet_sim::margins::{Margins, Phasor, unwrapped_deg};

use super::{escaped, head};
use crate::margins::{Family, Loop, State, cells, marks};
use crate::output::CAUTIONS;

const WIDTH: f64 = 620.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = WIDTH - 12.0;
/// Ends of the frequency axis, Hz.
const HERTZ: (f64, f64) = (0.25, 25.0);
const TICKS_HZ: [f64; 7] = [0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 25.0];

/// One of the three drawings of a figure.
struct Panel {
    words: &'static str,
    top: f64,
    height: f64,
    low: f64,
    high: f64,
    every: f64,
}

const GAIN: Panel = Panel {
    words: "gain of the loop [dB]",
    top: 22.0,
    height: 190.0,
    low: -50.0,
    high: 20.0,
    every: 10.0,
};
const PHASE: Panel = Panel {
    words: "phase of the loop [deg]",
    top: 242.0,
    height: 170.0,
    low: -360.0,
    high: 0.0,
    every: 45.0,
};
const SENSITIVITY: Panel = Panel {
    words: "sensitivity [-]",
    top: 442.0,
    height: 120.0,
    low: 0.0,
    high: 2.5,
    every: 0.5,
};
const HEIGHT: f64 = 600.0;

impl Panel {
    fn down(&self, value: f64) -> f64 {
        self.height * (self.high - value) / (self.high - self.low)
    }
}

fn across(hertz: f64) -> f64 {
    let share = (hertz / HERTZ.0).log10() / (HERTZ.1 / HERTZ.0).log10();
    LEFT + share * (RIGHT - LEFT)
}

/// The page.
pub fn page(families: &[Family], states: &[State]) -> String {
    let mut text = head("Couplet: margins of the yaw loop");
    text += "<body>\n<a class=\"skip\" href=\"#content\">Skip to content</a>\n<header>\n<h1>Margins of the yaw loop</h1>\n<ul class=\"cautions\" aria-label=\"Cautions\">\n";
    for caution in CAUTIONS {
        let _ = writeln!(text, "<li>{}</li>", escaped(caution));
    }
    text += "</ul>\n<p>The loop is opened at the measured yaw rate: the real law, linearised by small sines in a steady turn under power, then \
             the actuator, then the linear single-track car. A circle on the gain stands where the phase passes -180 deg, one on the phase where \
             the gain passes 0 dB, the one with the least margin: its distance to the strong line is the margin.</p>\n<nav aria-label=\"Contents\"><ul>\n";
    for (index, family) in families.iter().enumerate() {
        let _ = writeln!(
            text,
            "<li><a href=\"#setting-{index}\">{}</a></li>",
            escaped(&family.setting)
        );
    }
    text += "</ul></nav>\n</header>\n<main id=\"content\">\n";
    for (index, family) in families.iter().enumerate() {
        let _ = writeln!(
            text,
            "<section id=\"setting-{index}\">\n<h2>Setting {}</h2>\n<div class=\"plots\">",
            escaped(&family.setting)
        );
        for (number, state) in states.iter().enumerate() {
            text += &figure(family, number, state);
        }
        text += "</div>\n</section>\n";
    }
    text + "</main>\n</body>\n</html>\n"
}

fn figure(family: &Family, number: usize, state: &State) -> String {
    let mut text = format!(
        "<figure class=\"bode\">\n<figcaption>{}, setting {}</figcaption>\n<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"Bode plot; its numbers are in the table below\">\n",
        escaped(state.words),
        escaped(&family.setting)
    );
    for panel in [&GAIN, &PHASE, &SENSITIVITY] {
        text += &grid(panel);
    }
    text += &strong(&GAIN, 0.0);
    text += &strong(&PHASE, -180.0);
    if let Some(target) = &state.target {
        text += &strong(&SENSITIVITY, target.peak_sensitivity);
    }
    for (index, one) in family.loops.iter().enumerate() {
        if let Some(open) = one.open.get(number) {
            text += &curves(index, one, open);
        }
    }
    text += "</svg>\n<ul class=\"legend\" aria-label=\"Curves\">\n";
    for (index, one) in family.loops.iter().enumerate() {
        let _ = writeln!(
            text,
            "<li><svg class=\"sample\" viewBox=\"0 0 40 10\" aria-hidden=\"true\"><path class=\"curve speed-{index}\" d=\"M0 5H40\"/></svg> {} km/h</li>",
            one.speed_km_h
        );
    }
    text += "</ul>\n";
    text += &numbers(family, number, state.target.as_ref());
    text + "</figure>\n"
}

fn grid(panel: &Panel) -> String {
    let (top, foot) = (panel.top, panel.top + panel.height);
    let mut text = format!(
        "<text x=\"{LEFT}\" y=\"{:.0}\">{}</text>\n",
        top - 6.0,
        panel.words
    );
    let steps = ((panel.high - panel.low) / panel.every).round() as usize;
    for step in 0..=steps {
        let value = panel.low + panel.every * step as f64;
        let y = top + panel.down(value);
        let _ = writeln!(
            text,
            "<path class=\"grid\" d=\"M{LEFT} {y:.1}H{RIGHT}\"/><text x=\"{:.0}\" y=\"{:.1}\" text-anchor=\"end\">{value}</text>",
            LEFT - 6.0,
            y + 4.0
        );
    }
    for hertz in TICKS_HZ {
        let x = across(hertz);
        let _ = writeln!(text, "<path class=\"grid\" d=\"M{x:.1} {top}V{foot}\"/>");
        if panel.top > PHASE.top {
            let _ = writeln!(
                text,
                "<text x=\"{x:.1}\" y=\"{:.0}\" text-anchor=\"middle\">{hertz}</text>",
                foot + 16.0
            );
        }
    }
    if panel.top > PHASE.top {
        let _ = writeln!(
            text,
            "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"middle\">frequency [Hz]</text>",
            0.5 * (LEFT + RIGHT),
            foot + 32.0
        );
    }
    text
}

fn strong(panel: &Panel, value: f64) -> String {
    let y = panel.top + panel.down(value);
    format!("<path class=\"strong\" d=\"M{LEFT} {y:.1}H{RIGHT}\"/>\n")
}

/// The three curves of one speed and the places where its margins are read.
fn curves(index: usize, one: &Loop, open: &[Phasor]) -> String {
    let level: Vec<f64> = open.iter().map(|l| 20.0 * l.size().log10()).collect();
    let phase = unwrapped_deg(open);
    let unit = Phasor::new(1.0, 0.0);
    let sensitivity: Vec<f64> = open
        .iter()
        .map(|l| unit.over(unit.plus(*l)).size())
        .collect();
    let mut text = String::new();
    for (panel, values) in [
        (&GAIN, &level),
        (&PHASE, &phase),
        (&SENSITIVITY, &sensitivity),
    ] {
        let mut d = String::new();
        for (hertz, value) in one.hertz.iter().zip(values) {
            let letter = if d.is_empty() { 'M' } else { 'L' };
            let _ = write!(d, "{letter}{:.1} {:.1}", across(*hertz), panel.down(*value));
        }
        // An inner drawing cuts off what leaves the panel.
        let _ = writeln!(
            text,
            "<svg x=\"0\" y=\"{}\" width=\"{WIDTH}\" height=\"{}\"><path class=\"curve speed-{index}\" d=\"{d}\"/></svg>",
            panel.top, panel.height
        );
    }
    for (panel, crossing, at, read, worst) in [
        (&GAIN, -180.0, &phase, &level, 1.0),
        (&PHASE, 0.0, &level, &phase, -1.0),
    ] {
        if let Some((hertz, value)) = crossed(&one.hertz, at, crossing, read, worst)
            && (panel.low..=panel.high).contains(&value)
        {
            let _ = writeln!(
                text,
                "<circle class=\"curve speed-{index}\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"4\"/>",
                across(hertz),
                panel.top + panel.down(value)
            );
        }
    }
    text
}

/// Frequency at which `at` passes `level`, and what `read` is there: of several places the one with the largest `worst *
/// read`, which has the least margin. Straight between samples, over the logarithm of frequency as drawn.
fn crossed(hertz: &[f64], at: &[f64], level: f64, read: &[f64], worst: f64) -> Option<(f64, f64)> {
    let mut found: Option<(f64, f64)> = None;
    for (place, pair) in at.windows(2).enumerate() {
        if (pair[0] - level) * (pair[1] - level) > 0.0 || pair[0] == pair[1] {
            continue;
        }
        let share = (pair[0] - level) / (pair[0] - pair[1]);
        let between = |one: f64, other: f64| one + share * (other - one);
        let logarithm = between(hertz[place].log10(), hertz[place + 1].log10());
        let value = between(read[place], read[place + 1]);
        if found.is_none_or(|(_, before)| worst * value > worst * before) {
            found = Some((10_f64.powf(logarithm), value));
        }
    }
    found
}

fn numbers(family: &Family, number: usize, target: Option<&Margins>) -> String {
    let mut text = String::from(
        "<table class=\"verdicts\">\n<thead><tr><th scope=\"col\">speed</th><th scope=\"col\">gain margin, dB</th><th scope=\"col\">phase margin, deg</th>\
         <th scope=\"col\">peak sensitivity</th><th scope=\"col\">verdict</th></tr></thead>\n<tbody>\n",
    );
    for one in &family.loops {
        let margins = one.margins(number);
        let met = target
            .map(|target| margins.is_some_and(|margins| marks(&margins, target) == [true; 3]));
        let (class, verdict) = match met {
            Some(true) => ("met", "met"),
            Some(false) => ("missed", "missed"),
            None => ("", "-"),
        };
        let _ = write!(
            text,
            "<tr class=\"{class}\"><th scope=\"row\">{} km/h</th>",
            one.speed_km_h
        );
        for cell in cells(margins) {
            let _ = write!(text, "<td class=\"number\">{cell}</td>");
        }
        let _ = writeln!(text, "<td class=\"verdict\">{verdict}</td></tr>");
    }
    if let Some(target) = target {
        let phase = if target.phase_deg > 0.0 {
            format!("at least {}", target.phase_deg)
        } else {
            "-".to_owned()
        };
        let _ = writeln!(
            text,
            "<tr><th scope=\"row\">target</th><td class=\"number\">at least {}</td><td class=\"number\">{phase}</td><td class=\"number\">at most {}</td><td></td></tr>",
            target.gain_db, target.peak_sensitivity
        );
    }
    text + "</tbody>\n</table>\n"
}

#[cfg(test)]
mod tests {
    use super::crossed;

    #[test]
    fn of_several_crossings_the_one_with_the_least_margin_is_marked() {
        let hertz = [1.0, 10.0, 100.0];
        // The gain passes 0 dB twice, at half of each way; the second time the phase is lower.
        let (level, phase) = ([-2.0, 2.0, -2.0], [-20.0, -60.0, -140.0]);
        let (at, value) = crossed(&hertz, &level, 0.0, &phase, -1.0).expect("two crossings");
        assert!((at - 10_f64.powf(1.5)).abs() < 1e-9 && (value + 100.0).abs() < 1e-9);
        let (at, _) = crossed(&hertz, &level, 0.0, &phase, 1.0).expect("two crossings");
        assert!((at - 10_f64.powf(0.5)).abs() < 1e-9);
        assert_eq!(crossed(&hertz, &level, 5.0, &phase, 1.0), None);
    }
}
