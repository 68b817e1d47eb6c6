//! JUnit XML: a suite with a test case for each session, as continuous-integration servers read it.
//!
//! Follows the public schema that the Jenkins xUnit plugin publishes (`junit-10.xsd`); `tests/reference/archive.sh`
//! checks that. No times of the day and no durations: the same sessions give the same file.

use std::fmt::Write;

/// A session's test case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Case {
    /// Path of the session.
    pub name: String,
    /// What is not as expected, in words.
    pub differences: Vec<String>,
    /// Why the session could not be replayed.
    pub error: Option<String>,
}

/// The whole file.
pub fn xml(suite: &str, cases: &[Case]) -> String {
    let failures = cases.iter().filter(|c| !c.differences.is_empty()).count();
    let errors = cases.iter().filter(|c| c.error.is_some()).count();
    let counts = format!(
        "name=\"{}\" tests=\"{}\" failures=\"{failures}\" errors=\"{errors}\"",
        escaped(suite),
        cases.len()
    );
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites {counts}>\n  <testsuite {counts} skipped=\"0\">\n"
    );
    for case in cases {
        // Writing to a string cannot fail.
        let _ = write_case(&mut out, suite, case);
    }
    out.push_str("  </testsuite>\n</testsuites>\n");
    out
}

fn write_case(out: &mut String, suite: &str, case: &Case) -> std::fmt::Result {
    let (class, name) = (escaped(suite), escaped(&case.name));
    write!(out, "    <testcase classname=\"{class}\" name=\"{name}\"")?;
    if case.differences.is_empty() && case.error.is_none() {
        return out.write_str("/>\n");
    }
    out.write_str(">\n")?;
    if let Some(error) = &case.error {
        let error = escaped(error);
        writeln!(out, "      <error type=\"unreadable\" message=\"{error}\"/>")?;
    }
    if let Some(first) = case.differences.first() {
        let (first, all) = (escaped(first), escaped(&case.differences.join("\n")));
        writeln!(
            out,
            "      <failure type=\"difference\" message=\"{first}\">{all}</failure>"
        )?;
    }
    out.write_str("    </testcase>\n")
}

/// Text as XML can hold it: markup escaped, characters that XML 1.0 forbids replaced.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' => out.push_str("&#10;"),
            '\t' => out.push_str("&#9;"),
            '\0'..='\x1F' | '\u{FFFE}' | '\u{FFFF}' => out.push('\u{FFFD}'),
            _ => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cases_are_counted_and_text_cannot_break_the_markup() {
        let case = |name: &str, differences: &[&str], error: Option<&str>| Case {
            name: name.to_owned(),
            differences: differences.iter().map(|d| (*d).to_owned()).collect(),
            error: error.map(str::to_owned),
        };
        let text = xml(
            "replay",
            &[
                case("good", &[], None),
                case("a<b>&\"\u{1}.jsonl", &["one > two", "three"], None),
                case("bad", &[], Some("cut off")),
            ],
        );
        assert!(text.contains("tests=\"3\" failures=\"1\" errors=\"1\""), "{text}");
        assert!(
            text.contains("name=\"a&lt;b&gt;&amp;&quot;\u{FFFD}.jsonl\""),
            "{text}"
        );
        assert!(text.contains(">one &gt; two&#10;three</failure>"), "{text}");
        assert!(
            text.contains("<testcase classname=\"replay\" name=\"good\"/>"),
            "{text}"
        );
    }
}
