//! Sizes of sheet and type.

use fallrate_report::Paper;

/// One millimetre, pt.
const MM: f64 = 72.0 / 25.4;

/// A sheet with its margins and its sizes of type, pt.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sheet {
    pub width: f64,
    pub height: f64,
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
    /// Running text.
    pub body: f64,
    /// Fine print, running head and foot.
    pub small: f64,
    /// What was shown in a comparison.
    pub figure: f64,
    /// Clock times and steps.
    pub step: f64,
    /// The headline, from the largest.
    pub headlines: [f64; 5],
    /// Text of pictures.
    pub picture: f64,
}

impl Sheet {
    /// The sheet of a paper, its type made smaller by a factor up to 1.
    pub fn new(paper: Paper, factor: f64) -> Self {
        let (width_mm, height_mm) = paper.size_mm();
        // The left margin leaves room for a binder; a card has none.
        let [left, right, top, bottom] = match paper {
            Paper::A4 | Paper::Letter => [21.0, 16.0, 24.0, 20.5],
            Paper::CardA4 | Paper::CardLetter => [15.0, 15.0, 21.0, 19.0],
            Paper::CardA5 => [10.0, 10.0, 17.0, 15.0],
        };
        let [body, figure, step, picture, headline] = match paper {
            Paper::A4 | Paper::Letter => [10.0, 15.0, 11.5, 9.0, 1.0],
            Paper::CardA4 | Paper::CardLetter => [14.5, 20.0, 19.0, 11.5, 1.65],
            Paper::CardA5 => [10.5, 14.0, 13.5, 8.5, 1.05],
        };
        Self {
            width: width_mm * MM,
            height: height_mm * MM,
            left: left * MM,
            right: right * MM,
            top: top * MM,
            bottom: bottom * MM,
            body: body * factor,
            small: if paper.is_card() { 8.5 } else { 8.0 },
            figure: figure * factor,
            step: step * factor,
            headlines: [30.0, 28.0, 26.0, 22.0, 18.0].map(|size| size * headline * factor),
            picture,
        }
    }

    /// Width of the text, pt.
    pub fn room(&self) -> f64 {
        self.width - self.left - self.right
    }
}
