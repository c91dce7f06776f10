//! What is said about the breaths? Each with its reason, seconds by bar, what it costs, and where no place was found.

use super::divide::Division;
use super::parallel::Marks;
use super::places::Quality;
use super::played::Blown;
use super::{Breath, BreathAnswer, Kind, Material, OnPage, Page};
use crate::{Placed, Player, Share};
use notation::{BarIndex, Finding, Place, Severity};
use survey::Context;

/// A rest of so many seconds lets one breathe without shortening anything (common practice).
const CATCH: f64 = 0.3;
/// A rest of so many seconds lets an oboist breathe out and in (common practice).
const OUT_AND_IN: f64 = 1.0;

/// The breaths that are marked, in written order; at the slow tempo the optional ones, too.
pub(super) fn breaths(
    ctx: &Context,
    material: &Material,
    page: &Page,
    marks: &Marks,
    slow: bool,
    breathes_out: bool,
) -> Vec<Breath> {
    let mut breaths = Vec::new();
    // Out first, then in, by turns from one long rest to the next.
    let mut used_air = true;
    for (note, kept) in marks.iter().filter(|(_, kept)| slow || **kept) {
        let Some(on_page) = page.of_note(*note) else {
            continue;
        };
        let Some(place) = mark_place(ctx, *note, on_page.before) else {
            continue;
        };
        let kind = if on_page.rest >= CATCH {
            Kind::OnRest
        } else if breathes_out && used_air && *kept {
            Kind::BreatheOut
        } else {
            Kind::Breathe
        };
        if breathes_out && *kept {
            used_air = on_page.rest >= OUT_AND_IN || kind == Kind::Breathe;
        }
        let shortened = (kind != Kind::OnRest).then_some(on_page.before);
        breaths.push(Breath {
            note: *note,
            place,
            kind,
            shortened,
            why: why(ctx, on_page, kind, shortened, !kept, breathes_out),
            optional: !kept,
            printed: material
                .phrases
                .signs
                .get(*note)
                .is_some_and(|signs| signs.breath_mark),
            own: place_of(ctx, *note).is_some_and(|place| material.own.iter().any(|own| own.place == place)),
        });
    }
    // Two ways on from one note, by a repeat or jump each, need one sign; the one that stays goes before the optional one.
    breaths.sort_by_key(|breath| (breath.place, breath.optional));
    breaths.dedup_by_key(|breath| breath.place);
    breaths
}

/// Where the mark stands: at the note it is taken before; where a repeat or jump leads away, at the end of the note left.
fn mark_place(ctx: &Context, note: usize, before: usize) -> Option<Place> {
    if before + 1 == note {
        return place_of(ctx, note);
    }
    let left = ctx.line.get(before)?;
    // Of a tied note the last part counts.
    let end = left.onset + left.duration;
    let at = ctx
        .bar_onsets
        .partition_point(|onset| *onset < end)
        .checked_sub(1)?;
    Some(Place {
        bar: BarIndex::from_usize(at),
        offset: end - ctx.bar_onsets.get(at).copied()?,
    })
}

fn why(
    ctx: &Context,
    on_page: &OnPage,
    kind: Kind,
    shortened: Option<usize>,
    optional: bool,
    breathes_out: bool,
) -> String {
    let mut said = on_page.place.why.to_owned();
    if let Some(note) = shortened.and_then(|note| ctx.line.get(note)) {
        said.push_str(&format!("; the {} before it is cut short", note.pitch.sign()));
    }
    match kind {
        Kind::BreatheOut => said.push_str("; let the used air out, breathe in at the next place"),
        Kind::Breathe if breathes_out && optional => said.push_str("; there is time for out and in"),
        Kind::Breathe if breathes_out => said.push_str("; the used air is out, breathe in"),
        Kind::OnRest if breathes_out && on_page.rest >= OUT_AND_IN => {
            said.push_str(", long enough to breathe out and in");
        }
        Kind::OnRest if breathes_out => said.push_str("; breathe out first"),
        _ => {}
    }
    if optional {
        said.push_str("; only while it is slow");
    }
    said
}

/// For each bar the seconds at the final tempo of the longest stretch that it lies in.
pub(super) fn bars(ctx: &Context, blown: &[Blown], division: &Division) -> Vec<Option<f64>> {
    let mut bars = vec![None; ctx.piece.bars.len()];
    for stretch in stretches(blown, division) {
        let secs = clock(stretch);
        for note in stretch {
            let bar = place_of(ctx, note.note).map(|place| place.bar);
            if let Some(slot) = bar.and_then(|bar| bars.get_mut(bar.get())) {
                *slot = Some(slot.map_or(secs, |longest: f64| longest.max(secs)));
            }
        }
    }
    bars
}

