//! Which rules do a page's classes have? Printed words, and the pencil's own.

/// Rules for words and music; the pencil's rules come from [`crate::pencil`].
pub(crate) fn page() -> String {
    format!(
        ".foreread-page text{{font-family:'{}',serif}}.foreread-page .hand{{font-family:'{}',cursive}}\
         .title{{font-weight:bold}}.part-name{{font-weight:bold}}.running-title,.person{{font-style:italic}}\
         .play-order{{fill:#444}}.placeholder{{visibility:hidden}}",
        fonts::TEXT_FAMILY,
        fonts::HAND_FAMILY
    )
}
