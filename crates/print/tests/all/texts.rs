//! Every text that a document holds: what must be found on its pages.

use fallrate_report::*;

/// All printed texts, in order.
pub fn of(d: &Document) -> Vec<String> {
    let mut out = vec![d.title.clone(), d.subject.clone(), d.running_head.clone(), d.running_foot.clone()];
    if let Some(flag) = &d.flag {
        out.extend([flag.word.clone(), flag.meaning.clone()]);
    }
    blocks(&d.blocks, &d.words, &mut out);
    out.retain(|t| !t.trim().is_empty());
    out
}

fn blocks(list: &[Block], words: &DocumentWords, out: &mut Vec<String>) {
    for block in list {
        match block {
            Block::Answer { headline, subline, .. } => out.extend([headline.clone(), subline.clone()]),
            Block::Heading { text, .. } | Block::Text(text) | Block::Small(text) => out.push(text.clone()),
            Block::List(points) => out.extend(points.clone()),
            Block::Steps(acts) => {
                for a in acts {
                    out.extend([a.clock.clone(), a.text.clone()]);
                    out.extend(a.watch.as_ref().map(|w| format!("{}: {w}", words.watch)));
                }
            }
            Block::Notice { word, text, .. } => out.extend([word.clone(), text.clone()]),
            Block::Facts(facts) => {
                for f in facts {
                    out.extend([f.label.clone(), f.value.clone()]);
                    out.extend(f.note.clone());
                }
            }
            Block::Compare(c) => {
                out.extend(
                    [&c.title, &c.label_word, &c.shown_word, &c.required_word, &c.answer_word]
                        .map(Clone::clone),
                );
                for m in &c.rows {
                    out.extend([&m.label, &m.shown, &m.required, &m.word].map(Clone::clone));
                    out.extend(m.note.clone());
                }
            }
            Block::Table(t) => {
                out.push(t.title.clone());
                out.extend(t.header.iter().map(|c| c.text.clone()));
                out.extend(t.rows.iter().flatten().cloned());
                out.extend(t.note.clone());
            }
            Block::Picture(p) => {
                out.push(p.title_and_description().0.to_owned());
                out.extend(p.lines_below());
            }
            Block::Lines(lines) => {
                out.extend([&words.meaning, &words.name, &words.at].map(Clone::clone));
                for l in lines {
                    out.extend([l.meaning.clone(), l.name.clone(), l.at.clone()]);
                    out.extend(l.note.clone());
                }
            }
            Block::Choices(c) => {
                out.push(c.label.clone());
                out.extend(c.options.iter().map(|o| o.text.clone()));
            }
            Block::Fields(fields) => {
                out.extend(fields.iter().flat_map(|f| [f.label.clone(), f.text.clone()]))
            }
            Block::Keep(inner) => blocks(inner, words, out),
            Block::PageBreak => {}
        }
    }
}

/// A text without any white space: how lines are broken does not matter.
pub fn dense(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}
