//! Heat without a thermometer: an integer energy ledger.
