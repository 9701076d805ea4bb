//! The elements of a DICOM file in explicit little endian, as PS3.5 and PS3.10 describe them.

use std::collections::BTreeMap;

/// An element: its bytes, or the items of a sequence.
#[derive(Debug, Clone, PartialEq)]
pub enum Element {
    Value { vr: String, bytes: Vec<u8> },
    Items(Vec<Object>),
}

/// The elements of an object by group and number.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Object(pub BTreeMap<(u16, u16), Element>);

type Failure = Box<dyn std::error::Error>;

impl Object {
    /// Of a whole file.
    pub fn of_file(bytes: &[u8]) -> Result<Self, Failure> {
        if bytes.get(128..132) != Some(b"DICM") {
            return Err("no DICOM file".into());
        }
        let mut reader = Reader { bytes: &bytes[132..] };
        let object = reader.object(None)?;
        if reader.bytes.is_empty() { Ok(object) } else { Err("something follows the object".into()) }
    }

    pub fn text(&self, tag: (u16, u16)) -> Option<String> {
        match self.0.get(&tag)? {
            Element::Value { bytes, .. } => {
                Some(String::from_utf8(bytes.clone()).ok()?.trim_end_matches(['\0', ' ']).to_owned())
            }
            Element::Items(_) => None,
        }
    }

    /// A number of double or single precision.
    pub fn number(&self, tag: (u16, u16)) -> Option<f64> {
        match self.0.get(&tag)? {
            Element::Value { vr, bytes } if vr == "FD" => Some(f64::from_le_bytes(bytes.as_slice().try_into().ok()?)),
            Element::Value { vr, bytes } if vr == "FL" => {
                Some(f32::from_le_bytes(bytes.as_slice().try_into().ok()?).into())
            }
            Element::Value { .. } | Element::Items(_) => None,
        }
    }

    /// The one item of a sequence.
    pub fn item(&self, tag: (u16, u16)) -> Option<&Object> {
        match self.0.get(&tag)? {
            Element::Items(items) if items.len() == 1 => items.first(),
            Element::Items(_) | Element::Value { .. } => None,
        }
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
}

const ITEM: (u16, u16) = (0xfffe, 0xe000);
const ITEM_END: (u16, u16) = (0xfffe, 0xe00d);
const SEQUENCE_END: (u16, u16) = (0xfffe, 0xe0dd);

impl<'a> Reader<'a> {
    fn take(&mut self, count: usize) -> Result<&'a [u8], Failure> {
        let (taken, rest) = self.bytes.split_at_checked(count).ok_or("the file ends early")?;
        self.bytes = rest;
        Ok(taken)
    }

    fn u16(&mut self) -> Result<u16, Failure> {
        Ok(u16::from_le_bytes(self.take(2)?.try_into()?))
    }

    fn u32(&mut self) -> Result<u32, Failure> {
        Ok(u32::from_le_bytes(self.take(4)?.try_into()?))
    }

    fn tag(&mut self) -> Result<(u16, u16), Failure> {
        Ok((self.u16()?, self.u16()?))
    }

    /// Elements up to an end, or up to the end of the bytes.
    fn object(&mut self, end: Option<(u16, u16)>) -> Result<Object, Failure> {
        let mut object = Object::default();
        let mut last = None;
        while !self.bytes.is_empty() {
            let tag = self.tag()?;
            if Some(tag) == end {
                self.u32()?;
                return Ok(object);
            }
            if last.is_some_and(|last| last >= tag) {
                return Err(format!("{tag:04x?} stands out of order").into());
            }
            last = Some(tag);
            let vr = String::from_utf8(self.take(2)?.to_vec())?;
            let long = ["OB", "OD", "OF", "OL", "OW", "SQ", "UC", "UN", "UR", "UT"].contains(&vr.as_str());
            let length = if long {
                self.u16()?;
                self.u32()?
            } else {
                self.u16()?.into()
            };
            let element = if vr == "SQ" {
                Element::Items(self.items(length)?)
            } else {
                let bytes = self.take(usize::try_from(length)?)?.to_vec();
                Element::Value { vr, bytes }
            };
            object.0.insert(tag, element);
        }
        if end.is_some() { Err("an item has no end".into()) } else { Ok(object) }
    }

    fn items(&mut self, length: u32) -> Result<Vec<Object>, Failure> {
        if length != u32::MAX {
            let mut inner = Reader { bytes: self.take(usize::try_from(length)?)? };
            let mut items = Vec::new();
            while !inner.bytes.is_empty() {
                let tag = inner.tag()?;
                items.push(inner.item(tag)?);
            }
            return Ok(items);
        }
        let mut items = Vec::new();
        loop {
            match self.tag()? {
                SEQUENCE_END => {
                    self.u32()?;
                    return Ok(items);
                }
                tag => items.push(self.item(tag)?),
            }
        }
    }

    fn item(&mut self, tag: (u16, u16)) -> Result<Object, Failure> {
        if tag != ITEM {
            return Err(format!("{tag:04x?} is not an item").into());
        }
        match self.u32()? {
            u32::MAX => self.object(Some(ITEM_END)),
            length => Reader { bytes: self.take(usize::try_from(length)?)? }.object(None),
        }
    }
}
