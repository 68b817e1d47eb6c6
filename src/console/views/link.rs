//! Link: the connection, the unit, where readings were lost, and how the program itself keeps up.

use super::waiting;
use crate::console::draw::Scene;
use crate::console::state::Measure;
use crate::console::widgets::page::page;
use crate::console::widgets::text::{labelled, left, right};
use crate::console::words;
use crate::session::RecorderState;
use crate::telemetry::Accounts;
use booster_profile::{PortHealth, Quality};
use ratatui::buffer::Buffer;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// From this width on, two columns.
const TWO_COLUMNS: u16 = 120;
/// Width of the left column: what the accounts need.
const LEFT: u16 = 80;
/// Column that values start in beside their labels.
const INDENT: usize = 13;

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    if area.width < TWO_COLUMNS {
        let columns = usize::from(area.width);
        let mut lines = measured(scene, columns);
        lines.extend(history(scene, columns));
        return page(&lines, scene.state.scroll, area, buf, scene.look);
    }
    let [one, _, two] = Layout::horizontal([
        Constraint::Length(LEFT),
        Constraint::Length(1),
        Constraint::Min(0),
    ])
    .areas(area);
    let a = page(
        &measured(scene, usize::from(one.width)),
        scene.state.scroll,
        one,
        buf,
        scene.look,
    );
    let b = page(
        &history(scene, usize::from(two.width)),
        scene.state.scroll,
        two,
        buf,
        scene.look,
    );
    Measure {
        furthest: a.furthest.max(b.furthest),
        ..a
    }
}

/// State, unit, accounts, program.
fn measured(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let mut lines = waiting::lines(scene, columns);
    lines.extend(unit(scene, columns));
    lines.extend(accounts(scene));
    lines.extend(program(scene, columns));
    lines.extend(roof(scene, columns));
    lines
}

