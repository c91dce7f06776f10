//! Which scales and chords does the piece ask for? By its key regions, and by what its sixths, sevenths and leaps do there.

use super::super::Source;
use super::super::forms::{Chord, Form};
use crate::BarSpan;
use notation::{BarIndex, KeyRegion, Pitch, Step};
use std::collections::BTreeMap;

/// Most keys for which scales are offered.
const MOST_KEYS: usize = 4;
/// A region that lasts fewer bars is passing.
const FEWEST_BARS: u32 = 2;
/// Semitones in a row that make a run worth a chromatic scale.
const CHROMATIC_RUN: usize = 5;
/// Chord notes in a row that make a broken seventh chord.
const CHORD_RUN: usize = 4;

/// A scale or chord that the piece asks for.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Asked {
    pub tonic: (Step, i8),
    pub what: What,
    /// The bars that ask for it.
    pub span: BarSpan,
    /// Why, a clause.
    pub why: String,
    /// The key it stands in: sharps (+) or flats (−).
    pub fifths: i8,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum What {
    Scale(Form),
    Chord(Chord),
}

/// What is asked for, the piece's own key first, then the others by how many bars they hold.
pub(crate) fn asked(source: &Source) -> Vec<Asked> {
    let Some(key) = &source.survey.key else {
        return Vec::new();
    };
    let Some(last) = source.last_bar() else {
        return Vec::new();
    };
    if source.ctx.line.is_empty() || key.certainty <= 0.0 {
        return Vec::new();
    }
    let whole = BarSpan::new(BarIndex(0), last);
    let minor = key.mode == "minor";
    let mut all = Vec::new();
    for (at, key) in keys(source, (key.tonic, minor), whole).into_iter().enumerate() {
        all.extend(scales_of(source, &key, at == 0));
        all.extend(chords_of(source, &key, at == 0));
    }
    all.extend(chromatic(source, key.tonic, minor));
    all
}

/// A key with the stretches of bars where it holds.
struct Key {
    tonic: (Step, i8),
    minor: bool,
    spans: Vec<BarSpan>,
}

impl Key {
    fn bars(&self) -> u32 {
        self.spans.iter().map(|span| span.to.0 - span.from.0 + 1).sum()
    }

    fn holds(&self, bar: BarIndex) -> bool {
        self.spans.iter().any(|span| span.holds(bar))
    }

    /// The longest stretch.
    fn span(&self) -> BarSpan {
        let longest = self
            .spans
            .iter()
            .max_by_key(|span| (span.to.0 - span.from.0, std::cmp::Reverse(span.from)));
        longest.copied().unwrap_or(BarSpan::new(BarIndex(0), BarIndex(0)))
    }
}

fn keys(source: &Source, own: ((Step, i8), bool), whole: BarSpan) -> Vec<Key> {
    let regions = source.survey.key.as_ref().map_or(&[][..], |key| &key.regions);
    let mut others: Vec<Key> = Vec::new();
    let mut home = Key {
        tonic: own.0,
        minor: own.1,
        spans: Vec::new(),
    };
    for region in regions {
        let span = BarSpan::new(region.from, region.to);
        let (tonic, minor) = of_region(region);
        if (tonic, minor) == own {
            home.spans.push(span);
            continue;
        }
        match others
            .iter_mut()
            .find(|key| (key.tonic, key.minor) == (tonic, minor))
        {
            Some(known) => known.spans.push(span),
            None => others.push(Key {
                tonic,
                minor,
                spans: vec![span],
            }),
        }
    }
    if home.spans.is_empty() {
        home.spans.push(whole);
    }
    others.retain(|key| key.bars() >= FEWEST_BARS);
    others.sort_by_key(|key| std::cmp::Reverse(key.bars()));
    let mut all = vec![home];
    all.extend(others);
    all.truncate(MOST_KEYS);
    all
}

fn of_region(region: &KeyRegion) -> ((Step, i8), bool) {
    (region.tonic, region.mode == "minor")
}

/// The scales of a key: in minor in the forms that its sixths and sevenths have here; the mode where the survey found one.
fn scales_of(source: &Source, key: &Key, own: bool) -> Vec<Asked> {
    let found = source.survey.key.as_ref().map_or("", |key| key.scale);
    let mode = Form::ALL.into_iter().find(|form| form.id() == found);
    let mode = mode.filter(|form| own && !matches!(form, Form::Major));
    let name = |steps: i32, raised: i64| {
        let root = Pitch::new(key.tonic.0, key.tonic.1, 4);
        Form::NaturalMinor
            .note(root, steps, true)
            .transposed(0, notation::Rational::whole(raised))
            .class_sign()
    };
    let mut all: Vec<(Form, String)> = Vec::new();
    if let Some(mode) = mode {
        all.push((mode, "the piece's own mode".to_owned()));
    } else if !key.minor {
        all.push((Form::Major, why_key(source, key, own)));
    } else {
        let seen = sixths_and_sevenths(source, key);
        let raised = (seen[1] > 0, seen[3] > 0);
        match raised {
            (true, true) => {
                all.push((
                    Form::MelodicMinor,
                    format!("{} and {} come raised", name(5, 1), name(6, 1)),
                ));
                if seen[0] > 0 {
                    all.push((
                        Form::HarmonicMinor,
                        format!("{} comes beside the raised {} as well", name(5, 0), name(6, 1)),
                    ));
                }
            }
            (false, true) => all.push((
                Form::HarmonicMinor,
                format!("the seventh is raised to {}", name(6, 1)),
            )),
            (_, false) if seen[2] > 0 || found == "aeolian" && own => {
                all.push((Form::NaturalMinor, format!("the seventh stays {}", name(6, 0))))
            }
            _ => all.push((Form::HarmonicMinor, why_key(source, key, own))),
        }
    }
    all.into_iter()
        .map(|(form, why)| Asked {
            tonic: key.tonic,
            what: What::Scale(form),
            span: key.span(),
            why,
            fifths: form.signature(key.tonic),
        })
        .collect()
}

