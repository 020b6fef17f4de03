//! Which encoding a file is in, and its bytes as UTF-8 in a stream.

use std::io::{self, Read};

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// How the encoding was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EncodingEvidence {
    /// A byte-order mark.
    ByteOrderMark,
    /// Every byte of the sample fits it.
    Fits,
    /// Zero bytes at every other place.
    ZeroPattern,
    /// Taken from the frequency of bytes; single letters outside ASCII may be wrong.
    Guessed,
    /// Given by the mapping.
    Given,
}

/// The encoding found for a file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoundEncoding {
    /// Which.
    pub encoding: &'static Encoding,
    /// How it was found.
    pub evidence: EncodingEvidence,
    mark_bytes: usize,
}

/// Finds the encoding from the first bytes. `whole` says that the sample is the whole file.
#[must_use]
pub fn detect(sample: &[u8], whole: bool) -> FoundEncoding {
    let found = |encoding, evidence, mark_bytes| FoundEncoding { encoding, evidence, mark_bytes };
    if let Some((encoding, length)) = Encoding::for_bom(sample) {
        return found(encoding, EncodingEvidence::ByteOrderMark, length);
    }
    if let Some(encoding) = zero_pattern(sample) {
        return found(encoding, EncodingEvidence::ZeroPattern, 0);
    }
    match std::str::from_utf8(sample) {
        Ok(_) => return found(UTF_8, EncodingEvidence::Fits, 0),
        // The sample may end within a letter.
        Err(e) if !whole && e.error_len().is_none() => return found(UTF_8, EncodingEvidence::Fits, 0),
        Err(_) => {}
    }
    let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
    detector.feed(sample, whole);
    let guess = detector.guess(None, chardetng::Utf8Detection::Deny);
    // A degree sign alone looks the same in most single-byte code pages; the western one is the common practice.
    let encoding = if guess.is_single_byte() && western_only(sample) { WINDOWS_1252 } else { guess };
    found(encoding, EncodingEvidence::Guessed, 0)
}

/// Only bytes that are signs rather than letters in windows-1252 (degree, micro, superscripts, no-break space, ordinal).
fn western_only(sample: &[u8]) -> bool {
    sample.iter().filter(|b| **b >= 0x80).all(|b| matches!(b, 0xa0 | 0xb0 | 0xb2 | 0xb3 | 0xb5 | 0xb7 | 0xba))
}

fn zero_pattern(sample: &[u8]) -> Option<&'static Encoding> {
    let head = sample.get(..sample.len().min(4096) & !1)?;
    if head.len() < 8 {
        return None;
    }
    let pairs = head.len() / 2;
    let zeros = |offset: usize| head.iter().skip(offset).step_by(2).filter(|b| **b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    if odd * 10 >= pairs * 8 && even * 20 <= pairs {
        Some(UTF_16LE)
    } else if even * 10 >= pairs * 8 && odd * 20 <= pairs {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// What speaks against these bytes being text, if anything does.
#[must_use]
pub fn not_text(sample: &[u8], found: &FoundEncoding) -> Option<String> {
    for (magic, name) in [
        (&b"%PDF"[..], "a PDF document"),
        (b"\xd0\xcf\x11\xe0", "an old binary workbook or document"),
        (b"\x89PNG", "a picture"),
        (b"\xff\xd8\xff", "a picture"),
        (b"\x1f\x8b", "a gzip archive"),
        (b"{\\rtf", "a rich-text document"),
    ] {
        if sample.starts_with(magic) {
            return Some(name.to_owned());
        }
    }
    let head: String = sample.iter().take(256).map(|b| char::from(b.to_ascii_lowercase())).collect();
    if head.trim_start().starts_with("<!doctype html") || head.trim_start().starts_with("<html") {
        return Some("a web page".to_owned());
    }
    if matches!(found.evidence, EncodingEvidence::ByteOrderMark | EncodingEvidence::ZeroPattern)
        && found.encoding != UTF_8
    {
        return None;
    }
    let odd = sample.iter().filter(|b| matches!(b, 0..=8 | 14..=31) && **b != 0x1a).count();
    (odd * 200 > sample.len()).then(|| format!("{odd} control bytes in the first {}", sample.len()))
}

/// Looks up an encoding by the name a mapping gives.
#[must_use]
pub fn named(label: &str) -> Option<FoundEncoding> {
    let encoding = Encoding::for_label(label.trim().as_bytes())?;
    Some(FoundEncoding { encoding, evidence: EncodingEvidence::Given, mark_bytes: 0 })
}

/// A stream of UTF-8 from a stream of any encoding. UTF-8 passes through unchanged, without its mark.
pub struct Utf8Reader<R> {
    inner: R,
    state: State,
}

enum State {
    Pass { skip: usize },
    Decode(Box<Decoding>),
}

struct Decoding {
    decoder: encoding_rs::Decoder,
    raw: Vec<u8>,
    raw_at: usize,
    ready: Vec<u8>,
    ready_at: usize,
    ended: bool,
    finished: bool,
    repaired: bool,
}

impl<R: Read> Utf8Reader<R> {
    /// Wraps a stream.
    pub fn new(inner: R, found: FoundEncoding) -> Self {
        let state = if found.encoding == UTF_8 {
            State::Pass { skip: found.mark_bytes }
        } else {
            State::Decode(Box::new(Decoding {
                decoder: found.encoding.new_decoder_with_bom_removal(),
                raw: Vec::new(),
                raw_at: 0,
                ready: Vec::new(),
                ready_at: 0,
                ended: false,
                finished: false,
                repaired: false,
            }))
        };
        Self { inner, state }
    }

    /// The stream behind.
    pub fn inner(&self) -> &R {
        &self.inner
    }

    /// Whether bytes were met that the encoding does not have (replaced by U+FFFD).
    #[must_use]
    pub fn repaired(&self) -> bool {
        matches!(&self.state, State::Decode(d) if d.repaired)
    }
}

impl<R: Read> Read for Utf8Reader<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        match &mut self.state {
            State::Pass { skip } => {
                while *skip > 0 {
                    let mut mark = [0u8; 3];
                    let wanted = mark.get_mut(..(*skip).min(3)).unwrap_or(&mut []);
                    let n = self.inner.read(wanted)?;
                    if n == 0 {
                        return Ok(0);
                    }
                    *skip -= n;
                }
                self.inner.read(out)
            }
            State::Decode(decoding) => decoding.read(&mut self.inner, out),
        }
    }
}

