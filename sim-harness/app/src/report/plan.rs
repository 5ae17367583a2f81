//! The path seen from above, as a drawing inside the page.
//!
//! Both axes have the same scale, unless the path is so narrow that nothing would be seen; then the caption says by how
//! much the lateral axis is stretched. x forward to the right, y left upwards.

use std::fmt::Write;

use super::curves::Path;
use super::escaped;
use super::section::data_table;
use super::spans::Axis;
use crate::output::number::significant;

/// Drawing area, pixels.
const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 300.0;
/// Edges of the area inside the numbers at the axes, pixels.
const LEFT: f64 = 52.0;
const RIGHT: f64 = WIDTH - 16.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = HEIGHT - 32.0;
/// A path narrower than this share of its length is stretched.
const NARROW: f64 = 0.05;

/// The figure with the paths of all runs of a group; points are x and y in m.
pub fn plan(paths: &[Path], axis: &Axis) -> String {
    let view = View::around(paths);
    let caption = match view.stretch {
        Some(stretch) => format!(
            "Path from above, lateral axis stretched {} times",
            significant(stretch, 2)
        ),
        None => "Path from above, both axes to the same scale".to_owned(),
    };
    let mut text = format!(
        "<figure><figcaption>{caption} [m]</figcaption>\n<svg class=\"plan\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"{caption}; data table below\">\n"
    );
    text += &view.axes();
    for path in paths {
        let mut line = String::new();
        for (x, y) in &path.points {
            let (across, down) = view.pixel(f64::from(*x), f64::from(*y));
            let _ = write!(line, "{across:.1},{down:.1} ");
        }
        let (colour, points) = (path.colour, line.trim_end());
        let _ = writeln!(
            text,
            "<polyline class=\"run run-{colour}\" points=\"{points}\"/>"
        );
        let _ = writeln!(
            text,
            "<circle class=\"here run-{colour}\" r=\"5\" visibility=\"hidden\"/>"
        );
    }
    text += "</svg>\n<ul class=\"legend\">\n";
    for path in paths {
        let swatch = format!(
            "<span class=\"swatch run-{}\" aria-hidden=\"true\"></span>",
            path.colour
        );
        let _ = writeln!(text, "<li>{swatch}{}</li>", escaped(&path.label));
    }
    text += "</ul>\n";
    let headings: Vec<String> = paths
        .iter()
        .flat_map(|path| ["x", "y"].map(|axis| format!("{} {axis} [m]", path.label)))
        .collect();
    text += &data_table("path from above", &headings, axis, |column, point| {
        let (x, y) = paths.get(column / 2)?.points.get(point)?;
        Some(f64::from(if column % 2 == 0 { *x } else { *y }))
    });
    text + "</figure>\n"
}

struct View {
    x: (f64, f64),
    y: (f64, f64),
    stretch: Option<f64>,
}

impl View {
    fn around(paths: &[Path]) -> Self {
        let all = || paths.iter().flat_map(|path| &path.points);
        let mut x = extent(all().map(|(x, _)| f64::from(*x)));
        let mut y = extent(all().map(|(_, y)| f64::from(*y)));
        let (room_x, room_y) = (RIGHT - LEFT, BOTTOM - TOP);
        let (length, breadth) = ((x.1 - x.0).max(0.1), (y.1 - y.0).max(0.01));
        let scale = (room_x / length).min(room_y / breadth);
        if breadth < NARROW * length {
            let stretch = (room_y / breadth) / (room_x / length);
            x = widened(x, length);
            y = widened(y, breadth);
            return Self {
                x,
                y,
                stretch: Some(stretch),
            };
        }
        x = widened(x, room_x / scale);
        y = widened(y, room_y / scale);
        Self {
            x,
            y,
            stretch: None,
        }
    }

    fn pixel(&self, x: f64, y: f64) -> (f64, f64) {
        let across = LEFT + (x - self.x.0) / (self.x.1 - self.x.0) * (RIGHT - LEFT);
        let down = BOTTOM - (y - self.y.0) / (self.y.1 - self.y.0) * (BOTTOM - TOP);
        (across, down)
    }

    fn axes(&self) -> String {
        let mut text = String::new();
        for x in ticks(self.x) {
            let (across, _) = self.pixel(x, self.y.0);
            let _ = writeln!(
                text,
                "<path class=\"grid\" d=\"M{across:.1} {TOP}V{BOTTOM}\"/>"
            );
            let _ = writeln!(
                text,
                "<text x=\"{across:.1}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
                BOTTOM + 18.0,
                tick_text(x)
            );
        }
        for y in ticks(self.y) {
            let (_, down) = self.pixel(self.x.0, y);
            let _ = writeln!(
                text,
                "<path class=\"grid\" d=\"M{LEFT} {down:.1}H{RIGHT}\"/>"
            );
            let _ = writeln!(
                text,
                "<text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                LEFT - 6.0,
                down + 4.0,
                tick_text(y)
            );
        }
        text
    }
}

fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let finite = values.filter(|value| value.is_finite());
    let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
        (low.min(v), high.max(v))
    });
    if low <= high { (low, high) } else { (0.0, 1.0) }
}

fn widened((low, high): (f64, f64), breadth: f64) -> (f64, f64) {
    let middle = (low + high) / 2.0;
    (middle - breadth / 2.0, middle + breadth / 2.0)
}

/// Round numbers inside the span: steps of 1, 2 or 5 times a power of ten, three to seven of them.
fn ticks((low, high): (f64, f64)) -> Vec<f64> {
    let rough = (high - low) / 5.0;
    let power = 10.0_f64.powi(rough.log10().floor() as i32);
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|step| step * power >= rough)
        .unwrap_or(10.0)
        * power;
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    (first..=last)
        .take(20)
        .map(|count| count as f64 * step)
        .collect()
}

/// A round number without trailing zeros.
fn tick_text(value: f64) -> String {
    let text = significant(value, 4);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::ticks;

    #[test]
    fn ticks_are_round_and_inside() {
        assert_eq!(ticks((0.0, 10.0)), vec![0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(ticks((-31.0, 60.0)), vec![-20.0, 0.0, 20.0, 40.0, 60.0]);
    }
}
