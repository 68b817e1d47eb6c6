//! Calculators against worked values of the facts table, and against wrong use.

use proptest::prelude::*;

use super::*;

fn calc(line: &str) -> Result<Outcome, CalcError> {
    let mut words = line.split(' ');
    let name = words.next().unwrap_or_default();
    let pairs: Vec<_> = words.map(|word| word.split_once('=').unwrap()).collect();
    evaluate(name, &pairs)
}

fn number(line: &str, key: &str) -> f64 {
    match calc(line).unwrap().get(key) {
        Some(Value::Number(number)) => *number,
        Some(Value::Count(count)) => f64::from(*count),
        other => panic!("{line}: {key} is {other:?}"),
    }
}

#[test]
fn every_calculator_gives_the_outputs_it_lists() {
    for calculator in CALCULATORS {
        let outcome = calc(&format!("{} {}", calculator.name, calculator.example)).unwrap();
        let keys: Vec<_> = outcome.fields.iter().map(|field| field.key).collect();
        if calculator.name == "channel" {
            assert_eq!(keys, ["f_mhz", "direction", "band"]);
        } else {
            assert_eq!(keys, calculator.outputs, "{}", calculator.name);
        }
        assert!(!outcome.source.is_empty() && !outcome.formula.is_empty());
    }
}

#[test]
fn worked_values() {
    // radio/tests/data/checks.csv: A13, A15, A16, A08, A11, C27, C40, C41, C44, C52, D12, D38, E04, E19, D51, G24.
    for (line, key, expected, tolerance) in [
        ("exposure eirp_dbm=30 f_mhz=850", "limit_w_m2", 5.666_67, 1e-4),
        ("exposure eirp_dbm=30 f_mhz=850", "distance_m", 0.118_504, 1e-5),
        (
            "exposure eirp_dbm=30 f_mhz=850 reflection=2.56",
            "distance_m",
            0.189_606,
            1e-5,
        ),
        (
            "exposure eirp_dbm=30,30,30,30,30 f_mhz=850,850,850,850,850",
            "distance_m",
            0.264_983,
            1e-5,
        ),
        (
            "us-limits f_mhz=836.5 rssi_dbm=-60 mscl_db=40",
            "max_gain_db",
            64.9493,
            1e-3,
        ),
        (
            "us-limits f_mhz=836.5 rssi_dbm=-60 mscl_db=40",
            "uplink_gain_limit_db",
            66.0,
            1e-9,
        ),
        (
            "us-limits f_mhz=836.5 rssi_dbm=-60 mscl_db=40",
            "noise_limit_dbm_mhz",
            -44.0507,
            1e-3,
        ),
        (
            "us-limits f_mhz=836.5 rssi_dbm=-40 mscl_db=40",
            "noise_limit_dbm_mhz",
            -63.0,
            1e-9,
        ),
        ("uk-limits rssi_dbm=-60", "max_gain_db", 70.0, 1e-9),
        ("uk-limits rssi_dbm=−60", "max_gain_db", 70.0, 1e-9),
        ("free-space f_mhz=850 d_km=1", "loss_db", 90.9884, 0.05),
        (
            "entry-loss f_ghz=1.9 p=0.5 type=1 elev_deg=0",
            "loss_db",
            14.9035,
            1e-3,
        ),
        ("reference-pattern g_dbi=10 phi_deg=180", "gain_dbi", -8.0, 1e-9),
        ("pattern phi_deg=65 phi3_deg=65 am_db=30", "gain_db", -12.0, 1e-9),
        (
            "isolation-horizontal f_mhz=850 d_m=5 g1_dbi=0 g2_dbi=0",
            "isolation_db",
            45.0314,
            0.01,
        ),
        (
            "isolation-vertical f_mhz=850 d_m=10",
            "isolation_db",
            86.1039,
            0.01,
        ),
        (
            "noise-floor bandwidth_hz=1.8e5 noise_figure_db=0",
            "noise_dbm",
            -121.422,
            0.005,
        ),
        ("loop margin_db=6", "evm_percent", 57.918, 0.001),
        ("loop margin_db=6", "noise_rise_db", 1.256_28, 1e-4),
        ("loop-from-ripple ripple_db=3.1224", "margin_db", 15.0, 0.01),
        ("gain-step margin_db=3 step_db=-3", "excess_db", -1.764_35, 1e-4),
        (
            "agc-onset rated_output_dbm=17 max_gain_db=65",
            "input_dbm",
            -48.0,
            1e-9,
        ),
        (
            "coax cable=rg8x f_mhz=1900 length_m=30.48",
            "loss_db",
            23.548,
            0.001,
        ),
        (
            "coax cable=rg8x f_mhz=1900 length_m=30.48 connectors=2",
            "loss_db",
            23.748,
            0.001,
        ),
        ("mismatch vswr=1.5", "return_loss_db", 13.9794, 1e-3),
        ("rssi-rsrp n_rb=50", "difference_db", 27.7815, 1e-3),
        ("report-index quantity=lte-rsrp value=-140", "index", 1.0, 0.0),
        ("channel earfcn=1575", "f_mhz", 1842.5, 0.0),
        ("channel earfcn=1.575e3", "band", 3.0, 0.0),
        ("channel nr_arfcn=653333", "f_mhz", 3799.995, 0.0),
        ("effective-samples n=100 rho=0.8", "n_eff", 11.1111, 1e-4),
        (
            "peak phi3_deg=60 points=340:-72,350:-70,0:-69,10:-69,20:-70",
            "peak_deg",
            7.5,
            1e-9,
        ),
        (
            "uplink-noise noise_figure_db=5 gain_db=70 coupling_loss_db=70 cell_noise_figure_db=5",
            "rise_db",
            3.0103,
            1e-4,
        ),
        (
            "uplink-noise noise_figure_db=5 gain_db=60 rssi_dbm=-60",
            "limit_dbm_mhz",
            -43.0,
            1e-9,
        ),
        (
            "isolation-building f_mhz=1900 d_m=10 wall=traditional donor_back_db=20 server_back_db=10 g1_dbi=10 g2_dbi=5",
            "isolation_low_db",
            78.8,
            0.05,
        ),
    ] {
        let got = number(line, key);
        assert!(
            (got - expected).abs() <= tolerance,
            "{line}: {key} is {got}, expected {expected}"
        );
    }
}

