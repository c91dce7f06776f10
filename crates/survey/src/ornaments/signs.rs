//! Where does each ornament sign stand, and which notes does it use there?

use crate::Context;
use notation::{
    Event, Finding, Id, KeyRegion, Ornament, OrnamentKind, Pitch, Place, Severity, Side, SpanKind,
};
use performance::ornament::{LiveAccidentals, LocalKey, OrnamentNotes, Reason, Surroundings, realise};
use std::collections::{BTreeMap, BTreeSet};

/// One ornament on the page, with its notes.
#[derive(Clone, PartialEq, Debug)]
pub struct OrnamentFound {
    /// Where.
    pub place: Place,
    /// The note that carries it.
    pub element: Id,
    /// The pitch of that note, as written.
    pub main: Pitch,
    /// The notes it uses and why, with other readings.
    pub realised: OrnamentNotes,
    /// Accidentals printed above the sign, by the standard's name.
    pub above: Vec<String>,
    /// Accidentals printed below the sign.
    pub below: Vec<String>,
    /// A wavy line draws it on to here.
    pub until: Option<Place>,
}

impl OrnamentFound {
    /// True if the page can be read in two ways: local key and signature disagree.
    #[must_use]
    pub fn doubtful(&self) -> bool {
        let neighbours = [&self.realised.upper, &self.realised.lower];
        neighbours
            .into_iter()
            .flatten()
            .any(|neighbour| !neighbour.others.is_empty())
    }

    /// In words: `trill on D5 with E♭5`.
    #[must_use]
    pub fn says(&self) -> String {
        let notes: Vec<String> = self.realised.notes.iter().map(|pitch| pitch.sign()).collect();
        let why = if self.realised.why.is_empty() {
            String::new()
        } else {
            format!(" ({})", self.realised.why)
        };
        format!(
            "{} on {}: {}{why}",
            self.realised.mark,
            self.main.sign(),
            notes.join(" ")
        )
    }
}

pub(super) fn ornaments(ctx: &Context, regions: &[KeyRegion]) -> Vec<OrnamentFound> {
    let lines = Lines::of(ctx);
    let mut found = Vec::new();
    // The last note of each voice that shakes, to know a tied continuation.
    let mut shaking: BTreeMap<u16, (Id, BTreeSet<(i8, notation::Step)>)> = BTreeMap::new();
    let mut live = LiveAccidentals::default();
    let mut open_tremolos: BTreeSet<u16> = BTreeSet::new();
    for event in ctx.part.events.iter().filter(|event| event.is_note()) {
        let tied_on = !event.is_grace() && event.heads().iter().all(|head| head.tie_stop);
        let continues = tied_on && shaking.contains_key(&event.voice);
        let mut signs: Vec<Ornament> = event.ornaments.clone();
        let shakes = signs.iter().any(|sign| is_shake(&sign.kind));
        let line = lines.starts.get(&event.id).copied();
        if shakes || lines.covers(event) {
            // The wavy line belongs to the sign, or to the line's own start.
            signs.retain(|sign| sign.kind != OrnamentKind::WavyLine);
        }
        let wavy = signs.iter().any(|sign| sign.kind == OrnamentKind::WavyLine);
        if line.is_some() && !shakes && !wavy {
            signs.push(Ornament {
                kind: OrnamentKind::WavyLine,
                side: None,
                accidentals: vec![],
            });
        }
        let trills = signs.iter().any(|sign| is_trill(&sign.kind));
        if continues {
            // Over a tie the sign or line only goes on.
            signs.retain(|sign| !is_trill(&sign.kind));
        }
        for sign in &signs {
            let Some(main) = event.top_pitch() else { continue };
            let around = live.around(ctx.part, event, local_key(regions, event));
            let mut ornament = one(event, main, sign, line.flatten(), &around);
            if matches!(sign.kind, OrnamentKind::Tremolo { between: true, .. }) {
                if open_tremolos.remove(&event.voice) {
                    // The second note of the pair carries the sign too.
                    continue;
                }
                open_tremolos.insert(event.voice);
                ornament.realised.notes.extend(next_pitch(ctx, event));
            }
            found.push(ornament);
        }
        live.hear(ctx.part, event);
        if !event.is_grace() {
            if trills || continues {
                let slots = event.pitches().map(|pitch| (pitch.octave, pitch.step)).collect();
                shaking.insert(event.voice, (event.id, slots));
            } else {
                shaking.remove(&event.voice);
            }
        }
    }
    found
}

