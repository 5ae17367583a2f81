//! A recorded run with temperatures: CSV as `couplet drive` writes it, columns found by name.
//!
//! In: text with a header `name [unit]`. Out: heat, speed, air and temperatures by sample, or every refusal with line and column.
//! Needed: time, speed, air, the oil's temperature, and per side what the clutch made: its energy (J, summed), or its power (W) where
//! there is no energy. Temperatures of surfaces, cores and housing are used where the log has them. Other columns are not looked at.

use crate::failure::Refusal;

/// Nodes of the network: name of the column, name in words.
pub const NODES: [(&str, &str); 6] = [
    ("plant_clutch_surface_left", "surface left"),
    ("plant_clutch_surface_right", "surface right"),
    ("plant_clutch_core_left", "core left"),
    ("plant_clutch_core_right", "core right"),
    ("plant_oil", "oil"),
    ("plant_housing", "housing"),
];
/// Index of the oil among them.
pub const OIL: usize = 4;

const TIME: &str = "time";
const SPEED: &str = "speed";
const AIR: &str = "ambient_temperature";
const ENERGY: [&str; 2] = ["plant_clutch_energy_left", "plant_clutch_energy_right"];
const POWER: [&str; 2] = ["plant_clutch_heat_left", "plant_clutch_heat_right"];

/// Fewest samples that make a log.
const LEAST_SAMPLES: usize = 20;
/// Most refusals told: a broken column has thousands.
const MOST_REFUSALS: usize = 20;
/// Lowest and highest believable temperature, degC.
const TEMPERATURES_DEGC: (f64, f64) = (-60.0, 600.0);

/// One sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Time, s.
    pub time_s: f64,
    /// Size of the vehicle's speed, m/s.
    pub speed_m_s: f64,
    /// Air at the housing, degC.
    pub air_degc: f64,
    /// Heat made in each clutch since the sample before, mean W.
    pub heat_w: [f64; 2],
    /// How it changed in that time, W/s.
    pub heat_w_s: [f64; 2],
    /// Temperatures measured, degC; nothing where the log has no such column.
    pub degc: [Option<f64>; 6],
}

/// Column of a name: its place and unit.
struct Column {
    place: usize,
}

