//! Worked values of the standards: rows of `data/checks.csv` that concern the profile.

use crate::markdown::table;
use crate::{hex, read};
use booster_profile::record_access::{Log, Request, Response, ResponseCode, Select};
use booster_profile::{AttributeBytes, UnitStatus};

/// Expected value of a row.
fn expected(id: &str) -> String {
    let text = read("tests/data/checks.csv");
    let row = text
        .lines()
        .find(|line| line.starts_with(&format!("{id},")))
        .unwrap_or_else(|| panic!("no row {id}"));
    split(row)[3].clone()
}

/// Cells of a CSV row whose cells may stand in quotation marks.
fn split(row: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for c in row.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => cells.last_mut().unwrap().push(c),
        }
    }
    cells
}

fn temperature(centi_c: Option<i16>) -> String {
    let mut status = UnitStatus::decode(&[0; 20]).unwrap();
    status.temperature_centi_c = centi_c;
    hex(&status.encode(20)[10..12])
}

#[test]
fn temperature_has_the_bytes_of_the_standard_characteristic() {
    assert_eq!(temperature(Some(2345)), expected("H01"));
    assert_eq!(temperature(Some(-500)), expected("H02"));
    assert_eq!(temperature(None), expected("H03"));
    assert_eq!(temperature(Some(32767)), expected("H04"));
}

#[test]
fn presentation_formats_have_the_bytes_of_the_core_specification() {
    let bytes = |value: &str| {
        table("presentation")
            .into_iter()
            .find(|row| row[0] == value)
            .map(|row| row[4].trim_matches('`').to_owned())
            .unwrap_or_else(|| panic!("no format of {value}"))
    };
    assert_eq!(bytes("temperature"), expected("H18"));
    assert_eq!(bytes("level or ratio in tenths of a dB"), expected("H19"));
    assert_eq!(bytes("loop margin in whole dB"), expected("H20"));
    assert_eq!(bytes("count or code of one byte"), expected("H21"));
}

#[test]
fn every_presentation_format_is_its_own_columns() {
    for row in table("presentation") {
        let number = |text: &str| {
            let digits = text.rsplit("0x").next().unwrap().trim_end_matches(')');
            u16::from_str_radix(digits, 16).unwrap()
        };
        let exponent: i8 = row[2].replace('−', "-").parse().unwrap();
        let [unit_low, unit_high] = number(&row[3]).to_le_bytes();
        let bytes = [
            number(&row[1]) as u8,
            exponent as u8,
            unit_low,
            unit_high,
            1,
            0,
            0,
        ];
        assert_eq!(row[4].trim_matches('`'), hex(&bytes), "{}", row[0]);
    }
}

#[test]
fn payloads_and_the_largest_value_are_those_of_att() {
    assert_eq!((23 - 3).to_string(), expected("H23"));
    assert_eq!((247 - 3).to_string(), expected("H24"));
    assert_eq!(AttributeBytes::new().capacity().to_string(), expected("H25"));
}

#[test]
fn record_access_has_the_bytes_of_the_standard_characteristic() {
    // The short forms of the standard mean the event log here.
    let request = |id| Request::decode(&crate::unhex(&expected(id))).unwrap();
    assert_eq!(request("H31"), Request::Report(Log::Events, Select::All));
    assert_eq!(request("H32"), Request::Count(Log::Events, Select::All));
    let outcome = |code| hex(&Response::Outcome { op_code: 1, code }.encode());
    assert_eq!(outcome(ResponseCode::Success), expected("H33"));
    assert_eq!(outcome(ResponseCode::NoRecords), expected("H34"));
    assert_eq!(hex(&Response::Number(5).encode()), expected("H35"));
}
