//! Which attributes does the standard have, and which of them say something that the piece has no place for?

use super::part::PartReader;
use crate::report::Why;
use crate::xml::{El, Tree};

/// Every attribute of MusicXML 4.0, sorted.
/// Source: musicxml.xsd, version 4.0 (W3C Music Notation Community Group), all `xs:attribute` names.
const ALL: [&str; 169] = [
    "abbreviated",
    "above",
    "accelerate",
    "additional",
    "after-barline",
    "after-jump",
    "alternate",
    "approach",
    "arrangement",
    "attack",
    "attribute",
    "beats",
    "bezier-offset",
    "bezier-offset2",
    "bezier-x",
    "bezier-x2",
    "bezier-y",
    "bezier-y2",
    "blank-page",
    "bottom-staff",
    "bracket",
    "bracket-degrees",
    "cancel",
    "cautionary",
    "coda",
    "color",
    "dacapo",
    "dalsegno",
    "damper-pedal",
    "dash-length",
    "dashed-circle",
    "default-x",
    "default-y",
    "departure",
    "dir",
    "direction",
    "directive",
    "divisions",
    "dynamics",
    "editorial",
    "element",
    "elevation",
    "enclosure",
    "end-dynamics",
    "end-length",
    "fan",
    "filled",
    "fine",
    "first-beat",
    "font-family",
    "font-size",
    "font-style",
    "font-weight",
    "forward-repeat",
    "halign",
    "hand",
    "height",
    "id",
    "implicit",
    "justify",
    "last-beat",
    "latency",
    "letter-spacing",
    "line",
    "line-end",
    "line-height",
    "line-length",
    "line-shape",
    "line-through",
    "line-type",
    "location",
    "long",
    "make-time",
    "measure",
    "member-of",
    "multiple-rest-always",
    "multiple-rest-range",
    "name",
    "new-page",
    "new-system",
    "niente",
    "non-controlling",
    "number",
    "offset",
    "orientation",
    "overline",
    "page",
    "page-number",
    "pan",
    "parentheses",
    "parentheses-degrees",
    "pizzicato",
    "placement",
    "player",
    "plus-minus",
    "port",
    "position",
    "print-dot",
    "print-frame",
    "print-leger",
    "print-lyric",
    "print-object",
    "print-spacing",
    "reference",
    "relative-x",
    "relative-y",
    "release",
    "repeater",
    "rotation",
    "scaling",
    "second-beat",
    "segno",
    "separator",
    "shape",
    "show-frets",
    "show-number",
    "show-type",
    "sign",
    "size",
    "slash",
    "slashes",
    "smufl",
    "soft-pedal",
    "sostenuto-pedal",
    "sound",
    "source",
    "space-length",
    "spread",
    "stack-degrees",
    "staff",
    "staff-spacing",
    "start-note",
    "steal-time-following",
    "steal-time-previous",
    "string",
    "substitution",
    "symbol",
    "system",
    "tempo",
    "text",
    "text-x",
    "text-y",
    "time-only",
    "times",
    "tip",
    "tocoda",
    "top-staff",
    "trill-step",
    "two-note-turn",
    "type",
    "unbroken",
    "underline",
    "unplayed",
    "use-dots",
    "use-stems",
    "use-symbols",
    "valign",
    "value",
    "version",
    "width",
    "winged",
    "xlink:actuate",
    "xlink:href",
    "xlink:role",
    "xlink:show",
    "xlink:title",
    "xlink:type",
    "xml:lang",
    "xml:space",
];

/// True if an attribute of the standard says something musical that is not taken into the piece.
/// What is not named here is read, or says only how the page looks or what a computer plays: see `COVERAGE.md`.
fn says_more(element: &str, name: &str, value: &str) -> bool {
    match (element, name) {
        // A note, tie or syllable for some of the passes only.
        (_, "time-only") => element != "sound",
        ("notations" | "lyric" | "ending" | "staff-details", "print-object") => value == "no",
        ("measure", "non-controlling") | ("clef", "additional") | ("double", "above") => value == "yes",
        // A dashed slur or tie is an editor's, as a rule.
        ("slur" | "tied" | "wedge", "line-type") => value != "solid",
        ("beam", "fan") => value != "none",
        ("beam", "repeater") => value == "yes",
        // How an ornament is played.
        (_, "start-note" | "trill-step" | "two-note-turn" | "approach" | "departure" | "accelerate") => true,
        ("turn" | "inverted-turn", "slash") => value == "yes",
        ("arpeggiate", "unbroken") => value == "yes",
        ("harmony", "type") => value != "explicit",
        _ => false,
    }
}

impl PartReader<'_> {
    /// Reports the attributes of a bar that are unknown or have no place in the piece.
    pub(super) fn check_attributes(&mut self, tree: &Tree<'_>) {
        self.cursor = notation::Quarters::ZERO;
        for (nth, (name, value)) in tree.attributes() {
            let why = match *name {
                "number" | "type" | "id" | "default-x" | "default-y" | "placement" => continue,
                name if ALL.binary_search(&name).is_err() => Why::Unknown,
                name if says_more(tree.element_of(nth).name(), name, value.trim()) => Why::NoPlace,
                _ => continue,
            };
            // Namespaces other than MusicXML's own carry programs' private notes.
            if !(name.contains(':') || *name == "xmlns") {
                self.unread_attribute(tree.element_of(nth), name, why);
            }
        }
    }

    fn unread_attribute(&mut self, el: El<'_, '_>, name: &str, why: Why) {
        self.unread(&format!("@{name}"), el.name(), why);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_sorted_for_looking_up() {
        assert!(ALL.is_sorted());
        assert!(says_more("note", "time-only", "2"));
        assert!(!says_more("sound", "time-only", "2"));
        assert!(!says_more("slur", "line-type", "solid"));
    }
}
