//! The limits in a recording's header, which another version of this program may have written.

use crate::analysis::Criteria;
use toml::{Table, Value};

/// Reads limits from a header. A limit that this version no longer knows must not make an old recording unreadable: it is
/// left out, and named. In a file that a person wrote the same is an error.
pub(super) fn recorded(text: &str) -> Result<(Criteria, Vec<String>), String> {
    let first = match Criteria::parse(text) {
        Ok(criteria) => return Ok((criteria, Vec::new())),
        Err(error) => error.to_string(),
    };
    let known = Table::try_from(Criteria::default()).map_err(|e| e.to_string())?;
    let mut table: Table = text.parse().map_err(|_| first.clone())?;
    let mut unknown = Vec::new();
    prune(&mut table, &known, "", &mut unknown);
    let criteria = Criteria::parse(&table.to_string()).map_err(|_| first)?;
    Ok((criteria, unknown))
}

fn prune(table: &mut Table, known: &Table, above: &str, unknown: &mut Vec<String>) {
    table.retain(|key, value| {
        let name = format!("{above}{key}");
        match (known.get(key), value) {
            (None, _) => {
                unknown.push(name);
                false
            }
            (Some(Value::Table(known)), Value::Table(inner)) => {
                prune(inner, known, &format!("{name}."), unknown);
                true
            }
            (Some(_), _) => true,
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_of_another_version_is_left_out_and_named() {
        let mut text = toml::to_string(&Criteria::default()).unwrap();
        assert_eq!(recorded(&text), Ok((Criteria::default(), Vec::new())));
        text = text.replacen("[margin]", "[margin]\nfuture_db = 3.0", 1) + "\n[weather]\nrain = true\n";
        let (criteria, unknown) = recorded(&text).unwrap();
        assert_eq!(criteria, Criteria::default());
        assert_eq!(unknown, ["margin.future_db", "weather"]);
        assert!(recorded("[margin").is_err());
    }
}
