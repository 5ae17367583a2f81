//! `couplet fit-heat`: numbers known beforehand are found again, and a log that cannot tell says so.
//!
//! The logs are synthetic: the plant's lumped axle with numbers that differ from the law's by up to a half, temperatures with noise.

mod support;

use std::fmt::Write;

use couplet_sim::plant::heat::AxleHeat;
use couplet_sim::plant::{PerSide, Vehicle};
use support::{Folder, couplet, text_of};

/// Noise with a standard deviation of one, from a sum of twelve even ones (closed form).
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        let mut sum = -6.0;
        for _ in 0..12 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            sum += (self.0 >> 11) as f64 / (1_u64 << 53) as f64;
        }
        sum
    }
}

/// The numbers of the axle that made the log, by the names of the calibration.
const TRUE: [(&str, f64); 10] = [
    ("surface_capacity_j_k", 210.0),
    ("core_capacity_j_k", 700.0),
    ("oil_capacity_j_k", 2100.0),
    ("housing_capacity_j_k", 6500.0),
    ("surface_core_w_k", 420.0),
    ("surface_oil_w_k", 62.0),
    ("core_oil_w_k", 40.0),
    ("oil_housing_w_k", 110.0),
    ("housing_ambient_w_k", 14.0),
    ("housing_ambient_per_speed_w_s_k_m", 0.6),
];

/// Twenty minutes of launches and bends on both sides, ten of driving, ten of standing, two samples a second.
fn log(noise_k: f64, power: impl Fn(f64) -> PerSide<f64>, speed: impl Fn(f64) -> f64) -> String {
    let mut heat = Vehicle::default().heat;
    for (place, value) in [
        &mut heat.surface_capacity_j_k,
        &mut heat.core_capacity_j_k,
        &mut heat.oil_capacity_j_k,
        &mut heat.housing_capacity_j_k,
        &mut heat.surface_core_w_k,
        &mut heat.surface_oil_w_k,
        &mut heat.core_oil_w_k,
        &mut heat.oil_housing_w_k,
        &mut heat.housing_air_w_k,
        &mut heat.housing_air_per_speed_w_k_m_s,
    ]
    .into_iter()
    .zip(TRUE.map(|(_, value)| value))
    {
        *place = value;
    }
    let mut axle = AxleHeat::new(60.0, 60.0, 15.0);
    let mut noise = Noise(7);
    let mut energy = PerSide::both(0.0);
    let mut text = String::from(
        "time [s],speed [m/s],ambient_temperature [degC],plant_clutch_surface_left [degC],plant_clutch_surface_right [degC],\
         plant_clutch_core_left [degC],plant_clutch_core_right [degC],plant_oil [degC],plant_housing [degC],\
         plant_clutch_energy_left [J],plant_clutch_energy_right [J],a_column_of_its_own [-]\n",
    );
    for sample in 0..4800 {
        let time_s = 0.5 * f64::from(sample);
        let mut row = format!("{time_s},{},15", speed(time_s));
        for degc in [
            axle.surface_degc.left,
            axle.surface_degc.right,
            axle.core_degc.left,
            axle.core_degc.right,
            axle.oil_degc,
            axle.housing_degc,
        ] {
            let _ = write!(row, ",{:.3}", degc + noise_k * noise.next());
        }
        let _ = writeln!(text, "{row},{},{},NaN", energy.left, energy.right);
        for step in 0..500 {
            let at_s = time_s + 0.001 * f64::from(step);
            let heat_w = power(at_s);
            axle.step(&heat, heat_w, speed(at_s), 0.001);
            energy.left += 0.001 * heat_w.left;
            energy.right += 0.001 * heat_w.right;
        }
    }
    text
}

fn launches(at_s: f64) -> PerSide<f64> {
    let phase = at_s % 20.0;
    let fades = |from: f64, watt: f64| {
        if (from..from + 4.0).contains(&phase) {
            watt * (1.0 - (phase - from) / 4.0)
        } else {
            0.0
        }
    };
    if at_s < 1200.0 {
        PerSide {
            left: fades(0.0, 15e3),
            right: fades(9.0, 9e3),
        }
    } else {
        PerSide::both(0.0)
    }
}

fn speeds(at_s: f64) -> f64 {
    if at_s < 1800.0 {
        [0.0, 12.0, 30.0][(at_s / 200.0) as usize % 3]
    } else {
        0.0
    }
}

/// Value and 95 % interval of a number in the overlay.
fn found(overlay: &str, name: &str) -> Option<(f64, f64, f64)> {
    let mut interval = None;
    for line in overlay.lines() {
        if let Some(rest) = line.strip_prefix("# 95 % interval ") {
            let (low, high) = rest.trim_end_matches('.').split_once(" to ")?;
            interval = Some((low.parse().ok()?, high.parse().ok()?));
        } else if let Some(value) = line.strip_prefix(&format!("{name} = ")) {
            let (low, high) = interval?;
            return Some((value.parse().ok()?, low, high));
        }
    }
    None
}

