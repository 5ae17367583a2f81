//! Carries out a command: read, run, write, and the text to print.
//!
//! All input is read and checked before the first run; all runs are done before the first result is written. Campaigns
//! come after the single runs; only what is judged of them is kept.

use std::path::Path;

use couplet_controller::calibration::RawPage;
use couplet_sim::campaign::SAMPLES;
use couplet_sim::plant::Vehicle;
use couplet_sim::prove::{
    Case, LOOP_SETTINGS, Row, campaigns, layout_cases, layout_tables, loop_rows, programme, rows,
    spread_rows,
};
use couplet_sim::run::{RunResult, run};
use couplet_sim::scenario::{Manoeuvre, Scenario, layout_from_name, layout_name};

use crate::campaign::{self, Planned};
use crate::command_line::{Command, CommandLine, Export, Kind};
use crate::failure::{Failure, Refusal};
use crate::files::{DEFAULT_VEHICLE, Source, schema, template};
use crate::fit_heat::fit_heat;
use crate::output::{Found, Labelled, make_place, see_place, text, write_results, write_rows};
use crate::parallel::{Progress, in_parallel};
use crate::why::{Question, why};

/// One run to be done.
pub struct Job<'a> {
    /// What is driven.
    pub scenario: &'a Scenario,
    /// The car.
    pub vehicle: &'a Vehicle,
    /// The controller's calibration.
    pub page: RawPage,
}

/// What a command leaves for standard output, and whether it judged a requirement as missed.
pub struct Done {
    /// Text for standard output.
    pub text: String,
    /// Whether the exit status must say so.
    pub missed: bool,
}

