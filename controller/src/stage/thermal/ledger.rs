//! Where the heat of the axle is: whole microjoules, moved and never lost.
//!
//! Nodes: surface and core of each clutch, oil, housing. The energy of a node counts from 0 degC, so its temperature is
//! energy over heat capacity. A step brings heat in (per side), and flows that were each rounded ONCE to a whole
//! microjoule; what leaves one node arrives in another, so
//!
//! opening + taken in - lost = stored
//!
//! holds to the last unit whatever the law computed in, and no small flow is swallowed by a large sum, as happens to an
//! `f32` temperature (a 9000 J/K node at 5 ms ignores everything below 6.9 W). 64 bits of microjoules last 25,620 h at
//! 100 kW per side; the axle's loss holds 128 bits because it adds both sides. Limits: [`Ledger::LARGEST_MOVE_UJ`] a
//! move; a counter that is full stays full.

use crate::quantity::PerSide;

/// The energies of one axle and what passed its border.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Ledger {
    nodes: Nodes,
    opening_uj: i64,
    taken_in_uj: PerSide<i64>,
    lost_uj: i128,
}

/// Energy of each node above 0 degC, microjoules; negative below 0 degC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Nodes {
    /// Friction surface of each clutch.
    pub surface_uj: PerSide<i64>,
    /// Plates and hub of each clutch.
    pub core_uj: PerSide<i64>,
    /// Oil of the axle.
    pub oil_uj: i64,
    /// Housing of the axle.
    pub housing_uj: i64,
}

/// What moves in one step, microjoules, each already a whole number; positive in the direction of the name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Moves {
    /// Slip heat into each surface, never negative.
    pub heat_uj: PerSide<i64>,
    /// Surface to core.
    pub surface_to_core_uj: PerSide<i64>,
    /// Surface to oil.
    pub surface_to_oil_uj: PerSide<i64>,
    /// Core to oil.
    pub core_to_oil_uj: PerSide<i64>,
    /// Oil to housing.
    pub oil_to_housing_uj: i64,
    /// Housing to the surrounding air.
    pub housing_to_ambient_uj: i64,
}

impl Ledger {
    /// Largest single move, microjoules (1 GJ): a bound no physical step comes near, so that sums cannot wrap.
    pub const LARGEST_MOVE_UJ: i64 = 1_000_000_000_000_000;

    /// Largest energy a node may hold, microjoules (1 TJ): above any melting point; six of them and a step fit 64 bits.
    pub const LARGEST_NODE_UJ: i64 = 1_000_000_000_000_000_000;

    /// Number of words of [`Ledger::to_words`].
    pub const WORDS: usize = 11;

    /// A ledger opened with these energies and nothing taken in or lost yet.
    pub fn opened(nodes: Nodes) -> Self {
        let nodes = nodes.bounded();
        Self {
            nodes,
            opening_uj: nodes.stored_uj(),
            ..Self::default()
        }
    }

    /// Energies of the nodes.
    pub fn nodes(&self) -> Nodes {
        self.nodes
    }

    /// Heat taken in through each side since the ledger was opened, microjoules.
    pub fn taken_in_uj(&self) -> PerSide<i64> {
        self.taken_in_uj
    }

    /// Net heat lost to the surrounding air since the ledger was opened, microjoules; negative if the air warmed it.
    pub fn lost_uj(&self) -> i128 {
        self.lost_uj
    }

    /// opening + taken in - lost - stored, microjoules: exactly zero unless a counter is full (after its 25,620 h at
    /// 100 kW) or the words were tampered with.
    pub fn imbalance_uj(&self) -> i128 {
        let taken_in = i128::from(self.taken_in_uj.left) + i128::from(self.taken_in_uj.right);
        let stored = i128::from(self.nodes.stored_uj());
        i128::from(self.opening_uj)
            .saturating_add(taken_in)
            .saturating_sub(self.lost_uj)
            .saturating_sub(stored)
    }

