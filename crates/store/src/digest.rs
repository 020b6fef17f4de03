//! SHA-256 digests, written as 64 lower-case hexadecimal digits.

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::StoreError;

/// A SHA-256 digest (FIPS 180-4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest([u8; 32]);

impl Digest {
    /// 64 zeros: what stands as the previous hash of a first entry.
    pub const ZERO: Self = Self([0; 32]);

    /// The digest of bytes.
    ///
    /// ```
    /// // FIPS 180-2, appendix B.1: the three letters "abc" (from memory).
    /// let d = fallrate_store::Digest::of(b"abc");
    /// assert_eq!(d.to_string(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    /// ```
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
    /// Reads 64 lower-case hexadecimal digits.
    ///
    /// # Errors
    /// [`StoreError::NoDigest`] for anything else, capital letters included.
    pub fn parse(text: &str) -> Result<Self, StoreError> {
        let bad = || StoreError::NoDigest { found: text.chars().take(80).collect() };
        let digits = text.as_bytes();
        if digits.len() != 64 {
            return Err(bad());
        }
        let mut out = [0_u8; 32];
        for (byte, pair) in out.iter_mut().zip(digits.chunks_exact(2)) {
            for digit in pair {
                let value = match digit {
                    b'0'..=b'9' => digit - b'0',
                    b'a'..=b'f' => digit - b'a' + 10,
                    _ => return Err(bad()),
                };
                *byte = *byte << 4 | value;
            }
        }
        Ok(Self(out))
    }
    /// The first eight digits, for a page where the whole is printed elsewhere.
    #[must_use]
    pub fn short(self) -> String {
        self.to_string().chars().take(8).collect()
    }
}

impl std::fmt::Display for Digest {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl TryFrom<String> for Digest {
    type Error = StoreError;
    fn try_from(text: String) -> Result<Self, StoreError> {
        Self::parse(&text)
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> Self {
        digest.to_string()
    }
}
