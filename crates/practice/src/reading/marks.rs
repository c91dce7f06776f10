//! Where do slurs, dots, dynamics and breaths stand? As a composer would put them: what is alike is marked alike.

use super::chance::Chance;
use super::form::Cadence;
use super::measure::{BeatKind, Measure, Ticks};
use super::tune::{Note, Tune};
use std::collections::BTreeMap;

/// A way to articulate.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Sign {
    /// Slurs.
    Slur,
    /// Dots.
    Staccato,
    /// Lines.
    Tenuto,
    /// Accents.
    Accent,
}

impl Sign {
    /// All of them, the commonest first.
    pub const ALL: [Self; 4] = [Self::Slur, Self::Staccato, Self::Accent, Self::Tenuto];

    /// The trade's word, as the survey has it for marks.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Slur => "slur",
            Self::Staccato => "staccato",
            Self::Tenuto => "tenuto",
            Self::Accent => "accent",
        }
    }

    /// The sign with a name (`slurs`, `staccato`).
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let wanted = name.trim().to_lowercase();
        Self::ALL
            .into_iter()
            .find(|sign| sign.word() == wanted || format!("{}s", sign.word()) == wanted)
    }
}

/// What may be marked.
#[derive(Clone, Debug, Default)]
pub(super) struct Manner {
    pub(super) signs: Vec<Sign>,
    /// Must be there.
    pub(super) must: Vec<Sign>,
    /// Dynamic levels from the softest; empty for none.
    pub(super) dynamics: Vec<&'static str>,
    pub(super) hairpins: bool,
    /// The player breathes: a comma where a phrase ends without a rest, and where one breath doesn't last to its end. How long
    /// she goes on one breath, in ticks; `None` if she doesn't breathe.
    pub(super) breath: Option<Ticks>,
    /// A slow tempo is spoken smoothly.
    pub(super) slow: bool,
}

/// The marks of a tune, by index of the note.
#[derive(Clone, Debug, Default)]
pub(super) struct Marks {
    pub(super) slurs: Vec<(usize, usize)>,
    pub(super) signs: BTreeMap<usize, Sign>,
    pub(super) dynamics: Vec<(usize, &'static str)>,
    /// From a note to the end of another, louder or softer.
    pub(super) hairpins: Vec<(usize, usize, bool)>,
    /// Notes after which a comma stands.
    pub(super) breaths: Vec<usize>,
}

/// How a piece is spoken.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Style {
    /// Long slurs.
    Legato,
    /// Short slurs, the rest separate.
    Mixed,
    /// Dots, and short slurs.
    Light,
    /// Nothing but separate notes.
    Plain,
}

pub(super) fn marks(measure: &Measure, tune: &Tune, manner: &Manner, chance: &mut Chance) -> Marks {
    let mut marks = Marks::default();
    let style = style(manner, chance);
    articulate(measure, tune, manner, style, &mut marks, chance);
    if !manner.dynamics.is_empty() {
        dynamics(measure, tune, manner, &mut marks, chance);
    }
    if let Some(breath) = manner.breath {
        marks.breaths = breaths(measure, tune, breath, &marks.slurs);
    }
    marks
}

fn style(manner: &Manner, chance: &mut Chance) -> Style {
    let has = |sign: Sign| manner.signs.contains(&sign);
    let must = |sign: Sign| manner.must.contains(&sign);
    let styles: &[Style] = match (has(Sign::Slur), has(Sign::Staccato)) {
        _ if must(Sign::Staccato) => &[Style::Light],
        (false, false) => &[Style::Plain],
        (true, false) => &[Style::Legato, Style::Mixed],
        (false, true) => &[Style::Light],
        (true, true) if manner.slow => &[Style::Legato, Style::Legato, Style::Mixed],
        (true, true) => &[Style::Legato, Style::Mixed, Style::Mixed, Style::Light],
    };
    chance.pick(styles).unwrap_or(Style::Plain)
}

/// The last note of each phrase.
fn phrase_ends(tune: &Tune) -> impl Iterator<Item = usize> + '_ {
    (0..tune.notes.len()).filter(|at| {
        let phrase = |at: usize| tune.notes.get(at).map(|note| note.phrase);
        phrase(*at) != phrase(at + 1)
    })
}

