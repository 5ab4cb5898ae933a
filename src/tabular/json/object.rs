//! One JSON object as keys and texts.
//!
//! Keys of objects in objects are joined by a point. A number is the text as written, whatever its
//! size; an array stays JSON; null is the empty text.

use std::fmt;

use serde::de::{Deserializer as _, Error as _, MapAccess, Visitor};
use serde_json::value::RawValue;

use crate::tabular::row::RowFault;

/// Most objects in one another.
const DEEPEST: usize = 32;

/// Gives each key and its text to `take`, in the order of the line.
///
/// # Errors
/// [`RowFault::NoObject`] when the text is no JSON object, [`RowFault::TooDeep`] when it is nested
/// too deep. What `take` was given until then is to be forgotten.
pub fn each_value(text: &str, take: &mut dyn FnMut(&str, &str)) -> Result<(), RowFault> {
    let mut walk = Walk { take, key: String::new(), depth: 0, too_deep: false };
    let read = walk.object(text);
    match read {
        Ok(()) => Ok(()),
        Err(_) if walk.too_deep => Err(RowFault::TooDeep),
        Err(_) => Err(RowFault::NoObject),
    }
}

struct Walk<'t> {
    take: &'t mut dyn FnMut(&str, &str),
    /// Keys of the objects around, joined.
    key: String,
    depth: usize,
    too_deep: bool,
}

impl Walk<'_> {
    fn object(&mut self, text: &str) -> serde_json::Result<()> {
        self.depth += 1;
        if self.depth > DEEPEST {
            self.too_deep = true;
            return Err(serde_json::Error::custom("nested too deep"));
        }
        let mut json = serde_json::Deserializer::from_str(text);
        json.deserialize_map(&mut *self)?;
        self.depth -= 1;
        json.end()
    }

    /// Takes a value by its JSON text, which is known to be valid but for its string escapes.
    fn value(&mut self, json: &str) -> serde_json::Result<()> {
        match json.as_bytes().first() {
            Some(b'{') => self.object(json),
            Some(b'"') => {
                let text: String = serde_json::from_str(json)?;
                (self.take)(&self.key, &text);
                Ok(())
            }
            Some(b'n') => {
                (self.take)(&self.key, "");
                Ok(())
            }
            _ => {
                (self.take)(&self.key, json);
                Ok(())
            }
        }
    }
}

impl<'de> Visitor<'de> for &mut Walk<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a JSON object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let outside = self.key.len();
        while let Some(key) = map.next_key::<String>()? {
            if self.depth > 1 {
                self.key.push('.');
            }
            self.key.push_str(&key);
            let json: &RawValue = map.next_value()?;
            self.value(json.get()).map_err(A::Error::custom)?;
            self.key.truncate(outside);
        }
        Ok(())
    }
}
