//! Where it is, which unit, when.

use super::section as framed;
use crate::report::Visit;
use crate::report::text::{said_or_not, span};
use crate::session::Clock;
use booster_profile::Features;
use maud::{Markup, html};
use std::time::Duration;

pub(in crate::report) fn section(visit: &Visit) -> Markup {
    let identity = visit.fold.telemetry().identity();
    let device = &identity.device;
    let unit = [
        ("Manufacturer", &device.manufacturer),
        ("Model", &device.model),
        ("Serial number", &device.serial),
        ("Firmware", &device.firmware),
        ("Hardware", &device.hardware),
    ];
    framed(
        "site",
        "Site and unit",
        html! {
            table.facts {
                caption.hidden { "Site and unit" }
                tbody {
                    tr { th scope="row" { "Site" } td { (said_or_not(visit.header.site.as_deref())) } }
                    @for (name, value) in unit {
                        tr { th scope="row" { (name) } td { (said_or_not(value.as_deref())) } }
                    }
                    @if let Some(feature) = identity.feature {
                        tr { th scope="row" { "Rule set in force" } td { (feature.regulation.name()) } }
                        tr { th scope="row" { "It reports and can do" } td { (features(feature.features)) } }
                    }
                    tr { th scope="row" { "Session" } td {
                        (span(Duration::from_micros(visit.fold.now().0)))
                        @match visit.header.clock {
                            Some(Clock::Simulated) => { ", simulated" }
                            Some(Clock::Host) | None => {}
                        }
                        @if visit.header.anonymized { ", anonymised" }
                    } }
                }
            }
        },
    )
}

/// Features that the technician relies on, and those that are missing.
fn features(features: Features) -> String {
    let names: Vec<&str> = Features::NAMES
        .iter()
        .filter(|(bit, _)| features.contains(*bit))
        .map(|(_, name)| *name)
        .collect();
    match names.is_empty() {
        true => "nothing beyond the mandatory part of the profile".to_owned(),
        false => names.join(", ").replace('-', " "),
    }
}