fn why_key(source: &Source, key: &Key, own: bool) -> String {
    if own {
        "the piece's own key".to_owned()
    } else {
        format!("{} lean to it", source.bars_said(key.span()))
    }
}

/// How often the sixth comes low and raised, the seventh low and raised.
fn sixths_and_sevenths(source: &Source, key: &Key) -> [usize; 4] {
    let root = Pitch::new(key.tonic.0, key.tonic.1, 4);
    let of = |letters: i32, form: Form| {
        let pitch = form.note(root, letters, true);
        (pitch.step, pitch.alter)
    };
    let wanted = [
        of(5, Form::NaturalMinor),
        of(5, Form::MelodicMinor),
        of(6, Form::NaturalMinor),
        of(6, Form::MelodicMinor),
    ];
    let mut counts = [0; 4];
    for pitch in pitches_in(source, key).map(|(_, pitch)| pitch) {
        for (count, wanted) in counts.iter_mut().zip(wanted) {
            if (pitch.step, pitch.alter) == wanted {
                *count += 1;
            }
        }
    }
    counts
}

/// The notes of the line in a key's bars, with their place in the line.
fn pitches_in<'a>(source: &'a Source, key: &'a Key) -> impl Iterator<Item = (usize, Pitch)> + 'a {
    source.ctx.line.iter().enumerate().filter_map(move |(at, note)| {
        let event = source.ctx.event(note)?;
        key.holds(event.place.bar).then_some((at, note.pitch))
    })
}

/// The tonic chord, and seventh chords that the line breaks.
fn chords_of(source: &Source, key: &Key, own: bool) -> Vec<Asked> {
    let tonic_chord = if key.minor { Chord::Minor } else { Chord::Major };
    let form = if key.minor {
        Form::HarmonicMinor
    } else {
        Form::Major
    };
    let fifths = form.signature(key.tonic);
    let one = |root: (Step, i8), chord, span, why| Asked {
        tonic: root,
        what: What::Chord(chord),
        span,
        why,
        fifths,
    };
    let mut all = vec![one(
        key.tonic,
        tonic_chord,
        key.span(),
        if own {
            "the tonic chord".to_owned()
        } else {
            format!("the tonic chord of {}", source.bars_said(key.span()))
        },
    )];
    let root = Pitch::new(key.tonic.0, key.tonic.1, 4);
    let class = |pitch: Pitch| pitch.whole_alter().map(|alter| (pitch.step, alter));
    let dominant = class(form.note(root, 4, true));
    let leading = class(form.note(root, 6, true));
    for (chord, on) in [
        (Chord::DominantSeventh, dominant),
        (Chord::DiminishedSeventh, leading),
    ] {
        let Some(on) = on else { continue };
        if let Some(bar) = broken(source, key, on, chord) {
            let span = BarSpan::new(bar, bar);
            all.push(one(
                on,
                chord,
                span,
                format!("the line breaks it in {}", source.bars_said(span)),
            ));
        }
    }
    all
}

/// The first bar in which the line goes through a seventh chord: enough of its notes in a row, the seventh among them, by leap.
fn broken(source: &Source, key: &Key, root: (Step, i8), chord: Chord) -> Option<BarIndex> {
    let base = Pitch::new(root.0, root.1, 4);
    let classes: Vec<(Step, notation::Alter)> = (0..4)
        .map(|above| chord.note(base, above))
        .map(|pitch| (pitch.step, pitch.alter))
        .collect();
    let mut run: Vec<(usize, Pitch)> = Vec::new();
    let mut notes: BTreeMap<usize, Pitch> = pitches_in(source, key).collect();
    let last = notes.keys().last().copied()?;
    // A note past the end closes the last run.
    notes.insert(last + 2, base.transposed(1, notation::Rational::ONE));
    for (at, pitch) in notes {
        let of_chord = classes.contains(&(pitch.step, pitch.alter));
        let follows = run.last().is_none_or(|(before, _)| before + 1 == at);
        if of_chord && follows {
            run.push((at, pitch));
            continue;
        }
        let whole = classes
            .iter()
            .all(|class| run.iter().any(|(_, pitch)| (pitch.step, pitch.alter) == *class));
        if run.len() >= CHORD_RUN && whole {
            let note = source.ctx.line.get(run.first()?.0)?;
            return Some(source.ctx.event(note)?.place.bar);
        }
        run.clear();
        if of_chord {
            run.push((at, pitch));
        }
    }
    None
}

/// A chromatic scale where the line runs in semitones.
fn chromatic(source: &Source, tonic: (Step, i8), minor: bool) -> Option<Asked> {
    let mut run = 1;
    let mut way = 0;
    for (index, pair) in source.ctx.line.windows(2).enumerate() {
        let [one, two] = pair else { continue };
        let moved = two.pitch.key_number() - one.pitch.key_number();
        run = if moved.abs() == 1 && (moved == way || run == 1) {
            run + 1
        } else {
            1
        };
        way = moved;
        if run >= CHROMATIC_RUN {
            let event = source.ctx.event(source.ctx.line.get(index + 1)?)?;
            let span = BarSpan::new(event.place.bar, event.place.bar);
            let form = if minor { Form::HarmonicMinor } else { Form::Major };
            return Some(Asked {
                tonic,
                what: What::Scale(Form::Chromatic),
                span,
                why: format!("the line runs in semitones in {}", source.bars_said(span)),
                fifths: form.signature(tonic),
            });
        }
    }
    None
}
