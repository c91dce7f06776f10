//! Which start belongs to which end? Slurs, hairpins, ottavas, pedals and brackets, paired in musical order.
//!
//! Starts and ends are gathered over a bar and paired in order of time, because a file writes voice after voice:
//! an end may stand in it before its start. Source: MusicXML 4.0, number-level and start-stop.

use super::part::PartReader;
use crate::report::Here;
use crate::xml::El;
use notation::{Anchor, BarIndex, Finding, IdKind, Place, Quarters, Severity, Side, Span, SpanKind};

/// What can be paired with what.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Family {
    Slur,
    Wedge,
    Ottava,
    Pedal,
    Dashes,
    Bracket,
    TrillLine,
    Glissando,
    Slide,
    Tuplet,
    Tremolo,
    HammerOn,
    PullOff,
    Principal,
}

impl Family {
    /// The kind of finding for an end that is missing, and the trade's word.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Slur => ("unpaired-slur", "slur"),
            Self::Wedge => ("unpaired-hairpin", "hairpin"),
            Self::Ottava => ("unpaired-ottava", "ottava"),
            Self::Pedal => ("unpaired-pedal", "pedal mark"),
            Self::Dashes => ("unpaired-dashes", "dashed line"),
            Self::Bracket => ("unpaired-bracket", "bracket"),
            Self::TrillLine => ("unpaired-trill-line", "wavy line"),
            Self::Glissando => ("unpaired-glissando", "glissando"),
            Self::Slide => ("unpaired-slide", "slide"),
            Self::Tuplet => ("unpaired-tuplet", "tuplet bracket"),
            Self::Tremolo => ("unpaired-tremolo", "tremolo between two notes"),
            Self::HammerOn => ("unpaired-hammer-on", "hammer-on"),
            Self::PullOff => ("unpaired-pull-off", "pull-off"),
            Self::Principal => ("unpaired-principal-voice", "bracket of the principal voice"),
        }
    }
}

/// What a mark does.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum MarkKind {
    Stop,
    Start(SpanKind),
}

/// One end of a span.
#[derive(Clone, Debug)]
struct Mark {
    family: Family,
    number: u16,
    kind: MarkKind,
    anchor: Anchor,
    /// Order at one offset: grace notes first.
    order: (Quarters, u8, u16),
    voice: Option<u16>,
    staff: Option<u8>,
    side: Option<Side>,
    range: (u32, u32),
    niente: bool,
}

#[derive(Debug)]
struct Open {
    family: Family,
    number: u16,
    voice: Option<u16>,
    staff: Option<u8>,
    span: usize,
}

/// Spans of the part that are open, and the ends met in the bar being read.
#[derive(Debug, Default)]
pub(super) struct Spans {
    marks: Vec<Mark>,
    open: Vec<Open>,
    /// Tuplet spans whose numbers the first note did not tell.
    unknown: bool,
}

/// More spans than are ever open at once in a part.
const MOST_OPEN: usize = 100;

