//! What lies in the pencil tray? The signs, the rubber, the way back.

use crate::drawing;
use crate::prepared::Prepared;
use maud::{Markup, PreEscaped, html};
use notation::{Pencil, PencilSign};

/// The signs in the tray, what they are for, and whether words are written with them.
const SIGNS: [(PencilSign, &str, bool); 11] = [
    (PencilSign::SpotBracket, "brackets round a hard spot", false),
    (PencilSign::Circle, "circle round a note", false),
    (PencilSign::Courtesy, "the note's accidental as a reminder", false),
    (PencilSign::Eyeglasses, "look up here", false),
    (PencilSign::BeatStrokes, "strokes over the beats", false),
    (PencilSign::Counts, "the count under the bar", false),
    (PencilSign::Breath, "breathe before this note", false),
    (PencilSign::SlowBreath, "breathe here while it is slow", false),
    (PencilSign::Fingering, "a fingering", true),
    (PencilSign::JumpArrow, "a jump, with the bar it goes to", true),
    (PencilSign::Words, "words", true),
];

/// The tray; it lies open when the pencil is taken up.
pub(crate) fn tray(part: &Prepared) -> Markup {
    let (undo, redo) = part.hers.steps;
    html! {
        section class="tray" aria-label="Pencil" hidden {
            div class="signs" role="group" aria-label="Signs" {
                @for (sign, meaning, words) in SIGNS {
                    button type="button" class="take" data-sign=(sign.name()) data-words[words] aria-pressed="false" title=(meaning) {
                        (drawn(sign)) span class="named" { (sign.name()) }
                    }
                }
                button type="button" class="take" data-tool="rub" aria-pressed="false" title="rub out the mark that is touched" { span class="named" { "rubber" } }
                button type="button" class="take" data-tool="move" aria-pressed="false" title="touch a mark, then where it is to go" { span class="named" { "move" } }
            }
            label class="words" hidden { "written: " input type="text" name="written" maxlength="60" size="12"; }
            div class="back" {
                button type="button" class="undo" disabled[!undo] { "Undo" }
                button type="button" class="redo" disabled[!redo] { "Do again" }
            }
            p class="hint" role="status" { "Choose a sign, then touch the note or the bar." }
        }
    }
}

fn drawn(sign: PencilSign) -> Markup {
    let sample = engrave::pencil::sample(Some(sign), Pencil::Graphite);
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"small-sign\" viewBox=\"-20 -20 {:.0} {:.0}\">{}</svg>",
        sample.width + 40.0,
        sample.height + 40.0,
        sample.svg
    );
    PreEscaped(drawing::for_page(&svg, "", "").unwrap_or_default())
}
