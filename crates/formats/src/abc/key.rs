//! What does a `K:` field say? Tonic and mode, accidentals added to the signature, and what belongs to the staff.
//!
//! Source: ABC 2.1, sections 3.1.14 (key) and 4.6 (clefs and transposition).

use super::clef::StaffWords;
use notation::{Alter, KeySignature, Rational, Step};

/// A key as a `K:` field says it.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Key {
    /// The signature; `None` where the field only changes the clef or the like.
    pub signature: Option<KeySignature>,
    /// False for `HP`: in force, but not printed.
    pub hidden: bool,
    /// Clef, octave, transposition, staff lines.
    pub staff: StaffWords,
    /// Words that are nothing of this.
    pub unknown: Vec<String>,
}

/// Reads the value of a `K:` field.
pub(super) fn key(text: &str) -> Key {
    let mut key = Key::default();
    let mut words = words(text).into_iter().peekable();
    if words.peek().is_none() {
        key.signature = Some(KeySignature::of_fifths(0));
        return key;
    }
    let first = words.peek().copied().unwrap_or_default();
    let mut listed: Option<Vec<(Step, Alter)>> = None;
    let mut explicit = false;
    if let Some(tonic) = tonic(first) {
        words.next();
        let (step, alter, rest) = tonic;
        let mut said = rest;
        if said.is_empty()
            && let Some(next) = words.peek().copied()
            && mode(next).is_some()
        {
            said = next;
            words.next();
        }
        // `Dphr^f`, `D=c`: accidentals without a space.
        let (mode_said, added) = said.split_at(said.find(['^', '_', '=']).unwrap_or(said.len()));
        said = mode_said;
        if !added.is_empty() && !add_accidentals(added, &mut listed) {
            key.unknown.push(added.to_owned());
        }
        if said.to_ascii_lowercase().starts_with("exp") {
            explicit = true;
            key.signature = Some(KeySignature::of_fifths(0));
        } else {
            match mode(said) {
                Some((name, offset)) => {
                    let fifths = step.fifths() + 7 * alter + offset;
                    key.signature = Some(KeySignature {
                        fifths: i8::try_from(fifths).ok(),
                        listed: Vec::new(),
                        declared_mode: Some(name.to_owned()),
                    });
                }
                None => {
                    key.signature = Some(major(step, alter));
                    key.unknown.push(said.to_owned());
                }
            }
        }
    } else {
        match first {
            // Source: ABC 2.1, 3.1.14: the pipes' scale has F and C sharp; `HP` prints no signature, `Hp` does.
            "HP" | "Hp" => {
                key.signature = Some(KeySignature::of_fifths(2));
                key.hidden = first == "HP";
                words.next();
            }
            _ if first.eq_ignore_ascii_case("none") => {
                key.signature = Some(KeySignature::of_fifths(0));
                words.next();
            }
            _ => {}
        }
    }
    for word in words {
        let lower = word.to_ascii_lowercase();
        if word.starts_with(['^', '_', '=']) && add_accidentals(word, &mut listed) {
            continue;
        }
        if lower == "exp" || lower == "explicit" {
            explicit = true;
            key.signature = Some(KeySignature::of_fifths(0));
        } else if !key.staff.take(word) {
            key.unknown.push(word.to_owned());
        }
    }
    if let Some(added) = listed {
        let base = key.signature.take().unwrap_or_else(|| KeySignature::of_fifths(0));
        key.signature = Some(changed(&base, &added, explicit));
    }
    key
}

/// The words of a field; `name = value` with spaces around the sign is one word, quotes hold words together.
pub(super) fn words(text: &str) -> Vec<&str> {
    let bytes = text.as_bytes();
    let mut words = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        while bytes.get(at).is_some_and(u8::is_ascii_whitespace) {
            at += 1;
        }
        let start = at;
        let mut quoted = false;
        while let Some(byte) = bytes.get(at) {
            match byte {
                b'"' => quoted = !quoted,
                b' ' | b'\t' if !quoted => {
                    // Only a name before a sign, not an accidental, goes on behind spaces.
                    let ahead = bytes.get(at..).unwrap_or_default().trim_ascii_start();
                    let named = at - start > 1 && bytes.get(start).is_some_and(u8::is_ascii_alphabetic);
                    let after_sign = bytes.get(at - 1) == Some(&b'=') && named;
                    let before_sign = ahead.first() == Some(&b'=')
                        && named
                        && ahead.get(1).is_none_or(|b| {
                            !matches!(b, b'a'..=b'g' | b'A'..=b'G')
                                || ahead.get(2).is_some_and(u8::is_ascii_alphabetic)
                        });
                    if !(after_sign || before_sign) {
                        break;
                    }
                }
                _ => {}
            }
            at += 1;
        }
        if at > start {
            words.extend(text.get(start..at));
        }
    }
    words
}

