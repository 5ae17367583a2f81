//! `couplet export fmu`: the law or the car as a co-simulation unit; `couplet export reference`: a run to be repeated with both.
//!
//! A unit is a zip file, stored without compression, with the model description, the shared library under the name of the model and
//! the start values that differ from the library's own. The shared library is built by itself and found beside this program.
//! The same input gives the same bytes. Limits: the library of this machine's kind only, x86_64 Linux.

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use std::path::{Path, PathBuf};

use couplet_controller::RawPage;
use couplet_sim::co_simulation::description::{Edition, model_description};
use couplet_sim::co_simulation::reference::{column_names, columns, reference, started};
use couplet_sim::co_simulation::{Model, variables};
use couplet_sim::plant::Vehicle;
use couplet_sim::run::PERIOD_S;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::bench::demo_vehicle;
use crate::command_line::Kind;
use crate::failure::{Failure, Refusal};
use crate::files::Source;
use crate::output::{make_place, write_bytes, write_page};

/// Name of the shared library.
const LIBRARY: &str = "libcouplet_fmu.so";

/// What is asked for.
pub struct Asked<'a> {
    /// Name of the model.
    pub model: &'a str,
    /// 2 or 3.
    pub edition: u8,
    /// Vehicle file.
    pub vehicle: Option<&'a Path>,
    /// Setting file.
    pub setting: Option<&'a Path>,
    /// Shared library.
    pub library: Option<&'a Path>,
}

/// Packs a unit and says where it is.
///
/// # Errors
/// A file that is refused, a library that is not there, a file that could not be written.
pub fn pack(out: &Path, asked: &Asked<'_>) -> Result<String, Failure> {
    let model = match asked.model {
        "car" => Model::Car,
        _ => Model::Controller,
    };
    let edition = match asked.edition {
        2 => Edition::Two,
        _ => Edition::Three,
    };
    let stranger = match model {
        Model::Controller if asked.vehicle.is_some() => Some("--vehicle"),
        Model::Car if asked.setting.is_some() => Some("--setting"),
        _ => None,
    };
    if let Some(stranger) = stranger {
        return Err(refused(
            format!("{stranger} says nothing to the {}", model.name()),
            "--vehicle with the car, --setting with the controller",
            "leave it out",
        ));
    }
    let (vehicle, page) = files(asked.vehicle, asked.setting)?;
    let library = library(asked.library)?;
    let started = started(model, &page, &vehicle);
    let (folder, name) = if out.extension().is_some_and(|end| end == "fmu") {
        let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty());
        let name = out.file_name().unwrap_or_default().to_string_lossy();
        (
            folder.unwrap_or(Path::new(".")).to_owned(),
            name.into_owned(),
        )
    } else {
        let name = format!("{}_fmi{}.fmu", model.identifier(), asked.edition);
        (out.to_owned(), name)
    };
    let bytes = packed(model, edition, &started, &library).map_err(|error| Failure::Write {
        path: folder.join(&name).display().to_string(),
        error: std::io::Error::other(error),
    })?;
    write_bytes(&folder, &name, &bytes)?;
    Ok(format!(
        "{}: {}, FMI {}.0, {} variables, step {PERIOD_S} s. A reference implementation with invented numbers: not certified, not for\n\
         road use without a functional-safety process of your own.\n",
        folder.join(&name).display(),
        model.meaning(),
        asked.edition,
        variables(model).len()
    ))
}

fn packed(
    model: Model,
    edition: Edition,
    started: &[(usize, f64)],
    library: &[u8],
) -> zip::result::ZipResult<Vec<u8>> {
    let plain = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    archive.start_file("modelDescription.xml", plain)?;
    archive.write_all(model_description(model, edition, started).as_bytes())?;
    let place = format!("{}/{}.so", edition.folder(), model.identifier());
    archive.start_file(place, plain.unix_permissions(0o755))?;
    archive.write_all(library)?;
    let mut values = String::new();
    for (index, value) in started {
        writeln!(values, "{} {value:?}", variables(model)[*index].name).unwrap_or_default();
    }
    archive.start_file("resources/values.txt", plain)?;
    archive.write_all(values.as_bytes())?;
    Ok(archive.finish()?.into_inner())
}

