//! How are fingerings, strings and other technical marks written? Their texts taken apart into the standard's elements.
//!
//! The counterpart of the reader's `technical`, which makes one text of what stands in each of them.

use super::notations::placement;
use super::part::PartWriter;
use super::values::{ARROW_DIRECTIONS, ARROW_STYLES, HANDBELLS};
use notation::{Event, Rational, Technical};

/// Marks that hold nothing.
const BARE: [&str; 15] = [
    "up-bow",
    "down-bow",
    "open-string",
    "thumb-position",
    "double-tongue",
    "triple-tongue",
    "stopped",
    "snap-pizzicato",
    "heel",
    "toe",
    "fingernails",
    "brass-bend",
    "flip",
    "smear",
    "golpe",
];

impl PartWriter<'_, '_> {
    pub(super) fn technical(&mut self, event: &Event, technical: &Technical) {
        let (name, text) = (technical.name.as_str(), technical.text.as_str());
        let side = placement(technical.side);
        let done = match name {
            _ if BARE.contains(&name) || matches!(name, "open" | "half-muted") => {
                if text.is_empty() {
                    self.out.tag(name).maybe("placement", side).empty();
                }
                text.is_empty()
            }
            "fingering" => {
                let substitution = text.strip_prefix('-');
                let alternate = text.strip_prefix('(').and_then(|text| text.strip_suffix(')'));
                self.out
                    .tag(name)
                    .yes("substitution", substitution.is_some())
                    .yes("alternate", alternate.is_some())
                    .maybe("placement", side)
                    .text(substitution.or(alternate).unwrap_or(text));
                true
            }
            "pluck" | "tap" | "other-technical" => {
                self.out.tag(name).maybe("placement", side).text(text);
                true
            }
            "string" => self.number(name, text, 1, side),
            "fret" => self.number(name, text, 0, None),
            "harmonic" => self.harmonic(text, side),
            "bend" => self.bend(text),
            "hole" => self.hole(text, side),
            "harmon-mute" => self.harmon_mute(text, side),
            "arrow" => self.arrow(text, side),
            "handbell" if HANDBELLS.contains(&text) => {
                self.out.tag(name).maybe("placement", side).text(text);
                true
            }
            _ => false,
        };
        if !done {
            let said = format!("{name} {text}");
            self.out
                .tag("other-technical")
                .maybe("placement", side)
                .text(said.trim());
            self.lost(
                event,
                format!("the technical mark “{}” was written as words", said.trim()),
            );
        } else if technical.side.is_some() && matches!(name, "fret" | "bend") {
            self.lost(event, format!("on which side the {name} is drawn"));
        }
    }

    fn number(&mut self, name: &str, text: &str, least: u32, side: Option<&str>) -> bool {
        let fits = text.parse().is_ok_and(|number: u32| number >= least);
        if fits {
            self.out.tag(name).maybe("placement", side).text(text);
        }
        fits
    }

    fn harmonic(&mut self, text: &str, side: Option<&str>) -> bool {
        let names: Vec<&str> = text.split(", ").filter(|name| !name.is_empty()).collect();
        let is_kind = |name: &&str| matches!(*name, "natural" | "artificial");
        let is_pitch = |name: &&str| matches!(*name, "base-pitch" | "touching-pitch" | "sounding-pitch");
        let fits = match names.as_slice() {
            [] => true,
            [one] => is_kind(one) || is_pitch(one),
            [kind, pitch] => is_kind(kind) && is_pitch(pitch),
            _ => false,
        };
        if !fits {
            return false;
        }
        self.out.tag("harmonic").maybe("placement", side).open();
        names.iter().for_each(|name| self.out.empty(name));
        self.out.close("harmonic");
        true
    }

