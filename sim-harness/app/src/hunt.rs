//! `couplet hunt`: looks for a drive that violates a property, shrinks it, and keeps it as a scenario file.
//!
//! In: property or `all`, budget, seed, setting, corpus folder. Out: what was found, its measure, the smallest drive as
//! `<property>-<setting>-<seed>.toml` in the corpus, which `couplet drive` replays to the bit. Files of the corpus are driven
//! first: what was found once is asked for ever. Status 1 if something is violated. A file is never overwritten by another drive.

use std::path::{Path, PathBuf};

use couplet_controller::RawPage;
use couplet_sim::hunt::{Found, Hunt};
use couplet_sim::plant::Vehicle;
use couplet_sim::property::{ALL, Property, measure, named};
use couplet_sim::run::law::Rule;

use crate::bench::{Done, demo_vehicle, keep};
use crate::command_line::Kind;
use crate::failure::{Failure, Refusal};
use crate::files::{Source, scenario_text};
use crate::output::{CAUTIONS, make_place, text, write_page};
use crate::parallel::in_parallel;

/// What was asked.
pub struct Asked<'a> {
    /// Name of a property, or `all`.
    pub property: &'a str,
    /// Most drives per property.
    pub budget: u32,
    /// Seed.
    pub seed: u64,
    /// Setting file or name.
    pub setting: Option<&'a Path>,
    /// Vehicle file or name.
    pub vehicle: Option<&'a Path>,
    /// Folder of the corpus; else `corpus` in the folder of the results.
    pub corpus: Option<&'a Path>,
}

/// What came of one property.
struct Said {
    property: &'static Property,
    /// Drives, judged ones, nearest measure.
    drives: usize,
    judged: usize,
    nearest: Option<f64>,
    found: Option<Found>,
    /// File of the corpus that violates, with its measure.
    known: Vec<(PathBuf, f64)>,
}

/// Hunts.
///
/// # Errors
/// Refused names and files, a hunt that broke off, a file that could not be written.
pub fn hunt(out: &Path, asked: &Asked<'_>) -> Result<Done, Failure> {
    let mut refusals = Vec::new();
    let chosen: Vec<&'static Property> = match asked.property {
        "all" => ALL.iter().collect(),
        name => named(name).into_iter().collect(),
    };
    if chosen.is_empty() {
        let names: Vec<&str> = ALL.iter().map(|one| one.name).collect();
        refusals.push(Refusal::on_command_line(
            format!("unknown property `{}`", asked.property),
            format!("all, {}", names.join(", ")),
            "use an allowed name".into(),
        ));
    }
    let (page, setting) = match asked.setting {
        Some(path) => keep(
            Source::open(Kind::Setting, path)
                .and_then(|source| source.setting().map(|page| (page, source.name))),
            &mut refusals,
        ),
        None => Some((RawPage::default(), "defaults".to_owned())),
    }
    .unwrap_or_default();
    let vehicle = match asked.vehicle {
        Some(path) => Source::open(Kind::Vehicle, path),
        None => Ok(demo_vehicle()?),
    };
    let vehicle = keep(vehicle.and_then(|source| source.vehicle()), &mut refusals);
    let (Some(vehicle), true) = (vehicle, refusals.is_empty()) else {
        return Err(Failure::Refused(refusals));
    };
    let corpus = asked
        .corpus
        .map_or_else(|| out.join("corpus"), Path::to_path_buf);
    make_place(&corpus)?;
    let files = toml_files(&corpus);
    let results = in_parallel(
        chosen.len(),
        |job| one(chosen[job], asked, &page, &vehicle, &files),
        |job, _| eprintln!("hunted: {}", chosen[job].name),
    );
    let mut said = Vec::new();
    for (property, result) in chosen.iter().zip(results) {
        said.push(result.ok_or_else(|| Failure::Run {
            name: property.name.to_owned(),
        })?);
    }
    let mut told = table(&said);
    for one in &said {
        for (file, measured) in &one.known {
            told += &format!(
                "\n{}: the corpus file {} violates it, measure {measured:.4}\n",
                one.property.name,
                file.display()
            );
        }
        if let Some(found) = &one.found {
            told += &kept(one.property, found, asked, &setting, &corpus)?;
        }
    }
    told += "\nA search that finds nothing proves nothing.\n";
    for caution in CAUTIONS {
        told += &format!("{caution}\n");
    }
    let missed = said
        .iter()
        .any(|one| one.found.is_some() || !one.known.is_empty());
    Ok(Done { text: told, missed })
}

