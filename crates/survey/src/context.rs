//! What does every question look at? The piece, the part, its line, and when things happen in written order.

use notation::{BarIndex, Event, Id, LineNote, Part, Piece, Place, Quarters, line};

/// One part of a piece, with what several questions need, computed once.
#[derive(Debug)]
pub struct Context<'a> {
    /// The whole piece: bars, bar lines and hints are shared by its parts.
    pub piece: &'a Piece,
    /// Which part, as an index into the piece's parts.
    pub part_index: usize,
    /// That part.
    pub part: &'a Part,
    /// Where each bar starts in written order, in quarter notes; one more than bars.
    pub bar_onsets: Vec<Quarters>,
    /// The part's single line in written order: ties joined, grace notes and cues left out.
    pub line: Vec<LineNote>,
}

impl<'a> Context<'a> {
    /// The context of a part; `None` if the piece has no such part.
    #[must_use]
    pub fn new(piece: &'a Piece, part_index: usize) -> Option<Self> {
        let part = piece.parts.get(part_index)?;
        let bar_onsets = piece.bar_onsets();
        let line = line(piece, part);
        Some(Self {
            piece,
            part_index,
            part,
            bar_onsets,
            line,
        })
    }

    /// The absolute onset of a place in written order, in quarter notes.
    #[must_use]
    pub fn onset(&self, place: Place) -> Quarters {
        self.bar_onsets.get(place.bar.get()).copied().unwrap_or_default() + place.offset
    }

    /// The event of a note of the line.
    #[must_use]
    pub fn event(&self, note: &LineNote) -> Option<&'a Event> {
        self.part.events.get(note.event)
    }

    /// The printed label of a bar.
    #[must_use]
    pub fn label(&self, bar: BarIndex) -> &'a str {
        self.piece.label(bar)
    }
}

/// One thing that can be checked by eye: where to look, and what is seen there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Evidence {
    /// The bar and offset to look at; `None` for the piece as a whole.
    pub place: Option<Place>,
    /// The element to look at, if there is one.
    pub element: Option<Id>,
    /// What is seen there, a clause without the bar's number (`last note played, F, the tonic`).
    pub says: String,
}

impl Evidence {
    /// Evidence about the piece as a whole.
    #[must_use]
    pub fn general(says: impl Into<String>) -> Self {
        Self {
            place: None,
            element: None,
            says: says.into(),
        }
    }

    /// Evidence at a place.
    #[must_use]
    pub fn at(place: Place, says: impl Into<String>) -> Self {
        Self {
            place: Some(place),
            element: None,
            says: says.into(),
        }
    }

    /// Evidence at an event.
    #[must_use]
    pub fn of(event: &Event, says: impl Into<String>) -> Self {
        Self {
            place: Some(event.place),
            element: Some(event.id),
            says: says.into(),
        }
    }
}