/// Notes from one breathing place to the next at the final tempo.
fn stretches<'a>(blown: &'a [Blown], division: &'a Division) -> impl Iterator<Item = &'a [Blown]> {
    division.final_places.windows(2).filter_map(|pair| match pair {
        [from, to] => blown.get(*from..*to),
        _ => None,
    })
}

/// Seconds by the clock at the final tempo, without the rest after the last note.
fn clock(stretch: &[Blown]) -> f64 {
    let all: f64 = stretch.iter().map(|note| note.secs[1]).sum();
    all - stretch.last().map_or(0.0, |last| last.rest)
}

/// Seconds that a catch breath takes from the note before it (common practice), and one at a place of last resort.
const TAKEN: f64 = 0.3;
const TAKEN_AT_LAST: f64 = 0.6;

/// Seconds beyond the comfortable breath, bar by bar, and seconds taken from notes by breaths.
pub(super) fn shares(
    ctx: &Context,
    blown: &[Blown],
    division: &Division,
    breath: f64,
    page: &Page,
    at_final: &[Breath],
) -> Vec<Placed> {
    let mut over: Vec<Option<(Place, f64, f64)>> = vec![None; ctx.piece.bars.len()];
    for stretch in stretches(blown, division) {
        beyond(ctx, stretch, breath, &mut over);
    }
    let mut shares: Vec<Placed> = over
        .into_iter()
        .flatten()
        .map(|(place, amount, secs)| Placed {
            place,
            share: Share {
                kind: "out-of-breath",
                why: format!("no place to breathe for {}", seconds(secs)),
                amount,
            },
        })
        .collect();
    for breath in at_final.iter().filter(|breath| breath.kind != Kind::OnRest) {
        let last = page
            .of_note(breath.note)
            .is_some_and(|on_page| on_page.place.quality == Quality::LastResort);
        shares.push(Placed {
            place: breath.place,
            share: Share {
                kind: "quick-breath",
                why: if last {
                    "a quick breath where there is hardly a place".to_owned()
                } else {
                    "a quick breath".to_owned()
                },
                amount: if last { TAKEN_AT_LAST } else { TAKEN },
            },
        });
    }
    shares.sort_by_key(|placed| placed.place);
    shares
}

/// Adds for each bar the seconds of air that a stretch takes there beyond the breath; the most of all times through.
fn beyond(ctx: &Context, stretch: &[Blown], breath: f64, over: &mut [Option<(Place, f64, f64)>]) {
    let all: f64 = stretch.iter().map(|note| note.air[1]).sum();
    if all <= breath {
        return;
    }
    let secs = clock(stretch);
    let mut used = 0.0;
    let mut here: Option<(Place, f64)> = None;
    let mut put = |(place, amount): (Place, f64)| {
        if let Some(slot) = over.get_mut(place.bar.get())
            && slot.is_none_or(|(_, known, _)| known < amount)
        {
            *slot = Some((place, amount, secs));
        }
    };
    for note in stretch {
        let before: f64 = used;
        used += note.air[1];
        let amount = (used - breath.max(before)).max(0.0);
        let Some(place) = place_of(ctx, note.note).filter(|_| amount > 0.0) else {
            continue;
        };
        here = match here {
            Some((first, sum)) if first.bar == place.bar => Some((first, sum + amount)),
            Some(done) => {
                put(done);
                Some((place, amount))
            }
            None => Some((place, amount)),
        };
    }
    if let Some(done) = here {
        put(done);
    }
}

/// A comfortable breath can be stretched by so much before it is worth a word (common practice); the load counts it all.
const A_LITTLE: f64 = 1.1;

/// Stretches without a place to breathe, each once on the page.
pub(super) fn findings(ctx: &Context, blown: &[Blown], division: &Division, player: &Player) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    let mut known: Vec<(Place, Place)> = Vec::new();
    let mut slow: Vec<(Place, Place)> = Vec::new();
    let mut too_long = division.too_long.clone();
    too_long.sort_by_key(|(from, _, kept)| (!kept, *from));
    for (from, to, at_final) in too_long {
        let Some(stretch) = blown.get(from..to) else {
            continue;
        };
        let ends = stretch.first().zip(stretch.last());
        let Some(ends) = ends.and_then(|(a, b)| place_of(ctx, a.note).zip(place_of(ctx, b.note))) else {
            continue;
        };
        if known.contains(&ends) {
            continue;
        }
        known.push(ends);
        let tempo = usize::from(at_final);
        let air: f64 = stretch.iter().filter_map(|note| note.air.get(tempo)).sum();
        if air < player.breath.seconds * A_LITTLE {
            continue;
        }
        if at_final {
            findings.push(at_tempo(ctx, stretch, ends, player));
        } else {
            slow.push(ends);
        }
    }
    findings.extend(while_slow(ctx, &slow));
    findings.sort_by_key(|finding| (finding.bar, finding.offset));
    findings
}