#[test]
fn what_is_not_known_is_null() {
    assert_eq!(
        calc("mismatch vswr=1").unwrap().get("return_loss_db"),
        Some(&Value::Unknown)
    );
    assert_eq!(
        calc("peak phi3_deg=60 points=0:-70,10:-70")
            .unwrap()
            .get("sd_deg"),
        Some(&Value::Unknown)
    );
    let rise = calc("uplink-noise noise_figure_db=5 gain_db=60 rssi_dbm=-60").unwrap();
    assert_eq!(rise.get("rise_db"), Some(&Value::Unknown));
    // n39 both ways, n1 and n65 uplink: the number alone does not tell the direction.
    assert_eq!(
        calc("channel nr_arfcn=384000").unwrap().get("direction"),
        Some(&Value::Unknown)
    );
    assert_eq!(
        calc("us-limits f_mhz=836.5").unwrap().get("uplink_gain_limit_db"),
        Some(&Value::Unknown)
    );
}

#[test]
fn wrong_use_names_the_key_and_the_way_out() {
    for (line, part) in [
        ("fre-space f_mhz=1", "did you mean free-space?"),
        ("nonsense a=1", "lists them"),
        ("free-space f_mhz=850", "d_km not given"),
        ("free-space f_mhzz=850 d_km=1", "did you mean f_mhz?"),
        ("free-space f_mhz=850 d_km=1 colour=2", "it takes f_mhz, d_km"),
        ("free-space f_mhz=850 f_mhz=850 d_km=1", "given twice"),
        ("free-space f_mhz=850MHz d_km=1", "f_mhz=850"),
        ("free-space f_mhz= d_km=1", "f_mhz=\"\" is not a number"),
        ("free-space f_mhz=inf d_km=1", "not a finite number"),
        ("free-space f_mhz=nan d_km=1", "not a finite number"),
        ("coax cable=rg-58 f_mhz=850 length_m=3", "did you mean rg58?"),
        (
            "coax cable=rg58 f_mhz=850 length_m=3 connectors=1.5",
            "whole number",
        ),
        ("channel earfcn=1 nr_arfcn=1", "exclude"),
        ("channel", "earfcn (LTE) or nr_arfcn (NR)"),
        ("peak phi3_deg=60 points=0,10", "angle:level"),
        ("exposure eirp_dbm=30,30 f_mhz=850", "one of each"),
        ("exposure eirp_dbm=30 f_mhz=850 reflection=3", "none of 1"),
        ("isolation-building f_mhz=850 d_m=9 g1_dbi=5 g2_dbi=5", "wall"),
        ("uplink-noise noise_figure_db=5 gain_db=60", "rssi_dbm"),
        (
            "uplink-noise noise_figure_db=5 gain_db=60 coupling_loss_db=90",
            "cell_noise_figure_db",
        ),
    ] {
        let error = calc(line).unwrap_err();
        assert!(matches!(error, CalcError::Usage(_)), "{line}: {error}");
        assert!(error.to_string().contains(part), "{line}: {error}");
    }
}

