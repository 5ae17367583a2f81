//! Drives over the bus: what the log says replays to the bit, and the bus changes little of the drive.

use std::io::BufReader;

use couplet_bus::{Decoded, Frame, InputReceiver, InputSender, OutputSender, Transport};
use couplet_controller::signal::{Health, INPUT_SIGNALS, OUTPUT_SIGNALS, Status};
use couplet_controller::{Controller, Inputs, Outputs, Period, RawPage, Reading};
use couplet_network::udp::UdpLoopback;
use couplet_network::{BusRelay, Head, LogWriter, Replay};
use couplet_sim::fault::{Fault, Kind, Place};
use couplet_sim::plant::Vehicle;
use couplet_sim::run::closed_loop::{self, Relay};
use couplet_sim::run::law::Rule;
use couplet_sim::run::{RunResult, run, run_relayed};
use couplet_sim::scenario::{Manoeuvre, Scenario};

/// A bus that also keeps what went in and out, unrounded.
struct Overheard<R> {
    bus: R,
    told: Vec<Inputs>,
    answered: Vec<Outputs>,
}

impl<R: Relay> Relay for Overheard<R> {
    fn carry(&mut self, sent: &Inputs) -> Inputs {
        let told = self.bus.carry(sent);
        self.told.push(told);
        told
    }

    fn answer(&mut self, outputs: &Outputs) {
        self.answered.push(*outputs);
        self.bus.answer(outputs);
    }
}

fn driven(scenario: &Scenario, page: &RawPage) -> (RunResult, Overheard<()>, Vec<u8>) {
    let start_degc = scenario.numbers.road.axle_degc as f32;
    let (result, relay) = run_relayed(scenario, &Vehicle::default(), Rule::from(page), |lead_s| {
        let zero_us = (lead_s / 0.005).round() as u64 * 5_000;
        let head = Head::of(&scenario.name, page, zero_us, start_degc);
        let log = LogWriter::new(Vec::new(), &head).expect("memory takes everything");
        Overheard {
            bus: BusRelay::new(log, Period::default()),
            told: Vec::new(),
            answered: Vec::new(),
        }
    });
    let Overheard {
        bus,
        told,
        answered,
    } = relay.expect("the relay was made");
    assert_eq!(bus.steps(), told.len() as u64);
    let log = bus
        .end()
        .and_then(LogWriter::end)
        .expect("memory takes everything");
    (
        result,
        Overheard {
            bus: (),
            told,
            answered,
        },
        log,
    )
}

/// Bits of every reading: a value may be no number.
fn bits(inputs: &Inputs) -> Vec<(u32, u16, u16)> {
    INPUT_SIGNALS
        .iter()
        .map(|signal| (signal.read)(inputs))
        .map(|reading| (reading.value.to_bits(), reading.age_ms, reading.status.0))
        .collect()
}

fn output_bits(outputs: &Outputs) -> Vec<u32> {
    let all = OUTPUT_SIGNALS.iter();
    all.map(|signal| (signal.read)(outputs).to_bits()).collect()
}

fn scenarios() -> Vec<Scenario> {
    let mut all: Vec<Scenario> = [Manoeuvre::SplitLaunch, Manoeuvre::StepSteer]
        .map(Scenario::of)
        .into();
    // A drive with what the bus is for: lost, late and wrong messages.
    let mut broken = Scenario::of(Manoeuvre::SplitLaunch);
    broken.name = "split launch broken".into();
    broken.faults = vec![
        Fault::from(Place::Signal("yaw_rate"), Kind::Late, 0.02),
        Fault::from(Place::Signal("wheel_speed_rear_left"), Kind::Corrupted, 0.3),
    ];
    broken.numbers.sensors.loss_share = 0.05;
    all.push(broken);
    all
}

