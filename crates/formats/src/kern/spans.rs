//! What reaches from note to note? Slurs and phrases by their nesting and elision, glissandos, trills' wavy lines,
//! ottavas and pedals.

use super::layout::Home;
use super::part::Reader;
use super::scan::Cell;
use super::signs::Sign;
use super::token::{Curve, Note};
use notation::{Anchor, Finding, Severity, SpanKind};

/// What can be paired with what.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Family {
    Slur,
    Phrase,
    Glissando,
    TrillLine,
    Ottava,
    Pedal,
}

impl Family {
    /// The kind of finding for an end that is missing, and the trade's word.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Slur => ("unpaired-slur", "slur"),
            Self::Phrase => ("unpaired-phrase", "phrase mark"),
            Self::Glissando => ("unpaired-glissando", "glissando"),
            Self::TrillLine => ("unpaired-trill-line", "wavy line"),
            Self::Ottava => ("unpaired-ottava", "ottava"),
            Self::Pedal => ("unpaired-pedal", "pedal mark"),
        }
    }
}

/// A span whose end is still to come.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenSpan {
    pub family: Family,
    pub elision: u8,
    pub slot: usize,
    pub staff: u8,
    /// Index into the part's spans.
    pub span: usize,
}

/// More spans than are ever open at once in a part.
const MOST_OPEN: usize = 100;

