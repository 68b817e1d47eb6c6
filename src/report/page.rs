//! The document as a whole.

use super::Visit;
use super::parts::{about, aim, bands, checks, compare, course, criteria, findings, result, site, walk};
use super::text::clean;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// Nothing may be loaded and nothing may run, whatever stands in the text.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// The document about a visit; with an earlier one it compares the two.
pub fn render(visit: &Visit, earlier: Option<&Visit>) -> String {
    let sections = [
        Some(result::section(visit)),
        Some(site::section(visit)),
        Some(bands::section(visit)),
        earlier.map(|earlier| compare::section(visit, earlier)),
        Some(findings::section(visit)),
        Some(course::section(visit)),
        aim::section(visit),
        Some(walk::section(visit)),
        Some(checks::cautions()),
        Some(checks::checklist(visit)),
        Some(checks::signatures()),
        Some(criteria::section(visit)),
        Some(about::section(visit, earlier)),
    ];
    let title = title(visit);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { "Hand-over report" }
                    p.subtitle { (subtitle(visit)) }
                }
                main { @for section in sections.into_iter().flatten() { (section) } }
                footer {
                    p { "Made from a recording by loopmargin " (env!("CARGO_PKG_VERSION")) ". Local codes and licensed \
                         practice come first." }
                }
            }
        }
    }
    .into_string()
}

fn title(visit: &Visit) -> String {
    let model = visit.fold.telemetry().identity().device.model.clone();
    let date = visit.header.started.map(|t| t.strftime("%Y-%m-%d").to_string());
    let parts = [
        Some("Hand-over report".to_owned()),
        model.map(|m| clean(&m)),
        date,
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn subtitle(visit: &Visit) -> Markup {
    let device = &visit.fold.telemetry().identity().device;
    html! {
        "Cellular signal booster "
        @match &device.model {
            Some(model) => { (super::text::said(model)) }
            None => { "of a model that did not say its name" }
        }
        @if let Some(started) = visit.header.started {
            ", " time datetime=(started.strftime("%Y-%m-%dT%H:%M:%SZ")) { (started.strftime("%Y-%m-%d, %H:%M UTC")) }
        }
    }
}
