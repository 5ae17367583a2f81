//! Helpers shared by the suites that judge controller and harness from outside.