/// Carries out the command.
///
/// # Errors
/// Refused input, a run that broke off, a file that could not be written.
pub fn carry_out(command_line: &CommandLine) -> Result<Done, Failure> {
    let quiet = |text| Done {
        text,
        missed: false,
    };
    match &command_line.command {
        // The demo reports its misses; only `prove` judges by the exit status.
        None => programme_rows(&command_line.out, None, None, None).map(|done| quiet(done.text)),
        Some(Command::Prove {
            json,
            only,
            samples,
        }) => programme_rows(
            &command_line.out,
            json.as_deref(),
            only.as_deref(),
            *samples,
        ),
        Some(Command::Drive {
            scenario,
            vehicle,
            setting,
            axle,
            seed,
            bus,
        }) => drive(
            &command_line.out,
            scenario,
            vehicle.as_deref(),
            setting.as_deref(),
            axle.as_deref(),
            *seed,
            bus.as_deref(),
        )
        .map(quiet),
        Some(Command::HeldOut) => crate::held_out::held_out(),
        Some(Command::Laws) => crate::laws::laws().map(quiet),
        Some(Command::Why {
            run,
            at,
            vehicle,
            setting,
        }) => why(&Question {
            run,
            at_s: *at,
            vehicle: vehicle.as_deref(),
            setting: setting.as_deref(),
        })
        .map(quiet),
        Some(Command::Arithmetic { only }) => crate::arithmetic::arithmetic(only.as_deref()),
        Some(Command::Margins { vehicle, setting }) => {
            crate::margins::draw(&command_line.out, vehicle.as_deref(), setting.as_deref())
        }
        Some(Command::Envelope { setting, values }) => {
            crate::envelope::draw(&command_line.out, setting.as_deref(), values)
        }
        Some(Command::FitHeat {
            log,
            setting,
            to,
            force,
        }) => fit_heat(&crate::fit_heat::Question {
            log,
            setting: setting.as_deref(),
            to: to
                .clone()
                .unwrap_or_else(|| log.with_file_name("heat-fit.toml")),
            force: *force,
        })
        .map(quiet),
        Some(Command::Faults { only, shard }) => {
            crate::faults::faults(&command_line.out, only.as_deref(), shard.as_deref()).map(quiet)
        }
        Some(Command::Hunt {
            property,
            budget,
            seed,
            setting,
            vehicle,
            corpus,
        }) => crate::hunt::hunt(
            &command_line.out,
            &crate::hunt::Asked {
                property,
                budget: *budget,
                seed: *seed,
                setting: setting.as_deref(),
                vehicle: vehicle.as_deref(),
                corpus: corpus.as_deref(),
            },
        ),
        Some(Command::Life {
            missions,
            vehicle,
            setting,
        }) => crate::life::live(
            &command_line.out,
            missions,
            vehicle.as_deref(),
            setting.as_deref(),
        ),
        Some(Command::Export {
            what: Export::Sequence { only, steps },
        }) => crate::export::sequences(&command_line.out, only.as_deref(), *steps as usize),
        Some(Command::Export {
            what: Export::Outputs { file, every },
        }) => crate::export::outputs(file, *every as usize),
        Some(Command::Export {
            what: Export::Text { file },
        }) => crate::export::words(file),
        Some(Command::Export {
            what:
                Export::Measurement {
                    run,
                    vehicle,
                    setting,
                    form,
                },
        }) => crate::measurement::measurement(
            &command_line.out,
            run,
            (vehicle.as_deref(), setting.as_deref()),
            *form,
        ),
        Some(asked @ Command::Replay { .. }) => crate::replay::asked(&command_line.out, asked),
        Some(Command::Export { what: Export::Dbc }) => {
            crate::bus::database(&command_line.out).map(quiet)
        }
        Some(Command::Export { what: Export::A2l }) => {
            crate::bus::calibration(&command_line.out).map(quiet)
        }
        Some(Command::Export {
            what: Export::Frames { count, seed },
        }) => crate::bus::frames(&command_line.out, *count, *seed).map(quiet),
        Some(Command::Export {
            what:
                Export::Fmu {
                    what,
                    fmi,
                    vehicle,
                    setting,
                    library,
                },
        }) => crate::fmu::pack(
            &command_line.out,
            &crate::fmu::Asked {
                model: what,
                edition: *fmi,
                vehicle: vehicle.as_deref(),
                setting: setting.as_deref(),
                library: library.as_deref(),
            },
        )
        .map(quiet),
        Some(Command::Export {
            what:
                Export::Reference {
                    scenario,
                    vehicle,
                    setting,
                },
        }) => crate::fmu::repeat(
            &command_line.out,
            scenario,
            vehicle.as_deref(),
            setting.as_deref(),
        )
        .map(quiet),
        Some(Command::Correlate {
            logs,
            map,
            dbc,
            vehicle,
            friction,
            hold_speed,
            fit,
            to,
        }) => crate::correlate::correlate(&crate::correlate::Question {
            out: &command_line.out,
            logs,
            map,
            dbc: dbc.as_deref(),
            vehicle: vehicle.as_deref(),
            friction: *friction,
            hold_speed: *hold_speed,
            fit,
            to: to
                .clone()
                .unwrap_or_else(|| command_line.out.join("fitted.toml")),
        })
        .map(quiet),
        Some(Command::Target { firmware, seeds }) => crate::target::target(firmware, *seeds),
        Some(Command::Layouts) => layouts(&command_line.out).map(quiet),
        Some(Command::Template { kind, manoeuvre }) => {
            manoeuvre_of(manoeuvre).map(|manoeuvre| quiet(template(*kind, manoeuvre)))
        }
        Some(Command::Schema { kind, manoeuvre }) => manoeuvre_of(manoeuvre)
            .map(|manoeuvre| quiet(format!("{:#}\n", schema(*kind, manoeuvre)))),
        Some(Command::Migrate { setting, from }) => migrate(setting, *from).map(quiet),
    }
}

