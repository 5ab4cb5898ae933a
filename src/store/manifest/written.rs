//! How values of other modules are written in the manifest: as the words people use.

/// `#[serde(with = ..)]` for a value written as one word.
macro_rules! as_word {
    ($(#[$doc:meta])* $name:ident, $type:ty, $to:expr, $of:expr) => {
        $(#[$doc])*
        pub(in crate::store) mod $name {
            use serde::{Deserialize, Deserializer, Serializer, de::Error};

            pub fn serialize<S: Serializer>(value: &$type, to: S) -> Result<S::Ok, S::Error> {
                let word: fn(&$type) -> String = $to;
                to.serialize_str(&word(value))
            }

            pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<$type, D::Error> {
                let word = String::deserialize(from)?;
                let of: fn(&str) -> Option<$type> = $of;
                of(&word).ok_or_else(|| {
                    D::Error::custom(format!("found \"{word}\", expected {}", stringify!($name)))
                })
            }
        }
    };
}

as_word! {
    /// A day as 2026-07-05; the empty word where there is none.
    day, Option<chrono::NaiveDate>,
    |day| day.map(|day| day.to_string()).unwrap_or_default(),
    |word| if word.is_empty() { Some(None) } else { word.parse().ok().map(Some) }
}

as_word! {
    /// A zone by its IANA name.
    timezone, chrono_tz::Tz, |zone| zone.name().to_string(), |word| word.parse().ok()
}

as_word! {
    /// A table by its name.
    table, crate::records::Table, |table| table.name().to_string(), crate::records::Table::named
}

as_word! {
    /// Reach of an end-face name, as in the settings.
    scope, crate::settings::NameScope,
    |scope| super::scope_name(*scope).to_string(),
    |word| match word {
        "fleet" => Some(crate::settings::NameScope::Fleet),
        "site" => Some(crate::settings::NameScope::Site),
        _ => None,
    }
}

/// Reach of an end-face name as the word of the settings.
pub(in crate::store) fn scope_name(scope: crate::settings::NameScope) -> &'static str {
    match scope {
        crate::settings::NameScope::Fleet => "fleet",
        crate::settings::NameScope::Site => "site",
    }
}
