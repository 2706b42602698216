//! Spoolwright print.
