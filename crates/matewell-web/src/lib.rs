//! The built page, embedded.

/// A file of the page.
pub fn file(_path: &str) -> Option<std::borrow::Cow<'static, [u8]>> {
    None
}