#[test]
fn numbers_known_beforehand_are_found_within_five_percent_through_half_a_kelvin_of_noise() {
    let folder = Folder::new("fit-heat");
    let file = folder.file("drive.csv", log(0.5, launches, speeds).as_bytes());
    let (status, told, said) = couplet(&folder, &["fit-heat", &file]);
    println!("{told}");
    assert_eq!(status, Some(0), "{said}");
    let overlay = text_of(&folder.path("heat-fit.toml"));
    let mut inside = 0;
    for (name, right) in TRUE {
        let (value, low, high) = found(&overlay, name).unwrap_or_else(|| panic!("no {name}"));
        println!("{name}: {right} found {value}, {low} to {high}");
        // Half a kelvin of noise on rises of 20 to 60 K, 4800 samples; the least told of the ten is within 5 %.
        assert!(
            (value / right - 1.0).abs() < 0.05,
            "{name}: {value} for {right}"
        );
        inside += usize::from(low <= right && right <= high);
    }
    // 95 % of ten is nine and a half: eight at least, or the intervals are too narrow.
    assert!(inside >= 8, "{inside} of 10 intervals hold the truth");
    for words in [
        "rms after",
        "condition number",
        "Not certified.",
        "converged",
    ] {
        assert!(told.contains(words), "`{words}` is missing in\n{told}");
    }
    // The overlay is a setting like any other.
    let path = folder.path("heat-fit.toml").display().to_string();
    let (status, _, said) = couplet(
        &folder,
        &["drive", "cruise", "--setting", &path, "--out", "o"],
    );
    assert_eq!(status, Some(0), "{said}");
    // Never over a file that is there, unless asked to.
    let (status, _, said) = couplet(&folder, &["fit-heat", &file]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("is there already") && said.contains("--force"),
        "{said}"
    );
    assert_eq!(text_of(&folder.path("heat-fit.toml")), overlay);
    let (status, _, said) = couplet(&folder, &["fit-heat", &file, "--force"]);
    assert_eq!(status, Some(0), "{said}");
    assert_eq!(
        text_of(&folder.path("heat-fit.toml")),
        overlay,
        "not the same twice"
    );
}

#[test]
fn a_log_without_excitation_says_so_instead_of_giving_numbers() {
    let folder = Folder::new("fit-heat-none");
    let file = folder.file(
        "drive.csv",
        log(0.5, |_| PerSide::both(0.0), speeds).as_bytes(),
    );
    let (status, told, said) = couplet(&folder, &["fit-heat", &file]);
    assert_eq!(status, Some(2));
    assert!(told.is_empty() && said.contains("cannot tell"), "{said}");
    assert!(!folder.path("heat-fit.toml").exists());
}

#[test]
fn what_a_log_at_standstill_cannot_tell_is_named_and_not_written() {
    let folder = Folder::new("fit-heat-still");
    let file = folder.file("drive.csv", log(0.5, launches, |_| 0.0).as_bytes());
    let (status, told, said) = couplet(&folder, &["fit-heat", &file, "--to", "still.toml"]);
    println!("{told}");
    assert_eq!(status, Some(0), "{said}");
    let overlay = text_of(&folder.path("still.toml"));
    // Nothing was driven: the growth of cooling with speed cannot be known, the rest can.
    assert!(found(&overlay, "housing_ambient_per_speed_w_s_k_m").is_none());
    assert!(told.contains("not told by this log"));
    assert!(found(&overlay, "housing_ambient_w_k").is_some());
}

#[test]
fn a_broken_log_is_refused_with_line_and_column_and_nothing_is_written() {
    let folder = Folder::new("fit-heat-broken");
    let whole = log(0.0, launches, speeds);
    let broken = whole.replacen("\n2,", "\n0.25,", 1);
    let file = folder.file("drive.csv", broken.as_bytes());
    let (status, _, said) = couplet(&folder, &["fit-heat", &file]);
    assert_eq!(status, Some(2));
    assert!(
        said.contains("drive.csv:6:1: time goes from 1.5 s to 0.25 s"),
        "{said}"
    );
    let file = folder.file("none.csv", whole.replacen("plant_oil", "oil", 1).as_bytes());
    let (status, _, said) = couplet(&folder, &["fit-heat", &file]);
    assert_eq!(status, Some(2));
    assert!(said.contains("there is no column `plant_oil`"), "{said}");
    assert!(!folder.path("heat-fit.toml").exists());
}
