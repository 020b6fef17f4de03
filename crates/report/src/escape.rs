//! Foreign text made safe for HTML and SVG.

/// Escapes text for element content and for quoted attributes of HTML and XML.
///
/// Characters that XML 1.0 does not allow become U+FFFD.
///
/// ```
/// assert_eq!(fallrate_report::escape("a<b & \"c\""), "a&lt;b &amp; &quot;c&quot;");
/// ```
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(c),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c if c < ' ' => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// Keeps the letters, digits, `-` and `_` of an identifier, and starts it with a letter.
#[must_use]
pub(crate) fn identifier(text: &str) -> String {
    let kept: String = text.chars().filter(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_')).collect();
    if kept.starts_with(|c: char| c.is_ascii_alphabetic()) { kept } else { format!("f{kept}") }
}
