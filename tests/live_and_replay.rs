//! Live in virtual time, recorded, replayed: the same findings, byte for byte, in every scenario.

mod common;
use common::{Folder, assert_accounts_add_up, json_lines, lines_of, run, scenarios, stdout};

const SAME: &[&str] = &["reading", "finding", "link", "mark", "event", "unit", "cell"];

#[test]
fn the_default_site_is_live_within_half_a_second_and_has_two_bands() {
    let text = stdout(&[
        "watch", "--from", "sim", "--json", "--speed", "max", "--for", "5s",
    ]);
    let lines = json_lines(&text);
    assert_eq!(lines[0]["type"], "session");
    assert!(lines[0]["bands"].as_array().is_some_and(|b| b.len() >= 2));
    let first = lines.iter().find(|l| l["type"] == "reading").expect("a reading");
    assert!(first["t_s"].as_f64().is_some_and(|t| t <= 0.5), "{first}");
    let summary = lines.last().expect("a summary");
    assert_eq!(summary["type"], "summary");
    assert_accounts_add_up(summary);
    let printed = lines.iter().filter(|l| l["type"] == "reading").count();
    assert_eq!(summary["readings"].as_u64(), Some(printed as u64));
    assert_eq!(summary["duration_s"].as_f64(), Some(5.0));
}

#[test]
fn a_replay_equals_the_live_session_in_every_scenario() {
    for name in scenarios() {
        let folder = Folder::new();
        let file = folder.file("session.jsonl");
        let source = format!("sim:{name}");
        let live = stdout(&[
            "watch", "--from", &source, "--json", "--speed", "max", "--for", "90s", "--record", &file,
        ]);
        let replay = stdout(&["replay", &file, "--json"]);
        let (a, b) = (lines_of(&live, SAME), lines_of(&replay, SAME));
        assert!(a == b, "{name}: {:?}", a.iter().zip(&b).find(|(x, y)| x != y));
        let mut last = [&live, &replay].map(|t| json_lines(t).pop().expect("a summary"));
        last.iter_mut()
            .for_each(|s| s["latency_us"] = serde_json::Value::Null);
        assert_eq!(last[0], last[1], "{name}");
        assert_accounts_add_up(&last[0]);
    }
}

#[test]
fn real_time_and_virtual_time_give_the_same_lines() {
    let args = ["watch", "--from", "sim", "--json", "--for", "20s", "--speed"];
    let fast = stdout(&[&args[..], &["max"]].concat());
    let paced = stdout(&[&args[..], &["20"]].concat());
    assert_eq!(lines_of(&fast, SAME), lines_of(&paced, SAME));
}

#[test]
fn a_generated_file_equals_a_watched_one() {
    let folder = Folder::new();
    let (watched, generated) = (folder.file("watched.jsonl"), folder.file("generated.jsonl"));
    let source = format!("sim:{}", scenarios()[0]);
    stdout(&[
        "watch", "--from", &source, "--json", "--speed", "max", "--for", "60s", "--record", &watched,
    ]);
    stdout(&[
        "simulate",
        "--scenario",
        &source[4..],
        "--for",
        "60s",
        "--record",
        &generated,
    ]);
    let read = |path: &str| std::fs::read_to_string(path).expect("a session file");
    assert!(read(&watched) == read(&generated));
}

#[test]
fn the_seed_decides() {
    let with = |seed: &str| {
        stdout(&[
            "watch", "--from", "sim", "--json", "--speed", "max", "--for", "5s", "--seed", seed,
        ])
    };
    assert_eq!(with("7"), with("7"));
    assert_ne!(with("7"), with("8"));
}

#[test]
fn a_cut_recording_is_read_as_far_as_it_is_sound_and_says_so() {
    let folder = Folder::new();
    let (whole, cut) = (folder.file("whole.jsonl"), folder.file("cut.jsonl"));
    stdout(&["simulate", "--for", "30s", "--record", &whole]);
    let bytes = std::fs::read(&whole).expect("a session file");
    std::fs::write(&cut, &bytes[..bytes.len() * 2 / 3]).expect("written");
    let output = run(&["replay", &cut, "--json"]);
    assert_eq!(output.status.code(), Some(0));
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert_eq!(complaint.lines().count(), 1, "{complaint}");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let full = stdout(&["replay", &whole, "--json"]);
    let (part, all) = (lines_of(&text, &["reading"]), lines_of(&full, &["reading"]));
    assert!(part.len() > all.len() / 2 && all.starts_with(&part));
}

