//! Which grace notes are there, before or after which note, and may they be long?

use crate::Context;
use notation::{Event, Id, Pitch, Place, Quarters};
use performance::ornament::{long_value, short_because};

/// Grace notes that belong together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GraceGroup {
    /// Where.
    pub place: Place,
    /// The grace notes in order.
    pub elements: Vec<Id>,
    /// Their pitches as written, in order (of a chord the highest).
    pub notes: Vec<Pitch>,
    /// With a stroke through the stem (any of them).
    pub slashed: bool,
    /// What sort of group.
    pub sort: GraceSort,
    /// The note they lean on, or follow.
    pub main: Option<Id>,
    /// How long the grace note takes from its main note by the 18th-century rule, in quarter notes; for a single grace
    /// note without a slash and without a reason to be short.
    pub long: Option<Quarters>,
    /// In words: what it is, and why long or short.
    pub says: String,
}

/// Sorts of grace-note groups.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum GraceSort {
    /// One note with a slash.
    Acciaccatura,
    /// One note without a slash.
    Appoggiatura,
    /// Two notes or more before the main note.
    Several,
    /// After the main note: a termination.
    After,
}

impl GraceSort {
    /// The trade's word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Acciaccatura => "acciaccatura",
            Self::Appoggiatura => "appoggiatura",
            Self::Several => "group of grace notes",
            Self::After => "grace notes after the note",
        }
    }
}

pub(super) fn groups(ctx: &Context) -> Vec<GraceGroup> {
    let mut found = Vec::new();
    let mut voices: Vec<u16> = ctx
        .part
        .events
        .iter()
        .filter(|e| e.is_grace() && !e.cue)
        .map(|e| e.voice)
        .collect();
    voices.sort_unstable();
    voices.dedup();
    for voice in voices {
        let events: Vec<&Event> = ctx
            .part
            .events
            .iter()
            .filter(|e| e.voice == voice && !e.cue)
            .collect();
        let mut index = 0;
        while let Some(first) = events.get(index) {
            let Some(grace) = first.grace else {
                index += 1;
                continue;
            };
            let same =
                |e: &&&Event| e.grace.is_some_and(|g| g.after == grace.after) && e.place == first.place;
            let group: Vec<&Event> = events.iter().skip(index).take_while(same).copied().collect();
            let before = index.checked_sub(1).and_then(|i| events.get(i)).copied();
            let after: Vec<&Event> = events.iter().skip(index + group.len()).take(2).copied().collect();
            found.push(group_of(&group, grace.after, before, &after));
            index += group.len().max(1);
        }
    }
    found.sort_by_key(|group| group.place);
    found
}

fn group_of(group: &[&Event], trailing: bool, before: Option<&Event>, after: &[&Event]) -> GraceGroup {
    let slashed = group
        .iter()
        .any(|event| event.grace.is_some_and(|grace| grace.slash));
    let sort = match (trailing, group.len(), slashed) {
        (true, _, _) => GraceSort::After,
        (false, 1, true) => GraceSort::Acciaccatura,
        (false, 1, false) => GraceSort::Appoggiatura,
        (false, _, _) => GraceSort::Several,
    };
    let main = if trailing { before } else { after.first().copied() }.filter(|event| event.is_note());
    let notes: Vec<Pitch> = group.iter().filter_map(|event| event.top_pitch()).collect();
    let short = main.and_then(|main| short_because(notes.first().copied(), main, after.get(1).copied()));
    let long = match (sort, main) {
        (GraceSort::Appoggiatura, Some(main)) if short.is_none() => {
            Some(long_value(main, after.get(1).copied()))
        }
        _ => None,
    };
    let names: Vec<String> = notes.iter().map(|pitch| pitch.sign()).collect();
    GraceGroup {
        place: group.first().map(|event| event.place).unwrap_or_default(),
        elements: group.iter().map(|event| event.id).collect(),
        slashed,
        main: main.map(|event| event.id),
        says: format!(
            "{} {}: {}",
            sort.word(),
            names.join(" "),
            meaning(sort, short, long.map(|(_, share)| share))
        ),
        notes,
        sort,
        long: long.map(|(length, _)| length),
    }
}

fn meaning(sort: GraceSort, short: Option<&'static str>, share: Option<&'static str>) -> String {
    match (sort, share, short) {
        // Source: International Encyclopedia, "Appoggiatura": very quick; on or before the beat is disputed.
        (GraceSort::Acciaccatura, _, _) => {
            "very quick; on or before the beat, as your teacher says".to_owned()
        }
        (GraceSort::Appoggiatura, Some(share), _) => {
            format!(
                "on the beat; in 18th-century music it takes {share} (C.P.E. Bach 1753), later it is short"
            )
        }
        (GraceSort::Appoggiatura, None, Some(why)) => format!("short, {why}"),
        (GraceSort::Appoggiatura, None, None) => "on the beat".to_owned(),
        (GraceSort::Several, _, _) => "quick, leading into the main note".to_owned(),
        (GraceSort::After, _, _) => "at the end of the main note, leading on".to_owned(),
    }
}
