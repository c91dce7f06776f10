//! What is written before the music? Titles, people, rights, and the list of parts with their instruments.

use super::instrument_id;
use super::losses::Losses;
use super::out::Out;
use notation::{Credits, DirectionKind, Part, Piece};

/// Writes all that stands before the first part.
pub(super) fn header(out: &mut Out, losses: &mut Losses, piece: &Piece) {
    titles(out, losses, &piece.credits);
    identification(out, &piece.credits);
    if piece.concert_pitch {
        out.open("defaults");
        out.empty("concert-score");
        out.close("defaults");
    }
    for words in &piece.credits.page_words {
        out.tag("credit").attr("page", 1).open();
        out.leaf("credit-words", words);
        out.close("credit");
    }
    out.open("part-list");
    piece.parts.iter().for_each(|part| score_part(out, part));
    out.close("part-list");
}

fn titles(out: &mut Out, losses: &mut Losses, credits: &Credits) {
    // Two numbers are those of the work and of the movement; a single one belongs to what has a title.
    let of_movement = credits.title.is_none() && credits.movement.is_some();
    let (work, movement) = match credits.numbers.as_slice() {
        [] => (None, None),
        [number] if of_movement => (None, Some(number)),
        [number] => (Some(number), None),
        [work, movement, rest @ ..] => {
            if !rest.is_empty() {
                losses.piece(format!(
                    "more than two numbers of the piece ({})",
                    rest.join(", ")
                ));
            }
            (Some(work), Some(movement))
        }
    };
    if work.is_some() || credits.title.is_some() {
        out.open("work");
        maybe(out, "work-number", work);
        maybe(out, "work-title", credits.title.as_ref());
        out.close("work");
    }
    maybe(out, "movement-number", movement);
    maybe(out, "movement-title", credits.movement.as_ref());
}

fn maybe(out: &mut Out, name: &str, text: Option<&String>) {
    if let Some(text) = text {
        out.leaf(name, text);
    }
}

fn identification(out: &mut Out, credits: &Credits) {
    out.open("identification");
    for (role, name) in &credits.people {
        out.tag("creator")
            .maybe("type", Some(role).filter(|role| !role.is_empty()))
            .text(name);
    }
    credits
        .rights
        .iter()
        .for_each(|rights| out.leaf("rights", rights));
    out.open("encoding");
    out.leaf("software", "Foreread");
    out.close("encoding");
    out.close("identification");
}

fn score_part(out: &mut Out, part: &Part) {
    out.tag("score-part").attr("id", part.id).open();
    out.leaf("part-name", &part.name);
    if !part.abbreviation.is_empty() {
        out.leaf("part-abbreviation", &part.abbreviation);
    }
    let changes = changed_instruments(part);
    let has_own =
        part.instrument_name.is_some() || part.instrument_sound.is_some() || part.midi_program.is_some();
    if has_own || !changes.is_empty() {
        let name = part.instrument_name.as_deref().unwrap_or_default();
        score_instrument(out, part, 0, name, part.instrument_sound.as_deref());
        for (nth, name) in changes.iter().enumerate() {
            score_instrument(out, part, nth + 1, name, None);
        }
    }
    if let Some(program) = part.midi_program {
        out.tag("midi-instrument")
            .attr("id", instrument_id(part.id, 0))
            .open();
        out.leaf("midi-program", program.clamp(1, 128));
        out.close("midi-instrument");
    }
    out.close("score-part");
}

fn score_instrument(out: &mut Out, part: &Part, nth: usize, name: &str, sound: Option<&str>) {
    out.tag("score-instrument")
        .attr("id", instrument_id(part.id, nth))
        .open();
    out.leaf("instrument-name", name);
    if let Some(sound) = sound {
        out.leaf("instrument-sound", sound);
    }
    out.close("score-instrument");
}

/// Names of the instruments that a part changes to, each once, in order.
pub(super) fn changed_instruments(part: &Part) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for direction in &part.directions {
        if let DirectionKind::Sign { name, text } = &direction.kind
            && name == "instrument-change"
            && !names.contains(text)
        {
            names.push(text.clone());
        }
    }
    names
}
