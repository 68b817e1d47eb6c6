//! The screens themselves.

mod screens;
mod sizes;
pub(crate) mod support;