#[test]
fn a_log_of_a_drive_replays_to_the_bit() {
    for scenario in scenarios() {
        let page = RawPage::default();
        let (_, heard, log) = driven(&scenario, &page);
        let mut replay = Replay::open(BufReader::new(log.as_slice())).expect("a log");
        assert!(replay.head().is_of(&page));
        let mut law: Controller<f32> =
            Controller::new(&page, replay.head().period).expect("an acceptable page");
        law.set_temperature(replay.head().start_degc);
        let mut steps = 0;
        let mut torque_nm = 0.0_f32;
        for step in &mut replay {
            let step = step.expect("a sound log");
            assert_eq!(
                bits(&step.told),
                bits(&heard.told[steps]),
                "{} {steps}",
                scenario.name
            );
            let outputs = law.step(&step.told);
            assert_eq!(output_bits(&outputs), output_bits(&heard.answered[steps]));
            // What the log says the axle sent is what it answered, within a step of the bus.
            if steps > 1 {
                let place = OUTPUT_SIGNALS
                    .iter()
                    .position(|one| one.name == "capacity_left");
                let Decoded::Number(sent) = step.answered[place.expect("in the table")] else {
                    panic!("{}: step {steps} has no answer", scenario.name);
                };
                let exact = outputs.capacity_nm.left;
                assert!(sent <= exact && exact - sent < 0.0626, "{sent} {exact}");
            }
            torque_nm = torque_nm.max(outputs.capacity_nm.right);
            steps += 1;
        }
        assert_eq!(steps, heard.told.len(), "{}", scenario.name);
        assert!(
            steps > 500 && torque_nm > 50.0,
            "{}: {steps} steps, {torque_nm} N m",
            scenario.name
        );
    }
}

/// Carries frames and spoils them: silences one kind for a while, turns a bit of every 40th, repeats every 50th.
struct Spoiling {
    kept: Vec<(u64, Frame)>,
    silent: u16,
    between_us: (u64, u64),
    count: u64,
}

impl Transport for Spoiling {
    type Refusal = std::convert::Infallible;

    fn send(&mut self, at_us: u64, frame: &Frame) -> Result<(), Self::Refusal> {
        self.count += 1;
        let (from, to) = self.between_us;
        if frame.id() == self.silent && (from..to).contains(&at_us) {
            return Ok(());
        }
        let mut frame = *frame;
        if self.count.is_multiple_of(40) {
            let place = self.count as usize / 40 % frame.bytes().len();
            frame.bytes_mut()[place] ^= 0x08;
        }
        self.kept.push((at_us, frame));
        if self.count.is_multiple_of(50) {
            self.kept.push((at_us, frame));
        }
        Ok(())
    }

    fn receive(&mut self) -> Result<Option<(u64, Frame)>, Self::Refusal> {
        Ok((!self.kept.is_empty()).then(|| self.kept.remove(0)))
    }
}

#[test]
fn a_silent_frame_takes_ability_away_and_its_return_gives_it_back_and_spoiled_ones_do_neither() {
    let mut scenario = Scenario::of(Manoeuvre::StepSteer);
    scenario.numbers.sensors.loss_share = 0.0;
    let page = RawPage::default();
    let health = |silent: u16| {
        let (_, relay) = run_relayed(&scenario, &Vehicle::default(), Rule::from(&page), |_| {
            let carrier = Spoiling {
                kept: Vec::new(),
                silent,
                between_us: (1_000_000, 1_500_000),
                count: 0,
            };
            Overheard {
                bus: BusRelay::new(carrier, Period::default()),
                told: Vec::new(),
                answered: Vec::new(),
            }
        });
        let relay = relay.expect("the relay was made");
        let health: Vec<Health> = relay.answered.iter().map(|one| one.health).collect();
        assert!(health.len() > 800, "{} steps", health.len());
        health
    };
    // Frames wrong and repeated now and then are held over: from 0.5 s on nothing is taken away.
    let spoiled = health(0);
    assert!(spoiled[100..].iter().all(|one| *one == Health::Full));
    // Yaw rate and accelerations silent from 1.0 to 1.5 s: full while the last values may be held, less after that, full again later.
    let silent = health(0x112);
    assert!(silent[100..200].iter().all(|one| *one == Health::Full));
    assert!(silent[240..300].iter().all(|one| *one != Health::Full));
    assert!(silent[780..].iter().all(|one| *one == Health::Full));
}