fn library(named: Option<&Path>) -> Result<Vec<u8>, Failure> {
    let beside = || {
        let program = std::env::current_exe().ok()?;
        Some(program.parent()?.join(LIBRARY))
    };
    let place = named
        .map(PathBuf::from)
        .or_else(beside)
        .unwrap_or_else(|| PathBuf::from(LIBRARY));
    let bytes = std::fs::read(&place).map_err(|error| {
        refused(
            format!("{}: {error}", place.display()),
            "the shared library of the units",
            "build it with `cargo build --release -p couplet-fmu`, or name it with --library",
        )
    })?;
    if !bytes.starts_with(b"\x7fELF") {
        return Err(refused(
            format!("{}: not a shared library of Linux", place.display()),
            "the shared library of the units",
            "build it with `cargo build --release -p couplet-fmu`",
        ));
    }
    // A library of another version would refuse its own description; better said here than in somebody's simulation program.
    let token = Model::Car.token();
    let known = [Model::Car, Model::Controller].iter().all(|model| {
        let name = model.identifier().as_bytes();
        bytes.windows(name.len()).any(|window| window == name)
    });
    if !known {
        return Err(refused(
            format!(
                "{}: not the library of the units ({token})",
                place.display()
            ),
            "the shared library of the units",
            "build it with `cargo build --release -p couplet-fmu`",
        ));
    }
    Ok(bytes)
}

fn refused(what: String, allowed: &str, advice: &str) -> Failure {
    Failure::Refused(vec![Refusal::on_command_line(
        what,
        allowed.into(),
        advice.into(),
    )])
}

fn files(vehicle: Option<&Path>, setting: Option<&Path>) -> Result<(Vehicle, RawPage), Failure> {
    let vehicle = match vehicle {
        Some(path) => Source::open(Kind::Vehicle, path).map_err(Failure::Refused)?,
        None => demo_vehicle()?,
    };
    let vehicle = vehicle.vehicle().map_err(Failure::Refused)?;
    let page = match setting {
        Some(path) => Source::open(Kind::Setting, path)
            .and_then(|source| source.setting())
            .map_err(Failure::Refused)?,
        None => RawPage::default(),
    };
    Ok((vehicle, page))
}

/// Drives a scenario and writes what repeats it.
///
/// # Errors
/// A file that is refused, a scenario the units cannot repeat, a file that could not be written.
pub fn repeat(
    out: &Path,
    scenario: &Path,
    vehicle: Option<&Path>,
    setting: Option<&Path>,
) -> Result<String, Failure> {
    let source = Source::open(Kind::Scenario, scenario).map_err(Failure::Refused)?;
    let scenario = source.scenario().map_err(Failure::Refused)?;
    let (vehicle, page) = files(vehicle, setting)?;
    let told = reference(&scenario, &vehicle, &page).map_err(|why| {
        refused(
            format!("the units cannot repeat {}: {why}", scenario.name),
            "a scenario on the paired axle, without faults, on a plane road, not mirrored",
            "choose another scenario",
        )
    })?;
    make_place(out)?;
    let mut parameters = String::from("unit,name,value\n");
    for (model, name, value) in &told.parameters {
        writeln!(parameters, "{},{name},{value:?}", model.name()).unwrap_or_default();
    }
    let mut rows = column_names().join(",");
    rows.push('\n');
    for row in &told.rows {
        let numbers: Vec<String> = columns(row)
            .iter()
            .map(|number| format!("{number:?}"))
            .collect();
        rows.push_str(&numbers.join(","));
        rows.push('\n');
    }
    write_page(out, "parameters.csv", &parameters)?;
    write_page(out, "reference.csv", &rows)?;
    Ok(format!(
        "{}: {} steps, {} parameters; parameters.csv and reference.csv are in {}. All drives are invented.\n",
        scenario.name,
        told.rows.len(),
        told.parameters.len(),
        out.display()
    ))
}