/// The next note of the same voice, in the same bar or the next: the partner of a tremolo between two notes.
fn next_pitch(ctx: &Context, event: &Event) -> Option<Pitch> {
    let bars = [event.place.bar, event.place.bar.next()];
    let mut later = bars
        .into_iter()
        .flat_map(|bar| ctx.part.bar_events(bar))
        .skip_while(|other| other.id != event.id);
    later.next();
    later
        .find(|other| other.voice == event.voice && other.is_note() && !other.is_grace())
        .and_then(Event::top_pitch)
}

fn is_shake(kind: &OrnamentKind) -> bool {
    matches!(kind, OrnamentKind::Trill | OrnamentKind::Shake)
}

fn is_trill(kind: &OrnamentKind) -> bool {
    is_shake(kind) || *kind == OrnamentKind::WavyLine
}

/// The key found for the passage in which an event stands.
fn local_key(regions: &[KeyRegion], event: &Event) -> Option<LocalKey> {
    let bar = event.place.bar;
    let here = regions
        .iter()
        .find(|region| region.from <= bar && bar <= region.to);
    here.map(LocalKey::from)
}

fn one(
    event: &Event,
    main: Pitch,
    sign: &Ornament,
    until: Option<Place>,
    around: &Surroundings,
) -> OrnamentFound {
    let signs = |side: Side| -> Vec<String> {
        let here = sign.accidentals.iter().filter(|(_, at)| *at == side);
        here.map(|(name, _)| name.clone()).collect()
    };
    OrnamentFound {
        place: event.place,
        element: event.id,
        main,
        realised: realise(sign, main, around),
        above: signs(Side::Above),
        below: signs(Side::Below),
        until: until.filter(|_| is_trill(&sign.kind)),
    }
}

/// Wavy lines drawn as spans: where each starts (by event) and ends, and what they cover.
struct Lines {
    starts: BTreeMap<Id, Option<Place>>,
    covered: Vec<(Place, Place)>,
}

impl Lines {
    fn of(ctx: &Context) -> Self {
        let mut lines = Self {
            starts: BTreeMap::new(),
            covered: Vec::new(),
        };
        for span in ctx
            .part
            .spans
            .iter()
            .filter(|span| span.kind == SpanKind::TrillLine)
        {
            let Some(start) = span.start else { continue };
            let end = span.end.map(|end| end.place);
            // The note it starts on: named, or the first at its place.
            let named = start
                .element
                .filter(|id| ctx.part.bar_events(start.place.bar).iter().any(|e| e.id == *id));
            let first = || {
                let here = ctx.part.bar_events(start.place.bar).iter();
                here.filter(|e| e.is_note() && !e.is_grace())
                    .find(|e| e.place >= start.place)
                    .map(|e| e.id)
            };
            if let Some(id) = named.or_else(first) {
                lines.starts.insert(id, end.filter(|end| *end > start.place));
            }
            lines.covered.push((start.place, end.unwrap_or(start.place)));
        }
        lines.covered.sort_unstable();
        lines
    }

    fn covers(&self, event: &Event) -> bool {
        let until = self.covered.partition_point(|(start, _)| *start <= event.place);
        // Lines rarely overlap; a few back are enough.
        let near = self.covered.iter().take(until).rev().take(4);
        near.into_iter().any(|(_, end)| event.place <= *end)
    }
}

/// Ornaments that can be read in two ways, and notes that no source gave.
pub(super) fn findings(ctx: &Context, found: &[OrnamentFound]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for ornament in found {
        let neighbours = [&ornament.realised.upper, &ornament.realised.lower];
        for neighbour in neighbours.into_iter().flatten() {
            let place = |finding: Finding| {
                let bar = ornament.place.bar;
                finding
                    .at_bar(bar, ctx.label(bar))
                    .at_offset(ornament.place.offset)
                    .about(ornament.element)
            };
            let mark = &ornament.realised.mark;
            if let Some((other, reason)) = neighbour.others.first() {
                let what = format!(
                    "the {mark} on {}: {} {}, but {} {}",
                    ornament.main.sign(),
                    neighbour.pitch.sign(),
                    neighbour.reason.words(),
                    other.sign(),
                    reason.words()
                );
                let advice = "ask your teacher which is meant and write the accidental over the sign";
                findings.push(place(Finding::new(
                    Severity::Note,
                    "ornament-two-readings",
                    what,
                    advice,
                )));
            }
            if neighbour.reason == Reason::Adjusted {
                let what = format!(
                    "the {mark} on {}: neither signature nor accidentals give a second; {} is taken",
                    ornament.main.sign(),
                    neighbour.pitch.sign()
                );
                let advice = "check the note in a score";
                findings.push(place(Finding::new(
                    Severity::Caution,
                    "ornament-note-guessed",
                    what,
                    advice,
                )));
            }
        }
    }
    findings
}
