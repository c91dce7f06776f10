//! How is a sign called? In a musician's words: what it was taken for, and what else it could be.

use crate::pitches::{accidental, clef_of};
use crate::signs::{Change, Sign};
use crate::vocabulary::{Ask, BARS, DENOMINATORS, Flag, Main, NUMERATORS};
use notation::{Pitch, Step};

const LENGTHS: [&str; 10] = [
    "note", "breve", "whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th",
];

/// What a sign was taken for; `pitch` is the note's.
#[must_use]
pub fn sign(sign: &Sign, pitch: Option<Pitch>) -> String {
    match sign.main {
        Main::Note(_) => {
            let mut said = format!(
                "{}{} note{}",
                if sign.is(Flag::Grace) { "grace note, " } else { "" },
                length(sign.answer(Ask::Value), sign.answer(Ask::Dots)),
                pitch.map_or_else(String::new, |pitch| format!(" {}", pitch.sign())),
            );
            for (flag, name) in FLAGS {
                if sign.is(flag) && !matches!(flag, Flag::Grace | Flag::Chord) {
                    said.push_str(", ");
                    said.push_str(name);
                }
            }
            said
        }
        Main::Rest => format!("{} rest", length(sign.answer(Ask::Value), sign.answer(Ask::Dots))),
        Main::BarsRest => format!(
            "rest of {} bars",
            bars(sign.answer(Ask::Tens), sign.answer(Ask::Ones))
        ),
        Main::Metre => format!(
            "metre {}",
            metre(sign.answer(Ask::Numerator), sign.answer(Ask::Denominator))
        ),
        main => thing(main),
    }
}

/// What a sign would be instead.
#[must_use]
pub fn change(change: Change, sign: &Sign, pitch: Option<Pitch>) -> String {
    match change {
        Change::Nothing => "nothing stands here".to_owned(),
        Change::Becomes(Main::Note(position)) => match (sign.main, pitch) {
            (Main::Note(read), Some(pitch)) => {
                let steps = pitch.diatonic() + position - read;
                format!("{}{}", Step::from_index(steps).letter(), steps.div_euclid(7))
            }
            _ => "a note".to_owned(),
        },
        Change::Becomes(main) => thing(main),
        Change::Value(value, dots) => {
            let of = if sign.main == Main::Rest { "rest" } else { "note" };
            format!("{} {of}", length(value, dots))
        }
        Change::Answer(ask, answer) => other_answer(ask, answer, sign),
        Change::Flag(flag, on) => {
            let name = FLAGS
                .iter()
                .find(|(known, _)| *known == flag)
                .map_or("sign", |(_, name)| name);
            if on {
                format!("with: {name}")
            } else {
                format!("without: {name}")
            }
        }
    }
}

fn other_answer(ask: Ask, answer: usize, sign: &Sign) -> String {
    match ask {
        Ask::Value => length(answer, sign.answer(Ask::Dots)),
        Ask::Dots => length(sign.answer(Ask::Value), answer),
        Ask::Accidental => accidental(answer).map_or_else(
            || "no accidental".to_owned(),
            |(name, _)| {
                if name == "flat-flat" {
                    "double flat".to_owned()
                } else {
                    name.replace('-', " ")
                }
            },
        ),
        Ask::Ornament => ORNAMENTS.get(answer).copied().unwrap_or("ornament").to_owned(),
        Ask::OrnamentAccidental => format!(
            "ornament with {}",
            accidental(answer).map_or("no accidental", |(name, _)| name)
        ),
        Ask::Tuplet | Ask::InnerTuplet => match answer {
            0 => "no tuplet number".to_owned(),
            number => format!("tuplet number {number}"),
        },
        Ask::Numerator => format!("metre {}", metre(answer, sign.answer(Ask::Denominator))),
        Ask::Denominator => format!("metre {}", metre(sign.answer(Ask::Numerator), answer)),
        Ask::Tens => format!("rest of {} bars", bars(answer, sign.answer(Ask::Ones))),
        Ask::Ones => format!("rest of {} bars", bars(sign.answer(Ask::Tens), answer)),
        Ask::Finger => match answer {
            0 => "no fingering".to_owned(),
            finger => format!("fingering {}", finger - 1),
        },
        Ask::Tremolo => match answer {
            0 => "no tremolo".to_owned(),
            strokes => format!("{strokes} tremolo strokes"),
        },
        Ask::Head => ["usual head", "cross head", "diamond head"]
            .get(answer)
            .copied()
            .unwrap_or("usual head")
            .to_owned(),
    }
}

