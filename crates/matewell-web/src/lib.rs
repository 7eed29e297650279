//! The built page, embedded.
//!
//! `build.rs` builds `web/` with Node into the build folder, or takes the
//! folder that `MATEWELL_WEB_DIST` names. No judgement and no routes here: the
//! HTTP room decides which path gets which file.

use rust_embed::RustEmbed;
use std::borrow::Cow;

#[derive(RustEmbed)]
#[folder = "$MATEWELL_WEB_FOLDER"]
struct Page;

/// A file of the page by its path without a leading slash, like `index.html`.
pub fn file(path: &str) -> Option<Cow<'static, [u8]>> {
    Page::get(path).map(|file| file.data)
}

/// Paths of all files of the page.
pub fn paths() -> impl Iterator<Item = Cow<'static, str>> {
    Page::iter()
}

#[cfg(test)]
mod tests {
    use super::{file, paths};

    fn text(path: &str) -> String {
        String::from_utf8(file(path).expect(path).into_owned()).expect("text")
    }

    #[test]
    fn the_page_and_every_file_it_names_are_embedded() {
        let page = text("index.html");
        let named: Vec<&str> = page
            .split('"')
            .filter(|part| part.starts_with('/') && part.contains('.'))
            .map(|part| part.trim_start_matches('/'))
            .collect();
        assert!(named.len() >= 3, "script, style and icon, found {named:?}");
        for path in named {
            assert!(file(path).is_some(), "{path} is named by the page and not embedded");
        }
    }

    #[test]
    fn nothing_is_inline_so_that_the_strict_policy_holds() {
        let page = text("index.html");
        assert!(!page.contains("<style") && !page.contains("style="));
        for script in page.split("<script").skip(1) {
            assert!(script.split('>').next().is_some_and(|tag| tag.contains("src=")), "an inline script");
        }
    }

    #[test]
    fn nothing_is_loaded_from_elsewhere() {
        for path in paths().filter(|p| p.ends_with(".css") || p.ends_with(".html")) {
            let text = text(&path);
            assert!(!text.contains("https://") && !text.contains("http://"), "{path}");
        }
    }

    #[test]
    fn a_path_that_is_no_file_gives_nothing() {
        assert!(file("end/C-102").is_none());
        assert!(file("").is_none());
        assert!(file("../Cargo.toml").is_none());
    }
}