    /// Takes slip heat into each surface, microjoules; negative counts as none.
    #[inline(always)]
    pub fn take_in(&mut self, heat_uj: PerSide<i64>) {
        let most = Self::LARGEST_MOVE_UJ;
        let mut heat_uj = heat_uj;
        if heat_uj.left as u64 > most as u64 || heat_uj.right as u64 > most as u64 {
            heat_uj = heat_uj.map(|uj| uj.clamp(0, most));
        }
        let surface_uj = &mut self.nodes.surface_uj;
        *surface_uj = surface_uj.zip(heat_uj, i64::wrapping_add);
        self.taken_in_uj = self.taken_in_uj.zip(heat_uj, i64::saturating_add);
        let bounded = |uj: i64| is_within(uj, Self::LARGEST_NODE_UJ);
        if !(bounded(surface_uj.left) && bounded(surface_uj.right)) {
            self.cut();
        }
    }

    /// Takes heat in and moves it between nodes.
    #[inline(always)]
    pub fn move_heat(&mut self, moves: &Moves) {
        let bounded;
        let moves = if moves.are_bounded() {
            moves
        } else {
            bounded = moves.bounded();
            &bounded
        };
        // Nodes and moves are bounded, and what is lost is their sum: none of these can leave its range, so nothing is
        // checked where nothing can happen. What is taken in is a counter and may fill.
        let plus = i64::wrapping_add;
        let minus = i64::wrapping_sub;
        let nodes = &mut self.nodes;
        nodes.surface_uj = nodes
            .surface_uj
            .zip(moves.heat_uj, plus)
            .zip(moves.surface_to_core_uj, minus)
            .zip(moves.surface_to_oil_uj, minus);
        nodes.core_uj = nodes
            .core_uj
            .zip(moves.surface_to_core_uj, plus)
            .zip(moves.core_to_oil_uj, minus);
        let into_oil = moves.surface_to_oil_uj.zip(moves.core_to_oil_uj, plus);
        nodes.oil_uj = minus(
            plus(nodes.oil_uj, plus(into_oil.left, into_oil.right)),
            moves.oil_to_housing_uj,
        );
        nodes.housing_uj = minus(
            plus(nodes.housing_uj, moves.oil_to_housing_uj),
            moves.housing_to_ambient_uj,
        );
        self.taken_in_uj = self.taken_in_uj.zip(moves.heat_uj, i64::saturating_add);
        self.lost_uj = self
            .lost_uj
            .wrapping_add(i128::from(moves.housing_to_ambient_uj));
        if !self.nodes.are_bounded() {
            self.cut();
        }
    }

    /// A node beyond its bound would break the sum; what is cut off there is booked as lost.
    #[cold]
    #[inline(never)]
    fn cut(&mut self) {
        let before = self.nodes.stored_uj();
        self.nodes = self.nodes.bounded();
        let cut = i128::from(before) - i128::from(self.nodes.stored_uj());
        self.lost_uj = self.lost_uj.saturating_add(cut);
    }

    /// Puts the nodes at new energies; the difference counts as lost (or, if negative, as gained from the air).
    ///
    /// For a rest of hours, where only the ends matter; the running law uses [`Ledger::move_heat`].
    pub fn settle(&mut self, nodes: Nodes) {
        let nodes = nodes.bounded();
        let difference = i128::from(self.nodes.stored_uj()) - i128::from(nodes.stored_uj());
        self.nodes = nodes;
        self.lost_uj = self.lost_uj.saturating_add(difference);
    }

    /// The ledger as words in a fixed order, for storage.
    pub fn to_words(&self) -> [i64; Self::WORDS] {
        let nodes = self.nodes;
        [
            nodes.surface_uj.left,
            nodes.surface_uj.right,
            nodes.core_uj.left,
            nodes.core_uj.right,
            nodes.oil_uj,
            nodes.housing_uj,
            self.opening_uj,
            self.taken_in_uj.left,
            self.taken_in_uj.right,
            self.lost_uj as i64,
            (self.lost_uj >> 64) as i64,
        ]
    }