impl Decoding {
    const CHUNK: usize = 64 << 10;

    fn read<R: Read>(&mut self, inner: &mut R, out: &mut [u8]) -> io::Result<usize> {
        while self.ready_at >= self.ready.len() {
            if self.finished {
                return Ok(0);
            }
            self.fill(inner)?;
        }
        let ready = self.ready.get(self.ready_at..).unwrap_or(&[]);
        let n = ready.len().min(out.len());
        if let (Some(to), Some(from)) = (out.get_mut(..n), ready.get(..n)) {
            to.copy_from_slice(from);
        }
        self.ready_at += n;
        Ok(n)
    }

    fn fill<R: Read>(&mut self, inner: &mut R) -> io::Result<()> {
        if self.raw_at >= self.raw.len() && !self.ended {
            self.raw.resize(Self::CHUNK, 0);
            self.raw_at = 0;
            // After a failed read (an interruption) nothing of the buffer may count.
            let got = inner.read(&mut self.raw);
            self.raw.truncate(*got.as_ref().unwrap_or(&0));
            let n = got?;
            self.ended = n == 0;
        }
        self.ready.resize(Self::CHUNK * 3 + 16, 0);
        self.ready_at = 0;
        let input = self.raw.get(self.raw_at..).unwrap_or(&[]);
        let (result, read, written, bad) = self.decoder.decode_to_utf8(input, &mut self.ready, self.ended);
        self.repaired |= bad;
        self.raw_at += read;
        self.ready.truncate(written);
        self.finished = self.ended && result == encoding_rs::CoderResult::InputEmpty;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn through(bytes: &[u8]) -> (String, EncodingEvidence) {
        let found = detect(bytes, true);
        let mut text = String::new();
        Utf8Reader::new(bytes, found).read_to_string(&mut text).unwrap();
        (text, found.evidence)
    }

    #[test]
    fn every_encoding_gives_the_same_text() {
        let text = "Zeit;Luft °C\r\n01.03.2026 08:00;71,5\r\n";
        let wide = |le: bool, mark: bool| -> Vec<u8> {
            let units = mark.then_some(0xfeff).into_iter().chain(text.encode_utf16());
            units.flat_map(|u| if le { u.to_le_bytes() } else { u.to_be_bytes() }).collect()
        };
        let western: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
        let marked = [&b"\xef\xbb\xbf"[..], text.as_bytes()].concat();
        for bytes in [
            text.as_bytes().to_vec(),
            marked,
            western,
            wide(true, true),
            wide(false, true),
            wide(true, false),
            wide(false, false),
        ] {
            assert_eq!(through(&bytes).0, text);
        }
    }

    #[test]
    fn binary_is_refused() {
        let bytes: Vec<u8> = (0..=255).cycle().take(4000).collect();
        assert!(not_text(&bytes, &detect(&bytes, true)).is_some());
    }
}
