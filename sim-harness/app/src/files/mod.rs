//! Vehicle, scenario and setting files: read whole or refused with every reason.
//!
//! A file is a path, or the bare name of an embedded demo file when no such path exists. Demo files go through the same
//! reader as the user's.

mod demo;
mod described;
mod faults;
mod mapping;
mod migrate;
mod reader;
mod schema;
mod template;
mod written;

use std::path::Path;

use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::rules::RULES;
use couplet_controller::calibration::{ENTRIES, RawPage};
use couplet_sim::mission::course::Course;
use couplet_sim::mission::{Mission, plan};
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::scenario::{Manoeuvre, Numbers, Scenario, layout_from_name, layout_name};

pub use demo::DEFAULT_VEHICLE;
pub use mapping::mapping_text;
pub use schema::schema;
pub use template::{template, vehicle_text};
pub use written::scenario_text;

use crate::command_line::Kind;
use crate::failure::Refusal;
use reader::{Document, suggestion};

/// Keys of the table `[scenario]`.
const SCENARIO_KEYS: [&str; 5] = ["name", "manoeuvre", "axle", "seed", "mirrored"];

/// Longest name of a run; it becomes part of a file name.
const LONGEST_NAME: usize = 64;

/// The text of one input file and the name it goes by in messages.
#[derive(Debug, Clone)]
pub struct Source {
    /// Path as the user wrote it, or `vehicles/name.toml` for a demo file.
    pub file: String,
    /// Short name: file name without its ending.
    pub name: String,
    text: String,
}

impl Source {
    /// Opens a path, or the embedded demo file of that name.
    ///
    /// # Errors
    /// One refusal if the file is missing, unreadable or not UTF-8.
    pub fn open(kind: Kind, path: &Path) -> Result<Self, Vec<Refusal>> {
        let file = path.display().to_string();
        if !path.exists()
            && let Some(embedded) = Self::embedded(kind, &file)
        {
            return Ok(embedded);
        }
        let known = format!(
            ", or one of the demo names {}",
            demo::names(kind).join(", ")
        );
        let text = Self::text_of(path, &known)?;
        let name = path
            .file_stem()
            .map_or_else(|| file.clone(), |stem| stem.to_string_lossy().into_owned());
        Ok(Self { file, name, text })
    }

    /// The text of a file that has no demo.
    ///
    /// # Errors
    /// One refusal if the file is missing, unreadable or not UTF-8.
    pub fn read_text(path: &Path) -> Result<String, Vec<Refusal>> {
        Self::text_of(path, "")
    }

    /// A text under a name that is not read from anywhere.
    pub fn of_text(file: &str, text: &str) -> Self {
        Self {
            file: file.to_owned(),
            name: file.to_owned(),
            text: text.to_owned(),
        }
    }

    fn text_of(path: &Path, known: &str) -> Result<String, Vec<Refusal>> {
        let file = path.display().to_string();
        let refusal = |text: &str, offset, what: String, allowed: String, advice: &str| {
            vec![Refusal::at(
                &file,
                text,
                offset,
                what,
                allowed,
                advice.into(),
            )]
        };
        let bytes = std::fs::read(path).map_err(|error| {
            let what = format!("cannot read the file: {error}");
            refusal(
                "",
                0,
                what,
                format!("a readable file{known}"),
                "check the path",
            )
        })?;
        String::from_utf8(bytes).map_err(|error| {
            let offset = error.utf8_error().valid_up_to();
            let text = String::from_utf8_lossy(error.as_bytes());
            let what = "the file is not UTF-8 text".to_owned();
            refusal(
                &text,
                offset,
                what,
                "UTF-8".into(),
                "save the file as UTF-8",
            )
        })
    }

    /// The embedded demo file of that name.
    pub fn embedded(kind: Kind, name: &str) -> Option<Self> {
        let (file, text) = demo::file(kind, name)?;
        Some(Self {
            file,
            name: name.to_owned(),
            text: text.to_owned(),
        })
    }

    /// The vehicle this file describes; keys left out take the demo car's values.
    ///
    /// # Errors
    /// Every refusal of the file.
    pub fn vehicle(&self) -> Result<Vehicle, Vec<Refusal>> {
        let mut document = Document::parse(&self.file, &self.text);
        let mut vehicle = Vehicle::default();
        document.fill(Vehicle::FIELDS, &mut vehicle, &[]);
        document.finish().map(|()| vehicle)
    }

