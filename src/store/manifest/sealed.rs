//! JSON that carries a check value of itself, so that no flip and no edit of it passes for the truth.
//!
//! The first member is `check`: BLAKE3, as hex, of the text without that line.

use serde::Serialize;
use serde::de::DeserializeOwned;

/// What stands before and after the check value.
const OPENING: &str = "{\n";
const BEFORE: &str = "  \"check\": \"";
const AFTER: &str = "\",\n";

/// Length of a BLAKE3 as hex.
pub(in crate::store) const HASH_CHARS: usize = 64;

/// A sealed text.
pub(in crate::store) struct Sealed {
    pub text: String,
    /// Its check value.
    pub check: String,
}

/// Writes a value, which must be a struct with at least one field, as sealed JSON.
pub(in crate::store) fn seal<T: Serialize>(value: &T) -> serde_json::Result<Sealed> {
    let body = serde_json::to_string_pretty(value)? + "\n";
    let check = blake3::hash(body.as_bytes()).to_hex().to_string();
    let members = body.strip_prefix(OPENING).unwrap_or(&body);
    Ok(Sealed { text: format!("{OPENING}{BEFORE}{check}{AFTER}{members}"), check })
}

/// Takes a sealed text apart; none where it is not sealed at all.
pub(in crate::store) fn opened(bytes: &[u8]) -> Option<(&str, String)> {
    let text = std::str::from_utf8(bytes).ok()?;
    let rest = text.strip_prefix(OPENING)?.strip_prefix(BEFORE)?;
    let (check, rest) = rest.split_at_checked(HASH_CHARS)?;
    Some((check, format!("{OPENING}{}", rest.strip_prefix(AFTER)?)))
}

/// Reads a sealed value with its check value.
pub(in crate::store) fn unseal<T: DeserializeOwned>(bytes: &[u8]) -> Result<(T, String), String> {
    let (check, body) = opened(bytes).ok_or("has no check value of itself")?;
    if blake3::hash(body.as_bytes()).to_hex().as_str() != check {
        return Err("does not agree with its own check value".into());
    }
    let value = serde_json::from_str(&body).map_err(|error| error.to_string())?;
    Ok((value, check.to_string()))
}
