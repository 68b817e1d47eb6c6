//! The screens themselves.

mod pictures;
mod screens;
mod sizes;
pub(crate) mod support;