#[test]
fn what_physics_forbids_is_refused_with_a_way_out() {
    for (line, part) in [
        ("loop margin_db=0", "lower the gain"),
        ("gain-step margin_db=6 step_db=3", "step_db=-3"),
        ("free-space f_mhz=-850 d_km=1", "frequency"),
        ("free-space f_mhz=850 d_km=0", "wavelength"),
        ("entry-loss f_ghz=1.9 p=2 type=1", "0.1, 0.5 or 0.9"),
        ("entry-loss f_ghz=0.01 p=0.5 type=1", "80 MHz"),
        ("mismatch vswr=0.5", "at least 1"),
        ("channel earfcn=7400", "no LTE band"),
        ("channel earfcn=-1", "out of range"),
        ("channel nr_arfcn=3279166", "last one"),
        ("rssi-rsrp n_rb=70000", "at most 275"),
        ("effective-samples n=100 rho=1", "correlation"),
    ] {
        let error = calc(line).unwrap_err();
        assert!(matches!(error, CalcError::Refused(_)), "{line}: {error}");
        assert!(error.to_string().contains(part), "{line}: {error}");
    }
}

#[test]
fn one_line_of_json() {
    let arguments = ["f_mhz=850".to_owned(), "d_m=10".to_owned()];
    let text = answer(Some("isolation-vertical"), &arguments, true).unwrap();
    assert_eq!(text.matches('\n').count(), 1);
    let parsed: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(parsed["capped"], true);
    assert!(parsed["isolation_db"].as_f64().unwrap() > 86.0);
    assert!(
        answer(Some("isolation-vertical"), &arguments, false)
            .unwrap()
            .contains("≥ 70 dB")
    );
    assert!(
        answer(Some("loop"), &["margin_db".to_owned()], true)
            .unwrap_err()
            .to_string()
            .contains("key=value")
    );
}

#[test]
fn the_list_starts_with_what_a_roof_needs() {
    let text = answer(None, &[], false).unwrap();
    assert!(text.find("  loop ").unwrap() < text.find("  report-index ").unwrap());
    let json: serde_json::Value = serde_json::from_str(&answer(None, &[], true).unwrap()).unwrap();
    assert_eq!(json["calculators"].as_array().unwrap().len(), CALCULATORS.len());
}

proptest! {
    #[test]
    fn no_value_panics(at in 0..CALCULATORS.len(), value in "(-?[0-9]{1,9}(\\.[0-9]{1,3})?(e-?[0-9]{1,3})?)|(.{0,6})") {
        let calculator = CALCULATORS[at];
        let pairs: Vec<_> = calculator.inputs.iter().map(|input| (input.key, value.as_str())).collect();
        let _ = evaluate(calculator.name, &pairs);
    }
}
