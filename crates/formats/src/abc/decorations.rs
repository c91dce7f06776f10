//! What does a decoration put on the page? Names between exclamation marks, and the letters that stand for them.
//!
//! Source: ABC 2.1, sections 4.14 (decorations), 4.16 (redefinable symbols) and 4.19 (annotations); some names that
//! programs added since (`8va(`, `D.C.alfine`) are common practice.

use notation::{ArticulationKind, DirectionKind, OrnamentKind, Side, SpanKind};

/// What a decoration is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Mark {
    Articulation(ArticulationKind),
    Ornament(OrnamentKind),
    /// Name in MusicXML and text; a fingering belongs to its head.
    Technical(&'static str, &'static str),
    Fermata {
        inverted: bool,
    },
    Arpeggio,
    /// At a place rather than at a note.
    Direction(DirectionKind),
    /// Something that reaches over notes starts or ends.
    Start(Family, SpanKind),
    Stop(Family),
    /// In small print between the notes: an editor's accidental, a courtesy accidental.
    Editorial,
    Courtesy,
    /// How it is drawn or played by a computer: nothing to keep.
    Drawing,
}

/// What can be paired with what.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Family {
    Wedge,
    Ottava,
    TrillLine,
    Glissando,
    Pedal,
}

/// True for the name of a decoration that we know.
pub(super) fn is_known(name: &str) -> bool {
    mark(name).is_some()
}

/// What a name means; `None` if it is not known.
pub(super) fn mark(name: &str) -> Option<Mark> {
    exact(name).or_else(|| {
        // `!Segno!`, `!Fine!`: capitals are forgiven.
        let lower = name.to_ascii_lowercase();
        if lower == name { None } else { exact(&lower) }
    })
}

