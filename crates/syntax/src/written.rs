//! A short piece of text, kept in place.

use std::{fmt, ops::Deref};

/// Longest text that needs no memory of its own. Names, pins and colours are shorter.
const SHORT: usize = 22;

/// A piece of text as written. Reads like a `&str`; short ones, which is nearly all, cost no allocation.
#[derive(Clone)]
pub struct Written(Kept);

#[derive(Clone)]
enum Kept {
    Short { length: u8, bytes: [u8; SHORT] },
    Long(Box<str>),
}

impl Written {
    /// The text.
    pub fn as_str(&self) -> &str {
        match &self.0 {
            // What was put in was a `str`, so it comes out as one.
            Kept::Short { length, bytes } => bytes
                .get(..usize::from(*length))
                .and_then(|bytes| std::str::from_utf8(bytes).ok())
                .unwrap_or(""),
            Kept::Long(text) => text,
        }
    }
}

impl From<&str> for Written {
    fn from(text: &str) -> Self {
        let mut bytes = [0; SHORT];
        match bytes.get_mut(..text.len()) {
            Some(place) => {
                place.copy_from_slice(text.as_bytes());
                Self(Kept::Short { length: text.len() as u8, bytes })
            }
            None => Self(Kept::Long(text.into())),
        }
    }
}

impl From<String> for Written {
    fn from(text: String) -> Self {
        Self::from(text.as_str())
    }
}

impl Deref for Written {
    type Target = str;

    fn deref(&self) -> &str {
        self.as_str()
    }
}

impl PartialEq for Written {
    fn eq(&self, other: &Self) -> bool {
        self.as_str() == other.as_str()
    }
}

impl Eq for Written {}

impl fmt::Debug for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.as_str(), f)
    }
}

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comes_out_as_it_went_in() {
        for length in 0..60 {
            let text = "Ω7".chars().cycle().take(length).collect::<String>();
            assert_eq!(Written::from(text.as_str()).as_str(), text);
        }
    }
}
