//! Whole numbers and amounts of money, exactly or not at all.

/// Largest count or amount of minor units that a record may have, either side of 0: a thousand million
/// hundreds, of which nine million still add up within 64 bits.
pub const MOST: u64 = 1_000_000_000_000;

/// A whole number: an optional sign and digits. None for anything else, and beyond 64 bits.
pub fn integer(text: &str) -> Option<i64> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    text.parse().ok()
}

/// An amount as minor units (hundredths): an optional sign, digits, and at most two decimals
/// behind the mark. Separators of thousands are refused, since `1.234` and `1,234` mean different
/// amounts in different exports.
pub fn money(text: &str, decimal_mark: u8) -> Option<i64> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, decimals) = digits.split_once(char::from(decimal_mark)).unwrap_or((digits, "0"));
    let plain = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    if !plain(whole) || !plain(decimals) || decimals.len() > 2 {
        return None;
    }
    let whole: i64 = whole.parse().ok()?;
    let decimals: i64 = decimals.parse::<i64>().ok()? * if decimals.len() == 1 { 10 } else { 1 };
    let amount = whole.checked_mul(100)?.checked_add(decimals)?;
    if amount.unsigned_abs() > MOST {
        return None;
    }
    Some(if text.starts_with('-') { -amount } else { amount })
}