fn exact(name: &str) -> Option<Mark> {
    use ArticulationKind as A;
    use OrnamentKind as O;
    let words = |text: &str| Mark::Direction(DirectionKind::Words(text.to_owned()));
    let sign = |name: &str| {
        Mark::Direction(DirectionKind::Sign {
            name: name.to_owned(),
            text: String::new(),
        })
    };
    let tremolo = |strokes| {
        Mark::Ornament(O::Tremolo {
            strokes,
            between: false,
        })
    };
    Some(match name {
        "trill" => Mark::Ornament(O::Trill),
        "lowermordent" | "mordent" => Mark::Ornament(O::Mordent { long: false }),
        "uppermordent" | "pralltriller" => Mark::Ornament(O::InvertedMordent { long: false }),
        "roll" => Mark::Ornament(O::Other("roll".to_owned())),
        "turn" | "turnx" => Mark::Ornament(O::Turn),
        "invertedturn" | "invertedturnx" => Mark::Ornament(O::InvertedTurn),
        "/" | "trem1" => tremolo(1),
        "//" | "trem2" => tremolo(2),
        "///" | "trem3" => tremolo(3),
        "////" | "trem4" => tremolo(4),
        "arpeggio" => Mark::Arpeggio,
        ">" | "accent" | "emphasis" => Mark::Articulation(A::Accent),
        "^" | "marcato" => Mark::Articulation(A::Marcato),
        "staccato" | "." => Mark::Articulation(A::Staccato),
        "tenuto" => Mark::Articulation(A::Tenuto),
        // A filled wedge: MusicXML's staccatissimo.
        "wedge" => Mark::Articulation(A::Staccatissimo),
        "slide" => Mark::Articulation(A::Scoop),
        "breath" => Mark::Articulation(A::BreathMark("comma".to_owned())),
        "caesura" => Mark::Articulation(A::Caesura(String::new())),
        "shortphrase" | "mediumphrase" | "longphrase" => sign(name),
        "fermata" => Mark::Fermata { inverted: false },
        "invertedfermata" => Mark::Fermata { inverted: true },
        "0" => Mark::Technical("fingering", "0"),
        "1" => Mark::Technical("fingering", "1"),
        "2" => Mark::Technical("fingering", "2"),
        "3" => Mark::Technical("fingering", "3"),
        "4" => Mark::Technical("fingering", "4"),
        "5" => Mark::Technical("fingering", "5"),
        "+" | "plus" => Mark::Technical("stopped", ""),
        "snap" => Mark::Technical("snap-pizzicato", ""),
        "upbow" => Mark::Technical("up-bow", ""),
        "downbow" => Mark::Technical("down-bow", ""),
        "open" => Mark::Technical("open-string", ""),
        "thumb" => Mark::Technical("thumb-position", ""),
        "pppp" | "ppp" | "pp" | "p" | "mp" | "mf" | "f" | "ff" | "fff" | "ffff" | "sfz" | "sf" | "sfp"
        | "sffz" | "fp" | "fz" | "rf" | "rfz" | "pf" | "n" => {
            Mark::Direction(DirectionKind::Dynamic(name.to_owned()))
        }
        "crescendo(" | "<(" | "cresc(" => Mark::Start(Family::Wedge, SpanKind::Crescendo { niente: false }),
        "diminuendo(" | ">(" | "dim(" => Mark::Start(Family::Wedge, SpanKind::Diminuendo { niente: false }),
        "crescendo)" | "<)" | "diminuendo)" | ">)" | "cresc)" | "dim)" => Mark::Stop(Family::Wedge),
        "trill(" => Mark::Start(Family::TrillLine, SpanKind::TrillLine),
        "trill)" => Mark::Stop(Family::TrillLine),
        "8va(" => Mark::Start(Family::Ottava, SpanKind::Ottava { octaves: 1 }),
        "8vb(" => Mark::Start(Family::Ottava, SpanKind::Ottava { octaves: -1 }),
        "15ma(" => Mark::Start(Family::Ottava, SpanKind::Ottava { octaves: 2 }),
        "15mb(" => Mark::Start(Family::Ottava, SpanKind::Ottava { octaves: -2 }),
        "8va)" | "8vb)" | "15ma)" | "15mb)" => Mark::Stop(Family::Ottava),
        "~(" | "-(" | "glissando(" => Mark::Start(Family::Glissando, SpanKind::Glissando),
        "~)" | "-)" | "glissando)" => Mark::Stop(Family::Glissando),
        "ped(" => Mark::Start(Family::Pedal, SpanKind::Pedal),
        "ped" => Mark::Start(Family::Pedal, SpanKind::Pedal),
        "ped)" | "ped-up" => Mark::Stop(Family::Pedal),
        "segno" => Mark::Direction(DirectionKind::Segno),
        "coda" => Mark::Direction(DirectionKind::Coda),
        // The words as they are printed. Source: ABC 2.1, 4.14.
        "D.S." | "d.s." => words("D.S."),
        "D.C." | "d.c." => words("D.C."),
        "dacapo" => words("Da Capo"),
        "dacoda" => words("To Coda"),
        "fine" => words("Fine"),
        "D.C.alfine" | "d.c.alfine" => words("D.C. al Fine"),
        "D.C.alcoda" | "d.c.alcoda" => words("D.C. al Coda"),
        "D.S.alfine" | "d.s.alfine" => words("D.S. al Fine"),
        "D.S.alcoda" | "d.s.alcoda" => words("D.S. al Coda"),
        "editorial" => Mark::Editorial,
        "courtesy" => Mark::Courtesy,
        "xstem" | "beamon" | "beambr1" | "beambr2" | "beam-accel" | "beam-rall" | "stemless" | "rbstop"
        | "rbend" | "head-slash" | "cresc" | "invisible" | "trem" | "dot" | "nil" | "none" => Mark::Drawing,
        _ => return None,
    })
}

/// What a letter or sign stands for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Meaning {
    /// A decoration, by name.
    Decoration(String),
    /// An annotation or chord symbol.
    Quoted(String),
}

