//! How is an offer written out? The bars it is made from, changed, kept in the player's range, as a piece of its own.

use super::draft::{Chapter, DraftBar, Passage, excerpt, write};
use super::offer::{Booklet, Drill, Matter, Offer, Order};
use super::reach::in_range;
use super::{
    DrillKind, Source, adding, half, keys, leaps, registers, runs, scales, simpler, tempo, to_and_fro,
};
use crate::BarSpan;
use notation::{BarIndex, Clef, Finding, Pitch, Rational, Severity, Step};

/// Writes a drill out.
///
/// # Errors
/// If these bars don't hold what the drill is made of; the finding says what is missing.
pub fn make(source: &Source, offer: &Offer) -> Result<Drill, Box<Finding>> {
    let mut findings = Vec::new();
    let passages = passages(source, offer.kind, offer.span, &offer.matter, &mut findings)
        .ok_or_else(|| Box::new(missing(source, offer)))?;
    findings.extend(voices(source, offer.span));
    let mut known: Vec<Finding> = Vec::new();
    findings.retain(|finding| {
        let new = !known.contains(finding);
        if new {
            known.push(finding.clone());
        }
        new
    });
    let chapter = Chapter {
        passages: &passages,
        heading: None,
        tempo: Some(offer.tempo),
    };
    let words = vec![offer.what_for.clone(), offer.when_to_stop.clone()];
    let (written, _) = write(&[chapter], source, &offer.title, words);
    Ok(Drill {
        offer: offer.clone(),
        piece: written.piece,
        bars: written.bars,
        from: written.from,
        findings,
        passages,
    })
}

/// Binds drills into one piece. With `headed` each begins with its title as words over its first bar, for files that are
/// read elsewhere; without, titles are left to the page.
#[must_use]
pub fn booklet(source: &Source, drills: &[Drill], title: &str, headed: bool) -> Booklet {
    let chapters: Vec<Chapter> = drills
        .iter()
        .map(|drill| Chapter {
            passages: &drill.passages,
            heading: headed.then_some(drill.offer.title.as_str()),
            tempo: Some(drill.offer.tempo),
        })
        .collect();
    let (written, spans) = write(&chapters, source, title, Vec::new());
    Booklet {
        piece: written.piece,
        drills: spans
            .into_iter()
            .zip(drills)
            .map(|(span, drill)| (span, drill.offer.clone(), drill.findings.clone()))
            .collect(),
        bars: written.bars,
        from: written.from,
    }
}

/// The kind of the finding that of several voices one is drilled.
pub const ONE_VOICE: &str = "one-voice-drilled";

/// Of several voices one is drilled.
fn voices(source: &Source, span: BarSpan) -> Option<Finding> {
    let voice = &source.survey.metre.as_ref()?.voice;
    (voice.voices > 1).then(|| {
        Finding::new(
            Severity::Note,
            ONE_VOICE,
            "of several voices the one with the most notes is taken",
            "practise the others as a part of their own",
        )
        .at_bar(span.from, source.ctx.label(span.from))
    })
}

fn missing(source: &Source, offer: &Offer) -> Finding {
    let what = format!(
        "no drill {} can be made of {}: {}",
        offer.kind.words(),
        source.bars_said(offer.span),
        needs(offer.kind)
    );
    Finding::new(
        Severity::Note,
        "no-such-drill",
        what,
        "ask which drills fit these bars with --list",
    )
    .at_bar(offer.span.from, source.ctx.label(offer.span.from))
}

/// What a drill needs in its bars.
pub(crate) const fn needs(kind: DrillKind) -> &'static str {
    match kind {
        DrillKind::Scale | DrillKind::Arpeggio => "it needs a key, and a range in which its notes lie",
        DrillKind::Dotted | DrillKind::ReverseDotted | DrillKind::Triplets | DrillKind::GroupsWithStops => {
            "it needs a run of notes of one value"
        }
        DrillKind::AddFromStart | DrillKind::AddFromEnd => "it needs at least four notes",
        DrillKind::WithoutOrnaments => "there is no ornament in them",
        DrillKind::WithoutSlurs => "there is no slur in them",
        DrillKind::TongueOnly => "there are too few short notes that are tongued or bowed by themselves",
        DrillKind::RhythmOnly => "their notes are all of one value",
        DrillKind::LeapsFilled => "there is no leap of a fourth or more",
        DrillKind::FingeringTrill => "no change of fingers in them is hard, or no fingerings are known",
        DrillKind::RegisterSlurs => "they cross no break of the instrument's registers",
        DrillKind::HalfSpeed => "it needs at least two notes",
        DrillKind::ThroughKeys => {
            "it needs a figure in a key that fits the player's range in other keys, too"
        }
        DrillKind::LookAlikes => "nothing resembles them",
    }
}

