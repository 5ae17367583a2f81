//! The axle layouts and how shaft, clutches and rear wheels are joined.

/// What joins the rear wheels to the front differential's carrier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AxleLayout {
    /// Nothing: front drive only.
    FrontDrive,
    /// One coupling, then an open rear differential.
    SingleCoupling,
    /// One clutch per rear wheel, no rear differential.
    PairedClutches,
}