    /// The mission this file describes; keys left out take their defaults.
    ///
    /// # Errors
    /// Every refusal of the file.
    pub fn mission(&self) -> Result<Mission, Vec<Refusal>> {
        let mut document = Document::parse(&self.file, &self.text);
        let mut mission = Mission::default();
        document.fill(Mission::FIELDS, &mut mission, &[]);
        document.finish().map(|()| mission)
    }

    /// Whether the mission can be driven with these courses of its events.
    ///
    /// # Errors
    /// The contradiction, with its place.
    pub fn drivable(&self, mission: &Mission, courses: &[Course]) -> Result<(), Vec<Refusal>> {
        let mut document = Document::parse(&self.file, &self.text);
        document.fill(Mission::FIELDS, &mut mission.clone(), &[]);
        if let Some((keys, message)) = plan::contradiction(mission, courses) {
            document.contradiction(keys, &message);
        }
        document.finish()
    }

    /// The calibration page this file lays over the table's defaults.
    ///
    /// # Errors
    /// Every refusal of the file; contradictions only once all single numbers are right.
    pub fn setting(&self) -> Result<RawPage, Vec<Refusal>> {
        let mut document = Document::parse(&self.file, &self.text);
        let mut page = RawPage::default();
        if let Some((layout, place)) = document.root_whole_number("layout")
            && layout != u64::from(LAYOUT)
        {
            let advice = if layout > u64::from(LAYOUT) {
                "use a newer program, or carry the numbers over by hand"
            } else {
                "couplet migrate FILE prints the file for today's layout, with what changed"
            };
            document.refuse(
                place,
                format!("the file is written for layout {layout} of the calibration table"),
                format!("layout {LAYOUT}"),
                advice.into(),
            );
        }
        document.names_of_the_past(migrate::past);
        document.fill(ENTRIES, &mut page.tunables, &["layout"]);
        if document.is_clean() {
            for rule in RULES.iter().filter(|rule| !(rule.holds)(&page.tunables)) {
                document.contradiction(rule.entries, rule.message);
            }
        }
        if let (true, Err(refusal)) = (document.is_clean(), page.accept::<f32>()) {
            let what = format!("the controller refuses the page: {refusal:?}");
            document.refuse(
                0,
                what,
                "a page the controller accepts".into(),
                "report this defect".into(),
            );
        }
        document.finish().map(|()| page)
    }

    /// The scenario this file describes; numbers left out take the manoeuvre's defaults.
    ///
    /// # Errors
    /// Every refusal of the file; a contradiction only once all single numbers are right.
    pub fn scenario(&self) -> Result<Scenario, Vec<Refusal>> {
        const TABLE: &str = "scenario";
        let mut document = Document::parse(&self.file, &self.text);
        document.only_keys(TABLE, &SCENARIO_KEYS, &["name", "manoeuvre"]);
        let known = Manoeuvre::ALL.map(Manoeuvre::name);
        let manoeuvre = document
            .text_value(TABLE, "manoeuvre", &known.join(", "))
            .and_then(|(name, place)| {
                let found = Manoeuvre::from_name(&name);
                if found.is_none() {
                    let what = format!("unknown manoeuvre `{name}`");
                    document.refuse(
                        place,
                        what,
                        known.join(", "),
                        suggestion(&name, known.into_iter()),
                    );
                }
                found
            });
        let mut scenario = Scenario::of(manoeuvre.unwrap_or(Manoeuvre::SplitLaunch));
        if let Some((name, place)) = document.text_value(TABLE, "name", NAME_RULE) {
            if !is_name(&name) {
                let advice = "use only letters, digits, - and _".to_owned();
                document.refuse(
                    place,
                    format!("`{name}` cannot be part of a file name"),
                    NAME_RULE.into(),
                    advice,
                );
            }
            scenario.name = name;
        }
        let axles = axle_names();
        if let Some((name, place)) = document.text_value(TABLE, "axle", &axles.join(", ")) {
            match layout_from_name(&name) {
                Some(layout) => scenario.layout = layout,
                None => {
                    let advice = suggestion(&name, axles.into_iter());
                    document.refuse(
                        place,
                        format!("unknown axle `{name}`"),
                        axles.join(", "),
                        advice,
                    );
                }
            }
        }
        scenario.seed = document.whole_number_value(TABLE, "seed").unwrap_or(0);
        scenario.mirrored = document.truth_value(TABLE, "mirrored").unwrap_or(false);
        document.fill(
            Numbers::FIELDS,
            &mut scenario.numbers,
            &[TABLE, faults::LIST],
        );
        scenario.faults = faults::read(&mut document);
        if let (true, Some((keys, message))) = (document.is_clean(), scenario.contradiction()) {
            document.contradiction(keys, &message);
        }
        document.finish().map(|()| scenario)
    }
}

