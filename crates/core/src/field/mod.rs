//! From the camera to the binder: what was noted of each frame, where a roll stopped, where a frame lies.
//!
//! Records, and what follows from them alone. Cutting and filling pages, storage, exposure and cost have rooms of
//! their own; nothing here reads a clock.

pub mod find;
pub mod frame;
pub mod load;
pub mod merge;
pub mod record;
pub mod scan;