#[test]
fn the_bus_changes_little_of_a_drive() {
    let scenario = Scenario::of(Manoeuvre::SplitLaunch);
    let page = RawPage::default();
    let (over, heard, _) = driven(&scenario, &page);
    let plain = run(&scenario, &Vehicle::default(), &page);
    assert_eq!(over.outcome.ended, plain.outcome.ended);
    // Steps of the bus and one period of delay at most: a launch takes 3 % more or less time. Chosen.
    let ratio = over.outcome.at_s / plain.outcome.at_s;
    assert!((0.97..1.03).contains(&ratio), "{ratio}");
    // From the second message on, every input of a whole car arrives.
    let fresh = |reading: Reading| reading.status == Status::VALID;
    let late = heard
        .told
        .iter()
        .skip(2)
        .filter(|told| !fresh(told.accelerator_pedal));
    assert_eq!(late.count(), 0);
}

#[test]
fn another_calibration_is_told_apart_and_the_relay_leaves_a_plain_drive_alone() {
    let page = RawPage::default();
    let mut other = page;
    other.tunables.setting.agility = 0.51;
    let head = Head::of("x", &page, 0, 20.0);
    assert!(head.is_of(&page) && !head.is_of(&other));

    /// Carries everything as it is.
    struct Wire;
    impl Relay for Wire {
        fn carry(&mut self, sent: &Inputs) -> Inputs {
            *sent
        }
        fn answer(&mut self, _: &Outputs) {}
    }
    let scenario = Scenario::of(Manoeuvre::StepSteer);
    let vehicle = Vehicle::default();
    let (relayed, _) = run_relayed(&scenario, &vehicle, Rule::from(&page), |_| Wire);
    assert_eq!(relayed, run(&scenario, &vehicle, &page));
    let _: fn(&Scenario, &Vehicle, Rule<'_>, _, &mut dyn Relay) -> _ = closed_loop::drive_relayed;
}

#[test]
fn frames_over_udp_tell_the_law_what_frames_in_a_log_tell_it() {
    let mut car = UdpLoopback::at(0).expect("a port of this machine");
    let mut axle = UdpLoopback::at(0).expect("a port of this machine");
    car.connect(axle.port().expect("a port"));
    axle.connect(car.port().expect("a port"));
    let mut stranger = UdpLoopback::at(0).expect("a port of this machine");
    stranger.connect(axle.port().expect("a port"));
    let (mut sender, mut direct, mut over) = (
        InputSender::default(),
        InputReceiver::default(),
        InputReceiver::default(),
    );
    let mut answers = OutputSender::default();
    let mut inputs = Inputs::default();
    for step in 0..50_u64 {
        let now_us = step * 5_000;
        for (place, signal) in INPUT_SIGNALS.iter().enumerate() {
            let share = ((step as f32 * 0.1 + place as f32).sin() + 1.0) / 2.0;
            (signal.write)(
                &mut inputs,
                Reading::fresh(signal.low + share * (signal.high - signal.low)),
            );
        }
        let mut frames = Vec::new();
        sender.send(now_us, &inputs, |frame| frames.push(*frame));
        for frame in &frames {
            stranger.send(now_us, frame).expect("sent");
            car.send(now_us, frame).expect("sent");
            direct.receive(now_us, frame);
        }
        // The machine's own loop hands datagrams over at once, but promises nothing: wait for as many as were sent.
        let mut arrived = 0;
        for _ in 0..2_000 {
            while let Some((at_us, frame)) = axle.receive().expect("received") {
                over.receive(at_us, &frame);
                arrived += 1;
            }
            if arrived == frames.len() {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(1));
        }
        assert_eq!(
            arrived,
            frames.len(),
            "the stranger's frames are not the car's"
        );
        assert_eq!(bits(&over.inputs(now_us)), bits(&direct.inputs(now_us)));
        answers.send(now_us, &Outputs::default(), |frame| {
            axle.send(now_us, frame).expect("sent")
        });
    }
    assert!(car.receive().expect("received").is_some());
    let mut alone = UdpLoopback::at(0).expect("a port");
    let frame = couplet_bus::Frame::new(1, &[1]).expect("a frame");
    assert!(alone.send(0, &frame).is_err(), "no partner is named");
}
