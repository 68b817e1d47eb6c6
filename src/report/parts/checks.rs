//! Cautions, the checklist, and room for signatures.

use super::section as framed;
use crate::report::Visit;
use booster_profile::Authorization;
use maud::{Markup, html};

/// What to mind at work; each says what comes before it.
const CAUTIONS: &[(&str, &str)] = &[
    (
        "Roof and ladder",
        "Stay clear of power lines by the length of mast and antenna plus the clearance that your utility requires. Stop \
         for wind, ice and lightning. Not alone. Look before drilling: pipes, wiring, asbestos.",
    ),
    (
        "The unit transmits",
        "Uplink off and gain held down while hands are on the antenna. Keep the exposure distance; do not stand in front \
         of other transmitters' antennas.",
    ),
    (
        "Emergency calls",
        "A restart, a change of gain, aiming and an isolation test can cut a live emergency call: ask before each, and \
         confirm the service with an ordinary call afterwards. No test calls to emergency numbers except by local procedure.",
    ),
    (
        "Law",
        "In many countries only the operator may install or permit a booster. Use only antennas, cables and attenuators \
         that the unit's maker lists. Protection functions are never defeated. Switch the unit off when an operator or a \
         regulator asks.",
    ),
];

/// What has to be so before the site is left.
const CHECKS: &[(&str, &str)] = &[
    (
        "Permission",
        "The operator permits this unit; consent and registration are on file; labels are in place.",
    ),
    (
        "Grounding and lightning",
        "Mast, cable shield and arrester are bonded by local code; drip loop and sealed connectors.",
    ),
    (
        "Antenna separation",
        "Donor and server antenna stand as planned, with what shields them in between; loop margin holds with doors open and people near the server antenna.",
    ),
    (
        "Exposure distance",
        "People cannot come nearer to either antenna than the exposure distance; it is marked where they could.",
    ),
    (
        "Mount",
        "Mast and antenna are tight, the bearing is locked and marked, nothing moves in the wind.",
    ),
    (
        "Listed parts only",
        "Antennas, cables, attenuators and power supply are ones that the unit's maker lists.",
    ),
    (
        "Power",
        "The unit runs from its own supply, secured against being unplugged; somebody on site knows how to switch it off.",
    ),
    (
        "Aim-safe ended",
        "The unit is back at its working gain, uplink on.",
    ),
    (
        "Service",
        "An ordinary call was made and received, and data sent, through the unit and once more at its edge; emergency calls rest on the same path.",
    ),
    (
        "Hand-over",
        "The person in charge knows the lights, the switch and whom to call, and has this document.",
    ),
];

pub(in crate::report) fn cautions() -> Markup {
    framed(
        "cautions",
        "Cautions",
        html! {
            p { strong { "Local codes and licensed practice come first, always." } }
            dl.cautions { @for (name, text) in CAUTIONS { dt { (name) } dd { (text) } } }
        },
    )
}

pub(in crate::report) fn checklist(visit: &Visit) -> Markup {
    framed(
        "checklist",
        "Checklist",
        html! {
            p { "To be ticked by the person who did the work." }
            @if let Some(words) = authorization(visit) { p { "The unit says: " (words) "." } }
            ul.checklist {
                @for (name, text) in CHECKS {
                    li { label { input type="checkbox"; " " b { (name) ". " } (text) } }
                }
            }
        },
    )
}

fn authorization(visit: &Visit) -> Option<&'static str> {
    match visit.fold.unit()?.1.authorization {
        Authorization::Present => Some("the operator's authorization is present"),
        Authorization::Absent => Some("the operator's authorization is needed and missing"),
        Authorization::NotRequired => Some("no authorization by the operator is needed"),
        _ => None,
    }
}

pub(in crate::report) fn signatures() -> Markup {
    let people = ["Work done by", "Accepted by, for the site"];
    framed(
        "signatures",
        "Signatures",
        html! {
            div.signatures {
                @for who in people {
                    div {
                        p { b { (who) } }
                        @for field in ["Name", "Company or licence", "Place and date", "Signature"] {
                            p.line { span { (field) } }
                        }
                    }
                }
            }
        },
    )
}