pub(crate) const ORNAMENTS: [&str; 6] = [
    "no ornament",
    "trill",
    "mordent",
    "short trill",
    "turn",
    "inverted turn",
];

const FLAGS: [(Flag, &str); 23] = [
    (Flag::Staccato, "staccato"),
    (Flag::Tenuto, "tenuto"),
    (Flag::Accent, "accent"),
    (Flag::Marcato, "marcato"),
    (Flag::Staccatissimo, "staccatissimo"),
    (Flag::Fermata, "fermata"),
    (Flag::Tie, "tie"),
    (Flag::SlurStart, "slur begins"),
    (Flag::SlurEnd, "slur ends"),
    (Flag::Grace, "grace note"),
    (Flag::Slash, "grace slash"),
    (Flag::TupletStart, "tuplet begins"),
    (Flag::TupletEnd, "tuplet ends"),
    (Flag::Chord, "in a chord"),
    (Flag::SecondVoice, "second voice"),
    (Flag::Parentheses, "parentheses"),
    (Flag::UpBow, "up-bow"),
    (Flag::DownBow, "down-bow"),
    (Flag::Harmonic, "harmonic"),
    (Flag::Stopped, "stopped"),
    (Flag::TrillLine, "trill line"),
    (Flag::Cancel, "cancelling naturals"),
    (Flag::Arpeggio, "broken chord"),
];

/// `dotted quarter`.
pub(crate) fn length(value: usize, dots: usize) -> String {
    let name = LENGTHS.get(value).copied().unwrap_or("note");
    match dots {
        0 => name.to_owned(),
        1 => format!("dotted {name}"),
        _ => format!("double-dotted {name}"),
    }
}

fn bars(tens: usize, ones: usize) -> usize {
    (tens.saturating_sub(1) * 10 + ones.saturating_sub(1)).max(1)
}

fn metre(above: usize, below: usize) -> String {
    match NUMERATORS.get(above).copied().unwrap_or("-") {
        "C" => "C".to_owned(),
        "cut" => "cut C".to_owned(),
        number => format!("{number}/{}", DENOMINATORS.get(below).copied().unwrap_or("-")),
    }
}

fn thing(main: Main) -> String {
    match main {
        Main::Note(_) => "note".to_owned(),
        Main::Rest => "rest".to_owned(),
        Main::BarsRest => "rest of several bars".to_owned(),
        Main::BarRepeat => "sign that repeats the bar".to_owned(),
        Main::Clef(clef) => format!("{} clef", clef_of(clef).name()),
        Main::Key(0) => "key without sharps or flats".to_owned(),
        Main::Key(fifths) => {
            let what = if fifths > 0 { "sharp" } else { "flat" };
            let s = if fifths.abs() == 1 { "" } else { "s" };
            format!("key of {} {what}{s}", fifths.abs())
        }
        Main::Metre => "metre".to_owned(),
        Main::Bar(kind) => match BARS.get(kind).copied().unwrap_or("single") {
            "single" => "bar line".to_owned(),
            "double" => "double bar line".to_owned(),
            "final" => "final bar line".to_owned(),
            "rep_start" => "repeat begins".to_owned(),
            "rep_end" => "repeat ends".to_owned(),
            "rep_both" => "repeat ends and begins".to_owned(),
            _ => "dashed bar line".to_owned(),
        },
    }
}

/// A sign beside the staff by its name in the vocabulary.
#[must_use]
pub(crate) fn beside(name: &str) -> String {
    match name {
        "vend" => "end of the ending bracket".to_owned(),
        "ott_end" => "end of the ottava".to_owned(),
        "breath" => "breath mark".to_owned(),
        "caesura" => "caesura".to_owned(),
        "segno" | "coda" => name.to_owned(),
        "cresc" => "crescendo hairpin".to_owned(),
        "dim" => "diminuendo hairpin".to_owned(),
        "cresc_end" => "end of the crescendo hairpin".to_owned(),
        "dim_end" => "end of the diminuendo hairpin".to_owned(),
        "8va" | "8vb" | "15ma" | "15mb" => format!("ottava {name}"),
        name if name.starts_with('v') => format!("ending bracket {}", &name[1..]),
        name => format!("dynamic {name}"),
    }
}
