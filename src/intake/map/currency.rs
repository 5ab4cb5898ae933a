//! Currencies as they stand beside amounts: codes, and signs that several of them share.

/// What a text says of a currency.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Said {
    /// An ISO 4217 code.
    Code(String),
    /// A sign, with the codes that it may stand for.
    Sign(&'static [&'static str]),
}

/// Signs with the ISO 4217 codes of the currencies that are written with them (Unicode CLDR, narrow and plain symbols;
/// common practice).
const SIGNS: &[(&str, &[&str])] = &[
    ("€", &["EUR"]),
    ("$", &["USD", "AUD", "CAD", "NZD", "SGD", "HKD", "TWD", "MXN", "ARS", "CLP", "COP"]),
    ("US$", &["USD"]),
    ("A$", &["AUD"]),
    ("AU$", &["AUD"]),
    ("C$", &["CAD"]),
    ("CA$", &["CAD"]),
    ("NZ$", &["NZD"]),
    ("S$", &["SGD"]),
    ("HK$", &["HKD"]),
    ("R$", &["BRL"]),
    ("£", &["GBP", "EGP", "LBP"]),
    ("¥", &["JPY", "CNY"]),
    ("￥", &["JPY", "CNY"]),
    ("元", &["CNY"]),
    ("円", &["JPY"]),
    ("₩", &["KRW"]),
    ("₹", &["INR"]),
    ("₽", &["RUB"]),
    ("₺", &["TRY"]),
    ("₴", &["UAH"]),
    ("₪", &["ILS"]),
    ("₫", &["VND"]),
    ("฿", &["THB"]),
    ("zł", &["PLN"]),
    ("Kč", &["CZK"]),
    ("Ft", &["HUF"]),
    ("lei", &["RON"]),
    ("kr", &["SEK", "NOK", "DKK", "ISK"]),
    ("kr.", &["SEK", "NOK", "DKK", "ISK"]),
    ("R", &["ZAR"]),
    ("Fr", &["CHF"]),
    ("Fr.", &["CHF"]),
    ("SFr.", &["CHF"]),
];

/// Whether a text is the code of a currency that a sign here stands for.
pub fn has_sign(code: &str) -> bool {
    SIGNS.iter().any(|(_, codes)| codes.contains(&code))
}

/// What a text beside an amount says; none where it is no currency.
pub fn said(text: &str) -> Option<Said> {
    let text = text.trim();
    if let Some((_, codes)) = SIGNS.iter().find(|(sign, _)| *sign == text) {
        return Some(Said::Sign(codes));
    }
    let is_code = text.len() == 3 && text.bytes().all(|byte| byte.is_ascii_alphabetic());
    is_code.then(|| Said::Code(text.to_ascii_uppercase()))
}
