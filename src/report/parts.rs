//! The sections of the document, one file each.

pub(super) mod about;
pub(super) mod aim;
pub(super) mod bands;
pub(super) mod checks;
pub(super) mod compare;
pub(super) mod course;
pub(super) mod criteria;
pub(super) mod findings;
pub(super) mod result;
pub(super) mod site;
pub(super) mod strip;
pub(super) mod walk;

use maud::{Markup, html};

/// A section with its heading.
fn section(id: &str, heading: &str, body: Markup) -> Markup {
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (heading) }
            (body)
        }
    }
}

/// Something wider than a phone: it scrolls by itself, with the keyboard too.
fn wide(label: &str, body: Markup) -> Markup {
    html! { div.wide role="group" tabindex="0" aria-label=(label) { (body) } }
}
