//! The page of a correlation: boundaries drawn by the simulation, the measurement in them. One file, no script, no network.

use std::fmt::Write;

use couplet_sim::correlate::{Course, Driven, Figures, Quantity};

use crate::output::CAUTIONS;

/// Most points of a drawn line.
const MOST_POINTS: usize = 600;
const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 240.0;

/// One recording with its simulation.
pub struct Compared {
    /// Name of the recording.
    pub name: String,
    /// What was driven.
    pub drive: Driven,
    /// What the plant made of it.
    pub made: Course,
    /// Figures by quantity.
    pub figures: [Figures; 3],
}

/// The page; `table` is the text of the terminal.
pub fn page(compared: &[Compared], table: &str) -> String {
    let mut page = String::from(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>Correlation</title>\n<style>body{font:15px/1.45 system-ui,sans-serif;max-width:86rem;margin:1rem auto;padding:0 1rem}\
         pre{overflow-x:auto;font-size:13px}figure{display:inline-block;margin:0 1rem 1rem 0}figcaption{font-size:13px}\
         svg{border:1px solid #8888;background:#8881}.corridor{fill:#3a7bd544;stroke:none}.edge{fill:none;stroke:#3a7bd5;stroke-width:1}\
         .seen{fill:none;stroke:#d5613a;stroke-width:1.5}text{font-size:11px;fill:currentColor}</style>\n</head>\n<body>\n\
         <h1>Recorded and simulated</h1>\n<p>Blue: the simulation and its corridor, in the spirit of ISO 19364 and ISO 19365. Red: the recording. \
         The widths are chosen, they are not the standards'.</p>\n",
    );
    let _ = writeln!(page, "<pre>{}</pre>", escaped(table));
    for one in compared {
        let _ = writeln!(page, "<h2>{}</h2>", escaped(&one.name));
        let count = one.drive.steering_rad.len();
        let time: Vec<f64> = (0..count)
            .map(|step| step as f64 * one.drive.period_s)
            .collect();
        let degrees: Vec<f64> = one
            .drive
            .steering_rad
            .iter()
            .map(|angle| angle.to_degrees())
            .collect();
        for (quantity, figures) in Quantity::ALL.into_iter().zip(&one.figures) {
            page += &plot(&time, ("time", "s"), one, quantity, figures);
        }
        for (quantity, figures) in Quantity::ALL.into_iter().zip(&one.figures).take(2) {
            page += &plot(
                &degrees,
                ("steering-wheel angle", "deg"),
                one,
                quantity,
                figures,
            );
        }
    }
    for caution in CAUTIONS {
        let _ = writeln!(page, "<p>{}</p>", escaped(caution));
    }
    page + "</body>\n</html>\n"
}

fn plot(
    across: &[f64],
    (label, unit): (&str, &str),
    one: &Compared,
    quantity: Quantity,
    figures: &Figures,
) -> String {
    let (name, shown, factor) = quantity.shown();
    let (seen, made) = (one.drive.measured.of(quantity), one.made.of(quantity));
    let half = figures.half_width;
    let span = |values: &mut dyn Iterator<Item = f64>| {
        let finite = values.filter(|value| value.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        if high > low {
            (low, high)
        } else {
            (low - 1.0, low + 1.0)
        }
    };
    let x_span = span(&mut across.iter().copied());
    let edges = made.iter().flat_map(|value| [value - half, value + half]);
    let y_span = span(&mut seen.iter().copied().chain(edges));
    let at = |x: f64, y: f64| {
        let right = 40.0 + (WIDTH - 50.0) * (x - x_span.0) / (x_span.1 - x_span.0);
        let down = 10.0 + (HEIGHT - 40.0) * (y_span.1 - y) / (y_span.1 - y_span.0);
        format!("{right:.1},{down:.1} ")
    };
    let every = across.len().div_ceil(MOST_POINTS).max(1);
    let line = |values: &[f64], add: f64, back: bool| {
        let points = across.iter().zip(values).step_by(every);
        let mut points: Vec<String> = points
            .filter(|(_, value)| value.is_finite())
            .map(|(x, value)| at(*x, value + add))
            .collect();
        if back {
            points.reverse();
        }
        points.concat()
    };
    let mut svg = format!(
        "<figure><svg width=\"{WIDTH}\" height=\"{HEIGHT}\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{name} over {label}\">"
    );
    if label == "time" {
        let _ = write!(
            svg,
            "<polygon class=\"corridor\" points=\"{}{}\"/>",
            line(made, half, false),
            line(made, -half, true)
        );
        let _ = write!(
            svg,
            "<polyline class=\"edge\" points=\"{}\"/>",
            line(made, 0.0, false)
        );
    } else {
        for add in [half, -half] {
            let _ = write!(
                svg,
                "<polyline class=\"edge\" points=\"{}\"/>",
                line(made, add, false)
            );
        }
    }
    let _ = write!(
        svg,
        "<polyline class=\"seen\" points=\"{}\"/>",
        line(seen, 0.0, false)
    );
    for (value, y) in [(y_span.1, 18.0), (y_span.0, HEIGHT - 32.0)] {
        let _ = write!(svg, "<text x=\"2\" y=\"{y}\">{:.3}</text>", value * factor);
    }
    for (value, x) in [(x_span.0, 40.0), (x_span.1, WIDTH - 50.0)] {
        let _ = write!(
            svg,
            "<text x=\"{x}\" y=\"{}\">{value:.2}</text>",
            HEIGHT - 8.0
        );
    }
    let _ = writeln!(
        svg,
        "</svg><figcaption>{name} [{shown}] over {label} [{unit}]; corridor +-{:.3}; {:.1} % of the samples inside</figcaption></figure>",
        half * factor,
        100.0 * figures.inside
    );
    svg
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
