//! Which dynamic marks stand on the page? Letters and words at one place are read as one mark (`poco` + `f`).

use crate::Context;
use ::terms::dynamics::{Direction, DynamicKind, DynamicWord, Loudness, dynamic_words, level_name};
use notation::{Direction as Written, DirectionKind, Event, Id, Place};

/// One dynamic mark.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DynamicMark {
    /// The usual spelling (`mp`, `sfz`, `poco f`, `p subito`, `più p`).
    pub mark: String,
    /// As printed, with its small words.
    pub text: String,
    /// What it asks for: a level, an accent, a sudden or a relative change.
    pub kind: DynamicKind,
    /// Its loudness, or that of the accented note; `None` when relative or not known.
    pub loudness: Option<Loudness>,
    /// The loudness right after an accent (the p of fp).
    pub then: Option<Loudness>,
    /// Which way a relative mark goes.
    pub direction: Option<Direction>,
    /// What it means, in plain words.
    pub means: String,
    /// Where.
    pub place: Place,
    /// The direction or event it belongs to.
    pub element: Id,
    /// True if it was printed in words (`forte`, `mezza voce`).
    pub in_words: bool,
}

impl DynamicMark {
    /// A level that holds until the next mark, whether reached at once or not.
    #[must_use]
    pub fn is_level(&self) -> bool {
        matches!(self.kind, DynamicKind::Level | DynamicKind::Sudden) && self.loudness.is_some()
    }

    /// The mark without its `subito`.
    #[must_use]
    pub fn plain(&self) -> &str {
        self.mark.strip_suffix(" subito").unwrap_or(&self.mark)
    }

    /// The level that holds after the mark; `None` if it changes none (an accent) or says it only relatively.
    #[must_use]
    pub fn level_after(&self) -> Option<Loudness> {
        match self.kind {
            DynamicKind::Level | DynamicKind::Sudden => self.loudness,
            DynamicKind::Accent => self.then,
            DynamicKind::Relative => None,
        }
    }
}

/// Every mark in order of place.
pub(super) fn marks(ctx: &Context) -> Vec<DynamicMark> {
    let mut marks = Vec::new();
    let directions = &ctx.part.directions;
    let mut from = 0;
    while let Some(first) = directions.get(from) {
        let together = directions[from..]
            .iter()
            .take_while(|d| d.place == first.place)
            .count();
        at_one_place(&directions[from..from + together], &mut marks);
        from += together;
    }
    let own: Vec<&Event> = ctx
        .part
        .events
        .iter()
        .filter(|e| !e.dynamics.is_empty() && !e.cue)
        .collect();
    for event in own {
        for letters in &event.dynamics {
            read(
                letters,
                &[(letters.len(), event.id, false)],
                event.place,
                &mut marks,
            );
        }
    }
    marks.sort_by_key(|mark| mark.place);
    marks
}

/// Reads the words and letters of one place as one text, so that `poco` belongs to its `f`.
fn at_one_place(directions: &[Written], marks: &mut Vec<DynamicMark>) {
    let Some(first) = directions.first() else { return };
    let mut text = String::new();
    let mut pieces: Vec<(usize, Id, bool)> = Vec::new();
    for direction in directions {
        let (words, in_words) = match &direction.kind {
            DirectionKind::Dynamic(letters) if !read_whole(letters) => {
                marks.push(as_it_stands(letters, direction.place, direction.id));
                continue;
            }
            DirectionKind::Dynamic(letters) => (letters, false),
            DirectionKind::Words(words) => (words, true),
            _ => continue,
        };
        if !text.is_empty() {
            text.push(' ');
        }
        text.push_str(words);
        pieces.push((text.len(), direction.id, in_words));
    }
    if !pieces.is_empty() {
        read(&text, &pieces, first.place, marks);
    }
}

/// The marks of a text; `pieces` says up to which byte each element's share goes.
fn read(text: &str, pieces: &[(usize, Id, bool)], place: Place, marks: &mut Vec<DynamicMark>) {
    let found = dynamic_words(text);
    if found.is_empty() {
        if let Some((_, element, _)) = pieces.iter().find(|(_, _, in_words)| !in_words) {
            marks.push(as_it_stands(text, place, *element));
        }
        return;
    }
    let mut here: Vec<DynamicMark> = Vec::new();
    for word in found {
        let mut before = 0;
        let mut share: Vec<(Id, bool)> = Vec::new();
        for (until, element, in_words) in pieces {
            if word.range.start < *until && word.range.end > before {
                share.push((*element, *in_words));
            }
            before = *until;
        }
        // The letters are the mark; the words only shade it.
        let owner = share.iter().find(|(_, in_words)| !in_words).or(share.first());
        if let Some((element, in_words)) = owner {
            here.push(mark(word, place, *element, *in_words));
        }
    }
    // Beside letters, words that name a level only colour it (pp, très doux).
    let letters = here.iter().any(|mark| !mark.in_words && mark.is_level());
    marks.extend(
        here.into_iter()
            .filter(|mark| !(letters && mark.in_words && mark.is_level())),
    );
}

/// True if the rules of dynamics read all of these letters (`abc-ffz` holds more than they can say).
fn read_whole(letters: &str) -> bool {
    let letters = letters.trim();
    match dynamic_words(letters).as_slice() {
        [one] => one.range.len() == letters.len(),
        _ => false,
    }
}

/// Letters that no rule reads (`other-dynamics`), kept as they stand.
fn as_it_stands(letters: &str, place: Place, element: Id) -> DynamicMark {
    DynamicMark {
        mark: letters.to_owned(),
        text: letters.to_owned(),
        kind: DynamicKind::Level,
        loudness: None,
        then: None,
        direction: None,
        means: String::new(),
        place,
        element,
        in_words: false,
    }
}

fn mark(word: DynamicWord, place: Place, element: Id, in_words: bool) -> DynamicMark {
    let reading = ::terms::read(&word.text);
    let level = word.loudness.map(level_name).unwrap_or_default();
    DynamicMark {
        means: reading.meaning.unwrap_or_else(|| level.to_owned()),
        mark: word.mark,
        text: word.text,
        kind: word.kind,
        loudness: word.loudness,
        then: word.then,
        direction: word.direction,
        place,
        element,
        in_words,
    }
}
