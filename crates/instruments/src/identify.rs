//! Which instrument is the part for? By its name in four languages, by its sound id, at worst by its MIDI program.

use crate::facts::{Family, Instrument};
use crate::name::{Name, pitch_name, take_apart};
use crate::table::all;
use notation::Part;

/// What gave the instrument away.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum By {
    /// The printed name, the short name or the instrument's own name.
    Name,
    /// The standard's sound id.
    Sound,
    /// The MIDI program: often a default, weak evidence.
    Midi,
}

impl By {
    /// The word used in JSON and on screen.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Sound => "sound id",
            Self::Midi => "MIDI program",
        }
    }
}

/// The pitch that the name says the instrument stands in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PitchedIn {
    /// As letters: `Bb`, `F`, `Eb`.
    pub name: String,
    /// Semitones from written to sounding by the usual custom for this kind of instrument; `None` where custom
    /// leaves two octaves open (horn in B-flat alto or basso).
    /// Source: common practice (horns sound lower, trumpets in D and above higher).
    pub semitones: Option<i8>,
}

/// The instrument of a part.
#[derive(Clone, PartialEq, Debug)]
pub struct Identified {
    /// Which.
    pub instrument: &'static Instrument,
    /// What gave it away.
    pub by: By,
    /// From 0 to 1: how far to trust it (fixed by the kind of evidence, not measured).
    pub certainty: f64,
    /// The pitch it stands in, where the name says so.
    pub pitched_in: Option<PitchedIn>,
    /// The instrument that other evidence in the file points to, where it contradicts.
    pub contradicted_by: Option<(By, &'static Instrument)>,
}

/// The instrument of a part; `None` if nothing is known (a part called "Part 1").
///
/// The printed name counts most (a person wrote it); the sound id next; the MIDI program least, and program 1 not
/// at all, since programs that write files put it where nobody chose.
#[must_use]
pub fn identify(part: &Part) -> Option<Identified> {
    let sung = part.events.iter().any(|event| !event.lyrics.is_empty());
    let stated = part.transpositions.first().map(|change| change.value.semitones());
    let hint = Hint {
        sung,
        alto_clef: part
            .clefs
            .first()
            .is_some_and(|change| change.value.code() == "C3"),
        semitones: stated.filter(|s| s.is_whole()).map(notation::Rational::num),
    };
    let by_sound = part.instrument_sound.as_deref().and_then(from_sound);
    let names = [
        Some(part.name.as_str()),
        part.instrument_name.as_deref(),
        Some(part.abbreviation.as_str()),
    ];
    let by_name = names
        .into_iter()
        .flatten()
        .find_map(|name| from_name(name, hint, by_sound));
    let by_midi = part
        .midi_program
        .filter(|program| *program > 1)
        .and_then(from_midi);
    let mut found = by_name
        .or_else(|| {
            by_sound.map(|instrument| Identified {
                instrument: refine(instrument, hint),
                by: By::Sound,
                certainty: 0.9,
                pitched_in: None,
                contradicted_by: None,
            })
        })
        .or_else(|| {
            by_midi.map(|instrument| Identified {
                instrument: refine(instrument, hint),
                by: By::Midi,
                certainty: 0.4,
                pitched_in: None,
                contradicted_by: None,
            })
        })?;
    if found.by == By::Name
        && let Some(other) = by_sound
    {
        if related(found.instrument, other) {
            found.certainty = found.certainty.max(0.98);
        } else {
            found.certainty *= 0.8;
            found.contradicted_by = Some((By::Sound, other));
        }
    }
    Some(found)
}

/// The instrument that a name alone points to.
///
/// ```
/// let found = instruments::identify_name("Klarinette in B").unwrap();
/// assert_eq!(found.instrument.id, "clarinet-bb");
/// ```
#[must_use]
pub fn identify_name(name: &str) -> Option<Identified> {
    from_name(
        name,
        Hint {
            sung: false,
            alto_clef: false,
            semitones: None,
        },
        None,
    )
}

/// What else is known when a name fits several instruments.
#[derive(Clone, Copy)]
struct Hint {
    sung: bool,
    alto_clef: bool,
    semitones: Option<i64>,
}

/// Same instrument in another size or key: what one sound id stands for.
fn related(a: &Instrument, b: &Instrument) -> bool {
    a.id == b.id
        || a.names.iter().any(|name| b.names.contains(name))
        || a.family == b.family && b.names.is_empty()
}

fn from_name(name: &str, hint: Hint, by_sound: Option<&'static Instrument>) -> Option<Identified> {
    let Name { mut words, mut pitch } = take_apart(name);
    // "Klarinette (B)", "Cl. (A)": a letter left at the end of a keyed instrument's name.
    if pitch.is_none()
        && words.len() > 1
        && let Some(last) = words.last()
        && matches!(last.as_str(), "a" | "b" | "c" | "d" | "f")
        && let Some(letters) = pitch_name(&[last], true).map(|(letters, _)| letters)
    {
        words.pop();
        pitch = Some(letters);
    }
    if words.is_empty() {
        return None;
    }
    let (fits, certainty) = best_fits(&words)?;
    let by_pitch =
        |instrument: &&'static Instrument| pitch.as_deref().is_some_and(|p| instrument.pitched_in == Some(p));
    let by_transposition = |instrument: &Instrument| {
        hint.semitones == Some(i64::from(instrument.semitones)) && instrument.pitched_in.is_some()
    };
    let single = fits.len() == 1;
    let chosen = fits
        .iter()
        .find(|i| by_pitch(i))
        .or_else(|| fits.iter().find(|i| by_transposition(i)))
        .or_else(|| {
            fits.iter()
                .find(|i| by_sound.is_some_and(|sound| sound.id == i.id))
        })
        .or_else(|| fits.iter().find(|i| hint.sung && i.family == Family::Voice))
        .or_else(|| fits.iter().find(|i| hint.alto_clef && i.id == "viola"))
        .or_else(|| fits.iter().find(|i| usual_one(i)))
        .or_else(|| fits.first())?;
    let settled =
        single || by_pitch(chosen) || by_transposition(chosen) || hint.sung && chosen.family == Family::Voice;
    let one_family = fits.iter().all(|i| i.family == chosen.family);
    let pitched_in = pitch
        .filter(|_| chosen.pitched_in.is_some())
        .map(|name| PitchedIn {
            semitones: customary(chosen, &name),
            name,
        });
    Some(Identified {
        instrument: chosen,
        by: By::Name,
        certainty: match (settled, one_family) {
            (true, _) => certainty,
            (false, true) => certainty * 0.8,
            // "Bass" may be a voice or a double bass: too little to judge a range by.
            (false, false) => certainty * 0.6,
        },
        pitched_in,
        contradicted_by: None,
    })
}

/// The commonest of several instruments that share a name.
fn usual_one(instrument: &Instrument) -> bool {
    matches!(
        instrument.id,
        "clarinet-bb" | "trumpet-bb" | "voice-alto" | "double-bass" | "voice-tenor"
    )
}

/// The instruments whose name fits best: the whole name, then the longest name in it; and how sure that is.
fn best_fits(words: &[String]) -> Option<(Vec<&'static Instrument>, f64)> {
    let whole = words.join(" ");
    let singular = whole.strip_suffix('s').unwrap_or(&whole);
    let exactly = |list: fn(&'static Instrument) -> &'static [&'static str]| -> Vec<&'static Instrument> {
        all()
            .filter(|instrument| {
                list(instrument)
                    .iter()
                    .any(|name| *name == whole || *name == singular)
            })
            .collect()
    };
    let full = exactly(|instrument| instrument.names);
    if !full.is_empty() {
        return Some((full, 0.95));
    }
    let short = exactly(|instrument| instrument.short);
    if !short.is_empty() {
        return Some((short, 0.8));
    }
    let mut longest = 0;
    let mut fits: Vec<&'static Instrument> = Vec::new();
    for instrument in all() {
        // One letter inside a longer name says nothing.
        let best = instrument
            .names
            .iter()
            .chain(instrument.short)
            .filter(|name| name.len() > 2 && contains_words(words, name))
            .map(|name| name.len())
            .max()
            .unwrap_or(0);
        if best > longest {
            longest = best;
            fits.clear();
        }
        if best > 0 && best == longest {
            fits.push(instrument);
        }
    }
    (!fits.is_empty()).then_some((fits, 0.75))
}

/// True if the words of a name stand in a row among others.
fn contains_words(words: &[String], name: &str) -> bool {
    let wanted: Vec<&str> = name.split(' ').collect();
    words
        .windows(wanted.len())
        .any(|window| window.iter().zip(&wanted).all(|(word, want)| word == want))
}

/// The instrument of a sound id: the id itself, or the nearest one above it in the standard's tree.
fn from_sound(sound: &str) -> Option<&'static Instrument> {
    // music21 writes this older form. Source: music21 10.5.1, instrument table.
    let sound = if sound == "wind.flutes.piccolo" {
        "wind.flutes.flute.piccolo"
    } else {
        sound
    };
    let mut id = match sound {
        "wind.reed.clarinet" => "wind.reed.clarinet.bflat",
        "brass.trumpet" => "brass.trumpet.bflat",
        "brass.trombone" => "brass.trombone.tenor",
        "wind.reed.saxophone" => "wind.reed.saxophone.alto",
        "wind.flutes.recorder" => "wind.flutes.recorder.alto",
        other => other,
    };
    loop {
        if let Some(found) = all().find(|instrument| instrument.sounds.contains(&id)) {
            return Some(found);
        }
        id = &id[..id.rfind('.')?];
    }
}

fn from_midi(program: u8) -> Option<&'static Instrument> {
    all()
        .filter(|instrument| instrument.midi.contains(&program))
        .max_by_key(|instrument| u8::from(usual_one(instrument)))
}

/// The size or key of the same instrument whose transposition is the one stated.
fn refine(instrument: &'static Instrument, hint: Hint) -> &'static Instrument {
    let Some(semitones) = hint.semitones else {
        return instrument;
    };
    if i64::from(instrument.semitones) == semitones {
        return instrument;
    }
    all()
        .find(|other| {
            i64::from(other.semitones) == semitones
                && other.pitched_in.is_some()
                && other.names.iter().any(|name| instrument.names.contains(name))
        })
        .unwrap_or(instrument)
}

/// Semitones from written to sounding for an instrument standing in a pitch.
fn customary(instrument: &Instrument, pitch: &str) -> Option<i8> {
    if instrument.pitched_in == Some(pitch) {
        return i8::try_from(instrument.semitones).ok();
    }
    match instrument.id {
        "horn" => Some(match pitch {
            "A" => -3,
            "Ab" => -4,
            "G" => -5,
            "F" => -7,
            "E" => -8,
            "Eb" => -9,
            "D" => -10,
            "C" => -12,
            // B flat alto or basso: the name alone does not say.
            _ => return None,
        }),
        "trumpet-bb" | "trumpet-c" | "clarinet-bb" | "clarinet-a" | "clarinet-eb" | "cornet" => {
            Some(match pitch {
                "A" => -3,
                "Bb" => -2,
                "B" => -1,
                "C" => 0,
                "Db" => 1,
                "D" => 2,
                "Eb" => 3,
                "E" => 4,
                "F" => 5,
                _ => return None,
            })
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: names on printed parts in four languages (common practice).
    #[test]
    fn names_on_parts() {
        for (name, id) in [
            ("Cl. in B♭", "clarinet-bb"),
            ("Klarinette in B", "clarinet-bb"),
            ("Klarinette in A", "clarinet-a"),
            ("Clarinet in B♭ 1", "clarinet-bb"),
            ("Bb Clarinet", "clarinet-bb"),
            ("B-flat Clarinet 2", "clarinet-bb"),
            ("Clarinette en si b", "clarinet-bb"),
            ("Clarinetto in La", "clarinet-a"),
            ("Cl. (A)", "clarinet-a"),
            ("A-Klarinette", "clarinet-a"),
            ("Es-Klarinette", "clarinet-eb"),
            ("Clarinet", "clarinet-bb"),
            ("Bass Clarinet in Bb", "bass-clarinet"),
            ("Fagott", "bassoon"),
            ("Fagotti", "bassoon"),
            ("Bassoon I", "bassoon"),
            ("Bsn.", "bassoon"),
            ("Contrabassoon", "contrabassoon"),
            ("Corno in F", "horn"),
            ("Horn in F 2", "horn"),
            ("F Horn", "horn"),
            ("Hrn.", "horn"),
            ("Cor anglais", "english-horn"),
            ("English Horn", "english-horn"),
            ("Cor en fa", "horn"),
            ("Vla.", "viola"),
            ("Bratsche", "viola"),
            ("Violoncello", "cello"),
            ("Vc.", "cello"),
            ("Violoncell", "cello"),
            ("Kontrabass", "double-bass"),
            ("Trp.", "trumpet-bb"),
            ("Trompete in C", "trumpet-c"),
            ("C Trumpet", "trumpet-c"),
            ("Sax. alto", "alto-sax"),
            ("Alto Saxophone", "alto-sax"),
            ("Altsaxophon in Es", "alto-sax"),
            ("Tenor Sax", "tenor-sax"),
            ("Posaune", "trombone-tenor"),
            ("Violin I", "violin"),
            ("Violino II", "violin"),
            ("1st Violins", "violin"),
            ("Geige", "violin"),
            ("Flöte", "flute"),
            ("Flauto traverso", "flute"),
            ("Oboi", "oboe"),
            ("Hautbois", "oboe"),
            ("Flauto piccolo", "piccolo"),
            ("Altblockflöte", "recorder-alto"),
            ("Klavier", "piano"),
            ("Soprano", "voice-soprano"),
            ("Bassus", "voice-bass"),
            ("Basset Horn", "basset-horn"),
            ("Flugelhorn", "flugelhorn"),
            ("Tuba", "tuba"),
            ("Euphonium T.C.", "euphonium"),
        ] {
            let found = identify_name(name).unwrap_or_else(|| panic!("{name} is known"));
            assert_eq!(found.instrument.id, id, "{name}");
        }
        for name in ["", "Part 1", "Sketch", "MusicXML Part", "Staff", "1"] {
            assert!(identify_name(name).is_none(), "{name}");
        }
    }

    #[test]
    fn a_natural_horn_says_what_it_stands_in() {
        let horn = identify_name("Corno in D").expect("a horn");
        let pitched_in = horn.pitched_in.expect("a pitch");
        assert_eq!((pitched_in.name.as_str(), pitched_in.semitones), ("D", Some(-10)));
        let horn = identify_name("Horn in B♭").expect("a horn");
        assert_eq!(horn.pitched_in.expect("a pitch").semitones, None);
    }

    fn part(name: &str) -> Part {
        let mut piece = notation::sketch("C4/q").expect("a sketch");
        let mut part = piece.parts.remove(0);
        part.name = name.to_owned();
        part
    }

    #[test]
    fn the_stated_transposition_tells_the_clarinets_apart() {
        let mut clarinet = part("Clarinet");
        clarinet.transpositions = notation::sketch("trans:-2,-3 C4/q").expect("a sketch").parts[0]
            .transpositions
            .clone();
        assert_eq!(identify(&clarinet).expect("known").instrument.id, "clarinet-a");
    }

    #[test]
    fn a_sound_id_is_next_best_and_a_contradiction_is_said() {
        let mut unnamed = part("Part 1");
        unnamed.instrument_sound = Some("wind.reed.bassoon".to_owned());
        let found = identify(&unnamed).expect("known");
        assert_eq!((found.instrument.id, found.by), ("bassoon", By::Sound));
        let mut both = part("Oboe");
        both.instrument_sound = Some("strings.violin".to_owned());
        let found = identify(&both).expect("known");
        assert_eq!(found.instrument.id, "oboe");
        assert_eq!(found.contradicted_by.map(|(_, other)| other.id), Some("violin"));
    }

    #[test]
    fn program_one_is_nobodys_choice() {
        let mut unnamed = part("Part 1");
        unnamed.midi_program = Some(1);
        assert!(identify(&unnamed).is_none());
        unnamed.midi_program = Some(71);
        assert_eq!(identify(&unnamed).expect("known").by, By::Midi);
    }

    #[test]
    fn an_alto_that_sings_is_a_voice() {
        let mut alto = part("Alto");
        assert!(
            identify(&alto).expect("known").certainty < 0.7,
            "a voice, perhaps"
        );
        alto.clefs[0].value = notation::Clef {
            sign: notation::ClefSign::C,
            line: 3,
            octave_change: 0,
        };
        assert_eq!(identify(&alto).expect("known").instrument.id, "viola");
        alto.events[0].lyrics.push(notation::Lyric {
            line: "1".to_owned(),
            text: "la".to_owned(),
            syllabic: String::new(),
            extend: false,
        });
        assert_eq!(identify(&alto).expect("known").instrument.id, "voice-alto");
    }
}
