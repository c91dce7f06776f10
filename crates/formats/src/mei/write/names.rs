//! What does MEI call it? Values of the standard for our values, and for the names of MusicXML that the page model keeps.
//!
//! Source: MEI 5 Guidelines, the data types named at each table; MusicXML 4.0 for the names on the left.

use notation::{Alter, ArticulationKind, MetronomeValue, NoteValue, Rational};

/// `data.DURATION.cmn`; a maxima is none of it.
pub(super) const fn duration(value: NoteValue) -> Option<&'static str> {
    Some(match value {
        NoteValue::N1024th => "1024",
        NoteValue::N512th => "512",
        NoteValue::N256th => "256",
        NoteValue::N128th => "128",
        NoteValue::N64th => "64",
        NoteValue::N32nd => "32",
        NoteValue::N16th => "16",
        NoteValue::Eighth => "8",
        NoteValue::Quarter => "4",
        NoteValue::Half => "2",
        NoteValue::Whole => "1",
        NoteValue::Breve => "breve",
        NoteValue::Long => "long",
        NoteValue::Maxima => return None,
    })
}

/// `data.ACCIDENTAL.WRITTEN` for a printed sign.
/// Source: MusicXML 4.0, accidental-value.
pub(super) fn accidental(sign: &str) -> Option<&'static str> {
    Some(match sign {
        "sharp" => "s",
        "natural" => "n",
        "flat" => "f",
        "double-sharp" => "x",
        "sharp-sharp" => "ss",
        "flat-flat" | "double-flat" => "ff",
        "natural-sharp" => "ns",
        "natural-flat" => "nf",
        "quarter-flat" => "1qf",
        "quarter-sharp" => "1qs",
        "three-quarters-flat" => "3qf",
        "three-quarters-sharp" => "3qs",
        "sharp-down" => "sd",
        "sharp-up" => "su",
        "natural-down" => "nd",
        "natural-up" => "nu",
        "flat-down" => "fd",
        "flat-up" => "fu",
        "double-sharp-down" => "xd",
        "double-sharp-up" => "xu",
        "flat-flat-down" => "ffd",
        "flat-flat-up" => "ffu",
        "triple-sharp" => "ts",
        "triple-flat" => "tf",
        "sori" => "sori",
        "koron" => "koron",
        _ => return None,
    })
}

/// True for the signs whose effect MusicXML fixes.
pub(super) fn has_fixed_effect(sign: &str) -> bool {
    matches!(
        sign,
        "sharp"
            | "natural"
            | "flat"
            | "double-sharp"
            | "sharp-sharp"
            | "flat-flat"
            | "double-flat"
            | "natural-sharp"
            | "natural-flat"
            | "quarter-flat"
            | "quarter-sharp"
            | "three-quarters-flat"
            | "three-quarters-sharp"
            | "triple-sharp"
            | "triple-flat"
    )
}

/// `data.ACCIDENTAL.GESTURAL` for an alteration in semitones.
pub(super) fn gestural(alter: Alter) -> Option<&'static str> {
    let halves = alter * Rational::whole(2);
    if !halves.is_whole() {
        return None;
    }
    Some(match halves.num() {
        0 => "n",
        1 => "sd",
        2 => "s",
        3 => "su",
        4 => "ss",
        5 => "xu",
        6 => "ts",
        -1 => "fu",
        -2 => "f",
        -3 => "fd",
        -4 => "ff",
        -5 => "ffd",
        -6 => "tf",
        _ => return None,
    })
}

/// The sign of an alteration in a key signature.
pub(super) fn key_accidental(alter: Alter) -> Option<&'static str> {
    let halves = alter * Rational::whole(2);
    if !halves.is_whole() {
        return None;
    }
    Some(match halves.num() {
        0 => "n",
        1 => "1qs",
        2 => "s",
        3 => "3qs",
        4 => "x",
        6 => "ts",
        -1 => "1qf",
        -2 => "f",
        -3 => "3qf",
        -4 => "ff",
        -6 => "tf",
        _ => return None,
    })
}