/// Reads a log.
///
/// # Errors
/// Every missing column, number that is none, temperature beyond belief, step back in time (at most [`MOST_REFUSALS`]).
pub fn read(file: &str, text: &str) -> Result<Vec<Sample>, Vec<Refusal>> {
    let refuse = |line: usize, column: usize, what: String, allowed: &str, advice: &str| Refusal {
        file: file.to_owned(),
        line,
        column,
        what,
        allowed: allowed.to_owned(),
        advice: advice.to_owned(),
    };
    let header = text.lines().next().unwrap_or_default();
    let names: Vec<&str> = header
        .split(',')
        .map(|cell| cell.split('[').next().unwrap_or_default().trim())
        .collect();
    let find = |name: &str| {
        names
            .iter()
            .position(|known| *known == name)
            .map(|place| Column { place })
    };
    let mut refusals = Vec::new();
    let mut need = |name: &str, instead: &str| {
        let found = find(name);
        if found.is_none() {
            refusals.push(refuse(
                1,
                header.chars().count() + 1,
                format!("there is no column `{name}`{instead}"),
                "a header of names with units, such as `time [s],speed [m/s]`",
                "add the column, or write the log with couplet drive",
            ));
        }
        found
    };
    let (time, speed, air) = (need(TIME, ""), need(SPEED, ""), need(AIR, ""));
    let oil = need(NODES[OIL].0, "");
    let by_energy = find(ENERGY[0]).is_some() || find(POWER[0]).is_none();
    let heat = if by_energy {
        ENERGY.map(|name| need(name, " (nor a `plant_clutch_heat_...` of its side)"))
    } else {
        POWER.map(|name| need(name, ""))
    };
    let (Some(time), Some(speed), Some(air), Some(_), [Some(left), Some(right)]) =
        (time, speed, air, oil, heat)
    else {
        return Err(refusals);
    };
    let nodes = NODES.map(|(name, _)| find(name));
    let mut samples: Vec<Sample> = Vec::new();
    let mut before: Option<(f64, [f64; 2])> = None;
    for (index, row) in text.lines().enumerate().skip(1) {
        if refusals.len() >= MOST_REFUSALS {
            break;
        }
        let line = index + 1;
        if row.trim().is_empty() {
            continue;
        }
        let cells: Vec<&str> = row.split(',').collect();
        let place_of = |place: usize| {
            let before = cells.iter().take(place);
            1 + before.map(|cell| cell.chars().count() + 1).sum::<usize>()
        };
        let mut faults = Vec::new();
        let mut number = |column: &Column, (low, high): (f64, f64)| {
            let name = names[column.place];
            let cell = cells.get(column.place).map(|cell| cell.trim());
            let value = cell.and_then(|cell| cell.parse::<f64>().ok());
            match value.filter(|value| *value >= low && *value <= high) {
                Some(value) => value,
                None => {
                    let what = match cell {
                        None => format!("the row ends before the column `{name}`"),
                        Some("") => format!("`{name}` is empty"),
                        Some(cell) if value.is_none_or(f64::is_nan) => {
                            format!("`{name}` is `{cell}`, which is no number")
                        }
                        Some(cell) => format!("`{name}` is {cell}"),
                    };
                    faults.push(refuse(
                        line,
                        place_of(column.place.min(cells.len())),
                        what,
                        &format!("{low} to {high}"),
                        "repair the row or cut it out of the log",
                    ));
                    f64::NAN
                }
            }
        };
        let any = (-1e12, 1e12);
        let time_s = number(&time, any);
        let speed_m_s = number(&speed, (-200.0, 200.0)).abs();
        let air_degc = number(&air, (-60.0, 80.0));
        let made = [number(&left, any), number(&right, any)];
        let mut degc = [None; 6];
        for (degc, node) in degc.iter_mut().zip(&nodes) {
            *degc = node.as_ref().map(|node| number(node, TEMPERATURES_DEGC));
        }
        if !faults.is_empty() {
            refusals.extend(faults);
            continue;
        }
        if let Some((earlier_s, _)) = before
            && !(time_s > earlier_s)
        {
            refusals.push(refuse(
                line,
                place_of(time.place),
                format!("time goes from {earlier_s} s to {time_s} s"),
                "a time later than that of the row before",
                "sort the log, or cut it where a new run begins",
            ));
            continue;
        }
        let mut heat_w = [0.0; 2];
        let mut heat_w_s = [0.0; 2];
        if let Some((earlier_s, earlier)) = before {
            let step_s = time_s - earlier_s;
            for side in 0..2 {
                let change_1_s = (made[side] - earlier[side]) / step_s;
                (heat_w[side], heat_w_s[side]) = if by_energy {
                    (change_1_s, 0.0)
                } else {
                    (0.5 * (made[side] + earlier[side]), change_1_s)
                };
            }
        }
        if let Some(side) = heat_w.iter().position(|heat| *heat < -1.0) {
            let column = if side == 0 { &left } else { &right };
            refusals.push(refuse(
                line,
                place_of(column.place),
                format!("`{}` falls", names[column.place]),
                "energy that a clutch made, which never falls",
                "cut the log where a new run begins",
            ));
            continue;
        }
        before = Some((time_s, made));
        samples.push(Sample {
            time_s,
            speed_m_s,
            air_degc,
            heat_w,
            heat_w_s,
            degc,
        });
    }
    if by_energy {
        steepen(&mut samples);
    }
    if refusals.is_empty() && samples.len() < LEAST_SAMPLES {
        refusals.push(refuse(
            text.lines().count().max(1),
            1,
            format!("the log has {} samples", samples.len()),
            &format!("{LEAST_SAMPLES} or more"),
            "record a whole run",
        ));
    }
    if refusals.is_empty() {
        Ok(samples)
    } else {
        refusals.truncate(MOST_REFUSALS);
        Err(refusals)
    }
}

