//! Spoolwright store.
