//! Carries out a command: read, run, write, and the text to print.
//!
//! All input is read and checked before the first run; all runs are done before the first file is written. Runs are
//! independent values, so the number of threads and the order of completion cannot change a result.

use std::io::IsTerminal;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use couplet_controller::calibration::RawPage;
use couplet_sim::plant::Vehicle;
use couplet_sim::prove::{Case, programme, rows};
use couplet_sim::run::{RunResult, run};
use couplet_sim::scenario::{Manoeuvre, Scenario, layout_from_name, layout_name};
use indicatif::{ProgressBar, ProgressStyle};

use crate::command_line::{Command, CommandLine, Kind};
use crate::failure::{Failure, Refusal};
use crate::files::{DEFAULT_VEHICLE, Source, template};
use crate::output::{Labelled, text, write_results, write_rows};

/// Most threads used at once.
const MOST_THREADS: usize = 2;

/// One run to be done.
struct Job<'a> {
    scenario: &'a Scenario,
    vehicle: &'a Vehicle,
    page: RawPage,
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
        None => programme_rows(&command_line.out, None, None).map(|done| quiet(done.text)),
        Some(Command::Prove { json, only }) => {
            programme_rows(&command_line.out, json.as_deref(), only.as_deref())
        }
        Some(Command::Drive {
            scenario,
            vehicle,
            setting,
            axle,
            seed,
        }) => drive(
            &command_line.out,
            scenario,
            vehicle.as_deref(),
            setting.as_deref(),
            axle.as_deref(),
            *seed,
        )
        .map(quiet),
        Some(Command::Template { kind, manoeuvre }) => print_template(*kind, manoeuvre).map(quiet),
    }
}

fn programme_rows(out: &Path, json: Option<&Path>, only: Option<&str>) -> Result<Done, Failure> {
    if let Some(id) = only {
        // Rows without results still carry their ids.
        let known: Vec<String> = rows(&[]).into_iter().map(|row| row.id).collect();
        if !known.iter().any(|name| name == id) {
            return Err(Failure::Refused(vec![Refusal::at(
                "command line",
                "",
                0,
                format!("unknown requirement `{id}`"),
                known.join(", "),
                "use an allowed id".into(),
            )]));
        }
    }
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let cases = programme();
    let mut jobs = Vec::with_capacity(cases.len());
    for case in &cases {
        let unknown = || Failure::UnknownSetting {
            name: case.setting.to_owned(),
        };
        let source = Source::embedded(Kind::Setting, case.setting).ok_or_else(unknown)?;
        let page = source.setting().map_err(Failure::Refused)?;
        jobs.push(Job {
            scenario: &case.scenario,
            vehicle: &vehicle,
            page,
        });
    }
    let results = run_all(&jobs)?;
    let done: Vec<(Case, RunResult)> = cases.into_iter().zip(results).collect();
    let mut verdicts = rows(&done);
    verdicts.retain(|row| only.is_none_or(|id| row.id == id));
    let runs = done
        .iter()
        .map(|(case, result)| (&case.scenario, case.setting, result));
    let runs = Labelled::all(runs);
    write_results(out, &verdicts, &runs)?;
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

    let results = run_all(&[Job {
        scenario: &scenario,
        vehicle: &vehicle,
        page,
    }])?;
    let runs = Labelled::all(
        results
            .iter()
            .map(|result| (&scenario, setting.as_str(), result)),
    );
    write_results(out, &[], &runs)?;
    Ok(text::drive(&runs, out))
}

fn print_template(kind: Kind, manoeuvre: &str) -> Result<String, Failure> {
    let known = Manoeuvre::ALL.map(Manoeuvre::name).join(", ");
    let manoeuvre = Manoeuvre::from_name(manoeuvre).ok_or_else(|| {
        let what = format!("unknown manoeuvre `{manoeuvre}`");
        Failure::Refused(vec![Refusal::at(
            "command line",
            "",
            0,
            what,
            known,
            "use an allowed name".into(),
        )])
    })?;
    Ok(template(kind, manoeuvre))
}

fn demo_vehicle() -> Result<Source, Failure> {
    Source::embedded(Kind::Vehicle, DEFAULT_VEHICLE).ok_or(Failure::UnknownSetting {
        name: DEFAULT_VEHICLE.into(),
    })
}

fn keep<T>(read: Result<T, Vec<Refusal>>, refusals: &mut Vec<Refusal>) -> Option<T> {
    match read {
        Ok(value) => Some(value),
        Err(mut found) => {
            refusals.append(&mut found);
            None
        }
    }
}

/// Runs all jobs on up to [`MOST_THREADS`] threads; results come back in job order.
fn run_all(jobs: &[Job<'_>]) -> Result<Vec<RunResult>, Failure> {
    let threads = std::thread::available_parallelism()
        .map_or(1, usize::from)
        .min(MOST_THREADS)
        .min(jobs.len());
    let progress = Progress::new(jobs.len());
    let next = AtomicUsize::new(0);
    let finished: Mutex<Vec<Option<RunResult>>> = Mutex::new(jobs.iter().map(|_| None).collect());
    std::thread::scope(|scope| {
        let work = || {
            while let Some((index, job)) = {
                let index = next.fetch_add(1, Ordering::Relaxed);
                jobs.get(index).map(|job| (index, job))
            } {
                let result = run(job.scenario, job.vehicle, &job.page);
                if let Ok(mut finished) = finished.lock() {
                    finished[index] = Some(result);
                }
                progress.done(&format!(
                    "{}, {}",
                    job.scenario.name,
                    layout_name(job.scenario.layout)
                ));
            }
        };
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        // A worker that panicked leaves its slot empty, which is reported below by name.
        workers.into_iter().for_each(|worker| drop(worker.join()));
    });
    progress.finish();
    let finished = finished
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    jobs.iter()
        .zip(finished)
        .map(|(job, result)| {
            result.ok_or_else(|| Failure::Run {
                name: job.scenario.name.clone(),
            })
        })
        .collect()
}

/// A bar on a terminal, plain lines otherwise; both on standard error.
struct Progress {
    bar: Option<ProgressBar>,
    count: AtomicUsize,
    total: usize,
}

impl Progress {
    fn new(total: usize) -> Self {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(total as u64);
            if let Ok(style) = ProgressStyle::with_template("{bar:40} {pos}/{len} runs  {msg}") {
                bar.set_style(style);
            }
            bar
        });
        Self {
            bar,
            count: AtomicUsize::new(0),
            total,
        }
    }

    fn done(&self, name: &str) {
        let count = self.count.fetch_add(1, Ordering::Relaxed) + 1;
        match &self.bar {
            Some(bar) => {
                bar.set_message(name.to_owned());
                bar.inc(1);
            }
            None => eprintln!("run {count} of {}: {name}", self.total),
        }
    }

    fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
