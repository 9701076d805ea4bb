//! By what it is known that a parcel comes from a seat: signatures (Ed25519, RFC 8032).

use std::fmt;

use ed25519_dalek::{Signature, Signer as _, SigningKey, VerifyingKey};

use super::body::Hash;

/// How many bytes a signature has.
pub const SIGNATURE_BYTES: usize = 64;

/// The secret half of the key of a seat.
pub struct SeatKey(SigningKey);

impl SeatKey {
    /// From the 32 bytes that it is kept as; new ones have to come from a source of secrets.
    pub fn from_secret(secret: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(secret))
    }

    /// The half that others know it by.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key().to_bytes())
    }

    /// The signature of a message.
    pub fn sign(&self, message: &[u8]) -> [u8; SIGNATURE_BYTES] {
        self.0.sign(message).to_bytes()
    }
}

impl fmt::Debug for SeatKey {
    /// The public half: the secret one is written nowhere.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("SeatKey").field(&self.public()).finish()
    }
}

/// By what others know the key of a seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PublicKey([u8; 32]);

impl PublicKey {
    /// From 32 bytes as they are kept.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().ok().map(Self)
    }

    /// As it is kept.
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// Whether a signature is one of this message by this key. Keys that anybody could sign by are none.
    pub fn has_signed(&self, message: &[u8], signature: &[u8]) -> bool {
        let (key, signature) = (VerifyingKey::from_bytes(&self.0), Signature::from_slice(signature));
        key.is_ok_and(|key| signature.is_ok_and(|signature| key.verify_strict(message, &signature).is_ok()))
    }

    /// What two people compare of it by word of mouth: the first 80 bits of its SHA-256, `3f2a 91c0 77be 04d1 5a6e`.
    pub fn fingerprint(&self) -> String {
        let hash = Hash::of(&self.0).to_string();
        let groups: Vec<&str> = (0..5).filter_map(|group| hash.get(group * 4..group * 4 + 4)).collect();
        groups.join(" ")
    }
}