/// Notes after which a comma stands: ends of phrases without a rest, and ends of bars where a breath would not last to the
/// end of the phrase; never under a slur.
fn breaths(measure: &Measure, tune: &Tune, breath: Ticks, slurs: &[(usize, usize)]) -> Vec<usize> {
    let ends: Vec<usize> = phrase_ends(tune).collect();
    let mut commas = Vec::new();
    let mut since = tune.notes.first().map_or(0, |note| note.onset);
    let mut place: Option<usize> = None;
    for (at, pair) in tune.notes.windows(2).enumerate() {
        let [note, next] = pair else { break };
        let end = note.onset + note.length;
        if end < next.onset {
            since = next.onset;
            place = None;
        } else if ends.contains(&at) {
            commas.push(at);
            since = end;
            place = None;
        } else if end.rem_euclid(measure.length()) == 0 && note.length >= 12 {
            let slurred = slurs.iter().any(|(from, to)| (*from..*to).contains(&at));
            place = if slurred { place } else { Some(at) };
        }
        let lasts = next.onset + next.length - since <= breath;
        if let Some(here) = place.filter(|_| !lasts) {
            commas.push(here);
            since = tune
                .notes
                .get(here)
                .map_or(since, |note| note.onset + note.length);
            place = None;
        }
    }
    commas
}

/// Slurs and dots, decided once for each bar of a pattern.
fn articulate(
    measure: &Measure,
    tune: &Tune,
    manner: &Manner,
    style: Style,
    marks: &mut Marks,
    chance: &mut Chance,
) {
    let mut decided: BTreeMap<Vec<Ticks>, usize> = BTreeMap::new();
    for group in groups(measure, tune, style) {
        let Some(first) = group.first().and_then(|at| tune.notes.get(*at)) else {
            continue;
        };
        let notes: Vec<&Note> = group.iter().filter_map(|at| tune.notes.get(*at)).collect();
        let draw = match first.motif {
            // One figure is spoken one way through the whole piece.
            Some(_) => *decided
                .entry(notes.iter().map(|note| note.length).collect())
                .or_insert_with(|| chance.below(100)),
            // Pickups and closes speak plainly.
            None => 100,
        };
        let short = notes.iter().all(|note| note.length < 24);
        let slurred = match style {
            Style::Legato if draw < 92 => notes.len(),
            Style::Mixed if draw < 45 => notes.len(),
            // Two slurred, two separate.
            Style::Mixed if draw < 85 && notes.len() >= 3 => 2,
            Style::Light if draw < 50 && short && manner.signs.contains(&Sign::Slur) => 2,
            _ => 0,
        };
        let slurred = if manner.signs.contains(&Sign::Slur) {
            slurred
        } else {
            0
        };
        slur(&group, &notes, slurred, marks);
        // Dots suit even notes; on the odd sixteenth of a figure they are fussy.
        let even = notes.windows(2).all(|pair| pair[0].length == pair[1].length) && notes[0].length != 8;
        let dots = manner.signs.contains(&Sign::Staccato)
            && even
            && !manner.slow
            && (style == Style::Light || style == Style::Mixed && short);
        if dots && first.motif.is_some() && (style == Style::Light && draw < 85 || slurred == 2 && draw < 70)
        {
            for (at, note) in group.iter().zip(&notes).skip(slurred) {
                let long = note.length > 24 || note.length == 18;
                if !long {
                    marks.signs.insert(*at, Sign::Staccato);
                }
            }
        }
    }
    single_signs(measure, tune, manner, marks, chance);
    for sign in &manner.must {
        must_have(tune, *sign, marks);
    }
}

