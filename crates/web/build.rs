//! Cuts the typeface down to the characters of our languages, so that a page loads at once.

use std::error::Error;
use std::path::Path;

use allsorts::Font;
use allsorts::binary::read::ReadScope;
use allsorts::font::MatchingPresentation;
use allsorts::font_data::FontData;
use allsorts::subset::{CmapTarget, SubsetProfile, subset};

/// Latin letters with their accents, punctuation, arrows and the signs that figures need.
const KEPT: [std::ops::RangeInclusive<u32>; 5] =
    [0x20..=0x7e, 0xa0..=0x17f, 0x2010..=0x2044, 0x2070..=0x209f, 0x2190..=0x2265];

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=build.rs");
    let out = std::env::var("OUT_DIR")?;
    for (name, bytes) in [("regular.ttf", notosans::REGULAR_TTF), ("bold.ttf", notosans::BOLD_TTF)] {
        std::fs::write(Path::new(&out).join(name), cut(bytes)?)?;
    }
    Ok(())
}

fn cut(bytes: &[u8]) -> Result<Vec<u8>, Box<dyn Error>> {
    let provider = ReadScope::new(bytes).read::<FontData<'_>>()?.table_provider(0)?;
    let mut font = Font::new(provider)?;
    let mut glyphs: Vec<u16> = KEPT
        .into_iter()
        .flatten()
        .filter_map(char::from_u32)
        .map(|c| font.lookup_glyph_index(c, MatchingPresentation::NotRequired, None).0)
        .collect();
    glyphs.push(0);
    glyphs.sort_unstable();
    glyphs.dedup();
    Ok(subset(&font.font_table_provider, &glyphs, &SubsetProfile::Minimal, CmapTarget::Unicode)?)
}