/// A tonic at the start of a word: letter, sharp or flat, and what follows it.
fn tonic(word: &str) -> Option<(Step, i32, &str)> {
    let first = word.chars().next().filter(char::is_ascii_uppercase)?;
    let step = Step::from_letter(first)?;
    let rest = word.get(1..)?;
    let (alter, rest) = if let Some(rest) = rest.strip_prefix(['#', '♯']) {
        (1, rest)
    } else if let Some(rest) = rest.strip_prefix('♭') {
        (-1, rest)
    } else if let Some(rest) = rest.strip_prefix('b').filter(|rest| !rest.starts_with("ass")) {
        (-1, rest)
    } else {
        (0, rest)
    };
    let said = rest.split(['^', '_', '=']).next().unwrap_or_default();
    let clean = mode(said).is_some() || said.to_ascii_lowercase().starts_with("exp");
    clean.then_some((step, alter, rest))
}

/// A mode by its first three letters, with its distance from major in fifths; the name is that of MusicXML.
/// Source: ABC 2.1, table of keys: major, minor −3, mixolydian −1, dorian −2, phrygian −4, lydian +1, locrian −5.
fn mode(text: &str) -> Option<(&'static str, i32)> {
    let lower: String = text.chars().take(4).collect::<String>().to_ascii_lowercase();
    if !text.chars().all(char::is_alphabetic) {
        return None;
    }
    Some(match lower.get(..lower.len().min(3))? {
        "" | "maj" => ("major", 0),
        "m" | "min" => ("minor", -3),
        "ion" => ("ionian", 0),
        "aeo" => ("aeolian", -3),
        "mix" => ("mixolydian", -1),
        "dor" => ("dorian", -2),
        "phr" => ("phrygian", -4),
        "lyd" => ("lydian", 1),
        "loc" => ("locrian", -5),
        _ => return None,
    })
}

fn major(step: Step, alter: i32) -> KeySignature {
    KeySignature {
        fifths: i8::try_from(step.fifths() + 7 * alter).ok(),
        listed: Vec::new(),
        declared_mode: Some("major".to_owned()),
    }
}

/// Accidentals like `^f`, `_b=c`; false if the word is something else.
fn add_accidentals(word: &str, listed: &mut Option<Vec<(Step, Alter)>>) -> bool {
    let mut found = Vec::new();
    let mut rest = word;
    while !rest.is_empty() {
        let Some((alter, taken)) = accidental(rest) else {
            return false;
        };
        let Some(letter) = rest.get(taken..).and_then(|rest| rest.chars().next()) else {
            return false;
        };
        let Some(step) = Step::from_letter(letter) else {
            return false;
        };
        found.push((step, alter));
        rest = rest.get(taken + 1..).unwrap_or_default();
    }
    listed.get_or_insert_with(Vec::new).extend(found);
    true
}

/// An accidental at the start of a text: its alteration and how many bytes it takes.
/// Microtones as fractions of a semitone (`^/`, `_3/2`) are a common extension of the standard.
pub(super) fn accidental(text: &str) -> Option<(Alter, usize)> {
    let bytes = text.as_bytes();
    let sign = *bytes.first()?;
    let unit = match sign {
        b'^' => 1,
        b'_' => -1,
        b'=' => return Some((Rational::ZERO, 1)),
        _ => return None,
    };
    let mut at = 1;
    if bytes.get(1) == Some(&sign) {
        return Some((Rational::whole(2 * unit), 2));
    }
    let digits = |from: usize| {
        bytes
            .get(from..)
            .unwrap_or_default()
            .iter()
            .take(3)
            .take_while(|b| b.is_ascii_digit())
            .count()
    };
    let number = |from: usize, count: usize| text.get(from..from + count).and_then(|n| n.parse::<i64>().ok());
    let above = digits(at);
    if bytes.get(at + above) == Some(&b'/') {
        let num = if above == 0 { 1 } else { number(at, above)? };
        at += above + 1;
        let below = digits(at);
        let den = if below == 0 { 2 } else { number(at, below)? };
        at += below;
        let alter = Rational::new(unit * num, den);
        let usable = !alter.is_overflow() && alter.abs() <= Rational::whole(4);
        return usable.then_some((alter, at));
    }
    Some((Rational::whole(unit), 1))
}