fn programme_rows(
    out: &Path,
    json: Option<&Path>,
    only: Option<&str>,
    samples: Option<u32>,
) -> Result<Done, Failure> {
    // Rows without results still carry their ids.
    let ids = |rows: Vec<Row>| rows.into_iter().map(|row| row.id).collect::<Vec<String>>();
    let spread_ids = ids(spread_rows(&[]));
    if let Some(id) = only {
        let known = [
            ids(rows(&[])),
            ids(loop_rows(&Vehicle::default(), &[])),
            spread_ids.clone(),
        ]
        .concat();
        if !known.iter().any(|name| name == id) {
            return Err(Failure::Refused(vec![Refusal::on_command_line(
                format!("unknown requirement `{id}`"),
                known.join(", "),
                "use an allowed id".into(),
            )]));
        }
    }
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let cases = programme();
    let jobs = demo_jobs(&cases, &vehicle)?;
    let mut planned = Vec::new();
    // One row that needs no campaign is judged without one.
    if only.is_none_or(|id| spread_ids.iter().any(|known| known == id)) {
        for campaign in campaigns() {
            let page = demo_page(campaign.setting)?;
            planned.push(Planned { campaign, page });
        }
    }
    json.map_or(Ok(()), see_place)?;
    make_place(out)?;
    let results = run_all(&jobs)?;
    // Only a campaign that someone asked for is long enough to be worth keeping half done.
    let keep_in = samples.is_some().then_some(out);
    let samples = samples.map_or(SAMPLES, |samples| samples as usize);
    let spreads = campaign::drive(planned, &vehicle, samples, keep_in)?;
    let done: Vec<(Case, RunResult)> = cases.into_iter().zip(results).collect();
    let mut verdicts = rows(&done);
    let mut pages = Vec::new();
    for setting in LOOP_SETTINGS {
        pages.push((setting, demo_page(setting)?));
    }
    verdicts.extend(loop_rows(&vehicle, &pages));
    verdicts.extend(spread_rows(&spreads));
    verdicts.sort_by_key(|row| row.question);
    verdicts.retain(|row| only.is_none_or(|id| row.id == id));
    let runs = done
        .iter()
        .map(|(case, result)| (&case.scenario, case.setting, result));
    let runs = Labelled::all(runs);
    let found = Found {
        rows: &verdicts,
        runs: &runs,
        spreads: &spreads,
        layouts: &[],
    };
    write_results(out, &found)?;
    campaign::forget(out);
    if let Some(file) = json {
        write_rows(file, &verdicts)?;
    }
    Ok(Done {
        text: text::programme(&verdicts, runs.len(), out),
        missed: verdicts.iter().any(|row| row.pass() == Some(false)),
    })
}

fn drive(
    out: &Path,
    scenario: &Path,
    vehicle: Option<&Path>,
    setting: Option<&Path>,
    axle: Option<&str>,
    seed: Option<u64>,
    bus: Option<&Path>,
) -> Result<String, Failure> {
    // Every file is read before anything is refused, so that one call shows all errors.
    let scenario = Source::open(Kind::Scenario, scenario).and_then(|source| source.scenario());
    let vehicle = match vehicle {
        Some(path) => Source::open(Kind::Vehicle, path),
        None => demo_vehicle().map_err(|_| Vec::new()),
    }
    .and_then(|source| source.vehicle());
    let setting = match setting {
        Some(path) => Source::open(Kind::Setting, path)
            .and_then(|source| source.setting().map(|page| (page, source.name.clone()))),
        None => Ok((RawPage::default(), "defaults".to_owned())),
    };
    let mut refusals: Vec<Refusal> = Vec::new();
    let scenario = keep(scenario, &mut refusals);
    let vehicle = keep(vehicle, &mut refusals);
    let setting = keep(setting, &mut refusals);
    let (Some(mut scenario), Some(vehicle), Some((page, setting))) = (scenario, vehicle, setting)
    else {
        return Err(Failure::Refused(refusals));
    };
    if let Some(layout) = axle.and_then(layout_from_name) {
        scenario.layout = layout;
    }
    scenario.seed = seed.unwrap_or(scenario.seed);

    let job = Job {
        scenario: &scenario,
        vehicle: &vehicle,
        page,
    };
    bus.map_or(Ok(()), |log| crate::bus::see(&job, log))?;
    make_place(out)?;
    let (results, carried) = match bus {
        None => (run_all(&[job])?, String::new()),
        Some(log) => {
            let (result, told) = crate::bus::drive(&job, log)?;
            (vec![result], told)
        }
    };
    let runs = Labelled::all(
        results
            .iter()
            .map(|result| (&scenario, setting.as_str(), result)),
    );
    let found = Found {
        runs: &runs,
        ..Found::default()
    };
    write_results(out, &found)?;
    Ok(carried + &text::drive(&runs, out))
}

