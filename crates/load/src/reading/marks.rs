//! Which marks are to be noticed? Accidentals against the signature, changes of articulation and dynamics, clefs and the like.
//!
//! A mark costs what it takes to say that it comes here, and which one it is, when all that was known are the marks so far:
//! a rate with a prior (the first staccato after forty plain notes costs more than the fortieth), then which of the marks
//! met so far, or a new one. Marks that go on as they were cost nothing.

use super::words;
use crate::{Placed, Share};
use notation::{Alter, BarIndex, Change, DirectionKind, Event, Id, Part, Pitch, Place, SpanKind, Step};
use std::collections::{BTreeMap, BTreeSet};
use survey::Context;

/// Kinds of marks with a rate of their own; how often one is to be expected before any was seen, in notes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Sort {
    Accidental,
    Articulation,
    Dynamics,
    Clef,
    Key,
    Metre,
    Grace,
}

impl Sort {
    const fn kind(self) -> &'static str {
        match self {
            Self::Accidental => "accidental",
            Self::Articulation => "articulation",
            Self::Dynamics => "dynamics",
            Self::Clef => "clef",
            Self::Key => "key",
            Self::Metre => "metre",
            Self::Grace => "grace",
        }
    }

    /// Source: counted here in quartets and songs, 184,931 notes (`long_term.md`).
    const fn one_in(self) -> f64 {
        match self {
            Self::Articulation => 6.0,
            Self::Accidental => 9.0,
            Self::Dynamics => 12.0,
            Self::Grace => 200.0,
            Self::Clef => 700.0,
            Self::Key => 900.0,
            Self::Metre => 1200.0,
        }
    }
}

/// How many different marks of a sort a reader reckons with before having met them.
const KINDS_AHEAD: f64 = 8.0;

#[derive(Default)]
struct Seen {
    marks: f64,
    kinds: BTreeMap<String, f64>,
}

/// In a passage that is another one, its marks are expected: nine times in ten they return with it.
const EXPECTED: f64 = 0.9;

#[derive(Default)]
struct Notebook {
    notes: f64,
    seen: BTreeMap<Sort, Seen>,
    shares: Vec<Placed>,
    /// The marks of the notes so far, and the note read now with the one whose return it is.
    at: BTreeSet<(Id, Sort, String)>,
    note: Option<Id>,
    like: Option<Id>,
}

impl Notebook {
    /// Notes a mark: how unexpected it is, then counts it. `which` tells marks of a sort apart; `says` is said.
    fn mark(&mut self, sort: Sort, place: Place, which: &str, says: String) {
        let seen = self.seen.entry(sort).or_default();
        let rate = (seen.marks + 0.5) / (self.notes.max(seen.marks) + 0.5 * sort.one_in());
        #[expect(clippy::cast_precision_loss, reason = "a few kinds of marks")]
        let kinds = seen.kinds.len() as f64;
        let whole = seen.marks + kinds;
        let this = match seen.kinds.get(which) {
            Some(count) => count / whole,
            None if whole > 0.0 => kinds / whole / KINDS_AHEAD,
            None => 1.0 / KINDS_AHEAD,
        };
        let mut amount = (-rate.min(1.0).log2() - this.log2()).max(0.0);
        let returns = self
            .like
            .is_some_and(|like| self.at.contains(&(like, sort, which.to_owned())));
        if returns {
            amount = amount.min(-EXPECTED.log2());
        }
        if let Some(note) = self.note {
            self.at.insert((note, sort, which.to_owned()));
        }
        seen.marks += 1.0;
        *seen.kinds.entry(which.to_owned()).or_default() += 1.0;
        self.shares.push(Placed {
            place,
            share: Share {
                kind: sort.kind(),
                why: says,
                amount,
            },
        });
    }
}

/// The marks of a part, in order of place; `returns` tells which notes are the return of an earlier one.
#[must_use]
pub fn marks(ctx: &Context<'_>, returns: &BTreeMap<Id, Id>) -> Vec<Placed> {
    let part = ctx.part;
    let mut notebook = Notebook::default();
    let mut changes = changes(part);
    changes.reverse();
    let slurs = slur_starts(part);
    let mut accidentals = Accidentals::default();
    let mut before = String::new();
    let mut grace_before = false;
    for event in part.events.iter().filter(|event| !event.cue && event.is_note()) {
        notebook.note = Some(event.id);
        notebook.like = returns.get(&event.id).copied();
        while changes.last().is_some_and(|change| change.place <= event.place) {
            if let Some(change) = changes.pop() {
                notebook.mark(change.sort, change.place, &change.which, change.says);
            }
        }
        accidentals.read(part, event, &mut notebook);
        for dynamic in &event.dynamics {
            notebook.mark(Sort::Dynamics, event.place, dynamic, words::dynamic(dynamic));
        }
        if event.is_grace() {
            if !grace_before {
                notebook.mark(Sort::Grace, event.place, "grace", "grace notes".to_owned());
            }
            grace_before = true;
            continue;
        }
        grace_before = false;
        let signs = signs(event, slurs.contains(&event.id));
        if signs != before && !signs.is_empty() {
            let new = notebook
                .seen
                .get(&Sort::Articulation)
                .is_none_or(|seen| !seen.kinds.contains_key(&signs));
            notebook.mark(
                Sort::Articulation,
                event.place,
                &signs,
                words::articulation(&signs, new),
            );
        }
        before = signs;
        notebook.notes += 1.0;
    }
    while let Some(change) = changes.pop() {
        notebook.mark(change.sort, change.place, &change.which, change.says);
    }
    notebook.shares
}

