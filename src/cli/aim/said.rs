//! What was said last: only news is printed.

use super::words;
use crate::aiming::{Keeper, Plan, Prompt, Safety, refusal};
use crate::event::LinkState;
use crate::fold::Fold;
use std::mem::{Discriminant, discriminant};

/// What a person at the antenna was told last, on stderr.
#[derive(Default)]
pub(super) struct Said {
    prompt: Option<Prompt>,
    safety: Option<Discriminant<Safety>>,
    refused: bool,
}

impl Said {
    /// Whether the unit holds itself down, and why not if it was asked to.
    pub(super) fn safety(&mut self, fold: &Fold) {
        let safety = Safety::of(fold, fold.now());
        // Before the unit's first status there is nothing to say.
        let known = fold.unit().is_some() && fold.link().state == LinkState::Live;
        if known && self.safety != Some(discriminant(&safety)) {
            self.safety = Some(discriminant(&safety));
            eprintln!("aim-safe {}", safety.words());
        }
        let refused = refusal(fold);
        if let Some(reply) = refused.as_ref().filter(|_| !self.refused) {
            eprintln!("aim-safe: {} {}", reply.meaning, reply.next_step);
        }
        self.refused = refused.is_some();
    }

    /// What to do.
    pub(super) fn prompt(&mut self, fold: &Fold, keeper: &Keeper, plan: &Plan) {
        let prompt = fold.aim().prompt();
        let ready = fold.link().state == LinkState::Live && !keeper.waits(fold, fold.now());
        if (ready || prompt == Some(Prompt::LinkLost)) && self.prompt != prompt {
            self.prompt = prompt;
            if let Some(prompt) = prompt {
                eprintln!("{}", words::prompt(prompt, plan));
            }
            let on = matches!(Safety::of(fold, fold.now()), Safety::On { .. });
            if prompt == Some(Prompt::Done) && keeper.is_allowed() && on {
                eprintln!("{}", words::HOW_TO_END);
            }
        }
    }

    /// The next prompt is said even if it is the same.
    pub(super) fn again(&mut self) {
        self.prompt = None;
    }
}