/// Notes that are articulated together: in a beat, in half a bar where the line is to be smooth.
fn groups(measure: &Measure, tune: &Tune, style: Style) -> Vec<Vec<usize>> {
    let unit = |onset: Ticks| -> (Ticks, Ticks) {
        let bar = onset.div_euclid(measure.length());
        let at = onset.rem_euclid(measure.length());
        let half = measure.middle();
        let by_beat = measure.beat_at(at).0;
        match (style, measure.kinds().first()) {
            (Style::Legato, Some(BeatKind::Quarter)) if measure.length() <= 72 => (bar, 0),
            (Style::Legato, Some(BeatKind::Quarter | BeatKind::Half)) => {
                (bar, if at < half { 0 } else { half })
            }
            _ => (bar, by_beat),
        }
    };
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (at, note) in tune.notes.iter().enumerate() {
        let before = at.checked_sub(1).and_then(|before| tune.notes.get(before));
        let joined = before.is_some_and(|before| {
            unit(before.onset) == unit(note.onset)
                && before.onset + before.length == note.onset
                && before.phrase == note.phrase
                && before.motif.is_some() == note.motif.is_some()
        });
        match groups.last_mut() {
            Some(group) if joined => group.push(at),
            _ => groups.push(vec![at]),
        }
    }
    groups
}

/// Slurs over the first so many notes of a group, parted where a note is repeated or leaps far.
fn slur(group: &[usize], notes: &[&Note], slurred: usize, marks: &mut Marks) {
    let mut start = 0;
    let end = slurred.min(notes.len());
    for at in 1..=end {
        let parted = at == end
            || notes.get(at - 1).zip(notes.get(at)).is_none_or(|(before, note)| {
                let steps = (note.diatonic - before.diatonic).abs();
                steps == 0 || steps > 4
            });
        if parted {
            if at - start >= 2
                && let (Some(from), Some(to)) = (group.get(start), group.get(at - 1))
            {
                marks.slurs.push((*from, *to));
            }
            start = at;
        }
    }
}

/// Accents on syncopated notes, lines on longer notes at a soft place: few.
fn single_signs(measure: &Measure, tune: &Tune, manner: &Manner, marks: &mut Marks, chance: &mut Chance) {
    let accents =
        manner.signs.contains(&Sign::Accent) && (chance.percent(60) || manner.must.contains(&Sign::Accent));
    let lines =
        manner.signs.contains(&Sign::Tenuto) && (chance.percent(35) || manner.must.contains(&Sign::Tenuto));
    for (at, note) in tune.notes.iter().enumerate() {
        if note.motif.is_none() || marks.signs.contains_key(&at) {
            continue;
        }
        let in_bar = note.onset.rem_euclid(measure.length());
        let strength = measure.strength(in_bar);
        let (beat_start, beat_end) = measure.beat_at(in_bar);
        let syncopated = in_bar > beat_start && in_bar + note.length > beat_end;
        let inside_slur = marks
            .slurs
            .iter()
            .any(|(from, to)| (from + 1..=*to).contains(&at));
        if accents && !inside_slur && (syncopated || Some(at) == tune.top && strength >= 3) {
            marks.signs.insert(at, Sign::Accent);
        } else if lines && !inside_slur && note.length >= 48 && strength >= 2 {
            marks.signs.insert(at, Sign::Tenuto);
        }
    }
}

/// A sign that is asked for stands at least once: on the beginning of the first phrase that has room.
fn must_have(tune: &Tune, sign: Sign, marks: &mut Marks) {
    let free = |at: &usize, marks: &Marks| !marks.slurs.iter().any(|(from, to)| (*from..=*to).contains(at));
    let found = match sign {
        Sign::Slur => !marks.slurs.is_empty(),
        _ => marks.signs.values().any(|known| *known == sign),
    };
    if found {
        return;
    }
    let motif: Vec<usize> = (0..tune.notes.len())
        .filter(|at| tune.notes.get(*at).is_some_and(|note| note.motif.is_some()))
        .collect();
    if sign == Sign::Slur {
        let pair = motif.windows(2).find(|pair| {
            let notes = (tune.notes.get(pair[0]), tune.notes.get(pair[1]));
            notes.0.zip(notes.1).is_some_and(|(a, b)| {
                a.phrase == b.phrase
                    && a.onset + a.length == b.onset
                    && (b.diatonic - a.diatonic).abs() == 1
                    && !marks.signs.contains_key(&pair[0])
                    && !marks.signs.contains_key(&pair[1])
            })
        });
        if let Some(pair) = pair {
            marks.slurs.push((pair[0], pair[1]));
        }
        return;
    }
    let suits = |at: &&usize| {
        let length = tune.notes.get(**at).map_or(0, |note| note.length);
        let fits = match sign {
            Sign::Staccato => length <= 24,
            _ => length >= 24,
        };
        fits && free(at, marks) && !marks.signs.contains_key(*at)
    };
    let at = motif.iter().find(suits).copied();
    if let Some(at) = at {
        marks.signs.insert(at, sign);
    }
}

