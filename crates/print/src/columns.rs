//! Widths of table columns.

use crate::words::Style;
use fallrate_report::Table;

/// Sizes of type of a table, from the largest, as a share of the running text.
const SIZES: [f64; 5] = [0.92, 0.86, 0.8, 0.75, 0.7];
/// Room between columns, pt.
pub(crate) const GAP: f64 = 14.0;
/// From this share of the room on a table is drawn out to all of it.
const WIDE: f64 = 0.72;

/// What a column needs, pt.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Need {
    /// Everything on one line.
    pub line: f64,
    /// The widest word.
    pub word: f64,
}

impl Need {
    pub fn of(style: Style, text: &str) -> Self {
        // A little more than the letters: the typesetter counts kerning, this does not.
        Self { line: style.widest_line(text) * 1.01 + 0.5, word: style.widest_word(text) * 1.01 + 0.5 }
    }
    pub fn and(self, other: Self) -> Self {
        Self { line: self.line.max(other.line), word: self.word.max(other.word) }
    }
}

/// Widths in which no word is broken, or nothing where there are none. They fill the room where lines break.
pub(crate) fn unbroken(needs: &[Need], room: f64) -> Option<Vec<f64>> {
    let (lines, words): (f64, f64) = (needs.iter().map(|n| n.line).sum(), needs.iter().map(|n| n.word).sum());
    if lines <= room {
        let stretch = if lines < room * WIDE { 1.0 } else { room / lines.max(1.0) };
        return Some(needs.iter().map(|n| n.line * stretch).collect());
    }
    if words > room {
        return None;
    }
    // Short columns stay on one line; the long ones share what is left.
    let filled = |cap: f64| needs.iter().map(|n| n.line.min(cap).max(n.word)).collect::<Vec<f64>>();
    let (mut low, mut high) = (0.0, room);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if filled(middle).iter().sum::<f64>() <= room { low = middle } else { high = middle }
    }
    Some(filled(low))
}

/// Whether everything stands on one line in the room.
fn on_one_line(needs: &[Need], room: f64) -> bool {
    needs.iter().map(|n| n.line).sum::<f64>() <= room
}

/// Widths that fit whatever it costs: the widest columns give way first.
fn broken(needs: &[Need], room: f64) -> Vec<f64> {
    let mut words: Vec<f64> = needs.iter().map(|n| n.word.max(1.0)).collect();
    words.sort_by(f64::total_cmp);
    // The cap at which all columns, each cut to it, fill the room.
    let (mut cap, mut left) = (room, room);
    for (n, word) in words.iter().enumerate() {
        cap = left / (words.len() - n) as f64;
        if *word > cap {
            break;
        }
        left -= word;
    }
    needs.iter().map(|n| n.word.clamp(1.0, cap.max(1.0))).collect()
}

/// Size of type and widths of the columns of a table, pt; the widths leave out the gaps.
pub(crate) fn fit(table: &Table, body: f64, room: f64) -> (f64, Vec<f64>) {
    let columns = table.rows.iter().map(Vec::len).max().unwrap_or(0).max(table.header.len());
    let room = room - GAP * columns.saturating_sub(1) as f64;
    let needs = |size: f64| -> Vec<Need> {
        let (regular, bold) = (Style::regular(size), Style::bold(size));
        (0..columns)
            .map(|i| {
                let head = table.header.get(i).map_or(Need::default(), |c| Need::of(bold, &c.text));
                let cells = table.rows.iter().filter_map(|row| row.get(i));
                cells.fold(head, |need, text| need.and(Need::of(regular, text)))
            })
            .collect()
    };
    // Rather a little smaller than broken lines.
    let small = SIZES.iter().take(2).find(|share| on_one_line(&needs(body * **share), room));
    for share in small.into_iter().chain(&SIZES) {
        if let Some(widths) = unbroken(&needs(body * share), room) {
            return (body * share, widths);
        }
    }
    let size = body * SIZES.last().copied().unwrap_or(0.7);
    (size, broken(&needs(size), room))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limit_columns_never_need_more_than_their_room() {
        let need = |line, word| Need { line, word };
        let needs = [need(40.0, 20.0), need(900.0, 60.0), need(30.0, 30.0)];
        let widths = unbroken(&needs, 200.0).unwrap();
        assert!((widths.iter().sum::<f64>() - 200.0).abs() < 1e-9 && widths[0] == 40.0, "{widths:?}");
        assert!(widths.iter().zip(&needs).all(|(w, n)| *w >= n.word));
        assert_eq!(unbroken(&needs, 100.0), None);
        let cut = broken(&needs, 90.0);
        assert!(cut.iter().sum::<f64>() <= 90.0 + 1e-9 && cut == [20.0, 40.0, 30.0], "{cut:?}");
    }
}
