//! What stands behind the content of a parcel: a signature by the seat that wrote it, and a seal.
//!
//! ```text
//! content | DioptraySigned 1 | public key, 32 bytes | signature, 64 | DioptrayParcel 1 | SHA-256 of all before it, 32
//! ```
//!
//! The signature is one of everything before it, its key and the word in front of that among it. Parcels from before there were
//! signatures have the seal alone. The seal shows an accident on the way, the signature whoever wrote it.

use super::body::Hash;
use super::signature::{PublicKey, SIGNATURE_BYTES, SeatKey};

const SEAL: &[u8; 16] = b"DioptrayParcel 1";
const SIGNED: &[u8; 16] = b"DioptraySigned 1";

/// Signs a content and seals it.
pub fn seal(content: Vec<u8>, key: &SeatKey) -> Vec<u8> {
    let mut bytes = content;
    bytes.extend_from_slice(SIGNED);
    bytes.extend_from_slice(key.public().as_bytes());
    let signature = key.sign(&bytes);
    bytes.extend_from_slice(&signature);
    let hash = Hash::of(&bytes);
    bytes.extend_from_slice(SEAL);
    bytes.extend_from_slice(hash.as_bytes());
    bytes
}

/// What the end of some bytes says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seal {
    /// There is none.
    None,
    /// What it seals is not as it was.
    Broken,
    /// It holds, and nobody signed.
    NotSigned,
    /// It holds, and so does the signature by this key.
    Signed(PublicKey),
    /// It holds, but the signature is not one of this content by the key that it names.
    WronglySigned,
}

impl Seal {
    /// Whether there is one, whatever it says.
    pub fn is_there(self) -> bool {
        self != Self::None
    }
}

/// What was sealed, whether or not the seal holds, and what the seal says.
pub fn open(bytes: &[u8]) -> (&[u8], Seal) {
    let Some((before, hash)) = end_of(bytes, SEAL, 32) else { return (bytes, Seal::None) };
    let signed = end_of(before, SIGNED, 32 + SIGNATURE_BYTES);
    let content = signed.map_or(before, |(content, _)| content);
    if Hash::of(before).as_bytes() != hash {
        return (content, Seal::Broken);
    }
    let Some((_, signed)) = signed else { return (content, Seal::NotSigned) };
    let (key, signature) = signed.split_at(32);
    let message = &before[..before.len() - SIGNATURE_BYTES];
    let signer = PublicKey::from_bytes(key).filter(|key| key.has_signed(message, signature));
    (content, signer.map_or(Seal::WronglySigned, Seal::Signed))
}

/// What stands before a word and that many bytes at the end, and these bytes.
fn end_of<'a>(bytes: &'a [u8], word: &[u8; 16], length: usize) -> Option<(&'a [u8], &'a [u8])> {
    let (before, end) = bytes.split_at_checked(bytes.len().checked_sub(word.len() + length)?)?;
    Some((before, end.strip_prefix(word)?))
}
