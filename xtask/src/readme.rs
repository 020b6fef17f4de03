//! The excerpt in README.md: what the first command there prints, and whether it still does.

use std::path::Path;

use crate::error::none_of;
use crate::{XtaskError, process, read, write};

const BEGIN: &str = "<!-- excerpt: generated, see CONTRIBUTING.md -->\n```text\n";
const END: &str = "```\n<!-- end of the excerpt -->";
/// The excerpt ends before the section of this title.
const NEXT_SECTION: &str = "Can it be done";
/// Numbers of two machines may differ by this share, or by so much of their last place.
const SHARE: f64 = 0.05;
const LAST_PLACES: f64 = 3.0;

/// The page before, the excerpt, the page after; none where the marks are missing.
#[must_use]
pub fn split(readme: &str) -> Option<(&str, &str, &str)> {
    let (before, rest) = readme.split_once(BEGIN)?;
    let (excerpt, after) = rest.split_once(END)?;
    Some((before, excerpt, after))
}

/// The part of a printed plan that the page shows.
#[must_use]
pub fn excerpt(plan: &str) -> String {
    let lines = plan.lines().take_while(|l| !l.starts_with(NEXT_SECTION));
    let text: String = lines.map(|l| format!("{}\n", l.trim_end())).collect();
    format!("{}\n", text.trim_end())
}

/// The words of a line with its numbers apart: value and size of the last place.
fn apart(line: &str) -> (String, Vec<(f64, f64)>) {
    let (mut words, mut numbers, mut digits) = (String::new(), vec![], String::new());
    for c in line.chars().chain([' ']) {
        if c.is_ascii_digit() || (c == '.' && !digits.is_empty() && !digits.contains('.')) {
            digits.push(c);
            continue;
        }
        if let Ok(value) = digits.parse::<f64>() {
            let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len());
            numbers.push((value, 0.1_f64.powi(i32::try_from(decimals).unwrap_or(0))));
            words.push('#');
        }
        digits.clear();
        if !c.is_whitespace() {
            words.push(c);
        }
    }
    (words, numbers)
}

/// Whether two excerpts say the same, but for numbers that differ in their last places. Where lines break does not count.
#[must_use]
pub fn agree(kept: &str, found: &str) -> bool {
    let ((kept, a), (found, b)) = (apart(&kept.replace('\n', " ")), apart(&found.replace('\n', " ")));
    let near = |((x, place), (y, _)): (&(f64, f64), &(f64, f64))| {
        (x - y).abs() <= (SHARE * x.abs().max(y.abs())).max(LAST_PLACES * place)
    };
    kept == found && a.len() == b.len() && a.iter().zip(&b).all(near)
}

fn printed(root: &Path) -> Result<String, XtaskError> {
    let mut plan =
        process::cargo(&["run", "--quiet", "--bin", "fallrate", "--", "plan", "examples/beef_strips.toml"]);
    plan.current_dir(root);
    Ok(excerpt(&process::output(plan)?))
}

fn unmarked() -> XtaskError {
    XtaskError::Findings(vec![format!("README.md: no excerpt between {BEGIN:?} and {END:?}")])
}

/// Whether the page still shows what the command prints.
///
/// # Errors
/// Where it does not, or the command fails.
pub fn check(root: &Path) -> Result<(), XtaskError> {
    let page = read(&root.join("README.md"))?;
    let (_, kept, _) = split(&page).ok_or_else(unmarked)?;
    let same = agree(kept, &printed(root)?);
    let stale = "README.md: the first command prints something else; renew with `cargo xtask validation`";
    none_of(if same { vec![] } else { vec![stale.to_owned()] })
}

/// Puts what the command prints into the page.
///
/// # Errors
/// Where the command fails or the page has no place for it.
pub fn renew(root: &Path) -> Result<(), XtaskError> {
    let path = root.join("README.md");
    let page = read(&path)?;
    let (before, _, after) = split(&page).ok_or_else(unmarked)?;
    write(&path, &format!("{before}{BEGIN}{}{END}{after}", printed(root)?))
}