fn section(scene: &Scene<'_>, title: &str) -> Line<'static> {
    Line::from(vec![
        Span::styled(format!("{} ", scene.look.glyphs.rule), scene.look.dim),
        Span::styled(title.to_owned(), scene.look.strong),
    ])
}

fn field(scene: &Scene<'_>, label: &str, value: &str, columns: usize) -> Vec<Line<'static>> {
    let label = Span::styled(format!(" {label}"), scene.look.dim);
    labelled(label, INDENT, value, scene.look.text, columns)
}

fn unit(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let telemetry = scene.fold.telemetry();
    let identity = telemetry.identity();
    let device = &identity.device;
    let separator = format!(" {} ", scene.look.glyphs.dot);
    let mut lines = vec![section(scene, "Unit")];
    let named = |name: &str, value: &Option<String>| value.as_ref().map(|v| format!("{name} {v}"));
    let who: Vec<String> = [
        device.manufacturer.clone(),
        device.model.clone(),
        named("serial", &device.serial),
        named("firmware", &device.firmware),
        named("hardware", &device.hardware),
        identity
            .feature
            .map(|f| format!("profile {}.{}", f.version.major, f.version.minor)),
        telemetry.boot_id().map(|id| format!("boot {id:08x}")),
    ]
    .into_iter()
    .flatten()
    .collect();
    let who = if who.is_empty() {
        "not known yet".to_owned()
    } else {
        who.join(&separator)
    };
    lines.extend(field(scene, "identity", &who, columns));
    let Some((at, status)) = scene.fold.unit() else {
        lines.extend(field(scene, "status", "not reported yet", columns));
        return lines;
    };
    let mut now: Vec<String> = [
        Some(status.state.name().to_owned()),
        Some(format!("authorization {}", status.authorization.name())),
        status.temperature_c().map(|t| format!("{t:.1} °C")),
        status.voltage_v().map(|v| format!("{v:.1} V")),
        status.current_a().map(|a| format!("{a:.2} A")),
        Some(format!(
            "up {}",
            words::span(std::time::Duration::from_secs(status.uptime_s.into()))
        )),
        Some(format!("{} restarts", status.restarts)),
    ]
    .into_iter()
    .flatten()
    .collect();
    let health = &status.health;
    let ports = [
        ("donor port", status.donor_port),
        ("server port", status.server_port),
    ];
    now.extend(
        ports
            .into_iter()
            .filter(|(_, p)| *p != PortHealth::NotKnown)
            .map(|(name, p)| format!("{name} {}", p.name())),
    );
    let conditions = [
        ("front end", health.front_end),
        ("TDD sync", health.tdd_sync),
        ("fan", health.fan),
        ("enclosure", health.enclosure),
    ];
    now.extend(
        conditions
            .into_iter()
            .filter(|(_, q)| *q != Quality::NotKnown)
            .map(|(name, q)| format!("{name} {}", q.name())),
    );
    now.push(format!("{} ago", words::span(scene.about.now - *at)));
    let now: Vec<String> = now.into_iter().map(|s| s.replace('-', " ")).collect();
    lines.extend(field(scene, "status", &now.join(&separator), columns));
    lines
}

/// A column of the accounts.
struct Column {
    heading: &'static str,
    width: usize,
    value: fn(&Accounts) -> u64,
}

/// Every account in the order of the identity, then the two beside it.
#[rustfmt::skip]
const ACCOUNTS: &[Column] = &[
    Column { heading: "expected", width: 9, value: |a| a.expected },
    Column { heading: "readings", width: 9, value: |a| a.readings },
    Column { heading: "lost", width: 6, value: |a| a.lost_on_air },
    Column { heading: "dropped", width: 8, value: |a| a.dropped_on_host },
    Column { heading: "malf.", width: 6, value: |a| a.malformed },
    Column { heading: "incompl.", width: 9, value: |a| a.incomplete },
    Column { heading: "unread.", width: 8, value: |a| a.unreadable },
    Column { heading: "outage", width: 7, value: |a| a.outage },
    Column { heading: "again", width: 6, value: |a| a.duplicates },
    Column { heading: "late", width: 5, value: |a| a.out_of_order },
];

fn accounts(scene: &Scene<'_>) -> Vec<Line<'static>> {
    let look = scene.look;
    let telemetry = scene.fold.telemetry();
    let headings: String = ACCOUNTS.iter().map(|c| right(c.heading, c.width)).collect();
    let mut lines = vec![
        section(scene, "Readings: expected = received + all that are missing"),
        Line::styled(format!("{}{headings}", left("", 6)), look.dim),
    ];
    let bands = telemetry.identity().bands.bands.len();
    let row = |name: &str, a: Accounts| {
        let style = if a.missing() > 0 { look.warn } else { look.text };
        let values: String = ACCOUNTS
            .iter()
            .map(|c| right(&(c.value)(&a).to_string(), c.width))
            .collect();
        Line::from(vec![
            Span::styled(left(&format!(" {name}"), 6), look.text),
            Span::styled(values, style),
        ])
    };
    lines.extend((0..bands).map(|p| row(telemetry.identity().name(p), telemetry.accounts(p))));
    if bands > 1 {
        lines.push(row("all", telemetry.total()));
    }
    lines
}

fn program(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let telemetry = scene.fold.telemetry();
    let about = scene.about;
    let mut lines = vec![section(scene, "This computer")];
    let malformed = match telemetry.last_malformed() {
        None => "none".to_owned(),
        Some((at, characteristic, error)) => format!(
            "{}; last at {at}, {}: {error}",
            telemetry.malformed_values(),
            words::characteristic(*characteristic)
        ),
    };
    lines.extend(field(scene, "malformed", &malformed, columns));
    if telemetry.ignored_values() > 0 {
        let text = format!(
            "{} values of a kind or band not known here",
            telemetry.ignored_values()
        );
        lines.extend(field(scene, "ignored", &text, columns));
    }
    let latency = about.latency.map_or_else(
        || "not measured yet".to_owned(),
        |l| {
            let micros = |us| {
                let text = words::micros(us);
                if scene.look.is_ascii() {
                    text.replace('µ', "u")
                } else {
                    text
                }
            };
            format!(
                "arrival to state: p50 {}, p99 {}, most {}",
                micros(l.p50),
                micros(l.p99),
                micros(l.max)
            )
        },
    );
    lines.extend(field(scene, "latency", &latency, columns));
    let queue = about.queue.map_or_else(
        || "none: values are taken from the source as they are needed".to_owned(),
        |q| {
            format!(
                "{} waiting, last one {} ms old, {} dropped",
                q.waiting,
                q.age.as_millis(),
                q.dropped
            )
        },
    );
    lines.extend(field(scene, "queue", &queue, columns));
    if let Some(excess) = telemetry.clock().last_excess() {
        let text = format!(
            "last reading {} ms later than the fastest (not the unit's jitter)",
            excess.as_millis()
        );
        lines.extend(field(scene, "path", &text, columns));
    }
    let recording = match &about.recorder {
        None => "off: start with --record FILE".to_owned(),
        Some(r) => {
            let lost = match r.not_recorded {
                0 => String::new(),
                n => format!(", {n} events not recorded"),
            };
            let state = match &r.state {
                RecorderState::Recording => "on".to_owned(),
                RecorderState::Finished => "closed".to_owned(),
                RecorderState::NotRecording { reason } => format!("stopped: {reason}"),
            };
            format!("{state}, {}, {}{lost}", r.path.display(), words::bytes(r.bytes))
        }
    };
    lines.extend(field(scene, "recording", &recording, columns));
    lines
}

/// Who looks at the roof page.
fn roof(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let Some(page) = &scene.about.roof else {
        return Vec::new();
    };
    let mut lines = vec![section(scene, "Roof page")];
    let text = format!("{}; key o shows its code", page.link.without_token());
    lines.extend(field(scene, "shared at", &text, columns));
    for line in super::roof::viewers(scene, page) {
        let mut spans = vec![Span::raw(" ")];
        spans.extend(line.spans);
        lines.push(Line::from(spans));
    }
    lines
}

/// What the link and the unit did, latest first.
fn history(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let fold = scene.fold;
    let mut lines = vec![section(scene, "Events of the unit, latest first")];
    for (at, logged) in fold.unit_events().iter().rev() {
        let mut text = words::unit_event(&logged.event, fold.telemetry().identity());
        if logged.stored {
            text.push_str(" (fetched from the unit's log)");
        }
        lines.extend(field(scene, &at.to_string(), &text, columns));
    }
    if fold.unit_events().is_empty() {
        lines.extend(field(scene, "none", "", columns));
    }
    lines.push(section(scene, "Link, latest first"));
    for (at, state, detail) in fold.link().history.iter().rev() {
        let mut text = state.name().replace('-', " ");
        if let Some(detail) = detail {
            text.push_str(&format!(": {detail}"));
        }
        lines.extend(field(scene, &at.to_string(), &text, columns));
    }
    lines
}
