//! One file per view.

pub(super) mod aim;
pub(super) mod bands;
pub(super) mod choice;
pub(super) mod control;
pub(super) mod far;
pub(super) mod findings;
pub(super) mod help;
pub(super) mod link;
pub(super) mod roof;
pub(super) mod trace;
mod waiting;
mod worst;
