//! What things are called in a file: short enough to be kept with every exam and shown on one line.

use unicode_normalization::UnicodeNormalization as _;
use uuid::Uuid;

use super::fault::{Refusal, quoted};
use super::{Node, Reader};

/// The longest name or identity of a box, frame or cell, in characters.
pub const LONGEST_NAME: usize = 80;

/// The name under a key: one line of at most [`LONGEST_NAME`] characters.
pub fn read_name(reader: &mut Reader, node: &Node, key: &str) -> Option<String> {
    let name = reader.text(node, key)?;
    if name.chars().count() > LONGEST_NAME {
        let refusal =
            Refusal::new(format!("`{key}` is too long")).allowed(format!("at most {LONGEST_NAME} characters"));
        reader.refuse(node.at, refusal);
        return None;
    }
    Some(name)
}

/// The identity under `id`: letters, digits and hyphens, at most [`LONGEST_NAME`] of them.
pub fn read_id(reader: &mut Reader, node: &Node) -> Option<String> {
    let id = reader.text(node, "id")?;
    if is_id(&id) {
        return Some(id);
    }
    let refusal = Refusal::new(format!("{} cannot be an `id`", quoted(&id)))
        .allowed(format!("letters a to z, digits and hyphens, at most {LONGEST_NAME}, like `id: hillside-bag-1`"));
    reader.refuse(node.at, refusal);
    None
}

/// Whether a text can be an identity.
pub fn is_id(text: &str) -> bool {
    let allowed = |character: char| character.is_ascii_alphanumeric() || character == '-';
    !text.is_empty() && text.chars().all(allowed) && text.len() <= LONGEST_NAME
}

/// Letters of the name that go into an identity that is made.
const NAME_PART: usize = 40;

/// An identity from the letters and digits of a name, with a random end: two boxes of one name are two.
pub fn fresh_id(name: &str, random: Uuid) -> String {
    let mut id = String::new();
    for letter in name.nfkd().filter(|letter| !unicode_normalization::char::is_combining_mark(*letter)) {
        if letter.is_ascii_alphanumeric() {
            id.push(letter.to_ascii_lowercase());
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
        if id.len() >= NAME_PART {
            break;
        }
    }
    let end: String = random.simple().to_string().chars().take(6).collect();
    match id.trim_end_matches('-') {
        "" => format!("box-{end}"),
        id => format!("{id}-{end}"),
    }
}