fn toml_files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .collect();
    files.sort();
    files
}

fn one(
    property: &'static Property,
    asked: &Asked<'_>,
    page: &RawPage,
    vehicle: &Vehicle,
    files: &[PathBuf],
) -> Said {
    let mut known = Vec::new();
    for file in files {
        // A file that is refused is told of by `couplet drive`; here it is only one drive less.
        let Ok(scenario) = Source::open(Kind::Scenario, file).and_then(|file| file.scenario())
        else {
            eprintln!("{} is refused and not driven", file.display());
            continue;
        };
        if !property.with_faults && !scenario.faults.is_empty() {
            continue;
        }
        let measured = measure(property, &scenario, vehicle, Rule::from(page));
        if let Some(measured) = measured.filter(|value| *value < 0.0) {
            known.push((file.clone(), measured));
        }
    }
    let hunt = Hunt {
        property,
        vehicle,
        rule: Rule::from(page),
        but_not: None,
        budget: asked.budget as usize,
        seed: asked.seed,
    };
    let every = (hunt.budget / 4).max(1);
    let outcome = hunt.go(&mut |drives, nearest| {
        if drives.is_multiple_of(every) {
            let nearest = nearest.map_or_else(|| "-".into(), |value| format!("{value:.3}"));
            eprintln!("{}: {drives} drives, nearest {nearest}", property.name);
        }
    });
    Said {
        property,
        drives: outcome.drives,
        judged: outcome.judged,
        nearest: outcome.nearest,
        found: outcome.found,
        known,
    }
}

fn table(said: &[Said]) -> String {
    let heads = [
        "property", "drives", "judged", "nearest", "found", "promise",
    ];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for one in said {
        let nearest = one
            .nearest
            .map_or_else(|| "-".into(), |value| format!("{value:.4}"));
        rows.push(vec![
            one.property.name.to_owned(),
            one.drives.to_string(),
            one.judged.to_string(),
            nearest,
            if one.found.is_some() { "yes" } else { "no" }.to_owned(),
            one.property.meaning.to_owned(),
        ]);
    }
    text::aligned(&rows, 1..4)
}

/// Keeps what was found and tells it.
fn kept(
    property: &Property,
    found: &Found,
    asked: &Asked<'_>,
    setting: &str,
    corpus: &Path,
) -> Result<String, Failure> {
    let stem = format!("{}-{setting}-{}", property.name, asked.seed);
    let mut scenario = found.scenario.clone();
    scenario.name = stem
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .take(64)
        .collect();
    let head = [
        format!(
            "Found by couplet hunt: violates `{}`, measure {:.4}.",
            property.name, found.measure
        ),
        format!("{}.", property.meaning),
        format!(
            "Setting: {setting}. Off their defaults: {}.",
            found.moved.join(", ")
        ),
    ];
    let content = scenario_text(&scenario, &head);
    let mut name = format!("{stem}.toml");
    let mut count = 2;
    // Another drive under the same name stays; the same one is not written twice.
    while let Ok(there) = std::fs::read_to_string(corpus.join(&name)) {
        if there == content {
            break;
        }
        name = format!("{stem}-{count}.toml");
        count += 1;
    }
    write_page(corpus, &name, &content)?;
    let place = corpus.join(&name);
    let with = asked
        .setting
        .map(|path| format!(" --setting {}", path.display()))
        .unwrap_or_default();
    Ok(format!(
        "\n{}: violated after {} drives, measure {:.4} once shrunk with {} more; off their defaults: {}\n  couplet drive {}{with}\n",
        property.name,
        found.drives,
        found.measure,
        found.shrinking,
        if found.moved.is_empty() {
            "nothing".to_owned()
        } else {
            found.moved.join(", ")
        },
        place.display()
    ))
}
