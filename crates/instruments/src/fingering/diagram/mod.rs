//! How is a fingering drawn? (stub)

use super::chart::Fingering;

/// Stub.
#[must_use]
pub fn diagram(fingering: &Fingering) -> String {
    fingering.state.to_string()
}