/// The passages of a drill; `None` if the bars don't hold what it needs.
pub(crate) fn passages(
    source: &Source,
    kind: DrillKind,
    span: BarSpan,
    matter: &Matter,
    findings: &mut Vec<Finding>,
) -> Option<Vec<Passage>> {
    match (kind, matter) {
        (DrillKind::Scale | DrillKind::Arpeggio, _) => return scale(source, span, matter),
        (DrillKind::LookAlikes, Matter::Like(like)) => return twins(source, span, *like, findings),
        (DrillKind::LookAlikes, _) => return None,
        (DrillKind::ThroughKeys, _) => {
            let order = if let Matter::Through(order) = matter {
                *order
            } else {
                Order::default()
            };
            return through(source, span, order, findings);
        }
        (DrillKind::FingeringTrill, _) => return to_and_fro(source, span, findings),
        (DrillKind::RegisterSlurs, _) => return registers(source, span, findings),
        _ => {}
    }
    let whole = in_range(source, excerpt(source, span, true)?, findings);
    if whole.struck().len() < 2 {
        return None;
    }
    let one = |passage: Option<Passage>| passage.map(|passage| vec![passage]);
    match kind {
        DrillKind::Dotted => one(runs::dotted(&whole.without_slurs(), false)),
        DrillKind::ReverseDotted => one(runs::dotted(&whole.without_slurs(), true)),
        DrillKind::Triplets => runs::triplets(&whole),
        DrillKind::GroupsWithStops => runs::with_stops(&whole),
        DrillKind::AddFromStart => adding::from_start(&whole).map(numbered),
        DrillKind::AddFromEnd => adding::from_end(&whole).map(numbered),
        DrillKind::WithoutOrnaments => {
            one(simpler::has_ornaments(&whole).then(|| simpler::without_ornaments(whole)))
        }
        DrillKind::WithoutSlurs => one(simpler::has_slurs(&whole).then(|| whole.without_slurs())),
        DrillKind::TongueOnly => one(attacks(source, &whole)),
        DrillKind::RhythmOnly => one(rhythm(source, &whole)),
        DrillKind::LeapsFilled => leaps::filled(source, &whole),
        DrillKind::HalfSpeed => one(Some(half::doubled(&whole))),
        _ => None,
    }
}

/// Fewest short attacks that are worth a drill of the tongue or the bow.
const FEWEST_ATTACKS: usize = 4;

fn attacks(source: &Source, whole: &Passage) -> Option<Passage> {
    use instruments::Family;
    let family = source.study.player.instrument.map(|instrument| instrument.family);
    if !family.is_none_or(|family| family.is_wind() || family == Family::String) {
        return None;
    }
    let on = simpler::one_note(source, whole)?;
    let alone = simpler::attacks_only(whole, on);
    let short = alone
        .struck()
        .iter()
        .filter(|tone| !tone.tied && tone.length <= Rational::new(1, 2))
        .count();
    (short >= FEWEST_ATTACKS).then_some(alone)
}

fn rhythm(source: &Source, whole: &Passage) -> Option<Passage> {
    // The landing is no part of the rhythm.
    let inside = whole.bars.len().saturating_sub(1).max(1);
    let mut lengths: Vec<notation::Quarters> = whole
        .bars
        .iter()
        .take(inside)
        .flat_map(|bar| bar.tones.iter().map(|tone| tone.length))
        .collect();
    lengths.sort();
    lengths.dedup();
    if lengths.len() < 2 {
        return None;
    }
    Some(simpler::rhythm_only(whole, simpler::one_note(source, whole)?))
}

fn numbered(mut steps: Vec<Passage>) -> Vec<Passage> {
    for (number, step) in (1..).zip(steps.iter_mut()) {
        if let Some(bar) = step.bars.first_mut() {
            bar.words = Some(format!("{number}."));
        }
    }
    steps
}

fn scale(source: &Source, span: BarSpan, matter: &Matter) -> Option<Vec<Passage>> {
    let range = source.range()?;
    let (paths, fifths) = match matter {
        Matter::Scale { tonic, form } => {
            let fifths = form.signature(*tonic);
            (scales::scale_path(*form, *tonic, range), fifths)
        }
        Matter::Chord { root, chord, fifths } => (scales::chord_path(*chord, *root, range), *fifths),
        _ => return None,
    };
    let (figure, mut like) = scales::figure(source, span)?;
    like.key = notation::KeySignature::of_fifths(fifths);
    // The part's own first clef: a scale goes through all of the range, whatever clef the region's bars have.
    like.clef = source
        .ctx
        .part
        .clefs
        .first()
        .map_or(like.clef, |change| change.value);
    like.clefs.clear();
    like.keys.clear();
    let clefs = usual_clefs(source);
    let mut all: Vec<Passage> = paths
        .iter()
        .map(|path| scales::laid(path, &figure, &like, &clefs))
        .collect();
    all.retain(|passage| !passage.bars.is_empty());
    (!all.is_empty()).then_some(all)
}