/// A signature with accidentals added; a traditional one where it comes out as one.
fn changed(base: &KeySignature, added: &[(Step, Alter)], explicit: bool) -> KeySignature {
    let mut listed = if explicit { Vec::new() } else { base.altered() };
    for (step, alter) in added {
        match listed.iter_mut().find(|(known, _)| known == step) {
            Some(known) => known.1 = *alter,
            None => listed.push((*step, *alter)),
        }
    }
    listed.retain(|(_, alter)| !alter.is_zero());
    let traditional = (-7..=7).map(KeySignature::of_fifths).find(|signature| {
        let mut altered = signature.altered();
        altered.len() == listed.len() && {
            altered.retain(|known| !listed.contains(known));
            altered.is_empty()
        }
    });
    match traditional {
        Some(signature) => KeySignature {
            // The declared mode no longer fits a signature that was changed.
            declared_mode: base
                .declared_mode
                .clone()
                .filter(|_| signature.fifths == base.fifths),
            ..signature
        },
        None => KeySignature {
            fifths: None,
            listed,
            declared_mode: None,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fifths(text: &str) -> Option<i8> {
        key(text).signature.and_then(|signature| signature.fifths)
    }

    /// Source: ABC 2.1, section 3.1.14, the table of keys, one column after the other.
    #[test]
    fn the_standards_table_of_keys() {
        let rows = [
            (7, "C# A#m G#Mix D#Dor E#Phr F#Lyd B#Loc"),
            (6, "F# D#m C#Mix G#Dor A#Phr BLyd E#Loc"),
            (5, "B G#m F#Mix C#Dor D#Phr ELyd A#Loc"),
            (4, "E C#m BMix F#Dor G#Phr ALyd D#Loc"),
            (3, "A F#m EMix BDor C#Phr DLyd G#Loc"),
            (2, "D Bm AMix EDor F#Phr GLyd C#Loc"),
            (1, "G Em DMix ADor BPhr CLyd F#Loc"),
            (0, "C Am GMix DDor EPhr FLyd BLoc"),
            (-1, "F Dm CMix GDor APhr BbLyd ELoc"),
            (-2, "Bb Gm FMix CDor DPhr EbLyd ALoc"),
            (-3, "Eb Cm BbMix FDor GPhr AbLyd DLoc"),
            (-4, "Ab Fm EbMix BbDor CPhr DbLyd GLoc"),
            (-5, "Db Bbm AbMix EbDor FPhr GbLyd CLoc"),
            (-6, "Gb Ebm DbMix AbDor BbPhr CbLyd FLoc"),
            (-7, "Cb Abm GbMix DbDor EbPhr FbLyd BbLoc"),
        ];
        for (sharps, names) in rows {
            for name in names.split(' ') {
                assert_eq!(fifths(name), Some(sharps), "{name}");
                assert!(key(name).unknown.is_empty(), "{name}");
            }
        }
    }

    #[test]
    fn spellings_of_one_key() {
        for text in ["F#mix", "F# mixolydian", "F#MIX", "F# Mixdum", "F#mIx treble"] {
            assert_eq!(fifths(text), Some(5), "{text}");
        }
        for text in [
            "",
            "none",
            "NONE",
            "C",
            "C maj",
            "C Ionian",
            "Am",
            "A minor",
            "A Min",
            "Aaeo",
            "none clef=bass",
        ] {
            assert_eq!(fifths(text), Some(0), "{text}");
        }
        assert_eq!(key("clef=bass").signature, None);
        assert_eq!(key("bass").signature, None);
        assert_eq!(key("Bb bass").signature.and_then(|k| k.fifths), Some(-2));
        let mode = |text: &str| key(text).signature.and_then(|k| k.declared_mode);
        assert_eq!(mode("D").as_deref(), Some("major"));
        assert_eq!(mode("Edor").as_deref(), Some("dorian"));
        assert_eq!(mode("none"), None);
        let pipes = key("HP");
        assert_eq!(
            (pipes.signature.and_then(|k| k.fifths), pipes.hidden),
            (Some(2), true)
        );
        assert!(!key("Hp").hidden);
        assert_eq!(key("G swing").unknown, ["swing"]);
    }

    /// Source: ABC 2.1, 3.1.14: `K:D Phr ^f` has two flats and a sharp; `K:D =c` is D mixolydian.
    #[test]
    fn accidentals_added_to_a_signature() {
        let listed = |text: &str| key(text).signature.map(|k| k.name());
        assert_eq!(listed("D Phr ^f").as_deref(), Some("B♭ E♭ F♯ (non-traditional)"));
        assert_eq!(
            listed("D exp _b _e ^f").as_deref(),
            Some("B♭ E♭ F♯ (non-traditional)")
        );
        assert_eq!(listed("Dphr^f").as_deref(), Some("B♭ E♭ F♯ (non-traditional)"));
        assert_eq!(fifths("D=c"), Some(1));
        assert_eq!(fifths("D =c"), Some(1));
        assert_eq!(fifths("D maj =c"), Some(1));
        assert_eq!(fifths("C exp ^f ^c"), Some(2));
        assert_eq!(listed("C ^^f").as_deref(), Some("F𝄪 (non-traditional)"));
        assert_eq!(listed("C _3/2b").as_deref(), Some("B(-3/2) (non-traditional)"));
    }
}
