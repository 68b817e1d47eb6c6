//! The screens themselves.

mod screens;
mod sizes;
pub(super) mod support;
