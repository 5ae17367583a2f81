//! A scenario as the text of a file that reads back as the same scenario, to the bit.

use couplet_sim::scenario::{Numbers, Scenario, layout_name};

use super::faults;

/// The file: what differs from the manoeuvre's defaults, and the faults. `head` are comment lines.
pub fn scenario_text(scenario: &Scenario, head: &[String]) -> String {
    let mut text = String::new();
    for line in head {
        text += &format!("# {line}\n");
    }
    text += &format!(
        "# invented = true: every number is made up; nothing was recorded on a real road.\n\
         # Numbers left out take the defaults of the manoeuvre: couplet template scenario {manoeuvre}\n\n\
         [scenario]\nname = \"{}\"\nmanoeuvre = \"{manoeuvre}\"\naxle = \"{}\"\nseed = {}\nmirrored = {}\n",
        scenario.name,
        layout_name(scenario.layout),
        scenario.seed,
        scenario.mirrored,
        manoeuvre = scenario.manoeuvre.name(),
    );
    let defaults = Numbers::of(scenario.manoeuvre);
    let mut group = "";
    for field in Numbers::FIELDS {
        let value = (field.read)(&scenario.numbers);
        if value == (field.read)(&defaults) {
            continue;
        }
        if field.group != group {
            group = field.group;
            text += &format!("\n[{group}]\n");
        }
        text += &format!("{} = {value:?}\n", field.key);
    }
    text + &faults::written(&scenario.faults)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Source;
    use couplet_sim::hunt::space::Space;

    #[test]
    fn any_scenario_of_the_hunt_is_read_back_to_the_bit() {
        let space = Space::new(true);
        for seed in 0..40_u64 {
            // A row of numbers that fills the cube: golden ratio, from memory.
            let point: Vec<f64> = (0..space.size())
                .map(|place| ((seed * 31 + place as u64 * 7 + 1) as f64 * 0.618_033_988_75).fract())
                .collect();
            let mut scenario = space.scenario(&point, seed);
            scenario.mirrored = seed % 2 == 1;
            if scenario.contradiction().is_some() {
                continue;
            }
            let source = Source {
                file: "f.toml".into(),
                name: "f".into(),
                text: scenario_text(&scenario, &["found".to_owned()]),
            };
            assert_eq!(
                source.scenario().expect("accepted"),
                scenario,
                "{}",
                source.text
            );
        }
    }
}