/// `data.ARTICULATION` for the marks that are one; a portato is the two signs in one element.
pub(super) const fn articulation(kind: &ArticulationKind) -> Option<&'static str> {
    Some(match kind {
        ArticulationKind::Accent => "acc",
        ArticulationKind::Marcato => "marc",
        ArticulationKind::Staccato => "stacc",
        ArticulationKind::Staccatissimo => "stacciss",
        ArticulationKind::Spiccato => "spicc",
        ArticulationKind::Tenuto => "ten",
        ArticulationKind::Portato => "ten stacc",
        ArticulationKind::Scoop => "scoop",
        ArticulationKind::Plop => "plop",
        ArticulationKind::Doit => "doit",
        ArticulationKind::Falloff => "fall",
        ArticulationKind::Stress => "stress",
        ArticulationKind::Unstress => "unstress",
        ArticulationKind::SoftAccent => "acc-soft",
        ArticulationKind::BreathMark(_) | ArticulationKind::Caesura(_) | ArticulationKind::Other(_) => {
            return None;
        }
    })
}

/// `data.ARTICULATION` for technical marks that MEI counts among them.
/// Source: MusicXML 4.0, technical.
pub(super) fn technical(name: &str) -> Option<&'static str> {
    Some(match name {
        "up-bow" => "upbow",
        "down-bow" => "dnbow",
        "harmonic" => "harm",
        "snap-pizzicato" => "snap",
        "fingernails" => "fingernail",
        "stopped" => "stop",
        "open" => "open",
        "double-tongue" => "dbltongue",
        "triple-tongue" => "trpltongue",
        "heel" => "heel",
        "toe" => "toe",
        "tap" => "tap",
        "flip" => "flip",
        "smear" => "smear",
        _ => return None,
    })
}

/// `data.HEADSHAPE` for a note head's shape.
/// Source: MusicXML 4.0, notehead-value.
pub(super) fn head_shape(shape: &str) -> Option<&'static str> {
    Some(match shape {
        "x" => "x",
        "cross" => "+",
        "diamond" => "diamond",
        "slash" => "slash",
        "back slashed" => "backslash",
        "square" => "square",
        "triangle" => "isotriangle",
        "rectangle" => "rectangle",
        "circled" => "circle",
        _ => return None,
    })
}

/// `data.BARRENDITION` for a bar style.
/// Source: MusicXML 4.0, bar-style.
pub(super) fn bar_style(style: &str) -> Option<&'static str> {
    Some(match style {
        "regular" => "single",
        "dotted" => "dotted",
        "dashed" => "dashed",
        "heavy" => "heavy",
        "light-light" => "dbl",
        "light-heavy" => "end",
        "heavy-heavy" => "dblheavy",
        "none" => "invis",
        _ => return None,
    })
}

/// The shape of a fermata: `curved`, `angular`, `square`.
/// Source: MusicXML 4.0, fermata-shape.
pub(super) fn fermata_shape(shape: &str) -> Option<&'static str> {
    Some(match shape {
        "" => "curved",
        "angled" => "angular",
        "square" => "square",
        _ => return None,
    })
}

/// A metronome mark as text: glyphs of the SMuFL range "metronome marks", with the equals sign.
/// Source: SMuFL 1.4, metronome marks.
pub(super) fn metronome_glyphs(value: NoteValue, dots: u8) -> Option<String> {
    let glyph = match value {
        NoteValue::Breve => '\u{eca0}',
        NoteValue::Whole => '\u{eca2}',
        NoteValue::Half => '\u{eca3}',
        NoteValue::Quarter => '\u{eca5}',
        NoteValue::Eighth => '\u{eca7}',
        NoteValue::N16th => '\u{eca9}',
        NoteValue::N32nd => '\u{ecab}',
        NoteValue::N64th => '\u{ecad}',
        NoteValue::N128th => '\u{ecaf}',
        NoteValue::N256th => '\u{ecb1}',
        NoteValue::N512th => '\u{ecb3}',
        NoteValue::N1024th => '\u{ecb5}',
        NoteValue::Long | NoteValue::Maxima => return None,
    };
    let mut text = glyph.to_string();
    for _ in 0..dots.min(4) {
        text.push('\u{ecb7}');
    }
    Some(text)
}

/// The number of a metronome mark, if its text is one and nothing else.
pub(super) fn plain_number(value: &MetronomeValue) -> Option<&str> {
    let MetronomeValue::PerMinute(text) = value else {
        return None;
    };
    let plain = !text.is_empty()
        && text.len() <= 12
        && text.chars().all(|c| c.is_ascii_digit() || c == '.')
        && text.chars().filter(|c| *c == '.').count() <= 1
        && !text.starts_with('.')
        && !text.ends_with('.');
    plain.then_some(text.as_str())
}
