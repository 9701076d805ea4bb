//! Two values, one for each eye: kept apart by [`Eye`], never by a bare number.

use std::ops::{Index, IndexMut};

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Eye;

/// One value for each eye. It is stored as a list of two, right first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Eyes<T> {
    /// The right eye's.
    pub right: T,
    /// The left eye's.
    pub left: T,
}

impl<T> Eyes<T> {
    /// The right eye's value, then the left's.
    pub const fn new(right: T, left: T) -> Self {
        Self { right, left }
    }

    /// What a rule gives for each eye, right first.
    pub fn from_fn(mut of: impl FnMut(Eye) -> T) -> Self {
        let right = of(Eye::Right);
        Self { right, left: of(Eye::Left) }
    }

    /// The same value for both eyes.
    pub fn both(value: T) -> Self
    where
        T: Clone,
    {
        Self { right: value.clone(), left: value }
    }

    /// The default for both, but for one eye.
    pub fn only(eye: Eye, value: T) -> Self
    where
        T: Default,
    {
        let mut eyes = Self::default();
        eyes[eye] = value;
        eyes
    }

    /// Each value turned into another.
    pub fn map<U>(self, mut of: impl FnMut(T) -> U) -> Eyes<U> {
        let right = of(self.right);
        Eyes { right, left: of(self.left) }
    }

    /// Both values by reference.
    pub fn as_ref(&self) -> Eyes<&T> {
        Eyes { right: &self.right, left: &self.left }
    }

    /// Each eye with its value, right first.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (Eye, &T)> + ExactSizeIterator {
        [(Eye::Right, &self.right), (Eye::Left, &self.left)].into_iter()
    }

    /// Both values, right first, for what does not ask which eye is which.
    pub fn values(&self) -> [&T; 2] {
        [&self.right, &self.left]
    }
}

impl<T> Eyes<Option<T>> {
    /// Both values when there are both.
    pub fn all(self) -> Option<Eyes<T>> {
        Some(Eyes { right: self.right?, left: self.left? })
    }
}

impl<T> Index<Eye> for Eyes<T> {
    type Output = T;

    fn index(&self, eye: Eye) -> &T {
        match eye {
            Eye::Right => &self.right,
            Eye::Left => &self.left,
        }
    }
}

impl<T> IndexMut<Eye> for Eyes<T> {
    fn index_mut(&mut self, eye: Eye) -> &mut T {
        match eye {
            Eye::Right => &mut self.right,
            Eye::Left => &mut self.left,
        }
    }
}

impl<T: Serialize> Serialize for Eyes<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.values().serialize(serializer)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Eyes<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let (right, left) = Deserialize::deserialize(deserializer)?;
        Ok(Self { right, left })
    }
}

/// Both values, right first, for what does not ask which eye is which.
impl<T> IntoIterator for Eyes<T> {
    type Item = T;
    type IntoIter = std::array::IntoIter<T, 2>;

    fn into_iter(self) -> Self::IntoIter {
        [self.right, self.left].into_iter()
    }
}
