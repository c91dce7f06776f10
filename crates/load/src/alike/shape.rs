//! What is there to compare in a bar? Its rhythm, its notes, and hashes of both, whatever the pitch it starts on.

use notation::{BarIndex, Event, EventKind, Part, Pitch, Quarters};
use std::hash::{DefaultHasher, Hash, Hasher};

/// One event of a bar's line: a note, a rest, or a note tied over.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Item {
    pub offset: Quarters,
    pub duration: Quarters,
    /// The top note; `None` for a rest.
    pub pitch: Option<Pitch>,
    pub tied: bool,
    /// Semitones by which the note is altered from the signature.
    pub off: i8,
    /// Names of the marks on it.
    pub marks: Vec<String>,
}

/// One bar, to be compared with others.
#[derive(Clone, Debug, Default)]
pub(super) struct Shape {
    pub items: Vec<Item>,
    /// Notes among the items.
    pub notes: usize,
    pub rhythm: u64,
    pub exact: u64,
    pub by_steps: u64,
    pub by_key: u64,
}

fn hash(of: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    of.hash(&mut hasher);
    hasher.finish()
}

impl Shape {
    /// The shape of a bar: its notes and rests without grace notes and cues; of a chord the top note.
    pub(super) fn of(part: &Part, bar: BarIndex) -> Self {
        let items: Vec<Item> = part
            .bar_events(bar)
            .iter()
            .filter_map(|event| item(part, event))
            .collect();
        let rhythm = hash(
            items
                .iter()
                .map(|item| (item.offset, item.duration, item.pitch.is_some(), item.tied))
                .collect::<Vec<_>>(),
        );
        let pitches: Vec<Pitch> = items.iter().filter_map(|item| item.pitch).collect();
        let from_first = |value: fn(Pitch) -> i32| -> Vec<i32> {
            let first = pitches.first().copied().map_or(0, value);
            pitches.iter().map(|pitch| value(*pitch) - first).collect()
        };
        let steps = from_first(Pitch::diatonic);
        Self {
            notes: pitches.len(),
            rhythm,
            exact: hash((rhythm, &pitches)),
            by_key: hash((rhythm, &steps, from_first(Pitch::key_number))),
            by_steps: hash((rhythm, steps)),
            items,
        }
    }

    /// The notes, in order.
    pub(super) fn pitches(&self) -> impl Iterator<Item = Pitch> + '_ {
        self.items.iter().filter_map(|item| item.pitch)
    }

    /// By how many staff places and by how many semitones every note lies above the other's, where that is the same
    /// for all of them; `None` if the rhythms differ.
    pub(super) fn shift_from(&self, other: &Self) -> Option<(Option<i32>, Option<i32>)> {
        if self.rhythm != other.rhythm || self.notes != other.notes {
            return None;
        }
        let constant = |value: fn(Pitch) -> i32| {
            let mut shifts = self
                .pitches()
                .zip(other.pitches())
                .map(|(a, b)| value(a) - value(b));
            let first = shifts.next()?;
            shifts.all(|shift| shift == first).then_some(first)
        };
        Some((constant(Pitch::diatonic), constant(Pitch::key_number)))
    }
}

fn item(part: &Part, event: &Event) -> Option<Item> {
    if event.is_grace() || event.cue || matches!(event.kind, EventKind::Space) {
        return None;
    }
    Some(Item {
        offset: event.place.offset,
        duration: event.duration,
        pitch: event.top_pitch(),
        tied: event.heads().iter().any(|head| head.tie_stop),
        off: event.top_pitch().map_or(0, |pitch| off(part, event, pitch)),
        marks: marks(event),
    })
}

/// By how much a note is altered from what the signature gives its letter.
fn off(part: &Part, event: &Event, pitch: Pitch) -> i8 {
    let signature = part.key_at(event.staff, event.place);
    let asked = signature.map(|key| key.alter_of(pitch.step)).unwrap_or_default();
    let difference = pitch.alter - asked;
    if difference.is_whole() {
        i8::try_from(difference.num()).unwrap_or(0)
    } else {
        0
    }
}

/// The trade's words for what stands on a note.
fn marks(event: &Event) -> Vec<String> {
    let articulations = event.articulations.iter().map(|mark| mark.kind.mark().to_owned());
    let ornaments = event.ornaments.iter().map(|mark| mark.kind.mark().to_owned());
    let fermatas = event.fermatas.iter().map(|_| "fermata".to_owned());
    articulations.chain(ornaments).chain(fermatas).collect()
}
