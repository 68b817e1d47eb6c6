//! What rules allow a repeater. Information, not advice: local rules and the operator's consent come first.

pub mod repeater;
pub mod uk;
pub mod us;
