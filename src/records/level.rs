//! R6: how surely a fault is linked to contamination.

use super::codes::code_list;

code_list! {
    /// Link of a fault to contamination, weakest first.
    #[derive(serde::Serialize, serde::Deserialize)]
    Level {
        /// A named other cause, or nothing that points to dirt.
        None = "none",
        /// No fault found, but the connector was cleaned or reseated.
        Suspect = "suspect",
        /// Cause unknown or missing, and cleaning restored service.
        Probable = "probable",
        /// The cause code says so.
        Confirmed = "confirmed",
    }
}

/// Level of a ticket with this cause and remedy (R6).
///
/// A cause that is named and is neither contamination, unknown nor no-fault-found never links.
pub fn level(cause: Option<&str>, remedy: Option<&str>) -> Level {
    match (cause, remedy) {
        (Some("contamination"), _) => Level::Confirmed,
        (None | Some("unknown"), Some("cleaned")) => Level::Probable,
        (Some("no-fault-found"), Some("cleaned" | "reseated")) => Level::Suspect,
        _ => Level::None,
    }
}
