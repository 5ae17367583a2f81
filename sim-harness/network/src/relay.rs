//! A bus between the car and the law of a simulated drive.
//!
//! In every control step what the sensors say is packed, protected, carried, checked and unpacked before the law sees it,
//! and what the law answers goes out in frames of its own. Time is the number of the step times the period: no clock. A
//! carrier that refuses stops carrying; the law then hears silence, and [`BusRelay::end`] tells why.

use couplet_bus::{Frame, InputReceiver, InputSender, OutputSender, Report, Transport};
use couplet_controller::{Inputs, Outputs, Period};
use couplet_sim::run::closed_loop::Relay;

/// The bus of one drive.
#[derive(Debug)]
pub struct BusRelay<T: Transport> {
    carrier: T,
    period: Period,
    step: u64,
    car: InputSender,
    axle: OutputSender,
    law: InputReceiver,
    refused: Option<T::Refusal>,
}

impl<T: Transport> BusRelay<T> {
    /// A bus on a carrier that gives back what it was given.
    pub fn new(carrier: T, period: Period) -> Self {
        Self {
            carrier,
            period,
            step: 0,
            car: InputSender::default(),
            axle: OutputSender::default(),
            law: InputReceiver::default(),
            refused: None,
        }
    }

    /// What packing had to change: inputs, outputs.
    pub fn reports(&self) -> [Report; 2] {
        [self.car.report(), self.axle.report()]
    }

    /// Steps carried.
    pub fn steps(&self) -> u64 {
        self.step
    }

    /// The carrier.
    ///
    /// # Errors
    /// Why it stopped carrying.
    pub fn end(self) -> Result<T, T::Refusal> {
        match self.refused {
            Some(refused) => Err(refused),
            None => Ok(self.carrier),
        }
    }

    fn send(&mut self, now_us: u64, frames: &[Frame]) {
        for frame in frames {
            if self.refused.is_none()
                && let Err(refused) = self.carrier.send(now_us, frame)
            {
                self.refused = Some(refused);
            }
        }
    }

    fn arrived(&mut self) -> Option<(u64, Frame)> {
        if self.refused.is_some() {
            return None;
        }
        match self.carrier.receive() {
            Ok(arrived) => arrived,
            Err(refused) => {
                self.refused = Some(refused);
                None
            }
        }
    }
}

impl<T: Transport> Relay for BusRelay<T> {
    fn carry(&mut self, sent: &Inputs) -> Inputs {
        let now_us = self.step * u64::from(self.period.microseconds());
        let mut frames = Vec::new();
        self.car.send(now_us, sent, |frame| frames.push(*frame));
        self.send(now_us, &frames);
        while let Some((at_us, frame)) = self.arrived() {
            self.law.receive(at_us, &frame);
        }
        self.law.inputs(now_us)
    }

    fn answer(&mut self, outputs: &Outputs) {
        let now_us = self.step * u64::from(self.period.microseconds());
        let mut frames = Vec::new();
        self.axle.send(now_us, outputs, |frame| frames.push(*frame));
        self.send(now_us, &frames);
        self.step += 1;
    }
}
