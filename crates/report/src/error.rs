//! What can go wrong while a picture is made.

/// Errors of this crate. Drawing itself never fails: only turning a drawing into pixels can.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// The drawing is no well-formed SVG.
    #[error("drawing is no well-formed SVG: {reason}")]
    NotSvg {
        /// What the parser said.
        reason: String,
    },
    /// The picture asked for is too small or too large.
    #[error("picture width {width_px} px, allowed {least_px} to {most_px} px")]
    PictureWidth {
        /// Width asked for, px.
        width_px: u32,
        /// Smallest width allowed, px.
        least_px: u32,
        /// Largest width allowed, px.
        most_px: u32,
    },
    /// The picture would be too high.
    #[error("picture height {height_px} px at width {width_px} px, allowed up to {most_px} px")]
    PictureHeight {
        /// Height that follows from the width, px.
        height_px: u32,
        /// Width asked for, px.
        width_px: u32,
        /// Largest height allowed, px.
        most_px: u32,
    },
    /// Some words of the drawing would be missing in the picture.
    #[error("{drawn} of {expected} texts drawn, allowed only all, in the picture")]
    TextLost {
        /// Texts that got an outline.
        drawn: usize,
        /// Texts in the drawing.
        expected: usize,
    },
    /// The pixels could not be packed.
    #[error("picture could not be packed as PNG: {reason}")]
    NotPacked {
        /// What the encoder said.
        reason: String,
    },
}