/// A level at the start of a part, louder or softer where new material comes; hairpins to the high point and away at the end.
fn dynamics(measure: &Measure, tune: &Tune, manner: &Manner, marks: &mut Marks, chance: &mut Chance) {
    let levels = &manner.dynamics;
    let count = levels.len();
    let home = match count {
        1 => 0,
        2 => chance.below(2),
        _ => 1 + chance.below(count - 2),
    };
    let firsts: Vec<usize> = (0..tune.phrases.len())
        .filter_map(|phrase| tune.notes.iter().position(|note| note.phrase == phrase))
        .collect();
    let mut now = home;
    for (phrase, first) in tune.phrases.iter().zip(&firsts) {
        let wanted = match (phrase.letter, phrase.cadence) {
            (b'a', _) => home,
            _ if home + 1 < count && chance.percent(60) => home + 1,
            _ => home.saturating_sub(1),
        };
        if (*first == 0 || wanted != now)
            && let Some(level) = levels.get(wanted)
        {
            marks.dynamics.push((*first, level));
        }
        now = wanted;
    }
    if manner.hairpins {
        hairpins(measure, tune, levels, marks);
    }
}

/// From one or two bars before the high point up to it, and away through the last two bars.
fn hairpins(measure: &Measure, tune: &Tune, levels: &[&'static str], marks: &mut Marks) {
    let bar = measure.length();
    let Some((top_at, top)) = tune.top.and_then(|at| Some((at, *tune.notes.get(at)?))) else {
        return;
    };
    let level_at = |at: usize, marks: &Marks| {
        let before = marks.dynamics.iter().rfind(|(note, _)| *note <= at);
        before.and_then(|(_, level)| levels.iter().position(|known| known == level))
    };
    let from = tune.notes.iter().position(|note| {
        note.phrase == top.phrase
            && note.onset >= top.onset - bar
            && note.onset.rem_euclid(bar) < bar / 2
            && note.onset < top.onset
    });
    let Some(level) = level_at(top_at, marks) else {
        return;
    };
    if let Some(from) = from.filter(|from| top_at - from >= 2)
        && !marks
            .dynamics
            .iter()
            .any(|(at, _)| (from..=top_at).contains(at) && *at != from)
    {
        marks.hairpins.push((from, top_at - 1, true));
        let louder = (level + 1).min(levels.len() - 1);
        if louder != level
            && let Some(mark) = levels.get(louder)
        {
            marks.dynamics.push((top_at, mark));
            let next = tune.notes.iter().position(|note| note.phrase == top.phrase + 1);
            // The next phrase goes back to where it was.
            if let (Some(next), Some(mark)) = (next, levels.get(level))
                && !marks.dynamics.iter().any(|(at, _)| *at == next)
            {
                marks.dynamics.push((next, mark));
            }
        }
        marks.dynamics.sort_by_key(|(at, _)| *at);
    }
    let last = tune.notes.len() - 1;
    let end = tune.notes.get(last).map_or(0, |note| note.onset);
    let from = tune
        .notes
        .iter()
        .position(|note| note.onset >= end - bar && note.onset > top.onset);
    let closes = tune
        .phrases
        .last()
        .is_some_and(|phrase| phrase.cadence == Cadence::Full);
    if let Some(from) = from.filter(|from| closes && last - from >= 2)
        && level_at(last, marks).is_some_and(|level| level > 0)
    {
        marks.hairpins.push((from, last, false));
    }
}
