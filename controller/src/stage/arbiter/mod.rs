//! Allocation of a demand to two clutches: exact on the octagon.
