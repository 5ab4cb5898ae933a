//! What stands beside every advice to open, look into or clean a connection.

/// Before anything is opened, looked into or cleaned.
pub(in crate::report) const CAUTION: &str = "Before anything is opened or looked into: make sure that the fibre is dark. Laser light is invisible and can \
    injure eyes, so never use a direct-view magnifier on a live fibre (IEC 60825-2). Opening a connection interrupts what \
    it carries: agree on the time first. Solvents are flammable; fragments of fibre are sharp. The maker's instructions, \
    local rules and qualified people come first.";