impl PartReader<'_> {
    /// Keeps one end of a span that belongs to an event.
    pub(super) fn event_mark(
        &mut self,
        el: El<'_, '_>,
        family: Family,
        number: u16,
        kind: MarkKind,
        event: usize,
    ) {
        self.score.taken += 1;
        let Some(event) = self.part.events.get(event) else {
            return;
        };
        let order = match event.grace {
            Some(grace) => (event.place.offset, 0, grace.order),
            None => (event.place.offset, 1, 0),
        };
        let mark = Mark {
            family,
            number,
            kind,
            anchor: Anchor {
                place: event.place,
                element: Some(event.id),
            },
            order,
            voice: Some(event.voice),
            staff: Some(event.staff),
            side: super::part::side(el).or_else(|| orientation(el)),
            range: el.range(),
            niente: el.yes("niente"),
        };
        self.spans.marks.push(mark);
    }

    /// Keeps one end of a span that stands at a place.
    pub(super) fn place_mark(
        &mut self,
        el: El<'_, '_>,
        family: Family,
        kind: MarkKind,
        place: Place,
        staff: Option<u8>,
        side: Option<Side>,
    ) {
        self.score.taken += 1;
        let mark = Mark {
            family,
            number: number(el),
            kind,
            anchor: Anchor { place, element: None },
            order: (place.offset, 1, 0),
            voice: None,
            staff,
            side,
            range: el.range(),
            niente: el.yes("niente"),
        };
        self.spans.marks.push(mark);
    }

    /// Pairs the marks of the bar just read.
    pub(super) fn pair_spans(&mut self) {
        if self.spans.marks.is_empty() {
            return;
        }
        let mut marks = std::mem::take(&mut self.spans.marks);
        marks.sort_by_key(|mark| (mark.order, mark.kind != MarkKind::Stop));
        let mut late: Vec<Mark> = Vec::new();
        let mut rest = marks.into_iter().peekable();
        while let Some(mark) = rest.next() {
            let order = mark.order;
            match mark.kind {
                MarkKind::Start(_) => self.open_span(mark),
                MarkKind::Stop => {
                    // An end without a start so far may belong to one at the very same place.
                    if !self.close_span(&mark) {
                        late.push(mark);
                    }
                }
            }
            if rest.peek().is_none_or(|next| next.order != order) {
                for mark in late.drain(..) {
                    if !self.close_span(&mark) {
                        self.end_alone(mark);
                    }
                }
            }
        }
    }

    fn open_span(&mut self, mark: Mark) {
        let MarkKind::Start(kind) = mark.kind else { return };
        if self.spans.open.len() >= MOST_OPEN {
            let oldest = self.spans.open.remove(0);
            self.report_open(&oldest);
        }
        self.spans.unknown |= matches!(kind, SpanKind::Tuplet { actual: 0, .. });
        let span = self.add_span(kind, Some(mark.anchor), None, mark.staff, mark.side, mark.range);
        self.spans.open.push(Open {
            family: mark.family,
            number: mark.number,
            voice: mark.voice,
            staff: mark.staff,
            span,
        });
    }

    fn add_span(
        &mut self,
        kind: SpanKind,
        start: Option<Anchor>,
        end: Option<Anchor>,
        staff: Option<u8>,
        side: Option<Side>,
        range: (u32, u32),
    ) -> usize {
        self.score.taken += 1;
        let id = self.score.piece.ids.give(IdKind::Span);
        let origin = notation::Origin {
            range: Some(range),
            ..notation::Origin::default()
        };
        self.score.piece.provenance.origins.insert(id, origin);
        self.part.spans.push(Span {
            id,
            kind,
            start,
            end,
            staff,
            side,
        });
        self.part.spans.len() - 1
    }

    /// Closes the open span that a stop belongs to; false if there is none.
    fn close_span(&mut self, mark: &Mark) -> bool {
        let same = |open: &Open| open.family == mark.family && open.number == mark.number;
        let open = &self.spans.open;
        let found = open
            .iter()
            .rposition(|o| same(o) && o.voice == mark.voice && o.staff == mark.staff)
            .or_else(|| open.iter().rposition(|o| same(o) && o.voice == mark.voice))
            .or_else(|| open.iter().rposition(|o| same(o) && o.staff == mark.staff))
            .or_else(|| open.iter().rposition(same))
            .or_else(|| {
                // Programs forget numbers: an end may close the only one that is open.
                let mut only = open.iter().enumerate().filter(|(_, o)| o.family == mark.family);
                let first = only.next();
                let alone =
                    only.next().is_none() && mark.family != Family::Slur && mark.family != Family::Tuplet;
                first.filter(|_| alone).map(|(at, _)| at)
            });
        let Some(found) = found else { return false };
        let open = self.spans.open.remove(found);
        if let Some(span) = self.part.spans.get_mut(open.span) {
            span.end = Some(mark.anchor);
            if mark.niente
                && let SpanKind::Crescendo { niente } | SpanKind::Diminuendo { niente } = &mut span.kind
            {
                *niente = true;
            }
        }
        true
    }

    /// An end that no start belongs to.
    fn end_alone(&mut self, mark: Mark) {
        let kind = match mark.family {
            Family::Slur => SpanKind::Slur,
            // Whether it opened or closed is not known: nothing true can be kept.
            Family::Wedge | Family::Ottava | Family::Tuplet => {
                self.report_end(&mark);
                return;
            }
            Family::Pedal => SpanKind::Pedal,
            Family::Dashes => SpanKind::Dashes,
            Family::Bracket => SpanKind::Bracket,
            Family::TrillLine => SpanKind::TrillLine,
            Family::Glissando => SpanKind::Glissando,
            Family::Slide => SpanKind::Slide,
            Family::Tremolo => SpanKind::TremoloPair { strokes: 0 },
            Family::HammerOn => SpanKind::Other("hammer-on".to_owned()),
            Family::PullOff => SpanKind::Other("pull-off".to_owned()),
            Family::Principal => SpanKind::Other("principal-voice".to_owned()),
        };
        self.report_end(&mark);
        self.add_span(kind, None, Some(mark.anchor), mark.staff, mark.side, mark.range);
    }

    fn report_end(&mut self, mark: &Mark) {
        let (kind, word) = mark.family.words();
        let jump = self.after_jump && mark.anchor.place.offset.is_zero();
        self.report_unpaired(
            kind,
            format!(
                "{} {word} ends here that never started",
                if word.starts_with('o') { "an" } else { "a" }
            ),
            mark.anchor,
            jump,
        );
    }

    fn report_open(&mut self, open: &Open) {
        let Some(start) = self.part.spans.get(open.span).and_then(|span| span.start) else {
            return;
        };
        let (kind, word) = open.family.words();
        self.report_unpaired(
            kind,
            format!("the {word} that starts here never ends"),
            start,
            false,
        );
    }

    fn report_unpaired(&mut self, kind: &'static str, what: String, anchor: Anchor, jump: bool) {
        let (severity, advice) = if jump {
            (Severity::Note, "it may come from before the repeat or ending")
        } else if kind == "unpaired-trill-line" {
            // Programs write the line of a trill over one note without its end.
            (Severity::Note, "take it to last as long as its note")
        } else {
            (Severity::Caution, "look on the page where it starts and ends")
        };
        let mut finding = Finding::new(severity, kind, what, advice);
        if let Some(element) = anchor.element {
            finding = finding.about(element);
        }
        let bar: BarIndex = anchor.place.bar;
        let label = self.score.piece.label(bar).to_owned();
        let here = Here {
            part: Some(self.name.clone()),
            bar: Some((bar, label)),
            offset: anchor.place.offset,
        };
        self.score.report.push(here.put(finding));
    }

    /// Reports what is still open at the end of the part.
    pub(super) fn finish_spans(&mut self) {
        for open in std::mem::take(&mut self.spans.open) {
            self.report_open(&open);
        }
        if self.spans.unknown {
            // A bracket whose notes never told their numbers is none.
            let mut first = None;
            let before = self.part.spans.len();
            self.part.spans.retain(|span| {
                let unknown = matches!(span.kind, SpanKind::Tuplet { actual: 0, .. });
                if unknown && first.is_none() {
                    first = span.start;
                }
                !unknown
            });
            let dropped = before - self.part.spans.len();
            if let Some(anchor) = first {
                let what = format!(
                    "tuplet brackets over notes that are no tuplets ({dropped}, first here) were left out"
                );
                self.report_unpaired("tuplet-unclear", what, anchor, false);
            }
        }
    }
}

/// The number that tells spans of one kind apart; 1 where none is given.
pub(super) fn number(el: El<'_, '_>) -> u16 {
    el.attr("number").and_then(|text| text.parse().ok()).unwrap_or(1)
}

/// Over or under, the other word for above and below at curves.
fn orientation(el: El<'_, '_>) -> Option<Side> {
    match el.attr("orientation")? {
        "over" => Some(Side::Above),
        "under" => Some(Side::Below),
        _ => None,
    }
}
