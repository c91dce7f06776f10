//! Which drills make sense? Only those for which the bars hold what is needed, those first that meet the spot's trouble.

use super::draft::excerpt;
use super::make::{note_name, passages, start};
use super::offer::{Matter, Offer, Order};
use super::scales::{Asked, asked};
use super::{DrillKind, Source, alike, words};
use crate::BarSpan;

/// Every drill of the piece: scales and broken chords, then spot by spot, then bars that look alike.
#[must_use]
pub fn offers(source: &Source) -> Vec<Offer> {
    let mut all = scales(source);
    for (index, spot) in source.study.spots.iter().enumerate() {
        all.extend(for_bars(source, BarSpan::new(spot.from, spot.to), Some(index)));
    }
    all.extend(look_alikes(source));
    all
}

/// Scales and broken chords, the piece's own key first.
#[must_use]
pub fn scales(source: &Source) -> Vec<Offer> {
    asked(source)
        .iter()
        .filter_map(|asked| scale(source, asked))
        .collect()
}

fn scale(source: &Source, asked: &Asked) -> Option<Offer> {
    use super::scales::What;
    let tonic = note_name(asked.tonic);
    let (kind, matter, title) = match asked.what {
        What::Scale(form) => {
            let matter = Matter::Scale {
                tonic: asked.tonic,
                form,
            };
            let title = match form {
                super::Form::Chromatic => format!("Chromatic scale from {tonic}"),
                _ => format!("{tonic} {} scale", form.words()),
            };
            (DrillKind::Scale, matter, title)
        }
        What::Chord(chord) => {
            let matter = Matter::Chord {
                root: asked.tonic,
                chord,
                fifths: asked.fifths,
            };
            (
                DrillKind::Arpeggio,
                matter,
                format!("Arpeggio of {tonic} {}", chord.words()),
            )
        }
    };
    let because = format!("{}.", sentence(&asked.why));
    offer(source, kind, asked.span, matter, title, Some(because), None)
}

/// The drills that fit some bars, those first that meet their trouble. `spot` is the trouble spot that they are, if they are one.
#[must_use]
pub fn for_bars(source: &Source, span: BarSpan, spot: Option<usize>) -> Vec<Offer> {
    let Some(span) = source.within(span) else {
        return Vec::new();
    };
    let span = with_context(source, span);
    let troubles = source.troubles(span);
    let kinds = DrillKind::ALL.into_iter().filter(|kind| {
        !matches!(
            kind,
            DrillKind::Scale | DrillKind::Arpeggio | DrillKind::LookAlikes
        )
    });
    let mut ranked: Vec<(f64, Offer)> = Vec::new();
    for kind in kinds {
        let matter = match kind {
            DrillKind::ThroughKeys => Matter::Through(Order::Fourths),
            DrillKind::FingeringTrill => Matter::Notes(super::to_and_fro::pairs(source, span)),
            DrillKind::RegisterSlurs => Matter::Notes(super::registers::crossings(source, span)),
            _ => Matter::Bars,
        };
        let title = format!("{}, {}", capital(&source.bars_said(span)), kind.words());
        let reason = source.reason(span, &|trouble| helps(kind, trouble) >= MEANT);
        let reason = reason.map(|reason| format!("Here: {reason}."));
        if let Some(offer) = offer(source, kind, span, matter, title, reason, spot) {
            ranked.push((worth(kind, &troubles), offer));
        }
    }
    // Where two are worth the same, the order of the kinds stays.
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranked.into_iter().map(|(_, offer)| offer).collect()
}

/// Most bars that are taken in before a bar of one note.
const MOST_BEFORE: u32 = 2;

/// One note alone is no drill: it is practised out of the bars before it. Silence stays what it is.
fn with_context(source: &Source, span: BarSpan) -> BarSpan {
    let struck = |span: BarSpan| excerpt(source, span, true).map(|passage| passage.struck().len());
    if struck(span) != Some(1) {
        return span;
    }
    let wider = (1..=MOST_BEFORE.min(span.from.0))
        .map(|back| BarSpan::new(notation::BarIndex(span.from.0 - back), span.to));
    wider
        .into_iter()
        .find(|span| struck(*span) > Some(1))
        .unwrap_or(span)
}

/// Pairs of bars that look alike and differ.
#[must_use]
pub fn look_alikes(source: &Source) -> Vec<Offer> {
    alike::twins(source)
        .into_iter()
        .filter_map(|twins| {
            let (later, earlier) = (source.bars_said(twins.span), source.bars_said(twins.like));
            let title = format!("{} and {later}, back to back", capital(&earlier));
            let differs = format!("What differs: {}.", twins.differences.join("; "));
            offer(
                source,
                DrillKind::LookAlikes,
                twins.span,
                Matter::Like(twins.like),
                title,
                Some(differs),
                None,
            )
        })
        .collect()
}

