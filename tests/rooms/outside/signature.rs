//! Signatures against the test vectors of RFC 8032, section 7.1 (<https://www.rfc-editor.org/rfc/rfc8032#section-7.1>).

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

use dioptray::sharing::{Hash, PublicKey, SeatKey};

/// Secret key, public key, message and signature of TEST 1, TEST 2 and TEST 3.
const VECTORS: [[&str; 4]; 3] = [
    [
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ],
    [
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ],
    [
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ],
];

fn bytes(digits: &str) -> Vec<u8> {
    (0..digits.len()).step_by(2).map(|at| u8::from_str_radix(&digits[at..at + 2], 16).unwrap()).collect()
}

#[test]
fn keys_and_signatures_are_those_of_the_standard() {
    for [secret, public, message, signature] in VECTORS {
        let key = SeatKey::from_secret(Hash::from_text(secret).unwrap().as_bytes());
        let (message, signature) = (bytes(message), bytes(signature));
        assert_eq!(key.public(), PublicKey::from_bytes(&bytes(public)).unwrap());
        assert_eq!(key.sign(&message).as_slice(), signature);
        assert!(key.public().has_signed(&message, &signature));
        for at in 0..64 {
            let mut turned = signature.clone();
            turned[at] ^= 1;
            assert!(!key.public().has_signed(&message, &turned), "byte {at}");
        }
        assert!(!key.public().has_signed(b"another message", &signature));
        assert!(!key.public().has_signed(&message, &signature[..63]));
    }
}

/// A key of small order lets one signature be right for many messages (RFC 8032, section 8.9 and the points listed at
/// <https://cr.yp.to/ecdh.html#validate>): here the neutral point, by which a signature of nothing holds for everything.
#[test]
fn a_key_by_which_anybody_could_sign_is_none() {
    let mut neutral = [0; 32];
    neutral[0] = 1;
    let mut signature = [0; 64];
    signature[0] = 1;
    assert!(!PublicKey::from_bytes(&neutral).unwrap().has_signed(b"anything", &signature));
}

#[test]
fn a_fingerprint_is_the_beginning_of_the_hash_of_the_key() {
    // by Python's hashlib of the public key of TEST 1: 21fe31dfa154a261626bf854046fd227…
    let key = PublicKey::from_bytes(&bytes(VECTORS[0][1])).unwrap();
    assert_eq!(key.fingerprint(), "21fe 31df a154 a261 626b");
}