    fn bend(&mut self, text: &str) -> bool {
        let mut parts = text.split(", ").peekable();
        let Some(alter) = parts.next_if(|part| part.parse::<f64>().is_ok()) else {
            return false;
        };
        let turn = parts.next_if(|part| matches!(*part, "pre-bend" | "release"));
        let bar = parts.next_if(|part| *part == "with-bar" || part.starts_with("with-bar "));
        if parts.next().is_some() || Rational::parse(alter).is_none() {
            return false;
        }
        self.out.open("bend");
        self.out.leaf("bend-alter", alter);
        if let Some(turn) = turn {
            self.out.empty(turn);
        }
        if let Some(bar) = bar {
            self.out
                .leaf("with-bar", bar.trim_start_matches("with-bar").trim_start());
        }
        self.out.close("bend");
        true
    }

    /// How far a hole or mute is closed, and where.
    fn closed(&mut self, name: &str, value: &str, location: Option<&str>) {
        self.out.tag(name).maybe("location", location).text(value);
    }

    fn hole(&mut self, text: &str, side: Option<&str>) -> bool {
        let Some((before, closed, location, after)) = split_closed(text) else {
            return false;
        };
        self.out.tag("hole").maybe("placement", side).open();
        if !before.is_empty() {
            self.out.leaf("hole-type", before);
        }
        self.closed("hole-closed", closed, location);
        if !after.is_empty() {
            self.out.leaf("hole-shape", after);
        }
        self.out.close("hole");
        true
    }

    fn harmon_mute(&mut self, text: &str, side: Option<&str>) -> bool {
        let Some(("", closed, location, "")) = split_closed(text) else {
            return false;
        };
        self.out.tag("harmon-mute").maybe("placement", side).open();
        self.closed("harmon-closed", closed, location);
        self.out.close("harmon-mute");
        true
    }

    fn arrow(&mut self, text: &str, side: Option<&str>) -> bool {
        if matches!(text, "clockwise" | "anticlockwise") {
            self.out.tag("arrow").maybe("placement", side).open();
            self.out.leaf("circular-arrow", text);
            self.out.close("arrow");
            return true;
        }
        let starts = |of: &str, with: &str| {
            of.strip_prefix(with)
                .filter(|rest| rest.is_empty() || rest.starts_with(' '))
                .is_some()
        };
        // The longest name first: “up down” is one of its own.
        let directions = ARROW_DIRECTIONS.iter().filter(|name| starts(text, name));
        let Some(direction) = directions.max_by_key(|name| name.len()) else {
            return false;
        };
        let rest = text.get(direction.len()..).unwrap_or_default().trim_start();
        let style = ARROW_STYLES.iter().find(|name| starts(rest, name));
        let rest = style.map_or(rest, |style| {
            rest.get(style.len()..).unwrap_or_default().trim_start()
        });
        if !matches!(rest, "" | "arrowhead") {
            return false;
        }
        self.out.tag("arrow").maybe("placement", side).open();
        self.out.leaf("arrow-direction", direction);
        if let Some(style) = style {
            self.out.leaf("arrow-style", style);
        }
        if !rest.is_empty() {
            self.out.empty("arrowhead");
        }
        self.out.close("arrow");
        true
    }
}

/// A text such as `ring finger half (bottom) square`: what stands before, how far closed, where, and what stands after.
fn split_closed(text: &str) -> Option<(&str, &str, Option<&str>, &str)> {
    let mut at = 0;
    for word in text.split(' ') {
        let end = at + word.len();
        if matches!(word, "yes" | "no" | "half") {
            let before = text.get(..at)?.trim_end();
            let rest = text.get(end..)?.trim_start();
            let locations = ["right", "bottom", "left", "top"];
            for location in locations {
                if let Some(after) = rest
                    .strip_prefix('(')
                    .and_then(|r| r.strip_prefix(location)?.strip_prefix(')'))
                {
                    return Some((before, word, Some(location), after.trim_start()));
                }
            }
            return (!rest.starts_with('(')).then_some((before, word, None, rest));
        }
        at = end + 1;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::split_closed;

    #[test]
    fn how_far_closed_is_found_among_other_words() {
        assert_eq!(split_closed("half (left)"), Some(("", "half", Some("left"), "")));
        assert_eq!(
            split_closed("ring finger yes square hole"),
            Some(("ring finger", "yes", None, "square hole"))
        );
        assert_eq!(split_closed("thumb"), None);
    }
}