/// One offer with its words, if the bars hold what it needs.
fn offer(
    source: &Source,
    kind: DrillKind,
    span: BarSpan,
    matter: Matter,
    title: String,
    because: Option<String>,
    spot: Option<usize>,
) -> Option<Offer> {
    let passages = passages(source, kind, span, &matter, &mut Vec::new())?;
    let family = source.study.player.instrument.map(|instrument| instrument.family);
    let mut what_for = words::what_for(kind, family, source.has_slide()).to_owned();
    if let Some(because) = because {
        what_for = format!("{what_for} {because}");
    }
    Some(Offer {
        kind,
        span,
        spot,
        matter,
        title,
        what_for,
        when_to_stop: words::when_to_stop(kind).to_owned(),
        tempo: start(source, kind, &passages),
        at_most: words::at_most(kind),
        cautions: words::cautions(kind, family),
    })
}

/// How much a drill helps against the troubles of some bars.
fn worth(kind: DrillKind, troubles: &[(&'static str, f64)]) -> f64 {
    troubles
        .iter()
        .map(|(trouble, amount)| amount * helps(kind, trouble))
        .sum()
}

/// A drill is meant for a trouble that it helps so well: then it is named with the drill.
const MEANT: f64 = 0.8;

/// How well a kind of drill meets a kind of trouble, from 0 to 1. Common practice of studio teaching; the numbers are ours and
/// only put in order.
fn helps(kind: DrillKind, trouble: &str) -> f64 {
    let fingers: &[(DrillKind, f64)] = &[
        (DrillKind::GroupsWithStops, 1.0),
        (DrillKind::FingeringTrill, 0.95),
        (DrillKind::Dotted, 0.9),
        (DrillKind::ReverseDotted, 0.85),
        (DrillKind::AddFromEnd, 0.8),
        (DrillKind::Triplets, 0.6),
        (DrillKind::HalfSpeed, 0.6),
        (DrillKind::AddFromStart, 0.5),
        (DrillKind::ThroughKeys, 0.4),
    ];
    let table: &[(DrillKind, f64)] = match trouble {
        "fingers" | "slide" | "valves" => fingers,
        "partial" | "register-break" | "register" => &[
            (DrillKind::RegisterSlurs, 1.0),
            (DrillKind::LeapsFilled, 0.7),
            (DrillKind::HalfSpeed, 0.5),
        ],
        "leap" => &[
            (DrillKind::LeapsFilled, 1.0),
            (DrillKind::RegisterSlurs, 0.6),
            (DrillKind::HalfSpeed, 0.5),
        ],
        "shift" | "string-crossing" => &[
            (DrillKind::LeapsFilled, 0.9),
            (DrillKind::GroupsWithStops, 0.7),
            (DrillKind::HalfSpeed, 0.7),
            (DrillKind::Dotted, 0.5),
        ],
        "tongue" | "double-tongue" | "triple-tongue" => &[
            (DrillKind::TongueOnly, 1.0),
            (DrillKind::GroupsWithStops, 0.7),
            (DrillKind::HalfSpeed, 0.3),
        ],
        "articulation" => &[
            (DrillKind::WithoutSlurs, 0.9),
            (DrillKind::TongueOnly, 0.8),
            (DrillKind::HalfSpeed, 0.3),
        ],
        "rhythm" | "metre" => &[(DrillKind::RhythmOnly, 1.0), (DrillKind::HalfSpeed, 0.8)],
        "grace" | "ornament" | "ornaments" | "trill" => {
            &[(DrillKind::WithoutOrnaments, 1.0), (DrillKind::HalfSpeed, 0.5)]
        }
        "pitch" | "accidental" | "key" | "clef" | "ledger-lines" | "outside-range" => &[
            (DrillKind::HalfSpeed, 1.0),
            (DrillKind::AddFromEnd, 0.6),
            (DrillKind::AddFromStart, 0.55),
            (DrillKind::LeapsFilled, 0.4),
            (DrillKind::ThroughKeys, 0.2),
        ],
        "out-of-breath" | "quick-breath" => &[(DrillKind::AddFromEnd, 0.6), (DrillKind::HalfSpeed, 0.1)],
        _ => &[(DrillKind::HalfSpeed, 0.5), (DrillKind::AddFromEnd, 0.3)],
    };
    table
        .iter()
        .find(|(known, _)| *known == kind)
        .map_or(0.0, |(_, helps)| *helps)
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn sentence(clause: &str) -> String {
    capital(clause)
}