impl<'a> Reader<'a, '_> {
    /// Opens and closes what a token's notes say about an event: ends first, then starts.
    pub(super) fn reach(&mut self, cell: &Cell<'a>, home: Home, event: usize, notes: &[Note<'a>]) {
        let curves = || notes.iter().flat_map(|note| &note.curves);
        if curves().next().is_some() {
            let mut late: Vec<Curve> = Vec::new();
            for curve in curves().filter(|curve| !curve.open) {
                if !self.close(home, cell, family(curve), curve.elision, event) {
                    late.push(*curve);
                }
            }
            for curve in curves().filter(|curve| curve.open) {
                let kind = if curve.phrase {
                    SpanKind::Other("phrase".to_owned())
                } else {
                    SpanKind::Slur
                };
                self.open(cell, home, family(curve), curve.elision, kind, event, curve.side);
            }
            // An end without a start so far may belong to one on the same note.
            for curve in late {
                if !self.close(home, cell, family(&curve), curve.elision, event) {
                    self.end_alone(cell, home, family(&curve), event);
                }
            }
        }
        let signs = || notes.iter().flat_map(|note| &note.signs);
        let has = |sign: &Sign| signs().any(|marked| marked.sign == *sign);
        if has(&Sign::GlissandoEnd) && !self.close(home, cell, Family::Glissando, 0, event) {
            self.end_alone(cell, home, Family::Glissando, event);
        }
        if has(&Sign::GlissandoStart) {
            self.open(cell, home, Family::Glissando, 0, SpanKind::Glissando, event, None);
        }
        self.trill_line(cell, home, event, notes);
    }

    /// `TT` starts a wavy line, `TTT` goes on with it.
    fn trill_line(&mut self, cell: &Cell<'a>, home: Home, event: usize, notes: &[Note<'a>]) {
        let line = notes
            .iter()
            .flat_map(|note| &note.signs)
            .find_map(|marked| match marked.sign {
                Sign::TrillLine { first } => Some(first),
                _ => None,
            });
        let open = self.parts[home.part]
            .open
            .iter()
            .position(|open| open.family == Family::TrillLine && open.slot == cell.slot);
        match (line, open) {
            (Some(false), Some(open)) => {
                let anchor = self.anchor(home.part, event);
                let state = &mut self.parts[home.part];
                let span = state.open[open].span;
                state.part.spans[span].end = anchor;
            }
            (Some(_), _) => {
                if let Some(open) = open {
                    self.parts[home.part].open.remove(open);
                }
                let anchor = self.anchor(home.part, event);
                self.open(cell, home, Family::TrillLine, 0, SpanKind::TrillLine, event, None);
                // Till it is known to go on, it lasts as long as its note.
                if let Some(span) = self.parts[home.part].part.spans.last_mut() {
                    span.end = anchor;
                }
            }
            (None, Some(open)) => {
                self.parts[home.part].open.remove(open);
            }
            (None, None) => {}
        }
    }

    #[expect(clippy::too_many_arguments, reason = "what a span is, whose, and where")]
    fn open(
        &mut self,
        cell: &Cell<'a>,
        home: Home,
        family: Family,
        elision: u8,
        kind: SpanKind,
        event: usize,
        side: Option<notation::Side>,
    ) {
        let anchor = self.anchor(home.part, event);
        self.open_at(cell, home, family, elision, kind, anchor, side);
    }

    /// Opens a span at an anchor.
    #[expect(clippy::too_many_arguments, reason = "what a span is, whose, and where")]
    pub(super) fn open_at(
        &mut self,
        cell: &Cell<'a>,
        home: Home,
        family: Family,
        elision: u8,
        kind: SpanKind,
        anchor: Option<Anchor>,
        side: Option<notation::Side>,
    ) {
        if self.parts[home.part].open.len() >= MOST_OPEN {
            let oldest = self.parts[home.part].open.remove(0);
            self.report_open(home.part, oldest);
        }
        // What hangs on a note is on its staff.
        let at_note = anchor.is_some_and(|anchor| anchor.element.is_some());
        let staff = if at_note {
            Some(home.staff)
        } else {
            self.staff(home)
        };
        let span = self.span(cell, home.part, kind, anchor, staff, side);
        self.parts[home.part].open.push(OpenSpan {
            family,
            elision,
            slot: cell.slot,
            staff: home.staff,
            span,
        });
    }

    fn close(&mut self, home: Home, cell: &Cell<'a>, family: Family, elision: u8, event: usize) -> bool {
        let anchor = self.anchor(home.part, event);
        self.close_at(home, cell, family, elision, anchor)
    }

    /// Closes the innermost open span that an end belongs to: in its voice, else on its staff, else in its part.
    pub(super) fn close_at(
        &mut self,
        home: Home,
        cell: &Cell<'a>,
        family: Family,
        elision: u8,
        anchor: Option<Anchor>,
    ) -> bool {
        let state = &mut self.parts[home.part];
        let same = |open: &OpenSpan| open.family == family && open.elision == elision;
        let found = state
            .open
            .iter()
            .rposition(|o| same(o) && o.slot == cell.slot)
            .or_else(|| state.open.iter().rposition(|o| same(o) && o.staff == home.staff))
            .or_else(|| state.open.iter().rposition(same));
        let Some(found) = found else { return false };
        let open = state.open.remove(found);
        state.part.spans[open.span].end = anchor;
        true
    }

    /// An end that no start belongs to.
    pub(super) fn end_alone(&mut self, cell: &Cell<'a>, home: Home, family: Family, event: usize) {
        let (kind, word) = family.words();
        self.find(
            home.part,
            Severity::Caution,
            kind,
            format!("a {word} ends here that never started"),
            "look on the page where it starts and ends",
        );
        let kind = match family {
            Family::Slur => SpanKind::Slur,
            Family::Phrase => SpanKind::Other("phrase".to_owned()),
            Family::Glissando => SpanKind::Glissando,
            Family::TrillLine | Family::Ottava | Family::Pedal => return,
        };
        let (staff, end) = (Some(home.staff), self.anchor(home.part, event));
        let span = self.span(cell, home.part, kind, None, staff, None);
        self.parts[home.part].part.spans[span].end = end;
    }

    /// Reports what is open at the end.
    pub(super) fn finish_spans(&mut self) {
        for part in 0..self.parts.len() {
            for open in std::mem::take(&mut self.parts[part].open) {
                if open.family != Family::TrillLine {
                    self.report_open(part, open);
                }
            }
            self.parts[part]
                .part
                .spans
                .sort_by_key(|span| span.start.or(span.end).map(|anchor| anchor.place));
        }
    }

    fn report_open(&mut self, part: usize, open: OpenSpan) {
        let Some(anchor) = self.parts[part]
            .part
            .spans
            .get(open.span)
            .and_then(|span| span.start)
        else {
            return;
        };
        let (kind, word) = open.family.words();
        let mut finding = Finding::new(
            Severity::Caution,
            kind,
            format!("the {word} that starts here never ends"),
            "look on the page where it starts and ends",
        );
        if let Some(element) = anchor.element {
            finding = finding.about(element);
        }
        (self.bar, self.offset) = (anchor.place.bar, anchor.place.offset);
        let finding = self.here(Some(part)).put(finding);
        self.score.report.push(finding);
    }
}

fn family(curve: &Curve) -> Family {
    if curve.phrase {
        Family::Phrase
    } else {
        Family::Slur
    }
}
