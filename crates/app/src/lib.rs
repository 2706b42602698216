//! Spoolwright.
