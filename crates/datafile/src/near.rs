//! The nearest known name to a misspelt one.

/// The candidate nearest to `name`, if it is near enough to be what was meant: at most one edit for every three letters
/// (a swap of two neighbours is one edit), without regard to capitals; the first of equals.
///
/// ```
/// assert_eq!(fallrate_datafile::nearest("beef_eye_of_rund", ["apple", "beef_eye_of_round"]), Some("beef_eye_of_round"));
/// assert_eq!(fallrate_datafile::nearest("kale", ["apple", "mango"]), None);
/// ```
#[must_use]
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if name.chars().count() > 60 {
        return None;
    }
    let wanted = name.trim().to_lowercase().replace('-', "_");
    let allowed = (wanted.chars().count() / 3).max(1);
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let distance = strsim::osa_distance(&wanted, &candidate.to_lowercase().replace('-', "_"));
        if distance <= allowed && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}