fn at_tempo(ctx: &Context, stretch: &[Blown], (first, last): (Place, Place), player: &Player) -> Finding {
    let secs = clock(stretch);
    let air: f64 = stretch.iter().map(|note| note.air[1]).sum();
    let fast = if air > secs * 1.15 {
        format!(
            ", and these notes take as much air as {} in the middle",
            seconds(air)
        )
    } else {
        String::new()
    };
    let what = format!(
        "no place to breathe for {}: {}; the breath lasts {}{fast}",
        seconds(secs),
        bars_words(ctx, first.bar, last.bar),
        seconds(player.breath.seconds)
    );
    // Source: practice facts (J. Funderburk, Where to Breathe, TUBA Journal 1998; breath guide of greyflute.com;
    // pureocarinas.com): tied notes may lose the tied part; in long runs after beat 1; last resort, inside a large leap.
    let advice = "play it a little faster or softer, or ask the teacher which note may be left out: teachers leave the tied part of a \
                  note, breathe after beat 1 of a long run, or, as a last resort, hide the breath in a large leap";
    Finding::new(Severity::Caution, "no-place-to-breathe", what, advice)
        .in_part(&ctx.part.name)
        .at_bar(first.bar, ctx.label(first.bar))
        .at_offset(first.offset)
}

/// So many passages are named by their bars.
const NAMED: usize = 6;

/// One finding for all that is only too long while it is slow.
fn while_slow(ctx: &Context, slow: &[(Place, Place)]) -> Option<Finding> {
    let mut places = slow.to_vec();
    places.sort_unstable();
    let (first, _) = places.first().copied()?;
    let named: Vec<String> = places
        .iter()
        .take(NAMED)
        .map(|(from, to)| bars_words(ctx, from.bar, to.bar))
        .collect();
    let more = places.len().saturating_sub(NAMED);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    let what = format!(
        "at the first tempo the breath does not reach through {}{more}, and there is no place to breathe",
        named.join(", ")
    );
    let advice = "while it is slow, stop at the end of a beat, breathe, and begin again with that beat; at tempo play it through";
    let finding = Finding::new(Severity::Note, "no-place-to-breathe-slowly", what, advice)
        .in_part(&ctx.part.name)
        .at_bar(first.bar, ctx.label(first.bar))
        .at_offset(first.offset);
    Some(finding)
}

/// `bar 9` or `bars 9 to 14`, by their printed labels.
fn bars_words(ctx: &Context, from: BarIndex, to: BarIndex) -> String {
    if from == to {
        format!("bar {}", ctx.label(from))
    } else {
        format!("bars {} to {}", ctx.label(from), ctx.label(to))
    }
}

/// `14 seconds`, `1 second`.
pub(super) fn seconds(secs: f64) -> String {
    let rounded = secs.round().max(1.0);
    format!("{rounded:.0} second{}", if rounded < 1.5 { "" } else { "s" })
}

/// The answer in a sentence.
pub(super) fn summary(answer: &BreathAnswer, player: &Player) -> String {
    if answer.bars.iter().all(Option::is_none) {
        return "no notes to breathe for".to_owned();
    }
    let to_mark = |list: &[Breath]| {
        let marked = list
            .iter()
            .filter(|breath| breath.kind != Kind::OnRest && !breath.printed);
        marked.count()
    };
    let (slow, fast) = (to_mark(&answer.at_first), to_mark(&answer.at_final));
    let printed = answer.at_final.iter().filter(|breath| breath.printed).count();
    let longest = answer.bars.iter().flatten().copied().fold(0.0, f64::max);
    let breaths = |n: usize| match n {
        0 => "no breath".to_owned(),
        1 => "one breath".to_owned(),
        n => format!("{n} breaths"),
    };
    let beside = match (
        printed,
        answer.at_final.iter().any(|breath| breath.kind == Kind::OnRest),
    ) {
        (0, false) => String::new(),
        (0, true) => " beside the rests".to_owned(),
        (n, false) => format!(" beside the {n} printed"),
        (n, true) => format!(" beside the rests and the {n} printed"),
    };
    let more = if slow > fast {
        format!(", {} more while it is slow", slow - fast)
    } else {
        String::new()
    };
    format!(
        "{} to mark{beside}{more}; the longest stretch at tempo is {} on a breath of {}",
        breaths(fast),
        seconds(longest),
        seconds(player.breath.seconds)
    )
}

fn place_of(ctx: &Context, note: usize) -> Option<Place> {
    Some(ctx.event(ctx.line.get(note)?)?.place)
}
