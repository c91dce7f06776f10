//! Where does one note of a term end and the next begin?

/// The labels that a note may open with.
pub(crate) const LABELS: [&str; 6] = ["lit:", "do:", "trap:", "pace:", "source:", "change:"];

/// Whether a note opens with a known label.
pub(crate) fn is_labelled(text: &str) -> bool {
    text == "noun" || text.starts_with("noun;") || LABELS.iter().any(|label| text.starts_with(label))
}
