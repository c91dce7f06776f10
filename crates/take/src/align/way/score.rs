//! What was to be played, note by note, and where the page leads on from each?

use crate::expected::Expected;

/// The notes, and where the page leads on from each otherwise than in the order of the repeats.
pub(crate) struct Score<'a> {
    /// The notes.
    pub line: &'a [Expected],
    /// For each note, notes that follow it on the page on another time round.
    pub page_next: Vec<Vec<u32>>,
    /// Notes of the page that were to be played before, on an earlier time round.
    pub(super) again: Vec<bool>,
    /// The pitches that come, each once.
    pub(super) keys: Vec<f64>,
    /// For each note its pitch, as an index into them.
    pub(super) key_of: Vec<usize>,
}

impl<'a> Score<'a> {
    pub fn new(line: &'a [Expected]) -> Self {
        use std::collections::BTreeMap;
        let mut places: BTreeMap<(notation::Place, notation::Id), Vec<usize>> = BTreeMap::new();
        for (index, note) in line.iter().enumerate() {
            places.entry((note.place, note.event)).or_default().push(index);
        }
        // Other times of the same written note: what follows them follows this one, too.
        let page_next = line
            .iter()
            .enumerate()
            .map(|(index, note)| {
                let same = places
                    .get(&(note.place, note.event))
                    .map_or(&[][..], Vec::as_slice);
                // The notes of one ornament stand at one place, too, but within one time round.
                same.iter()
                    .filter(|other| line.get(**other).is_some_and(|other| other.slot != note.slot))
                    .filter(|other| line.get(**other + 1).is_some())
                    .filter_map(|other| u32::try_from(other + 1).ok())
                    .filter(|next| usize::try_from(*next).is_ok_and(|next| next != index + 1))
                    .take(8)
                    .collect()
            })
            .collect();
        let again = line
            .iter()
            .map(|note| {
                places
                    .get(&(note.place, note.event))
                    .and_then(|same| line.get(*same.first()?))
                    .is_some_and(|first| first.slot < note.slot)
            })
            .collect();
        let mut keys: Vec<f64> = line.iter().map(|note| note.key).collect();
        keys.sort_unstable_by(f64::total_cmp);
        keys.dedup();
        let key_of = line
            .iter()
            .map(|note| keys.partition_point(|key| *key < note.key))
            .collect();
        Self {
            line,
            page_next,
            again,
            keys,
            key_of,
        }
    }
}