/// The letters' meanings where no `U:` says otherwise. Source: ABC 2.1, 4.16.
pub(super) fn usual(sign: char) -> Option<&'static str> {
    Some(match sign {
        '.' => "staccato",
        '~' => "roll",
        'H' => "fermata",
        'L' => "accent",
        'M' => "lowermordent",
        'O' => "coda",
        'P' => "uppermordent",
        'S' => "segno",
        'T' => "trill",
        'u' => "upbow",
        'v' => "downbow",
        _ => return None,
    })
}

/// Reads a `U:` field: `T = !trill!`, `p = "^+"`; the meaning is empty where the letter is to mean nothing.
pub(super) fn definition(text: &str) -> Option<(char, Option<Meaning>)> {
    let (sign, value) = text.split_once('=')?;
    let sign = sign.trim().chars().next()?;
    let value = value.trim();
    let meaning = if let Some(quoted) = value.strip_prefix('"') {
        Meaning::Quoted(
            quoted
                .strip_suffix('"')
                .unwrap_or(quoted)
                .chars()
                .take(200)
                .collect(),
        )
    } else {
        let name = value.trim_matches(['!', '+']);
        Meaning::Decoration(name.chars().take(64).collect())
    };
    let nothing =
        matches!(&meaning, Meaning::Decoration(name) if matches!(name.as_str(), "" | "nil" | "none"));
    Some((sign, if nothing { None } else { Some(meaning) }))
}

/// What a text in quotation marks is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Quoted {
    /// Words, above, below or anywhere.
    Annotation(Option<Side>, String),
    /// A chord symbol.
    Chord(String),
}

/// Reads what stands between quotation marks.
/// Source: ABC 2.1, 4.18 and 4.19: `^` above, `_` below, `<` left, `>` right, `@` free. A text without such a sign is a
/// chord symbol by the standard; where it can't be one it is words, as older files have them.
pub(super) fn quoted(text: &str) -> Quoted {
    let mut rest = text;
    let side = match rest.chars().next() {
        Some('^') => Some(Some(Side::Above)),
        Some('_') => Some(Some(Side::Below)),
        Some('<' | '>') => Some(None),
        Some('@') => {
            // `@x,y` in points.
            let end = rest
                .find(|c: char| !(c.is_ascii_digit() || matches!(c, '@' | ',' | '.' | '-' | '+')))
                .unwrap_or(rest.len());
            rest = rest.get(end.saturating_sub(1)..).unwrap_or_default();
            if end == 0 {
                rest = text;
            }
            Some(None)
        }
        _ => None,
    };
    match side {
        Some(side) => {
            let words = rest.get(1..).unwrap_or_default();
            Quoted::Annotation(side, super::text::plain(words))
        }
        None if is_chord(text.trim()) => Quoted::Chord(text.trim().to_owned()),
        None => Quoted::Annotation(Some(Side::Above), super::text::plain(text)),
    }
}

/// A chord symbol: root, kind and bass, possibly a second in parentheses.
fn is_chord(text: &str) -> bool {
    if text.len() > 40 {
        return false;
    }
    if matches!(text, "N.C." | "NC" | "N.C" | "n.c.") {
        return true;
    }
    let text = text
        .strip_prefix('(')
        .and_then(|t| t.strip_suffix(')'))
        .unwrap_or(text);
    if let Some((first, second)) = text.split_once('(')
        && let Some(second) = second.strip_suffix(')')
        && text.starts_with(|c: char| c.is_ascii_uppercase())
        && second.starts_with(|c: char| matches!(c, 'A'..='G'))
    {
        return is_chord(first.trim()) && is_chord(second);
    }
    let Some(rest) = text.strip_prefix(|c: char| matches!(c, 'A'..='G')) else {
        return false;
    };
    let rest = rest.strip_prefix(['#', 'b', '♯', '♭', '=']).unwrap_or(rest);
    let (kind, bass) = rest
        .split_once('/')
        .map_or((rest, None), |(kind, bass)| (kind, Some(bass)));
    let bass_fits = bass.is_none_or(|bass| {
        let after = bass.strip_prefix(|c: char| matches!(c, 'A'..='G' | 'a'..='g'));
        after.is_some_and(|after| matches!(after, "" | "#" | "b" | "♯" | "♭"))
            || bass.chars().all(|c| c.is_ascii_digit()) && !bass.is_empty()
    });
    bass_fits && is_kind(kind)
}

