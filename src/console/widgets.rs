//! Pieces that several views draw with.

pub(super) mod big;
pub(super) mod curve;
pub(super) mod level_bar;
pub(super) mod page;
pub(super) mod polar;
pub(super) mod position;
pub(super) mod text;
