//! Just enough of Rust's grammar to look for words in product code: comments, texts and test modules are blanked.

/// The source with comments and the insides of text literals replaced by spaces; lines keep their numbers.
#[must_use]
pub fn without_comments_and_texts(source: &str) -> String {
    let chars: Vec<char> = source.chars().collect();
    let mut out = String::with_capacity(source.len());
    let mut at = 0;
    while at < chars.len() {
        let end = match token_end(&chars, at) {
            Some(end) => end,
            None => {
                out.extend(chars.get(at));
                at += 1;
                continue;
            }
        };
        out.extend(chars[at..end].iter().map(|c| if *c == '\n' { '\n' } else { ' ' }));
        at = end;
    }
    out
}

/// Where a comment, text or character literal that starts here ends.
fn token_end(chars: &[char], at: usize) -> Option<usize> {
    let rest = &chars[at..];
    match rest {
        ['/', '/', ..] => Some(at + rest.iter().position(|c| *c == '\n').unwrap_or(rest.len())),
        ['/', '*', ..] => Some(block_comment_end(chars, at)),
        ['"', ..] => Some(quoted_end(chars, at + 1, '"')),
        ['r', '"' | '#', ..] if at == 0 || !is_word(chars[at - 1]) || chars[at - 1] == 'b' => {
            raw_end(chars, at)
        }
        ['\'', '\\', ..] => Some(quoted_end(chars, at + 1, '\'')),
        ['\'', _, '\'', ..] => Some(at + 3),
        _ => None,
    }
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn block_comment_end(chars: &[char], start: usize) -> usize {
    let (mut depth, mut at) = (0, start);
    while at < chars.len() {
        match chars[at..] {
            ['/', '*', ..] => (depth, at) = (depth + 1, at + 2),
            ['*', '/', ..] => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
        if depth == 0 {
            return at;
        }
    }
    at
}

fn quoted_end(chars: &[char], mut at: usize, quote: char) -> usize {
    while at < chars.len() && chars[at] != quote {
        at += if chars[at] == '\\' { 2 } else { 1 };
    }
    (at + 1).min(chars.len())
}

fn raw_end(chars: &[char], start: usize) -> Option<usize> {
    let marks = chars[start + 1..].iter().take_while(|c| **c == '#').count();
    let open = start + 1 + marks;
    if chars.get(open) != Some(&'"') {
        return None;
    }
    let ends = |at: &usize| {
        chars[*at] == '"' && chars[at + 1..].iter().take(marks).filter(|c| **c == '#').count() == marks
    };
    Some((open + 1..chars.len()).find(ends).map_or(chars.len(), |at| at + 1 + marks))
}

/// Modules that only exist in tests: names of those in files of their own, and the text without the inline ones.
/// Takes what [`without_comments_and_texts`] gives.
#[must_use]
pub fn split_test_modules(code: &str) -> (Vec<String>, String) {
    const MARK: &str = "#[cfg(test)]";
    let (mut files, mut kept, mut rest) = (vec![], String::new(), code);
    while let Some(at) = rest.find(MARK) {
        kept.push_str(&rest[..at]);
        let item = &rest[at + MARK.len()..];
        let end = item_end(item);
        let text = &item[..end];
        if let Some((_, name)) = text.trim_end_matches(';').split_once("mod ").filter(|_| text.ends_with(';'))
        {
            files.push(name.trim().to_owned());
        }
        kept.extend(text.chars().filter(|c| *c == '\n'));
        rest = &item[end..];
    }
    kept.push_str(rest);
    (files, kept)
}

/// The end of the item at the start of a text: its semicolon, or the brace that closes it.
fn item_end(item: &str) -> usize {
    let mut depth = 0_usize;
    for (at, c) in item.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth <= 1 => return at + 1,
            '}' => depth -= 1,
            ';' if depth == 0 => return at + 1,
            _ => {}
        }
    }
    item.len()
}