/// Slopes of powers that are known by their means only: the flatter of those to the neighbours, never below no heat. Without them a
/// launch that fades within seconds made the surface look 3 % better tied to its core.
fn steepen(samples: &mut [Sample]) {
    for index in 1..samples.len().saturating_sub(1) {
        let (before, now, after) = (samples[index - 1], samples[index], samples[index + 1]);
        let step_s = now.time_s - before.time_s;
        let next_s = after.time_s - now.time_s;
        // The first sample has no time before it.
        let last_s = if index > 1 {
            before.time_s - samples[index - 2].time_s
        } else {
            step_s
        };
        for side in 0..2 {
            let rise = (now.heat_w[side] - before.heat_w[side]) / (0.5 * (step_s + last_s));
            let fall = (after.heat_w[side] - now.heat_w[side]) / (0.5 * (step_s + next_s));
            let flatter = if rise.abs() < fall.abs() { rise } else { fall };
            let most = 2.0 * now.heat_w[side].max(0.0) / step_s;
            samples[index].heat_w_s[side] = flatter.clamp(-most, most);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Sample, read};

    const HEADER: &str = "time [s],speed [m/s],ambient_temperature [degC],plant_oil [degC],plant_clutch_energy_left [J],plant_clutch_energy_right [J]\n";

    fn rows(change: impl Fn(usize) -> Option<&'static str>) -> String {
        let mut text = HEADER.to_owned();
        for index in 0..30 {
            let row = format!("{},10,20,60,{},0\n", 0.5 * index as f64, 100 * index);
            text += change(index).unwrap_or(&row);
        }
        text
    }

    #[test]
    fn power_is_the_energy_between_two_samples_over_their_time() {
        let samples: Vec<Sample> = read("log", &rows(|_| None)).expect("accepted");
        assert_eq!(samples.len(), 30);
        assert_eq!(samples[5].heat_w, [200.0, 0.0]);
        assert_eq!(samples[5].heat_w_s, [0.0, 0.0]);
        assert_eq!(samples[5].degc, [None, None, None, None, Some(60.0), None]);
    }

    #[test]
    fn every_fault_is_told_with_its_line_and_column() {
        let told = |text: &str| -> Vec<(usize, usize, String)> {
            let refusals = read("log", text).expect_err("refused");
            refusals
                .into_iter()
                .map(|one| (one.line, one.column, one.what))
                .collect()
        };
        let at = |wanted: usize, row: &'static str| {
            told(&rows(|index| (index == wanted).then_some(row)))
        };
        let one = |found: Vec<(usize, usize, String)>| {
            assert_eq!(found.len(), 1, "{found:?}");
            found.into_iter().next().expect("one")
        };
        // Row 4 of the data is line 6 of the file.
        assert_eq!(
            one(at(4, "2,10,20,NaN,400,0\n")),
            (6, 9, "`plant_oil` is `NaN`, which is no number".to_owned())
        );
        assert_eq!(one(at(4, "2,10,20,,400,0\n")).2, "`plant_oil` is empty");
        assert_eq!(
            one(at(4, "2,10,20,999,400,0\n")),
            (6, 9, "`plant_oil` is 999".to_owned())
        );
        assert_eq!(
            one(at(4, "1.5,10,20,60,400,0\n")),
            (6, 1, "time goes from 1.5 s to 1.5 s".to_owned())
        );
        assert_eq!(
            one(at(4, "2,10,20,60,100,0\n")),
            (6, 12, "`plant_clutch_energy_left` falls".to_owned())
        );
        let short = at(4, "2,10,20,60\n");
        assert_eq!((short[0].0, short[0].1), (6, 12), "{short:?}");
        let none = told("time [s],speed [m/s]\n0,1\n");
        assert_eq!(none.len(), 4, "{none:?}");
        assert!(
            none.iter()
                .all(|(line, column, _)| (*line, *column) == (1, 21))
        );
        assert_eq!(
            one(told(&rows(|index| (index >= 5).then_some("")))).2,
            "the log has 5 samples"
        );
    }
}
