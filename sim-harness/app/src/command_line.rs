//! What can be asked on the command line.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};

/// Proof bench for a rear axle with two independently controlled clutches. Without a command it drives the demo
/// programme and reports every requirement.
#[derive(Debug, Parser)]
#[command(name = "couplet", version)]
pub struct CommandLine {
    /// Folder for report.html, summary.json and the CSV files.
    #[arg(long, global = true, value_name = "DIR", default_value = "couplet-out")]
    pub out: PathBuf,
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Drive one scenario file.
    Drive {
        /// Scenario file, or the name of an embedded demo scenario.
        scenario: PathBuf,
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file, or the name of an embedded demo setting; default: the defaults of the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
        /// Axle of the car, instead of the one in the scenario file.
        #[arg(long, value_name = "AXLE", value_parser = ["front", "front-limited-slip", "brake-vectoring", "coupling", "paired"])]
        axle: Option<String>,
        /// Seed of the sensor noise, instead of the one in the scenario file.
        #[arg(long, value_name = "N")]
        seed: Option<u64>,
        /// Put the bus between car and law: the law gets only what was packed, protected, checked and unpacked; every frame goes
        /// to this text log, which can be replayed to the bit. Paired axle only.
        #[arg(long, value_name = "LOG")]
        bus: Option<PathBuf>,
    },
    /// Drive the demo programme and fail, with status 1, if a requirement is missed.
    Prove {
        /// Write the rows to this file as well: a list of objects with id, value, target, pass, unit.
        #[arg(long, value_name = "FILE")]
        json: Option<PathBuf>,
        /// Judge only the requirement of this id.
        #[arg(long, value_name = "ID")]
        only: Option<String>,
        /// Cars in each campaign, instead of the 40 of the demo; what is finished is kept in the folder of the results, and
        /// an interrupted campaign goes on from there.
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
        samples: Option<u32>,
    },
    /// Drive the same manoeuvres with the same driver on all five axles, and compare speed, line, hands and energy.
    Layouts,
    /// Drive what nobody tuned the law on: lane changes, a closing bend, a slippery stretch and the pass in every setting,
    /// with numbers drawn from a hash of the calibration. Status 1 if the paired car spins or loses the path.
    HeldOut,
    /// Drive the same manoeuvres under every shipped law of allocation, and compare what each reaches.
    Laws,
    /// Tell why the two torques of a run were what they were at one instant: demand, bounds, second channel, actuation.
    Why {
        /// Run of the demo programme, embedded demo scenario, or scenario file; on the paired axle.
        run: PathBuf,
        /// Time, s after the record began.
        #[arg(long, value_name = "T", allow_negative_numbers = true)]
        at: f64,
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file, or the name of an embedded demo setting; default: the one of the programme's run, else the defaults.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
    },
    /// Step the law in f64, f32 and fast f32 on the same inputs of every run of the programme; status 1 if f32 is too far off.
    Arithmetic {
        /// Only this run.
        #[arg(long, value_name = "RUN")]
        only: Option<String>,
    },
    /// Linearise the yaw loop of the real law: margins over speed and setting, warm and cold, and Bode plots in margins.html;
    /// status 1 if a margin is missed.
    Margins {
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file, or the name of an embedded demo setting; default: every demo setting.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
    },
    /// Ask the law's own bounds and arbiter what the axle can reach: pairs of rear torque and yaw moment, the bound on every edge,
    /// the closed form's limit radius; drawn in envelope.html. The first value of each list is the point about which the
    /// others are varied, one quantity at a time.
    Envelope {
        /// Setting file, or the name of an embedded demo setting; default: the defaults of the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
        /// What is varied.
        #[command(flatten)]
        values: EnvelopeValues,
    },
    /// Fit the numbers of the law's heat network to a recorded run with temperatures, and write what the log tells as an overlay on the
    /// calibration.
    FitHeat {
        /// CSV as `couplet drive` writes it.
        log: PathBuf,
        /// Setting file, or the name of an embedded demo setting, to start from; default: the defaults of the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
        /// File of the overlay; default: heat-fit.toml in the folder of the log.
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
        /// Replace the file of the overlay if it is there.
        #[arg(long)]
        force: bool,
    },
    /// Drive every single fault of every signal and actuator over speed, manoeuvre, setting and hands beside the drive without
    /// it, then a list of double faults: worst cells on the terminal, all in faults.csv and faults.html. Finished cells are kept
    /// in the folder of the results, and an interrupted matrix goes on from there.
    Faults {
        /// Only cells whose name has all these words, separated by commas, for example yaw_rate,120,still: places, kinds,
        /// speeds in km/h, cruise, power, curve-power, lift-off, braking, nominal, large-rear, cold, settings, still, person.
        #[arg(long, value_name = "WORD,...")]
        only: Option<String>,
        /// Only the i-th of n parts; the whole asked for afterwards in the same folder uses what the parts finished.
        #[arg(long, value_name = "I/N")]
        shard: Option<String>,
    },
    /// Look for a drive that violates a property: chance, then an adaptive search on a signed measure; what is found is shrunk and
    /// kept as a scenario file that `couplet drive` replays to the bit. Status 1 if something is violated.
    Hunt {
        /// Property, or all.
        #[arg(long, value_name = "NAME", default_value = "all")]
        property: String,
        /// Most drives per property.
        #[arg(long, value_name = "N", default_value_t = 300, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
        budget: u32,
        /// Seed of the search and of the sensors.
        #[arg(long, value_name = "S", default_value_t = 1)]
        seed: u64,
        /// Setting file, or the name of an embedded demo setting; default: the defaults of the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Folder of the drives found; its files are driven first. Default: corpus in the folder of the results.
        #[arg(long, value_name = "DIR")]
        corpus: Option<PathBuf>,
    },
    /// Live whole lives at event level, 6,000 h and 240,000 km: heat per clutch, wear, oil age and changes, temperature cycles, derating, what is
    /// left; and what the axle costs at cruise. Drawn in life.html.
    Life {
        /// Mission files, or names of embedded demo missions; default: all of these.
        missions: Vec<PathBuf>,
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file, or the name of an embedded demo setting; default: the defaults of the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
    },
    /// Write what other programs take from the bench.
    Export {
        /// What is written.
        #[command(subcommand)]
        what: Export,
    },
    /// Build the image for the microcontroller, replay every sequence in the emulator, compare each digest with this machine's, and
    /// tell instructions, flash, memory and stack beside their budgets.
    Target {
        /// Folder of the images in the source tree.
        #[arg(long, value_name = "DIR", default_value = "controller/firmware")]
        firmware: PathBuf,
        /// Sequences of wild inputs that look for the worst step.
        #[arg(long, value_name = "N", default_value_t = 40, value_parser = clap::value_parser!(u32).range(1..=100_000))]
        seeds: u32,
    },
    /// Step the law over recordings in open loop: what it would have done, how that differs from what was recorded, from other settings
    /// and laws, and from an earlier replay. Written: NAME-replay.mf4 for each recording, replay.csv. Status 1 if --allowed is missed.
    Replay {
        /// Recordings (.mf4, .mdf, .csv, .txt of the bus, .log of another bus), and folders of them.
        #[arg(required = true)]
        logs: Vec<PathBuf>,
        /// Mapping: which channel tells the law what; a log of the bus needs none.
        #[arg(long, value_name = "FILE")]
        map: Option<PathBuf>,
        /// CAN database of the frames of a .log or .txt; its signals are channels `Message.Signal` of the mapping.
        #[arg(long, value_name = "FILE")]
        dbc: Option<PathBuf>,
        /// Print a mapping proposed by names, units and physics, with its reasons, and replay nothing.
        #[arg(long)]
        suggest: bool,
        /// Replay although the signals contradict each other.
        #[arg(long)]
        as_mapped: bool,
        /// Vehicle file, or the name of an embedded demo vehicle, whose sizes the signals are judged with; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file, or the name of an embedded demo setting; default: the defaults of the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
        /// Law of allocation: exact, proportional-split, rear-torque-first, yaw-moment-first.
        #[arg(long, value_name = "LAW", default_value = "exact")]
        law: String,
        /// Settings to hold against the first, separated by commas.
        #[arg(long, value_name = "FILE,...", value_delimiter = ',')]
        what_if: Vec<PathBuf>,
        /// Laws to hold against the first, separated by commas.
        #[arg(long, value_name = "LAW,...", value_delimiter = ',')]
        against_law: Vec<String>,
        /// Folder with the NAME-replay.mf4 of an earlier replay, of another version of this program, say.
        #[arg(long, value_name = "DIR")]
        earlier: Option<PathBuf>,
        /// Largest difference of a torque that is no miss, N m.
        #[arg(long, value_name = "NM")]
        allowed: Option<f64>,
    },
    /// Drive the plant with the recorded steering, pedal and brake and compare, in the spirit of ISO 19364 and 19365: corridors,
    /// figures, a page.
    Correlate {
        /// Recordings (.mf4, .mdf, .csv, .log with --dbc) of one car on one surface, and folders of them.
        #[arg(required = true)]
        logs: Vec<PathBuf>,
        /// Mapping, as for replay; [recorded.current_left] and [recorded.current_right] are the currents of the clutches.
        #[arg(long, value_name = "FILE")]
        map: PathBuf,
        /// CAN database of the frames of a .log or .txt.
        #[arg(long, value_name = "FILE")]
        dbc: Option<PathBuf>,
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Friction of the road, 0.15 to 1.3.
        #[arg(long, value_name = "MU", default_value_t = 0.95)]
        friction: f64,
        /// Follow the recorded speed instead of the recorded feet.
        #[arg(long)]
        hold_speed: bool,
        /// Fit numbers of the car and the road within bounds: mass (needs the delivered torque), tyre-stiffness, friction.
        #[arg(long, value_name = "NAME,...", value_delimiter = ',')]
        fit: Vec<String>,
        /// Vehicle file the fit writes; default: fitted.toml in the folder of the results. Never over another.
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    /// Print a complete commented file with every key, its range and its default.
    Template {
        /// Kind of file.
        kind: Kind,
        /// Manoeuvre whose defaults a scenario shows.
        #[arg(default_value = "split-launch")]
        manoeuvre: String,
    },
    /// Print the JSON schema of a kind of file: keys, units, ranges, defaults and reasons, for editors and checkers.
    Schema {
        /// Kind of file.
        kind: Kind,
        /// Manoeuvre whose defaults a scenario's schema shows.
        #[arg(default_value = "split-launch")]
        manoeuvre: String,
    },
    /// Print a setting file of an older layout of the calibration table for today's; every number keeps its meaning.
    Migrate {
        /// Setting file.
        setting: PathBuf,
        /// Layout it was written for, if the file does not say so.
        #[arg(long, value_name = "N")]
        from: Option<u32>,
    },
}

/// What can be written for other programs.
#[derive(Debug, Subcommand)]
pub enum Export {
    /// What the law is told over the runs of the programme on the paired axle, over one of them with broken signals and with single
    /// faults, and over the dearest steps that were found, step by step, and the digests of its outputs: for replaying the law elsewhere, bit for bit. One .seq file each and digests.txt.
    Sequence {
        /// Only this sequence.
        #[arg(long, value_name = "NAME")]
        only: Option<String>,
        /// Steps at most of each.
        #[arg(long, value_name = "N", default_value_t = 4000, value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
        steps: u32,
    },
    /// Drive a run and write what the law was told, what it gave and what the car did, for programs that read measurements; and a
    /// mapping, with which `couplet replay` gives the same torques to the bit.
    Measurement {
        /// Run of the demo programme, embedded demo scenario, or scenario file.
        run: PathBuf,
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file, or the name of an embedded demo setting; default: the one of the programme's run, else the defaults.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
        /// Form of the files: MDF holds all rates in one file, CSV and Parquet have one file for each.
        #[arg(long, value_name = "FORM", default_value = "mdf")]
        form: Form,
    },
    /// Pack the law or the car as a co-simulation unit after FMI 2.0 or 3.0. `--out` may name the file, ending in .fmu, or a folder.
    Fmu {
        /// What is packed.
        #[arg(long, value_name = "MODEL", value_parser = ["controller", "car"])]
        what: String,
        /// Edition of the standard.
        #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u8).range(2..=3))]
        fmi: u8,
        /// Vehicle file whose numbers the car starts with, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file whose numbers the controller starts with, or the name of an embedded demo setting; default: the defaults of
        /// the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
        /// Shared library of the units; default: beside this program.
        #[arg(long, value_name = "FILE")]
        library: Option<PathBuf>,
    },
    /// Drive a scenario and write what a co-simulation of both units needs to repeat it, exactly: parameters.csv and reference.csv.
    Reference {
        /// Scenario file, or the name of an embedded demo scenario; on the paired axle, without faults.
        scenario: PathBuf,
        /// Vehicle file, or the name of an embedded demo vehicle; default: ptarmigan.
        #[arg(long, value_name = "FILE")]
        vehicle: Option<PathBuf>,
        /// Setting file, or the name of an embedded demo setting; default: the defaults of the calibration table.
        #[arg(long, value_name = "FILE")]
        setting: Option<PathBuf>,
    },
    /// Replay a sequence on this machine and print what leaves the law, one line for every so manieth step.
    Outputs {
        /// Sequence written by `export sequence`.
        file: PathBuf,
        /// Steps from one line to the next.
        #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
        every: u32,
    },
    /// A sequence as text, with names in place of places, for keeping it beside the sources.
    Text {
        /// Sequence written by `export sequence` or by `controller/firmware/search.py`.
        file: PathBuf,
    },
    /// Database of the bus: every frame and signal with unit, range, step, values, comment, period and protection. couplet.dbc.
    Dbc,
    /// Description of calibration page, outputs and trace in memory, after ASAM MCD-2 MC: addresses, limits, units, conversions. couplet.a2l.
    A2l,
    /// Random frames of the bus with what they say, one JSON object a line, for holding other readers against. frames.jsonl.
    Frames {
        /// How many.
        #[arg(long, value_name = "N", default_value_t = 1000, value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
        count: u32,
        /// Seed.
        #[arg(long, value_name = "S", default_value_t = 1)]
        seed: u64,
    },
}

/// Values of an envelope: up to five of each, separated by commas.
#[derive(Debug, clap::Args)]
pub struct EnvelopeValues {
    /// Speeds, 3 to 300 km/h; default: 60,30,80,100.
    #[arg(long, value_name = "KM_H,...", allow_hyphen_values = true)]
    pub speed: Option<String>,
    /// Curvatures, -0.2 to 0.2 1/m, positive to the left; default: 0.01,0,0.005,0.02,0.03.
    #[arg(long, value_name = "1_PER_M,...", allow_hyphen_values = true)]
    pub curvature: Option<String>,
    /// Longitudinal slips of both front wheels, -10 to 20 %, positive driving; default: 0.5,-1,0,1.5,3.
    #[arg(long, value_name = "PERCENT,...", allow_hyphen_values = true)]
    pub front_slip: Option<String>,
    /// How much larger the rear rolling radii are than the front ones, -3 to 3 %; default: 0,-2,-1,1,2.
    #[arg(long, value_name = "PERCENT,...", allow_hyphen_values = true)]
    pub rear_radius: Option<String>,
    /// Capacities of one clutch at the wheel, 200 to 3000 N m; default: the setting's, and 25, 50 and 150 % of it.
    #[arg(long, value_name = "NM,...", allow_hyphen_values = true)]
    pub capacity: Option<String>,
    /// Oil temperatures, -40 to 200 degC; default: 80,10,-10,-30,130.
    #[arg(long, value_name = "DEGC,...", allow_hyphen_values = true)]
    pub oil: Option<String>,
    /// Friction the law believes in, 0.05 to 1.2.
    #[arg(
        long,
        value_name = "MU",
        default_value = "0.95",
        allow_hyphen_values = true
    )]
    pub friction: String,
}

/// Forms of measurement files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// ASAM MDF 4.10.
    Mdf,
    /// Comma-separated text.
    Csv,
    /// Apache Parquet.
    Parquet,
}

/// Kinds of input file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// The car and its axle.
    Vehicle,
    /// Manoeuvre, road, course, driver, sensors.
    Scenario,
    /// Overlay on the controller's calibration.
    Setting,
    /// What a car does in its life.
    Mission,
}
