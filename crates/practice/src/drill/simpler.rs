//! How do the bars read with something left out? Without ornaments, without slurs, the attacks alone, the rhythm alone.

use super::Source;
use super::draft::{Passage, Sounded, Tone};
use instruments::Family;
use notation::{ArticulationKind, HeadNote, Pitch, SpanKind};

/// Without ornament signs, trill lines, small notes and arpeggio signs.
pub(crate) fn without_ornaments(mut passage: Passage) -> Passage {
    passage.reaches.retain(|reach| reach.kind != SpanKind::TrillLine);
    for tone in passage.tones_mut() {
        tone.ornaments.clear();
        tone.graces.clear();
        tone.arpeggio = None;
    }
    passage
}

/// True if there is an ornament to leave out.
pub(crate) fn has_ornaments(passage: &Passage) -> bool {
    let lines = passage
        .reaches
        .iter()
        .any(|reach| reach.kind == SpanKind::TrillLine);
    lines
        || passage
            .tones()
            .any(|tone| !tone.ornaments.is_empty() || !tone.graces.is_empty() || tone.arpeggio.is_some())
}

/// True if there is a slur over notes to leave out.
pub(crate) fn has_slurs(passage: &Passage) -> bool {
    passage.reaches.iter().any(|reach| reach.kind == SpanKind::Slur)
}

/// The rhythm on one pitch: values, rests and ties, nothing else.
pub(crate) fn rhythm_only(passage: &Passage, on: HeadNote) -> Passage {
    let mut plain = passage.clone();
    plain.reaches.clear();
    for tone in plain.tones_mut() {
        let beams = std::mem::take(&mut tone.beams);
        *tone = one_head(tone.bare(), on);
        tone.beams = beams;
    }
    one_staff(&mut plain);
    plain
}

/// The attacks on one note: what is slurred is held through, articulation stays.
pub(crate) fn attacks_only(passage: &Passage, on: HeadNote) -> Passage {
    let mut attacks = passage.clone();
    let slurs: Vec<(u32, u32)> = slurs(passage);
    attacks.reaches.clear();
    let mut before: Option<u32> = None;
    let mut holds: Vec<u32> = Vec::new();
    for tone in passage.tones() {
        if let Some(earlier) = before.filter(|_| tone.is_note())
            && !struck_again(tone)
            && slurs
                .iter()
                .any(|(from, to)| *from <= earlier && tone.mark <= *to)
        {
            holds.push(earlier);
        }
        before = tone.is_note().then_some(tone.mark);
    }
    for tone in attacks.tones_mut() {
        let marks = std::mem::take(&mut tone.articulations);
        let beams = std::mem::take(&mut tone.beams);
        let held = holds.contains(&tone.mark);
        *tone = one_head(tone.bare(), on);
        tone.articulations = marks.into_iter().filter(|mark| !mark.kind.is_break()).collect();
        tone.beams = beams;
        tone.tied |= held;
    }
    one_staff(&mut attacks);
    attacks
}

fn slurs(passage: &Passage) -> Vec<(u32, u32)> {
    passage
        .reaches
        .iter()
        .filter(|reach| reach.kind == SpanKind::Slur)
        .map(|reach| (reach.from, reach.to))
        .collect()
}

/// Under a slur such notes are begun anew (portato). Source: common practice; dots or lines under a slur.
fn struck_again(tone: &Tone) -> bool {
    tone.articulations.iter().any(|mark| {
        matches!(
            mark.kind,
            ArticulationKind::Staccato
                | ArticulationKind::Staccatissimo
                | ArticulationKind::Tenuto
                | ArticulationKind::Portato
                | ArticulationKind::Spiccato
        )
    })
}

fn one_head(mut tone: Tone, on: HeadNote) -> Tone {
    if tone.is_note() {
        tone.heads = vec![Sounded {
            note: on,
            courtesy: false,
            technical: Vec::new(),
            shape: None,
        }];
    }
    tone
}

/// On one pitch no clef or key changes.
fn one_staff(passage: &mut Passage) {
    let Some(first) = passage.bars.first() else { return };
    let (clef, key) = (first.clef, first.key.clone());
    for bar in &mut passage.bars {
        bar.clef = clef;
        bar.key.clone_from(&key);
        bar.clefs.clear();
        bar.keys.clear();
        bar.dynamics.clear();
    }
}

/// The note on which a rhythm or attacks are practised: the passage's own most frequent one that is comfortable, an open
/// string near it for strings.
pub(crate) fn one_note(source: &Source, passage: &Passage) -> Option<HeadNote> {
    let pitches: Vec<Pitch> = passage.tones().filter_map(Tone::top).collect();
    let Some(middle) = median(&pitches) else {
        // Percussion without pitch: the place of its first note.
        return passage
            .tones()
            .flat_map(|tone| tone.heads.first())
            .map(|head| head.note)
            .next();
    };
    let instrument = source.study.player.instrument;
    if instrument.is_some_and(|instrument| instrument.family == Family::String) {
        let strings = instrument
            .map(instruments::Instrument::open_strings)
            .unwrap_or_default();
        // An open string of the key rather than one that needs an accidental.
        let key = passage
            .bars
            .first()
            .map(|bar| bar.key.clone())
            .unwrap_or_default();
        let near = strings.into_iter().min_by_key(|string| {
            let foreign = key.alter_of(string.step) != string.alter;
            (foreign, (string.key_number() - middle.key_number()).abs())
        });
        if let Some(string) = near {
            return Some(HeadNote::Pitch(string));
        }
    }
    let comfortable = source.range().map(|(low, high)| {
        // A third of the compass away from both ends nothing is strained.
        let third = (high.key_number() - low.key_number()) / 4;
        (low.key_number() + third, high.key_number() - third)
    });
    let times = |pitch: &Pitch| pitches.iter().filter(|other| *other == pitch).count();
    let inside =
        |pitch: &&Pitch| comfortable.is_none_or(|(low, high)| (low..=high).contains(&pitch.key_number()));
    let best = pitches
        .iter()
        .filter(inside)
        .max_by_key(|pitch| (times(pitch), std::cmp::Reverse(pitch.key_number())));
    Some(HeadNote::Pitch(best.copied().unwrap_or(middle)))
}

fn median(pitches: &[Pitch]) -> Option<Pitch> {
    let mut sorted = pitches.to_vec();
    sorted.sort();
    sorted.get(sorted.len() / 2).copied()
}