fn is_kind(kind: &str) -> bool {
    const WORDS: [&str; 16] = [
        "major", "minor", "maj", "min", "dim", "aug", "sus", "add", "alt", "omit", "no", "m", "M", "Δ", "ø",
        "o",
    ];
    let mut rest = kind;
    while !rest.is_empty() {
        if let Some(word) = WORDS.iter().find(|word| rest.starts_with(**word)) {
            rest = rest.get(word.len()..).unwrap_or_default();
            continue;
        }
        let first = rest.chars().next().unwrap_or(' ');
        if !(first.is_ascii_digit()
            || matches!(
                first,
                '+' | '-' | '#' | 'b' | '♯' | '♭' | '°' | '(' | ')' | ',' | '^'
            ))
        {
            return false;
        }
        rest = rest.get(first.len_utf8()..).unwrap_or_default();
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ABC 2.1, 4.14, the list of defined symbols.
    #[test]
    fn every_symbol_of_the_standard_is_known() {
        let all = "trill trill( trill) lowermordent uppermordent mordent pralltriller roll turn turnx invertedturn \
            invertedturnx arpeggio > accent emphasis fermata invertedfermata tenuto 0 1 2 3 4 5 + plus snap slide wedge \
            upbow downbow open thumb breath pppp ppp pp p mp mf f ff fff ffff sfz crescendo( <( crescendo) <) \
            diminuendo( >( diminuendo) >) segno coda D.S. D.C. dacoda dacapo fine shortphrase mediumphrase longphrase";
        for name in all.split_whitespace() {
            assert!(is_known(name), "{name}");
        }
        assert!(is_known("Segno"));
        assert!(!is_known("wobble"));
        for sign in ".~HLMOPSTuv".chars() {
            assert!(usual(sign).is_some_and(is_known), "{sign}");
        }
    }

    #[test]
    fn chord_symbols_and_words() {
        for text in [
            "Am7", "G", "Bb", "F#m7b5", "C/E", "Gmaj7", "Dsus4", "E+", "Adim", "G(Em)", "C6/9", "D7(b9)",
            "N.C.",
        ] {
            assert_eq!(quoted(text), Quoted::Chord(text.to_owned()), "{text}");
        }
        for text in [
            "D.C.",
            "Fine",
            "Da Capo al Fine",
            "Adagio",
            "tr",
            "4",
            "SEGUE",
            "Coda",
            "Bis",
            "DC",
            "Chorus",
            "Double",
        ] {
            assert_eq!(
                quoted(text),
                Quoted::Annotation(Some(Side::Above), text.to_owned()),
                "{text}"
            );
        }
        assert_eq!(
            quoted("_dolce"),
            Quoted::Annotation(Some(Side::Below), "dolce".to_owned())
        );
        assert_eq!(quoted("<("), Quoted::Annotation(None, "(".to_owned()));
        assert_eq!(
            quoted("@10,-5.5free"),
            Quoted::Annotation(None, "free".to_owned())
        );
        assert_eq!(quoted("@"), Quoted::Annotation(None, String::new()));
    }

    #[test]
    fn symbols_are_redefined_and_taken_away() {
        assert_eq!(
            definition("T = !turn!"),
            Some(('T', Some(Meaning::Decoration("turn".to_owned()))))
        );
        assert_eq!(
            definition("p = \"^+\""),
            Some(('p', Some(Meaning::Quoted("^+".to_owned()))))
        );
        assert_eq!(definition("T = !nil!"), Some(('T', None)));
        assert_eq!(definition("nothing"), None);
    }
}