fn usual_clefs(source: &Source) -> Vec<Clef> {
    let clefs = source
        .study
        .player
        .instrument
        .map_or(&[][..], |instrument| instrument.clefs);
    clefs
        .iter()
        .filter(|usual| usual.habit == instruments::Habit::Usual)
        .map(|usual| usual.clef)
        .collect()
}

fn twins(source: &Source, span: BarSpan, like: BarSpan, findings: &mut Vec<Finding>) -> Option<Vec<Passage>> {
    let mut both = Vec::new();
    for bars in [like, span] {
        let mut passage = in_range(source, excerpt(source, bars, false)?, findings);
        if let Some(bar) = passage.bars.first_mut() {
            bar.words = Some(source.bars_said(bars));
        }
        both.push(passage);
    }
    if let [first, second] = both.as_mut_slice() {
        first.opens = true;
        second.closes = true;
    }
    Some(both)
}

/// The bar that asks most, through the keys.
fn through(
    source: &Source,
    span: BarSpan,
    order: Order,
    findings: &mut Vec<Finding>,
) -> Option<Vec<Passage>> {
    let bar = hardest(source, span)?;
    let key = source.survey.key.as_ref()?;
    let region = key
        .regions
        .iter()
        .find(|region| (region.from..=region.to).contains(&bar));
    let (tonic, minor) = region.map_or((key.tonic, key.mode == "minor"), |region| {
        (region.tonic, region.mode == "minor")
    });
    let figure = excerpt(source, BarSpan::new(bar, bar), false)?;
    let pitched = figure.struck().iter().filter(|tone| tone.top().is_some()).count();
    if pitched < 3 {
        return None;
    }
    let figure = simpler::without_ornaments(in_range(source, figure, findings));
    let mut figure = figure;
    for bar in &mut figure.bars {
        bar.dynamics.clear();
    }
    let through = keys::through(source, &figure, order, tonic, minor)?;
    if !through.left_out.is_empty() {
        findings.push(Finding::new(
            Severity::Note,
            "keys-left-out",
            format!(
                "the figure does not fit your range in {}",
                through.left_out.join(", ")
            ),
            "play it there an octave away only if it speaks",
        ));
    }
    Some(through.passages)
}

/// The bar of a span that asks most of the player.
pub(crate) fn hardest(source: &Source, span: BarSpan) -> Option<BarIndex> {
    let movements = load::first_tempo::movements(source.study.player.experience);
    let weight = |bar: &load::BarLoad| bar.fullness + bar.hand.total() / movements;
    let bars = source.study.bars.iter().filter(|bar| span.holds(bar.bar));
    bars.max_by(|a, b| weight(a).total_cmp(&weight(b)).then(b.bar.cmp(&a.bar)))
        .map(|bar| bar.bar)
}

/// A bar like those of the span, for what is composed anew.
fn like(source: &Source, span: BarSpan) -> Option<DraftBar> {
    let whole = excerpt(source, span, false)?;
    let bar = whole
        .bars
        .iter()
        .find(|bar| bar.is_full())
        .or(whole.bars.first())?;
    Some(DraftBar::like(bar))
}

fn to_and_fro(source: &Source, span: BarSpan, findings: &mut Vec<Finding>) -> Option<Vec<Passage>> {
    let pairs = to_and_fro::pairs(source, span);
    composed(
        source,
        to_and_fro::to_and_fro(&pairs, &like(source, span)?, source.has_slide()),
        findings,
    )
}

fn registers(source: &Source, span: BarSpan, findings: &mut Vec<Finding>) -> Option<Vec<Passage>> {
    let pairs = registers::crossings(source, span);
    composed(source, registers::slurred(&pairs, &like(source, span)?), findings)
}

/// What is composed of the piece's own notes stays in the range as a whole.
fn composed(source: &Source, passages: Vec<Passage>, findings: &mut Vec<Finding>) -> Option<Vec<Passage>> {
    let all: Vec<Passage> = passages
        .into_iter()
        .filter(|passage| !passage.bars.is_empty())
        .map(|passage| in_range(source, passage, findings))
        .collect();
    (!all.is_empty()).then_some(all)
}

/// The tempo that an offer starts at, by the metre it is written in.
pub(crate) fn start(source: &Source, kind: DrillKind, passages: &[Passage]) -> super::StartTempo {
    let metre = passages
        .iter()
        .flat_map(|passage| passage.bars.first())
        .map(|bar| bar.metre.clone())
        .next()
        .flatten();
    tempo::start(source, kind, metre.as_ref())
}

/// A name for a tonic: `B♭`.
pub(crate) fn note_name(tonic: (Step, i8)) -> String {
    Pitch::new(tonic.0, tonic.1, 4).class_sign()
}
