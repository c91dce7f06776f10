//! Which rules do the pencil's classes have?

use crate::look::Look;
use notation::Pencil;

/// Graphite: dark enough to be read at arm's length, light enough to be told from the print.
const GRAPHITE: &str = "#444444";
/// What is only for slow practice.
const LIGHT: &str = "#757575";

/// The rules of a style sheet for pencil marks, with the teacher's coloured pencils; a mark for a pencil that she has not is
/// graphite. Colour never says anything alone: the sign says it, too.
#[must_use]
pub fn style(look: &Look) -> String {
    let pencils = &look.pencils;
    let mut rules = format!(
        ".mark .hand{{font-family:'{}',cursive;stroke:currentColor;stroke-width:8}}.pencil-graphite .ink{{fill:{GRAPHITE}}}.pencil-graphite{{color:{GRAPHITE}}}",
        fonts::HAND_FAMILY
    );
    for (pencil, class) in [(Pencil::First, "first"), (Pencil::Second, "second")] {
        let colour = pencils.of(pencil).map_or_else(
            || GRAPHITE.to_owned(),
            |pencil| {
                let (r, g, b) = pencil.colour.rgb();
                format!("#{r:02x}{g:02x}{b:02x}")
            },
        );
        rules.push_str(&format!(
            ".pencil-{class} .ink{{fill:{colour}}}.pencil-{class}{{color:{colour}}}"
        ));
    }
    rules.push_str(&format!(".mark-light-comma.pencil-graphite .ink{{fill:{LIGHT}}}"));
    rules
}

#[cfg(test)]
mod tests {
    use super::style;
    use crate::look::Look;
    use notation::{ColouredPencil, PencilColour, Pencils};

    #[test]
    fn a_coloured_pencil_has_its_colour_and_a_missing_one_is_graphite() {
        let red = ColouredPencil {
            name: "red".to_owned(),
            colour: PencilColour::Red,
            meaning: String::new(),
        };
        let rules = style(&Look {
            pencils: Pencils {
                first: Some(red),
                second: None,
            },
            ..Look::default()
        });
        assert!(rules.contains(".pencil-first .ink{fill:#a82e24}"), "{rules}");
        assert!(rules.contains(".pencil-second .ink{fill:#444444}"), "{rules}");
    }
}
