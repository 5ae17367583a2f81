//! Complete commented files, made from the tables the reader uses.

use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::{ENTRIES, RawPage};
use couplet_sim::mission::Mission;
use couplet_sim::plant::Vehicle;
use couplet_sim::scenario::{Manoeuvre, Numbers, Scenario, layout_name};

use super::axle_names;
use super::described::Described;
use super::faults;
use crate::command_line::Kind;

/// A complete file of that kind with every key, its meaning, range and default.
pub fn template(kind: Kind, manoeuvre: Manoeuvre) -> String {
    match kind {
        Kind::Vehicle => {
            let head = "# Vehicle: the demo car \"Ptarmigan\", front-drive-based, with two wet clutches in place of the rear\n\
                        # differential.\n\
                        # invented = true: every number is made up; none was measured on a real car.\n\
                        # Complete list of keys; a key left out takes the value shown here. Units are in the keys.\n";
            body(head, Vehicle::FIELDS, &Vehicle::default())
        }
        Kind::Mission => {
            let head = "# Mission: what a car does in its life; numbers per drive are means.\n\
                        # invented = true: every number is made up; nothing was recorded of a real car or driver.\n\
                        # A key left out takes the value shown here. Units are in the keys.\n";
            body(head, Mission::FIELDS, &Mission::default())
        }
        Kind::Setting => {
            let head = format!(
                "# Setting: every tunable of the controller with its default.\n\
                 # invented = true: every number belongs to the invented demo car.\n\
                 # A key left out takes the value shown here. Units are in the keys.\n\n\
                 # Layout of the calibration table this file is written for; couplet migrate carries it to a newer one.\n\
                 layout = {LAYOUT}\n"
            );
            body(&head, ENTRIES, &RawPage::default().tunables)
        }
        Kind::Scenario => {
            let scenario = Scenario::of(manoeuvre);
            let head = format!(
                "# Scenario: {name} with its default numbers.\n\
                 # invented = true: every number is made up; nothing was recorded on a real road.\n\
                 # A number left out takes the value shown here. Units are in the keys.\n\n\
                 [scenario]\n\
                 # Name of the run, part of file names: letters, digits, - and _.\n\
                 name = \"{name}\"\n\
                 # What is driven: {known}.\n\
                 manoeuvre = \"{name}\"\n\
                 # Axle of the car: {axles}.\n\
                 axle = \"{axle}\"\n\
                 # Seed of the sensor noise.\n\
                 seed = {seed}\n\
                 # Whether left and right are exchanged.\n\
                 mirrored = {mirrored}\n",
                name = manoeuvre.name(),
                known = Manoeuvre::ALL.map(Manoeuvre::name).join(", "),
                axles = axle_names().join(", "),
                axle = layout_name(scenario.layout),
                seed = scenario.seed,
                mirrored = scenario.mirrored,
            );
            body(&head, Numbers::FIELDS, &scenario.numbers) + &faults::template()
        }
    }
}

/// A whole vehicle as a file; `head` are comment lines.
pub fn vehicle_text(head: &str, vehicle: &Vehicle) -> String {
    body(head, Vehicle::FIELDS, vehicle)
}

fn body<D: Described>(head: &str, fields: &'static [D], whole: &D::Whole) -> String {
    let mut text = head.to_owned();
    let mut group = "";
    for field in fields {
        if field.group() != group {
            group = field.group();
            text += &format!("\n[{group}]\n");
        }
        let meaning = field.meaning();
        let stop = if meaning.ends_with('.') || meaning.ends_with(')') {
            ""
        } else {
            "."
        };
        text += &format!(
            "# {meaning}{stop} Range {}.\n{} = {}\n",
            field.range(),
            field.key(),
            field.written(whole)
        );
    }
    text
}
