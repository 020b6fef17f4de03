//! The pictograms of answers: told apart by shape, filling and edge, in black and white too.

use crate::svg::Tone;

/// How something was answered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sign {
    /// Yes, kept, met: a filled disc with a tick.
    Yes,
    /// No, missed, not met: a thick square with a cross.
    No,
    /// Open, cannot be judged: a dashed circle with a question mark.
    Open,
    /// No answer is given: no pictogram.
    #[default]
    Plain,
}

impl Sign {
    /// The pictogram as an SVG element of 24 by 24 units without text, or nothing. It is decoration: the word stands
    /// beside it.
    #[must_use]
    pub fn svg(self) -> Option<String> {
        let (ink, paper) = (Tone::Ink.stroke(), Tone::Paper.stroke());
        let shape = match self {
            Self::Plain => return None,
            Self::Yes => format!(
                "<circle cx=\"12\" cy=\"12\" r=\"11\" {}/>\n<path d=\"M6.2 12.6 L10.4 16.9 L18 8\" fill=\"none\" {paper} \
                 stroke-width=\"2.8\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/>",
                Tone::Ink.fill()
            ),
            Self::No => format!(
                "<rect x=\"2\" y=\"2\" width=\"20\" height=\"20\" fill=\"none\" {ink} stroke-width=\"2.6\"/>\n\
                 <path d=\"M7 7 L17 17 M17 7 L7 17\" fill=\"none\" {ink} stroke-width=\"3\" stroke-linecap=\"round\"/>"
            ),
            Self::Open => format!(
                "<circle cx=\"12\" cy=\"12\" r=\"10.4\" fill=\"none\" {ink} stroke-width=\"1.8\" stroke-dasharray=\"3.6 2.93\"/>\n\
                 <path d=\"M8.8 9.6 C8.8 5.4 15.2 5.4 15.2 9.4 C15.2 12 12 11.9 12 14.6\" fill=\"none\" {ink} stroke-width=\"2.2\" \
                 stroke-linecap=\"round\"/>\n<circle cx=\"12\" cy=\"18\" r=\"1.5\" {}/>",
                Tone::Ink.fill()
            ),
        };
        Some(format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"sign\" viewBox=\"0 0 24 24\" width=\"24\" height=\"24\" \
             aria-hidden=\"true\" focusable=\"false\">\n{shape}\n</svg>\n"
        ))
    }

    /// As [`Sign::svg`], for white paper.
    #[must_use]
    pub fn svg_for_paper(self) -> Option<String> {
        self.svg().map(|svg| crate::svg::for_paper(&svg))
    }

    /// A mark of three columns for a terminal.
    #[must_use]
    pub(crate) const fn mark(self) -> &'static str {
        match self {
            Self::Yes => "[+]",
            Self::No => "[!]",
            Self::Open => "[?]",
            Self::Plain => "   ",
        }
    }
}
