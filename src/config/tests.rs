use super::*;
use proptest::prelude::*;

fn error(text: &str) -> String {
    Config::parse(text).expect_err(text).to_string()
}

#[test]
fn what_is_written_is_read_back() {
    let config = Config::default();
    let text = config.to_toml();
    let read = Config::parse(&text).unwrap();
    assert_eq!(read.keys, config.keys);
    assert_eq!(
        (read.fps, read.ascii, read.theme),
        (Some(10), Some(false), Some(ThemeName::Dark))
    );
    let other =
        "theme = \"high-contrast\"\ncolor = \"never\"\nfps = 2\nview = \"link\"\n[keys]\nquit = \"x\"\n";
    let config = Config::parse(other).unwrap();
    assert_eq!(Config::parse(&config.to_toml()).unwrap().keys, config.keys);
    assert_eq!(config.view, Some(View::Link));
    assert_eq!(Config::parse("").unwrap(), Config::default());
}

#[test]
fn errors_name_the_line_and_what_is_near() {
    assert_eq!(
        error("fps = 5\nthem = \"dark\"\n"),
        "line 2: `them` is not known; did you mean `theme`?"
    );
    assert_eq!(
        error("theme = \"pink\"\n"),
        "line 1: `pink` is none of dark, light, high-contrast"
    );
    assert_eq!(
        error("\n\nfps = 0\n"),
        "line 3: fps is a whole number from 1 to 60"
    );
    assert_eq!(
        error("[keys]\nquti = \"x\"\n"),
        "line 2: `quti` is not known; did you mean `quit`?"
    );
    assert!(error("[keys]\nquit = \"banana\"\n").starts_with("line 2: `banana` is no key"));
    assert!(error("fps = \n").starts_with("line 1: not TOML"));
    assert_eq!(error("ascii = 1"), "line 1: ascii is true or false");
    assert!(error("keys = 3").contains("is a table"));
}

#[test]
fn a_key_that_stands_for_two_things_is_told_with_both() {
    assert_eq!(
        error("[keys]\nquit = [\"x\", \"ctrl-q\"]\nhelp = \"x\"\n"),
        "line 3: key `x` stands for both `quit` and `help`; give one of them another key"
    );
    // One of the two may be built in.
    assert!(error("[keys]\nquit = \"m\"\n").contains("both `quit` and `mark`"));
}

#[test]
fn what_changes_a_unit_keeps_its_deliberate_key() {
    assert!(error("[keys]\nconfirm = \"enter\"\n").contains("by accident"));
    assert!(Config::parse("[keys]\nconfirm = \"f9\"\n").is_ok());
}

proptest! {
    #[test]
    fn nothing_makes_it_panic(text in "(?s)[a-z\\[\\]=\", \\n0-9]{0,80}") {
        let _ = Config::parse(&text);
    }
}
