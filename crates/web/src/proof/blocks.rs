//! The blocks of the batch document as a part of our own page.

use fallrate_app::parts::{Block, Document, Picture, blocks_html};
use maud::{Markup, PreEscaped, html};

use super::strip::strip;
use crate::look::Visit;

/// Page one without its answer, and the rest.
pub(super) fn halves(d: &Document) -> (Vec<Block>, Vec<Block>) {
    let end = d.blocks.iter().position(|b| matches!(b, Block::PageBreak)).unwrap_or(d.blocks.len());
    let (first, rest) = d.blocks.split_at(end);
    let first = first.iter().filter(|b| !matches!(b, Block::Answer { .. })).cloned().collect();
    (first, rest.to_vec())
}

/// The strips of a document, in order.
pub(super) fn strips(v: &Visit, list: &[Block]) -> Vec<Markup> {
    let mut flat = Vec::new();
    flatten(list, &mut flat);
    let strips = flat.into_iter().filter_map(|b| match b {
        Block::Picture(Picture::Strip(s)) => Some(s),
        _ => None,
    });
    strips.enumerate().map(|(n, s)| strip(v, &s, &format!("m{n}"))).collect()
}

/// Blocks as HTML. Strips stand elsewhere on the page, and lines to sign have forms there.
pub(super) fn blocks(d: &Document, list: &[Block], first_picture: usize) -> Markup {
    let mut flat = Vec::new();
    flatten(list, &mut flat);
    let plain: Vec<Block> = flat
        .into_iter()
        .filter(|b| !matches!(b, Block::Picture(Picture::Strip(_)) | Block::Lines(_) | Block::PageBreak))
        .collect();
    html! { div.document { (PreEscaped(blocks_html(d, &plain, first_picture))) } }
}

fn flatten(list: &[Block], out: &mut Vec<Block>) {
    for block in list {
        match block {
            Block::Keep(inner) => flatten(inner, out),
            other => out.push(other.clone()),
        }
    }
}
