//! Which rules do a page's classes have? Printed words, and the pencil's own.

use crate::look::Look;

/// Rules for words and music; the pencil's rules come from [`crate::pencil`].
pub(crate) fn page(look: &Look) -> String {
    let numbers = if look.bar_numbers {
        ""
    } else {
        ".mNum{visibility:hidden}"
    };
    format!(
        ".foreread-page text{{font-family:'{}',serif}}.foreread-page .hand{{font-family:'{}',cursive}}\
         .title{{font-weight:bold}}.part-name{{font-weight:bold}}.running-title,.person{{font-style:italic}}\
         .play-order{{fill:#444}}.bar-number,.reason{{font-style:italic}}.passage{{font-weight:bold}}.accidental{{font-style:normal;font-weight:normal}}.blank-staff{{fill:none;stroke:#999;stroke-width:13}}.placeholder{{visibility:hidden}}{numbers}",
        fonts::TEXT_FAMILY,
        fonts::HAND_FAMILY
    )
}