/// A change dated on the page.
struct Dated {
    place: Place,
    sort: Sort,
    which: String,
    says: String,
}

fn changes(part: &Part) -> Vec<Dated> {
    let mut all = Vec::new();
    let mut add = |place, sort, which: String, says| {
        all.push(Dated {
            place,
            sort,
            which,
            says,
        })
    };
    for change in new_ones(&part.clefs) {
        let name = change.value.name();
        add(
            change.place,
            Sort::Clef,
            name.clone(),
            format!("clef changes to {name}"),
        );
    }
    for change in new_ones(&part.keys) {
        let name = change.value.name();
        add(
            change.place,
            Sort::Key,
            name.clone(),
            format!("new key signature: {name}"),
        );
    }
    for change in new_ones(&part.metres) {
        let name = change.value.name();
        add(
            change.place,
            Sort::Metre,
            name.clone(),
            format!("metre changes to {name}"),
        );
    }
    for direction in part.directions.iter().filter(|direction| direction.printed) {
        if let DirectionKind::Dynamic(mark) = &direction.kind {
            add(
                direction.place,
                Sort::Dynamics,
                mark.clone(),
                words::dynamic(mark),
            );
        }
    }
    for span in &part.spans {
        let hairpin = match span.kind {
            SpanKind::Crescendo { .. } => "crescendo",
            SpanKind::Diminuendo { .. } => "diminuendo",
            _ => continue,
        };
        if let Some(start) = span.start {
            add(
                start.place,
                Sort::Dynamics,
                hairpin.to_owned(),
                format!("{hairpin} begins"),
            );
        }
    }
    all.sort_by_key(|change| change.place);
    all
}

/// The changes that change something. What stands at the very beginning is read before the first note; what is printed again
/// at a new line is nothing new.
fn new_ones<T: PartialEq>(changes: &[Change<T>]) -> impl Iterator<Item = &Change<T>> {
    changes.iter().enumerate().filter_map(|(at, change)| {
        let before = changes
            .get(..at)?
            .iter()
            .rev()
            .take(8)
            .find(|before| before.staff == change.staff);
        let new = before.is_none_or(|before| before.value != change.value);
        (change.place > Place::default() && new).then_some(change)
    })
}

/// The events at which slurs start.
fn slur_starts(part: &Part) -> BTreeSet<Id> {
    let slurs = part.spans.iter().filter(|span| span.kind == SpanKind::Slur);
    slurs
        .filter_map(|span| span.start.and_then(|start| start.element))
        .collect()
}

/// The signs at a note that tell how to start and end it: `staccato`, `accent and tenuto`, `slur`.
fn signs(event: &Event, slur: bool) -> String {
    let mut all: Vec<&str> = event
        .articulations
        .iter()
        .filter(|sign| !sign.kind.is_break())
        .map(|sign| sign.kind.mark())
        .collect();
    all.sort_unstable();
    all.dedup();
    if slur {
        all.push("slur");
    }
    all.join(" and ")
}

/// Which alterations are in force in a bar.
#[derive(Default)]
struct Accidentals {
    bar: Option<BarIndex>,
    in_force: BTreeMap<(u8, i32), Alter>,
}

impl Accidentals {
    /// A sign is read where a note is not as the signature, or a sign before it in the bar, would have it. The page may lack
    /// the sign (a MIDI file has none): the note needs it all the same.
    fn read(&mut self, part: &Part, event: &Event, notebook: &mut Notebook) {
        if self.bar != Some(event.place.bar) {
            self.bar = Some(event.place.bar);
            self.in_force.clear();
        }
        for head in event.heads() {
            let Some(pitch) = head.pitch() else { continue };
            let signature = signature_alter(part, head.staff, event.place, pitch.step);
            let place_on_staff = (head.staff, pitch.diatonic());
            let now = self.in_force.get(&place_on_staff).copied().unwrap_or(signature);
            if now == pitch.alter || head.tie_stop {
                continue;
            }
            self.in_force.insert(place_on_staff, pitch.alter);
            let against = pitch.alter != signature;
            notebook.mark(
                Sort::Accidental,
                event.place,
                &which(pitch, against),
                words::accidental(pitch, against),
            );
        }
    }
}

fn signature_alter(part: &Part, staff: u8, place: Place, step: Step) -> Alter {
    part.key_at(staff, place)
        .map_or(Alter::ZERO, |key| key.alter_of(step))
}

/// Accidentals are told apart by their letter: a piece in D minor has its C♯s, and a G♯ is news.
fn which(pitch: Pitch, against: bool) -> String {
    if against {
        pitch.class_sign()
    } else {
        format!("{} again", pitch.class_sign())
    }
}