/// Names of the axles.
fn axle_names() -> [&'static str; AxleLayout::ALL.len()] {
    AxleLayout::ALL.map(layout_name)
}

const NAME_RULE: &str = "1 to 64 letters, digits, - and _";

fn is_name(name: &str) -> bool {
    let fits = (1..=LONGEST_NAME).contains(&name.len());
    fits && name
        .bytes()
        .all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_demo_file_is_accepted() {
        for kind in [Kind::Vehicle, Kind::Scenario, Kind::Setting, Kind::Mission] {
            for name in demo::names(kind) {
                let source = Source::embedded(kind, name).expect("a listed demo file is embedded");
                let refused = match kind {
                    Kind::Vehicle => source.vehicle().err(),
                    Kind::Scenario => source.scenario().err(),
                    Kind::Setting => source.setting().err(),
                    Kind::Mission => source.mission().err(),
                };
                assert_eq!(refused, None, "{}", source.file);
                assert!(
                    source.text.contains("invented = true"),
                    "{} does not say that it is invented",
                    source.file
                );
            }
        }
    }

    #[test]
    fn every_case_of_the_programme_has_a_demo_file_with_the_same_numbers() {
        let scenarios: Vec<Scenario> = demo::names(Kind::Scenario)
            .into_iter()
            .filter_map(|name| Source::embedded(Kind::Scenario, name)?.scenario().ok())
            .collect();
        for case in couplet_sim::prove::programme() {
            let wanted = &case.scenario;
            let found = scenarios.iter().any(|scenario| {
                scenario.manoeuvre == wanted.manoeuvre
                    && scenario.numbers == wanted.numbers
                    && scenario.faults == wanted.faults
                    && scenario.mirrored == wanted.mirrored
            });
            assert!(
                found,
                "no demo file drives {} with its numbers",
                wanted.name
            );
        }
    }

    #[test]
    fn the_demo_car_file_is_complete_and_equals_the_defaults() {
        let source = Source::embedded(Kind::Vehicle, DEFAULT_VEHICLE).expect("embedded");
        assert_eq!(source.vehicle().expect("accepted"), Vehicle::default());
        let printed = template(Kind::Vehicle, Manoeuvre::SplitLaunch);
        assert!(
            source.text == printed,
            "regenerate: couplet template vehicle > sim-harness/vehicles/ptarmigan.toml"
        );
    }

    #[test]
    fn every_template_is_accepted_and_changes_nothing() {
        for manoeuvre in Manoeuvre::ALL {
            let text = template(Kind::Scenario, manoeuvre);
            let source = Source {
                file: "template".into(),
                name: "template".into(),
                text,
            };
            assert_eq!(
                source.scenario().expect("accepted"),
                Scenario::of(manoeuvre)
            );
        }
        let text = template(Kind::Setting, Manoeuvre::SplitLaunch);
        let source = Source {
            file: "template".into(),
            name: "template".into(),
            text,
        };
        assert_eq!(source.setting().expect("accepted"), RawPage::default());
    }

    #[test]
    fn the_demo_settings_are_the_four_points_of_the_three_axes() {
        // Project decision: patrol steady, response agile, trailer steadiest, skidpad allows a slide of 20 deg, which begins with some 25.
        let wanted = [
            ("patrol", 0.35, 0.85, 0.0),
            ("response", 0.9, 0.35, 0.0),
            ("trailer", 0.1, 1.0, 0.0),
            ("skidpad", 0.9, 0.2, 26.0),
        ];
        for (name, agility, steadiness, slide_allowance_deg) in wanted {
            let page = Source::embedded(Kind::Setting, name)
                .expect("embedded")
                .setting()
                .expect("accepted");
            let setting = page.tunables.setting;
            assert_eq!(
                (
                    setting.agility,
                    setting.steadiness,
                    setting.slide_allowance_deg
                ),
                (agility, steadiness, slide_allowance_deg),
                "{name}"
            );
        }
    }
}
