//! Browser tests of the whole main job.
