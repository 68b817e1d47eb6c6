//! The page: everything it needs is inside the program, and it asks nobody else for anything.

/// A file of the page.
pub(super) struct Asset {
    pub(super) name: &'static str,
    pub(super) kind: &'static str,
    pub(super) text: &'static str,
}

macro_rules! assets {
    ($($kind:literal: $($name:literal)*;)*) => {
        &[$($(Asset { name: $name, kind: $kind, text: include_str!(concat!("page/", $name)) },)*)*]
    };
}

/// Every file.
pub(super) const ASSETS: &[Asset] = assets! {
    "text/html; charset=utf-8": "index.html";
    "text/css; charset=utf-8": "page.css" "aim.css";
    "image/svg+xml": "icon.svg";
    "text/javascript; charset=utf-8":
        "main.js" "stream.js" "fresh.js" "level.js" "finding.js" "tone.js" "aim.js" "polar.js" "walk.js" "ask.js"
        "awake.js" "compass.js" "dom.js";
};

/// The file with this name; no name is the page itself.
pub(super) fn asset(name: &str) -> Option<&'static Asset> {
    let name = if name.is_empty() { "index.html" } else { name };
    ASSETS.iter().find(|a| a.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_that_the_page_names_is_there() {
        for asset in ASSETS {
            let named = asset.text.split(['"', '\'']).filter_map(|t| t.strip_prefix("./"));
            for name in named {
                assert!(super::asset(name).is_some(), "{} names {name}", asset.name);
            }
        }
    }

    #[test]
    fn the_page_asks_nobody_else() {
        for asset in ASSETS {
            // Names of XML vocabularies are not fetched.
            let text = asset.text.replace("http://www.w3.org/", "");
            assert!(
                !text.contains("http://") && !text.contains("https://"),
                "{}",
                asset.name
            );
            assert!(
                asset.text.len() < 16_384,
                "{} is too long for a small file",
                asset.name
            );
        }
    }
}