#[test]
fn a_file_that_is_no_session_is_refused_with_a_reason() {
    let folder = Folder::new();
    let file = folder.file("notes.txt");
    std::fs::write(&file, "buy cable ties\n").expect("written");
    let output = run(&["replay", &file, "--json"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    assert!(String::from_utf8_lossy(&output.stderr).contains("notes.txt"));
}

#[test]
fn a_recording_never_overwrites_a_file() {
    let folder = Folder::new();
    let file = folder.file("session.jsonl");
    std::fs::write(&file, "precious").expect("written");
    for args in [
        vec![
            "watch", "--from", "sim", "--json", "--for", "1s", "--record", &file,
        ],
        vec!["simulate", "--for", "1s", "--record", &file],
    ] {
        let output = run(&args);
        assert_eq!(output.status.code(), Some(1), "{args:?}");
    }
    assert_eq!(std::fs::read_to_string(&file).expect("still there"), "precious");
}

#[test]
fn damage_is_found_and_repaired() {
    let folder = Folder::new();
    let (whole, cut, mended) = (
        folder.file("whole.jsonl"),
        folder.file("cut.jsonl"),
        folder.file("mended.jsonl"),
    );
    stdout(&["simulate", "--for", "10s", "--record", &whole]);
    assert!(stdout(&["session", "verify", &whole]).starts_with("sound"));
    assert!(stdout(&["session", "info", &whole]).contains("band-telemetry"));
    let bytes = std::fs::read(&whole).expect("a session file");
    std::fs::write(&cut, &bytes[..bytes.len() / 2]).expect("written");
    let verdict = run(&["session", "verify", &cut, "--json"]);
    assert_eq!(verdict.status.code(), Some(4));
    assert_eq!(
        json_lines(&String::from_utf8_lossy(&verdict.stdout))[0]["result"],
        "fail"
    );
    stdout(&["session", "repair", &cut, "--out", &mended]);
    assert!(stdout(&["session", "verify", &mended]).starts_with("sound"));
    let readings = |path: &str| lines_of(&stdout(&["replay", path, "--json"]), &["reading"]).len();
    assert!(readings(&mended) > 0 && readings(&mended) < readings(&whole));
}

#[test]
fn a_scenario_file_may_name_a_pattern_file() {
    let folder = Folder::new();
    let site = std::fs::read_to_string("simulator/scenarios/weavers-yard.toml").expect("the default site");
    // Thirty degrees off the wanted cell: 3 dB with the site's 60° beam, 30 dB with the beam of the file.
    let aside = site.replacen("bearing_deg = 140", "bearing_deg = 110", 1);
    std::fs::write(folder.path("aside.toml"), &aside).expect("written");
    let site = aside.replacen("[donor]", "[donor]\npattern_file = \"beam.msi\"", 1);
    std::fs::write(folder.path("site.toml"), site).expect("written");
    let points: String = (0..360)
        .map(|d: i32| format!("{d} {}.0\n", d.min(360 - d).min(40)))
        .collect();
    let text =
        format!("NAME beam\nFREQUENCY 1960\nGAIN 12 dBi\nHORIZONTAL 360\n{points}VERTICAL 360\n{points}");
    std::fs::write(folder.path("beam.msi"), text).expect("written");
    let heard = |file: &str| -> f64 {
        let source = format!("sim:{}", folder.file(file));
        let text = stdout(&[
            "watch", "--from", &source, "--json", "--speed", "max", "--for", "5s",
        ]);
        let first = json_lines(&text)
            .into_iter()
            .find(|l| l["type"] == "reading" && l["band"] == "B12");
        first.and_then(|l| l["rsrp_dbm"].as_f64()).expect("RSRP")
    };
    let difference = heard("aside.toml") - heard("site.toml");
    assert!((difference - 27.0).abs() <= 1.0, "{difference}");
    std::fs::write(folder.path("beam.msi"), "GAIN 12 dBi\n").expect("written");
    let source = format!("sim:{}", folder.file("site.toml"));
    let refused = run(&["watch", "--from", &source, "--json", "--for", "1s"]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("pattern"));
}