fn layouts(out: &Path) -> Result<String, Failure> {
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let cases = layout_cases();
    make_place(out)?;
    let results = run_all(&demo_jobs(&cases, &vehicle)?)?;
    let done: Vec<(Case, RunResult)> = cases.into_iter().zip(results).collect();
    let runs = done
        .iter()
        .map(|(case, result)| (&case.scenario, case.setting, result));
    let runs = Labelled::all(runs);
    let tables = layout_tables(&done);
    let found = Found {
        runs: &runs,
        layouts: &tables,
        ..Found::default()
    };
    write_results(out, &found)?;
    Ok(text::layouts(&tables, out))
}

/// Cases on the demo car with their demo settings.
fn demo_jobs<'a>(cases: &'a [Case], vehicle: &'a Vehicle) -> Result<Vec<Job<'a>>, Failure> {
    let job = |case: &'a Case| {
        Ok(Job {
            scenario: &case.scenario,
            vehicle,
            page: demo_page(case.setting)?,
        })
    };
    cases.iter().map(job).collect()
}

/// The text of the file for today's layout; what changed goes to standard error, so that the text can be sent to a file.
fn migrate(setting: &Path, from: Option<u32>) -> Result<String, Failure> {
    let source = Source::open(Kind::Setting, setting).map_err(Failure::Refused)?;
    let migrated = source.migrated(from).map_err(Failure::Refused)?;
    for note in &migrated.notes {
        eprintln!("{note}");
    }
    Ok(migrated.text)
}

fn manoeuvre_of(name: &str) -> Result<Manoeuvre, Failure> {
    let known = Manoeuvre::ALL.map(Manoeuvre::name).join(", ");
    Manoeuvre::from_name(name).ok_or_else(|| {
        let what = format!("unknown manoeuvre `{name}`");
        Failure::Refused(vec![Refusal::on_command_line(
            what,
            known,
            "use an allowed name".into(),
        )])
    })
}

/// Calibration page of a demo setting.
///
/// # Errors
/// A setting that is not embedded.
pub fn demo_page(setting: &str) -> Result<RawPage, Failure> {
    let unknown = || Failure::UnknownSetting {
        name: setting.to_owned(),
    };
    let source = Source::embedded(Kind::Setting, setting).ok_or_else(unknown)?;
    source.setting().map_err(Failure::Refused)
}

/// File of the demo car.
///
/// # Errors
/// If it is not embedded.
pub fn demo_vehicle() -> Result<Source, Failure> {
    Source::embedded(Kind::Vehicle, DEFAULT_VEHICLE).ok_or(Failure::UnknownSetting {
        name: DEFAULT_VEHICLE.into(),
    })
}

/// The value read, or its refusals with the others.
pub fn keep<T>(read: Result<T, Vec<Refusal>>, refusals: &mut Vec<Refusal>) -> Option<T> {
    match read {
        Ok(value) => Some(value),
        Err(mut found) => {
            refusals.append(&mut found);
            None
        }
    }
}

/// Runs all jobs; results come back in job order.
///
/// # Errors
/// A run that broke off.
pub fn run_all(jobs: &[Job<'_>]) -> Result<Vec<RunResult>, Failure> {
    let progress = Progress::new(jobs.len(), "run", 1);
    let results = in_parallel(
        jobs.len(),
        |index| run(jobs[index].scenario, jobs[index].vehicle, &jobs[index].page),
        |index, _| {
            let scenario = jobs[index].scenario;
            progress.done(&format!(
                "{}, {}",
                scenario.name,
                layout_name(scenario.layout)
            ));
        },
    );
    progress.finish();
    jobs.iter()
        .zip(results)
        .map(|(job, result)| {
            result.ok_or_else(|| Failure::Run {
                name: job.scenario.name.clone(),
            })
        })
        .collect()
}