    /// The ledger from stored words, if they balance and every node lies within its bound.
    pub fn from_words(words: &[i64; Self::WORDS]) -> Option<Self> {
        let &[
            surface_left,
            surface_right,
            core_left,
            core_right,
            oil_uj,
            housing_uj,
            opening_uj,
            left,
            right,
            low,
            high,
        ] = words;
        let nodes = Nodes {
            surface_uj: PerSide {
                left: surface_left,
                right: surface_right,
            },
            core_uj: PerSide {
                left: core_left,
                right: core_right,
            },
            oil_uj,
            housing_uj,
        };
        let ledger = Self {
            nodes,
            opening_uj,
            taken_in_uj: PerSide { left, right },
            lost_uj: (i128::from(high) << 64) | i128::from(low as u64),
        };
        let believable = nodes.bounded() == nodes && left >= 0 && right >= 0;
        (believable && ledger.imbalance_uj() == 0).then_some(ledger)
    }

    /// The axle seen in a mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            nodes: Nodes {
                surface_uj: self.nodes.surface_uj.mirrored(),
                core_uj: self.nodes.core_uj.mirrored(),
                ..self.nodes
            },
            taken_in_uj: self.taken_in_uj.mirrored(),
            ..*self
        }
    }
}

impl Nodes {
    /// Energy of all nodes together, microjoules.
    pub fn stored_uj(&self) -> i64 {
        let plates = self.surface_uj.zip(self.core_uj, i64::saturating_add);
        plates
            .left
            .saturating_add(plates.right)
            .saturating_add(self.oil_uj.saturating_add(self.housing_uj))
    }

    /// Every node within a bound chosen so that the sum of all six fits.
    fn are_bounded(&self) -> bool {
        let bounded = |uj: i64| is_within(uj, Ledger::LARGEST_NODE_UJ);
        bounded(self.surface_uj.left)
            && bounded(self.surface_uj.right)
            && bounded(self.core_uj.left)
            && bounded(self.core_uj.right)
            && bounded(self.oil_uj)
            && bounded(self.housing_uj)
    }

    fn bounded(self) -> Self {
        let bound = |uj: i64| uj.clamp(-Ledger::LARGEST_NODE_UJ, Ledger::LARGEST_NODE_UJ);
        Self {
            surface_uj: self.surface_uj.map(bound),
            core_uj: self.core_uj.map(bound),
            oil_uj: bound(self.oil_uj),
            housing_uj: bound(self.housing_uj),
        }
    }
}

/// Whether a value lies between minus and plus a size above zero: one comparison.
fn is_within(uj: i64, size_uj: i64) -> bool {
    uj.wrapping_add(size_uj) as u64 <= (size_uj as u64).wrapping_add(size_uj as u64)
}

impl Moves {
    fn are_bounded(&self) -> bool {
        let bounded = |uj: i64| is_within(uj, Ledger::LARGEST_MOVE_UJ);
        let taken_in = |uj: i64| uj as u64 <= Ledger::LARGEST_MOVE_UJ as u64;
        taken_in(self.heat_uj.left)
            && taken_in(self.heat_uj.right)
            && bounded(self.surface_to_core_uj.left)
            && bounded(self.surface_to_core_uj.right)
            && bounded(self.surface_to_oil_uj.left)
            && bounded(self.surface_to_oil_uj.right)
            && bounded(self.core_to_oil_uj.left)
            && bounded(self.core_to_oil_uj.right)
            && bounded(self.oil_to_housing_uj)
            && bounded(self.housing_to_ambient_uj)
    }

    fn bounded(&self) -> Self {
        let bound = |uj: i64| uj.clamp(-Ledger::LARGEST_MOVE_UJ, Ledger::LARGEST_MOVE_UJ);
        Self {
            heat_uj: self.heat_uj.map(|uj| bound(uj).max(0)),
            surface_to_core_uj: self.surface_to_core_uj.map(bound),
            surface_to_oil_uj: self.surface_to_oil_uj.map(bound),
            core_to_oil_uj: self.core_to_oil_uj.map(bound),
            oil_to_housing_uj: bound(self.oil_to_housing_uj),
            housing_to_ambient_uj: bound(self.housing_to_ambient_uj),
        }
    }
}
